"""The string line against a second computation in 30 digits from the spec's text alone, and its own laws."""

from __future__ import annotations

import tomllib
from typing import Any

import numpy as np
import pytest
import second_line
from hypothesis import given, settings
from hypothesis import strategies as st
from making import FAN, SPEC, changed, instrument

CONE = {"fingerboard.radius": None, "fingerboard.radius_at_nut": 254, "fingerboard.radius_at_last_fret": 406}
PRESSED = {"setup.first_fret_clearance": None, "setup.pressed_gap": {"bass": 0.12, "treble": 0.05}}
OVER = {"setup.first_fret_clearance": None, "setup.nut_over_crowns": {"bass": 0.24, "treble": 0.12}}
ZERO = {"scale.zero_fret": {"crown_height": 1.25}, "setup.first_fret_clearance": None}
MOVED = {"nut.compensation": [0.6, 0.3, 0.9, 0.2, 0.3, 0.1]}

CASES: dict[str, dict[str, Any]] = {
    "cylinder": {},
    "flat": {"fingerboard.radius": "flat"},
    "cone": CONE,
    "pressed gap": PRESSED,
    "over the crowns": OVER,
    "multi-scale": FAN,
    "multi-scale, steep, cone": {**FAN, **CONE, **PRESSED, "scale.bass": 700, "scale.square_fret": 0},
    "left-handed multi-scale": {**FAN, **OVER, "handedness": "left"},
    "left-handed, shifted bridge": {"handedness": "left", "bridge.offset": 0.8, "nut.spacing": 0.4},
    "zero fret": ZERO,
    "zero fret, wire's own crown": {"scale.zero_fret": True, "setup.first_fret_clearance": None, **CONE},
    "zero fret, multi-scale": {**FAN, **ZERO, "nut.behind_zero_fret": 5.5, "nut.below_zero_crown": 0.7},
    "capo": {"setup.action": {"fret": 12, "bass": 1.9, "treble": 1.5, "capo": 1}},
    "capo, pressed gap, cone": {**PRESSED, **CONE, "setup.action": {"fret": 14, "bass": 1.9, "treble": 1.5, "capo": 1}},
    "fall-away": {"setup.fall_away": {"from": 9, "drop": 0.4}},
    "relief of its own": {"setup.relief": {"depth": 0.35, "from": 3, "to": 13}},
    "relief ends before the action's fret": {"setup.relief": {"depth": 0.3, "from": 1, "to": 7}, **OVER},
    "back bow": {"setup.relief": -0.1},
    "list per string": {
        "setup.first_fret_clearance": [0.3, 0.31, 0.35, 0.36, 0.41, 0.47],
        "setup.action": {"fret": 9, "strings": [1.2, 1.3, 1.35, 1.5, 1.55, 1.7]},
    },
    "one value": {"setup.first_fret_clearance": 0.4, "setup.action": {"fret": 17, "bass": 2.4, "treble": 2.4}},
    "courses": {
        "strings.courses": [[1, 2], [3, 4], [5, 6]],
        "nut.course_gap": 1.5,
        "bridge.course_gap": 2.1,
        "nut.spacing": "equal_centre",
        "bridge.spacing": "equal_gap",
    },
    "moved by a shelf": MOVED,
    "moved, over the crowns": {**MOVED, **OVER},
    "moved by cutting the board": {**MOVED, **PRESSED, "nut.compensation_by": "board"},
    "moved, multi-scale, left-handed": {**FAN, **MOVED, **PRESSED, "handedness": "left"},
    "a shelf's own depth": {"nut.seat": "shelf", "nut.seat_depth": None},
    "spread": {"nut.edge_margin": None, "nut.string_spread": 35.2},
    "nineteen steps": {
        "scale.steps_per_octave": 19,
        "scale.fret_count": 30,
        "setup.action": {"fret": 19, "bass": 2.0, "treble": 1.6},
    },
    "action past the last fret": {
        "scale.fret_count": 5,
        "fret_wire.markers": [],
        "fret_wire.doubled_markers": [],
        "setup.action": {"fret": 11, "bass": 2.0, "treble": 1.6},
    },
}


@pytest.mark.parametrize("name", CASES)
def test_line_and_floors_by_a_second_way(name: str) -> None:
    made = instrument(CASES[name])
    line, nut = made.line, made.nut
    for n, want in enumerate(second_line.strings(tomllib.loads(changed(SPEC, CASES[name])))):
        have = {
            "witness_z": line.witness_z[n],
            "slope": line.slope[n],
            "first_fret_clearance": line.first_fret_clearance[n],
            "nut_over_crowns": line.nut_over_crowns[n],
            "pressed_gap": line.pressed_gap[n],
            "floor_above_board": nut.floor_above_board[n],
            "floor_above_seat": nut.floor[n],
            "floor_above_board_here": nut.floor_above_board_here[n],
            "saddle": line.z(made.plan.string_saddle[:, 0])[n],
            "nut_y": nut.across[n],
        }
        for key, value in have.items():
            assert value == pytest.approx(float(want[key]), abs=1e-9), f"string {n + 1}, {key}"


@pytest.mark.parametrize("name", CASES)
def test_pressed_gap_from_similar_triangles(name: str) -> None:
    made = instrument(CASES[name])
    x1, x2 = (made.plan.crossings[made.plan.index(n), :, 0] - made.line.witness_x for n in (1, 2))
    assert made.line.pressed_gap == pytest.approx(made.line.nut_over_crowns * (x2 - x1) / x2, abs=1e-12)


WAYS = ("first_fret_clearance", "pressed_gap", "nut_over_crowns")


@settings(max_examples=30, deadline=None)
@given(
    way=st.sampled_from(WAYS),
    again=st.sampled_from(WAYS),
    bass=st.floats(0.05, 0.6),
    treble=st.floats(0.05, 0.6),
    board=st.sampled_from([{}, CONE, FAN, MOVED]),
)
def test_given_again_in_another_way(way: str, again: str, bass: float, treble: float, board: dict[str, Any]) -> None:
    base = {**board, "setup.first_fret_clearance": None}
    one = instrument({**base, f"setup.{way}": {"bass": bass, "treble": treble}})
    two = instrument({**base, f"setup.{again}": getattr(one.line, again).tolist()})
    for name in ("witness_z", "slope", *WAYS):
        assert getattr(two.line, name) == pytest.approx(getattr(one.line, name), abs=1e-9)
    assert two.nut.floor == pytest.approx(one.nut.floor, abs=1e-9)
    assert two.nut.depth == pytest.approx(one.nut.depth, abs=1e-9)


@pytest.mark.parametrize("way", WAYS)
def test_a_board_with_one_fret_has_the_line_of_a_longer_one(way: str) -> None:
    base = {"setup.relief": 0, "setup.first_fret_clearance": None, f"setup.{way}": 0.3, "fret_wire.markers": []}
    base["fret_wire.doubled_markers"] = []
    long, short = instrument(base), instrument({**base, "scale.fret_count": 1})
    for name in ("witness_z", "slope", *WAYS, "action"):
        assert getattr(short.line, name) == pytest.approx(getattr(long.line, name), abs=1e-12)
    assert short.lever(12, "nut") == pytest.approx(long.lever(12, "nut"), abs=1e-12)


def test_the_action_is_over_its_crown() -> None:
    made = instrument()
    row = made.plan.index(12)
    under = made.line.z(made.plan.crossings[row, :, 0]) - made.crowns[row]
    assert under == pytest.approx(np.linspace(1.6, 2.0, 6), abs=1e-12)


def test_capo_reads_less_than_the_open_string() -> None:
    # common practice, no source: 2.0 mm of open action, over a usual height at the nut, reads about 1.76 with a capo
    made = instrument({"setup.action": {"fret": 12, "bass": 2.0, "treble": 2.0}, "setup.relief": 0.0})
    first, twelfth = made.plan.index(1), made.plan.index(12)
    (x1, xk), xs = made.plan.crossings[[first, twelfth], :, 0], made.plan.string_saddle[:, 0]
    z1 = made.crowns[first]
    held = z1 + (made.line.z(xs) - z1) * (xk - x1) / (xs - x1) - made.crowns[twelfth]
    assert held[-1] == pytest.approx(1.76, abs=0.01)


def test_levers() -> None:
    # common practice, no source: saddle 2 mm per mm at the octave; nut 0.10 takes 0.05 there and about 0.094 at fret 1
    made = instrument()
    assert made.lever(12, "saddle") == pytest.approx(0.5, abs=1e-9)
    assert 0.10 * made.lever(12, "nut") == pytest.approx(0.05, abs=1e-9)
    assert 0.10 * made.lever(1, "nut") == pytest.approx(0.094, abs=5e-4)


def test_a_lever_is_what_raising_one_end_does() -> None:
    low, high = instrument(), instrument({"setup.first_fret_clearance": {"bass": 0.55, "treble": 0.40}})
    x, rise = low.plan.crossings[:, :, 0], high.line.witness_z - low.line.witness_z
    saddle = high.line.z(low.plan.string_saddle[:, 0]) - low.line.z(low.plan.string_saddle[:, 0])
    for fret in (1, 5, 12, 20):
        row = low.plan.index(fret)
        both = rise * low.lever(fret, "nut") + saddle * low.lever(fret, "saddle")
        assert high.line.z(x[row]) - low.line.z(x[row]) == pytest.approx(both, abs=1e-12)
