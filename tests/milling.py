"""Programs read by an interpreter that is not ours, and what they leave, swept.

rs274 is LinuxCNC's interpreter as a program (Debian package linuxcnc-uspace): it reads G-code and prints what a machine
would be told, its canonical moves. Everything below is reckoned from those alone.
"""

from __future__ import annotations

import math
import os
import re
import shutil
import subprocess
import tempfile
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from templategen.instrument.model import Instrument
from templategen.spec.models import MillTool

Array = NDArray[np.float64]
UNPACKED = Path(os.environ.get("XDG_CACHE_HOME", Path.home() / ".cache")) / "templategen" / "linuxcnc" / "usr"
"""Where ``.ci/run`` unpacks the package."""
_LINE = re.compile(r"\s*\d+\s+N\S*\s+(\w+)\((.*)\)")


class RefusedError(Exception):
    """The interpreter does not take the program."""


@cache
def interpreter() -> tuple[str, dict[str, str]] | None:
    """The interpreter and the environment that it runs in, None where this machine has none that starts."""
    found = shutil.which("rs274") or str(UNPACKED / "bin" / "rs274")
    env = {**os.environ, "LD_LIBRARY_PATH": str(UNPACKED / "lib"), "LC_ALL": "C"}
    try:
        subprocess.run([found, "-g", os.devnull], env=env, capture_output=True, timeout=20, check=False)
        linked = subprocess.run([found, "-?"], env=env, capture_output=True, timeout=20, check=False)
    except OSError:
        return None
    return (found, env) if b"Usage" in linked.stdout + linked.stderr else None


needs_interpreter = pytest.mark.skipif(
    interpreter() is None, reason="rs274 is not here; .ci/run unpacks it from Debian's linuxcnc-uspace"
)


@dataclass
class Move:
    """One canonical move. points: straight pieces, (n, 3); rate: mm/min, 0 for a rapid one."""

    rapid: bool
    points: Array
    tool: int
    turning: bool
    settled: bool
    rate: float
    name: str


@dataclass
class Told:
    """What the machine is told. wrong: of its state, in words."""

    moves: list[Move] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)
    tools: list[int] = field(default_factory=list)
    stops: int = 0
    waited: float = 0.0


def interpreted(program: bytes, tools: Sequence[MillTool]) -> Told:
    """The canonical moves of a program. Raises RefusedError with the interpreter's own words."""
    assert interpreter() is not None
    found, env = interpreter() or ("", {})
    with tempfile.TemporaryDirectory() as folder:
        path, table = Path(folder, "it.ngc"), Path(folder, "tool.tbl")
        path.write_bytes(program)
        table.write_text("".join(f"T{t.number} P{t.number} D{t.diameter} Z0\n" for t in tools), encoding="ascii")
        ran = subprocess.run(
            [found, "-g", "-t", str(table), str(path)],
            env=env,
            capture_output=True,
            timeout=60,
            check=False,
            cwd=folder,
        )
    if ran.returncode:
        raise RefusedError((ran.stdout + ran.stderr).decode(errors="replace")[-300:])
    return _followed(ran.stdout.decode("ascii", "replace").splitlines())


def _followed(lines: Sequence[str]) -> Told:
    told, at, rate = Told(), np.full(3, np.nan), 0.0
    tool = chosen = 0
    turning = settled = ended = False
    mm, name = False, ""
    for line in lines:
        match = _LINE.match(line)
        if match is None:
            continue
        word, said = match.groups()
        values = [float(v) for v in re.findall(r"-?\d+\.\d+|-?\d+", said)] if word != "COMMENT" else []
        if word == "USE_LENGTH_UNITS":
            mm = "MM" in said
        elif word == "SELECT_PLANE" and "XY" not in said:
            told.wrong.append("another plane")
        elif word == "SET_MOTION_CONTROL_MODE" and "EXACT_PATH" not in said:
            told.wrong.append("corners are rounded")
        elif word == "SELECT_TOOL":
            chosen = int(values[0])
        elif word == "CHANGE_TOOL":
            tool, at = chosen, np.full(3, np.nan)
            told.tools.append(tool)
        elif word == "COMMENT":
            now = re.match(r'"now T(\d+)', said)
            if now and (not told.tools or told.tools[-1] != int(now[1])):
                tool = int(now[1])
                told.tools.append(tool)
            name = said.strip('"') if re.match(r'"(fret|string|outline)\b', said) else name
        elif word == "START_SPINDLE_CLOCKWISE":
            turning, settled = True, False
        elif word == "STOP_SPINDLE_TURNING":
            turning = False
        elif word == "DWELL":
            settled, told.waited = settled or values[0] > 0, told.waited + values[0]
        elif word == "PROGRAM_STOP":
            told.stops += 1
            if turning:
                told.wrong.append("stops with the spindle turning")
        elif word == "SET_FEED_RATE":
            rate = values[0]
        elif word in {"STRAIGHT_TRAVERSE", "STRAIGHT_FEED", "ARC_FEED"}:
            if not mm:
                told.wrong.append("not in mm")
            points, at = _points(word, values, at)
            rapid = word == "STRAIGHT_TRAVERSE"
            told.moves.append(Move(rapid, points, tool, turning, settled, 0.0 if rapid else rate, name))
        elif word == "SET_G5X_OFFSET" and told.moves and turning:  # what M2 does first; it stops the spindle later
            told.wrong.append("ends with the spindle turning")
        elif word == "PROGRAM_END":
            ended = True
    if not ended:
        told.wrong.append("does not end")
    return told


def _points(word: str, values: Sequence[float], at: Array) -> tuple[Array, Array]:
    """A move as straight pieces, and where it ends. ARC_FEED: end, centre, turns (their sign the sense), height."""
    if word != "ARC_FEED":
        end = np.array(values[:3])
        return np.array([at, end]), end
    x, y, cx, cy, turns, z = values[:6]
    begun, ended = math.atan2(at[1] - cy, at[0] - cx), math.atan2(y - cy, x - cx)
    swept = (ended - begun) % (2 * math.pi) if turns > 0 else -((begun - ended) % (2 * math.pi))
    share = np.linspace(0, 1, 25)
    radius = math.hypot(x - cx, y - cy)
    turn = begun + share * swept
    end = np.array([x, y, z])
    return np.stack([cx + radius * np.cos(turn), cy + radius * np.sin(turn), at[2] + share * (z - at[2])], -1), end


# ------------------------------------------------------------------------------------------------- what may not be


def state_faults(told: Told, safe_z: float, box: tuple[Array, Array], past: float, down: float) -> Iterator[str]:
    """Of the machine: spindle, feeds, rapid moves, the stock's box and the overrun."""
    yield from told.wrong
    if not told.moves:
        yield "nothing moves"
        return
    (x0, y0, z0), (x1, y1, _) = box
    for move in told.moves:
        known = ~np.isnan(move.points[:, 0])
        x, y, z = move.points[known].T
        if move.rapid:
            if z.min() < safe_z - 1e-6:
                yield f"{move.name}: rapid at {z.min()}"
            continue
        if not move.turning or not move.settled:
            yield f"{move.name}: fed without a spindle up to speed"
        if move.rate <= 0:
            yield f"{move.name}: no feed"
        if min(x.min() - x0, y.min() - y0, x1 - x.max(), y1 - y.max()) < -past - 1e-3:
            yield f"{move.name}: outside the stock"
        if z.min() < z0 - down - 1e-3:
            yield f"{move.name}: below the stock"
    if told.moves[-1].points[-1, 2] < safe_z - 1e-6:
        yield "ends in the stock"


@dataclass(frozen=True)
class Floor:
    """A slot to be compared. start, end: of its middle, plan. floor: height of points (n, 2). tool: that may cut it."""

    name: str
    start: Array
    end: Array
    width: float
    floor: Callable[[Array], Array]
    top: Callable[[Array], Array]
    blind: bool = False


def slot_faults(told: Told, tools: dict[int, MillTool], floors: Sequence[Floor], step: bool = True) -> Iterator[str]:
    """Deeper than 0.01 or higher than 0.02 than the floors wanted, more than a pass at once, cuts beside the slots."""
    left = {floor.name for floor in floors}
    by_name: dict[str, list[Move]] = {}
    for move in told.moves:
        if not move.rapid:
            by_name.setdefault(move.name, []).append(move)
    for floor in floors:
        moves = by_name.pop(floor.name, [])
        if not moves:
            yield f"{floor.name}: not cut"
            continue
        left.discard(floor.name)
        (number,) = {move.tool for move in moves} if len({move.tool for move in moves}) == 1 else (0,)
        if number not in tools:
            yield f"{floor.name}: with no tool of the mill, or several"
            continue
        yield from _compared(floor, tools[number], moves, step)
    for name, moves in by_name.items():
        if min(move.points[:, 2].min() for move in moves) < 0:
            yield f"{name}: cut though nobody asked"


def _compared(floor: Floor, tool: MillTool, moves: Sequence[Move], step: bool) -> Iterator[str]:
    length = float(np.hypot(*(floor.end - floor.start)))
    u = (floor.end - floor.start) / length
    n = np.array([-u[1], u[0]])
    fine = 0.01 if tool.form == "vee" else 0.05  # a vee's point leaves ridges between places that are far apart
    path = _sampled(moves, fine)
    s, v = (path[:, :2] - floor.start) @ u, (path[:, :2] - floor.start) @ n
    inside = path[:, 2] < float(floor.top((floor.start + floor.end)[None, :] / 2).max()) + 0.3
    if not inside.any():
        yield f"{floor.name}: never reached"
        return
    wide = 0.0 if tool.form == "vee" else tool.diameter / 2
    if (np.abs(v[inside]) + wide).max() > floor.width / 2 + 0.01:
        yield f"{floor.name}: beside its walls"
    if wide and min(v[inside].max(), -v[inside].min()) + wide < floor.width / 2 - 0.006:
        yield f"{floor.name}: narrower than its slot"
    if floor.blind and (s[inside].min() < wide - 0.01 or s[inside].max() > length - wide + 0.01):
        yield f"{floor.name}: beyond its ends"
    _, first = np.unique(np.round(np.column_stack([s, v]), 3), axis=0, return_inverse=True)
    low = np.full(first.max() + 1, np.inf)
    np.minimum.at(low, first, path[:, 2])
    at = np.zeros((len(low), 2))
    at[first] = np.column_stack([s, v])
    for s_at in np.linspace(0.01, length - 0.01, max(12, int(length * 0.8))):
        near = np.abs(at[:, 0] - s_at) <= tool.diameter / 2
        v_at = np.linspace(-1, 1, 9) * (floor.width / 2 - 0.02)
        away = np.hypot(at[near, 0] - s_at, at[near, 1] - v_at[:, None])
        left = np.where(away <= tool.diameter / 2, low[near] + _rise(tool, away), np.inf).min(1, initial=np.inf)
        off = left - floor.floor(floor.start + s_at * u + v_at[:, None] * n)
        if off.min() < -0.01:
            yield f"{floor.name}: {-off.min():.3f} too deep at {s_at:.2f} of {length:.2f}"
            return
        if off.max() > 0.02 and not (floor.blind and min(s_at, length - s_at) < tool.diameter):
            yield f"{floor.name}: {off.max():.3f} too high at {s_at:.2f} of {length:.2f}"
            return
    if step:
        yield from _passes(floor, tool, s, v, path, length)


def _passes(floor: Floor, tool: MillTool, s: Array, v: Array, path: Array, length: float) -> Iterator[str]:
    """Each time that the tool comes past a place it may take at most a pass off what stands there."""
    across = np.linspace(-1, 1, 9) * (floor.width / 2 - 0.02)
    give = 0.01 if tool.form == "vee" else 0.003  # a vee's flank between places 0.01 mm apart
    for share in (0.25, 0.5, 0.75):
        near = np.flatnonzero(np.abs(s - share * length) <= tool.diameter / 2)
        spot = floor.start + share * (floor.end - floor.start)
        stands = np.full(len(across), float(floor.top(spot[None, :])[0]))
        for visit in np.split(near, np.flatnonzero(np.diff(near) > 1) + 1):
            away = np.hypot(s[visit] - share * length, v[visit] - across[:, None])
            inside = away <= tool.diameter / 2
            left = np.where(inside, path[visit, 2] + _rise(tool, away), np.inf).min(1, initial=np.inf)
            if (stands - left).max() > tool.step_down + give:
                yield f"{floor.name}: {(stands - left).max():.3f} in one pass"
                return
            stands = np.minimum(stands, left)


def _sampled(moves: Sequence[Move], every: float) -> Array:
    """Places of the tip at most so far apart, in the order they are passed."""
    a = np.concatenate([move.points[:-1] for move in moves])
    b = np.concatenate([move.points[1:] for move in moves])
    count = np.maximum(np.ceil(np.hypot(*(b - a)[:, :2].T) / every), 1).astype(int)
    row = np.repeat(np.arange(len(a)), count)
    first = np.repeat(np.cumsum(count) - count, count)
    share = (np.arange(len(row)) - first + 1) / count[row]
    return np.concatenate([a[:1], a[row] + share[:, None] * (b - a)[row]])


def _rise(tool: MillTool, away: Array) -> Array:
    """Of the cutting face over the tip (solid geometry)."""
    if tool.form == "ball":
        r = tool.diameter / 2
        return np.asarray(r - np.sqrt(np.maximum(r * r - away * away, 0)))
    if tool.form == "vee":
        assert tool.tip_angle is not None
        return np.asarray(away / math.tan(math.radians(tool.tip_angle / 2)))
    return np.zeros_like(away)


def minutes(told: Told) -> float:
    """At the feeds, with the waiting; no rapid moves."""
    fed = sum(
        float(np.linalg.norm(np.diff(m.points, axis=0), axis=1).sum()) / m.rate for m in told.moves if not m.rapid
    )
    return fed + told.waited / 60


# --------------------------------------------------------------------------------------------------- what is wanted


def fret_floors(i: Instrument) -> list[Floor]:
    """Every fret slot's floor from the plan and the radii: a coaxial arc, or level at the depth stop."""
    floors = []
    for row, fret in enumerate(i.frets):

        def floor(p: Array, row: int = row) -> Array:
            if i.frets.flat_floor or i.board.law.flat:
                level = i.frets.depth_stop_flat if i.frets.flat_floor else i.frets.slot_depth
                return np.full(p.shape[:-1], -float(level[row]))
            radius = i.board.radius(p[..., 0])
            return np.asarray(np.sqrt((radius - i.frets.slot_depth[row]) ** 2 - p[..., 1] ** 2) - radius)

        def top(p: Array) -> Array:
            if i.board.law.flat or i.frets.flat_floor:
                return np.zeros(p.shape[:-1])
            radius = i.board.radius(p[..., 0])
            return np.asarray(np.sqrt(radius**2 - p[..., 1] ** 2) - radius)

        floors.append(
            Floor(
                f"fret {fret.number}",
                np.array(fret.slot_bass_end),
                np.array(fret.slot_treble_end),
                i.spec.fret_wire.slot_width,
                floor,
                top,
                i.spec.fingerboard.blind_slot_inset is not None,
            )
        )
    return floors


def nut_floors(i: Instrument, top: float) -> list[Floor]:
    """The slotted nut's floors below the blank's ``top``: cylinders about inclined axes, or planes of a vee.

    Upright distances: a line parallel to z meets the cylinder where its distance to the axis is the radius.
    """
    nut, floors = i.nut, []
    begin, end = nut.floor_lines
    for row in range(len(nut.along)):
        axis = (end[row] - begin[row]) / np.linalg.norm(end[row] - begin[row])
        up = np.array([0.0, 0.0, 1.0]) - axis[2] * axis
        up /= np.linalg.norm(up)
        side = np.cross(axis, up)
        full, pilot = nut.full_width[row], nut.pilots[row]
        lift = nut.filing_allowance if full else nut.depth[row] + nut.top_allowance - pilot.depth
        line = begin[row] + [0.0, 0.0, lift - top]

        def floor(
            p: Array, line: Array = line, axis: Array = axis, up: Array = up, side: Array = side, row: int = row
        ) -> Array:
            at = np.concatenate([p, np.zeros((*p.shape[:-1], 1))], -1) - line
            if not nut.full_width[row]:
                tan = math.tan(math.radians(nut.pilots[row].angle_deg / 2))
                return np.asarray((np.abs(at @ side) / tan - at @ up) / up[2])  # (at + z) @ up = |across| / tan
            r = nut.width[row] / 2
            return np.asarray((r - np.sqrt(r * r - (at @ side) ** 2) - at @ up) / up[2])

        width = float(nut.width[row] if full else pilot.width)
        floors.append(Floor(f"string {row + 1}", begin[row][:2], end[row][:2], width, floor, _level))
    return floors


def _level(p: Array) -> Array:
    """The stock's top, level where Z0 is."""
    return np.zeros(p.shape[:-1])
