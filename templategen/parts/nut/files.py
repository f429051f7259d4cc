"""The nut's files: three solids, the front outline to cut, and the dimensioned drawing. Nut frame, true sizes."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from templategen.drawing.model import Sketch
from templategen.instrument.model import Instrument
from templategen.parts.common import cautions, cut
from templategen.parts.common.product import Body, Product, Sheet
from templategen.parts.common.work import Work
from templategen.parts.nut import about, nut_shape, plan
from templategen.parts.nut.nut_drawing import draw, leaves

if TYPE_CHECKING:
    from templategen.solids.shape import Solid

NAME = "nut"
WARNED = cautions.lines(cautions.ROUTING, cautions.NUT_DUST)


def make(work: Work) -> tuple[Product, ...]:
    instrument = work.instrument
    return (
        *(
            Body(f"nut-{stage}", partial(_solid, instrument, stage), ("step",), about.solid(instrument, stage), WARNED)
            for stage in nut_shape.STAGES
        ),
        *plan.files(instrument),
        *cut_sheets(instrument),
        Sheet(NAME, lambda: draw(instrument), ("dxf", "svg", "pdf"), lambda: leaves(instrument)),
    )


def _solid(instrument: Instrument, stage: nut_shape.Stage) -> Solid:
    from templategen.parts.nut.nut_solid import build

    return build(instrument, stage)


def cut_sheets(i: Instrument) -> tuple[Sheet, ...]:
    """The finished front outline with its slots as notches, one closed contour; finished size and beam size."""
    nut = i.nut

    def sketched(kerf: float) -> Sketch:
        s = cut.sketch()
        s.add("OUTLINE", nut_shape.notched_outline(nut, kerf, kerf and kerf + about.LEAST_NOTCH))
        return s

    return cut.sheets("nut-cut", f"{i.spec.title}: nut, front outline with its slots", sketched, i.shop, about.front(i))
