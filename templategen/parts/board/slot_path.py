"""Fret slots as a cutter runs them: centre lines, and points along them with their depth; plan frame."""

from __future__ import annotations

import math

import numpy as np

from templategen.drawing.toolpath import Toolpath, Way
from templategen.instrument.arrays import Array
from templategen.instrument.model import Instrument
from templategen.parts.common import cautions
from templategen.parts.common.about import About
from templategen.parts.common.layers import PENS
from templategen.parts.common.product import Product, Run
from templategen.parts.common.work import Work
from templategen.units import mm_text

NAME = "slot-path"
PAST_EDGE = 1.5
"""mm that the cutter's centre runs past the edge of a through slot."""
WITHIN = 0.005
"""mm that a straight move between two points stays from the floor asked for."""


def make(work: Work) -> tuple[Product, ...]:
    return (Run(NAME, lambda: toolpath(work.instrument), about=_about(work.instrument)),)


def toolpath(i: Instrument) -> Toolpath:
    """A way per slot: where the cutter's centre goes, its tip on the slot's floor."""
    return Toolpath(
        name=NAME,
        title=f"{i.spec.title}: fret slots, the cutter's way",
        counted="fret",
        ways=tuple(
            Way(str(int(fret)), tuple((x, y, z) for x, y, z in profile(i, row).tolist()))
            for row, fret in enumerate(i.frets.numbers)
        ),
        in_space=("SLOT_PATH", PENS["SLOT_PATH"]),
        flat=("SLOT_CENTRE", PENS["SLOT_CENTRE"]),
        settings={"cutter": "flat end mill", "diameter": i.slot_cutter.diameter, "owned": i.slot_cutter.owned},
        notes=_about(i).lines,
        cautions=cautions.lines(cautions.ROUTING),
    )


def _about(i: Instrument) -> About:
    blind = i.spec.fingerboard.blind_slot_inset is not None
    run = (
        f"ends shortened by the cutter's radius, {mm_text(i.slot_cutter.radius, 3)} mm"
        if blind
        else f"run past the edges by {PAST_EDGE} mm"
    )
    return About(
        part="fret slots, the cutter's ways",
        job=f"{i.spec.title}; {i.trace}",
        material="the board",
        thickness=i.board.thickness,
        side="front up",
        depth="not through: SLOT_PATH has the final depth along each line, z from the crown line (0) downward, "
        f"{_floor_text(i)}, straight moves between its points within {WITHIN} mm; take it in passes",
        allowances="none",
        datum="on the centreline at fret 0, x toward the bridge, z = 0 on the crown line",
        order="fret by fret from the nut",
        size="path",
        more=(
            f"Slot centres for {cutter_text(i)}, {run}.",
            f"SLOT_CENTRE has the same lines flat, {NAME}.csv the same points.",
        ),
    )


def cutter_text(i: Instrument) -> str:
    size = f"{mm_text(i.slot_cutter.diameter, 3)} mm"
    if i.slot_cutter.owned:
        return f"the shop's flat end mill of {size}"
    return f"a flat end mill of {size}, the slot's width" + (", which the shop lacks" if i.shop.cutters else "")


def _floor_text(i: Instrument) -> str:
    return "level floors for a flat blank" if i.frets.flat_floor else "floors concentric with the board"


def paths(i: Instrument) -> tuple[Array, Array]:
    """Where the cutter's centre starts and ends, bass side first: (frets, 2) each."""
    plan = i.plan
    run = plan.slot_treble_ends - plan.slot_bass_ends
    along = run / np.hypot(run[:, 0], run[:, 1])[:, None]
    inward = i.slot_cutter.radius if i.spec.fingerboard.blind_slot_inset is not None else -PAST_EDGE
    return plan.slot_bass_ends + inward * along, plan.slot_treble_ends - inward * along


def profile(i: Instrument, row: int) -> Array:
    """Points (n, 3) along a slot's path, evenly spaced, as few as keep straight moves within WITHIN of the floor.

    A chord of length s leaves a curve of radius r by s²/(8r) (circular segment); r is at least the floor's radius
    times the cube of the cosine at the path's lower end, for the curve z(y) read off a slanted or flat-lying line.
    """
    starts, ends = paths(i)
    start, end = starts[row], ends[row]
    steps = 1
    if i.frets.follows:
        length = float(np.hypot(*(end - start)))
        inner = min(float(i.board.radius(p[0])) for p in (start, end)) - float(i.frets.slot_depth[row])
        steepest = max(abs(float(start[1])), abs(float(end[1]))) / inner
        curve = inner * (1 - steepest**2) ** 1.5
        steps = max(2, math.ceil(length / math.sqrt(8 * curve * WITHIN * 0.9)))
    share = np.linspace(0.0, 1.0, steps + 1)[:, None]
    points = start + share * (end - start)
    return np.concatenate([points, i.frets.floor(row).z(points[:, 0], points[:, 1])[:, None]], axis=1)
