"""The bench sheet's tables: what the instrument is, was found as and is to be left as; per string what a step needs."""

from __future__ import annotations

import math
from collections.abc import Iterator

from templategen.instrument.model import Instrument
from templategen.parts.nut.nut_words import bass_end
from templategen.tables.model import Table, column
from templategen.units import both_units


def names(i: Instrument) -> tuple[str, ...]:
    return tuple(f"{n + 1} {string.note.text}" for n, string in enumerate(i.spec.strings.set))


def nut_table(i: Instrument) -> Table:
    """Where and how deep every slot is."""
    nut, bass = i.nut, bass_end(i)
    return Table(
        "bench_nut",
        "Slots",
        (
            column("string", "string", names(i), "words"),
            column("place", "from the bass end", (abs(float(x) - bass) for x in nut.along), "length"),
            column("slot_width", "width", nut.width, "fine"),
            column("file", "file", nut.file, "fine", missing="none fits"),
            column("floor_above_board_here", "floor over the wood", nut.floor_above_board_here, "fine"),
            column("slot_depth", "depth from the top", nut.depth, "fine"),
        ),
    )


def saddle_table(i: Instrument) -> Table:
    """Heights and offsets at the other end."""
    return Table(
        "bench_saddle",
        "At the saddle",
        (
            column("string", "string", names(i), "words"),
            column("saddle_height", "height over the board's centreline", i.saddle.height, "length"),
            column("saddle_offset", "offset from the scale line", i.saddle.offset, "length", signed=True),
            column("from_nut", "from the nut", i.saddle.from_nut, "length"),
        ),
    )


def setup_table(i: Instrument) -> Table:
    """Heights under every string."""
    line = i.line
    return Table(
        "bench_setup",
        "Underside of each string",
        (
            column("string", "string", names(i), "words"),
            column("first_fret_clearance", "over the first crown, open", line.first_fret_clearance, "fine"),
            column("pressed_gap", "over the first crown, held at 3", line.pressed_gap, "fine"),
            column("action", f"over fret {i.spec.setup.action.fret}", line.action, "length"),
        ),
    )


def tuning_table(i: Instrument) -> Table:
    """What goes on."""
    return Table(
        "bench_tuning",
        "Strings",
        (
            column("string", "string", names(i), "words"),
            column("gauge", "gauge", i.plan.gauges, "fine"),
            column("frequency_hz", "pitch", (load.frequency_hz for load in i.loads), "frequency"),
            column(
                "tension_n",
                "tension",
                (load.tension_n for load in i.loads),
                "force",
                estimated=(load.body.core_estimated for load in i.loads),
            ),
        ),
    )


def record_table(i: Instrument) -> Table:
    """As found, as wanted, as left: found and left are for writing where nothing was measured."""
    rows = list(_wanted(i))
    return Table(
        "record",
        "As found, as wanted, as left",
        (
            column("what", "quantity", (what for what, _ in rows), "words"),
            column("found", "as found", ("" for _ in rows), "words"),
            column("wanted", "as wanted", (wanted for _, wanted in rows), "words"),
            column("left", "as left", ("" for _ in rows), "words"),
        ),
    )


def _wanted(i: Instrument) -> Iterator[tuple[str, str]]:
    """Every quantity of the job and what it is to be."""
    spec, line = i.spec, i.line
    scale = spec.scale
    if scale.multi_scale:
        yield "scale, bass", both_units(scale.bass_length)
        yield "scale, treble", both_units(scale.treble_length)
    else:
        yield "scale", both_units(scale.bass_length)
    yield "nut's front edge from its place", both_units(0.0)
    yield "relief", both_units(i.strung.relief)
    law = i.board.law
    if law.flat:
        yield "board radius", "flat"
    elif law.conical:
        yield "board radius at the nut", both_units(law.at_nut, 1)
        yield "board radius at the last fret", both_units(float(law.radius(i.plan.centre_x[-1])), 1)
    else:
        yield "board radius", both_units(law.at_nut, 1)
    fret = spec.setup.action.fret
    for side, n in (("bass", -1), ("treble", 0)):
        yield f"first-fret clearance, {side}", both_units(float(line.first_fret_clearance[n]))
        yield f"gap at the first fret, string held at 3, {side}", both_units(float(line.pressed_gap[n]))
        yield f"action over fret {fret}, {side}", both_units(float(line.action[n]))
    spread = abs(float(i.nut.across[0]) - float(i.nut.across[-1]))
    yield "outer strings at the nut, centres", both_units(spread)
    yield "crown height", both_units(spec.fret_wire.crown_height)
    deep = float(i.frets.slot_depth[-1])
    yield "slot depth", both_units(deep) if math.isfinite(deep) else ""
    for name, cents in zip(names(i), _octave_cents(i), strict=True):
        if cents is not None:
            yield f"cents at the octave, string {name}", f"{cents:+.1f}"


def _octave_cents(i: Instrument) -> list[float | None]:
    row = i.plan.octave
    if row is None or row >= i.intonation.cents.shape[1]:
        return [None] * len(i.loads)
    return [float(value) for value in i.intonation.cents[:, row]]
