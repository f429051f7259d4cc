"""The board: handbook segments, the cone that matches the strings, true lengths, and what relief may touch."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from making import FAN, found, instrument
from mpmath import mp, mpf

from templategen.findings.board import outer_string_bow
from templategen.geometry import arc_drop, radius_of, sagitta
from templategen.instrument.board.surfaces import RadiusLaw
from templategen.instrument.model import Instrument
from templategen.instrument.tools.gauges import string_arc

mp.dps = 30


@pytest.mark.parametrize(
    ("radius", "chord", "height"),
    [
        (184.15, 42, 1.2013), (254, 42, 0.8696), (254, 56, 1.5480), (304.8, 56, 1.2888), (406.4, 56, 0.9657),
        (10, 12, 2.0),
    ],
)  # fmt: skip
def test_height_of_a_segment(radius: float, chord: float, height: float) -> None:
    """s = r − √(r² − c²/4), any handbook of formulas; the first five worked out in arbitrary precision."""
    assert sagitta(radius, chord) == pytest.approx(height, abs=5.1e-5)


def test_radius_from_chord_and_height() -> None:
    """r = s/2 + c²/(8s): s 0.5, c 1.2 → 0.61; a straightedge gap of 0.25 mm over 440 mm is an arc of 96.8 m."""
    assert radius_of(1.2, 0.5) == pytest.approx(0.61)
    assert radius_of(440, 0.25) == pytest.approx(96_800, abs=1)


@given(st.floats(50, 10_000), st.floats(1e-3, 25))
def test_large_radii_lose_no_digits(radius: float, y: float) -> None:
    exact = mpf(radius) - mp.sqrt(mpf(radius) ** 2 - mpf(y) ** 2)
    assert float(arc_drop(radius, y)) == pytest.approx(float(exact), rel=1e-14)


# Strings 35 mm apart at the nut and 52 mm at fret 24, which stands at three quarters of the scale.
TAPERED: dict[str, Any] = {
    "scale.fret_count": 24,
    "nut.edge_margin": None,
    "nut.string_spread": 35,
    "bridge.string_spread": 35 + 17 / 0.75,
}
MATCHED = 254 * 52 / 35
CONE = {"fingerboard.radius": None, "fingerboard.radius_at_nut": 254, "fingerboard.radius_at_last_fret": MATCHED}


@pytest.mark.parametrize("handedness", ["right", "left"])
def test_the_cone_that_matches_the_strings_is_straight_under_them(handedness: str) -> None:
    assert pytest.approx(377.371, abs=5e-4) == MATCHED
    made = instrument({**TAPERED, **CONE, "handedness": handedness})
    assert abs(made.plan.crossings[-1, 0, 1] - made.plan.crossings[-1, -1, 1]) == pytest.approx(52)
    assert abs(outer_string_bow(made)[0]) < 1e-6
    assert not found(made, "cone-off-string-taper")


def test_a_cylinder_under_the_same_strings_stands_proud() -> None:
    """0.0360 mm at mid-path, worked out in arbitrary precision; the largest is a little off the middle."""
    made = instrument({**TAPERED, "fingerboard.radius": 254})
    r = mpf(254)

    def z(y: mpf) -> mpf:
        return mp.sqrt(r * r - y * y) - r

    proud = z(mpf("21.75")) - (z(mpf("17.5")) + z(mpf(26))) / 2
    assert float(proud) == pytest.approx(0.0360, abs=5e-5)
    start, end = made.plan.string_nut[0], made.plan.crossings[-1, 0]
    middle = (start + end) / 2
    here = made.board.z(*middle) - (made.board.z(*start) + made.board.z(*end)) / 2
    assert here == pytest.approx(float(proud), abs=1e-12)
    assert outer_string_bow(made)[0] == pytest.approx(0.0360, abs=1e-4)


def test_a_cone_off_the_strings_names_the_one_that_matches() -> None:
    made = instrument({**TAPERED, **CONE, "fingerboard.radius_at_last_fret": 300})
    (told,) = found(made, "cone-off-string-taper")
    assert f"stands {outer_string_bow(made)[0]:.3f} mm above a straight line" in told.message
    assert "377.37 mm (14.857 in) at the last fret would match" in told.message


def test_a_radius_that_shrinks_is_accepted_with_a_finding() -> None:
    made = instrument({**CONE, "fingerboard.radius_at_nut": 400, "fingerboard.radius_at_last_fret": 250})
    (told,) = found(made, "radius-shrinks")
    assert told.level == "decide"
    assert "falls from 400.00 mm (15.748 in) at the nut to 250.00 mm (9.843 in)" in told.message
    assert made.frets.radius[-1] == pytest.approx(250)


def test_local_radius_is_linear_along_the_centreline() -> None:
    made = instrument({**FAN, **CONE})
    last = made.plan.centre_x[-1]
    assert np.allclose(made.frets.radius, 254 + (MATCHED - 254) * made.plan.centre_x / last)
    assert made.board.radius(last + 8) > MATCHED


def test_thickness_at_the_edge() -> None:
    made = instrument({"fingerboard.thickness": None, "fingerboard.thickness_at_edge": 5.4})
    assert made.board.thickness == pytest.approx(5.4 + sagitta(300, 43))
    assert made.board.thickness + made.board.z(0, 21.5) == pytest.approx(5.4)


BOARDS: dict[str, dict[str, Any]] = {
    "cylinder": {},
    "flat": {"fingerboard.radius": "flat"},
    "cone": CONE,
    "slanted on a cylinder": FAN,
    "slanted on a cone": {**FAN, **CONE, "handedness": "left"},
    "slanted on a tight cone": {**FAN, **CONE, "fingerboard.radius_at_nut": 120, "fingerboard.thickness": 9},
}


@pytest.mark.parametrize("name", BOARDS)
def test_wire_over_the_true_section_curve(name: str) -> None:
    """mpmath's adaptive quadrature over √(1 + z′²) of the section, z′ by numerical differentiation."""
    made = instrument(BOARDS[name])
    law = made.board.law
    for row in (0, 11, 20):
        start, end = made.plan.bass_ends[row], made.plan.treble_ends[row]
        want = section_length(law, start, end) + 4
        assert made.frets.wire_cut[row] == pytest.approx(float(want), abs=1e-7)


def section_length(law: RadiusLaw, start: Any, end: Any) -> mpf:
    (x0, y0), (x1, y1) = ([mpf(float(v)) for v in p] for p in (start, end))
    plan = mp.hypot(x1 - x0, y1 - y0)

    def z(s: mpf) -> mpf:
        if law.flat:
            return mpf(0)
        radius = mpf(law.at_nut) + mpf(law.slope) * (x0 + (x1 - x0) * s / plan)
        y = y0 + (y1 - y0) * s / plan
        return mp.sqrt(radius**2 - y**2) - radius

    return mp.quad(lambda s: mp.sqrt(1 + mp.diff(z, s) ** 2), [0, plan / 2, plan])


def test_wire_of_a_square_fret_on_a_cylinder_is_an_arc() -> None:
    made = instrument()
    half = made.frets.width / 2
    assert np.allclose(made.frets.wire_cut, 600 * np.arcsin(half / 300) + 4, rtol=0, atol=1e-10)


def wood(made: Instrument) -> list[Any]:
    f = made.frets
    return [
        f.wire_cut, f.tang_length, f.slot_depth, f.depth_stop_flat, f.wood_under_slot_at_edge, made.plan.outline,
        made.board.z(made.plan.crossings[..., 0], made.plan.crossings[..., 1]),
    ]  # fmt: skip


@settings(max_examples=10, deadline=None)
@given(st.floats(-0.5, 1.0))
def test_relief_changes_no_wood(relief: float) -> None:
    plain, bowed = instrument({"setup.relief": 0}), instrument({"setup.relief": relief})
    for one, other in zip(wood(plain), wood(bowed), strict=True):
        assert (one == other).all()
    if abs(relief) > 1e-6:
        assert (plain.crowns != bowed.crowns).any()


def test_sag_of_the_strung_board() -> None:
    strung = instrument({"setup.relief": {"depth": 0.25, "from": 1, "to": 14}}).strung
    first, last = 640 * (1 - 2 ** (-1 / 12)), 640 * (1 - 2 ** (-14 / 12))
    assert strung.sag(np.array([first, (first + last) / 2, last])) == pytest.approx([0, 0.25, 0], abs=1e-12)
    assert strung.sag(0.0) == pytest.approx(-4 * 0.25 * first / (last - first))


def test_crowns_are_concentric_and_fall_away() -> None:
    made = instrument({"setup.relief": 0, "setup.fall_away": {"from": 15, "drop": 0.3}})
    x, y = made.plan.crossings[..., 0], made.plan.crossings[..., 1]
    plain = np.sqrt((300 + 1.1) ** 2 - y**2) - 300
    start = 640 * (1 - 2 ** (-15 / 12))
    drop = 0.3 * np.clip((x - start) / (made.plan.centre_x[-1] - start), 0, None)
    assert np.allclose(made.crowns, plain - drop, rtol=0, atol=1e-9)


@pytest.mark.parametrize("shape", [{}, FAN], ids=["square frets", "slanted frets"])
def test_a_cone_that_ends_before_the_saddle(shape: dict[str, Any]) -> None:
    """Drawn on to the saddle its radius would be negative; the saddle's arc still runs under the strings."""
    made = instrument({**shape, **CONE, "fingerboard.radius_at_nut": 826, "fingerboard.radius_at_last_fret": 228.6875})
    assert made.board.radius(made.plan.saddle_x) < 0
    saddle = made.saddle
    assert saddle.top.radius == pytest.approx(string_arc(made, float(saddle.x.min()) - 1).radius, rel=0.02)
    assert np.abs(saddle.top.z(saddle.y) - saddle.height).max() < 0.1
