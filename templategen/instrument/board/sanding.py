"""Where a board lacks height for another round: over its outline, and how low its crown line must go.

Terms
-----
shortfall   g = d_before − d_wanted: what the board lacks at (x, y) when both crown lines coincide
outline     the board's four corners: bass nut, bass end, treble end, treble nut, (4, 2)

At a given x the shortfall changes one way only from the centreline outward, so its extremes lie on the centreline,
where it is 0, or on the outline.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np

from templategen.errors import Key, Problem
from templategen.geometry import arc_drop, radius_of
from templategen.instrument.arrays import Array
from templategen.instrument.board.plan import Plan, on_centreline
from templategen.instrument.board.surfaces import Board, RadiusLaw, radius_law
from templategen.spec.models import Before, Spec
from templategen.units import mm_text

BEHIND_NUT = 2.0  # mm: what tools for the nut reach past its blank
LEAST_ROOM = 1.0  # mm that a radius must exceed the half width by: nearer, the edges stand upright
SAMPLES = 2001  # along each side of the outline
AGAIN = 201


def shortfall(before: RadiusLaw, wanted: RadiusLaw, x: Array | float, y: Array | float) -> Array:
    """g at plan points; drops of circular segments, d = R − √(R² − y²)."""
    return np.asarray(arc_drop(before.radius(x), y) - arc_drop(wanted.radius(x), y))


def area_and_centroid(corners: Array) -> tuple[float, float]:
    """Area and the centroid's x of a polygon (shoelace formula, any handbook)."""
    x, y = corners[:, 0], corners[:, 1]
    xn, yn = np.roll(x, -1), np.roll(y, -1)
    cross = x * yn - xn * y
    area = cross.sum() / 2
    return abs(float(area)), float(((x + xn) * cross).sum() / (6 * area))


def extreme_points(corners: Array) -> Array:
    """Points among which the shortfall's extremes lie: along the sides and along the centreline, (points, 2)."""
    share = np.linspace(0.0, 1.0, SAMPLES)[:, None]
    first, last = centre_ends(corners)
    runs = [a + share * (b - a) for a, b in _sides(corners)]
    runs.append(np.concatenate([first + share * (last - first), np.zeros_like(share)], -1))
    return np.concatenate(runs)


def centre_ends(corners: Array) -> tuple[float, float]:
    """Where the board's two ends cross the centreline."""
    return float(on_centreline(corners[0], corners[3])), float(on_centreline(corners[1], corners[2]))


def least_start(before: RadiusLaw, wanted: RadiusLaw, corners: Array, tilt: float) -> float:
    """The least c₀ for which c₀ + tilt·x is nowhere below the shortfall: the largest g − tilt·x.

    Sides are sampled, and again between the neighbours of the best sample: three times over, 1e-6 of a step.
    """
    best = max(-tilt * x for x in centre_ends(corners))
    for a, b in _sides(corners):
        low, high, count = 0.0, 1.0, SAMPLES
        for _ in range(4):
            share = np.linspace(low, high, count)
            x, y = a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])
            values = shortfall(before, wanted, x, y) - tilt * x
            top = int(values.argmax())
            best = max(best, float(values[top]))
            low, high, count = share[max(top - 1, 0)], share[min(top + 1, count - 1)], AGAIN
    return best


def lowest_start(before: Before, law: RadiusLaw, wanted: RadiusLaw, plan: Plan, tilt: float = 0.0) -> float:
    """The least c₀ that gives the new round everywhere and takes every hollow out: between the outer strings at least
    its depth must go, wherever it is."""
    start = least_start(law, wanted, plan.outline, tilt)
    if not before.wear_depth:
        return start
    x, y = played(plan).T
    return max(start, float((shortfall(law, wanted, x, y) + before.wear_depth - tilt * x).max()))


def played(plan: Plan) -> Array:
    """Points among which the extremes of the shortfall lie where strings wear the board: along the outer strings and
    the centreline, from the nut to the last fret, (points, 2)."""
    share = np.linspace(0.0, 1.0, SAMPLES)[:, None]
    ends = [(plan.string_nut[n], plan.crossings[-1, n]) for n in (0, -1)]
    ends.append((np.array([plan.nut_x, 0.0]), np.array([plan.centre_x[-1], 0.0])))
    return np.concatenate([a + share * (b - a) for a, b in ends])


def least_tilt(x: Array, g: Array, centroid: float) -> float:
    """Slope of the line that lies nowhere below the points (x, g) and lowest at the centroid: of the edge of their
    upper convex hull there (monotone chain)."""
    hull: list[tuple[float, float]] = []
    order = np.lexsort((-g, x))
    for point in zip(x[order].tolist(), g[order].tolist(), strict=True):
        if hull and point[0] == hull[-1][0]:
            continue
        while len(hull) > 1 and _over(hull[-2], hull[-1], point):
            hull.pop()
        hull.append(point)
    for (xa, za), (xb, zb) in pairwise(hull):
        if xa <= centroid <= xb:
            return float((zb - za) / (xb - xa))
    return 0.0


def whole_shortfall(before: RadiusLaw, wanted: RadiusLaw, corners: Array) -> float:
    """∫g over the outline, mm³: Gauss–Legendre, 40 × 40 points on the bilinear map of the four corners.

    The integrand is smooth and the map's Jacobian linear, so the error is far below 1e-6 mm³.
    """
    nodes, weights = np.polynomial.legendre.leggauss(40)
    u, v = np.meshgrid((nodes + 1) / 2, (nodes + 1) / 2, indexing="ij")
    u, v = u[..., None], v[..., None]
    a, b, c, d = corners
    point = (1 - u) * (1 - v) * a + u * (1 - v) * b + u * v * c + (1 - u) * v * d
    along, across = (1 - v) * (b - a) + v * (c - d), (1 - u) * (d - a) + u * (c - b)
    jacobian = np.abs(along[..., 0] * across[..., 1] - along[..., 1] * across[..., 0])
    values = shortfall(before, wanted, point[..., 0], point[..., 1])
    return float((values * jacobian * weights[:, None] * weights[None, :]).sum() / 4)


def _sides(corners: Array) -> list[tuple[Array, Array]]:
    return list(zip(corners, np.roll(corners, -1, axis=0), strict=True))


def _over(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> bool:
    """Whether c lies on or over the line from a through b, so that b is no corner of the upper hull."""
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]) >= 0


def before_law(before: Before, last_fret_x: float) -> RadiusLaw:
    """The round as measured: a radius, two radii, "flat", or chord and height."""
    if before.chord is not None and before.height is not None:
        return RadiusLaw(radius_of(before.chord, before.height), 0.0)
    return radius_law(before, last_fret_x)


def thickness_left(spec: Spec, plan: Plan) -> float | None:
    """Thickness at the centreline that sanding leaves, the crown line kept parallel, where neither ``thickness`` nor
    ``thickness_at_edge`` of [fingerboard] says what it is to be; None where the spec does not tell what it was."""
    board, before = spec.fingerboard, spec.fingerboard.before
    if board.thickness is not None or board.thickness_at_edge is not None:
        return None
    if before is None or before.thickness_at_edge is None:
        return None
    last_x = float(plan.centre_x[-1])
    law = before_law(before, last_x)
    return _measured(before, law, plan) - lowest_start(before, law, radius_law(board, last_x), plan)


def thickness_before(before: Before, law: RadiusLaw, wanted: RadiusLaw, plan: Plan, finished: float) -> float:
    """At the centreline, as measured at the nut's edge; else the finished board's and what sanding takes, the crown
    line kept parallel."""
    if before.thickness_at_edge is not None:
        return _measured(before, law, plan)
    return finished + lowest_start(before, law, wanted, plan)


def cone_problems(spec: Spec, plan: Plan, board: Board) -> list[Problem]:
    """Cones that narrow to nothing, or to less than the board's half width, somewhere a surface is needed.

    Radii are given at the nut and at the last fret and run on in a line: over the whole board, behind the nut for its
    seat and its blank, and to the frets that heights are measured at on a short board.
    """
    corners = plan.outline[:, 0]
    nut = spec.nut.thickness + spec.nut.stock.sides + BEHIND_NUT
    behind = plan.nut_x - nut / math.cos(math.radians(plan.nut_slant_deg)) - np.ptp(corners[[0, 3]]) / 2
    heights = [plan.crossing(fret)[:, 0] for fret in (1, 2, spec.setup.action.fret)]
    places = np.concatenate([corners, [behind], *heights])
    found = _narrow(("fingerboard",), board.law, plan, places)
    before = spec.fingerboard.before
    if before is not None:
        law = before_law(before, float(plan.centre_x[-1]))
        found += _narrow(("fingerboard", "before"), law, plan, corners)
    return found


def _narrow(key: Key, law: RadiusLaw, plan: Plan, places: Array) -> list[Problem]:
    room = law.radius(places) - plan.taper.width(places) / 2
    if not law.conical or room.min() > LEAST_ROOM:
        return []
    x = float(places[int(room.argmin())])
    where = f"{mm_text(abs(x), 1)} mm {'behind' if x < 0 else 'from'} the front edge of the nut"
    return [
        Problem(
            (*key, "radius_at_last_fret"),
            f"makes a cone that falls to a radius of {mm_text(max(float(law.radius(x)), 0.0))} mm {where}, where the "
            f"board's half width is {mm_text(float(plan.taper.width(x)) / 2)} mm\n"
            "bring radius_at_nut and radius_at_last_fret nearer each other",
        )
    ]


def sanding_problems(spec: Spec, plan: Plan, board: Board) -> list[Problem]:
    """A board that sanding, the crown line kept parallel, would go through."""
    before, wanted = spec.fingerboard.before, board.law
    if before is None:
        return []
    law = before_law(before, float(plan.centre_x[-1]))
    start = lowest_start(before, law, wanted, plan)
    left = thickness_before(before, law, wanted, plan, board.thickness) - start
    bass = np.concatenate([plan.nut_bass_end[None], plan.bass_ends])
    treble = np.concatenate([plan.nut_treble_end[None], plan.treble_ends])
    at_edge = left - np.maximum(drop_at(wanted, bass), drop_at(wanted, treble))
    if at_edge.min() > 0:
        return []
    row = int(at_edge.argmin())
    where = f"fret {plan.numbers[row - 1]:.0f}" if row else "the nut"
    corners = extreme_points(plan.outline)
    largest = start - float(shortfall(law, wanted, corners[:, 0], corners[:, 1]).min())
    return [
        Problem(
            ("fingerboard", "before"),
            f"sanding to the new radius takes {largest:.2f} mm, more than the board has: at the edge at {where} "
            f"it would be {mm_text(-at_edge[row])} mm short\n"
            "choose a radius nearer the present one, measure fingerboard.before.thickness_at_edge and the radius "
            "again, or make a new board",
        )
    ]


def drop_at(law: RadiusLaw, at: Array) -> Array:
    """How far a round lies below its crown line at plan points, (n, 2)."""
    return arc_drop(law.radius(at[:, 0]), at[:, 1])


def _measured(before: Before, law: RadiusLaw, plan: Plan) -> float:
    """At the centreline, from that at the nut's edge and the former round's height there."""
    assert before.thickness_at_edge is not None
    return before.thickness_at_edge + float(arc_drop(law.at_nut, plan.taper.at_nut / 2))
