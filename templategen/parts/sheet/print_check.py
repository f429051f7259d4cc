"""The page to print first: what the printer makes of 100 mm."""

from __future__ import annotations

from templategen.drawing.paper.calibration import calibration_page
from templategen.parts.common.product import Pages, Product
from templategen.parts.common.work import Work

NAME = "print-check"


def make(_: Work) -> tuple[Product, ...]:
    return (Pages(NAME, "Printer check", lambda paper: (calibration_page(paper),)),)
