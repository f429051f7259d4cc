"""The re-radius plan: what each of the two ways takes, station by station and string by string."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from templategen.instrument.model import Instrument
from templategen.repair.reradius import Removal, Reradius
from templategen.tables import strings
from templategen.tables.model import Column, Kind, Table, column

WAYS = {
    "parallel": "the centreline stays parallel to what it was",
    "tilted": "the centreline tilts along the neck, the way that takes the least wood",
}


def stations(plan: Reradius) -> Table:
    """Every station as numbers, the nut's front edge (no fret) first: reradius.csv, and a list of numbers.json."""
    ways = (each for way in plan.ways for each in _taken(plan, way))
    stop = column("depth_stop", "depth stop", (None, *plan.depth_stop), "length")
    return Table("reradius", "Re-radius", (_fret(plan), _from_nut(plan), *ways, stop))


def _fret(plan: Reradius) -> Column:
    return column("fret", "fret", (None, *(int(n) for n in plan.numbers[1:])), "count", missing="nut")


def _from_nut(plan: Reradius) -> Column:
    return column("from_nut", "from nut", plan.x, "length")


def _taken(plan: Reradius, way: Removal) -> tuple[Column, ...]:
    """What one way takes and leaves at every station; slots under the frets only."""

    hollow = not plan.wear_measured
    thick, slot = hollow or not plan.thickness_measured, hollow or not plan.slot_measured

    def one(key: str, head: str, values: Iterable[float | None], guess: bool) -> Column:
        return column(f"{way.way}_{key}", head, values, "length", estimated=[guess] * len(plan.x))

    return (
        one("centre", "centre", way.centre, hollow),
        one("bass_edge", "bass edge", way.bass_edge, hollow),
        one("treble_edge", "treble edge", way.treble_edge, hollow),
        one("thickness_centre", "thick, centre", way.thickness_centre, thick),
        one("thickness_edge", "thick, edge", way.thickness_edge, thick),
        one("slot_left_centre", "slot, centre", (None, *way.slot_left_centre), slot),
        one("slot_left_edge", "slot, edge", (None, *way.slot_left_edge), slot),
        one("recut", "re-cut", (None, *way.recut), slot),
    )


def of_way(plan: Reradius, way: Removal) -> Table:
    """One way for a person to work by."""
    whole = stations(plan)
    edge = column(f"{way.way}_edge", "edge", way.edge, "length", estimated=[not plan.wear_measured] * len(plan.x))
    keys = [f"{way.way}_{key}" for key in ("centre", "thickness_edge", "recut")]
    centre, thick, recut = whole.pick(*keys)
    notes = (
        "Centre, edge: depth taken, at the edge that loses more. Thick, edge: what is left after sanding, at the "
        "thinner edge. Re-cut: what the slot then lacks for the wire.",
    )
    title = f"Re-radius, {way.way}: {WAYS[way.way]}"
    return Table(f"reradius-{way.way}", title, (*whole.columns[:2], centre, edge, thick, recut), notes)


def ways(i: Instrument, plan: Reradius) -> Table:
    """The two ways side by side."""
    last = i.spec.scale.fret_count

    hollow = not plan.wear_measured
    thick, slot = hollow or not plan.thickness_measured, hollow or not plan.slot_measured
    both = plan.distinct

    def one(key: str, head: str, values: Iterable[Any], kind: Kind = "length", guess: bool = hollow) -> Column:
        return column(key, head, values, kind, estimated=[guess] * len(both))

    columns = (
        column("way", "the board's centreline", (way.way for way in both)),
        one("at_nut", "goes down at the nut", (way.centre[0] for way in both)),
        one("at_last", f"goes down at fret {last}", (way.centre[-1] for way in both)),
        one("largest", "largest depth", (way.largest for way in both)),
        one("volume", "volume", (way.volume for way in both), "volume"),
        one("thick_nut", "thick after, centre, nut", (way.thickness_centre[0] for way in both), guess=thick),
        one("thick_last", f"thick after, centre, fret {last}", (way.thickness_centre[-1] for way in both), guess=thick),
        one("thick_edge", "thick after, edge, least", (way.thickness_edge.min() for way in both), guess=thick),
        one("slots", "slots to re-cut", (int((way.recut > 0).sum()) for way in both), "count", slot),
        one("deepest", "deepest re-cut", (way.recut.max() for way in both), guess=slot),
    )
    title = "Re-radius: the two ways" if len(both) > 1 else "Re-radius: both ways are the same"
    return Table("reradius", title, columns, upright=True)


def under_strings(i: Instrument, plan: Reradius) -> Table:
    """How far the crowns under each string go down, and how far nut and saddle follow."""
    at = i.spec.setup.action.fret
    columns = [strings.name_column(i)]
    guess = [not (plan.crowns_measured and plan.wear_measured)] * len(i.strings)
    for way in plan.distinct:
        columns += [
            column(f"{way.way}_at_action", f"{way.way}, fret {at}", way.at_action, "length", estimated=guess),
            column(f"{way.way}_lower_nut", f"{way.way}, nut", way.lower_nut, "length", estimated=guess),
            column(f"{way.way}_lower_saddle", f"{way.way}, saddle", way.lower_saddle, "length", estimated=guess),
        ]
    title = "Re-radius: how far crowns go down under each string, nut and saddle after them"
    notes = ("Parallel, tilted: how the board's centreline goes down.",)
    return Table("reradius-strings", title, tuple(columns), notes)


def numbers(plan: Reradius | None) -> dict[str, Any] | None:
    """The section of numbers.json."""
    if plan is None:
        return None
    told = plan.measured
    whole: dict[str, Any] = {
        "before_radius_at_nut": plan.before.at_nut,
        "before_radius_at_last_fret": plan.before.radius(plan.x[-1]),
        "measurement": None if told is None else vars(told),
        "thickness_before": plan.thickness_before,
        "thickness_measured": plan.thickness_measured,
        "slot_depth_before": plan.slot_before,
        "slot_depth_needed": plan.slot_needed,
        "wear_depth": plan.wear_depth,
        "wear_measured": plan.wear_measured,
        "crowns_higher": plan.crowns_higher,
        "crowns_measured": plan.crowns_measured,
        "stations": stations(plan),
    }
    for way in plan.ways:
        whole[way.way] = {
            "crown_down_at_nut": way.centre[0],
            "crown_down_at_last_fret": way.centre[-1],
            "tilt": way.tilt,
            "largest": way.largest,
            "largest_at": way.at,
            "volume_mm3": way.volume,
            "at_strings": way.at_strings,
            "lower_nut": way.lower_nut,
            "lower_saddle": way.lower_saddle,
        }
    return whole
