"""Best setup against the contract's check values and a general-purpose solver of linear programmes (scipy, HiGHS)."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from making import FAN, instrument
from scipy.optimize import linprog

from templategen.instrument.model import Instrument
from templategen.instrument.setup.best import AWAY, _lowest, best_setup, most_headroom, raised, tried
from templategen.instrument.setup.clearance import clearance

# A board on which every string is one line: flat, no offsets, and all of it at the scale and setup of the contract's
# example: action 1.8 over fret 12, the floor on the line of the first two crowns, plucked 130 mm from the saddle.
CONTRACT: dict[str, Any] = {
    "scale.length": 648,
    "scale.fret_count": 22,
    "fingerboard.radius": "flat",
    "setup.first_fret_clearance": None,
    "setup.nut_over_crowns": 0,
    "setup.action": {"fret": 12, "bass": 1.8, "treble": 1.8},
    "setup.relief": 0,
    "playing.plucked_at": 130 / 648,
    "intonation.saddle": "none",
}


def test_the_contracts_example() -> None:
    """Straight 0.7652; parabola between first and last 0.8942 at relief 0.313: of pulls away from the board, as its
    other figures are; pulls toward it touch earlier, high up the neck, once there is more relief than 0.249."""
    made = instrument(CONTRACT)
    found = made.best_setup
    assert found is not None
    assert np.nanmin(made.clearance.away[1:]) == pytest.approx(0.7652, abs=5e-5)
    relief, headroom = most_headroom(made, (AWAY,))
    assert (round(relief, 3), round(headroom, 4)) == (0.313, 0.8942)
    assert (round(found.most_headroom_relief, 3), round(found.most_headroom, 4)) == (0.249, 0.8680)


def least_by_hand(relief: float, ways: str) -> float:
    """The contract's board with nothing of the package: one string over 22 crowns on a parabola, every fretted note
    and every crown beyond it. ways: of pulling, "away", "toward" or both."""
    scale, fret = 648.0, np.arange(1, 23)
    x = scale * (1 - 2 ** (-fret / 12))
    t = (x - x[0]) / (x[-1] - x[0])
    z = -4 * relief * t * (1 - t)
    floor = z[0] - (z[1] - z[0]) * x[0] / (x[1] - x[0])
    saddle = floor + (z[11] + 1.8 - floor) * scale / x[11]
    least = np.inf
    for n in range(21):
        length = scale - x[n]
        p, d = min(130.0, 0.8 * length), x[n + 1 :] - x[n]
        gap = z[n] + (saddle - z[n]) * d / length - z[n + 1 :]
        for way, near in (("away", p), ("toward", length - p)):
            if way in ways:
                least = min(least, (gap / np.where(d <= near, d / near, (length - d) / (length - near))).min())
    return float(least)


@pytest.mark.parametrize(
    ("ways", "relief", "headroom"), [("away", 0.3131, 0.8942), ("away toward", 0.2494, 0.8679), ("toward", 0.0, 1.1707)]
)
def test_the_contracts_two_figures_by_trying_every_relief(ways: str, relief: float, headroom: float) -> None:
    """0.8942 at 0.313 is what pulls away from the board leave; with the pulls toward it, which then touch at 0.791, no
    relief leaves more than 0.868. Both are reported."""
    tried = np.arange(0, 0.6, 0.0005)
    found = [least_by_hand(float(r), ways) for r in tried]
    best = int(np.argmax(found))
    assert tried[best] == pytest.approx(relief, abs=6e-4)
    assert found[best] == pytest.approx(headroom, abs=3e-4)
    assert least_by_hand(0.3131, "away toward") == pytest.approx(0.791, abs=5e-4)
    of = instrument(CONTRACT).best_setup
    assert of is not None
    told = {
        "away": (of.away_relief, of.away_headroom), "away toward": (of.most_headroom_relief, of.most_headroom),
    }.get(ways)  # fmt: skip
    if told is not None:
        assert told == pytest.approx((relief, headroom), abs=1e-4)
        assert least_by_hand(told[0], ways) == pytest.approx(told[1], abs=1e-9)


CASES: dict[str, dict[str, Any]] = {
    "plain": {},
    "asked": {"playing.headroom": {"bass": 0.9, "treble": 0.6}},
    "multi-scale, left": {**FAN, "handedness": "left", "playing.plucked_at": {"bass": 0.12, "treble": 0.3}},
    "fall-away, pressed": {
        "setup.fall_away": {"from": 12, "drop": 0.4},
        "setup.first_fret_clearance": None,
        "setup.pressed_gap": 0.08,
    },
    "capo": {"setup.action": {"fret": 14, "bass": 1.9, "treble": 1.5, "capo": 1}},
    "zero fret": {"scale.zero_fret": True, "setup.first_fret_clearance": None},
    "relief of its own": {"setup.relief": {"depth": 0.3, "from": 1, "to": 9}},
    "back bow": {"setup.relief": -0.2},
}


@pytest.mark.parametrize("name", CASES)
def test_both_against_a_solver_of_linear_programmes(name: str) -> None:
    """The conditions are read off the model at three settings, and the solver has relief and every action at once."""
    made = instrument(CASES[name])
    found = made.best_setup
    assert found is not None
    gaps, bent, lifted, away, toward = conditions(made)
    strings = len(made.loads)
    rows, sides, gap_rows = [], [], []
    for s in range(strings):
        for motion in (away, toward):
            for n, j in zip(*np.triu_indices(len(gaps), 1), strict=True):
                if n == 0:
                    continue
                unit = np.zeros(strings)
                unit[s] = -lifted[n, j, s]
                rows.append([-bent[n, j, s], *unit])
                sides.append(gaps[n, j, s] - found.asked[s] * motion[n, j, s])
                gap_rows.append([-bent[n, j, s], motion[n, j, s], gaps[n, j, s]])
    most = linprog([0, -1], np.array(gap_rows)[:, :2], np.array(gap_rows)[:, 2], bounds=[(0, 5), (None, None)])
    assert found.most_headroom == pytest.approx(most.x[1], abs=1e-6)
    least = linprog([0] + [1] * strings, np.array(rows), sides, bounds=[(0, 5)] + [(None, None)] * strings)
    assert (found.least_action - found.action).sum() == pytest.approx(least.fun, abs=1e-6)


def conditions(made: Instrument) -> tuple[Any, ...]:
    action = made.spec.setup.action.over_strings.spread(made.plan.toward_bass)
    base = tried(made, relief=0.0)
    bent = tried(made, relief=2.0).gaps - base.gaps
    lifted = tried(made, relief=0.0, action=action + 2.0).gaps - base.gaps
    return base.gaps, bent / 2, lifted / 2, *base.motions


@pytest.mark.parametrize("name", CASES)
def test_what_is_promised_is_what_the_model_gives(name: str) -> None:
    """A spec with the relief, or the relief and the action, that were found has the headroom that was promised."""
    case = {**CASES[name], "intonation.saddle": "none"}  # offsets follow the action, and would move the saddle
    made = instrument(case)
    found = made.best_setup
    assert found is not None
    relief: Any = case.get("setup.relief", 0.0)
    table = relief if isinstance(relief, dict) else {}
    bent = instrument({**case, "setup.relief": {**table, "depth": found.most_headroom_relief}})
    assert bent.clearance.least_fretted == pytest.approx(found.most_headroom, abs=1e-9)
    action = made.spec.setup.action
    lowered = clearance(tried(made, found.least_action_relief, found.least_action))
    assert np.nanmin(lowered.headroom[1:] - found.asked) == pytest.approx(0, abs=1e-9)
    assert np.all(np.nanmin(lowered.headroom[1:], axis=0) >= found.asked - 1e-9)
    again = instrument(
        {
            **case,
            "setup.relief": {**table, "depth": found.least_action_relief},
            "setup.action": {"fret": action.fret, "strings": found.least_action.tolist(), "capo": action.capo},
        }
    )
    assert np.nanmin(again.clearance.headroom[1:] - found.asked) == pytest.approx(0, abs=1e-9)


def test_worth_is_the_difference_of_two_specs() -> None:
    made = instrument({"intonation.saddle": "none"})
    found = made.best_setup
    assert found is not None
    worth = {(w.what, w.step): w for w in found.worth}
    assert list(worth) == [
        ("relief", 0.05), ("relief", -0.05), ("action", 0.1), ("action", -0.1), ("nut", 0.05), ("nut", -0.05),
    ]  # fmt: skip
    changed = {
        ("relief", 0.05): {"setup.relief": 0.25},
        ("relief", -0.05): {"setup.relief": 0.15},
        ("action", 0.1): {"setup.action": {"fret": 12, "bass": 2.1, "treble": 1.7}},
        ("action", -0.1): {"setup.action": {"fret": 12, "bass": 1.9, "treble": 1.5}},
    }
    for key, changes in changed.items():
        other = instrument({"intonation.saddle": "none", **changes}).clearance
        assert made.clearance.least_fretted is not None
        assert other.least_fretted is not None
        assert worth[key].fretted == pytest.approx(other.least_fretted - made.clearance.least_fretted, abs=1e-12)
        assert worth[key].opened == pytest.approx(other.least_open - made.clearance.least_open, abs=1e-12)


def test_a_higher_nut_keeps_the_action() -> None:
    made = instrument({"setup.first_fret_clearance": 0.4})
    over = instrument({"setup.first_fret_clearance": 0.45})
    lever = made.lever(1, "nut")
    at_first = 0.05 / (1 - (1 - lever) / made.lever(12, "saddle") * made.lever(12, "nut") / lever) / lever
    line = raised(made, made.line, at_first)
    row = made.plan.index(12)
    x = made.plan.crossings[row, :, 0]
    assert line.z(x) - made.crowns[row] == pytest.approx(made.line.action, abs=1e-12)
    assert line.witness_z == pytest.approx(over.line.witness_z, abs=1e-9)
    assert line.slope == pytest.approx(over.line.slope, abs=1e-9)


def test_one_fret_has_nothing_beyond_it() -> None:
    changes = {"scale.fret_count": 1, "setup.relief": 0, "fret_wire.markers": [], "fret_wire.doubled_markers": []}
    made = instrument(changes)
    assert best_setup(made) is None
    assert made.clearance.least_fretted is None
    assert made.clearance.worst_fretted is None


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_lowest_of_a_convex_sum(data: st.DataObject) -> None:
    """Random sums of maxima of lines, against the solver."""
    shape = data.draw(st.integers(1, 4)), data.draw(st.integers(1, 6))
    number = st.floats(-2, 2).map(lambda v: round(v, 2))
    value = np.array(data.draw(st.lists(number, min_size=shape[0] * shape[1], max_size=shape[0] * shape[1])))
    slope = np.array(data.draw(st.lists(number, min_size=shape[0] * shape[1], max_size=shape[0] * shape[1])))
    value, slope = value.reshape(shape), slope.reshape(shape)
    near = data.draw(st.floats(-1, 6))
    found = _lowest(value, slope, near, 5.0)

    def sum_at(r: float) -> float:
        return float((value + slope * r).max(1).sum())

    rows = [[slope[s, k], *-np.eye(shape[0])[s]] for s in range(shape[0]) for k in range(shape[1])]
    best = linprog([0] + [1] * shape[0], np.array(rows), -value.ravel(), bounds=[(0, 5)] + [(None, None)] * shape[0])
    assert 0 <= found <= 5
    assert sum_at(found) == pytest.approx(best.fun, abs=1e-7)
    inside = min(max(near, 0.0), 5.0)
    closer = found + 0.5 * (inside - found)
    if abs(closer - found) > 1e-6:
        assert sum_at(closer) > sum_at(found) - 1e-9


@pytest.mark.parametrize(("near", "best"), [(2.0, 2.0), (0.1, 0.8), (9.0, 3.2), (-1.0, 0.8)])
def test_of_a_level_stretch_the_nearest_to_what_the_spec_has(near: float, best: float) -> None:
    """The largest of 1 − r, 0.2 and r − 3 is lowest from 0.8 to 3.2."""
    found = _lowest(np.array([[1.0, 0.2, -3.0]]), np.array([[-1.0, 0.0, 1.0]]), near)
    assert found == pytest.approx(best, abs=1e-9)
