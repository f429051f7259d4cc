"""The re-radius plan on paper and as a table: what sanding to the new radius takes, station by station.

Written only where the spec has [fingerboard.before].
"""

from __future__ import annotations

from functools import partial

from templategen.document.model import BenchPage, Document, Paragraphs, Passage, Picture
from templategen.drawing.layout import TEXT_HEIGHT
from templategen.drawing.model import Arc, Drawing, Line, Point, Sketch, Text, arc_of_bulge
from templategen.findings.reradius import law_text, place_text, stop_text
from templategen.findings.wording import length_text
from templategen.geometry import arc_bulge, arc_drop
from templategen.instrument.board.surfaces import RadiusLaw
from templategen.instrument.model import Instrument
from templategen.parts.common import cautions
from templategen.parts.common.layers import sketch
from templategen.parts.common.product import Data, Product, Writing
from templategen.parts.common.reading import document as read_at_the_bench
from templategen.parts.common.reading import listing, numbered, warned
from templategen.parts.common.work import Work
from templategen.repair.reradius import Reradius
from templategen.tables import reradius as tables
from templategen.units import both_units

NAME = "reradius"
WAYS = (
    "Parallel: the board's centreline stays parallel to what it was. Tilted: it tilts along the neck, the way that "
    "takes the least wood."
)
SECTION_LOW = 9.0  # wood shown under the crown


def make(work: Work) -> tuple[Product, ...]:
    plan = work.bench.reradius
    if plan is None:
        return ()
    return (Writing(NAME, lambda: document(work, plan), ("pdf",)), Data(NAME, lambda: tables.stations(plan)))


def document(work: Work, plan: Reradius) -> Document:
    """Sections at both ends, the two ways side by side, how it is done; then strings and every station of both ways."""
    i = work.instrument
    first: tuple[Passage, ...] = (
        Picture(sections(i, plan), "Before (thin), after; the centreline parallel to what it was."),
        listing(tables.ways(i, plan)),
        *numbered(text(i, plan)),
        *warned(cautions.WOOD_DUST, cautions.STEEL_DUST),
    )
    stops = Paragraphs(f"Re-cut slots with the depth stop at {stop_text(plan)}.", strong=True)
    listed = (listing(tables.of_way(plan, way)) for way in plan.distinct)
    return read_at_the_bench(
        work,
        NAME,
        "re-radius plan",
        BenchPage("What sanding takes", (*first, listing(tables.under_strings(i, plan)), stops, *listed)),
    )


# --------------------------------------------------------------------------------------------------------- sections


def sections(i: Instrument, plan: Reradius) -> Drawing:
    """The board across at the nut and at the last fret, side by side."""
    s = sketch()
    wide = float(i.frets.width.max())
    _section(s, i, plan, 0, "Nut", (wide / 2, 0.0))
    _section(s, i, plan, -1, f"Fret {i.spec.scale.fret_count}", (1.5 * wide + 24.0, 0.0))
    return Drawing(NAME, f"{i.spec.title}: re-radius plan", s.layers())


def _section(s: Sketch, i: Instrument, plan: Reradius, row: int, where: str, at: Point) -> None:
    """The board across, its former crown at ``at``, the former round thin."""
    x, crown = at
    place = float(plan.x[row])
    edge = float(i.plan.taper.width(place)) / 2
    down = float(plan.parallel.centre[row])
    foot = crown - SECTION_LOW
    for law, top, layer in ((plan.before, crown, "DIMENSION"), (plan.wanted, crown - down, "RADIUS_CURVE")):
        left, right = ((x + sign * edge, top - float(arc_drop(law.radius(place), edge))) for sign in (-1.0, 1.0))
        s.add(layer, _round(left, right, law, place))
        if layer == "RADIUS_CURVE":
            s.add("OUTLINE", Line(left, (left[0], foot)), Line(right, (right[0], foot)))
    s.add("OUTLINE", Line((x - edge, foot), (x + edge, foot)))
    s.add("CENTRELINE", Line((x, crown + 2.0), (x, foot - 2.0)))
    lost = float(plan.parallel.edge[row])
    taken = f"{where}: centre {length_text(down, i.spec.units)}, edge {length_text(lost, i.spec.units)}"
    s.add("TEXT", Text((x, foot - 5.5), taken, TEXT_HEIGHT, anchor="middle"))


def _round(left: Point, right: Point, law: RadiusLaw, x: float) -> Line | Arc:
    if law.flat:
        return Line(left, right)
    return arc_of_bulge(right, left, arc_bulge(right, left, float(law.radius(x))))


def text(i: Instrument, plan: Reradius) -> tuple[str, ...]:
    """What the numbers rest on, and what to do in which order; for this sheet and the bench sheet."""
    last_x, say = float(plan.x[-1]), partial(both_units, first=i.spec.units)
    lines = [WAYS, f"From {law_text(plan.before, last_x)} to {law_text(plan.wanted, last_x)}."]
    told = plan.measured
    if told is not None:
        source = "Measured" if told.given else "Across the nut it should measure"
        lines.append(
            f"{source}: height {say(told.height, 3, 4)} over a chord of {say(told.chord)}. A gauge {say(told.error)} "
            f"off would mean {say(told.radius_if_higher, 1, 2)} to {say(told.radius_if_lower, 1, 2)}; a chord as much "
            f"longer {say(told.radius_if_wider, 1, 2)}."
        )
    thick = "from its edge as measured" if plan.thickness_measured else "from the finished thickness in [fingerboard]"
    slots = "as measured at the edge" if plan.slot_measured else "as deep as the wire needs, nobody having measured"
    lines += [
        f"Before sanding: board {say(plan.thickness_before)} thick at the centreline, {thick}; slots "
        f"{say(plan.slot_before)} deep, {slots}. After: slots {say(plan.slot_needed)} deep for the wire; the other "
        f"sheets are for the finished board, {say(i.board.thickness)} thick at the centreline.",
        f"Largest depth: parallel {place_text(i, plan.parallel.at)}; tilted {place_text(i, plan.tilted.at)}.",
        f"Re-cut slots with the depth stop at {stop_text(plan)}. Do it before the last grit, and draw the dust "
        "out of them with suction.",
        _assumed(i, plan),
        _at_nut(i, plan),
    ]
    return tuple(lines)


def _assumed(i: Instrument, plan: Reradius) -> str:
    """Hollows and old crowns: as measured, or what is taken for them."""
    say, new = partial(both_units, first=i.spec.units), i.spec.fret_wire.crown_height
    hollows = "est.: reckoned without hollows, nobody having measured them"
    if plan.wear_measured:
        hollows = f"Deepest hollow before: {say(plan.wear_depth)}; it is taken out"
        hollows = hollows if plan.wear_depth else "No hollows before"
    crowns = f"est.: what action, nut and saddle gain is reckoned with old crowns as high as the new, {say(new)}"
    if plan.crowns_measured:
        crowns = f"Old crowns {say(new - plan.crowns_higher)} high, new {say(new)}"
    return f"{hollows}. {crowns}."


def _at_nut(i: Instrument, plan: Reradius) -> str:
    say = partial(both_units, first=i.spec.units)
    taken = f"{say(float(plan.parallel.centre[0]))} parallel, {say(float(plan.tilted.centre[0]))} tilted"
    if i.spec.nut.seat == "shelf":
        return f"The nut's shelf stays where it is: nut and slots must come down by what is taken there ({taken})."
    return f"Deepen the nut's seat by what is taken at the nut ({taken}), or make nut and slots that much lower."
