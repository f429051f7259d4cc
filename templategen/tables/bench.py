"""At the bench: what each step needs of every string, with room for what was reached, and the instrument's record."""

from __future__ import annotations

import math
from dataclasses import replace

from templategen.instrument.model import Instrument
from templategen.repair.model import Bench
from templategen.repair.record import Quantity, record
from templategen.repair.survey.tools import Reading
from templategen.tables import nut, strings
from templategen.tables.model import Column, Table, column
from templategen.units import both_units, mm_text

REACHED = "reached"
"""The key of a last column to be written in."""


def _picked(i: Instrument, **heads: str) -> tuple[Column, ...]:
    """Facts of the strings under heads that a bench needs, which may be longer than those of a sheet."""
    whole = strings.facts(i)
    return tuple(replace(whole[key], head=head) for key, head in heads.items())


def _reached(i: Instrument, head: str) -> Column:
    return column(REACHED, head, ("" for _ in i.strings), "words")


def slots(i: Instrument) -> Table:
    """Where and how deep every slot of the nut is."""
    columns = (
        strings.name_column(i),
        replace(nut.places(i)["from_bass_end"], head="from the bass end"),
        *_picked(
            i, slot_width="width", file="file", floor_above_board_here="floor over the wood",
            slot_depth="depth from the top",
        ),
        _reached(i, "floor reached"),
    )  # fmt: skip
    return Table("bench_nut", "Slots", columns)


def ends(i: Instrument) -> Table:
    """Heights and offsets at the saddle."""
    columns = (
        strings.name_column(i),
        *_picked(i, saddle_height="height over the board's centreline", saddle_offset="offset from the scale line"),
        column("from_nut", "from the nut", i.saddle.from_nut, "length"),
        _reached(i, "height reached"),
    )
    return Table("bench_saddle", "At the saddle", columns)


def heights(i: Instrument) -> Table:
    """Under every string, when all is set."""
    columns = (
        strings.name_column(i),
        *_picked(
            i, first_fret_clearance="over the first crown, open", pressed_gap="over the first crown, held at 3",
            action=f"over fret {i.spec.setup.action.fret}",
        ),
        _reached(i, "reached"),
    )  # fmt: skip
    return Table("bench_setup", "Underside of each string", columns)


def tuned(i: Instrument) -> Table:
    """What goes on."""
    columns = (strings.name_column(i), *_picked(i, gauge="gauge", frequency_hz="pitch", tension_n="tension"))
    return Table("bench_tuning", "Strings", columns)


def as_left(bench: Bench) -> Table:
    """As found, as wanted, as left; what was not measured is empty, to be written in."""
    lines = record(bench)
    return Table(
        "record",
        "As found, as wanted, as left",
        (
            column("what", "quantity", (each.label for each in lines), "words"),
            column("found", "as found", (_read(each, each.found) for each in lines), "words"),
            column("wanted", "as wanted", (_value(each, each.wanted) for each in lines), "words"),
            column("within", "within", (_within(each) for each in lines), "words"),
            column("left", "as left", (_read(each, each.left) for each in lines), "words"),
        ),
    )


def _value(each: Quantity, value: float) -> str:
    if each.kind == "cents":
        return f"{value:+.1f} cents"
    if math.isinf(value):
        return "flat"
    return both_units(value, 1 if each.kind == "radius" else 2)


def _within(each: Quantity) -> str:
    """The tolerance, either way."""
    if not math.isfinite(each.tolerance):
        return ""
    places = 2 if each.kind == "length" else 1
    return f"{mm_text(each.tolerance, places)}{'' if each.kind == 'cents' else ' mm'}"


def _read(each: Quantity, read: Reading | None) -> str:
    """A reading with its ±, k = 2, and a mark where it was left beyond its tolerance."""
    if read is None:
        return ""
    places = 1 if each.kind != "length" else 2
    pm = f" ± {mm_text(read.pm, places)}" if math.isfinite(read.pm) else ""
    mark = " BEYOND" if read is each.left and each.beyond else ""
    return f"{_value(each, read.value)}{pm}{mark}"
