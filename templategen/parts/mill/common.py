"""What the programs share: tools, passes, lanes, and what their heads say."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from templategen.drawing.program import Cut, Program, Tool
from templategen.drawing.toolpath import Spot
from templategen.instrument.arrays import Array
from templategen.instrument.model import Instrument
from templategen.parts.common import cautions
from templategen.spec.models import Mill, MillTool

_SIDE_BY_SIDE = 0.8  # of the cutter's diameter between neighbouring lanes
_RUNS_ONCE = 0.01 + 1e-6  # mm that a cutter may be narrower than its slot and still run once


_STRAIGHT = 1e-7  # mm


def tool(asked: MillTool) -> Tool:
    return Tool(asked.number, asked.form, asked.diameter, asked.feed, asked.plunge, asked.speed, asked.tip_angle)


def passes(deep: float, step: float) -> int:
    """How many passes of at most ``step`` go ``deep``."""
    return max(1, math.ceil(deep / step - 1e-9))


def lanes(width: float, diameter: float) -> tuple[float, ...]:
    """Where a flat cutter runs beside a slot's middle, so that both walls stand where they should."""
    room = max(width - diameter, 0.0)
    if room <= _RUNS_ONCE:
        return (0.0,)
    count = max(2, math.ceil(room / (_SIDE_BY_SIDE * diameter)) + 1)
    return tuple(np.linspace(-room / 2, room / 2, count).tolist())


def straightened(points: Array) -> list[Spot]:
    """Points (n, 3) without those that lie on the straight way between their neighbours."""
    reach, way = points[1:-1] - points[:-2], points[2:] - points[:-2]
    off = np.linalg.norm(np.cross(reach, way), axis=1) / np.linalg.norm(way, axis=1)
    kept = np.concatenate([[True], off > _STRAIGHT, [True]])
    return [(x, y, z) for x, y, z in points[kept].tolist()]


def board_origin(i: Instrument) -> str:
    side = "treble" if i.side > 0 else "bass"
    return (
        "Origin as in fingerboard.step: X0 Y0 where the centreline crosses the front edge of the nut, fret 0; X toward "
        f"the bridge, Y toward the {side} side; Z0 on the stock's top, at the centreline."
    )


def program(
    i: Instrument,
    mill: Mill,
    *,
    name: str,
    title: str,
    cuts: Sequence[Cut],
    box: tuple[Spot, Spot],
    past: float,
    head: Sequence[str],
    overrun: str,
    down: float = 0.0,
) -> Program:
    """A program with what every head says. overrun: how far tools run out of the stock, "" where they do not."""
    clear = f"{overrun}: keep jaws, clamps and screws clear of that, and below it." if overrun else ""
    said = [f"Job: {i.trace}.", *head, *([clear] if clear else [])]
    return Program(
        name=name,
        title=title,
        cuts=tuple(cuts),
        safe_z=mill.safe_z,
        spin_up=mill.spin_up,
        changer=mill.changer,
        box=box,
        past=past,
        down=down,
        head=tuple(said),
        notes=tuple(said),
        cautions=cautions.lines(cautions.MILLING),
    )
