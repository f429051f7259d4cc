"""The fretting model against the published worked case, a second implementation, plain polylines, and laws.

Published figures: M. B. Anderson, R. G. Beausoleil, JASA 156(1), 683 (2024), and values computed from its formulas.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from fretting import plane_string
from hypothesis import given
from hypothesis import strategies as st
from mpmath import mp, mpf
from scipy.optimize import brentq
from string_rules import frequency_ratio_series, relative_stretch

from templategen.instrument.strings.fretting import (
    FrettedString,
    finger_effect,
    fretting_cents,
    nut_height_effect,
    rest_effect,
)

FRETS = np.arange(1, 13)


UNCOMPENSATED = {
    0.0: [1.727, 1.609, 1.817, 2.124, 2.483, 2.883, 3.316, 3.782, 4.280, 4.810, 5.375, 5.975],
    10.0: [2.327, 1.817, 1.953, 2.233, 2.582, 2.977, 3.410, 3.878, 4.380, 4.916, 5.488, 6.096],
}


@pytest.mark.parametrize("d", UNCOMPENSATED)
def test_prototype_uncompensated_to_the_printed_digits(d: float) -> None:
    # the published figures come from the series to second order
    cents = fretting_cents(plane_string(d=d), law=frequency_ratio_series).total
    assert cents == pytest.approx(UNCOMPENSATED[d], abs=5.1e-4)


@pytest.mark.parametrize("d", UNCOMPENSATED)
def test_prototype_uncompensated_with_the_exact_root(d: float) -> None:
    assert fretting_cents(plane_string(d=d)).total == pytest.approx(UNCOMPENSATED[d], abs=2e-3)


def test_prototype_terms_at_the_octave() -> None:
    cents = fretting_cents(plane_string(), law=frequency_ratio_series)
    assert cents.length[-1] == pytest.approx(-0.172, abs=5e-4)
    assert cents.density[-1] == pytest.approx(0.037, abs=5e-4)
    assert cents.tension[-1] == pytest.approx(1.879, abs=5e-4)
    assert cents.stiffness[-1] == pytest.approx(4.232, abs=5e-4)
    assert fretting_cents(plane_string()).stiffness[-1] == pytest.approx(4.232, abs=2e-3)


def test_prototype_stretch_at_the_first_fret() -> None:
    # paper: about 47e-6 with ΔS 1.9, ΔN −0.37, d 10
    assert relative_stretch(plane_string(d=10), 1.9, 0.37)[0] == pytest.approx(47.18e-6, abs=5e-9)


def paper(
    n: int, scale: float, b: float, c: float, d: float, kappa: float, bending: float, setback: float, nut_setback: float
) -> tuple[float, float, float, float]:
    """The paper's formulas, written down once more; the stiffness ratio by its own relation and a bracketing solver."""
    gamma = 2 ** (n / 12)
    xn = scale / gamma
    open_length = math.sqrt((scale + setback + nut_setback) ** 2 + c**2)
    sounding = math.sqrt((xn + setback) ** 2 + (b + c) ** 2)
    rest = sounding * d / (xn + setback) + math.sqrt(
        (scale - xn + nut_setback - d) ** 2 + (b + (b + c) * d / (xn + setback)) ** 2
    )
    q = (sounding + rest - open_length) / open_length

    def stiff(value: float) -> float:
        def relation(k: float) -> float:
            return math.tan(k) - value * k / math.sqrt(1 + (value * k) ** 2)

        k = brentq(relation, math.pi, 1.4 * math.pi, xtol=1e-15, rtol=1e-15)
        return k / math.pi * math.sqrt(1 + (value * k) ** 2)

    # B² = πρ⁴E/(4TL²), so B falls with the root of the tension and with the length
    fretted = bending * (open_length / sounding) / math.sqrt(1 + kappa * q)
    return (
        1200 * math.log2(open_length / (gamma * sounding)),
        600 * math.log2(1 + q),
        600 * math.log2(1 + kappa * q),
        1200 * math.log2(stiff(fretted) / stiff(bending)),
    )


@given(
    scale=st.floats(300, 900),
    b=st.floats(0.05, 2),
    c=st.floats(0.2, 7),
    d=st.floats(0, 9),
    kappa=st.floats(5, 200),
    bending=st.floats(2e-4, 8e-3),
    setback=st.floats(-3, 6),
    nut_setback=st.floats(-2, 1),
)
def test_crowns_in_a_plane_are_the_papers_case(
    scale: float, b: float, c: float, d: float, kappa: float, bending: float, setback: float, nut_setback: float
) -> None:
    string = plane_string(scale, b, c, d, kappa, bending)
    cents = fretting_cents(string, setback, -nut_setback)
    for n in (1, 5, 12):
        if d > string.crown_x[n - 1] - (string.crown_x[n - 2] if n > 1 else -nut_setback):
            continue
        expected = paper(n, scale, b, c, d, kappa, bending, setback, nut_setback)
        got = [term[n - 1] for term in (cents.length, cents.density, cents.tension, cents.stiffness)]
        assert got == pytest.approx(expected, abs=2e-9)


def test_bending_at_the_frets_is_nearly_gamma_times_the_open_one() -> None:
    # the paper's shortcut B_n ≈ γB₀
    series = frequency_ratio_series
    gamma = 2 ** (FRETS / 12)
    shortcut = 1200 * np.log2(series(gamma * 0.00236) / series(0.00236))
    assert fretting_cents(plane_string(), law=series).stiffness == pytest.approx(shortcut, abs=0.012)


@st.composite
def uneven(draw: st.DrawFn) -> FrettedString:
    """Crowns on a neck with some bow, and heights that are nobody's plane."""
    scale = draw(st.floats(300, 900))
    bumps = draw(st.lists(st.floats(-0.3, 0.3), min_size=20, max_size=20))
    base = plane_string(
        scale,
        draw(st.floats(0.3, 1.5)),
        draw(st.floats(1, 6)),
        draw(st.floats(0, 30)),
        draw(st.floats(10, 150)),
        draw(st.floats(3e-4, 5e-3)),
        20,
    )
    return replace(base, crown_z=base.crown_z + np.array(bumps), nut_z=draw(st.floats(0, 0.5)))


@given(uneven(), st.floats(-2, 4), st.floats(-1, 1))
def test_stretch_is_that_of_the_polyline(string: FrettedString, saddle_offset: float, nut_offset: float) -> None:
    nut, saddle = (nut_offset, string.nut_z), (string.saddle_x + saddle_offset, string.saddle_z)
    for i, crown in enumerate(zip(string.crown_x, string.crown_z, strict=True)):
        previous = string.crown_x[i - 1] if i else nut_offset
        back = min(string.finger_distance, crown[0] - previous)
        along = back / (saddle[0] - crown[0])
        finger = (crown[0] - back, crown[1] - (saddle[1] - crown[1]) * along)
        path = math.dist(nut, finger) + math.dist(finger, crown) + math.dist(crown, saddle)
        q = path / math.dist(nut, saddle) - 1
        assert relative_stretch(string, saddle_offset, nut_offset)[i] == pytest.approx(q, abs=1e-13)


def test_the_fingertip_does_not_pass_the_previous_crown_or_the_nut() -> None:
    # over 330.2 mm fret 15 is 8.26 mm from fret 14: more distance changes nothing there, and still does at fret 1
    near, far = (fretting_cents(plane_string(330.2, d=d, frets=15)).total for d in (9.0, 15.0))
    assert near[14] == far[14]
    assert near[0] < far[0]
    huge, past = (fretting_cents(plane_string(330.2, d=d)).total for d in (40.0, 400.0))
    assert (huge == past).all()


def test_a_flat_ideal_string_on_the_rule_of_eighteen() -> None:
    # 650 mm by eighteenths: the twelfth fret at 322.636 mm is 12.545 cents flat of the octave
    string = plane_string(b=0, c=0, kappa=0, bending=0)
    string = replace(string, crown_x=650 * (1 - (17 / 18) ** FRETS))
    assert string.crown_x[11] == pytest.approx(322.636, abs=5e-4)
    assert fretting_cents(string).total[11] == pytest.approx(-12.545, abs=5e-4)


def test_no_height_no_stiffness_no_error() -> None:
    cents = fretting_cents(plane_string(b=0, c=0, bending=0))
    assert np.abs(cents.total).max() < 1e-10


def test_offsets_of_any_shape() -> None:
    string = plane_string()
    saddles, nuts = np.array([[0.0], [1.0], [2.0]]), np.array([0.0, 0.3])
    grid = fretting_cents(string, saddles, nuts).total
    assert grid.shape == (3, 2, 12)
    assert (grid[2, 1] == fretting_cents(string, 2.0, 0.3).total).all()


def test_missing_frets_are_nan_and_give_their_room_to_the_next() -> None:
    whole = plane_string(330.2, d=25)
    plays = np.ones(12, dtype=bool)
    plays[4] = False
    partial = replace(whole, plays=plays, crown_x=np.where(plays, whole.crown_x, np.nan))
    all_cents, cents = fretting_cents(whole).total, fretting_cents(partial).total
    assert np.isnan(cents[4])
    assert (np.delete(cents, [4, 5]) == np.delete(all_cents, [4, 5])).all()
    assert cents[5] > all_cents[5]


@pytest.mark.parametrize(("saddle", "nut"), [(-330.0, 0.0), (0.0, 40.0)])
def test_offsets_past_a_crown_are_refused(saddle: float, nut: float) -> None:
    with pytest.raises(ValueError, match="at or past a crown"):
        fretting_cents(plane_string(), saddle, nut)


def test_a_nut_too_high_is_the_papers_case_with_b_raised_and_c_lowered() -> None:
    effect = nut_height_effect(plane_string(d=8), 0.3)
    expected = (
        fretting_cents(plane_string(b=1.3, c=3.7, d=8)).total - fretting_cents(plane_string(b=1.0, c=4.0, d=8)).total
    )
    assert effect.total == pytest.approx(expected, abs=1e-9)
    assert effect.total[0] > effect.total[1] > effect.total[2] > 0
    assert effect.tension[0] > 0.9 * effect.total[0]


strings = st.builds(
    plane_string,
    scale=st.floats(330, 900),
    b=st.floats(0.1, 1.5),
    c=st.floats(0.5, 6),
    d=st.floats(0, 8),
    kappa=st.floats(20, 200),
    bending=st.floats(2e-4, 6e-3),
)


@given(strings, st.floats(0.05, 2))
def test_higher_action_is_sharper(string: FrettedString, more: float) -> None:
    higher = replace(string, saddle_z=string.saddle_z + more)
    assert (fretting_cents(higher).total > fretting_cents(string).total).all()


@given(strings, st.floats(0.05, 2))
def test_a_higher_nut_is_sharper_at_the_first_fret(string: FrettedString, more: float) -> None:
    assert nut_height_effect(string, more).total[0] > 0


@given(strings, st.floats(1.05, 3))
def test_more_stretch_and_more_stiffness_are_sharper(string: FrettedString, more: float) -> None:
    base = fretting_cents(string)
    assert (fretting_cents(replace(string, kappa=string.kappa * more)).tension > base.tension).all()
    assert (fretting_cents(replace(string, bending=string.bending * more)).stiffness > base.stiffness).all()


@given(strings, st.floats(0.5, 8))
def test_a_finger_further_back_is_sharper(string: FrettedString, more: float) -> None:
    room = string.crown_x[11] - string.crown_x[10]
    near = replace(string, finger_distance=min(string.finger_distance, room / 3))
    far = replace(string, finger_distance=min(near.finger_distance + more, room))
    assert (fretting_cents(far).total > fretting_cents(near).total).all()


@given(strings, st.floats(0.3, 3), st.floats(-5, 5))
def test_size_and_datum_do_not_matter(string: FrettedString, size: float, datum: float) -> None:
    other = replace(
        string,
        crown_x=string.crown_x * size,
        crown_z=(string.crown_z + datum) * size,
        nut_z=(string.nut_z + datum) * size,
        saddle_x=string.saddle_x * size,
        saddle_z=(string.saddle_z + datum) * size,
        finger_distance=string.finger_distance * size,
    )
    assert fretting_cents(other, 2 * size, 0.5 * size).total == pytest.approx(
        fretting_cents(string, 2.0, 0.5).total, abs=1e-8
    )


@given(strings, st.floats(0.1, 3))
def test_a_saddle_further_back_flattens_and_a_nut_forward_too(string: FrettedString, offset: float) -> None:
    base = fretting_cents(string).total
    back = base - fretting_cents(string, offset, 0).total
    assert (back > 0).all()
    assert (np.diff(back) > 0).all()
    # no farther than a nut is ever moved: nearer the first fret the string is bent more steeply, and that sharpens
    assert (fretting_cents(string, 0, offset / 3).total < base).all()


# ------------------------------------------------------------------------- how hard one presses, and the string's rest


def bent(string: FrettedString, fret: int, depth: float, rest: float) -> float:
    """Cents of one fret in 30 digits, from the law of similar triangles and Hooke alone: no code of the package.

    The open string is straight; pressed it runs nut, fingertip, crown, saddle. The fingertip lies ``depth`` under the
    point where the line from the saddle over the crown passes it. Frequency of an ideal string: √(T/μ)/(2L).
    """
    mp.dps = 30
    point = mp.matrix
    nut, saddle = point([0, string.nut_z]), point([string.saddle_x, string.saddle_z])
    crown = point([float(string.crown_x[fret - 1]), float(string.crown_z[fret - 1])])
    reach = mpf(string.finger_distance)
    if fret > 1:
        reach = min(reach, mpf(float(string.crown_x[fret - 1] - string.crown_x[fret - 2])))
    reach = min(reach, crown[0])
    line = crown[1] + (crown[1] - saddle[1]) / (saddle[0] - crown[0]) * reach
    tip = point([crown[0] - reach, line - depth])
    open_length = mp.norm(saddle - nut)
    pressed = mp.norm(tip - nut) + mp.norm(crown - tip) + mp.norm(saddle - crown)
    strain = (pressed - open_length) / (open_length + rest)
    sounding = mp.norm(saddle - crown)
    pull, mass = 1 + mpf(string.kappa) * strain, 1 / (1 + strain)
    ratio = open_length / sounding * mp.sqrt(pull / mass)
    return float(1200 * mp.log(ratio / mpf(float(string.pitch_ratio[fret - 1])), 2))


@pytest.mark.parametrize("depth", [0.0, 0.2, 0.4, 1.0])
@pytest.mark.parametrize("rest", [0.0, 120.0, 350.0])
def test_finger_depth_and_rest_against_thirty_digits(depth: float, rest: float) -> None:
    string = replace(plane_string(d=8.0, kappa=160.0, frets=20), finger_depth=depth, rest=rest, ends="ideal")
    cents = fretting_cents(string).total
    assert cents == pytest.approx([bent(string, fret, depth, rest) for fret in range(1, 21)], abs=1e-8)


def test_pressing_deeper_sharpens_and_a_longer_rest_flattens() -> None:
    string = plane_string(d=8.0, kappa=160.0)
    shallow, deep = (finger_effect(string, extra).total for extra in (0.2, 0.4))
    assert np.all(shallow > 0)
    assert np.all(deep > 2 * shallow), "the deeper, the faster it rises"
    short, long = (rest_effect(string, extra).total for extra in (120.0, 350.0))
    assert np.all(short < 0)
    assert np.all(long < short)
    assert rest_effect(string, 0.0).total == pytest.approx(0.0)
    assert rest_effect(string, 1e9).tension == pytest.approx(-fretting_cents(string).tension, abs=1e-3)


def test_a_finger_on_the_line_is_the_papers() -> None:
    """No depth, no rest: the published figures stand (with the series, as the paper has it)."""
    string = replace(plane_string(d=10.0), finger_depth=0.0, rest=0.0)
    cents = fretting_cents(string, law=frequency_ratio_series).total
    assert cents == pytest.approx(UNCOMPENSATED[10.0], abs=5.1e-4)
