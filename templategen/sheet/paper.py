"""Drawings on the shop's paper."""

from __future__ import annotations

from templategen.drawing.model import Drawing
from templategen.drawing.pages import paginate
from templategen.drawing.paper import PAPERS, PaperSize
from templategen.spec.models import Paper, Shop
from templategen.writers import pdf


def paper_of(shop: Shop) -> PaperSize:
    """The shop's paper, named or its own."""
    return PaperSize(shop.paper.width, shop.paper.height) if isinstance(shop.paper, Paper) else PAPERS[shop.paper]


def measured_of(shop: Shop) -> tuple[float, float]:
    """What the printed 100 mm rulers measure, across and along; 100 where nobody has measured."""
    measured = shop.ruler_measured
    return (measured.across, measured.along) if measured else (100.0, 100.0)


def printed(shop: Shop, drawing: Drawing, trace: str) -> bytes:
    """A drawing as PDF pages that print true on the shop's paper. trace: where the sheet came from."""
    return pdf.encode(paginate(drawing, paper_of(shop), measured_of(shop), trace), drawing.title)
