"""How findings name strings and begin sentences."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from templategen.instrument.arrays import Array
from templategen.units import mm_text

if TYPE_CHECKING:
    from templategen.instrument.model import Instrument


def string_name(instrument: Instrument, i: int) -> str:
    """``"string 6 (E2)"``."""
    return f"string {i + 1} ({instrument.spec.strings.set[i].note.text})"


def capital(text: str) -> str:
    """The first letter alone made large: a pitch name keeps its own."""
    return text[:1].upper() + text[1:]


def listed(rows: Sequence[int]) -> str:
    """``"string 3"``, ``"strings 1, 2 and 5"``: rows counted from 0, strings from 1."""
    numbers = [str(row + 1) for row in rows]
    if len(numbers) == 1:
        return f"string {numbers[0]}"
    return f"strings {', '.join(numbers[:-1])} and {numbers[-1]}"


def with_values(instrument: Instrument, rows: Sequence[int], values: Array, unit: str, places: int = 2) -> str:
    """``"string 1 (E4) 0.31 mm, string 2 (B3) 0.40 mm"``; values: one per string."""
    space = "" if unit == "°" else " "
    return ", ".join(f"{string_name(instrument, n)} {mm_text(float(values[n]), places)}{space}{unit}" for n in rows)
