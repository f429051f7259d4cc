"""The arc over the nut: exact where it can be, within limits where they bind, the least excess where none holds."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from templategen.geometry.camber import Camber, fit_camber

X = np.array([-18.0, -11.0, -4.0, 3.5, 11.2, 18.3])
WIDE = np.full(6, 10.0)

curved = st.floats(-0.004, -0.0001) | st.floats(0.0001, 0.012)
arcs = st.builds(Camber, st.floats(1, 8), st.floats(-0.05, 0.05), curved)


@given(arcs, st.floats(-30, 30))
def test_points_lie_on_the_circle(arc: Camber, x: float) -> None:
    cx, cz = arc.centre
    assert math.hypot(x - cx, float(arc.z(x)) - cz) == pytest.approx(arc.radius, rel=1e-9)


def test_a_straight_top() -> None:
    arc = Camber(3.0, 0.02, 0.0)
    assert arc.straight
    assert math.isinf(arc.radius)
    assert arc.z(X) == pytest.approx(3 + 0.02 * X)
    assert arc.raised(0.8).z(X) == pytest.approx(3.8 + 0.02 * X)


@given(arcs)
def test_gradient_by_differences(arc: Camber) -> None:
    exact = arc.gradient(X)
    for place, step in enumerate((1e-6, 1e-7, 1e-8)):
        p = np.array([arc.z0, arc.slope, arc.curvature])
        q = np.zeros(3)
        q[place] = step
        by_steps = (Camber(*(p + q)).z(X) - Camber(*(p - q)).z(X)) / (2 * step)
        assert exact[:, place] == pytest.approx(by_steps, rel=1e-4, abs=1e-4)


@given(arcs)
def test_wants_on_an_arc_are_met(arc: Camber) -> None:
    want = arc.z(X)
    found = fit_camber(X, want, want - 1, want + 1, np.ones(6), 0.004)
    assert found.z(X) == pytest.approx(want, abs=1e-9)


def test_a_flat_board_s_top_is_the_least_squares_line() -> None:
    want = np.array([3.0, 3.2, 3.1, 3.3, 3.2, 3.5])
    found = fit_camber(X, want, want - WIDE, want + WIDE, np.ones(6), 0.0)
    slope, z0 = np.polyfit(X, want, 1)
    assert (found.z0, found.slope, found.curvature) == pytest.approx((z0, slope, 0.0), abs=1e-9)


def test_what_is_all_but_straight_is_straight() -> None:
    want = Camber(3.0, 0.01, 1 / 40_000).z(X)
    found = fit_camber(X, want, want - WIDE, want + WIDE, np.ones(6), 0.004)
    assert found.straight
    assert found.z(X) == pytest.approx(want, abs=0.01)


fits = st.integers(3, 12).flatmap(
    lambda n: st.tuples(
        st.lists(st.floats(0.25, 1.4), min_size=n, max_size=n),
        st.lists(st.floats(-0.3, 0.3), min_size=n, max_size=n),
    )
)


@settings(max_examples=60, deadline=None)
@given(fits)
def test_no_arc_comes_nearer(case: tuple[list[float], list[float]]) -> None:
    """At the solution: no small change of the arc is better. Excess by a linear program, then the sum within it."""
    gauges, rough = (np.array(v) for v in case)
    count = len(gauges)
    x = np.linspace(-20, 20, count)
    base = 2.5 - x * x / 500 + rough
    want, low, high = base + 0.8 * gauges, base + 0.5 * gauges, base + 1.1 * gauges
    arc = fit_camber(x, want, low, high, 1 / gauges, 1 / 250)
    assume(not arc.straight)
    z, slopes = arc.z(x), arc.gradient(x)
    excess = max(float(np.maximum(low - z, z - high).max()), 0.0)

    rows = np.block([[-slopes, -np.ones((count, 1))], [slopes, -np.ones((count, 1))]])
    limits = np.concatenate([z - low, high - z])
    least = linprog([0, 0, 0, 1], A_ub=rows, b_ub=limits, bounds=[(-1, 1), (-1, 1), (-0.1, 0.1), (0, None)])
    assert excess == pytest.approx(least.x[3], abs=1e-7), "no arc near by passes the limits by less"

    # the sum's slope, along every direction that the limits leave open, is uphill (a linear program again)
    uphill = 2 * slopes.T @ ((z - want) / gauges**2)
    room = np.concatenate([z - low, high - z]) + excess
    small = np.array([1.0, 0.1, 0.01])
    way = linprog(
        uphill * small,
        A_ub=np.block([[-slopes * small], [slopes * small]]),
        b_ub=np.maximum(room, 0) + 1e-9,
        bounds=[(-0.01, 0.01)] * 3,
    )
    assert way.fun >= -1e-5 * max(1.0, float(np.abs(uphill * small).max())) * 0.01 - 2e-5


def test_the_same_twice() -> None:
    want = np.array([3.0, 3.3, 2.9, 3.4, 3.1, 3.6])
    once, again = (fit_camber(X, want, want - 0.1, want + 0.1, np.ones(6), 0.004) for _ in range(2))
    assert once == again
