"""Lettering in single lines."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from templategen.drawing.lettering import text_width
from templategen.drawing.model import Box, Polyline, Text, shape_bounds
from templategen.drawing.strokes import strokes


def box(lines: tuple[Polyline, ...]) -> Box:
    found = shape_bounds(lines[0])
    for line in lines[1:]:
        found = found.joined(shape_bounds(line))
    return found


@pytest.mark.parametrize("scale", [1.0, 5.0])
@pytest.mark.parametrize(("level", "base"), [("baseline", 0.0), ("middle", -0.5), ("top", -1.0)])
def test_capitals_have_the_height_asked_for(scale: float, level: str, base: float) -> None:
    height = 3.5 / scale
    found = box(strokes(Text((10.0, 20.0), "HEAD 0123456789", 3.5, level=level), scale))
    assert found.y0 == pytest.approx(20.0 + base * height, abs=1e-9)
    assert found.y1 == pytest.approx(20.0 + (base + 1) * height, abs=1e-9)


@pytest.mark.parametrize(("anchor", "share"), [("left", 0.0), ("middle", 0.5), ("right", 1.0)])
def test_anchor_and_width_are_those_of_the_lettering(anchor: str, share: float) -> None:
    words = "MHHM"
    width = text_width(words, 5.0)
    found = box(strokes(Text((10.0, 0.0), words, 5.0, anchor=anchor)))
    assert 10.0 - share * width <= found.x0 < found.x1 <= 10.0 + (1 - share) * width
    assert found.width > 0.85 * width


def test_turned_lettering_is_the_level_one_turned() -> None:
    level = strokes(Text((0.0, 0.0), "R 7", 2.5))
    turned = strokes(Text((0.0, 0.0), "R 7", 2.5, 90.0))
    for a, b in zip(level, turned, strict=True):
        for (x, y), spot in zip(a.points, b.points, strict=True):
            assert spot == pytest.approx((-y, x), abs=1e-9)


@pytest.mark.parametrize("sign", ["°", "±", "×", *map(chr, range(33, 127))])
def test_every_sign_is_drawn_and_stays_in_its_line(sign: str) -> None:
    lines = strokes(Text((0.0, 0.0), sign, 2.1))
    assert lines
    found = box(lines)
    assert found.y0 >= -0.7 - 1e-9
    assert found.y1 <= 2.1 + 0.45


def test_a_stroke_is_one_path() -> None:
    """An I is one stroke, a T two, an H three: as the letterforms are drawn."""
    assert [len(strokes(Text((0.0, 0.0), sign, 2.5))) for sign in "ITH"] == [1, 2, 3]
    (ring,) = strokes(Text((0.0, 0.0), "°", 2.5))
    assert len(ring.points) == 9
    assert ring.points[0] == ring.points[-1]


def test_signs_differ() -> None:
    def drawn(sign: str) -> tuple[Polyline, ...]:
        return strokes(Text((0.0, 0.0), f"H{sign}H", 2.5))

    assert len({drawn(sign) for sign in "°±×?O+-x"}) == 8
    assert len(drawn("漢")) == len(drawn("?"))
    assert len(drawn("ä")) == len(drawn("a"))
    assert len(drawn("−")) == len(drawn("-"))


@given(st.text(max_size=12))
def test_any_text_can_be_drawn(words: str) -> None:
    for line in strokes(Text((0.0, 0.0), words, 2.5)):
        assert all(math.isfinite(v) for spot in line.points for v in spot)
