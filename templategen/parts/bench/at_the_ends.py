"""The steps of nut and saddle, and those with the strings on."""

from __future__ import annotations

from templategen.document.model import Step
from templategen.parts.bench.making import PRACTICE, Workplace, within
from templategen.parts.common import cautions as c
from templategen.repair import tolerances as t
from templategen.tables import bench as tables
from templategen.units import both_units, mm_text


def nut(m: Workplace) -> Step:
    i, made = m.instrument, m.instrument.nut
    files = sorted({float(file) for file in made.file if file is not None})
    tools = "nut files, feelers, calipers"
    if files:
        tools = f"nut files {', '.join(mm_text(file, 3) for file in files)} mm, feelers, calipers"
    return m.step(
        "nut",
        f"Slot places and floors {within(t.NUT_SLOT)}, thickness {both_units(made.thickness)} "
        f"+0/-{both_units(t.NUT_THICKNESS)}",
        "From the slotted nut, or a blank marked with the strip glued on. File each floor in small steps toward its "
        "place and measure over the wood beside the string; the back falls away, the string leaves at the front edge.",
        f"Held by two drops of hide or white glue under its middle, so that the next one comes out whole {PRACTICE}.",
        numbers=(("thickness", both_units(made.thickness)), ("seat below the board", both_units(made.seat_depth))),
        table=tables.slots(i), tools=tools, cautions=(c.NUT_DUST, c.NUT_FILING, c.GLUE), boxes=("thickness reached",),
    )  # fmt: skip


def saddle(m: Workplace) -> Step:
    piece = m.instrument.saddle_piece
    numbers = (
        [] if piece is None else [("thickness", both_units(piece.thickness)), ("length", both_units(piece.length))]
    )
    return m.step(
        "saddle", f"Heights {within(t.SADDLE)}, the top's arc without a step",
        "Work the underside, not the top, to lower it: square and flat, or the string will not couple to the top.",
        numbers=tuple(numbers), table=tables.ends(m.instrument), tools="files, calipers, radius gauge",
        cautions=(c.NUT_DUST,), boxes=("bass end", "treble end"),
    )  # fmt: skip


def strings_on(m: Workplace) -> Step:
    i = m.instrument
    return m.step(
        "strings-on",
        f"Every string at its note within {t.CENTS:g} cents {PRACTICE}, stretched in, about {i.total_load_n:.0f} N on "
        "the neck, and the neck at rest for a while",
        table=tables.tuned(i), tools="winder, tuner, cutters", cautions=(c.EYES, c.ROD), boxes=("at pitch",),
    )  # fmt: skip


def setup(m: Workplace) -> Step:
    i, action = m.instrument, m.instrument.spec.setup.action
    capo = ", with a capo on the first fret" if action.capo else ""
    return m.step(
        "setup",
        f"Relief {within(t.RELIEF)}, heights at the first fret {within(t.FIRST_FRET)}, action {within(t.ACTION)} "
        f"{PRACTICE}",
        "In this order, and once round again: each changes the ones after it.",
        "A floor that is too high is filed; one that is too low is no file's work, but a shim's or a new nut's.",
        numbers=(("relief", both_units(i.strung.relief)), ("action at fret", f"{action.fret}{capo}")),
        table=tables.heights(i), tools="straightedge, feelers, rod key, nut files, rule",
        cautions=(c.ROD, c.NUT_FILING), boxes=("relief", "relief again"),
    )  # fmt: skip


def offsets(m: Workplace) -> Step:
    row = m.instrument.plan.octave
    at = "the octave" if row is None else f"fret {int(m.instrument.plan.numbers[row])}"
    return m.step(
        "offsets", f"Every string's note at {at} as the first page wants it, ± {t.CENTS:g} cents {PRACTICE}",
        "Set every saddle to its offset, then try: the fretted note sharp, the saddle goes back; flat, forward. Fret "
        "as one plays, not harder.",
        table=None if "saddle" in m.asked else tables.ends(m.instrument), tools="tuner, rule", cautions=(c.EYES,),
        boxes=("all within", "strings to go back to"),
    )  # fmt: skip


def check(m: Workplace) -> Step:
    i = m.instrument
    asked, has = i.spec.playing.headroom, i.clearance.least_fretted
    pull = ""
    if asked is not None:
        pull = f", pulled {both_units(min(asked.bass, asked.treble))} aside or more as [playing] asks"
    elif has is not None:
        pull = f", pulled up to {both_units(has)} aside, the least that this setup has room for"
    return m.step(
        "check", f"0 notes that buzz or die, every fret of every string{pull}",
        tools="ears, tuner", cautions=(c.EYES,), boxes=("notes to go back to",),
    )  # fmt: skip


def record_left(m: Workplace) -> Step:
    return m.step(
        "record-left",
        "Every value of the first page read again and within what stands beside it: that is the instrument's record",
        "Paper is no gauge: damp stretches it. Measure the instrument, not the print.",
        'The same readings in a second survey file, named in the spec as as_left = "FILE", print in the last column '
        "and tell what lies beyond.",
        tools="as for the record as found", cautions=(c.EYES,), boxes=("date", "temperature, humidity"),
    )  # fmt: skip
