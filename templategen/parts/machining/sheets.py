"""Setup sheets: one page for each machined part, which lies at the machine."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from templategen.document.model import Document
from templategen.parts.common.product import Product, Writing
from templategen.parts.common.work import Work
from templategen.parts.machining import block, board, nut, saddle
from templategen.parts.machining.sheet import document


def make(work: Work) -> tuple[Product, ...]:
    return tuple(Writing(f"setup-{name}", laid_out, ("pdf",)) for name, laid_out in sheets(work))


def sheets(work: Work) -> Iterator[tuple[str, Callable[[], Document]]]:
    """By the part, to be laid out; a block and a saddle only where the job has one."""
    i, made, piece = work.instrument, work.instrument.block, work.instrument.saddle_piece
    yield "nut", lambda: document(work, nut.sheet(i))
    yield "board", lambda: document(work, board.sheet(i))
    if made is not None:
        yield "radius-block", lambda: document(work, block.sheet(i, made))
    if piece is not None:
        yield "saddle", lambda: document(work, saddle.sheet(i, piece))
