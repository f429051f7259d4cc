"""The nut from above and its blank from the front, for whoever mills it: what the solids have, as lines to work from.

``nut-plan`` lies in the solids' own frame: the same x, y and z, the same origin.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from templategen.drawing.model import Box, Drawing, Outline, Polyline, Sketch
from templategen.instrument.model import Instrument
from templategen.parts.common import cautions, cut
from templategen.parts.common.about import THROUGH, About
from templategen.parts.common.product import Product, Sheet
from templategen.parts.nut import nut_shape
from templategen.parts.nut.about import DATUM, MATERIAL
from templategen.units import mm_text

PLAN, BLANK = "nut-plan", "nut-blank"
WARNED = cautions.lines(cautions.ROUTING, cautions.NUT_DUST, cautions.NUT_FILING)


def files(i: Instrument) -> Iterator[Product]:
    about = _about_plan(i)
    yield Sheet(PLAN, lambda: draw(i, about), ("dxf",), about=about)
    yield from _blank(i)


def draw(i: Instrument, about: About) -> Drawing:
    """STOCK: the blank from above. OUTLINE: the finished nut above the ledge, a compensated front edge true. SLOT_PATH:
    of each slot the lowest line of its floor, slotted and finished, string by string from the treble side."""
    nut, s = i.nut, cut.sketch()
    for before, after in zip(*(nut_shape.slots_of(nut, stage) for stage in ("slotted", "finished")), strict=True):
        s.add("SLOT_PATH", *(Polyline.in_space((slot.start, slot.end)) for slot in (before, after)))
    s.add("OUTLINE", nut_shape.plan_outline(nut, "finished"))
    if nut.stock_sides and nut.stock_ends:  # else it would run along the outline
        s.add("STOCK", nut_shape.plan_outline(nut, "blank"))
    notes = (*about.lines, "Lengths are millimetres.")
    return Drawing(PLAN, f"{i.spec.title}: nut from above", s.layers(), "cut", notes=notes, cautions=WARNED)


def _about_plan(i: Instrument) -> About:
    nut = i.nut
    return About(
        part="nut from above, to mill: stock, finished plan outline, floor lines of the slots",
        job=f"{i.spec.title}; {i.trace}",
        material=MATERIAL,
        thickness=nut.blank.size[1],
        side="top up, seen from above, the bridge below",
        depth="not through: each SLOT_PATH line has its floor's own z; STOCK and OUTLINE lie at z = 0, the seat",
        allowances="OUTLINE and each slot's second line finished; STOCK and the first line as left on: top "
        f"+{mm_text(nut.top_allowance)}, sides +{mm_text(nut.stock_sides)}, each end +{mm_text(nut.stock_ends)}, "
        f"floors +{mm_text(nut.filing_allowance)} mm",
        datum=f"that of the STEP files: {DATUM}",
        order="slots first, string by string: a top dressed first takes the pilots; then top, ends, front",
        size="to mill from",
        more=tuple(_slot_lines(i)),
    )


def _slot_lines(i: Instrument) -> Iterator[str]:
    """A line for each slot: z of both floors at both ends, width, cutter."""
    nut = i.nut
    stages = zip(*(nut_shape.slots_of(nut, stage) for stage in ("slotted", "finished")), strict=True)
    for n, (before, after) in enumerate(stages):
        slot = nut.slots[n]
        if not slot.full_width:
            how = f"pilot {mm_text(before.width, 3)} mm wide, {slot.pilot.angle_deg:g} degree vee"
        elif slot.cutter is None:
            how = "full width, no ball cutter of the shop fits"
        else:
            how = f"full width, ball cutter {mm_text(slot.cutter, 3)} mm"
        yield (
            f"String {n + 1} {i.spec.strings.set[n].note.text}: slot {mm_text(slot.width, 3)} mm wide; slotted z "
            f"{mm_text(before.start[2], 3)} to {mm_text(before.end[2], 3)}, {how}; finished z "
            f"{mm_text(after.start[2], 3)} to {mm_text(after.end[2], 3)}."
        )


def _blank(i: Instrument) -> Iterator[Product]:
    """The blank's front outline with its allowances, to be cut out of a plate as thick as the blank."""
    nut = i.nut

    def sketched(kerf: float) -> Sketch:
        s = cut.sketch()
        s.add("OUTLINE", outline(i).offset(kerf / 2))
        return s

    long, thick, tall = nut.blank.size
    bar = nut.blank.form == "bar"
    about = About(
        part="nut blank, front outline, not slotted",
        job=f"{i.spec.title}; {i.trace}",
        material=MATERIAL,
        thickness=thick,
        side="its front face up, seen from the bridge",
        depth=f"{THROUGH}, square to the face",
        allowances=f"top +{mm_text(nut.top_allowance)}, front and back +{mm_text(nut.stock_sides)}, each end "
        f"+{mm_text(nut.stock_ends)} mm; over all {mm_text(long)} x {mm_text(thick)} x {mm_text(tall)} mm",
        datum="x = 0 on the centreline, y = 0 on the seat in the middle",
        order="cut out, then square the faces: they are what the vice holds",
        more=("A plain bar: four square corners, for a machine vice.",)
        if bar
        else ("Its ends are square to the front; where the board's edges run slanted the solid's follow them.",)
        if not math.isclose(float(nut.front_ends[0]), float(nut.back_ends[0]), abs_tol=1e-6)
        else (),
    )
    yield from cut.sheets(BLANK, f"{i.spec.title}: nut blank, front outline", sketched, i.shop, about, warned=WARNED)


def outline(i: Instrument) -> Outline:
    """Of the blank, seen from the front; a bar is a rectangle."""
    nut = i.nut
    if nut.blank.form == "bar":
        (x0, _, z0), (x1, _, z1) = nut.blank.low, nut.blank.high
        return Outline.rectangle(Box(x0, z0, x1, z1))
    return nut_shape.front_outline(nut, "blank")
