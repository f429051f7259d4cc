"""The board's two surfaces: the wood, and the board under string tension.

The wood is what solids, slots, wire and blocks are made to. The strung surface lies lower by the relief's sag and is
used for the string line and clearances only, so relief changes no wood.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from templategen.geometry import arc_drop, sagitta
from templategen.instrument.arrays import Array, fixed
from templategen.instrument.board.plan import Plan
from templategen.spec.models import Relief, Spec, Surface


@dataclass(frozen=True)
class RadiusLaw:
    """Radius of the board, linear along the centreline: R = at_nut + slope·x; infinite for a flat board."""

    at_nut: float
    slope: float

    @property
    def flat(self) -> bool:
        return bool(np.isinf(self.at_nut))

    @property
    def conical(self) -> bool:
        return self.slope != 0

    def radius(self, x: ArrayLike) -> Array:
        return np.asarray(self.at_nut + self.slope * np.asarray(x, dtype=float))

    def z(self, x: ArrayLike, y: ArrayLike) -> Array:
        """Height of the surface, 0 at the centreline: √(R² − y²) − R."""
        return np.asarray(0.0 - arc_drop(self.radius(x), y))


def radius_law(surface: Surface, last_fret_x: float) -> RadiusLaw:
    """The law of a [fingerboard] or [fingerboard.before] table; radii linear from the nut to the last fret."""
    if surface.radius_at_nut is not None and surface.radius_at_last_fret is not None:
        slope = (surface.radius_at_last_fret - surface.radius_at_nut) / last_fret_x
        return RadiusLaw(surface.radius_at_nut, slope)
    if surface.radius is None or surface.radius == "flat":
        return RadiusLaw(float("inf"), 0.0)
    return RadiusLaw(surface.radius, 0.0)


@dataclass(frozen=True)
class Board:
    """The board as wood. thickness: at the centreline; length: from the nut's front edge to the end."""

    law: RadiusLaw
    thickness: float

    def z(self, x: ArrayLike, y: ArrayLike) -> Array:
        return self.law.z(x, y)

    def radius(self, x: ArrayLike) -> Array:
        return self.law.radius(x)

    def length_over(self, start: Array, end: Array) -> Array:
        """Length of the surface's section over straight plan lines; start, end (..., 2), result (...).

        ∫√(ẋ² + ẏ² + ż²)dt by Gauss–Legendre with 32 points. On R(x) = R₀ + R′x the surface has
        ż = (R·R′·ẋ − y·ẏ)/√(R² − y²) − R′·ẋ; the integrand is smooth, so the error is far below 1e-9 mm.
        """
        nodes, weights = np.polynomial.legendre.leggauss(32)
        share = (nodes + 1) / 2
        run = np.asarray(end - start, dtype=float)
        plan = np.hypot(run[..., 0], run[..., 1])
        if self.law.flat:
            return np.asarray(plan)
        x = start[..., 0, None] + run[..., 0, None] * share
        y = start[..., 1, None] + run[..., 1, None] * share
        radius, slope = self.law.radius(x), self.law.slope
        dx, dy = run[..., 0, None], run[..., 1, None]
        dz = (radius * slope * dx - y * dy) / np.sqrt(radius * radius - y * y) - slope * dx
        return np.asarray((np.sqrt(dx * dx + dy * dy + dz * dz) * weights / 2).sum(-1))


@dataclass(frozen=True)
class Strung:
    """The board under string tension: sag from relief, and the crowns' fall-away.

    relief is the deepest sag, between x_from and x_to; outside it runs on straight along its end tangents.
    """

    board: Board
    relief: float
    x_from: float
    x_to: float
    fall_from: float
    fall_drop: float
    fall_to: float
    crown_height: float
    zero_crown_height: float | None

    def sag(self, x: ArrayLike) -> Array:
        """4·r·t·(1 − t) between the ends, straight beyond; slightly negative at the nut."""
        if self.x_to == self.x_from:  # a single fret spans nothing
            return np.zeros(np.shape(x))
        t = (np.asarray(x, dtype=float) - self.x_from) / (self.x_to - self.x_from)
        inside = 4 * self.relief * t * (1 - t)
        return np.where(t < 0, 4 * self.relief * t, np.where(t > 1, 4 * self.relief * (1 - t), inside))

    def fall_away(self, x: ArrayLike) -> Array:
        """How far the crowns have dropped by x."""
        if self.fall_drop == 0:
            return np.zeros(np.shape(x))
        share = (np.asarray(x, dtype=float) - self.fall_from) / (self.fall_to - self.fall_from)
        return np.asarray(self.fall_drop * np.maximum(share, 0.0))

    def z(self, x: ArrayLike, y: ArrayLike) -> Array:
        """Height of the strung board's wood."""
        return np.asarray(self.board.z(x, y) - self.sag(x))

    def crown_z(self, x: ArrayLike, y: ArrayLike, height: float | None = None) -> Array:
        """Height of a crown at (x, y): concentric with the board, √((R + h)² − y²) − R − sag − fall-away."""
        h = self.crown_height if height is None else height
        radius = self.board.radius(x)
        return np.asarray(h - arc_drop(radius + h, y) - self.sag(x) - self.fall_away(x))


def build_board(spec: Spec, plan: Plan, left: float | None = None) -> Board:
    """The wood, finished. ``thickness_at_edge`` (at the nut) plus the arc's height there is the thickness at the
    centreline. left: what sanding to another radius leaves there, for a board whose own thickness is not given.
    """
    law = radius_law(spec.fingerboard, float(plan.centre_x[-1]))
    thickness = spec.fingerboard.thickness
    if thickness is None and spec.fingerboard.thickness_at_edge is not None:
        thickness = spec.fingerboard.thickness_at_edge + sagitta(law.at_nut, plan.taper.at_nut)
    if thickness is None:
        thickness = left
    assert thickness is not None
    return Board(law, thickness)


def build_strung(spec: Spec, plan: Plan, board: Board) -> Strung:
    """Relief and fall-away at the frets that the spec names; stations are where the frets cross the centreline."""
    relief = spec.setup.relief
    depth = relief.depth if isinstance(relief, Relief) else relief
    first = (relief.from_fret if isinstance(relief, Relief) else None) or 1
    last = (relief.to_fret if isinstance(relief, Relief) else None) or spec.scale.fret_count
    fall = spec.setup.fall_away
    zero = spec.scale.zero_fret
    last_x = float(plan.centre_x[-1])
    return Strung(
        board=board,
        relief=depth,
        x_from=float(plan.centre_x[plan.index(first)]),
        x_to=float(plan.centre_x[plan.index(last)]),
        fall_from=float(plan.centre_x[plan.index(fall.from_fret)]) if fall else last_x,
        fall_drop=fall.drop if fall else 0.0,
        fall_to=last_x,
        crown_height=spec.fret_wire.crown_height,
        zero_crown_height=(zero.crown_height or spec.fret_wire.crown_height) if zero else None,
    )


def crown_points(plan: Plan, strung: Strung) -> Array:
    """Crown heights where each fret meets each string, (frets, strings); fret 0 with its own crown height."""
    z = np.array(strung.crown_z(plan.crossings[..., 0], plan.crossings[..., 1]))
    if strung.zero_crown_height is not None:
        z[0] = strung.crown_z(plan.crossings[0, :, 0], plan.crossings[0, :, 1], strung.zero_crown_height)
    return fixed(z)
