"""Setup sheets: one page for each machined part, which lies at the machine."""

from __future__ import annotations

from collections.abc import Iterator

from templategen.document.model import Document
from templategen.parts.common.product import Product, Writing
from templategen.parts.common.work import Work
from templategen.parts.machining import block, board, nut, saddle
from templategen.parts.machining.sheet import document


def make(work: Work) -> tuple[Product, ...]:
    return tuple(Writing(f"setup-{name}", lambda made=made: made, ("pdf",)) for name, made in sheets(work))  # type: ignore[misc]


def sheets(work: Work) -> Iterator[tuple[str, Document]]:
    """By the part; a block and a saddle only where the job has one."""
    i = work.instrument
    yield "nut", document(work, nut.sheet(i))
    yield "board", document(work, board.sheet(i))
    if i.block is not None:
        yield "radius-block", document(work, block.sheet(i, i.block))
    if i.saddle_piece is not None:
        yield "saddle", document(work, saddle.sheet(i, i.saddle_piece))
