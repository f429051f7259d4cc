"""The radius block: where its radius comes from, what it leaves on a cone, and the facets that make a cone by hand."""

from __future__ import annotations

from typing import Any

from templategen.instrument.model import Instrument
from templategen.instrument.tools.block import Block, Facets, facets
from templategen.instrument.tools.gauges import stations, string_arc
from templategen.tables import strings
from templategen.tables.model import Column, Kind, Table, Value, column

AT_ENDS = ("nut", "last")


def station_name(at: str | int) -> str:
    """``"nut"``, ``"last fret"`` or ``"fret 5"``."""
    return {"nut": "nut", "last": "last fret"}.get(str(at), f"fret {at}")


def block(b: Block) -> Table:
    """One line for each step from the board's radius to the block's."""

    def one(key: str, head: str, value: Value, kind: Kind = "length") -> Column:
        return column(key, head, (value,), kind)

    arc = one("profile_depth", "height of the arc over the width", b.profile_depth, "fine")
    crown = b.work_radius - b.board_radius
    paper = b.abrasive_thickness
    if b.flat:
        steps = [one("face", "face", "flat, for a flat board", "words")]
    elif b.convex:
        steps = [
            one("board_radius", "hollow's radius, the board's", b.board_radius),
            one("abrasive", "− paper and adhesive", paper),
            one("block_radius", "convex block's radius", b.radius),
            arc,
        ]
    else:
        steps = [
            one("board_radius", "board's radius", b.board_radius),
            *([one("crown", "+ crown height", crown)] if crown else []),
            one("abrasive", "+ paper and adhesive", paper),
            one("block_radius", "block's radius", b.radius),
            arc,
        ]
    steps += [
        one(
            "rides_on", "rides in" if b.convex else "rides on", "hollows" if b.convex else f"the {b.rides_on}", "words"
        ),
        one("length", "length", b.length),
    ]
    if not b.fits_everywhere:
        fits = f"fits {'a hollow of ' if b.convex else ''}the cone at"
        steps.append(one("at", fits, station_name(b.at), "words"))
        for end, (x, gap) in enumerate(zip(b.ends_x, b.mismatch, strict=True)):
            place = "the edges" if gap > 0 else "the centre"
            steps.append(one(f"gap_{end}", f"gap {x:.0f} mm from the nut, at {place}", abs(gap), "fine"))
    return Table("radius-block", "Radius block", tuple(steps), labels=0, upright=True)


def strips(i: Instrument) -> Table:
    """A cone by hand: one flat strip under each string, at the nut and at the last fret."""
    f, last = facets(i.plan, i.board), f"fret {i.spec.scale.fret_count}"

    def both(key: str, name: str, values: Any, kind: Kind) -> list[Column]:
        return [
            column(f"{key}_nut", f"{name}, nut", values[:, 0], kind),
            column(f"{key}_last", f"{name}, {last}", values[:, 1], kind),
        ]

    columns = (
        strings.name_column(i),
        *both("width", "width", f.width, "length"),
        *both("drop", "drop", f.drop, "fine"),
        *both("tilt", "tilt", abs(f.tilt_deg), "angle"),
        column("ridge", "ridge", f.ridge.max(axis=1), "fine"),
    )
    notes = (
        "Drop: of the strip under its string, below the board's centreline. Tilt: falling away from the centreline. "
        "Ridge: how far the strips' meeting lines stand above the round: what is left to blend.",
    )
    return Table("facets", "The cone by hand: one flat strip under each string", columns, notes)


def numbers(b: Block | None) -> dict[str, Any] | None:
    """The block's section of numbers.json."""
    if b is None:
        return None
    return {
        "at": b.at,
        "board_radius": b.board_radius,
        "block_radius": b.radius,
        "profile_depth": b.profile_depth,
        "rides_on": b.rides_on,
        "face": "convex" if b.convex else "flat" if b.flat else "concave",
        "abrasive_thickness": b.abrasive_thickness,
        "ends_from_nut": b.ends_x,
        "mismatch_at_ends": b.mismatch,
        "ribs": None
        if b.ribs is None
        else {"thickness": b.ribs.thickness, "count": b.ribs.count, "stack_length": b.ribs.stack_length},
    }


def facet_numbers(i: Instrument) -> Table | None:
    """The facets' section of numbers.json: pairs are at the nut and at the last fret."""
    if not i.board.law.conical:
        return None
    f: Facets = facets(i.plan, i.board)
    columns = (
        column("string", "string", range(1, len(f.drop) + 1), "count"),
        column("drop", "drop", f.drop, "points", axes=AT_ENDS),
        column("width", "width", f.width, "points", axes=AT_ENDS),
        column("tilt_deg", "tilt", f.tilt_deg, "points", axes=AT_ENDS),
        column("ridge", "ridge", f.ridge, "points", axes=AT_ENDS),
    )
    return Table("facets", "Facets", columns)


def gauge_numbers(i: Instrument) -> dict[str, Any]:
    """The gauges' section of numbers.json."""
    arc = string_arc(i)
    return {
        "stations": [{"name": s.name, "from_nut": s.x, "radius": s.radius} for s in stations(i)],
        "string_arc": {
            "from_nut": arc.x,
            "of": "tops" if arc.tops else "undersides",
            "radius": arc.radius,
            "farthest_string_off": arc.worst,
        },
    }
