"""The saddle as solids: a bar, and finished; saddle frame, one valid solid each, true planes and cylinders."""

from __future__ import annotations

import numpy as np

from templategen.geometry import arc_bulge
from templategen.instrument.arrays import Array
from templategen.instrument.saddle.piece import SaddlePiece
from templategen.instrument.saddle.witness import FROM_FACE
from templategen.parts.saddle import piece_shape as shape
from templategen.solids import combine, make
from templategen.solids.exact import exact
from templategen.solids.shape import Contour, Frame, Solid, add, cross, scaled, unit

_OVER = 2.0  # how far tools stand off the faces that they cross
_WITHIN = 1e-4  # relative, of the volume that is summed


def blank(piece: SaddlePiece, name: str) -> Solid:
    """A plain bar with all allowances, for a machine vice."""
    return make.box(*piece.blank, name)


def finished(piece: SaddlePiece, name: str) -> Solid:
    """As computed. Raises OurBug where the kernel does not give one valid solid of the expected volume."""
    low, high = piece.blank[0][2] - _OVER, piece.blank[1][2] + _OVER
    body = make.prism(shape.plan_outline(piece), (0.0, 0.0, high - low), Frame.xy(low))
    ways = shape.stretches(piece)
    mitres = shape.mitres(ways)
    parts = []
    for n, stretch in enumerate(ways):
        planes = []
        if n > 0:
            point, normal = mitres[n - 1]
            planes.append(make.half_space(point, scaled(_vector(normal), -1.0), 200.0))
        if n < len(mitres):
            point, normal = mitres[n]
            planes.append(make.half_space(point, _vector(normal), 200.0))
        parts.append(combine.cut(combine.intersect(body, _round(piece, stretch, low)), planes))
    whole = combine.fuse(parts, name)
    seat = _under(piece, low)
    return exact(combine.cut(whole, [seat], volume(piece), _WITHIN))


def volume(piece: SaddlePiece) -> float:
    """mm³, summed over upright columns."""
    low, high = piece.low, piece.high
    x = low + (np.arange(4000) + 0.5) * (high - low) / 4000
    nodes, weights = np.polynomial.legendre.leggauss(16)
    reach = np.full(len(x), 0.0)
    if piece.round_ends:  # how far the outline is narrowed by its half circles
        half = piece.thickness / 2
        past = np.maximum(np.maximum(low + half - x, x - high + half), 0.0)
        reach = half - np.sqrt(half * half - past * past)
    depth = piece.thickness - 2 * reach
    y = reach[:, None] + depth[:, None] * (nodes + 1) / 2
    columns = shape.top_z(piece, x[:, None], y) - piece.seat_z(x)[:, None]
    return float((columns * weights * depth[:, None] / 2).sum() * (high - low) / 4000)


def _round(piece: SaddlePiece, stretch: shape.Stretch, low: float) -> Solid:
    """What one stretch's round leaves below it, longer than the stretch by what its mitres lean."""
    r, way = piece.radius, unit(_vector(stretch.way))
    across = unit(cross((0.0, 0.0, 1.0), way))
    half, more = r - FROM_FACE / 2, 2 * r
    deep = max(stretch.start[2], stretch.end[2]) - low + more
    rise = float(np.sqrt(r * r - half * half))
    turn = float(np.arcsin(half / r)) / 2  # a quarter of the arc
    profile = Contour(
        ((-half, -deep), (half, -deep), (half, rise), (-half, rise)), (0.0, 0.0, float(np.tan(turn)), 0.0)
    )
    frame = Frame(add(stretch.start, scaled(way, -more)), across, cross(way, across))
    length = float(np.linalg.norm(np.subtract(stretch.end, stretch.start))) + 2 * more
    return make.prism(profile, scaled(way, length), frame)


def _under(piece: SaddlePiece, low: float) -> Solid:
    """Everything below the seat."""
    x0, x1 = piece.low - _OVER, piece.high + _OVER
    z0, z1 = (float(piece.seat_z(x)) for x in (x0, x1))
    bulge = arc_bulge((x1, z1), (x0, z0), piece.seat_radius)
    contour = Contour(((x0, low - _OVER), (x1, low - _OVER), (x1, z1), (x0, z0)), (0.0, 0.0, bulge, 0.0))
    frame = Frame((0.0, piece.thickness + _OVER, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0))
    return make.prism(contour, (0.0, -piece.thickness - 2 * _OVER, 0.0), frame)


def _vector(values: Array) -> tuple[float, float, float]:
    x, y, z = values.tolist()
    return x, y, z
