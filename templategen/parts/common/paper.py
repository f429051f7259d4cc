"""The shop's paper, and what its printer makes of 100 mm."""

from __future__ import annotations

from templategen.drawing.paper.sizes import PAPERS, PaperSize
from templategen.spec.models import Paper, Shop


def paper_of(shop: Shop) -> PaperSize:
    """The shop's paper, named or its own."""
    return PaperSize(shop.paper.width, shop.paper.height) if isinstance(shop.paper, Paper) else PAPERS[shop.paper]


def measured_of(shop: Shop) -> tuple[float, float]:
    """What the printed 100 mm rulers measure, across and along; 100 where nobody has measured."""
    measured = shop.ruler_measured
    return (measured.across, measured.along) if measured else (100.0, 100.0)
