"""Frets: where their slots are, how wide the board is there, how deep to saw, what wire goes in."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import Any

from templategen.instrument.board.frets import Fret
from templategen.instrument.model import Instrument
from templategen.tables.model import Column, Kind, Table, column
from templategen.units import inches

IN_PLAN = ("x", "y")


def numbers(i: Instrument) -> Column:
    """The column that names the rows."""
    return column("fret", "fret", (fret.number for fret in i.frets), "count")


def start_name(i: Instrument) -> str:
    """Where all distances start."""
    return "nut" if i.plan.nut_x == 0 else "zero fret"


def facts(i: Instrument) -> Table:
    """Everything that is known of each fret."""

    def one(key: str, head: str, kind: Kind, get: Callable[[Fret], Any], **more: Any) -> Column:
        return column(key, head, map(get, i.frets), kind, **more)

    tang = [i.guessed.tang] * len(i.frets.numbers)
    columns = (
        numbers(i),
        one("from_nut", f"from {start_name(i)}", "length", lambda f: f.from_nut),
        one("from_previous", "from the one before", "length", lambda f: f.from_previous),
        one("bass_end", "bass end", "points", lambda f: f.bass_end, axes=IN_PLAN),
        one("treble_end", "treble end", "points", lambda f: f.treble_end, axes=IN_PLAN),
        one("slot_bass_end", "slot, bass end", "points", lambda f: f.slot_bass_end, axes=IN_PLAN),
        one("slot_treble_end", "slot, treble end", "points", lambda f: f.slot_treble_end, axes=IN_PLAN),
        one("width", "width", "length", lambda f: f.width),
        one("radius", "radius", "length", lambda f: f.radius, missing="flat"),
        one("wire_cut", "wire cut", "length", lambda f: f.wire_cut),
        one("tang_length", "tang", "length", lambda f: f.tang_length),
        one("nip_each_end", "nip each end", "length", lambda f: f.nip_each_end),
        one("bend_radius", "bend radius", "length", lambda f: f.bend_radius, missing="straight"),
        one("slot_depth", "slot depth", "length", lambda f: f.slot_depth, estimated=tang),
        one("depth_stop_flat", "depth stop, flat", "length", lambda f: f.depth_stop_flat, estimated=tang),
        one(
            "wood_under_slot_at_edge",
            "wood under slot",
            "length",
            lambda f: f.wood_under_slot_at_edge,
            estimated=tang,
        ),
        one("length_of_one_cent", "one cent is", "fine", lambda f: f.length_of_one_cent),
        one("cents_of_0_1_mm", "0.1 mm is", "cents", lambda f: f.cents_of_tenth, signed=False),
        one("cents_off_per_string", "off, per string", "points", lambda f: f.string_cents, axes=_strings(i)),
    )
    return Table("frets", "Frets", columns)


def _strings(i: Instrument) -> tuple[str, ...]:
    return tuple(str(string.number) for string in i.strings)


def file(i: Instrument) -> Table:
    """frets.csv: distances in inches besides, of what a fret is off the largest alone."""
    first, from_nut, *rest, _ = facts(i).columns
    along = column("from_nut_in", "from nut, in", (inches(fret.from_nut) for fret in i.frets), "number")
    off = column("cents_off_largest", "off", (max(fret.string_cents, key=abs) for fret in i.frets), "cents")
    return Table("frets", "Frets", (first, from_nut, along, *rest, off))


def places(i: Instrument) -> Table:
    """For the terminal: where each slot is, what goes in, how deep."""
    stop = "depth_stop_flat" if i.frets.flat_floor else "slot_depth"
    tang = () if i.spec.fingerboard.blind_slot_inset is None else ("tang_length",)
    keys = ("fret", "from_nut", "width", "radius", "cents_of_0_1_mm", "wire_cut", *tang, stop)
    how = (
        "depth stop, flat: below the board's centreline, slots being sawn level across; " if i.frets.flat_floor else ""
    )
    notes = (f"0.1 mm is: what a slot 0.1 mm (0.004 in) off its place does; {how}wood under slot: at the edge.",)
    return Table(
        "frets",
        f"Frets: from the {start_name(i)} along the centreline",
        facts(i).pick(*keys, "wood_under_slot_at_edge"),
        notes,
    )


def distances(i: Instrument) -> Table:
    """For sheets: every slot's distance along the centreline, of an inch job as a rule reads it besides."""
    fret, from_nut = facts(i).pick("fret", "from_nut")
    columns = fret, replace(from_nut, ruled=i.spec.units == "in")
    return Table("distances", f"Slots from the {start_name(i)}, along the centreline", columns)


def edge_distances(i: Instrument) -> Table:
    """The same along both edges of a multi-scale board, from the nut's corners, and how far each slot stands off square
    to the centreline."""
    ruled = i.spec.units == "in"
    edges = (
        column(f"from_{line.side}_corner", f"from {line.side} corner", line.at[1:], "length", ruled=ruled)
        for line in i.notches
    )
    turn = column("off_square_deg", "off square", (fret.off_square_deg for fret in i.frets), "angle", places=2)
    notes = ("Off square: to the centreline, + with the treble end toward the bridge.",)
    return Table("edges", "Slots from the nut's corners, along the edges", (numbers(i), *edges, turn), notes)


def depth_stops(i: Instrument) -> Table:
    """What the depth stop is set to, for the way of working that the job has, and the wood that is left."""
    f, tang = i.frets, (i.guessed.tang,)
    at_nut, at_last = f.slot_depth[0], f.slot_depth[-1]
    how, left = "sawn after radiusing, the stop riding on the board", "over a concentric floor"
    if i.board.law.flat:
        how, left = "all slots, a flat board", ""
    elif f.flat_floor:
        at_nut, at_last = f.depth_stop_flat_at_nut, f.depth_stop_flat[-1]
        how, left = "sawn before radiusing, on the flat blank", "over a level floor"
    columns = (
        column("way", "depth stop", (how,)),
        column("at_nut", "at the nut", (at_nut,), "length", estimated=tang),
        column("at_last", f"fret {f.numbers[-1]:.0f}", (at_last,), "length", estimated=tang),
    )
    least = column("least", "", (f.wood_under_slot_at_edge.min(),), "length", estimated=tang)
    left_there = least.text(0).rstrip(".")
    note = f"Least wood left under a slot, at an edge{' ' * bool(left)}{left}: {left_there}."
    return Table("depth-stops", "Depth stop of the saw", columns, (note,))


def notches(i: Instrument, side: str, places: Iterable[float]) -> Table:
    """Every notch of a strip: its middle from the board's nut end along the line that the strip lies on."""
    (line,) = (each for each in i.notches if each.side == side)
    names = (label if label == "nut" else f"fret {label}" for label in line.labels)
    along = column("from_nut_end", "from nut end", places, "length", ruled=i.spec.units == "in")
    columns = [column("notch", "notch", names), along]
    if side != "centreline":
        columns.append(column("off_square_deg", "off square", line.turn_deg, "angle", places=2))
    return Table("notches", "Notches from the board's nut end", tuple(columns))
