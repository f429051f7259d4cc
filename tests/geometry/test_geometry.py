"""Contours that touch themselves, judged against shapely's polygons; circles against handbook values."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from reading import polygon
from shapely import Point

from templategen.drawing.model import Outline
from templategen.geometry import arc_drop, circle_of_bulge, radius_of, sagitta, self_contact

SQUARE = ((0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0))
STRAIGHT = (0.0,) * 4


def test_segment_of_a_circle() -> None:
    # 3-4-5 triangle: a chord of 8 in a circle of radius 5 stands 3 from the centre, the arc 2 high over it
    assert sagitta(5, 8) == pytest.approx(2, abs=1e-15)
    assert radius_of(8, 2) == pytest.approx(5, abs=1e-15)
    assert arc_drop(math.inf, 20) == 0


def test_circle_of_a_bulge() -> None:
    centre, radius = circle_of_bulge((4, 0), (-4, 0), math.tan(math.asin(0.8) / 2))
    assert (*centre, radius) == pytest.approx((0, -3, 5), abs=1e-12)


@pytest.mark.parametrize(
    ("points", "bulges"),
    [
        (SQUARE, STRAIGHT),
        (SQUARE, (0.5, -0.5, 0.5, -0.5)),
        (((0.0, 0.0), (4.0, 0.0)), (1.0, 1.0)),
        (((0.0, 0.0), (10.0, 0.0), (10.0, 3.0), (0.0, 3.0)), (0.0, 1.0, 0.0, 1.0)),
        (((0.0, 0.0), (5.0, 0.0), (10.0, 0.0), (10.0, 10.0)), STRAIGHT),  # two stretches of one line
        (((0.0, -5.0), (5.0, 0.0), (0.0, 5.0), (-5.0, 0.0)), (math.tan(math.pi / 8),) * 4),  # four arcs of one circle
    ],
    ids=["square", "waves", "circle", "slot", "one line", "one circle"],
)
def test_simple(points: tuple[tuple[float, float], ...], bulges: tuple[float, ...]) -> None:
    assert self_contact(points, bulges) is None
    assert polygon(Outline(points, bulges)).is_valid


@pytest.mark.parametrize(
    ("points", "bulges"),
    [
        (((0.0, 0.0), (10.0, 10.0), (10.0, 0.0), (0.0, 10.0)), STRAIGHT),  # bow tie
        (SQUARE, (-1.5, 0.0, -1.5, 0.0)),  # hollows that meet in the middle
        (SQUARE, (-1.8, 0.0, 0.0, 0.0)),  # a hollow that leaves through the sides
        (((0.0, 0.0), (10.0, 0.0), (5.0, 0.0), (5.0, 5.0)), STRAIGHT),  # runs back on itself
        (((0.0, 0.0), (10.0, 0.0), (10.0, 5.0), (5.0, 0.0), (0.0, 5.0)), (0.0,) * 5),  # a corner on a side
        (((0.0, 0.0), (0.0, 0.0), (10.0, 0.0), (10.0, 10.0)), STRAIGHT),  # stands still
        (((0.0, 0.0), (10.0, 0.0)), (0.0, 0.0)),  # there and back
        (((0.0, 0.0), (4.0, 0.0), (0.0, 0.0), (4.0, 0.0)), (1.0, 1.0, 1.0, 1.0)),  # a circle twice
        (((0.0, 0.0), (math.nan, 0.0), (10.0, 10.0)), (0.0,) * 3),
    ],
)
def test_not_simple(points: tuple[tuple[float, float], ...], bulges: tuple[float, ...]) -> None:
    assert self_contact(points, bulges) is not None


Coordinate = st.integers(-20, 20).map(float)
Corner = st.tuples(Coordinate, Coordinate)
Bulge = st.sampled_from([0.0, 0.0, 0.31, -0.27, 0.83, -1.13])


@settings(max_examples=300, deadline=None, derandomize=True)
@given(st.lists(st.tuples(Corner, Bulge), min_size=3, max_size=7))
def test_agrees_with_shapely(path: list[tuple[tuple[float, float], float]]) -> None:
    """Arcs as 2,000 chords; cases within a hundredth of a mm of touching are left to neither."""
    points, bulges = (tuple(column) for column in zip(*path, strict=True))
    ours = self_contact(points, bulges)  # type: ignore[arg-type]
    if any(a == b for a, b in zip(points, points[1:] + points[:1], strict=True)):
        assert ours is not None
        return
    theirs = polygon(Outline(points, bulges), 500)  # type: ignore[arg-type]
    if not theirs.is_valid:
        assert ours is not None
    elif ours is not None:  # a touch that the chords just miss: the contour comes near itself there
        near = theirs.exterior.intersection(Point(ours).buffer(0.05))
        assert near.geom_type != "LineString" or near.length > 0.15
