"""Strings as findings name them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np

from templategen.findings.wording import OfString
from templategen.instrument.model import Instrument


def of_string(i: Instrument, row: int) -> OfString:
    """One string by its row, counted from 0."""
    return OfString(int(row) + 1, i.spec.strings.set[row].note.text)


def numbers(rows: Iterable[int]) -> list[int]:
    """Rows counted from 0 as numbers counted from 1."""
    return [int(row) + 1 for row in rows]


def cases(i: Instrument, rows: Iterable[int], **values: Any) -> list[dict[str, Any]]:
    """One case for each string: the string, and its share of every array of values, (strings,)."""
    return [
        {"string": of_string(i, row)} | {name: np.asarray(each)[row].item() for name, each in values.items()}
        for row in rows
    ]
