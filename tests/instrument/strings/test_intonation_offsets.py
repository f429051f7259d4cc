"""Offsets against the published setbacks, scipy's minimisers, and laws.

Published figures: M. B. Anderson, R. G. Beausoleil, JASA 156(1), 683 (2024). The paper's ΔS is the saddle offset, its
ΔN the nut offset with the sign turned.
"""

from __future__ import annotations

import csv
import math
from dataclasses import replace

import numpy as np
import pytest
from fretting import plane_string
from hypothesis import given, settings
from hypothesis import strategies as st
from places import DATA
from scipy.optimize import least_squares, minimize_scalar
from string_rules import simple_offsets

from templategen.instrument.strings.fretting import FrettedString, fretting_cents
from templategen.instrument.strings.loads import string_body, strung
from templategen.instrument.strings.offsets import best_offsets, best_straight_saddle, saddle_range
from templategen.spec.models import Strings

NYLON_FILE = DATA / "nylon-set.csv"
NYLON_SET = list(csv.DictReader(line for line in NYLON_FILE.read_text().splitlines() if not line.startswith("#")))
NYLON_NAMES = [row["string"] for row in NYLON_SET]


def nylon_string(row: dict[str, str], scale: float = 650.0) -> FrettedString:
    strings = Strings.model_validate(
        {
            "set": (
                {
                    "gauge": 2 * float(row["radius_mm"]),
                    "note": row["note"],
                    "mass_per_length": float(row["mass_g_per_m"]),
                    "stretch_sensitivity": float(row["R"]),
                },
            )
        }
    )
    load = strung(string_body(strings.set[0], strings), scale, strings.set[0].note.frequency_hz(440.0))
    return plane_string(scale, kappa=load.kappa, bending=load.bending)


@pytest.mark.parametrize("row", NYLON_SET, ids=NYLON_NAMES)
def test_setbacks_of_the_nylon_set(row: dict[str, str]) -> None:
    fit = best_offsets(nylon_string(row))
    assert fit.saddle_offset == pytest.approx(float(row["saddle_setback_mm"]), abs=0.03)
    assert -fit.nut_offset == pytest.approx(float(row["nut_setback_mm"]), abs=0.01)
    assert fit.rms_cents == pytest.approx(float(row["rms_cents"]), abs=0.01)


def test_a_fingertip_ten_behind_asks_for_a_quarter_more_of_the_nut() -> None:
    ratio = best_offsets(plane_string(d=10)).nut_offset / best_offsets(plane_string()).nut_offset
    assert ratio == pytest.approx(1.27, abs=0.01)


def test_simple_setbacks() -> None:
    # ½√κ·ρ and its companion: 1.535 and −0.512 (paper 1.54, −0.51)
    saddle, nut = simple_offsets(plane_string(bending=0.43 / 1300 * math.sqrt(51)))
    assert saddle == pytest.approx(1.535, abs=5e-4)
    assert -nut == pytest.approx(-0.512, abs=5e-4)


ENDS = ("hinged_at_saddle", "hinged", "clamped", "ideal")


@st.composite
def random_strings(draw: st.DrawFn) -> FrettedString:
    """String lines of the common instruments and somewhat beyond."""
    bumps = draw(st.lists(st.floats(-0.1, 0.1), min_size=16, max_size=16))
    string = plane_string(
        draw(st.floats(330, 900)),
        draw(st.floats(0.1, 1.0)),
        draw(st.floats(0.5, 6)),
        draw(st.floats(0, 9)),
        draw(st.floats(5, 120)),
        draw(st.floats(2e-4, 6e-3)),
        16,
    )
    return replace(string, crown_z=string.crown_z + np.array(bumps), ends=draw(st.sampled_from(ENDS)))


@settings(max_examples=25, deadline=None)
@given(random_strings(), st.integers(3, 16))
def test_the_minimum_is_scipys(string: FrettedString, last: int) -> None:
    def residuals(offsets: np.ndarray) -> np.ndarray:
        return fretting_cents(string, offsets[0], offsets[1]).total[:last]

    reference = least_squares(residuals, [0.5, 0.1], jac="3-point", xtol=1e-14, ftol=1e-14, gtol=1e-14)
    fit = best_offsets(string, last)
    assert [fit.saddle_offset, fit.nut_offset] == pytest.approx(reference.x, abs=2e-5)
    assert fit.rms_cents == pytest.approx(math.sqrt(2 * reference.cost / last), abs=1e-8)


@settings(max_examples=15, deadline=None)
@given(random_strings(), st.floats(-0.5, 2.5))
def test_one_end_held(string: FrettedString, held: float) -> None:
    def cost(saddle: float, nut: float) -> float:
        return float(np.sum(fretting_cents(string, saddle, nut).total[:12] ** 2))

    saddle = best_offsets(string, nut=held)
    nut = best_offsets(string, saddle=held)
    assert (saddle.nut_offset, nut.saddle_offset) == (held, held)
    options = {"xatol": 1e-8}
    by_saddle = minimize_scalar(lambda x: cost(x, held), bounds=(-25, 25), method="bounded", options=options)
    by_nut = minimize_scalar(lambda x: cost(held, x), bounds=(-10, 10), method="bounded", options=options)
    assert saddle.saddle_offset == pytest.approx(by_saddle.x, abs=1e-4)
    assert nut.nut_offset == pytest.approx(by_nut.x, abs=1e-4)


def test_both_ends_held_only_evaluates() -> None:
    fit = best_offsets(plane_string(), saddle=1.0, nut=0.2)
    assert (fit.saddle_offset, fit.nut_offset) == (1.0, 0.2)
    assert (fit.cents.total == fretting_cents(plane_string(), 1.0, 0.2).total).all()
    assert fit.rms_cents == pytest.approx(np.sqrt(np.mean(fit.cents.total**2)))


def test_no_stretch_no_stiffness_no_height_no_offsets() -> None:
    fit = best_offsets(plane_string(b=0, c=0, kappa=0, bending=0))
    assert (fit.saddle_offset, fit.nut_offset) == pytest.approx((0, 0), abs=1e-9)
    # heights alone, without stretch or stiffness, are worth hundredths of a millimetre
    fit = best_offsets(replace(plane_string(kappa=0), ends="ideal"))
    assert max(abs(fit.saddle_offset), abs(fit.nut_offset)) < 0.07


def test_fewer_frets_than_unknowns() -> None:
    one = best_offsets(plane_string(), 1)
    assert one.rms_cents < 1e-6
    assert math.hypot(one.saddle_offset, one.nut_offset) < 1
    assert best_offsets(plane_string(), 0).rms_cents == 0
    nothing = best_offsets(replace(plane_string(), plays=np.zeros(12, dtype=bool)))
    assert (nothing.saddle_offset, nothing.nut_offset, nothing.rms_cents) == (0, 0, 0)


def test_missing_frets_are_left_out_of_the_fit() -> None:
    string = plane_string(d=3)
    plays = np.ones(12, dtype=bool)
    plays[[2, 11]] = False
    partial = best_offsets(replace(string, plays=plays))
    kept = np.flatnonzero(plays)
    shorter = replace(
        string, crown_x=string.crown_x[kept], crown_z=string.crown_z[kept], pitch_ratio=string.pitch_ratio[kept]
    )
    expected = best_offsets(shorter)
    assert partial.saddle_offset == pytest.approx(expected.saddle_offset, abs=1e-9)
    assert partial.rms_cents == pytest.approx(expected.rms_cents, abs=1e-12)


@pytest.mark.parametrize("row", NYLON_SET[::2], ids=NYLON_NAMES[::2])
def test_a_longer_scale_asks_for_smaller_offsets(row: dict[str, str]) -> None:
    fits = [best_offsets(nylon_string(row, scale)) for scale in (580.0, 650.0, 720.0)]
    saddles = [fit.saddle_offset for fit in fits]
    nuts = [fit.nut_offset for fit in fits]
    assert saddles == sorted(saddles, reverse=True)
    assert nuts == sorted(nuts, reverse=True)


@given(st.floats(0.2, 1.5), st.floats(1, 5), st.floats(0.1, 1))
def test_more_height_asks_for_more_nut(b: float, c: float, more: float) -> None:
    low, high = (best_offsets(plane_string(b=b + extra, c=c)) for extra in (0.0, more))
    assert high.nut_offset > low.nut_offset > 0


@st.composite
def absurd_strings(draw: st.DrawFn) -> FrettedString:
    """String lines that nobody would play, but that a spec can hold."""
    string = plane_string(
        draw(st.floats(250, 1100)),
        draw(st.floats(-0.3, 3)),
        draw(st.floats(-3, 10)),
        draw(st.floats(0, 40)),
        draw(st.floats(0, 400)),
        draw(st.floats(0, 0.02)),
        20,
    )
    bumps = draw(st.lists(st.floats(-0.6, 0.6), min_size=20, max_size=20))
    return replace(string, crown_z=string.crown_z + np.array(bumps), ends=draw(st.sampled_from(ENDS)))


@settings(deadline=None)
@given(absurd_strings(), st.integers(1, 20))
def test_an_absurd_string_line_still_gets_an_answer_within_the_limits(string: FrettedString, last: int) -> None:
    fit = best_offsets(string, last)
    assert abs(fit.nut_offset) <= string.crown_x[0] / 4
    assert abs(fit.saddle_offset) <= (string.saddle_x - string.crown_x[-1]) / 4
    assert fit.rms_cents <= best_offsets(string, last, saddle=0, nut=0).rms_cents + 1e-9


def test_a_search_that_ends_at_its_limit_says_so() -> None:
    far_off = best_offsets(plane_string(330, b=3, c=-1, d=18, kappa=350), 3)
    assert far_off.at_limit
    assert not best_offsets(plane_string()).at_limit


@given(random_strings())
def test_a_fit_is_never_worse_than_none_or_than_the_rule_of_thumb(string: FrettedString) -> None:
    best = best_offsets(string).rms_cents
    assert best <= best_offsets(string, saddle=0, nut=0).rms_cents + 1e-9
    saddle, nut = simple_offsets(string)
    assert best <= best_offsets(string, saddle=saddle, nut=nut).rms_cents + 1e-9


# ------------------------------------------------------------------------------------------------- straight saddle


def test_two_strings_always_have_a_straight_saddle() -> None:
    strings = [plane_string(kappa=51), plane_string(kappa=80, bending=0.0031)]
    line = best_straight_saddle(strings, [20.0, -25.0])
    for string, fit in zip(strings, line.fits, strict=True):
        alone = best_offsets(string)
        assert fit.saddle_offset == pytest.approx(alone.saddle_offset, abs=1e-6)
        assert fit.nut_offset == pytest.approx(alone.nut_offset, abs=1e-6)
        assert fit.rms_cents == pytest.approx(alone.rms_cents, abs=1e-9)


@pytest.mark.parametrize("nut", [None, [0.0, 0.1, 0.2, 0.3, 0.2, 0.1]])
def test_straight_saddle_is_scipys(nut: list[float] | None) -> None:
    strings = [replace(nylon_string(row), finger_distance=8.0) for row in NYLON_SET]
    y = np.linspace(29, -29, 6)

    def residuals(p: np.ndarray) -> np.ndarray:
        nuts = p[2:] if nut is None else nut
        return np.concatenate([fretting_cents(s, p[0] + p[1] * y[i], nuts[i]).total for i, s in enumerate(strings)])

    start = np.zeros(8 if nut is None else 2)
    reference = least_squares(residuals, start, jac="3-point", xtol=1e-14, ftol=1e-14, gtol=1e-14)
    line = best_straight_saddle(strings, y, nut=nut)
    assert line.intercept == pytest.approx(reference.x[0], abs=1e-5)
    assert line.slope == pytest.approx(reference.x[1], abs=1e-6)
    assert line.rms_cents == pytest.approx(math.sqrt(2 * reference.cost / 72), abs=1e-8)
    assert [f.saddle_offset for f in line.fits] == pytest.approx(line.intercept + line.slope * y)
    # the six best offsets do not lie on a line: steps between strings show as a worse rms
    assert line.rms_cents > math.sqrt(np.mean([best_offsets(s).rms_cents ** 2 for s in strings]))


@pytest.mark.parametrize("y", [[0.0, 0.0], [12.0, 12.0], [10.0, -10.0]])
def test_equal_strings_need_no_slant(y: list[float]) -> None:
    line = best_straight_saddle([plane_string(), plane_string()], y)
    best = best_offsets(plane_string())
    assert [f.saddle_offset for f in line.fits] == pytest.approx([best.saddle_offset] * 2, abs=1e-6)
    if y[0] != y[1]:
        assert line.slope == pytest.approx(0, abs=1e-8)


def test_saddle_range() -> None:
    offsets = [best_offsets(nylon_string(row)).saddle_offset for row in NYLON_SET]
    covered = saddle_range(offsets, margin=1.0)
    assert (covered.nearest, covered.farthest) == pytest.approx((1.48 - 1.0, 2.46 + 1.0), abs=0.04)
    assert covered.travel == pytest.approx(max(offsets) - min(offsets) + 2.0)
