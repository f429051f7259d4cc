"""Levelling plans against the contract's figures, a general-purpose hull and solver, and exhaustive search."""

from __future__ import annotations

from dataclasses import replace as altered
from itertools import combinations
from time import process_time

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, linprog, milp
from scipy.spatial import ConvexHull

from templategen.instrument.arrays import Array
from templategen.instrument.setup.clearance import Setting, clearance
from templategen.repair.clearing import Demand, every_note_clears
from templategen.repair.levelling import CrownProfile, leave_low, replace, replacements, touch_all
from templategen.repair.verdict import verdict

SCALE = 648.0


def profile(
    z: Array, height: float = 1.1, width: float = 2.4, pm: float = 0.0, fall: Array | float = 0.0
) -> CrownProfile:
    """Crowns of a 648 scale at these heights, (frets,) or (frets, lines)."""
    z = np.asarray(z, dtype=float)
    z = z[:, None] if z.ndim == 1 else z
    frets = np.arange(1.0, len(z) + 1)
    x = np.repeat((SCALE * (1 - 2 ** (-frets / 12)))[:, None], z.shape[1], axis=1)
    one = np.ones_like(z)
    return CrownProfile(
        lines=tuple(f"line {n + 1}" for n in range(z.shape[1])),
        frets=frets, x=x, z=z, fall=np.broadcast_to(np.asarray(fall, dtype=float).reshape(-1, 1), z.shape),
        pm=pm * one, height=height * one, width=width * one, sounding=SCALE - x,
    )  # fmt: skip


def contract() -> CrownProfile:
    """z = 0 but 7 +0.06, 14 +0.04, 12 −0.03, 19–22 +0.01 +0.02 +0.03 +0.05."""
    z = np.zeros(22)
    for fret, height in {7: 0.06, 14: 0.04, 12: -0.03, 19: 0.01, 20: 0.02, 21: 0.03, 22: 0.05}.items():
        z[fret - 1] = height
    return profile(z)


def setting(p: CrownProfile, saddle: float = 3.3, pluck: float = 130.0) -> Setting:
    """One string over every line, its floor at 0."""
    lines = p.z.shape[1]
    nought, one = np.zeros((1, lines)), np.ones(lines)
    return Setting(
        np.concatenate([[0.0], p.frets]), np.concatenate([nought, p.x]), np.concatenate([nought, p.z]),
        SCALE * one, saddle * one, pluck * one, 70 * one,
    )  # fmt: skip


def demand(p: CrownProfile, asked: float, saddle: float = 3.3) -> Demand:
    lines = p.z.shape[1]
    shares = np.broadcast_to(np.eye(lines), (len(p.frets), lines, lines))
    return Demand(setting(p, saddle), np.full(lines, asked), shares)


# ------------------------------------------------------------------------------------------------ check values


def test_the_contracts_plans() -> None:
    p = contract()
    level = touch_all(p)
    assert (round(level.a[0], 7), f"{level.b[0]:.5e}") == (0.0037933, "-1.04300e-04")
    assert (round(level.total, 4), round(level.most, 4), level.filed) == (0.7658, 0.0948, 20)
    assert int(np.nanargmax(level.removed)) + 1 == 22
    low = leave_low(p, 0.03)
    assert (round(low.total, 4), round(low.most, 4), low.filed) == (0.2873, 0.0648, 11)
    new = replace(p, 1)
    assert new.replaced == (12,)
    assert (round(new.total, 4), round(new.most, 4), new.filed) == (0.2100, 0.06, 6)
    assert np.isnan(new.removed[11, 0])


@pytest.mark.parametrize(("asked", "filed"), [(0.55, {}), (0.65, {7: 0.0034}), (0.70, {7: 0.0133})])
def test_the_contracts_least_filing(asked: float, filed: dict[int, float]) -> None:
    p = contract()
    found = every_note_clears(p, demand(p, asked)).removed[:, 0]
    assert {n + 1: round(float(found[n]), 4) for n in np.flatnonzero(found > 1e-9)} == filed


@pytest.mark.parametrize(("filed", "flat", "cents"), [(0.05, 0.687, 1.84), (0.1, 0.961, 2.57), (0.2, 1.329, 3.56)])
def test_the_contracts_flats(filed: float, flat: float, cents: float) -> None:
    """Crown 2.4 × 1.1: ρ 1.2045; filed 0.05/0.1/0.2 → flat 0.687/0.961/1.329 and 1.84/2.57/3.56 cents at fret 12."""
    z = np.zeros(22)
    z[11] = filed
    made = touch_all(profile(z))
    assert made.profile.crown_radius[11, 0] == pytest.approx(1.2045, abs=5e-5)
    assert made.removed[11, 0] == pytest.approx(filed, abs=1e-12)
    assert made.flat[11, 0] == pytest.approx(flat, abs=5e-4)
    assert made.cents[11, 0] == pytest.approx(cents, abs=5e-3)
    assert made.crown_left[11, 0] == pytest.approx(1.1 - filed)
    assert made.flat[5, 0] == 0
    assert made.cents[5, 0] == 0


# --------------------------------------------------------------------------------------------- against others

bumps = st.lists(st.integers(-60, 60).map(lambda v: v / 1000), min_size=3, max_size=24)


@settings(max_examples=60, deadline=None)
@given(z=bumps)
def test_touch_all_against_a_hull_and_a_solver(z: list[float]) -> None:
    p = profile(np.array(z))
    made = touch_all(p)
    x, under = p.x[:, 0], p.z[:, 0]
    level = made.level[:, 0]
    assert np.all(level <= under + 1e-12)
    solved = linprog([-len(x), -x.sum()], np.stack([np.ones_like(x), x], 1), under, bounds=(None, None))
    assert level.sum() == pytest.approx(-solved.fun, abs=1e-7)
    if np.ptp(under - np.polyval(np.polyfit(x, under, 1), x)) > 1e-6:  # not all on a line: a hull in the plane
        hull = ConvexHull(np.stack([x / SCALE, under], 1), qhull_options="QJ Pp" if len(x) < 4 else "Qt")
        touched = set(np.flatnonzero(under - level < 1e-9))
        edges = [set(pair) for pair, face in zip(hull.simplices, hull.equations, strict=True) if face[1] < 0]
        assert any(edge <= touched for edge in edges)


@pytest.mark.parametrize("frets", range(12, 31))
def test_the_level_turns_where_the_mean_station_is(frets: int) -> None:
    """Crowns in a valley at any fret: of the two flanks the level is the one over the mean, not the middle, station."""
    x = profile(np.zeros(frets)).x[:, 0]
    for low in range(frets):
        z = 0.001 * np.abs(x - x[low])
        b = touch_all(profile(z)).b[0]
        if abs(x[low] - x.mean()) > 1e-9:
            assert b == pytest.approx(0.001 if x[low] < x.mean() else -0.001), low + 1


@settings(max_examples=12, deadline=None)
@given(z=st.lists(st.integers(-60, 60).map(lambda v: v / 1000), min_size=24, max_size=24), count=st.integers(1, 3))
def test_replace_against_trying_all(z: list[float], count: int) -> None:
    """Twelve frets on two lines: every choice, one by one through touch_all."""
    p = profile(np.array(z).reshape(12, 2))
    least = min(touch_all(p, [f + 1 for f in out]).total for out in combinations(range(12), count))
    made = replace(p, count)
    assert len(made.replaced) == count
    assert made.total == pytest.approx(least, abs=1e-9)


@pytest.mark.parametrize("count", [1, 2, 3])
def test_replace_against_a_solver_of_mixed_integer_programmes(count: int) -> None:
    """scipy (HiGHS), on 24 frets and two lines: level ≤ z + M·out, removed ≥ z − level − M·out, Σ out ≤ count."""
    rng = np.random.default_rng(count)
    p = profile(rng.normal(0, 0.02, (24, 2)).round(3))
    z, x = 1000 * p.z, p.x / SCALE
    frets, lines, big = 24, 2, 5000.0
    rows, low, high = [], [], []
    for n in range(frets):
        for line in range(lines):
            level = np.zeros(2 * lines + frets + frets * lines)
            level[[line, lines + line]] = 1, x[n, line]
            under, over = level.copy(), level.copy()
            under[2 * lines + n] = -big
            over[2 * lines + n] = big
            over[2 * lines + frets + n * lines + line] = 1
            rows += [under, over]
            low += [-np.inf, z[n, line]]
            high += [z[n, line], np.inf]
    few = np.zeros_like(rows[0])
    few[2 * lines : 2 * lines + frets] = 1
    cost = np.zeros_like(few)
    cost[2 * lines + frets :] = 1
    free = np.concatenate([np.full(2 * lines, -np.inf), np.zeros(frets + frets * lines)])
    solved = milp(
        cost,
        constraints=[LinearConstraint(np.array(rows), low, high), LinearConstraint(few[None], ub=count)],
        bounds=Bounds(free, np.where(few > 0, 1, np.inf)),
        integrality=few,
    )
    assert replace(p, count).total == pytest.approx(solved.fun / 1000, abs=1e-5)


def test_boards_with_very_many_frets_replace_fewer() -> None:
    frets = np.arange(1.0, 217)
    x = (SCALE * (1 - 2 ** (-frets / 72)))[:, None]
    z = np.random.default_rng(2).normal(0, 0.01, x.shape)
    one = np.ones_like(z)
    p = CrownProfile(("centre",), frets, x, z, 0 * one, 0 * one, one, one, SCALE - x)
    assert [len(f.replaced) for f in replacements(p, 3)] == [1, 2]


# ---------------------------------------------------------------------------------------------------------- laws


@settings(max_examples=40, deadline=None)
@given(z=bumps, low=st.floats(0, 0.05), more=st.floats(0, 0.05))
def test_the_more_is_left_low_the_less_is_filed(z: list[float], low: float, more: float) -> None:
    p = profile(np.array(z))
    one, two, whole = leave_low(p, low), leave_low(p, low + more), touch_all(p)
    assert whole.total >= one.total >= two.total
    assert np.all(one.removed >= two.removed)
    assert np.all(p.z - one.removed >= one.level - low - 1e-12)
    assert np.all(p.z - one.removed <= one.level + 1e-12)


@settings(max_examples=12, deadline=None)
@given(
    z=st.lists(st.integers(-60, 60).map(lambda v: v / 1000), min_size=12, max_size=12),
    lift=st.floats(-2, 2), tilt=st.floats(-0.01, 0.01),
)  # fmt: skip
def test_a_line_added_to_all_crowns_changes_nothing(z: list[float], lift: float, tilt: float) -> None:
    p = profile(np.array(z))
    moved = altered(p, z=p.z + lift + tilt * p.x)
    for plan in (touch_all, lambda q: leave_low(q, 0.02), lambda q: replace(q, 1)):
        one, two = plan(p), plan(moved)
        assert two.total == pytest.approx(one.total, abs=1e-9)
        if one.replaced == two.replaced:
            assert two.removed == pytest.approx(one.removed, abs=1e-9, nan_ok=True)
    asked = demand(p, 0.7)
    s = asked.setting
    tilted = altered(
        s, z=s.z + lift + tilt * s.x, saddle_z=s.saddle_z + lift + tilt * s.saddle_x
    )  # floors and saddle move alike
    one, two = every_note_clears(p, asked), every_note_clears(moved, altered(asked, setting=tilted))
    assert two.total == pytest.approx(one.total, abs=1e-8)


@settings(max_examples=25, deadline=None)
@given(
    z=st.lists(st.integers(-40, 60).map(lambda v: v / 1000), min_size=8, max_size=22),
    asked=st.floats(0.5, 1.0),
)
def test_every_note_clears_and_no_more(z: list[float], asked: float) -> None:
    p = profile(np.array(z))
    made = every_note_clears(p, demand(p, asked))

    def left(removed: Array) -> float:
        filed = altered(p, z=p.z - removed)
        return float(np.nanmin(clearance(setting(filed)).headroom[1:]))

    assert left(made.removed) >= asked - 1e-9
    for n in np.flatnonzero(made.removed[:, 0] > 1e-6):
        less = made.removed.copy()
        less[n] -= 1e-6
        assert left(less) < asked - 1e-9


def test_lines_between_which_strings_lie() -> None:
    """Two lines, three strings: the middle string's crowns are filed by half of what both lines are."""
    z = np.zeros((20, 2))
    z[8] = 0.09, 0.01
    p = profile(z)
    middle = p.z.mean(1, keepdims=True)
    three = altered(p, lines=("a", "b", "c"), x=p.x[:, [0, 0, 0]], z=np.hstack([p.z[:, :1], middle, p.z[:, 1:]]))
    shares = np.broadcast_to(np.array([[1, 0], [0.5, 0.5], [0, 1]]), (20, 3, 2))
    asked = Demand(setting(three), np.full(3, 0.7), shares)
    made = every_note_clears(p, asked)
    filed = altered(three, z=three.z - np.stack([made.removed[:, 0], made.removed.mean(1), made.removed[:, 1]], 1))
    assert np.nanmin(clearance(setting(filed)).headroom[1:]) >= 0.7 - 1e-9
    high = altered(p, z=p.z[:, :1].repeat(2, 1))
    alone = every_note_clears(high, demand(high, 0.7))
    assert made.removed[8, 0] > 0
    assert made.total < alone.total


def test_crowns_that_were_not_measured_stay_out() -> None:
    p = contract()
    z = p.z.copy()
    z[[2, 11]] = np.nan
    made = touch_all(altered(p, z=z))
    assert np.flatnonzero(np.isnan(made.removed[:, 0])).tolist() == [2, 11]
    assert made.total == pytest.approx(0.21)
    assert replace(altered(p, z=z), 1).total < made.total
    s = setting(altered(p, z=z))
    cleared = every_note_clears(altered(p, z=z), Demand(s, np.array([0.7]), np.ones((22, 1, 1))))
    assert np.flatnonzero(np.isnan(cleared.removed[:, 0])).tolist() == [2, 11]
    assert cleared.removed[6, 0] == pytest.approx(0.0133, abs=5e-5)


def test_fall_away_is_left_in_the_level() -> None:
    """Crowns that drop as asked are level; straight ones lose what is to drop."""
    x = profile(np.zeros(22)).x[:, 0]
    drop = 0.2 * np.maximum(0, (x - x[14]) / (x[-1] - x[14]))
    assert touch_all(profile(-drop, fall=drop)).total == 0
    made = touch_all(profile(np.zeros(22), fall=drop))
    assert made.removed[:, 0] == pytest.approx(drop, abs=1e-12)


def test_each_line_has_its_own_level_and_a_fret_is_replaced_on_all() -> None:
    z = np.zeros((22, 2))
    z[11], z[6, 1] = (-0.03, -0.05), 0.04
    p = altered(profile(z), z=z + np.array([0.0, 0.3]) + profile(z).x * np.array([0.001, -0.002]))
    made = replace(p, 1)
    assert made.replaced == (12,)
    assert np.isnan(made.removed[11]).all()
    assert made.b == pytest.approx([0.001, -0.002], abs=1e-9)
    assert made.a == pytest.approx([0, 0.3], abs=1e-9)
    assert made.total == pytest.approx(0.04, abs=1e-9)


def test_replacements_end_where_one_more_is_of_no_use() -> None:
    z = np.zeros(22)
    z[11], z[4] = -0.03, 0.02
    found = replacements(profile(z), 3)
    assert [f.replaced for f in found] == [(12,), (5, 12)]
    assert replacements(profile(np.zeros(22)), 3) == ()


def test_all_plans_of_six_lines_in_a_second() -> None:
    rng = np.random.default_rng(15)
    p = profile(rng.normal(0, 0.02, (24, 6)).round(2))
    began = process_time()  # of work: the clock runs on while others are served
    touch_all(p)
    leave_low(p, 0.02)
    assert len(replacements(p, 3)) == 3
    every_note_clears(p, demand(p, 0.7))
    assert process_time() - began < 1.0


# ------------------------------------------------------------------------------------------------------- verdicts


def words(z: Array, least: float = 0.77, up_to: int = 3, **given: float) -> str:
    return verdict(touch_all(profile(z, **given)), least, up_to).words


def test_verdicts() -> None:
    z = np.zeros(22)
    assert words(z) == "leave"
    z[6] = 0.01
    assert words(z, pm=0.012) == "leave"
    assert words(z, pm=0.006) == "spot-level fret 7"
    z[13] = 0.05
    assert words(z) == "spot-level frets 7 and 14"
    assert words(contract().z[:, 0]) == "level all"
    assert (
        verdict(replace(contract(), 1), 0.77, 3).words == "replace fret 12, spot-level frets 7, 14, 19, 20, 21 and 22"
    )
    z = np.zeros(22)
    z[6] = 0.3
    assert words(z, height=1.0) == "replace fret 7"
    assert words(z, height=1.0, up_to=0) == "refret: fret 7 would be too low"
    z[:5] = 0.3
    assert words(z, height=1.0).startswith("refret: frets 1, 2, 3, 4, 5")
