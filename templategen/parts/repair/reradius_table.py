"""The re-radius plan as numbers: a section of numbers.json and the rows of reradius.csv."""

from __future__ import annotations

from typing import Any

from templategen.repair.reradius import Removal, Reradius


def stations(plan: Reradius) -> list[dict[str, Any]]:
    """Every station as numbers, the nut's front edge (fret null) first."""
    rows = []
    for n in range(len(plan.x)):
        row: dict[str, Any] = {"fret": int(plan.numbers[n]) if n else None, "from_nut": plan.x[n]}
        for way in plan.ways:
            row |= {f"{way.way}_{key}": value for key, value in _at(way, n).items()}
        row["depth_stop"] = plan.depth_stop[n - 1] if n else None
        rows.append(row)
    return rows


def _at(way: Removal, n: int) -> dict[str, Any]:
    return {
        "centre": way.centre[n],
        "bass_edge": way.bass_edge[n],
        "treble_edge": way.treble_edge[n],
        "thickness_centre": way.thickness_centre[n],
        "thickness_edge": way.thickness_edge[n],
        "slot_left_centre": way.slot_left_centre[n - 1] if n else None,
        "slot_left_edge": way.slot_left_edge[n - 1] if n else None,
        "recut": way.recut[n - 1] if n else None,
    }


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
