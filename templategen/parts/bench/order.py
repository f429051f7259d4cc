"""The order of work: which steps a job asks for, and what each needs at the bench.

What is asked stands in the spec's ``work``; where it says nothing it is everything that the spec is for: a board that
was measured before is re-radiused, frets, nut and setup are made.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

from templategen.document.model import Step
from templategen.errors import Caution
from templategen.instrument.model import Instrument
from templategen.parts.bench.rows import nut_table, saddle_table, setup_table, tuning_table
from templategen.parts.common import cautions as c
from templategen.parts.common.work import Work
from templategen.repair.record import CENTS
from templategen.spec.models import Asked, Spec
from templategen.units import both_units

PRACTICE = "(common practice, no source)"
MAKES_DUST = ("radius", "slots", "level", "nut", "saddle")


def asked(spec: Spec) -> frozenset[Asked]:
    """What is to be done."""
    if spec.work is not None:
        return frozenset(spec.work)
    found: set[Asked] = {"frets", "nut", "setup"}
    return frozenset(found | ({"board"} if spec.fingerboard.before is not None else set()))


def keys(spec: Spec) -> tuple[str, ...]:
    """The steps of a job, in the order in which one works."""
    wanted = asked(spec)
    fretwork = bool(wanted & {"board", "frets"})
    crowns = fretwork or "level" in wanted
    parts = crowns or bool(wanted & {"nut", "saddle"})
    causes = {
        "record": True,
        "strings-off": parts,
        "frets-out": fretwork,
        "neck": crowns,
        "radius": "board" in wanted,
        "slots": fretwork,
        "frets-in": fretwork,
        "level": crowns,
        "nut": "nut" in wanted,
        "saddle": "saddle" in wanted,
        "strings-on": parts,
        "setup": bool(wanted),
        "offsets": bool(wanted),
        "check": True,
        "record-left": True,
    }
    return tuple(key for key, cause in causes.items() if cause)


def steps(work: Work) -> Iterator[Step]:
    """Every step that the job asks for."""
    for key in keys(work.instrument.spec):
        yield STEPS[key](work)


def _lines(*cautions: Caution) -> tuple[str, ...]:
    return c.lines(*cautions)[:-1]


def _record(work: Work) -> Step:
    return Step(
        "record", "Record it as found",
        "Every value of the first page read and written down before anything is changed",
        how=("Strings on and at pitch, in playing position. Photograph joints, finish and what is loose.",),
        tools="the tools that the measuring sheet names",
        cautions=_lines(c.EYES),
    )  # fmt: skip


def _strings_off(work: Work) -> Step:
    nut = "nut" in asked(work.instrument.spec)
    how = ["Slacken all strings evenly, a turn each in rotation, until none pulls; then take them off."]
    if nut:
        how.append(
            "Only then the nut: score the finish along its edges with a blade away from the holding hand, and "
            "tap it out "
            "lengthways through a block of wood."
        )
    goal = "No tension on the neck" + (", the old nut out and its slot clean" if nut else "")
    return Step(
        "strings-off", "Slacken, take off", goal, how=tuple(how), tools="winder, blade, small hammer and wooden block",
        cautions=_lines(c.EYES, c.BLADES),
    )  # fmt: skip


def _frets_out(work: Work) -> Step:
    return Step(
        "frets-out", "Old frets out", "All out, no chip left standing, slots clean to their floor",
        how=(
            f"Warm each fret and lift it from one end along its length; support the wood beside it {PRACTICE}. "
            "Glue chips back at once. A bound board: take the binding's edge into account before lifting.",
        ),
        tools="fret puller, heat, slot cleaner",
        cautions=_lines(c.HOT_IRON, c.EYES, c.WOOD_DUST),
    )  # fmt: skip


def _neck(work: Work) -> Step:
    return Step(
        "neck", "Neck straight", "No light under a straightedge along the centreline, rod without strain",
        how=("Set it straight with the strings slack; what the rod cannot take out is the board's to be sanded out.",),
        tools="straightedge, rod key", files=("radius-gauge.dxf (notched straightedge)",), cautions=_lines(c.ROD),
        boxes=("gap left", "initials"),
    )  # fmt: skip


def _radius(work: Work) -> Step:
    i = work.instrument
    law = i.board.law
    if law.flat:
        wanted = "flat"
    elif law.conical:
        wanted = f"{both_units(law.at_nut, 1)} to {both_units(float(law.radius(i.plan.centre_x[-1])), 1)}"
    else:
        wanted = both_units(law.at_nut, 1)
    numbers = [("board radius", wanted)]
    if i.block is not None and not math.isinf(i.block.radius):
        numbers.append(("block radius", both_units(i.block.radius)))
    plan = work.bench.reradius
    if plan is not None:
        numbers.append(("taken at most", both_units(plan.parallel.largest)))
    return Step(
        "radius", "Board to its radius", f"{wanted}: the gauge shows no light at nut, middle and last fret",
        tuple(numbers),
        how=(f"80 grit to shape, 120, then 240 to finish, full strokes along the centreline {PRACTICE}.",),
        tools="block with its abrasive, gauges",
        files=("radius-block.stl or .step or .dxf", "radius-gauge.dxf", "reradius.pdf"),
        cautions=_lines(c.WOOD_DUST, c.STEEL_DUST), boxes=("gauge reads", "initials"),
    )  # fmt: skip


def _slots(work: Work) -> Step:
    i, wire = work.instrument, work.instrument.spec.fret_wire
    deep = i.frets.depth_stop
    low, high = float(deep.min()), float(deep.max())
    depth = both_units(high) if high - low < 0.005 else f"{both_units(low)} to {both_units(high)}"
    kerfs = i.shop.saw_kerfs
    saw = f"saw of {both_units(min(kerfs, key=lambda k: abs(k - wire.slot_width)))} kerf" if kerfs else "fret saw"
    how = ["Depth for the whole tang and what is left below it; a slot too tight bows the neck back."]
    plan = work.bench.reradius
    if plan is not None and float(plan.parallel.recut.max()) > 0:
        how.append(f"After sanding the shallowest slot lacks {both_units(float(plan.parallel.recut.max()))}.")
    return Step(
        "slots", "Slots", (
            f"{both_units(wire.slot_width)} wide, {depth} deep at the stop; places within 0.05 mm "
            "(0.002 in)"
        ),
        (("slot width", both_units(wire.slot_width)), ("depth stop", depth)),
        how=tuple(how), tools=f"{saw}, depth stop, feelers",
        files=("fret-template.pdf", "notched-strip.pdf", "frets.csv"),
        cautions=_lines(c.SAWING, c.WOOD_DUST), boxes=("depth reached", "initials"),
    )  # fmt: skip


def _frets_in(work: Work) -> Step:
    i, wire = work.instrument, work.instrument.spec.fret_wire
    cut = i.frets.wire_cut
    numbers = [
        ("crown", f"{both_units(wire.crown_width)} by {both_units(wire.crown_height)}"),
        ("pieces", f"{len(cut)} from {both_units(float(cut.min()), 1)} to {both_units(float(cut.max()), 1)}"),
    ]
    bend = float(i.frets.bend_radius[0])
    if math.isfinite(bend):
        numbers.append(("wire bent to", both_units(bend, 1)))
    how = ["Middle first, then both ends; every tang down on its floor before the next."]
    if float(i.frets.nip_each_end.max()) > 0.05:
        how.append(f"Tangs nipped by {both_units(float(i.frets.nip_each_end.max()))} at each end at most (wire.csv).")
    return Step(
        "frets-in", "Frets in", "Seated along their whole length: no feeler of 0.05 mm (0.002 in) under any end",
        tuple(numbers), how=tuple(how), tools="caul, press or hammer, nippers, clamps",
        files=("wire.csv", "press-caul.step"), cautions=_lines(c.PRESSING, c.GLUE, c.CLAMPS),
        boxes=("all seated", "initials"),
    )  # fmt: skip


def _level(work: Work) -> Step:
    spec = work.instrument.spec
    fall = spec.setup.fall_away
    goal = (
        "Crowns in one straight line, neck straight and strings off: no feeler of 0.03 mm (0.001 in) under a "
        "straightedge"
    )
    if fall is not None:
        goal += f"; from fret {fall.from_fret} falling to {both_units(fall.drop)} at the last"
    return Step(
        "level", "Level, crown, polish", goal,
        how=(
            "Mark every crown, file until the marks just go, crown each to a thin line along its top, then "
            "polish: 400, "
            f"800, 1200 and cloth {PRACTICE}. Ends eased, no edge to be felt along the board.",
        ),
        tools="levelling beam, crowning file, rocker", files=("levelling.pdf",),
        cautions=_lines(c.STEEL_DUST), boxes=("least crown left", "initials"),
    )  # fmt: skip


def _nut(work: Work) -> Step:
    nut = work.instrument.nut
    return Step(
        "nut", "Nut", "Slot places and floors within 0.03 mm (0.001 in), thickness +0/-0.05 mm (0.002 in)",
        (("thickness", both_units(nut.thickness)), ("seat below the board", both_units(nut.seat_depth))),
        nut_table(work.instrument),
        how=(
            "From the slotted nut, or a blank marked with the strip glued on. File each floor in small steps "
            "toward its "
            "place and measure over the wood beside the string; the back falls away, the string leaves at the "
            "front edge.",
        ),
        tools="nut files, feelers, calipers",
        files=("nut.pdf", "nut-spacing-strip.pdf", "nut-slotted.step", "nut-cut.dxf"),
        cautions=_lines(c.NUT_DUST, c.NUT_FILING, c.GLUE), boxes=("floors reached", "initials"),
    )  # fmt: skip


def _saddle(work: Work) -> Step:
    return Step(
        "saddle", "Saddle", "Heights within 0.1 mm (0.004 in), the top's arc without a step",
        table=saddle_table(work.instrument), tools="files, calipers, radius gauge", files=("saddle.pdf", "saddle.dxf"),
        how=((
            "Work the underside, not the top, to lower it: square and flat, or the string will not couple to "
            "the top."
        ),),
        cautions=_lines(c.NUT_DUST), boxes=("heights reached", "initials"),
    )  # fmt: skip


def _strings_on(work: Work) -> Step:
    return Step(
        "strings-on", "Strings on, to pitch", "Every string at its note, stretched in, the neck at rest for a while",
        table=tuning_table(work.instrument), tools="winder, tuner", cautions=_lines(c.EYES),
        boxes=("at pitch", "initials"),
    )  # fmt: skip


def _setup(work: Work) -> Step:
    i, action = work.instrument, work.instrument.spec.setup.action
    capo = ", with a capo on the first fret" if action.capo else ""
    return Step(
        "setup", "Relief, nut, saddle, relief again",
        f"Relief within 0.03 mm (0.001 in), heights within 0.05 mm (0.002 in) {PRACTICE}",
        (("relief", both_units(i.strung.relief)), ("action at fret", f"{action.fret}{capo}")),
        setup_table(i),
        how=("In this order, and once round again: each changes the ones after it.",),
        tools="straightedge, feelers, rod key", files=("setup-plan.pdf", "clearance.pdf"),
        cautions=_lines(c.ROD, c.NUT_FILING),
        boxes=("relief", "first fret bass/treble", "action bass/treble", "initials"),
    )  # fmt: skip


def _offsets(work: Work) -> Step:
    return Step(
        "offsets", "Offsets", f"The note at the octave within {CENTS:g} cents {PRACTICE} of the open string",
        how=(
            "Set every saddle to its offset, then try: the fretted note sharp, the saddle goes back; flat, "
            "forward. Fret as "
            "one plays, not harder.",
        ),
        table=None if "saddle" in asked(work.instrument.spec) else saddle_table(work.instrument),
        tools="tuner, rule", files=("saddle.pdf", "cents.pdf"), boxes=("cents at the octave", "initials"),
    )  # fmt: skip


def _check(work: Work) -> Step:
    return Step(
        "check", "Play every note", "No buzz or dead note at the pluck asked for, every fret of every string",
        files=("clearance.pdf",), tools="ears, tuner", boxes=("notes to go back to", "initials"),
    )  # fmt: skip


def _record_left(work: Work) -> Step:
    return Step(
        "record-left", "Record it as left", (
            "The last column of the first page filled in: that is the "
            "instrument's record"
        ),
        how=((
            "Paper is no gauge: damp stretches it. Measure the instrument, not the "
            "print."
        ),), boxes=("date", "initials"),
    )  # fmt: skip


STEPS: dict[str, Callable[[Work], Step]] = {
    "record": _record,
    "strings-off": _strings_off,
    "frets-out": _frets_out,
    "neck": _neck,
    "radius": _radius,
    "slots": _slots,
    "frets-in": _frets_in,
    "level": _level,
    "nut": _nut,
    "saddle": _saddle,
    "strings-on": _strings_on,
    "setup": _setup,
    "offsets": _offsets,
    "check": _check,
    "record-left": _record_left,
}


def tuning_text(i: Instrument) -> str:
    """The open strings, bass side first as one reads them off the headstock."""
    return " ".join(string.note.text for string in reversed(i.spec.strings.set))
