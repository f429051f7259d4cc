"""The saddle of one piece: heights, places and offsets against a second computation in plan."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from calls import SADDLE
from hypothesis import given, settings
from hypothesis import strategies as st
from making import FAN, instrument, work
from places import SPECS
from scipy.optimize import linprog
from scipy.spatial.transform import Rotation

from templategen import job
from templategen.instrument.model import Instrument
from templategen.instrument.saddle.witness import FROM_FACE, STEEPEST_DEG, held, lands, straightest
from templategen.tables.numbers import numbers

JOBS: dict[str, dict[str, Any]] = {
    "plain": {},
    "leant, left": {"handedness": "left", "saddle.lean": 8, "saddle.slant": 3},
    "curved seat": {"saddle.seat_radius": 320, "saddle.from_nut": 641.2, "saddle.ends": "round"},
    "fan": {**FAN, "saddle.thickness": 4.0},
}


@pytest.fixture(scope="module", params=[*JOBS, "fleet-21", "fleet-52"])
def told(request: pytest.FixtureRequest) -> tuple[Instrument, dict[str, Any]]:
    """An instrument with a saddle to be made, and its numbers.json."""
    if request.param.startswith("fleet"):
        made = job.compute(str(SPECS / f"{request.param}.toml"))[1]
    else:
        made = work({**SADDLE, **JOBS[request.param]})
    return made.instrument, numbers(made.bench, made.findings)


def test_places_are_where_the_strings_end(told: tuple[Instrument, dict[str, Any]]) -> None:
    """From the saddle's frame back to plan, by the slot's turn, lean, place and depth alone."""
    i, whole = told
    saddle, spec = whole["saddle"], i.spec
    assert spec.saddle is not None
    side = 1.0 if spec.handedness == "right" else -1.0
    upright = Rotation.from_euler("z", 90 + side * saddle["slant_deg"], degrees=True)
    # the nut's axes: x to the treble side, y toward the nut; leant, the top goes away from the nut (−y)
    frame = upright * Rotation.from_euler("x", saddle["lean_deg"], degrees=True)
    front = np.array([i.plan.nut_x + saddle["from_nut"], 0.0, spec.bridge.top_height])
    origin = front - frame.apply([0.0, spec.saddle.thickness, spec.saddle.seat_depth])
    local = np.stack([saddle["along"], saddle["across"], saddle["height"]], -1)
    plan = origin + frame.apply(local)
    for n, (place, string) in enumerate(zip(plan, whole["strings"], strict=True)):
        start, end = i.plan.string_nut[n], i.plan.string_saddle[n]
        x = start[0] + string["nut_offset"] if i.spec.scale.zero_fret is None else start[0]
        # on the string: from its floor in the nut, straight, and rising as its height at the saddle says
        share = (place[0] - x) / (i.saddle.x[n] - x)
        assert place[2] == pytest.approx(i.nut.floor_z[n] + share * (string["saddle_height"] - i.nut.floor_z[n]))
        across = start[1] + (place[0] - start[0]) * (end[1] - start[1]) / (end[0] - start[0])
        assert place[1] == pytest.approx(across, abs=1e-9)
        assert place[0] == pytest.approx(end[0] + saddle["offset"][n], abs=1e-9)
    if not isinstance(spec.saddle.slant, str):
        assert saddle["slant_deg"] == pytest.approx(spec.saddle.slant)
        bass, treble = (origin + frame.apply([x, 0.0, 0.0]) for x in sorted(saddle["ends_x"], reverse=side < 0))
        # a positive slant puts the bass end farther from the nut
        assert math.degrees(math.atan2(bass[0] - treble[0], abs(bass[1] - treble[1]))) == pytest.approx(
            spec.saddle.slant, abs=1e-9
        )
    if np.allclose(saddle["across"], saddle["across_wanted"]):
        assert plan == pytest.approx(np.stack([i.saddle.x, i.saddle.y, i.saddle.height], -1), abs=1e-9)
        assert saddle["offset"] == pytest.approx([s["saddle_offset"] for s in whole["strings"]], abs=1e-9)
    assert saddle["over_bridge"] == pytest.approx(plan[:, 2] - spec.bridge.top_height, abs=1e-9)


def test_ends_and_blank(told: tuple[Instrument, dict[str, Any]]) -> None:
    i, whole = told
    saddle, asked = whole["saddle"], i.spec.saddle
    assert asked is not None
    gauges = [s["gauge"] for s in whole["strings"]]
    low, high = saddle["ends_x"]
    first, last = (0, -1) if saddle["along"][0] < saddle["along"][-1] else (-1, 0)
    room = saddle["along"][first] - gauges[first] / 2 - low, high - saddle["along"][last] - gauges[last] / 2
    if asked.edge_margin is not None:
        assert room == pytest.approx((asked.edge_margin,) * 2)
    else:
        assert high - low == pytest.approx(asked.length)
        middle = (saddle["along"][first] + saddle["along"][last]) / 2
        assert (high + low) / 2 == pytest.approx(middle)
    length, wide, tall = saddle["blank"]["size"]
    assert (length, wide) == pytest.approx((high - low + 4.0, asked.thickness + 0.6))
    assert tall >= max(saddle["height"]) + 0.8 - 1e-6


def test_forces_are_of_the_strings_own_angles(told: tuple[Instrument, dict[str, Any]]) -> None:
    i, whole = told
    asked = i.spec.saddle
    assert asked is not None
    if asked.break_angle is None:
        assert whole["saddle"]["forces"] is None
        return
    behind = asked.break_angle.spread(i.plan.toward_bass)
    for n, (row, string) in enumerate(zip(whole["saddle"]["forces"], i.strings, strict=True)):
        slope, start, end, after = i.line.slope[n], i.plan.string_nut[n], i.plan.string_saddle[n], behind[n]
        rise = slope * (end[0] - start[0])
        front = math.atan2(rise, float(np.hypot(*(end - start))))
        pull, after = string.load.tension_n, math.radians(after)
        assert row["down_n"] == pytest.approx(pull * (math.sin(front) + math.sin(after)))
        assert row["toward_nut_n"] == pytest.approx(pull * (math.cos(front) - math.cos(after)))


def test_what_it_cannot_hold_is_held_as_near_as_may_be() -> None:
    made = work({**SADDLE, "saddle.thickness": 1.4})
    piece, free = made.instrument.saddle_piece, made.instrument.intonation
    assert piece is not None
    assert (piece.across.min(), piece.across.max()) == pytest.approx((0.3, 1.1)), "a witness stays inside the faces"
    off = np.abs(piece.off) > 1e-6
    assert off.any()
    assert not off.all()
    clipped = np.clip(piece.wanted, 0.3, 1.1)
    assert piece.across == pytest.approx(clipped)
    assert piece.wanted.min() + piece.wanted.max() == pytest.approx(1.4), "both sides lose alike"
    # as held: the same job with these offsets given by hand
    again = instrument({**SADDLE, "saddle.thickness": 1.4, "intonation.saddle": [float(v) for v in piece.offset]})
    for held_fit, given_fit, best in zip(piece.fits, again.intonation.fits, free.fits, strict=True):
        assert held_fit.cents.total == pytest.approx(given_fit.cents.total, abs=2e-3)
        moved = held_fit.saddle_offset - best.saddle_offset
        # at the octave half the length is left: moving its end by d changes it by 1200/ln 2 · d/L more than the open
        change = (held_fit.cents.total - best.cents.total)[11]
        assert change == pytest.approx(-1200 / math.log(2) * moved / 640, rel=0.05, abs=0.02)
    (finding,) = (f for f in made.findings if f.code == "saddle-offsets-not-held")
    row = int(np.argmax(np.abs(piece.off)))
    worst = np.abs(piece.fits[row].cents.total[:12]).max()
    assert f"string {row + 1} " in finding.message
    assert f"{abs(piece.off[row]):.2f} mm" in finding.message
    assert f"{worst:.1f} cents for" in finding.message


@given(
    x=st.lists(st.floats(640, 648), min_size=4, max_size=12),
    gaps=st.lists(st.floats(1, 12), min_size=12, max_size=12),
)
@settings(max_examples=60, deadline=None)
def test_the_straightest_line_is_the_linear_programs(x: list[float], gaps: list[float]) -> None:
    """Least largest distance, by scipy's linear programming (Chebyshev's fit as a program)."""
    y = np.cumsum(gaps)[: len(x)]
    places = np.array(x)
    slope = straightest(y, places)
    rows = np.stack([np.ones_like(y), y, -np.ones_like(y)], -1)
    best = linprog(
        [0, 0, 1],
        A_ub=np.concatenate([rows, rows * [-1, -1, 1]]),
        b_ub=np.concatenate([places, -places]),
        bounds=[(None, None), (None, None), (0, None)],
    )
    assert np.ptp(places - slope * y) / 2 == pytest.approx(best.fun, abs=1e-6)


@given(
    wanted=st.lists(st.floats(-3, 6), min_size=4, max_size=12),
    gaps=st.lists(st.floats(2, 12), min_size=12, max_size=12),
    thickness=st.floats(1, 8),
)
@settings(max_examples=100, deadline=None)
def test_held_inside_and_never_steeper(wanted: list[float], gaps: list[float], thickness: float) -> None:
    along = np.cumsum(gaps)[: len(wanted)]
    found = held(along, np.array(wanted), thickness)
    low, high = min(FROM_FACE, thickness / 2), max(thickness - FROM_FACE, thickness / 2)
    assert found.across.min() >= low - 1e-9
    assert found.across.max() <= high + 1e-9
    wide = lands(along)
    ramps = np.diff(along) - (wide[1:] + wide[:-1]) / 2
    turns = np.degrees(np.arctan2(np.abs(np.diff(found.across)), ramps))
    assert turns.max() <= STEEPEST_DEG + 1e-3
    clipped = np.clip(wanted, low, high)
    if np.degrees(np.arctan2(np.abs(np.diff(clipped)), ramps)).max() < STEEPEST_DEG:
        assert found.across == pytest.approx(clipped)
