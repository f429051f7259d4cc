"""What every setup sheet has, in its order: stock, holding, origin, operations, what to measure, cautions."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from templategen.document.model import (
    BenchPage,
    Boxes,
    Document,
    Facts,
    Labelled,
    Listing,
    Passage,
    Picture,
    Told,
    Warned,
)
from templategen.errors import Caution
from templategen.parts.common import cautions
from templategen.parts.common.work import Work
from templategen.parts.machining.views import View, drawn, scale_for, scale_text
from templategen.tables.model import Table
from templategen.units import both_units


@dataclass(frozen=True)
class SetupSheet:
    """One sheet. part: whose findings to decide it prints. stock: labels and values. held, origin: in words. views: by
    picture, each at its own scale.
    written: boxes of what nobody but the operator knows. measured: tables whose empty columns take the readings."""

    part: str
    title: str
    stock: tuple[tuple[str, str], ...]
    held: str
    origin: str
    views: tuple[tuple[View, ...], ...]
    operations: Table
    measured: tuple[Table, ...]
    warned: tuple[Caution, ...]
    written: tuple[str, ...] = ("material", "date", "initials")


def document(work: Work, setup: SetupSheet) -> Document:
    i = work.instrument
    page = BenchPage(setup.title, tuple(_blocks(work, setup)), whole=True)
    return Document(i.spec.title, "setup sheet", i.trace, (page,))


def _blocks(work: Work, setup: SetupSheet) -> Iterator[Passage]:
    yield Facts(setup.stock)
    yield Labelled("Held", setup.held)
    yield Labelled("Origin", setup.origin)
    for n, views in enumerate(setup.views, 1):
        drawing, scale = drawn(f"setup-{setup.part}-{n}", setup.title, views), scale_text(scale_for(views))
        yield Picture(drawing, f"The stock and, in thin lines, what it becomes; the STEP's axes. mm, {scale}.")
    yield Listing(setup.operations)
    for table in setup.measured:
        yield Listing(table, writes=True)
    for finding in work.findings_for(setup.part):
        if finding.level == "decide":
            yield Told("decide", finding.message)
    yield Boxes(setup.written)
    for line in cautions.lines(*setup.warned):
        yield Warned(line)


def size_text(size: tuple[float, float, float]) -> str:
    """Three lengths, mm with inches beside them."""
    return " x ".join(both_units(length) for length in size)
