"""The fits behind a survey against published results: certified data sets, handbook examples, worked cases.

Inputs marked "from memory" are of the source as remembered, and reproduce the results it prints.
"""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from templategen.repair.survey.crowns import added_up
from templategen.repair.survey.fits import circle, linear, saturating
from templategen.repair.survey.rules import columns, fractions
from templategen.repair.survey.significance import better_chance, outliers, runs_chance
from templategen.repair.survey.tools import Reading, by_feelers, of_reads, on_rule, rule_limit
from templategen.spec.survey.models import Feelers, Law, Rule


def test_straight_line_of_the_gum() -> None:
    """JCGM 100:2008 (GUM), H.3: calibration of a thermometer, b = y1 + y2·(t − 20). Inputs from memory."""
    t = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
    b = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160]
    fit = linear(np.stack([np.ones(11), np.array(t) - 20], 1), b)
    assert fit.values == pytest.approx([-0.1712, 0.00218], abs=5e-5)
    u = np.sqrt(np.diag(fit.covariance))
    assert u == pytest.approx([0.0029, 0.00067], abs=5e-5)
    assert fit.covariance[0, 1] / u[0] / u[1] == pytest.approx(-0.930, abs=5e-4)
    assert fit.s == pytest.approx(0.0035, abs=5e-5)
    assert float(np.array([1, 10]) @ fit.values) == pytest.approx(-0.1494, abs=5e-5)
    assert fit.u_of([1, 10]) == pytest.approx(0.0041, abs=5e-5)


NORRIS = """
0.1 0.2 | 338.8 337.4 | 118.1 118.2 | 888.0 884.6 | 9.2 10.1 | 228.1 226.5 | 668.5 666.3 | 998.5 996.3 | 449.1 448.6 |
778.9 777.0 | 559.2 558.2 | 0.3 0.4 | 0.1 0.6 | 778.1 775.5 | 668.8 666.9 | 339.3 338.0 | 448.9 447.5 | 10.8 11.6 |
557.7 556.0 | 228.3 228.1 | 998.0 995.8 | 888.8 887.6 | 119.6 120.2 | 0.3 0.3 | 0.6 0.3 | 557.6 556.8 | 339.3 339.1 |
888.0 887.2 | 998.5 999.0 | 778.9 779.0 | 10.2 11.1 | 117.6 118.3 | 228.9 229.2 | 668.4 669.1 | 449.2 448.9 | 0.2 0.5
"""


def test_certified_straight_line() -> None:
    """NIST StRD, Norris (ozone monitors): certified values of the linear fit. Inputs from memory."""
    pairs = np.array([[float(v) for v in pair.split()] for pair in NORRIS.replace("\n", " ").split("|")])
    y, x = pairs.T
    fit = linear(np.stack([np.ones(36), x], 1), y)
    assert fit.values == pytest.approx([-0.262323073774029, 1.00211681802045], rel=1e-9)
    u = np.sqrt(np.diag(fit.covariance))
    assert u == pytest.approx([0.232818234301152, 0.429796848199937e-3], rel=1e-9)
    assert fit.s == pytest.approx(0.884796396144373, rel=1e-9)


def test_certified_saturating_curve() -> None:
    """NIST StRD, Misra1a (dental research): y = b1·(1 − e^(−b2·x)), the law of frets by a constant ratio."""
    x = [77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0]
    y = [10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78]
    fit = saturating(x, y, offset=False)
    assert fit.values == pytest.approx([238.94212918, 5.5015643181e-4], rel=1e-8)
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx([2.7070075241, 7.2668688436e-6], rel=1e-7)
    assert fit.sum_of_squares == pytest.approx(0.12455138894, rel=1e-9)


def test_geometric_circle() -> None:
    """W. Gander, G. H. Golub, R. Strebel, BIT 34 (1994). Inputs from memory."""
    found = circle([(1, 7), (2, 6), (5, 8), (7, 7), (9, 5), (3, 7)])
    assert found.centre == pytest.approx((4.7398, 2.9835), abs=5e-5)
    assert found.radius == pytest.approx(4.7142, abs=5e-5)
    assert float((found.distances**2).sum()) == pytest.approx(1.2276, abs=5e-5)


ROSNER = """
-0.25 0.68 0.94 1.15 1.20 1.26 1.26 1.34 1.38 1.43 1.49 1.49 1.55 1.56 1.58 1.65 1.69 1.70 1.76 1.77 1.81 1.91 1.94
1.96 1.99 2.06 2.09 2.10 2.14 2.15 2.23 2.24 2.26 2.35 2.37 2.40 2.47 2.54 2.62 2.64 2.90 2.92 2.92 2.93 3.21 3.26 3.30
3.59 3.68 4.30 4.64 5.34 5.42 6.01
"""


def test_outliers_of_the_handbook() -> None:
    """NIST/SEMATECH e-Handbook, 1.3.5.17: Rosner's data, three outliers, though the first alone is none."""
    values = [float(v) for v in ROSNER.split()]
    found = outliers(np.ones((54, 1)), values, most=10)
    assert found.statistic[:5] == pytest.approx([3.119, 2.943, 3.179, 2.810, 2.816], abs=1e-3)
    assert found.critical[:5] == pytest.approx([3.159, 3.151, 3.144, 3.136, 3.128], abs=1e-3)
    assert found.count == 3
    assert [values[row] for row in found.rows] == [6.01, 5.42, 5.34]


def test_runs_are_counted_exactly() -> None:
    """Wald–Wolfowitz by listing every order of five and four signs."""
    from itertools import combinations

    orders = [[1 if place in up else -1 for place in range(9)] for up in combinations(range(9), 5)]
    runs = [1 + sum(a != b for a, b in itertools.pairwise(order)) for order in orders]
    for order, count in zip(orders[::17], runs[::17], strict=True):
        assert runs_chance(order) == pytest.approx(sum(r <= count for r in runs) / len(runs))


def test_f_test_against_statsmodels_formula() -> None:
    """F of one further parameter is the square of its t, so both tests say the same (any text on regression)."""
    from scipy.stats import t as student

    rng = np.random.default_rng(3)
    x = np.linspace(0, 1, 12)
    y = 1 + 0.5 * x + rng.normal(0, 0.1, 12)
    plain, richer = linear(np.ones((12, 1)), y), linear(np.stack([np.ones(12), x], 1), y)
    t = richer.values[1] / math.sqrt(richer.covariance[1, 1])
    assert better_chance(plain, richer) == pytest.approx(2 * student.sf(abs(t), 10), rel=1e-6)


# -------------------------------------------------------------------------------------- the trade's own worked figures

N = np.arange(1.0, 23)
TWELVE = 1 - 2 ** (-N / 12)


def test_how_well_22_frets_fix_a_scale() -> None:
    """Worked out independently: 22 frets read once with u give u(L) = 1.072·u, u(o) = 0.528·u, correlation −0.915."""
    law = Law.model_validate({"fret_count": 22})
    fit = linear(columns(fractions(law, N)), 648 * TWELVE, np.full(22, 0.2))
    u = np.sqrt(np.diag(fit.covariance))
    assert u / 0.2 == pytest.approx([1.072, 0.528], abs=5e-4)
    assert fit.covariance[0, 1] / u[0] / u[1] == pytest.approx(-0.915, abs=5e-4)
    known = linear(columns(fractions(law, N), shifted=False), 648 * TWELVE, np.full(22, 0.2))
    assert math.sqrt(known.covariance[0, 0]) / 0.2 == pytest.approx(0.433, abs=5e-4)


def test_slots_by_the_rule_of_18() -> None:
    """Constant-ratio slots of 650 by twelve equal steps: L 646.980, o −0.642, rms 0.212; step free: 98.9546 cents."""
    places = 650 * (1 - (17 / 18) ** N)
    plain = linear(np.stack([TWELVE, np.ones(22)], 1), places)
    assert plain.values == pytest.approx([646.980, -0.642], abs=5e-4)
    assert math.sqrt(float((plain.residuals**2).mean())) == pytest.approx(0.212, abs=5e-4)
    free = saturating(N, places)
    assert 1200 * free.values[1] / math.log(2) == pytest.approx(98.9546, abs=5e-5)
    assert free.values[[0, 2]] == pytest.approx([650.0, 0.0], abs=1e-6)


def test_limits_of_rules() -> None:
    """MID 2014/32/EU, Annex X (UK SI 2016/1153, Schedule 1I): a + b for each metre begun, more from a butt end."""

    def rule(name: str, from_end: bool = False) -> Rule:
        return Rule.model_validate({"class": name, "from_end": from_end})

    assert [rule_limit(rule(c), 449.2) for c in ("I", "II", "III")] == pytest.approx([0.2, 0.5, 1.0])
    assert [rule_limit(rule(c), 1200.0) for c in ("I", "II", "III")] == pytest.approx([0.3, 0.7, 1.4])
    assert [rule_limit(rule(c, True), 449.2) for c in ("I", "II", "III")] == pytest.approx([0.3, 0.7, 1.3])


def test_readings() -> None:
    """JCGM 100:2008, 4.3.7: u = a/√3 within ±a. A feeler's reading g at step s means g to g + s."""
    feelers = Feelers.model_validate({})
    assert by_feelers((0.45,), feelers).value == pytest.approx(0.455)
    assert by_feelers((0.45,), feelers).u == pytest.approx(0.01 / math.sqrt(12))
    assert on_rule((35.5,), Rule.model_validate({})).u == pytest.approx(0.5 / math.sqrt(12))
    twice = of_reads((319.0, 320.0), 0.1)
    assert (twice.value, twice.u, twice.count) == (319.5, pytest.approx(0.5), 2)  # s/√n = 0.7071/1.4142
    assert of_reads((319.5, 319.6), 0.144).u == 0.144


def test_rocker_readings_add_up_to_the_profile_they_were_taken_of() -> None:
    """Heights that any three crowns' straightedge would show, put together again, up to a straight line."""
    at = np.array([0.0, 34.0, 66.1, 96.4, 125.0, 152.0])
    z = np.array([0.0, 0.05, -0.02, 0.03, 0.01, 0.0])
    proud = []
    for n in range(1, 5):
        line = z[n - 1] + (z[n + 1] - z[n - 1]) * (at[n] - at[n - 1]) / (at[n + 1] - at[n - 1])
        proud.append(Reading(float(z[n] - line), 0.003))
    found, u = added_up(at, proud)
    assert found == pytest.approx(z, abs=1e-12)
    assert u[0] == u[-1] == 0
    assert (u[1:-1] > 0.003).all()
