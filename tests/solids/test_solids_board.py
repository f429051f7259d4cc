"""Boards: volumes against closed forms and integrals, sections and floors probed with rays."""

from __future__ import annotations

import math
import time

import pytest
from probing import faces, ray_z
from scipy.integrate import quad

from templategen.errors import OurBug
from templategen.solids.board import BoardTop, FretSlot, board, slot_tools, slotted
from templategen.solids.make import polygon
from templategen.solids.shape import Solid

NUT, END, LENGTH, THICK = 43.0, 56.0, 470.0, 6.2
OUTLINE = polygon(((0, -NUT / 2), (LENGTH, -END / 2), (LENGTH, END / 2), (0, NUT / 2)))
CYLINDER = BoardTop.cylinder(254)
FLATTER = BoardTop.cone(254, 406, 0, 460)
ROUNDER = BoardTop.cone(406, 254, 0, 460)


def half_width(x: float) -> float:
    return (NUT + (END - NUT) * x / LENGTH) / 2


def section_area(radius: float, half: float, thickness: float = THICK) -> float:
    """Between z = −thickness and the circle, |y| ≤ half: 2·half·(t − R) + half·√(R² − half²) + R²·asin(half/R)."""
    under = half * math.sqrt(radius**2 - half**2) + radius**2 * math.asin(half / radius)
    return 2 * half * (thickness - radius) + under


def fret_slots(count: int = 22, scale: float = 650.0, depth: float = 1.9) -> list[FretSlot]:
    stations = [scale * (1 - 2 ** (-n / 12)) for n in range(1, count + 1)]
    return [FretSlot((x, -half_width(x)), (x, half_width(x)), 0.58, depth) for x in stations]


@pytest.fixture(scope="module")
def cone_board() -> Solid:
    return board(OUTLINE, THICK, FLATTER, "cone board")


def test_flat_board() -> None:
    flat = board(OUTLINE, THICK, BoardTop.flat())
    assert flat.volume == pytest.approx((NUT + END) / 2 * LENGTH * THICK, rel=1e-9)
    assert flat.extent.high[2] == pytest.approx(0, abs=1e-9)


def test_cylinder_board_of_constant_width() -> None:
    straight = board(polygon(((0, -25), (100, -25), (100, 25), (0, 25))), THICK, CYLINDER)
    assert straight.volume == pytest.approx(100 * section_area(254, 25), rel=1e-9)
    assert [f.radius for f in faces(straight) if f.kind == "cylinder"] == [254]


def test_tapered_cylinder_board() -> None:
    volume, _ = quad(lambda x: section_area(254, half_width(x)), 0, LENGTH)
    assert board(OUTLINE, THICK, CYLINDER).volume == pytest.approx(volume, rel=1e-8)


@pytest.mark.parametrize("surface", [FLATTER, ROUNDER])
def test_cone_board(surface: BoardTop) -> None:
    made = board(OUTLINE, THICK, surface)
    volume, _ = quad(lambda x: section_area(surface.radius(x), half_width(x)), 0, LENGTH)
    assert made.volume == pytest.approx(volume, rel=1e-5)
    (cone,) = [f for f in faces(made) if f.kind == "cone"]
    assert cone.half_angle_deg == pytest.approx(math.degrees(math.atan(152 / 460)), abs=1e-9)
    for x in (0.5, 120.0, 345.0, 469.5):
        assert ray_z(made, x, 0.0)[-1] == pytest.approx(0.0, abs=1e-9)
        for y in (-0.99 * half_width(x), -8.0, 15.0, 0.99 * half_width(x)):
            assert ray_z(made, x, y)[-1] == pytest.approx(surface.z(x, y), abs=0.001)


def test_the_uncorrected_cone_would_be_seen() -> None:
    """The check above has teeth: radii taken square to the crown, used square to the axis, are 0.03 mm off."""
    alpha = math.atan(152 / 460)
    tight = BoardTop.cone(254 / math.cos(alpha), 406 / math.cos(alpha), 0, 460)
    made = board(OUTLINE, THICK, tight)
    assert abs(ray_z(made, 1.0, 21.0)[-1] - FLATTER.z(1.0, 21.0)) > 0.03


def test_cone_departs_from_the_circle_as_the_docstring_says(cone_board: Solid) -> None:
    x, y = 1.0, 21.3
    z = FLATTER.z(x, y)
    predicted = z**2 * (152 / 460) ** 2 / (2 * FLATTER.radius(x))
    assert ray_z(cone_board, x, y)[-1] - z == pytest.approx(predicted, rel=0.05)


def test_slots_on_a_cone_are_quick_and_sound(cone_board: Solid) -> None:
    slots = fret_slots()
    started = time.process_time()
    done = slotted(cone_board, FLATTER, slots)
    assert time.process_time() - started < 4
    removed = sum(
        0.58 * quad(lambda y, x=s.start[0]: FLATTER.z(x, y) - FLATTER.lowered(1.9).z(x, y), s.start[1], s.end[1])[0]
        for s in slots
    )
    assert cone_board.volume - done.volume == pytest.approx(removed, rel=1e-4)
    for slot in slots[::5]:
        x = slot.start[0]
        assert ray_z(done, x, 0.0) == pytest.approx((-THICK, -1.9), abs=1e-6)
        for y in (-20.0, 12.0):
            assert ray_z(done, x, y)[-1] == pytest.approx(FLATTER.lowered(1.9).z(x, y), abs=0.001)


def test_concentric_floor_keeps_its_depth_square_to_a_cylinder() -> None:
    done = slotted(board(OUTLINE, THICK, CYLINDER), CYLINDER, fret_slots(5))
    assert {round(f.radius, 9) for f in faces(done) if f.kind == "cylinder"} == {254.0, 252.1}


def test_vertical_depth_at_the_edge_is_the_slanted_way_through() -> None:
    """Square depth d is d/cos φ upright, sin φ = y/R, to first order in d: 0.012 mm more at the edge of 254/56."""
    upright = CYLINDER.z(0, 28) - CYLINDER.lowered(1.9).z(0, 28)
    assert upright == pytest.approx(1.9 / math.cos(math.asin(28 / 254)), abs=2e-4)


def test_flat_floor_is_level_from_edge_to_edge(cone_board: Solid) -> None:
    done = slotted(cone_board, FLATTER, [FretSlot((200.0, -27.0), (190.0, 26.0), 0.6, floor_z=-3.19)])
    for share in (0.1, 0.5, 0.9):
        x, y = 200 - 10 * share, -27 + 53 * share
        if abs(y) < half_width(x):
            assert ray_z(done, x, y)[-1] == pytest.approx(-3.19, abs=1e-9)


def test_flat_topped_board_takes_depth_from_its_top() -> None:
    top = BoardTop.flat()
    done = slotted(board(OUTLINE, THICK, top), top, fret_slots(3))
    removed = sum(0.58 * 1.9 * math.dist(s.start, s.end) for s in fret_slots(3))
    assert board(OUTLINE, THICK, top).volume - done.volume == pytest.approx(removed, rel=1e-6)


@pytest.mark.parametrize(("ends", "corner"), [("square", 0.0), ("round", 1 - math.pi / 4)])
def test_blind_slots_end_where_they_are_told(ends: str, corner: float) -> None:
    plate = BoardTop.flat()
    body = board(polygon(((0, -20), (40, -20), (40, 20), (0, 20))), 5, plate)
    slot = FretSlot((21, -15), (19, 15), 1.2, 2.0, ends=ends)  # type: ignore[arg-type]
    done = slotted(body, plate, [slot])
    length = math.dist(slot.start, slot.end)
    assert body.volume - done.volume == pytest.approx(2.0 * (1.2 * length - corner * 1.2**2), rel=1e-7)
    inside, outside = 0.999, 1.001
    assert ray_z(done, 20 - inside, 15 * inside)[-1] == pytest.approx(-2.0, abs=1e-9)
    assert ray_z(done, 20 - outside, 15 * outside)[-1] == pytest.approx(0.0, abs=1e-9)


def test_slanted_ends_and_slots_of_a_multi_scale_board() -> None:
    outline = polygon(((-6, -22), (300, -27), (280, 27), (5, 21)))
    made = board(outline, THICK, ROUNDER)
    done = slotted(made, ROUNDER, [FretSlot((100, -23.7), (92, 22.9), 0.58, 1.9)])
    assert ray_z(done, 96.0, -0.4)[-1] == pytest.approx(-1.9, abs=1e-3)


def test_tools_reach_through_the_edge_and_above_the_crown(cone_board: Solid) -> None:
    (tool,) = slot_tools(cone_board, FLATTER, fret_slots(1))
    assert tool.extent.low[1] == pytest.approx(-half_width(fret_slots(1)[0].start[0]) - 2, abs=1e-6)
    assert tool.extent.high[2] == pytest.approx(1.0, abs=1e-6)


def test_a_radius_that_falls_to_nothing_is_our_bug() -> None:
    with pytest.raises(OurBug, match="radius falls to nothing"):
        board(OUTLINE, THICK, BoardTop.cone(254, 40, 0, 400))


@pytest.mark.parametrize("end", [254 + 1e-9, 254 + 1e-6, 254.002, 254.003, 254.1])
def test_a_cone_that_is_hardly_one(end: float) -> None:
    surface = BoardTop.cone(254, end, 0, 460)
    done = slotted(board(OUTLINE, THICK, surface), surface, fret_slots(2))
    exact = end - math.sqrt(end**2 - 27**2)
    assert ray_z(done, 460.0, 27.0)[-1] == pytest.approx(-exact, abs=2e-5)


def test_half_flat_is_our_bug() -> None:
    with pytest.raises(OurBug, match="flat at one end"):
        BoardTop.cone(254, math.inf, 0, 460)
