"""The nut's files: three solids, the front outline to cut, and the dimensioned drawing. Nut frame, true sizes."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from templategen.drawing.model import Drawing, Polyline
from templategen.instrument.model import Instrument
from templategen.parts.common.layers import sketch
from templategen.parts.common.product import Body, Product, Sheet
from templategen.parts.common.work import Work
from templategen.parts.nut import nut_shape, nut_words
from templategen.parts.nut.nut_drawing import draw
from templategen.units import mm_text

if TYPE_CHECKING:
    from templategen.solids.shape import Solid

NAME = "nut"


def make(work: Work) -> tuple[Product, ...]:
    instrument = work.instrument
    return (
        *(Body(f"nut-{stage}", partial(_solid, instrument, stage), ("step",)) for stage in nut_shape.STAGES),
        Sheet("nut-cut", lambda: draw_cut(instrument), ("dxf",)),
        Sheet(NAME, lambda: draw(instrument), ("dxf", "svg", "pdf")),
    )


def _solid(instrument: Instrument, stage: nut_shape.Stage) -> Solid:
    from templategen.parts.nut.nut_solid import build

    return build(instrument, stage)


def draw_cut(i: Instrument) -> Drawing:
    """The finished front outline and its slots, closed, and the slots' floor lines in three dimensions.

    Drawn x along the nut, y up; the third axis points to the viewer, so a floor runs to minus the thickness.
    """
    s = sketch()
    nut = i.nut
    s.add("OUTLINE", nut_shape.front_outline(nut, "finished"))
    for slot in nut_shape.slots_of(nut, "finished"):
        s.add("NUT_SLOT", nut_shape.slot_outline(nut, slot))
        (x0, y0, z0), (x1, y1, z1) = slot.start, slot.end
        s.add("SLOT_PATH", Polyline.in_space(((x0, z0, -y0), (x1, z1, -y1))))
    return Drawing(
        name="nut-cut",
        title=f"{i.spec.title}: nut, front outline",
        layers=s.layers(),
        kind="cut",
        notes=(_cut_note(i),),
    )


def _cut_note(i: Instrument) -> str:
    nut = i.nut
    thick = f"{mm_text(nut.thickness + nut.body_forward)} mm thick"
    eased = f", ends eased R {mm_text(nut.rounding)}" if nut.rounding else ""
    lines = [f"Finished sizes{eased}; no allowances, no kerf taken off; {thick}."]
    if nut_words.slanted(i):
        lines.append("Slots are shown square to themselves; they run slanted through the nut, along SLOT_PATH.")
    if nut.shift.any():
        lines.append("Slots are drawn where they pass this outline's plane, the nominal front edge.")
    return " ".join(lines)
