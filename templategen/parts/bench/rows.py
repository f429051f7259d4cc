"""The bench sheet's tables: what the instrument is, was found as and is to be left as; per string what a step needs."""

from __future__ import annotations

import math

from templategen.instrument.model import Instrument
from templategen.repair.model import Bench
from templategen.repair.record import Quantity, record
from templategen.repair.survey.tools import Reading
from templategen.tables.model import Table, column
from templategen.tables.nut import bass_end
from templategen.units import both_units, mm_text


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
            column("file", "file", nut.file, "fine", missing="no file of the shop"),
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


def record_table(bench: Bench) -> Table:
    """As found, as wanted, as left; what was not measured is empty, to be written in."""
    lines = record(bench)
    return Table(
        "record",
        "As found, as wanted, as left",
        (
            column("what", "quantity", (each.label for each in lines), "words"),
            column("found", "as found", (_read(each, each.found) for each in lines), "words"),
            column("wanted", "as wanted", (_value(each, each.wanted) for each in lines), "words"),
            column("left", "as left", (_read(each, each.left) for each in lines), "words"),
        ),
    )


def _value(each: Quantity, value: float) -> str:
    if each.kind == "cents":
        return f"{value:+.1f}"
    if math.isinf(value):
        return "flat"
    return both_units(value, 1 if each.kind == "radius" else 2)


def _read(each: Quantity, read: Reading | None) -> str:
    """A reading with its ±, k = 2, and a mark where it was left beyond its tolerance."""
    if read is None:
        return ""
    places = 1 if each.kind != "length" else 2
    pm = f" ± {mm_text(read.pm, places)}" if math.isfinite(read.pm) else ""
    mark = " BEYOND" if read is each.left and each.beyond else ""
    return f"{_value(each, read.value)}{pm}{mark}"
