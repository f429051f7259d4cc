"""Stiff strings against published roots, handbook beams, measured partials and a root finder in arbitrary precision."""

from __future__ import annotations

import mpmath
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from string_rules import frequency_ratio_series, partials_hz

from templategen.instrument.strings.stiffness import Ends, bending_parameter, frequency_ratio, inharmonicity

# Anderson & Beausoleil, JASA 156(1), 683 (2024): exact root of tan k = Bk/√(1 + B²k²), computed in arbitrary precision
PUBLISHED_ROOTS = [(0.00236, 1.00239315), (0.003, 1.00305362), (0.01, 1.01060090)]

# Univ. of Alabama in Huntsville: partials 2 to 8 measured on a piano's A4, inharmonicity fitted there
MEASURED_PARTIALS = [880.9, 1323.9, 1769.8, 2219.7, 2674.6, 3135.4, 3603.1]


@pytest.mark.parametrize(("bending", "ratio"), PUBLISHED_ROOTS)
def test_published_roots(bending: float, ratio: float) -> None:
    assert frequency_ratio(bending) == pytest.approx(ratio, abs=1e-8)


def test_fletchers_law_against_measured_piano_partials() -> None:
    predicted = partials_hz(440.0, 0.00075145, 8)
    assert predicted[0] == 440.0
    assert predicted[1:] == pytest.approx(MEASURED_PARTIALS, abs=0.9)


@pytest.mark.parametrize("mode", [1, 2, 5])
def test_hinged_modes_are_fletchers(mode: int) -> None:
    b = 0.0087
    expected = mode * np.sqrt(1 + inharmonicity(b) * mode**2)
    assert frequency_ratio(b, "hinged", mode) == pytest.approx(expected, rel=1e-15)


# Roots of the untensioned Euler–Bernoulli beam, any handbook of vibration: f/f₀ tends to B·k²/π for large B
@pytest.mark.parametrize(
    ("ends", "mode", "beam_root"),
    [
        ("hinged", 1, np.pi),
        ("hinged_at_saddle", 1, 3.92660231),
        ("hinged_at_saddle", 2, 7.06858275),
        ("clamped", 1, 4.73004074),
        ("clamped", 2, 7.85320462),
        ("clamped", 3, 10.9956078),
    ],
)
def test_a_string_without_tension_is_a_beam(ends: Ends, mode: int, beam_root: float) -> None:
    b = 1e4
    assert frequency_ratio(b, ends, mode) == pytest.approx(b * beam_root**2 / np.pi, rel=1e-7)


def _determinant(k: mpmath.mpf, b: mpmath.mpf, clamped_at_zero: bool) -> mpmath.mpf:
    """Boundary determinant for sin kx, cos kx, sinh qx, cosh qx: y = 0 at both ends, y′ = 0 at 1, y″ or y′ = 0 at 0."""
    q = mpmath.sqrt(k * k + 1 / (b * b))
    at_zero = [k, 0, q, 0] if clamped_at_zero else [0, -k * k, 0, q * q]
    rows = [
        [0, 1, 0, 1],
        at_zero,
        [mpmath.sin(k), mpmath.cos(k), mpmath.sinh(q), mpmath.cosh(q)],
        [k * mpmath.cos(k), -k * mpmath.sin(k), q * mpmath.cosh(q), q * mpmath.sinh(q)],
    ]
    return mpmath.det(mpmath.matrix(rows))


@pytest.mark.parametrize("ends", ["hinged_at_saddle", "clamped"])
@pytest.mark.parametrize("mode", [1, 2, 3])
@pytest.mark.parametrize("bending", [0.002, 0.02, 0.2, 1.0])
def test_roots_against_the_full_boundary_determinant(ends: Ends, mode: int, bending: float) -> None:
    with mpmath.workdps(500):  # sinh q is e^500 for the smallest B
        b = mpmath.mpf(bending)
        ratio = mpmath.mpf(float(frequency_ratio(bending, ends, mode)))
        # invert f/f₀ = (k/π)√(1 + B²k²) for k, then the determinant must change sign just around it
        w2 = (ratio * mpmath.pi) ** 2
        k = mpmath.sqrt((mpmath.sqrt(1 + 4 * b * b * w2) - 1) / (2 * b * b))
        below, above = (_determinant(k + side * mpmath.mpf("1e-11"), b, ends == "clamped") for side in (-1, 1))
        assert below * above < 0
        assert mode * mpmath.pi < k < (mode + 1) * mpmath.pi


@pytest.mark.parametrize("ends", ["hinged_at_saddle", "hinged", "clamped", "ideal"])
def test_the_series_agrees_to_third_order(ends: Ends) -> None:
    for b in (1e-3, 5e-3):
        assert abs(frequency_ratio(b, ends) - frequency_ratio_series(b, ends)) < 60 * b**3


def test_shapes_zero_and_nan() -> None:
    b = np.array([[0.0, 0.001], [np.nan, 0.01]])
    for ends in ("hinged_at_saddle", "hinged", "clamped"):
        ratio = frequency_ratio(b, ends)  # type: ignore[arg-type]
        assert ratio.shape == (2, 2)
        assert ratio[0, 0] == 1.0
        assert np.isnan(ratio[1, 0])
        assert ratio[1, 1] == frequency_ratio(0.01, ends)  # type: ignore[arg-type]
    assert frequency_ratio(0.3, "ideal") == 1.0


@given(st.floats(1e-6, 50), st.floats(1.001, 3))
def test_more_stiffness_and_firmer_ends_sound_sharper(b: float, more: float) -> None:
    hinged, one, both = (frequency_ratio([b, b * more], e) for e in ("hinged", "hinged_at_saddle", "clamped"))
    for ratio in (hinged, one, both):
        assert 1 < ratio[0] < ratio[1] or b < 1e-5
    assert (hinged < one).all()
    assert (one < both).all()


def test_bending_parameter_of_a_round_wire() -> None:
    # √(πρ⁴E/(4TL²)) with I = πd⁴/64, steel of 0.254 mm
    radius, modulus, tension, length = 0.127, 200e3, 72.52, 647.7
    stiffness = modulus * np.pi * (2 * radius) ** 4 / 64
    expected = np.sqrt(np.pi * radius**4 * modulus / (4 * tension * length**2))
    assert bending_parameter(stiffness, tension, length) == pytest.approx(expected, rel=1e-14)
