"""Small programs solved exactly, against scipy's solvers; linear ones through HiGHS against their own laws."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog, minimize

from templategen.geometry.leastsquares import least_squares
from templategen.geometry.programs import least_cost, least_excess, nearest

SEEDS = st.integers(0, 10**6)


@settings(max_examples=40)
@given(seed=SEEDS, unknowns=st.integers(2, 3), strings=st.integers(3, 7))
def test_least_excess_against_a_linear_programme(seed: int, unknowns: int, strings: int) -> None:
    dice = np.random.default_rng(seed)
    slope = dice.normal(size=(strings, unknowns))
    low = dice.normal(size=strings)
    rows, least = np.concatenate([slope, -slope]), np.concatenate([low, -low - dice.uniform(0, 0.3, strings)])
    point, excess = least_excess(rows, least)
    wide = np.concatenate([rows, np.ones((len(rows), 1))], axis=1)
    other = linprog([0.0] * unknowns + [1.0], A_ub=-wide, b_ub=-least, bounds=(None, None))
    assert excess == pytest.approx(other.fun, abs=1e-9)
    assert np.max(least - rows @ point) == pytest.approx(excess, abs=1e-9)


@settings(max_examples=40)
@given(seed=SEEDS, unknowns=st.integers(2, 3), strings=st.integers(3, 7))
def test_nearest_against_sequential_programming(seed: int, unknowns: int, strings: int) -> None:
    dice = np.random.default_rng(seed)
    design, wanted = dice.normal(size=(strings, unknowns)), dice.normal(size=strings)
    middle = design @ dice.normal(size=unknowns)
    rows = np.concatenate([design, -design])
    least = np.concatenate([middle, -middle]) - dice.uniform(0.01, 0.5, 2 * strings)
    point = nearest(design, wanted, rows, least)
    assert point is not None
    assert np.all(rows @ point >= least - 1e-9)
    other = minimize(
        lambda p: ((design @ p - wanted) ** 2).sum(),
        np.zeros(unknowns),
        jac=lambda p: 2 * design.T @ (design @ p - wanted),
        method="SLSQP",
        constraints=[{"type": "ineq", "fun": lambda p: rows @ p - least, "jac": lambda p: rows}],
        options={"ftol": 1e-15, "maxiter": 500},
    )
    assert ((design @ point - wanted) ** 2).sum() <= other.fun + 1e-8


def test_nearest_where_nothing_keeps_the_limits() -> None:
    rows = np.array([[1.0, 0.0], [-1.0, 0.0]])
    assert nearest(np.eye(2), np.zeros(2), rows, np.array([1.0, 1.0])) is None


def test_fewer_heights_than_unknowns() -> None:
    """Two strings, three unknowns: of all the points with the least excess the shortest."""
    slope = np.array([[1.0, 0.5, 0.2], [1.0, -0.5, 0.2]])
    low = np.array([1.0, 2.0])
    point, excess = least_excess(np.concatenate([slope, -slope]), np.concatenate([low, -low]))
    assert excess == pytest.approx(0, abs=1e-12)
    assert slope @ point == pytest.approx(low)
    assert point == pytest.approx(np.linalg.pinv(slope) @ low)


@settings(max_examples=25)
@given(seed=SEEDS)
def test_least_cost_against_scipy(seed: int) -> None:
    dice = np.random.default_rng(seed)
    rows, least = dice.uniform(0, 1, (12, 5)) * (dice.uniform(size=(12, 5)) < 0.6), dice.uniform(0, 1, 12)
    cost = dice.uniform(0.1, 1, 5)
    other = linprog(cost, A_ub=-rows, b_ub=-least)
    found = least_cost(cost, rows, least, np.inf)
    if found is None:
        assert other.status == 2
    else:
        assert cost @ found == pytest.approx(other.fun, abs=1e-7)


def test_whole_numbers(capfd: pytest.CaptureFixture[str]) -> None:
    """A bag of 10 with pieces of 6, 5 and 4: 5 twice, or 6 and 4; never 1 2/3 of the 6. The solver says nothing."""
    sizes = np.array([[6.0, 5.0, 4.0]])
    found = least_cost(np.array([-6.0, -5.1, -4.0]), sizes, 0, 10, 2, whole=True)
    assert found is not None
    assert found.round(6).tolist() == [0, 2, 0]
    assert capfd.readouterr() == ("", "")


def test_no_programme() -> None:
    assert least_cost(np.ones(1), np.ones((1, 1)), 4, np.inf, 3) is None


@pytest.mark.parametrize("start", [(-1.2, 1.0), (3.0, -5.0)])
def test_a_curved_valley(start: tuple[float, float]) -> None:
    """H. H. Rosenbrock, Computer Journal 3 (1960): 100·(y − x²)² + (1 − x)² is least at (1, 1)."""

    def model(p: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        x, y = p
        return np.array([10 * (y - x * x), 1 - x]), np.array([[-20 * x, 10.0], [-1.0, 0.0]])

    assert least_squares(model, np.array(start)) == pytest.approx([1, 1], abs=1e-9)


def test_a_start_from_which_plain_steps_run_away() -> None:
    """Gauss–Newton alone leaves atan(x) for ever from 2; shortened steps come home."""
    assert least_squares(lambda p: (np.arctan(p), np.diag(1 / (1 + p * p))), np.array([2.0])) == pytest.approx([0])
