"""Clearance against the wave equation, against laws and check values of the project's contract, and by a second way."""

from __future__ import annotations

import tomllib
from time import process_time
from typing import Any

import numpy as np
import pytest
import second_line
from hypothesis import given, settings
from hypothesis import strategies as st
from making import FAN, SPEC, changed, instrument

from templategen.instrument.arrays import Array
from templategen.instrument.setup.clearance import Clearance, Setting, clearance

SCALE, FRETS = 648.0, 22


def plane(z: Array, saddle: float = 3.3, pluck: float = 130.0, scale: float = SCALE) -> Setting:
    """One string over crowns at these heights, the first one its floor."""
    number = np.arange(len(z), dtype=float)
    return Setting(
        numbers=number,
        x=(scale * (1 - 2 ** (-number / 12)))[:, None],
        z=np.asarray(z, dtype=float)[:, None],
        saddle_x=np.array([scale]),
        saddle_z=np.array([saddle]),
        pluck=np.array([pluck]),
        tension_n=np.array([70.0]),
    )


def test_level_crowns_have_the_contracts_headroom() -> None:
    """H 3.3, p 130, away: 0.6620 open (touching 2), 0.7014 from 1, 0.8837 from 5, 1.3241 from 12.

    Within p of the finger the string starts as straight as it rests, so it meets all level crowns there at once: the
    second is one of them.
    """
    s = plane(np.zeros(FRETS + 1))
    found = clearance(s)
    assert {n: round(float(found.away[n, 0]), 4) for n in (0, 1, 5, 12)} == {
        0: 0.6620,
        1: 0.7014,
        5: 0.8837,
        12: 1.3241,
    }
    met = s.numbers[1:][s.gaps[0, 1:, 0] - found.away[0, 0] * s.motions[0][0, 1:, 0] < 1e-12]
    assert met.tolist() == [1, 2, 3]
    assert found.touches_away[0, 0] in met


# ------------------------------------------------------------------------------------------- the moving string


def lowest_of_a_wave(length: int, pluck: int) -> Array:
    """The lowest that a string pulled down by 1 at a lattice point reaches anywhere in a whole period.

    The leapfrog scheme u(x, t + 1) = u(x + 1, t) + u(x − 1, t) − u(x, t − 1) with both ends held solves the wave
    equation exactly on its own lattice (Courant number 1; Courant, Friedrichs and Lewy 1928), so corners are carried
    without error: it is d'Alembert's solution with its reflections.
    """
    x = np.arange(length + 1)
    start = -np.where(x <= length - pluck, x / (length - pluck), (length - x) / pluck)
    before, now = start, start.copy()
    now[1:-1] = (start[2:] + start[:-2]) / 2  # released at rest
    lowest = np.minimum(before, now)
    for _ in range(2 * length):
        after = np.zeros_like(now)
        after[1:-1] = now[2:] + now[:-2] - before[1:-1]
        before, now = now, after
        lowest = np.minimum(lowest, now)
    return lowest


@pytest.mark.parametrize("pluck", [40, 65, 90, 113, 130, 151, 200, 243, 300, 324])
@pytest.mark.parametrize("toward", [True, False], ids=["toward", "away"])
def test_a_wave_stays_in_the_envelope_and_touches_it(pluck: int, toward: bool) -> None:
    length = 648
    # pulled toward the board it starts at its lowest; pulled away, every height changes its sign
    start = lowest_of_a_wave(length, pluck)
    lowest = start if toward else -highest_of_a_wave(length, pluck)
    x = np.arange(1.0, length)
    s = Setting(
        numbers=np.arange(float(length)),
        x=np.concatenate([[0.0], x])[:, None],
        z=np.zeros((length, 1)),
        saddle_x=np.array([float(length)]),
        saddle_z=np.array([0.0]),
        pluck=np.array([float(pluck)]),
        tension_n=np.array([1.0]),
    )
    bound = s.motions[1 if toward else 0][0, 1:, 0]
    assert np.all(-lowest[1:-1] <= bound + 1e-9)
    assert -lowest[1:-1] == pytest.approx(bound, abs=1e-9)


def highest_of_a_wave(length: int, pluck: int) -> Array:
    """The highest that the string of ``lowest_of_a_wave`` reaches."""
    x = np.arange(length + 1)
    before = -np.where(x <= length - pluck, x / (length - pluck), (length - x) / pluck)
    now = before.copy()
    now[1:-1] = (before[2:] + before[:-2]) / 2
    highest = np.maximum(before, now)
    for _ in range(2 * length):
        after = np.zeros_like(now)
        after[1:-1] = now[2:] + now[:-2] - before[1:-1]
        before, now = now, after
        highest = np.maximum(highest, now)
    return highest


def test_a_string_pulled_to_the_headroom_just_touches() -> None:
    """The wave itself over bent crowns: at the headroom away it comes to 0 of the crown that is named, and no lower."""
    crowns = np.zeros(FRETS + 1)
    crowns[1:] = -0.25 * np.sin(np.linspace(0, np.pi, FRETS))
    s = plane(crowns, pluck=130)
    found = clearance(s)
    length = int(SCALE)
    resting = np.linspace(0.0, 3.3, length + 1)
    down = -highest_of_a_wave(length, 130) * found.away[0, 0]
    x = s.x[1:, 0]
    left = np.interp(x, np.arange(length + 1), resting + down) - crowns[1:]
    assert left.min() == pytest.approx(0, abs=2e-3)  # crowns lie between lattice points
    assert int(left.argmin()) + 1 == found.touches_away[0, 0]


# --------------------------------------------------------------------------------------------------------- laws


@settings(max_examples=40, deadline=None)
@given(
    height=st.floats(0.5, 12),
    pluck=st.floats(20, 400),
    scale=st.floats(330, 900),
    frets=st.integers(2, 30),
)
def test_level_crowns(height: float, pluck: float, scale: float, frets: int) -> None:
    """H·p/L away where a crown lies within p, H·(1 − p/L) toward where one lies within L − p."""
    s = plane(np.zeros(frets + 1), height, pluck, scale)
    found = clearance(s)
    for n in range(frets):
        length, p = s.sounding[n, 0], min(pluck, 0.8 * s.sounding[n, 0])
        first = s.x[n + 1, 0] - s.x[n, 0]
        if first <= p:
            assert found.away[n, 0] == pytest.approx(height * p / length, rel=1e-9)
        if first <= length - p:
            assert found.toward[n, 0] == pytest.approx(height * (1 - p / length), rel=1e-9)


heights = st.lists(st.floats(-0.3, 0.3), min_size=6, max_size=25)


@settings(max_examples=40, deadline=None)
@given(z=heights, factor=st.floats(0.1, 10), tilt=st.floats(-0.01, 0.01), lift=st.floats(-5, 5))
def test_heights_scale_and_a_plane_added_to_all_changes_nothing(
    z: list[float], factor: float, tilt: float, lift: float
) -> None:
    base = plane(np.array(z))
    found = clearance(base)
    larger = clearance(plane(np.array(z) * factor, 3.3 * factor))
    plane_under = lift + tilt * base.x
    moved = Setting(
        base.numbers, base.x, base.z + plane_under, base.saddle_x,
        base.saddle_z + lift + tilt * base.saddle_x, base.pluck, base.tension_n,
    )  # fmt: skip
    for name in ("away", "toward", "least_gap"):
        one = getattr(found, name)[:-1]
        assert getattr(larger, name)[:-1] == pytest.approx(one * factor, rel=1e-9, abs=1e-9)
        assert getattr(clearance(moved), name)[:-1] == pytest.approx(one, abs=1e-9)
    assert larger.touches_away[:-1].shape == found.touches_away[:-1].shape


@settings(max_examples=40, deadline=None)
@given(z=heights, n=st.integers(0, 4))
def test_at_the_headroom_exactly_one_crown_is_met(z: list[float], n: int) -> None:
    s = plane(np.array(z))
    found = clearance(s)
    for motion, pull, touches in (
        (s.motions[0], found.away, found.touches_away),
        (s.motions[1], found.toward, found.touches_toward),
    ):
        left = s.gaps[n, n + 1 :, 0] - pull[n, 0] * motion[n, n + 1 :, 0]
        assert left.min() == pytest.approx(0, abs=1e-12)
        assert left[int(touches[n, 0]) - n - 1] == pytest.approx(0, abs=1e-12)


def test_a_string_on_a_crown_has_negative_headroom() -> None:
    z = np.zeros(FRETS + 1)
    z[9] = 0.5
    found = clearance(plane(z))
    note = next(n for n in found.notes if n.fretted == 8)
    assert note.headroom_away is not None
    assert note.headroom_away < 0
    assert (note.touches_away, note.touches_toward, note.least_gap_over) == (9, 9, 9)
    assert note.least_gap is not None
    assert note.least_gap < 0
    last = found.notes[-1]
    assert (last.fretted, last.headroom_away, last.touches_toward, last.force_n, last.least_gap_over) == (
        FRETS, None, None, None, None,
    )  # fmt: skip


def test_force_is_what_holds_the_triangle() -> None:
    """The pull is the sum of the tension's upright parts on both sides of the finger that plucks."""
    s = plane(np.zeros(FRETS + 1))
    for fret, worse in ((5, "away"), (18, "toward")):  # high up the neck the string is plucked beyond its middle
        note = next(n for n in clearance(s).notes if n.fretted == fret)
        assert note.headroom_away is not None
        assert note.headroom_toward is not None
        aside, length = min(note.headroom_away, note.headroom_toward), s.sounding[fret, 0]
        assert aside == getattr(note, f"headroom_{worse}") == note.headroom
        assert note.force_n == pytest.approx(70 * aside / 130 + 70 * aside / (length - 130), rel=1e-12)


# ----------------------------------------------------------------------------------------- the model, a second way

ZERO = {"scale.zero_fret": {"crown_height": 1.25}, "setup.first_fret_clearance": None}
CASES: dict[str, dict[str, Any]] = {
    "plain": {},
    "left-handed": {"handedness": "left"},
    "multi-scale": FAN,
    "multi-scale, left, fall-away": {**FAN, "handedness": "left", "setup.fall_away": {"from": 12, "drop": 0.3}},
    "zero fret": ZERO,
    "zero fret, multi-scale": {**FAN, **ZERO},
    "capo": {"setup.action": {"fret": 12, "bass": 1.9, "treble": 1.5, "capo": 1}},
    "cone, own relief, plucked near": {
        "fingerboard.radius": None, "fingerboard.radius_at_nut": 254, "fingerboard.radius_at_last_fret": 406,
        "setup.relief": {"depth": 0.3, "from": 2, "to": 14}, "playing.plucked_at": {"bass": 0.1, "treble": 0.05},
    },
    "compensated nut": {"nut.compensation": [0.6, 0.3, 0.9, 0.2, 0.3, 0.1]},
    "one by one": {"playing.plucked_at": [0.1, 0.12, 0.2, 0.25, 0.3, 0.33]},
}  # fmt: skip


@pytest.mark.parametrize("name", CASES)
def test_every_note_by_a_second_way(name: str) -> None:
    """From the spec's text in 30 digits, one crown at a time; the saddle at its nominal place."""
    changes = {**CASES[name], "intonation.saddle": "none"}
    made = instrument(changes)
    found = {(n.string, n.fretted): n for n in made.clearance.notes}
    text = tomllib.loads(changed(SPEC, changes))
    board, lines = second_line._Board(text), second_line.strings(text)
    frets = text["scale"]["fret_count"]
    assert set(found) == {(s + 1, n) for s in range(6) for n in range(frets + 1)}
    for s in (0, 2, 5):
        crowns = {n: tuple(map(float, board.crown(n, s))) for n in range(1, frets + 1)}
        x0, _, xs, _ = map(float, board.run[s])
        slope, zs = float(lines[s]["slope"]), float(lines[s]["saddle"])
        shift = float(text["nut"].get("compensation", [0.0] * 6)[s])
        pluck = (xs - x0) * float(board.per_string(text.get("playing", {}).get("plucked_at", 0.2), s))
        starts = {0: (x0 + shift, zs - slope * (xs - x0 - shift))} | crowns
        for n in (0, 1, 7, frets - 1):
            (x, z), ways = starts[n], {"away": {}, "toward": {}}
            p, length = min(pluck, 0.8 * (xs - starts[n][0])), xs - x
            for j in range(n + 1, frets + 1):
                d = crowns[j][0] - x
                gap = z + (zs - z) * d / length - crowns[j][1]
                ways["away"][j] = gap / (d / p if d <= p else (length - d) / (length - p))
                ways["toward"][j] = gap / (d / (length - p) if d <= length - p else (length - d) / p)
            note = found[s + 1, n]
            for way, values in ways.items():
                crown = min(values, key=values.__getitem__)
                where = f"string {s + 1} at {n}, {way}"
                assert getattr(note, f"headroom_{way}") == pytest.approx(values[crown], abs=1e-9), where
                assert getattr(note, f"touches_{way}") == crown, where


def test_twelve_strings_take_no_time() -> None:
    """Under 20 ms for 12 strings and 24 frets, after the model (the design's limit; half a ms on the machine)."""
    gauges = [0.25 + 0.08 * n for n in range(12)]
    made = instrument(
        {
            "scale.fret_count": 24,
            "strings.set": [{"gauge": g, "note": "A3"} for g in gauges],
            "fingerboard.width_at_nut": 60,
            "fingerboard.width_at_last_fret": 80,
            "bridge.string_spread": 72,
        }
    )
    began = process_time()
    found: Clearance = made.clearance
    found.notes  # noqa: B018
    assert process_time() - began < 0.02
    assert len(found.notes) == 12 * 25
