"""Laws that any fit of readings obeys, whatever the readings: shifts, scales, order, repetition, other units."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import curve_fit

from templategen.repair.survey.board import by_depths, by_gauge, by_rise
from templategen.repair.survey.fits import circle, linear, saturating
from templategen.repair.survey.frets import FretLine, line_found
from templategen.repair.survey.relief import relief_found
from templategen.repair.survey.significance import outliers
from templategen.spec.survey.load import load_survey
from templategen.spec.survey.models import Calipers, Gauges, Law, Rise, Rule, Survey
from templategen.spec.survey.values import ByFret

LAW = Law.model_validate({"fret_count": 22})
N = np.arange(1, 23)
F = 1 - 2 ** (-N / 12)
seeds = st.integers(0, 10**6)


def noisy(seed: int, count: int = 22) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Design, readings and u of a fit of frets."""
    random = np.random.default_rng(seed)
    x = np.stack([F[:count], np.ones(count)], 1)
    u = random.uniform(0.05, 0.3, count)
    return x, x @ [640, 0.2] + random.normal(0, 1, count) * u, u


@settings(max_examples=25, deadline=None)
@given(seed=seeds, more=st.floats(-50, 50), off=st.floats(-5, 5), times=st.floats(0.01, 100))
def test_a_fit_moves_and_grows_with_its_readings(seed: int, more: float, off: float, times: float) -> None:
    x, y, u = noisy(seed)
    one, moved, grown = linear(x, y, u), linear(x, y + x @ [more, off], u), linear(x, times * y, times * u)
    assert moved.values == pytest.approx(one.values + np.array([more, off]), abs=1e-8)
    assert moved.residuals == pytest.approx(one.residuals, abs=1e-8)
    assert moved.covariance == pytest.approx(one.covariance)
    assert grown.values == pytest.approx(times * one.values, rel=1e-9, abs=1e-9)
    assert grown.covariance == pytest.approx(times**2 * one.covariance, rel=1e-9)
    assert grown.sum_of_squares == pytest.approx(one.sum_of_squares)


@settings(max_examples=25, deadline=None)
@given(seed=seeds)
def test_order_does_not_count_and_reading_all_twice_halves_the_covariance(seed: int) -> None:
    x, y, u = noisy(seed)
    at = np.random.default_rng(seed).permutation(len(y))
    one, other = linear(x, y, u), linear(x[at], y[at], u[at])
    assert other.values == pytest.approx(one.values, rel=1e-10)
    assert other.covariance == pytest.approx(one.covariance, rel=1e-9)
    exact = linear(x, x @ one.values, u)  # readings that scatter by nothing, so that no ratio of Birge comes in
    twice = linear(np.vstack([x, x]), np.concatenate([x, x]) @ one.values, np.concatenate([u, u]))
    assert twice.covariance == pytest.approx(exact.covariance / 2, rel=1e-9)
    assert one.leverage.sum() == pytest.approx(2), "leverages add up to the number of parameters"


@settings(max_examples=15, deadline=None)
@given(seed=seeds)
def test_against_a_library_of_fits(seed: int) -> None:
    """scipy.optimize.curve_fit, with the readings' own uncertainties and with their scatter."""
    x, y, u = noisy(seed)
    own = linear(x, y, u)
    law = {"f": lambda f, a, b: a * f + b, "xdata": x[:, 0], "ydata": y, "p0": [600, 0], "jac": lambda f, a, b: x}
    values, covariance = curve_fit(**law, sigma=u, absolute_sigma=True)
    assert own.values == pytest.approx(values, rel=1e-6)
    assert own.covariance == pytest.approx(covariance * max(1.0, own.s**2), rel=1e-4)
    loose = linear(x, y)
    values, covariance = curve_fit(**law)
    assert loose.covariance == pytest.approx(covariance, rel=1e-4)


@settings(max_examples=15, deadline=None)
@given(length=st.floats(300, 900), rate=st.floats(0.03, 0.09), off=st.floats(-2, 2))
def test_a_free_step_finds_the_one_that_was_used(length: float, rate: float, off: float) -> None:
    found = saturating(N, length * (1 - np.exp(-rate * N)) + off)
    assert found.values == pytest.approx([length, rate, off], rel=1e-5, abs=1e-4)


@settings(max_examples=25, deadline=None)
@given(seed=seeds, radius=st.floats(150, 900), turn=st.floats(-0.1, 0.1), by=st.floats(-30, 30))
def test_a_circle_turns_moves_and_grows_with_its_points(seed: int, radius: float, turn: float, by: float) -> None:
    random = np.random.default_rng(seed)
    y = np.linspace(-25, 25, int(random.integers(5, 12))) + random.uniform(-1, 1)
    z = np.sqrt(radius**2 - y**2) - radius + random.uniform(-0.04, 0.04, len(y))
    at = np.stack([y, z], 1)
    one = circle(at)
    rotated = at @ np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]]) + by
    assert circle(rotated).curvature == pytest.approx(one.curvature, rel=1e-5, abs=1e-8)
    assert circle(2 * at).curvature == pytest.approx(one.curvature / 2, rel=1e-5, abs=1e-8)
    assert circle(at * [-1, 1]).curvature == pytest.approx(one.curvature, rel=1e-5, abs=1e-8)


# --------------------------------------------------------------------------------------------- readings of the trade


def line_of(places: np.ndarray, rule: Rule | None = None) -> FretLine:
    by_fret = ByFret(tuple((str(n), (float(x),)) for n, x in zip(N, places, strict=True)))
    return line_found("centre", LAW, by_fret, rule or Rule.model_validate({}))


@settings(max_examples=15, deadline=None)
@given(scale=st.floats(330, 900), shift=st.floats(-2, 2))
def test_exact_readings_give_back_scale_and_nut(scale: float, shift: float) -> None:
    line = line_of(shift + scale * F)
    assert line.scale.value == pytest.approx(scale, abs=1e-6)
    assert line.shift is not None
    assert line.shift.value == pytest.approx(shift, abs=1e-6)
    assert not line.outliers
    assert not line.rule.decided


@settings(max_examples=15, deadline=None)
@given(seed=seeds, by=st.floats(-3, 3))
def test_a_nut_moved_moves_all_readings_and_nothing_else(seed: int, by: float) -> None:
    y = noisy(seed)[1]
    one, moved = line_of(y), line_of(y + by)
    assert moved.scale.value == pytest.approx(one.scale.value, abs=1e-7)
    assert moved.shift is not None
    assert one.shift is not None
    assert moved.shift.value - one.shift.value == pytest.approx(by, abs=1e-7)
    assert [f.off for f in moved.frets] == pytest.approx([f.off for f in one.frets], abs=1e-7)
    assert [f.outlier for f in moved.frets] == [f.outlier for f in one.frets]


@settings(max_examples=15, deadline=None)
@given(seed=seeds, fret=st.integers(0, 21), by=st.sampled_from([-4.0, 4.0]))
def test_one_slip_takes_no_other_fret_with_it(seed: int, fret: int, by: float) -> None:
    """The rest is fitted without it, so what the others are off is as if it had not been read."""
    x, y, _ = noisy(seed)
    y = x @ [640, 0.2] + np.random.default_rng(seed).uniform(-0.25, 0.25, 22)
    y[fret] += by
    found = line_of(y)
    assert fret + 1 in [f.fret for f in found.outliers]
    if len(found.outliers) == 1:
        kept = np.arange(22) != fret
        alone = linear(x[kept], y[kept], np.full(21, 0.5 / math.sqrt(12)))
        assert found.scale.value == pytest.approx(alone.values[0], abs=1e-9)
        assert found.frets[fret].off == pytest.approx(y[fret] - x[fret] @ alone.values, abs=1e-9)


@settings(max_examples=20, deadline=None)
@given(seed=seeds)
def test_outliers_do_not_hang_on_order_or_scale(seed: int) -> None:
    random = np.random.default_rng(seed)
    y = random.normal(0, 1, 20)
    y[3] += 6
    at, ones = random.permutation(20), np.ones(20)
    one, other, grown = outliers(ones[:, None], y), outliers(ones[:, None], y[at]), outliers(ones[:, None], 7 * y + 2)
    assert sorted(at[list(other.rows)]) == sorted(one.rows)
    assert grown.rows == one.rows


@pytest.mark.parametrize(("radius", "chord", "slope"), [(254.0, 40.0, 6.4), (304.8, 50.0, 5.9), (406.4, 50.0, 10.5)])
def test_how_well_a_rise_tells_a_radius(radius: float, chord: float, slope: float) -> None:
    """Worked out independently, dR/ds = ½ − w²/(8s²): a rise read to u(s) = 0.02 mm gives u(R) 6.4, 5.9 and 10.5 mm."""
    rise = radius - math.sqrt(radius**2 - chord**2 / 4)
    exact = Calipers.model_validate({"graduation": 0.001, "limit": 0.0})
    found = by_rise(Rise(chord=chord, height=(rise,)), exact)
    assert found.radius == pytest.approx(radius, rel=1e-12)
    less = by_rise(Rise(chord=chord, height=(rise - 1e-5,)), exact).radius
    more = by_rise(Rise(chord=chord, height=(rise + 1e-5,)), exact).radius
    assert abs(more - less) / 2e-5 * 0.02 == pytest.approx(slope, abs=0.05)
    assert abs(0.5 - chord**2 / (8 * rise**2)) * 0.02 == pytest.approx(slope, abs=0.05)
    # the same through the reported u: that of the height alone, calipers whose limit is 0.02·√3 to either side
    known = Calipers.model_validate({"graduation": 0.001, "limit": 0.02 * math.sqrt(3)})
    u = by_rise(Rise(chord=chord, height=(rise,)), known).u
    by_chord = 16 * rise * chord / (chord**2 + 4 * rise**2) ** 2 * 0.02  # its own share, in the curvature
    assert math.sqrt(u**2 - by_chord**2) * radius**2 == pytest.approx(slope, abs=0.05)


@settings(max_examples=30, deadline=None)
@given(radius=st.floats(120, 1500), width=st.floats(30, 60), tilt=st.floats(-0.02, 0.02), lift=st.floats(0.1, 2))
def test_every_way_of_reading_gives_back_the_round(radius: float, width: float, tilt: float, lift: float) -> None:
    y = np.linspace(-width / 2, width / 2, 7)
    depth = lift + tilt * y + radius - np.sqrt(radius**2 - y**2)
    calipers = Calipers.model_validate({})
    rise = radius - math.sqrt(radius**2 - width**2 / 4)
    assert by_rise(Rise(chord=width, height=(rise,)), calipers).radius == pytest.approx(radius, rel=1e-9)
    level = by_depths(tuple(zip(y.tolist(), (depth - tilt * y).tolist(), strict=True)), calipers)
    assert level.radius == pytest.approx(radius, rel=1e-6)
    # a tilted section is the round's seen askew: nearer than a thousandth
    tilted = by_depths(tuple(zip(y.tolist(), depth.tolist(), strict=True)), calipers)
    assert tilted.radius == pytest.approx(radius, rel=2e-3)
    low = math.floor(radius / 12.7) * 12.7
    between = by_gauge((low, low + 12.7), Gauges.model_validate({}))
    assert between.within(radius)
    assert between.within(low)
    assert between.within(low + 12.7)


def survey(text: str) -> Survey:
    return load_survey("made.toml", text.encode()).survey


@settings(max_examples=15, deadline=None)
@given(depth=st.floats(0.1, 0.9), start=st.integers(1, 4), end=st.integers(14, 22))
def test_a_bow_is_the_same_told_between_other_places(depth: float, start: int, end: int) -> None:
    """The parabola through the places held, read between others: its depth goes as the length squared."""
    share = np.concatenate([[0.0], F])
    t = (share - share[1]) / (share[22] - share[1])
    bow = 4 * depth * t * (1 - t)
    chord = bow[start] + (bow[end] - bow[start]) * (share - share[start]) / (share[end] - share[start])
    gaps = ", ".join(f'"{n}" = {bow[n] - chord[n] - 0.0005:.5f}' for n in (7, 9, 12))
    relief = f"[relief]\nheld = [{start}, {end}]\ngap = {{ {gaps} }}"
    told = survey(f"[tools]\nfeelers = {{ step = 0.001 }}\n[scale]\nfret_count = 22\n{relief}")
    found = relief_found(told, None)
    assert found is not None
    assert found.over(share[1], share[22]).value == pytest.approx(depth, abs=2e-4 * (21 / (end - start)) ** 2)
    assert not found.s_shaped


def test_an_inch_survey_and_one_in_mm_are_one_instrument() -> None:
    mm = survey(
        "[scale]\nfret_count = 22\n[frets]\ncentre = { " + ", ".join(f'"{n}" = {640 * F[n - 1]:.4f}' for n in N) + " }"
    )
    inch = survey(
        'units = "in"\n[tools]\nrule = { graduation = "0.5 mm" }\n[scale]\nfret_count = 22\n[frets]\ncentre = { '
        + ", ".join(f'"{n}" = {640 * F[n - 1] / 25.4:.6f}' for n in N) + " }"
    )  # fmt: skip
    assert mm.frets is not None
    assert inch.frets is not None
    assert mm.frets.centre is not None
    assert inch.frets.centre is not None
    one, two = (line_found("centre", LAW, s.frets.centre, s.tools.rule) for s in (mm, inch))  # type: ignore[union-attr,arg-type]
    assert two.scale.value == pytest.approx(one.scale.value, abs=1e-4)
    assert two.scale.pm == pytest.approx(one.scale.pm, abs=1e-6)
