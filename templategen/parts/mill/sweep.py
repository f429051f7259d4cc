"""What a program leaves, reckoned before it is written: its tools swept along its moves, against the floors wanted.

It reads the program's steps, the lines that the writer replays, and takes none of what the program was made from for
granted: the machine's state is followed, every move is laid over the patches, and what it leaves there is compared with
what the part is to have.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from templategen.drawing.program import Program, ProgramStep, Tool, turned
from templategen.drawing.toolpath import Spot
from templategen.instrument.arrays import Array

DEEPER, HIGHER = 0.01, 0.02
"""mm below the floor wanted that nothing may be, and over it that nothing may stay."""
BESIDE, SHORT = 0.01, 0.006  # mm that a wall may be cut beyond its place, and before it
WALL = 0.02  # mm beside a wall where it is the wall's place that counts, and no floor's height
_ALONG = 0.04  # mm between places along a slot
_ACROSS = 9  # places across it
_FINE = 1e-6


@dataclass(frozen=True)
class Patch:
    """A slot in the plane: from ``start`` on along the unit vector ``along`` for ``length``; mm, the program's frame.

    floor: height wanted of (distance along, distance to the left). cuts: names of the cuts that make it. shut: whether
    its ends are walls; a level cutter then leaves its own width there that is not compared upward.
    """

    name: str
    start: tuple[float, float]
    along: tuple[float, float]
    length: float
    width: float
    floor: Callable[[Array, Array], Array]
    shut: bool = False


@dataclass(frozen=True)
class Ways:
    """Where tools have gone at a feed, by the name of the cut: tool, and points of its tip, straight moves between."""

    found: dict[str, list[tuple[Tool, list[Spot]]]] = field(default_factory=dict)

    def add(self, name: str, tool: Tool, points: Sequence[Spot]) -> None:
        runs = self.found.setdefault(name, [])
        if runs and runs[-1][0] is tool and runs[-1][1][-1] == points[0]:
            runs[-1][1].extend(points[1:])
        else:
            runs.append((tool, list(points)))


def followed(program: Program) -> tuple[Ways, str]:
    """The ways that the steps cut, and the first thing that a machine would find wrong with them, "" for nothing."""
    ways, wrong = Ways(), ""
    tool, turns, waited, at, run, ended = None, False, False, None, list[Spot](), False
    for step in program.steps():
        if step.word in {"tool", "change"}:
            wrong = wrong or ("the tool is changed while it turns" if turns else "")
            tool, at = step.tool, None
        elif step.word == "speed":
            turns, waited = True, False
        elif step.word == "wait":
            waited = True
        elif step.word in {"stop", "end"}:
            turns, ended = False, step.word == "end"
        elif step.word == "rapid":
            low = step.to[2] < program.safe_z - _FINE or (at is not None and at[2] < program.safe_z - _FINE)
            wrong = wrong or (f"a rapid move of {step.name} below the safe height" if low else "")
            at = step.to
        elif step.word in {"feed", "arc"}:
            if tool is None or at is None or not turns or not waited or step.feed <= 0:
                return ways, wrong or f"{step.name} is cut before a tool turns, or without a feed"
            run = _points(at, step)
            wrong = wrong or _outside(program, run, step)
            ways.add(step.name, tool, run)
            at = step.to
    return ways, wrong or ("" if ended else "the program does not end")


def _points(at: Spot, step: ProgramStep) -> list[Spot]:
    """The move as straight pieces; an arc in pieces of at most 5 degrees."""
    if step.word == "feed":
        return [at, step.to]
    (cx, cy), swept = step.centre, turned(at, step)
    count, begun = max(2, math.ceil(math.degrees(swept) / 5)), math.atan2(at[1] - cy, at[0] - cx)
    radii = [math.hypot(x - cx, y - cy) for x, y, _ in (at, step.to)]
    way = -1.0 if step.clockwise else 1.0
    shares = [n / count for n in range(count + 1)]
    return [
        (
            cx + (radii[0] + s * (radii[1] - radii[0])) * math.cos(begun + way * s * swept),
            cy + (radii[0] + s * (radii[1] - radii[0])) * math.sin(begun + way * s * swept),
            at[2] + s * (step.to[2] - at[2]),
        )
        for s in shares
    ]


def _outside(program: Program, points: Sequence[Spot], step: ProgramStep) -> str:
    (x0, y0, z0), (x1, y1, _) = program.box
    past = program.past + _FINE
    for x, y, z in points:
        if not (x0 - past <= x <= x1 + past and y0 - past <= y <= y1 + past):
            return f"{step.name} leaves the stock by more than its overrun, at ({x:.3f}, {y:.3f})"
        if z < z0 - program.down - _FINE:
            return f"{step.name} goes below the stock, to {z:.3f}"
    return ""


def fault(program: Program, patches: Sequence[Patch]) -> str:
    """Why the program must not be written: the first thing found, "" where there is none."""
    ways, wrong = followed(program)
    if wrong:
        return wrong
    spare = set(ways.found) - {patch.name for patch in patches}
    if spare:
        return f"{sorted(spare)[0]} is cut, but not wanted"
    return next((told for patch in patches for told in _patch_faults(ways, patch)), "")


def _patch_faults(ways: Ways, patch: Patch) -> Iterator[str]:
    runs = ways.found.get(patch.name)
    if not runs:
        yield f"{patch.name} is not cut"
        return
    tool = runs[0][0]
    lanes = _lanes(runs, patch)
    reach = tool.radius if tool.form != "vee" else 0.0
    over = max(abs(v) for v in lanes) + reach - patch.width / 2
    if over > BESIDE:
        yield f"{patch.name} is cut {over:.3f} mm beyond its walls"
    short = patch.width / 2 - reach - min(max(lanes), -min(lanes))
    if reach and short > SHORT:
        yield f"{patch.name} would be {short:.3f} mm too narrow on one side"
    s = np.arange(0.0, math.floor(patch.length / _ALONG) + 1)
    v = np.linspace(-1, 1, _ACROSS) * (patch.width / 2 - WALL)
    first = min(int(found.start) for found in lanes.values())
    last = max(int(found.start) + len(found.z) for found in lanes.values())
    if patch.shut and min(first * _ALONG, patch.length - (last - 1) * _ALONG) < tool.radius - BESIDE - _ALONG / 2:
        yield f"{patch.name} is cut beyond its ends"
    left = _left(lanes, tool, s, v)
    off: Array = left - patch.floor(s[:, None] * _ALONG, v[None, :])
    if off.min() < -DEEPER:
        yield f"{patch.name} would be {-off.min():.3f} mm too deep"
    if patch.shut:
        ends = math.ceil(tool.diameter / _ALONG)
        off = off[ends:-ends]
    if off.max() > HIGHER:
        yield f"{patch.name} would stay {off.max():.3f} mm too high"


@dataclass
class _Lane:
    """The lowest heights of the tip along one line beside a slot's middle, from place ``start`` on."""

    start: int
    z: Array


def _lanes(runs: Sequence[tuple[Tool, Sequence[Spot]]], patch: Patch) -> dict[float, _Lane]:
    """By the distance to the left of the middle, 0.001 mm. Moves that change it count at their two ends."""
    (ux, uy), origin = patch.along, np.array(patch.start)
    found: dict[float, list[tuple[Array, Array]]] = {}
    for _, spots in runs:
        points = np.array(spots)
        out = points[:, :2] - origin
        s, v = (out @ [ux, uy]) / _ALONG, np.round(out @ [-uy, ux], 3) + 0.0
        way = np.where(v[1:] == v[:-1], np.sign(np.round(np.diff(s), 6)), 2.0)  # 2: not along the slot
        turns = [0, *(np.flatnonzero(way[1:] != way[:-1]) + 1).tolist(), len(way)]
        for begin, end in pairwise(turns):
            piece = slice(begin, end + 1)
            if abs(way[begin]) == 1.0:
                order = slice(None, None, int(way[begin]))
                at = np.arange(math.ceil(s[piece].min() - 1e-4), math.floor(s[piece].max() + 1e-4) + 1)
                found.setdefault(float(v[begin]), []).append(
                    (at, np.interp(at, s[piece][order], points[piece, 2][order]))
                )
            else:
                for n in range(begin, end + 1):
                    found.setdefault(float(v[n]), []).append((np.round(s[[n]]).astype(int), points[[n], 2]))
    return {v_at: _lowest([piece for piece in pieces if len(piece[0])]) for v_at, pieces in found.items()}


def _lowest(pieces: Sequence[tuple[Array, Array]]) -> _Lane:
    start, end = min(int(at[0]) for at, _ in pieces), max(int(at[-1]) for at, _ in pieces)
    lane = np.full(end - start + 1, np.inf)
    for at, z in pieces:
        lane[at - start] = np.minimum(lane[at - start], z)
    return _Lane(start, lane)


def _left(lanes: dict[float, _Lane], tool: Tool, s: Array, v: Array) -> Array:
    """Height of what is left at places (len(s), len(v)); infinite where no tool has been."""
    left = np.full((len(s), len(v)), np.inf)
    reach = math.floor(tool.radius / _ALONG)
    for v_at, lane in lanes.items():
        across = np.abs(v - v_at)
        padded = np.full(len(s) + 2 * reach, np.inf)  # of the places -reach … len(s) + reach
        begin = lane.start + reach
        a, b = max(begin, 0), min(begin + len(lane.z), len(padded))
        if a < b:
            padded[a:b] = lane.z[a - begin : b - begin]
        for k in range(-reach, reach + 1):
            rise = np.array([tool.rise(math.hypot(x, k * _ALONG)) for x in across])
            left = np.minimum(left, padded[reach + k : reach + k + len(s), None] + rise[None, :])
    return left
