"""The nut's setup sheet: from the blank to the slotted nut; nut frame."""

from __future__ import annotations

import math

from templategen.drawing.model import Box, Line, Outline
from templategen.instrument.model import Instrument
from templategen.parts.common import cautions
from templategen.parts.machining.sheet import SetupSheet, size_text
from templategen.parts.machining.views import View
from templategen.parts.nut import nut_shape as shape
from templategen.tables import machining
from templategen.units import both_units

JAWS = 0.5  # mm between the deepest cut and a jaw


def sheet(i: Instrument) -> SetupSheet:
    nut, blank = i.nut, i.nut.blank
    (x0, y0, z0), (_, _, high) = blank.low, blank.high
    deep = max(machining.nut_slot_depths(i)) + nut.stock_sides * math.tan(math.radians(float(nut.back_angle_deg.max())))
    form = "a plain bar, ends square" if blank.form == "bar" else "shaped, its top an arc, level from front to back"
    return SetupSheet(
        part="nut",
        title="Setup: nut, blank to slotted nut",
        stock=(
            ("stock", size_text(blank.size)),
            ("form", form),
            ("material", "as agreed: bone, ebony, brass ...; write it below"),
            *_top(i),
        ),
        held="In a machine vice by its front and back faces, the underside on a parallel, the bridge side toward -y. "
        f"Jaws end at least {both_units(deep + JAWS)} below the blank's highest point.",
        origin="As in the nut's STEP files: x along the front edge, 0 on the centreline, "
        f"{both_units(-x0)} from the blank's -x end; y toward the tuners, 0 on the finished front edge, "
        f"{both_units(-y0)} behind the blank's front face; z up, 0 on the seat{_under(z0)}. "
        f"Programs have Z0 on the blank's highest point, {both_units(high)} over the STEP's z = 0.",
        views=((_front(i), _plan(i)),),
        operations=machining.nut_operations(i),
        measured=(machining.nut_sizes(i), machining.nut_slots(i)),
        warned=(cautions.MILLING, cautions.NUT_DUST),
    )


def _under(z0: float) -> str:
    """Where a curved or slanted seat is left to the bench, the blank's flat underside lies lower."""
    return f", {both_units(-z0)} over the underside" if z0 < -1e-6 else ", the underside"


def _top(i: Instrument) -> tuple[tuple[str, str], ...]:
    """The top's radius where it is drawn and where it is cut."""
    nut = i.nut
    if nut.top.straight:
        return (("top", "straight"),)
    return (
        ("top's radius in the upright plane of the front edge", both_units(nut.top.radius)),
        ("top's radius along the slots", both_units(nut.top_radius_along)),
    )


def _front(i: Instrument) -> View:
    nut, blank = i.nut, i.nut.blank
    box = Box(blank.low[0], blank.low[2], blank.high[0], blank.high[2])
    begin, _ = nut.slotted_lines
    slots = tuple(Line((float(x), float(z)), (float(x), float(shape.top_of(nut, "slotted").z(x)))) for x, _, z in begin)
    return View(
        "Seen from the bridge",
        box,
        (shape.front_outline(nut, "blank"),),
        (shape.front_outline(nut, "slotted"), *slots),
        "x",
        "z",
        top=blank.high[2],
    )


def _plan(i: Instrument) -> View:
    nut, blank = i.nut, i.nut.blank
    box = Box(blank.low[0], blank.low[1], blank.high[0], blank.high[1])
    begin, end = nut.slotted_lines
    slots = tuple(Line((float(a[0]), float(a[1])), (float(b[0]), float(b[1]))) for a, b in zip(begin, end, strict=True))
    stock = Outline.rectangle(box) if blank.form == "bar" else shape.plan_outline(nut, "blank")
    return View("Seen from above", box, (stock,), (shape.plan_outline(nut, "finished"), *slots), "x", "y")
