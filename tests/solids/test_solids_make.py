"""Prisms and tools against closed forms (any handbook of solids)."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from probing import cylinder_tool, faces, ray, ray_z

from templategen.drawing.model import Outline
from templategen.geometry import bulge_through
from templategen.solids.combine import cut
from templategen.solids.make import ball_slot, box, half_space, polygon, prism, rectangle, vee_groove
from templategen.solids.shape import Contour, Frame


def segment_area(radius: float, chord: float) -> float:
    """Circular segment: r²·(θ − sin θ)/2 with θ = 2·asin(c/2r)."""
    turn = 2 * math.asin(chord / (2 * radius))
    return radius**2 * (turn - math.sin(turn)) / 2


def test_concave_block_is_one_prism_with_one_true_cylinder() -> None:
    width, height, length, radius = 62.0, 32.0, 150.0, 279.75
    rise = radius - math.sqrt(radius**2 - width**2 / 4)
    corners = ((-width / 2, 0.0), (width / 2, 0.0), (width / 2, height), (-width / 2, height))
    profile = Outline(corners, (0.0, 0.0, -bulge_through(corners[2], corners[3], rise), 0.0))
    block = prism(profile, (0.0, length, 0.0), Frame.xz())
    assert block.valid
    assert block.volume == pytest.approx((width * height - segment_area(radius, width)) * length, rel=1e-9)
    assert [f.radius for f in faces(block) if f.kind == "cylinder"] == [radius]
    assert [f.kind for f in faces(block)].count("plane") == 5
    assert ray_z(block, 0.0, 75.0) == pytest.approx((0.0, height - rise), abs=1e-9)
    assert block.extent.high == pytest.approx((width / 2, length, height), abs=1e-7)


def test_a_drawing_outline_and_plain_points_make_the_same_prism() -> None:
    points, bulges = ((0.0, 0.0), (10.0, 0.0), (10.0, 4.0), (0.0, 4.0)), (0.0, 1.0, 0.0, 1.0)
    stadium = 10 * 4 + math.pi * 4
    for profile in (Outline(points, bulges), Contour(points, bulges)):
        assert prism(profile, (0.0, 0.0, -3.0)).volume == pytest.approx(3 * stadium, rel=1e-9)


def test_slanted_prism_holds_area_times_height() -> None:
    solid = prism(rectangle(0, 0, 4, 5), (3.0, -2.0, 7.0))
    assert solid.valid
    assert solid.volume == pytest.approx(4 * 5 * 7, rel=1e-9)


def test_half_space_takes_what_its_normal_points_to() -> None:
    body = box((0, 0, 0), (10, 10, 10))
    kept = cut(body, [half_space((4, 5, 5), (1, 0, 1))])
    # The plane x + z = 9 leaves 10·10·10 less the prism above it: triangle of legs 11, less the two corners it lacks.
    assert kept.volume == pytest.approx(10 * (9 * 9 / 2), rel=1e-9)
    assert kept.extent.high == pytest.approx((9, 10, 9), abs=1e-7)


def test_round_bar() -> None:
    bar = cylinder_tool((1, 2, 3), (0, 1, 0), 2.5, 12)
    assert bar.volume == pytest.approx(math.pi * 2.5**2 * 12, rel=1e-9)
    assert bar.extent.low == pytest.approx((-1.5, 2, 0.5), abs=1e-7)


@settings(max_examples=15, deadline=None)
@given(width=st.floats(0.3, 3.0), side=st.floats(-0.2, 0.2), drop=st.floats(-0.05, 0.4), floor=st.floats(2.0, 6.5))
def test_ball_slot_floor_line_walls_and_radius(width: float, side: float, drop: float, floor: float) -> None:
    body = box((-10, 0, 0), (10, 4, 8))
    nut = cut(body, [ball_slot((0, 0, floor), (side, 1, -drop), width, 6, 8)])
    for y in (0.3, 2.0, 3.7):
        assert ray_z(nut, side * y, y) == pytest.approx((0, floor - drop * y), abs=1e-6)
    assert [f.radius for f in faces(nut) if f.kind == "cylinder"] == pytest.approx([width / 2], abs=1e-9)
    # Walls are upright and width apart, square to the slot's plan direction, just below the top.
    across = (1 / math.hypot(1, side), -side / math.hypot(1, side), 0.0)
    hits = ray(nut, (side * 2, 2.0, 7.99), across)
    gap = max(h for h in hits if h < 0), min(h for h in hits if h > 0)
    if floor + width < 7.9:
        assert gap == pytest.approx((-width / 2, width / 2), abs=1e-6)


def test_ball_slot_takes_half_round_and_walls() -> None:
    body = box((-10, 0, 0), (10, 4, 8))
    slot = ball_slot((0, 0, 6), (0, 1, 0), 1.0, 6, 8)
    cut(body, [slot], expected_volume=20 * 4 * 8 - 4 * (math.pi / 8 + 1.5 * 1.0), within=1e-9)


def test_vee_groove_width_at_the_top() -> None:
    body = box((-10, 0, 0), (10, 4, 8))
    depth = 0.9
    nut = cut(body, [vee_groove((0, 0, 8 - depth), (0, 1, 0), 60, 6, 8)])
    width = 2 * depth * math.tan(math.radians(30))
    assert body.volume - nut.volume == pytest.approx(4 * depth * width / 2, rel=1e-6)
    assert ray_z(nut, 0.0, 2.0)[-1] == pytest.approx(8 - depth, abs=1e-9)


def test_polygon_has_no_arcs() -> None:
    assert polygon([(0, 0), (1, 0), (0, 1)]).bulges == (0.0, 0.0, 0.0)
