"""Everything computed, as files that programs and spreadsheets read: numbers.json, frets.csv, strings.csv, wire.csv."""

from __future__ import annotations

from templategen.parts.common.product import Data, Product
from templategen.parts.common.work import Work
from templategen.tables import frets, strings, wire
from templategen.tables.numbers import numbers

NAME = "tables"


def make(work: Work) -> tuple[Product, ...]:
    instrument = work.instrument
    return (
        Data("numbers", lambda: numbers(work.bench, work.findings) | {"files": work.files()}, ("json",)),
        Data("frets", lambda: frets.file(instrument)),
        Data("strings", lambda: strings.file(instrument)),
        Data("wire", lambda: wire.pieces(instrument)),
    )
