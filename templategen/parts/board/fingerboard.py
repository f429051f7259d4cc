"""The fingerboard as a solid, in the plan frame with the crown line at z = 0: taper, end, true surface, slots.

Two of them: finished, and flat on top for the shop that saws first and radiuses by hand.
"""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from templategen.drawing.model import point
from templategen.geometry import counterclockwise
from templategen.instrument.arrays import Array
from templategen.instrument.model import Instrument
from templategen.parts.board.slot_outline import outlines, through
from templategen.parts.common import cautions
from templategen.parts.common.about import About
from templategen.parts.common.named import product_name
from templategen.parts.common.product import Body, Product
from templategen.parts.common.work import Work
from templategen.units import mm_text

if TYPE_CHECKING:
    from templategen.solids.board import BoardTop, FretSlot
    from templategen.solids.shape import Solid

NAME = "fingerboard"
WARNED = cautions.lines(cautions.ROUTING, cautions.WOOD_DUST)
WITHIN = 2e-5
"""Share of the volume that a solid may differ from the integral; one slot is ten times as much."""


def make(work: Work) -> tuple[Product, ...]:
    instrument = work.instrument
    finished = Body(NAME, partial(solid, instrument), ("step",), _about(instrument, flat_top=False), WARNED)
    if instrument.board.law.flat:
        return (finished,)
    flat = partial(solid, instrument, flat_top=True)
    return finished, Body(f"{NAME}-flat", flat, ("step",), _about(instrument, flat_top=True), WARNED)


def _about(i: Instrument, flat_top: bool) -> About:
    level = flat_top or i.frets.flat_floor
    stops = i.frets.depth_stop_flat if level else i.frets.slot_depth
    deep = " to ".join(dict.fromkeys(mm_text(float(v)) for v in (stops.min(), stops.max())))
    how = "below the crown line, level" if level else "square below the surface"
    return About(
        part="fingerboard, its top still flat" if flat_top else "fingerboard",
        job=f"{i.spec.title}; {i.trace}",
        material="board wood",
        thickness=i.board.thickness,
        side="front up",
        depth=f"slots {deep} mm {how}, not through",
        allowances="the radius still on: the top is level at the crown line"
        if flat_top and not i.board.law.flat
        else "none",
        datum="x = 0 at the nut's front edge on the centreline, toward the bridge, y toward the treble side of a "
        "right-handed board, z = 0 on the crown line",
        order="slots, then radius, then outline" if flat_top else "radius, slots, outline last",
        size="with allowances" if flat_top and not i.board.law.flat else "finished",
    )


def solid(i: Instrument, flat_top: bool = False) -> Solid:
    """One valid solid. Raises OurBug where its volume is not what the numbers say, so that a cut that took nothing is
    seen.

    flat_top: a level top at the crown line and level floors at every fret's depth stop.
    """
    from templategen.solids import board as boards
    from templategen.solids import make as solids

    surface = boards.BoardTop.flat() if flat_top else _surface(i)
    outline = solids.polygon(counterclockwise([point(p) for p in i.board_outline]))
    what = f"{NAME}, flat top" if flat_top else NAME
    body = boards.board(outline, i.board.thickness, surface, product_name(i.spec.title, what))
    return boards.slotted(body, surface, _slots(i, flat_top), expected_volume(i, flat_top), WITHIN)


def _surface(i: Instrument) -> BoardTop:
    from templategen.solids.board import BoardTop

    law = i.board.law
    if law.flat:
        return BoardTop.flat()
    if not law.conical:
        return BoardTop.cylinder(law.at_nut)
    last = float(i.plan.centre_x[-1])
    return BoardTop.cone(law.at_nut, float(law.radius(last)), 0.0, last)


def _slots(i: Instrument, flat_top: bool) -> list[FretSlot]:
    from templategen.solids.board import FretSlot

    plan, wire = i.plan, i.spec.fret_wire
    floors = [i.frets.floor(row, flat_top) for row in range(len(plan.numbers))]
    blind = i.spec.fingerboard.blind_slot_inset is not None
    return [
        FretSlot(
            start=point(plan.slot_bass_ends[row]),
            end=point(plan.slot_treble_ends[row]),
            width=wire.slot_width,
            depth=floor.depth,
            floor_z=floor.level,
            ends=wire.slot_ends if blind else "through",
        )
        for row, floor in enumerate(floors)
    ]


# ---------------------------------------------------------------------------------------------------------- volume


def expected_volume(i: Instrument, flat_top: bool = False) -> float | None:
    """The solid's volume by integration over the plan, mm³; None where slots meet each other or the board's ends.

    ∫∫(t + z)dA over the outline less ∫∫(z − floor)dA over every slot; Gauss–Legendre on each quadrilateral, and on
    the half discs of round ends. On a cone z is that of the cone itself, y² = −2·R·z − (1 − R′²)·z² (``solids.board``),
    which leaves the circle of radius R(x) by microns where R′ is large.
    """
    corners = np.array(i.board_outline)
    if not _slots_apart(i, corners):
        return None

    def top(x: Array, y: Array) -> Array:
        return np.zeros_like(x) if flat_top or i.board.law.flat else _true(i, x, y, 0.0)

    x, y, weight = _quadrilateral(corners)
    volume = float(((i.board.thickness + top(x, y)) * weight).sum())
    half = i.spec.fret_wire.slot_width / 2
    blind = i.spec.fingerboard.blind_slot_inset is not None
    found = [np.array(slot.points) for slot in outlines(i)] if blind else through(i)
    for row, ends in enumerate(found):
        patches = [_quadrilateral(ends)]
        if blind and i.spec.fret_wire.slot_ends == "round":
            along = (ends[1] - ends[0]) / np.hypot(*(ends[1] - ends[0]))
            patches += [
                _half_disc((ends[1] + ends[2]) / 2, along, half),
                _half_disc((ends[0] + ends[3]) / 2, -along, half),
            ]
        for x, y, weight in patches:
            volume -= float(((top(x, y) - _floor(i, row, x, y, flat_top)) * weight).sum())
    return volume


def _floor(i: Instrument, row: int, x: Array, y: Array, flat_top: bool) -> Array:
    floor = i.frets.floor(row, flat_top)
    return _true(i, x, y, floor.depth) if floor.level is None else floor.z(x, y)


def _true(i: Instrument, x: Array, y: Array, depth: float) -> Array:
    """Height of the cone or cylinder ``depth`` under the board's."""
    radius, share = i.board.radius(x) - depth, 1 - i.board.law.slope**2
    return np.asarray(-depth - y * y / (radius + np.sqrt(radius * radius - share * y * y)))


def _slots_apart(i: Instrument, corners: Array) -> bool:
    """Whether every slot lies whole on the board and clear of its neighbours."""
    wide = 2 * i.spec.fret_wire.slot_width
    for ends, nut, far in ((i.plan.bass_ends, 0, 1), (i.plan.treble_ends, 3, 2)):
        x = ends[:, 0]
        inside = corners[nut, 0] + wide < x[0] and x[-1] < corners[far, 0] - wide
        if not inside or (len(x) > 1 and np.diff(x).min() < wide):
            return False
    return True


_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(24)


def _quadrilateral(corners: Array) -> tuple[Array, Array, Array]:
    """Points and weights to integrate over a quadrilateral, (4, 2) in order: bilinear map from the unit square."""
    u, v = np.meshgrid((_NODES + 1) / 2, (_NODES + 1) / 2, indexing="ij")
    a, b, c, d = corners
    u, v = u[..., None], v[..., None]
    at = (1 - u) * (1 - v) * a + u * (1 - v) * b + u * v * c + (1 - u) * v * d
    by_u = (1 - v) * (b - a) + v * (c - d)
    by_v = (1 - u) * (d - a) + u * (c - b)
    area = np.abs(by_u[..., 0] * by_v[..., 1] - by_u[..., 1] * by_v[..., 0])
    return at[..., 0], at[..., 1], area * np.outer(_WEIGHTS, _WEIGHTS) / 4


def _half_disc(centre: Array, outward: Array, radius: float) -> tuple[Array, Array, Array]:
    """The same over a half disc that bulges along the unit vector ``outward``: radius and angle."""
    r, turn = np.meshgrid((_NODES + 1) / 2 * radius, _NODES * np.pi / 2, indexing="ij")
    u, v = r * np.cos(turn), r * np.sin(turn)
    x = centre[0] + u * outward[0] - v * outward[1]
    y = centre[1] + u * outward[1] + v * outward[0]
    return x, y, r * np.outer(_WEIGHTS, _WEIGHTS) * (radius / 2) * (np.pi / 2)
