"""Where a number begins to be told: limits and ranges of practice, each row of the data with its source.

``data/limits.csv``    single limits, in the unit that the row names
``data/practice.csv``  what is usual by kind of instrument: a range on the bass side and one on the treble side, mm
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib import resources


@dataclass(frozen=True)
class Limit:
    """One row of ``limits.csv``."""

    value: float
    unit: str
    source: str


@dataclass(frozen=True)
class Practice:
    """What is usual, mm: from low to high, linear over the strings from the treble side to the bass side."""

    bass_low: float
    bass_high: float
    treble_low: float
    treble_high: float
    source: str


def limit(name: str) -> float:
    """The value of one limit, in its own unit. Raises KeyError for a name that is not there."""
    return limits()[name].value


def practice(kind: str, what: str) -> Practice | None:
    """What is usual for a kind of instrument; None where nothing is said of it."""
    return practices().get((kind, what))


@cache
def limits() -> dict[str, Limit]:
    return {row["name"]: Limit(float(row["value"]), row["unit"], row["source"]) for row in _rows("limits.csv")}


@cache
def practices() -> dict[tuple[str, str], Practice]:
    sides = ("bass_low", "bass_high", "treble_low", "treble_high")
    return {
        (row["kind"], row["what"]): Practice(source=row["source"], **{side: float(row[side]) for side in sides})
        for row in _rows("practice.csv")
    }


def _rows(file: str) -> list[dict[str, str]]:
    text = resources.files("templategen.findings").joinpath("data", file).read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))
