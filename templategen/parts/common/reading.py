"""Documents that are read at the bench: what is to decide first, local rules with it, then what the part has to say."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from templategen.document.model import BenchPage, Document, Listing, Paragraphs, Passage, Told, Warned
from templategen.errors import Caution
from templategen.parts.common import cautions
from templategen.parts.common.work import Work
from templategen.tables.model import Table
from templategen.units import both_units


def document(work: Work, part: str, what: str, *pages: BenchPage) -> Document:
    """``what`` it is and its pages; the first begins with what is to decide on the part's sheets."""
    i = work.instrument
    told = (Told("decide", each.message) for each in work.findings_for(part) if each.level == "decide")
    first, *rest = pages
    first = BenchPage(first.title, (*told, Paragraphs(cautions.LOCAL, strong=True), *first.blocks))
    return Document(i.spec.title, f"{what}, {i.spec.handedness}-handed", i.trace, (first, *rest))


def listing(table: Table, writes: bool = False) -> Listing:
    """The table, what is the same in every row said under it."""
    shorter, alike = table.gathered()
    return Listing(replace(shorter, notes=(*shorter.notes, *alike)), writes)


def warned(*listed: Caution) -> tuple[Passage, ...]:
    """Cautions beside the step that they are about."""
    return tuple(Warned(f"{each.step.capitalize()}: {each.text}") for each in listed)


def numbered(lines: Iterable[str]) -> tuple[Passage, ...]:
    """Paragraphs in the order in which one works."""
    return tuple(Paragraphs(f"{number}. {line}") for number, line in enumerate(lines, 1))


def headroom_text(mm: float, places: int = 2) -> str:
    """How far a string can be pulled aside; where it lies on a crown there is nothing to pull."""
    return both_units(mm, places) if mm > 0 else "none (a string lies on a crown)"
