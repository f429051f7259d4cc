"""From found to wanted, step by step: what to turn, file, lower or leave, by how much and in which order."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from itertools import groupby

from templategen.drawing.layout import HEADING_HEIGHT, table
from templategen.drawing.model import Drawing, Text
from templategen.instrument.model import Instrument
from templategen.parts.common import cautions
from templategen.parts.common.blocks import PAGE_WIDTH, words
from templategen.parts.common.layers import sketch
from templategen.parts.common.paper import flowed, stacked
from templategen.parts.common.product import Product, Sheet
from templategen.parts.common.sheetwork import put
from templategen.parts.common.work import Work
from templategen.repair.changes import Change
from templategen.repair.remedy import Remedy
from templategen.units import both_units, inch_text, mm_text

NAME = "setup-plan"
PAGE = 140.0  # paper mm: its cautions are long
MOST_ROWS = 20
COARSE, FINE = 2, 3  # places of mm; inches have one more
HEADINGS = {
    "relief": "Relief",
    "refret": "Frets",
    "fret": "New frets",
    "crown": "Crowns",
    "slot_depth": "Slots: depth at the edge",
    "slot_width": "Slots: width",
    "strings": "Strings",
    "nut_floor": "Nut: floors of the slots",
    "zero_fret": "Zero fret",
    "saddle": "Saddle",
    "relief_again": "Relief again",
    "neck": "Neck",
    "saddle_offset": "Saddle: where the strings leave it",
}
HEIGHTS = {
    "relief": "the deepest gap under a straightedge",
    "crown": "height as read along the line",
    "nut_floor": "the floor over the line of the first two crowns",
    "zero_fret": "its crown over the line of the first two",
    "saddle": "the string's underside at the saddle, over the plane of the board's crown line",
    "neck": "what the saddle is left to show over the bridge, at the end named",
    "saddle_offset": "from the nominal scale, away from the nut, by tuner and model; read again when all is set",
}
READS = {"first_fret_clearance": "over 1"}


def make(work: Work) -> tuple[Product, ...]:
    i, remedy = work.instrument, work.bench.remedy
    if remedy is None or not remedy.changes.steps:
        return ()
    leaves = cache(lambda: flowed([_named(i, remedy, block) for block in blocks(i, remedy)], PAGE))
    return (Sheet(NAME, lambda: stacked(i, "setup plan: from found to wanted", leaves()), ("pdf",), leaves),)


def _named(i: Instrument, remedy: Remedy, block: Drawing) -> Drawing:
    """With the cautions of the steps that this job has."""
    what = {step.what for step in remedy.changes.steps if not step.left}
    told = [cautions.ROD]
    told += [cautions.CROWNS] if what & {"crown", "fret", "refret", "zero_fret"} else []
    told += [cautions.SAWING] if "slot_depth" in what else []
    told += [cautions.NUT_FILING] if "nut_floor" in what else []
    told += [cautions.NUT_DUST] if what & {"nut_floor", "saddle"} else []
    return Drawing(NAME, f"{i.spec.title}: setup plan", block.layers, cautions=cautions.lines(*told))


def blocks(i: Instrument, remedy: Remedy) -> Iterator[Drawing]:
    """What it comes to in words, then a block for each step, in the order in which one works."""
    s = sketch()
    s.add("TEXT", Text((0.0, -HEADING_HEIGHT), "From found to wanted", HEADING_HEIGHT, bold=True))
    put(s, words(summary(remedy), (0.0, -HEADING_HEIGHT - 3.0), PAGE_WIDTH))
    yield Drawing(NAME, NAME, s.layers())
    groups = groupby(remedy.changes.steps, key=lambda step: step.what)
    for number, (what, steps) in enumerate(groups, 1):
        listed = list(steps)
        for first in range(0, len(listed), MOST_ROWS):
            more = " (goes on)" if first else ""
            yield _block(i, f"{number}  {HEADINGS[what]}{more}", listed[first : first + MOST_ROWS])


def summary(remedy: Remedy) -> tuple[str, ...]:
    """How it was found and how it will be left, and what filing cannot do."""
    c = remedy.changes
    said = ["Each step counts with those before it made; do them in this order and measure after each."]
    if remedy.estimated:
        said.append(f"Not measured, and taken as wanted (est.): {', '.join(remedy.estimated)}.")
    now, then = remedy.clearance.least_fretted, None if remedy.left is None else remedy.left.least_fretted
    if now is not None and then is not None:
        said.append(f"Least headroom of a fretted note: found {both_units(now)}, as left {both_units(then)}.")
    if c.new_nut:
        said.append(f"Too low at the nut, under {_strings(c.new_nut)}: no file helps.")
    if c.new_saddle:
        said.append(f"Too low at the saddle, under {_strings(c.new_saddle)}.")
    if c.neck_deg is not None:
        way = "back" if c.neck_deg > 0 else "forward"
        said.append(f"The neck wants setting {way} by about {abs(c.neck_deg):.2f} degrees: settle that first.")
    return tuple(said)


def _strings(numbers: tuple[int, ...]) -> str:
    listed = [str(n) for n in numbers]
    return f"string {listed[0]}" if len(listed) == 1 else f"strings {', '.join(listed[:-1])} and {listed[-1]}"


def _block(i: Instrument, heading: str, steps: list[Change]) -> Drawing:
    s = sketch()
    s.add("TEXT", Text((0.0, -HEADING_HEIGHT), heading, HEADING_HEIGHT, bold=True))
    low = -HEADING_HEIGHT - 3.0
    height = HEIGHTS.get(steps[0].what)
    how = [f"{_where_all(steps, each)}{each}." for each in dict.fromkeys(step.how for step in steps)]
    if height is not None:
        how.append(f"Found and wanted: {height}.")
    if steps[0].reads_of is not None:
        how.append("Now, then: what a feeler reads over that crown before this step and after it.")
    low = put(s, words([f"{line[0].upper()}{line[1:]}" for line in how], (0.0, low), PAGE_WIDTH)).box.y0 - 1.0
    if any(step.found is not None or step.wanted is not None for step in steps):
        put(s, table(rows(i, steps), (0.0, low)))
    return Drawing(NAME, NAME, s.layers())


def _where_all(steps: list[Change], how: str) -> str:
    """Which rows an instruction is for, where there are several."""
    if len({step.how for step in steps}) == 1:
        return ""
    return f"{', '.join(place(step) for step in steps if step.how == how)}: "


def place(step: Change) -> str:
    """``"string 3"``, ``"fret 7, bass"``."""
    named = [f"string {step.string}"] if step.string is not None else []
    named += [f"fret {step.fret}"] if step.fret is not None else []
    named += [step.line] if step.line is not None else []
    return ", ".join(named) or "neck"


def rows(i: Instrument, steps: list[Change]) -> list[list[str]]:
    """One row per string, fret or end: found, ±, wanted, change; what is read before and after; in both units."""
    reads = steps[0].reads_of
    head = ["mm", "found", "±", "wanted", "change", "in"]
    if reads is not None:
        name = f"over {i.spec.setup.action.fret}" if reads == "action" else READS[reads]
        head += [f"{name} now", "then", "in"]
    found = [[*head, "as left"]]
    for step in steps:
        places = FINE if step.what == "crown" else COARSE
        cells = [place(step), *(_mm(value, places) for value in (step.found, step.pm, step.wanted))]
        cells += ["leave", ""] if step.left else [_signed(step.change, places), _signed(step.change, places, True)]
        if reads is not None:
            after = step.reads_after
            cells += [_mm(step.reads_before), _mm(after), "" if after is None else inch_text(after, 3)]
        found.append([*cells, "______"])
    return found


def _mm(value: float | None, places: int = COARSE) -> str:
    return "" if value is None else mm_text(value, places)


def _signed(value: float | None, places: int, in_inches: bool = False) -> str:
    if value is None:
        return ""
    text = inch_text(value, places + 1) if in_inches else mm_text(value, places)
    return text if text.startswith("-") or not float(text) else f"+{text}"
