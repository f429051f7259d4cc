"""The page to print first: what the printer makes of 100 mm."""

from __future__ import annotations

from templategen.drawing.paper.calibration import calibration_page
from templategen.instrument.model import Instrument
from templategen.parts.common.product import Pages, Product

NAME = "print-check"


def make(instrument: Instrument) -> tuple[Product, ...]:
    return (Pages(NAME, "Printer check", lambda paper: (calibration_page(paper),)),)
