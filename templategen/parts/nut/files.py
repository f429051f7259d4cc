"""The nut's files: three solids, the front outline to cut, and the dimensioned drawing. Nut frame, true sizes."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from templategen.drawing.model import Sketch
from templategen.findings.wording import listed
from templategen.instrument.model import Instrument
from templategen.parts.common import cut
from templategen.parts.common.product import Body, Product, Sheet
from templategen.parts.common.work import Work
from templategen.parts.nut import nut_shape, nut_words
from templategen.parts.nut.nut_drawing import draw
from templategen.units import mm_text

if TYPE_CHECKING:
    from templategen.solids.shape import Solid

NAME = "nut"
LEAST_NOTCH = 0.03  # mm that a beam's notch must be wider than the beam


def make(work: Work) -> tuple[Product, ...]:
    instrument = work.instrument
    return (
        *(Body(f"nut-{stage}", partial(_solid, instrument, stage), ("step",)) for stage in nut_shape.STAGES),
        *cut_sheets(instrument),
        Sheet(NAME, lambda: draw(instrument), ("dxf", "svg", "pdf")),
    )


def _solid(instrument: Instrument, stage: nut_shape.Stage) -> Solid:
    from templategen.parts.nut.nut_solid import build

    return build(instrument, stage)


def cut_sheets(i: Instrument) -> tuple[Sheet, ...]:
    """The finished front outline with its slots as notches, one closed contour; finished size and beam size."""
    nut = i.nut

    def sketched(kerf: float) -> Sketch:
        s = cut.sketch()
        s.add("OUTLINE", nut_shape.notched_outline(nut, kerf, kerf and kerf + LEAST_NOTCH))
        return s

    return cut.sheets("nut-cut", f"{i.spec.title}: nut, front outline with its slots", sketched, i.shop, _cut_notes(i))


def _cut_notes(i: Instrument) -> tuple[str, ...]:
    nut, kerf = i.nut, i.shop.beam_kerf
    thick = f"{mm_text(nut.thickness + nut.body_forward)} mm thick"
    eased = f", ends eased R {mm_text(nut.rounding)}" if nut.rounding else ""
    lines = [f"No allowances{eased}. Material: {thick}, its front face up. All cuts go through, square to it."]
    narrow = [n + 1 for n, width in enumerate(nut.width) if kerf and width <= kerf + LEAST_NOTCH]
    if narrow:
        lines.append(
            f"The beam is too wide for the slots of {listed('string', narrow)}: the beam's file leaves them to the saw."
        )
    if nut_words.slanted(i):
        lines.append("Slots are shown square to themselves; in the nut they run slanted, see the drawing.")
    if nut.shift.any():
        lines.append("Slots are drawn where they pass this outline's plane, the nominal front edge.")
    lines.append("Cut through, floors are level: file each down toward the tuners by its back angle (see the drawing).")
    lines.append(
        f"Datum: x = 0 on the centreline, y = 0 on the seat; seen from the bridge. Job: {i.spec.title}; {i.trace}."
    )
    return tuple(lines)
