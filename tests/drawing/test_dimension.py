"""Dimensions as lines: what ISO 129-1 asks for."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from templategen.drawing.dimension import ARROW_LENGTH, GAP, OVERRUN, exploded, reading_deg
from templategen.drawing.model import Dimension, Line, Outline, Text


def parts(dimension: Dimension, scale: float = 1.0) -> tuple[list[Line], list[Outline], Text]:
    found = exploded(dimension, scale)
    (text,) = (part for part in found if isinstance(part, Text))
    return [p for p in found if isinstance(p, Line)], [p for p in found if isinstance(p, Outline)], text


def test_a_level_dimension() -> None:
    (left, right, line), arrows, text = parts(Dimension((0.0, 0.0), (40.0, 5.0), (0.0, -10.0)))
    assert (left.start, left.end) == ((0.0, -GAP), (0.0, -10.0 - OVERRUN))
    assert (right.start, right.end) == ((40.0, 5.0 - GAP), (40.0, -10.0 - OVERRUN))
    assert (line.start, line.end) == ((0.0, -10.0), (40.0, -10.0))
    assert [arrow.points[0] for arrow in arrows] == [(0.0, -10.0), (40.0, -10.0)]
    assert [arrow.points[1][0] for arrow in arrows] == [ARROW_LENGTH, 40.0 - ARROW_LENGTH]
    assert (text.text, text.angle_deg) == ("40.00", 0.0)
    assert text.at[1] > -10.0


def test_an_upright_dimension_reads_from_the_right() -> None:
    for angle in (90.0, -90.0, 270.0):
        _, _, text = parts(Dimension((0.0, 0.0), (0.0, 30.0), (-8.0, 0.0), angle))
        assert text.angle_deg == 90.0
        assert text.at[0] < -8.0  # over the line, seen from the right


@pytest.mark.parametrize(("length", "inside"), [(20.0, True), (12.0, False), (3.0, False)])
def test_arrows_go_outside_where_there_is_no_room(length: float, inside: bool) -> None:
    _, arrows, text = parts(Dimension((0.0, 0.0), (length, 0.0), (0.0, -5.0)))
    assert (arrows[0].points[1][0] > 0) is inside
    assert (0 < text.at[0] < length) is (length > 10)


def test_the_text_at_the_end_is_on_the_line_s_level() -> None:
    _, _, text = parts(Dimension((0.0, 0.0), (40.0, 0.0), (0.0, -5.0), text_at="end"))
    assert text.at == pytest.approx((40.8, -5.0 - 1.25))


@given(st.floats(-720, 720))
def test_reading_direction(angle: float) -> None:
    turned = reading_deg(angle)
    assert -90 < turned <= 90
    assert abs(math.sin(math.radians(turned - angle))) < 1e-9  # the same line, maybe the other way


@given(st.floats(0.5, 300), st.floats(-180, 180), st.sampled_from([0.5, 1.0, 2.0, 5.0]))
def test_scale_only_shrinks_the_lettering(length: float, angle: float, scale: float) -> None:
    """A drawing s times as large at 1/s the scale looks the same on paper."""
    turn = math.radians(angle)
    end = length * math.cos(turn), length * math.sin(turn)
    one = exploded(Dimension((0.0, 0.0), end, (-3.0, 4.0), angle, "x"), 1.0)
    other = exploded(
        Dimension((0.0, 0.0), (end[0] / scale, end[1] / scale), (-3.0 / scale, 4.0 / scale), angle, "x"), scale
    )
    assert [type(part) for part in one] == [type(part) for part in other]
    for a, b in zip(one, other, strict=True):
        if isinstance(a, Line) and isinstance(b, Line):
            assert a.start == pytest.approx((b.start[0] * scale, b.start[1] * scale), abs=1e-6)
            assert a.end == pytest.approx((b.end[0] * scale, b.end[1] * scale), abs=1e-6)
