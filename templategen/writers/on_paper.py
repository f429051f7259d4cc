"""Drawings and made-up pages as PDF on the shop's paper."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from templategen.drawing.model import Drawing
from templategen.drawing.paper.pages import paginate
from templategen.drawing.paper.sizes import Page, PaperSize
from templategen.writers import pdf


def drawings(
    leaves: Sequence[Drawing], paper: PaperSize, ruler_measured: tuple[float, float] = (100.0, 100.0), trace: str = ""
) -> bytes:
    """Drawings one after the other, each from a new page on. Raises PaperError where one cannot be laid out."""
    pages = [page for leaf in leaves for page in paginate(leaf, paper, ruler_measured, trace)]
    return pdf.encode(pages, leaves[0].title)


def pages(titled: tuple[str, Callable[[PaperSize], tuple[Page, ...]]], paper: PaperSize) -> bytes:
    """Pages made for the paper, under a title."""
    title, made = titled
    return pdf.encode(made(paper), title)
