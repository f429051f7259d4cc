"""Re-radius: what sanding a board from the round it has to the round that is wanted takes away.

Terms
-----
before, wanted   the two rounds, each as its drop under its own crown line: d(x, y) = R(x) − √(R(x)² − y²)
way              how the crown line may go down: *parallel* to what it was, or *tilted* along the neck

With the crown line lowered by c(x), the removal is c(x) − g(x, y), g = d_before − d_wanted the shortfall, and must
nowhere be negative. Parallel: the least c is the largest g. Tilted, c = c₀ + t·x: of all lines that keep the removal
from being negative, the one that takes the least wood. The volume is A·c(x̄) − ∫g with x̄ the outline's centroid, so
the best line is the one that lies lowest over x̄.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, NamedTuple

import numpy as np

from templategen.geometry import arc_drop, radius_of
from templategen.instrument.arrays import Array, fixed
from templategen.instrument.board.sanding import (
    area_and_centroid,
    before_law,
    drop_at,
    extreme_points,
    least_tilt,
    lowest_start,
    played,
    shortfall,
    thickness_before,
    whole_shortfall,
)
from templategen.instrument.board.surfaces import RadiusLaw
from templategen.spec.models import Before

if TYPE_CHECKING:
    from templategen.instrument.board.plan import Plan
    from templategen.instrument.model import Instrument

GAUGE_ERROR = 0.02  # mm, of the height read over a chord, and of the chord
DEPTH_TOLD = 0.01  # mm of slot depth that a depth gauge can tell

WayDown = Literal["parallel", "tilted"]


@dataclass(frozen=True)
class Measurement:
    """Radius from chord and height, r = s/2 + c²/(8s), and what a gauge that reads ``error`` off makes of it.

    given: whether the spec gave chord and height; else they are what one would read across the nut.
    radius_if_higher, radius_if_lower: with the height read as s + error and s − error. radius_if_wider: with the
    chord read as c + error.
    """

    given: bool
    chord: float
    height: float
    error: float
    radius: float
    radius_if_higher: float
    radius_if_lower: float
    radius_if_wider: float


def measurement(chord: float, height: float, given: bool = True, error: float = GAUGE_ERROR) -> Measurement:
    """Height no larger than the error leaves the flatter side open: infinite."""
    return Measurement(
        given=given,
        chord=chord,
        height=height,
        error=error,
        radius=radius_of(chord, height) if height > 0 else math.inf,
        radius_if_higher=radius_of(chord, height + error),
        radius_if_lower=radius_of(chord, height - error) if height > error else math.inf,
        radius_if_wider=radius_of(chord + error, height) if height > 0 else math.inf,
    )


@dataclass(frozen=True)
class Removal:
    """One way of taking the wood away. Lengths in mm, volume in mm³.

    start, tilt: the crown line goes down by c(x) = start + tilt·x. largest, at: the deepest removal and where, (x, y).
    Arrays hold the nut's front edge first and then every fret, (1 + frets,): removal at the centreline and at both
    edges, and the thickness left there. at_strings: removal under every string, (1 + frets, strings);
    at_action: how far the crown at the fret of the action goes down, new crowns being higher or lower than the old,
    (strings,).
    slot_left_centre, slot_left_edge: slot depth left, (frets,); recut: how much the shallowest place lacks, 0 where
    enough is left.
    lower_nut, lower_saddle: how far the string must come down at either end to keep its clearances, (strings,).
    """

    way: WayDown
    start: float
    tilt: float
    largest: float
    at: tuple[float, float]
    volume: float
    centre: Array
    bass_edge: Array
    treble_edge: Array
    thickness_centre: Array
    thickness_edge: Array
    at_strings: Array
    at_action: Array
    slot_left_centre: Array
    slot_left_edge: Array
    recut: Array
    lower_nut: Array
    lower_saddle: Array

    @property
    def edge(self) -> Array:
        """The larger of the two edges' removals."""
        return np.maximum(self.bass_edge, self.treble_edge)

    def crown(self, x: Array | float) -> Array:
        """How far the crown line goes down at x."""
        return np.asarray(self.start + self.tilt * np.asarray(x, dtype=float))


@dataclass(frozen=True)
class Reradius:
    """The plan. numbers: 0 for the nut's front edge, then the frets', (1 + frets,); x: on the centreline.

    thickness_before: at the centreline; thickness_measured: whether [fingerboard.before] gave it, else it is
    [fingerboard]'s, which is the finished board's, and what is taken away there, the crown line kept parallel.
    slot_before: at the edge; slot_measured likewise. slot_needed: what the wire needs. wear_depth: of the deepest
    hollow, crowns_higher: new crowns over old ones; wear_measured and crowns_measured likewise, else both are 0.
    depth_stop: to re-cut with, (frets,): riding on the new round, or for a level floor below the new crown line.
    """

    before: RadiusLaw
    wanted: RadiusLaw
    measured: Measurement | None
    numbers: Array
    x: Array
    thickness_before: float
    thickness_measured: bool
    slot_before: float
    slot_measured: bool
    slot_needed: float
    wear_depth: float
    wear_measured: bool
    crowns_higher: float
    crowns_measured: bool
    depth_stop: Array
    flat_floor: bool
    area: float
    parallel: Removal
    tilted: Removal

    @property
    def distinct(self) -> tuple[Removal, ...]:
        """Both ways, or the one where they are the same."""
        return (self.parallel,) if self.tilted.tilt == 0 else self.ways

    @property
    def ways(self) -> tuple[Removal, Removal]:
        return self.parallel, self.tilted


# ------------------------------------------------------------------------------------------------------------- plan


def reradius(i: Instrument) -> Reradius | None:
    """The whole plan, or None where the spec has no [fingerboard.before].

    Thickness: the board's underside is taken as level under its former crown line. Slots: their floor keeps its place;
    before, it followed the former round at the depth measured at the edge, or for a flat floor lay level there.
    """
    before = i.spec.fingerboard.before
    if before is None:
        return None
    plan, wanted = i.plan, i.board.law
    law = before_law(before, float(plan.centre_x[-1]))
    thickness = thickness_before(before, law, wanted, plan, i.board.thickness)
    needed = i.spec.fret_wire.slot_depth
    flat = i.frets.flat_floor
    places = _Places(
        centre=np.stack([np.append(plan.nut_x, plan.centre_x), np.zeros(1 + len(plan.centre_x))], -1),
        bass=np.concatenate([plan.nut_bass_end[None], plan.bass_ends]),
        treble=np.concatenate([plan.nut_treble_end[None], plan.treble_ends]),
        strings=np.concatenate([plan.string_nut[None], plan.crossings]),
        action=plan.crossing(i.spec.setup.action.fret),
    )
    area, centroid = area_and_centroid(plan.outline)
    points = extreme_points(plan.outline)
    tilt = _least_tilt(before, law, wanted, plan, points, centroid)
    higher = 0.0 if before.crown_height is None else i.spec.fret_wire.crown_height - before.crown_height
    lack = whole_shortfall(law, wanted, plan.outline)
    slot = needed if before.slot_depth is None else before.slot_depth

    def taken(way: WayDown, slope: float) -> Removal:
        start = lowest_start(before, law, wanted, plan, slope)

        def depth(at: Array) -> Array:
            return fixed(start + slope * at[..., 0] - shortfall(law, wanted, at[..., 0], at[..., 1]))

        everywhere = depth(points)
        deepest = int(everywhere.argmax())
        middle, bass, treble, strings, action = (depth(at) for at in places)
        slots = _slots_left(slot, law, places, middle, np.maximum(bass, treble), flat)
        lacking = needed - np.minimum(*slots)
        ends = _lowered(i, strings - higher, action - higher)
        return Removal(
            way=way,
            start=start,
            tilt=slope,
            largest=float(everywhere[deepest]),
            at=(float(points[deepest, 0]), float(points[deepest, 1])),
            volume=float((start + slope * centroid) * area - lack),
            centre=middle,
            bass_edge=bass,
            treble_edge=treble,
            thickness_centre=fixed(thickness - middle),
            thickness_edge=fixed(
                thickness - np.maximum(bass + drop_at(law, places.bass), treble + drop_at(law, places.treble))
            ),
            at_strings=strings,
            at_action=fixed(action - higher),
            slot_left_centre=slots[0],
            slot_left_edge=slots[1],
            recut=fixed(np.where(lacking > DEPTH_TOLD, lacking, 0.0)),
            lower_nut=ends[0],
            lower_saddle=ends[1],
        )

    return Reradius(
        before=law,
        wanted=wanted,
        measured=_measured(before, law, plan.taper.at_nut),
        numbers=fixed(np.append(0.0, plan.numbers)),
        x=fixed(places.centre[:, 0]),
        thickness_before=thickness,
        thickness_measured=before.thickness_at_edge is not None,
        slot_before=slot,
        slot_measured=before.slot_depth is not None,
        slot_needed=needed,
        wear_depth=before.wear_depth or 0.0,
        wear_measured=before.wear_depth is not None,
        crowns_higher=higher,
        crowns_measured=before.crown_height is not None,
        depth_stop=i.frets.depth_stop,
        flat_floor=flat,
        area=area,
        parallel=taken("parallel", 0.0),
        tilted=taken("tilted", tilt),
    )


def _least_tilt(before: Before, law: RadiusLaw, wanted: RadiusLaw, plan: Plan, points: Array, centroid: float) -> float:
    """Of the way that takes the least wood and leaves no hollow."""
    x, need = points[:, 0], shortfall(law, wanted, points[:, 0], points[:, 1])
    if before.wear_depth:
        at = played(plan)
        x = np.concatenate([x, at[:, 0]])
        need = np.concatenate([need, shortfall(law, wanted, at[:, 0], at[:, 1]) + before.wear_depth])
    return least_tilt(x, need, centroid)


class _Places(NamedTuple):
    """Plan points of the nut's front edge and of every fret: (1 + frets, 2), at the strings (1 + frets, strings, 2);
    of the action's fret, (strings, 2)."""

    centre: Array
    bass: Array
    treble: Array
    strings: Array
    action: Array


def _slots_left(
    slot: float, law: RadiusLaw, places: _Places, middle: Array, edge: Array, flat: bool
) -> tuple[Array, Array]:
    """Slot depth left at the centreline and at the edge, (frets,): a level floor lies deeper in the middle by the
    former round's drop at the edge."""
    former = np.minimum(drop_at(law, places.bass), drop_at(law, places.treble))[1:] if flat else 0.0
    return fixed(slot + former - middle[1:]), fixed(slot - edge[1:])


def _measured(before: Before, law: RadiusLaw, width_at_nut: float) -> Measurement | None:
    if before.chord is not None and before.height is not None:
        return measurement(before.chord, before.height)
    if law.flat:
        return None
    return measurement(width_at_nut, float(arc_drop(law.at_nut, width_at_nut / 2)), given=False)


def _lowered(i: Instrument, under_strings: Array, under_action: Array) -> tuple[Array, Array]:
    """How far each string comes down at its nut and at its saddle to keep the clearance at the first fret and the
    action where it is measured: the straight line through what was taken away there, drawn on to both ends."""
    plan = i.plan
    first, at = plan.index(1), i.spec.setup.action.fret
    x0, x1 = plan.string_nut[:, 0], plan.string_saddle[:, 0]
    xa, xb = plan.crossings[first, :, 0], plan.crossing(at)[:, 0]
    za, zb = under_strings[1 + first], under_action
    slope = (zb - za) / (xb - xa)
    return fixed(za + slope * (x0 - xa)), fixed(za + slope * (x1 - xa))
