"""Lengths in the terminal's tables: always two columns, mm and in."""

from __future__ import annotations

from templategen.units import inch_text, mm_text


def pairs(*names: str) -> tuple[str, ...]:
    """The heads of the columns of these lengths."""
    return tuple(head for name in names for head in (f"{name} mm".lstrip(), "in"))


def lengths(*values: float, places: int = 2) -> tuple[str, ...]:
    """The cells under them; a place more in inches than in mm."""
    return tuple(
        text for mm in values for text in (mm_text(float(mm), places), inch_text(float(mm), places + 1))
    )  # fmt: skip
