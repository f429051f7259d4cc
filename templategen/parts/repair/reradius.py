"""The re-radius plan on paper and as a table: what sanding to the new radius takes, station by station.

Written only where the spec has [fingerboard.before].
"""

from __future__ import annotations

from collections.abc import Callable

from templategen.drawing.layout import HEADING_HEIGHT, TEXT_HEIGHT, table
from templategen.drawing.model import Arc, Drawing, Line, Point, Sketch, Text, arc_of_bulge
from templategen.findings.reradius import law_text, place_text, stop_text
from templategen.geometry import arc_bulge, arc_drop
from templategen.instrument.board.surfaces import RadiusLaw
from templategen.instrument.model import Instrument
from templategen.parts.common import cautions
from templategen.parts.common.blocks import PAGE_WIDTH, numbered_words, words
from templategen.parts.common.layers import sketch
from templategen.parts.common.product import Data, Product, Sheet
from templategen.parts.common.sheetwork import put
from templategen.parts.common.work import Work
from templategen.repair.reradius import Removal, Reradius
from templategen.tables import reradius as tables
from templategen.units import inch_text, mm_text

NAME = "reradius"
WAYS = (
    "P, parallel: the crown line stays parallel to what it was. T, tilted: it tilts along the neck, the way that takes "
    "the least wood."
)
ROWS = 27  # stations on a sheet
SECTION_LOW = 9.0  # wood shown under the crown


def make(work: Work) -> tuple[Product, ...]:
    instrument = work.instrument
    plan = work.bench.reradius
    if plan is None:
        return ()
    return (
        Sheet(NAME, lambda: draw(instrument, plan), ("pdf",)),
        *(Sheet(each.name, each, ("pdf",)) for each in draw_stations(instrument, plan)),
        Data(NAME, lambda: tables.stations(plan)),
    )


# ------------------------------------------------------------------------------------------------------ first sheet


def draw(i: Instrument, plan: Reradius) -> Drawing:
    """Sections at both ends beside the two ways' numbers, then the strings, then how it is done."""
    s = sketch()
    last = i.spec.scale.fret_count
    s.add("TEXT", Text((0.0, 0.0), "Before (thin), after", HEADING_HEIGHT, bold=True))
    wide = float(i.frets.width.max())
    low = _section(s, i, plan, 0, "Nut", (wide / 2, -8.0))
    low = _section(s, i, plan, -1, f"Fret {last}", (wide / 2, low - 10.0))
    rows = number_rows(i, plan)
    numbers = table(rows, (wide + 8.0, 3.5))
    put(s, numbers if numbers.box.x1 <= PAGE_WIDTH else (numbers := table(rows, (0.0, low - 4.0))))
    low = min(low, numbers.box.y0) - 9.0
    heading = "How far crowns go down, nut and saddle after them, mm"
    s.add("TEXT", Text((0.0, low), heading, HEADING_HEIGHT, bold=True))
    strings = put(s, table(string_rows(i, plan), (0.0, low - 2.0)))
    put(s, numbered_words(text(i, plan), (0.0, strings.box.y0 - 4.0), PAGE_WIDTH))
    return _drawing(i, NAME, "re-radius plan", s)


def draw_stations(i: Instrument, plan: Reradius) -> tuple[Drawing, ...]:
    """Every fret, on as many sheets as they need."""
    head, *rows = station_rows(plan)
    sheets = []
    for number, start in enumerate(range(0, len(rows), ROWS), 1):
        s = sketch()
        title = "Depth taken, thickness and slot depth left, mm"
        s.add("TEXT", Text((0.0, 0.0), title, HEADING_HEIGHT, bold=True))
        laid = put(s, table([head, *rows[start : start + ROWS]], (0.0, -2.0)))
        said = (
            f"{WAYS} Centre, edge: depth taken, at the edge that loses more. Left: thickness after sanding, at the "
            "thinner edge. Re-cut: what the slot lacks for the wire; sawing stops at " + stop_text(plan) + ".",
        )
        put(s, words(said, (0.0, laid.box.y0 - 3.0), PAGE_WIDTH))
        name = f"{NAME}-frets" if number == 1 else f"{NAME}-frets-{number}"
        sheets.append(_drawing(i, name, "re-radius plan, every fret", s))
    return tuple(sheets)


def _drawing(i: Instrument, name: str, what: str, s: Sketch) -> Drawing:
    return Drawing(
        name=name,
        title=f"{i.spec.title}: {what}",
        layers=s.layers(),
        cautions=cautions.lines(cautions.WOOD_DUST, cautions.STEEL_DUST),
    )


def _section(s: Sketch, i: Instrument, plan: Reradius, row: int, where: str, at: Point) -> float:
    """The board across, its former crown at ``at``, the former round thin; returns the lowest y used."""
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
    taken = f"{where}: centre {mm_text(down)}, edge {mm_text(float(plan.parallel.edge[row]))}"
    s.add("TEXT", Text((x, foot - 5.5), taken, TEXT_HEIGHT, anchor="middle"))
    return foot - 6.0


def _round(left: Point, right: Point, law: RadiusLaw, x: float) -> Line | Arc:
    if law.flat:
        return Line(left, right)
    return arc_of_bulge(right, left, arc_bulge(right, left, float(law.radius(x))))


def number_rows(i: Instrument, plan: Reradius) -> list[tuple[str, str, str]]:
    """The two ways side by side."""
    last = i.spec.scale.fret_count

    def both(what: str, get: Callable[[Removal], str]) -> tuple[str, str, str]:
        return what, get(plan.parallel), get(plan.tilted)

    return [
        ("crown line, mm (in)", "P parallel", "T tilted"),
        both("goes down at the nut", lambda w: _two(w.centre[0])),
        both(f"goes down at fret {last}", lambda w: _two(w.centre[-1])),
        both("largest depth", lambda w: _two(w.largest)),
        both("volume, cm³", lambda w: mm_text(w.volume / 1000)),
        both("thick after, centre, nut", lambda w: _two(w.thickness_centre[0])),
        both(f"thick after, centre, fret {last}", lambda w: _two(w.thickness_centre[-1])),
        both("thick after, edge, least", lambda w: _two(w.thickness_edge.min())),
        both("slots to re-cut", lambda w: str(int((w.recut > 0).sum()))),
        both("deepest re-cut", lambda w: _two(w.recut.max())),
    ]


def _two(mm: float) -> str:
    return f"{mm_text(float(mm))} ({inch_text(float(mm), 3)})"


def string_rows(i: Instrument, plan: Reradius) -> list[tuple[str, ...]]:
    """Per string: how far the crowns under it go down, and how far nut and saddle follow; both ways."""
    at = i.spec.setup.action.fret
    head = (f"fret {at}", "nut", "saddle")
    rows: list[tuple[str, ...]] = [("string", *(f"{way} {name}" for way in ("P", "T") for name in head))]
    for n, string in enumerate(i.spec.strings.set):
        figures: list[str] = []
        for way in plan.ways:
            values = way.at_action[n], way.lower_nut[n], way.lower_saddle[n]
            figures += [mm_text(float(v)) for v in values]
        rows.append((f"{n + 1}  {string.note.text}", *figures))
    return rows


def text(i: Instrument, plan: Reradius) -> tuple[str, ...]:
    """What the numbers rest on, and what to do in which order; for this sheet and the bench sheet."""
    last_x = float(plan.x[-1])
    lines = [WAYS, f"From {law_text(plan.before, last_x)} to {law_text(plan.wanted, last_x)}."]
    told = plan.measured
    if told is not None:
        source = "Measured" if told.given else "Across the nut it should measure"
        lines.append(
            f"{source}: height {mm_text(told.height, 3)} over a chord of {mm_text(told.chord)} mm. A gauge "
            f"{told.error} mm off would mean {told.radius_if_higher:.1f} to {told.radius_if_lower:.1f} mm; a chord "
            f"{told.error} mm longer {told.radius_if_wider:.1f} mm."
        )
    thick = "from its edge as measured" if plan.thickness_measured else "from the finished thickness in [fingerboard]"
    slots = "as measured at the edge" if plan.slot_measured else "as deep as the wire needs, nobody having measured"
    lines += [
        f"Before sanding: board {mm_text(plan.thickness_before)} mm thick at the centreline, {thick}; slots "
        f"{mm_text(plan.slot_before)} mm deep, {slots}. After: slots {mm_text(plan.slot_needed)} mm deep for the wire; "
        f"the other sheets are for the finished board, {mm_text(i.board.thickness)} mm thick at the centreline.",
        f"Largest depth: parallel {place_text(i, plan.parallel.at)}; tilted {place_text(i, plan.tilted.at)}.",
        f"Re-cut slots with the depth stop at {stop_text(plan)}. Do it before the last grit, and draw the dust "
        "out of them with suction.",
        _at_nut(i, plan),
    ]
    return tuple(lines)


def _at_nut(i: Instrument, plan: Reradius) -> str:
    taken = f"{mm_text(plan.parallel.centre[0])} mm parallel, {mm_text(plan.tilted.centre[0])} tilted"
    if i.spec.nut.seat == "shelf":
        return f"The nut's shelf stays where it is: nut and slots must come down by what is taken there ({taken})."
    return f"Deepen the nut's seat by what is taken at the nut ({taken}), or make nut and slots that much lower."


# ---------------------------------------------------------------------------------------------------------- stations


def station_rows(plan: Reradius) -> list[tuple[str, ...]]:
    """Every station as printed; slots under the frets only."""
    ways = ("P", "T")
    rows: list[tuple[str, ...]] = [
        ("fret", "from nut", *(f"{way} {what}" for way in ways for what in ("centre", "edge", "left", "re-cut")))
    ]
    for n in range(len(plan.x)):
        cells = ["nut" if n == 0 else f"{plan.numbers[n]:.0f}", mm_text(plan.x[n])]
        for way in plan.ways:
            values = [way.centre[n], way.edge[n], way.thickness_edge[n], *([way.recut[n - 1]] if n else [])]
            cells += [mm_text(float(v)) for v in values] + ([""] if not n else [])
        rows.append(tuple(cells))
    return rows
