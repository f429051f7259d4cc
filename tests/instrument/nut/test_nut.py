"""The nut's numbers: frame, spacing laws, angles behind it, compensation, slot forms, problems."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from making import FAN, instrument, work_of
from places import FLEET

from templategen import job
from templategen.errors import SpecError
from templategen.instrument.nut.slots import file_for, slot_forms, usual_clearance
from templategen.spec.models import EndMill, Shop

HANDS = ({}, {"handedness": "left"})
STEEP = {**FAN, "scale.bass": 700}
POSTS = [[-120, 24, -14], [-95, 30, -13], [-60, 34, -12], [-60, -34, -12], [-95, -30, -13], [-120, -24, -14]]
MIRRORED = [[x, -y, z] for x, y, z in POSTS]
SHIFTS = [0.6, 0.3, 0.9, 0.2, 0.3, 0.1]


def set_of(gauges: list[float], wound: list[bool] | None = None) -> dict[str, Any]:
    notes = ("E4", "B3", "G3", "D3", "A2", "E2", "B1", "F#1")
    rows = zip(gauges, notes, wound or [False] * len(gauges), strict=False)
    return {"strings.set": [{"gauge": g, "note": n, "wound": w} for g, n, w in rows]}


# ------------------------------------------------------------------------------------------------------- the frame


@pytest.mark.parametrize("hand", HANDS, ids=("right", "left"))
@pytest.mark.parametrize(
    "board", [{}, STEEP, {**STEEP, "nut.compensation": SHIFTS}], ids=("square", "slanted", "moved")
)
def test_slots_run_along_the_strings_and_ends_along_the_edges(hand: dict[str, Any], board: dict[str, Any]) -> None:
    made = instrument({**board, **hand})
    nut, plan = made.nut, made.plan
    start, run = plan.string_nut, plan.string_saddle - plan.string_nut
    turn = np.radians(nut.direction_deg)
    for along in (0.0, 2.0, 5.0):  # where a slot is after that much of its length, in plan
        x, y = nut.plan_point(nut.along + along * np.sin(turn), -nut.forward + along * np.cos(turn))
        off = (x - start[:, 0]) * run[:, 1] - (y - start[:, 1]) * run[:, 0]
        assert off == pytest.approx(np.zeros(6), abs=1e-6)
    x, y = nut.plan_point(nut.along, -nut.forward)
    assert x == pytest.approx(made.line.witness_x, abs=1e-9)
    for ends, back in ((nut.front_ends, 0.0), (nut.back_ends, nut.thickness)):
        x, y = nut.plan_point(ends, np.full(2, back))
        assert np.abs(y) == pytest.approx(plan.taper.width(x) / 2, abs=1e-9)
        assert y[0] < 0 < y[1]


@pytest.mark.parametrize("hand", HANDS, ids=("right", "left"))
def test_the_front_edge_of_a_slanted_nut_is_the_line_of_fret_0(hand: dict[str, Any]) -> None:
    made = instrument({**STEEP, **hand})
    x, y = made.nut.plan_point(made.nut.along, 0.0)
    assert np.stack([x, y], -1) == pytest.approx(made.plan.string_nut, abs=1e-9)
    back_x, back_y = made.nut.plan_point(0.0, made.nut.thickness)
    assert back_x < 0, "positive y is toward the tuners"
    slant = made.plan.string_nut[0] - made.plan.string_nut[-1]
    assert (back_x * slant[0] + back_y * slant[1]) == pytest.approx(0, abs=1e-9), "square to the front edge"
    assert math.hypot(float(back_x), float(back_y)) == pytest.approx(made.nut.thickness)


def test_the_nut_stands_behind_a_zero_fret() -> None:
    made = instrument({**STEEP, "scale.zero_fret": True, "nut.behind_zero_fret": 4.5, "nut.below_zero_crown": 0.6})
    x, y = made.nut.plan_point(made.nut.along, 0.0)
    fret_0 = made.plan.crossings[0]
    edge = fret_0[0] - fret_0[-1]
    for point in zip(x, y, strict=True):
        gap = np.array(point) - (fret_0[0] - [4.5, 0.0])
        assert edge[0] * gap[1] - edge[1] * gap[0] == pytest.approx(0, abs=1e-7), "parallel, 4.5 along the centreline"
    assert made.nut.floor_z == pytest.approx(made.crowns[0] - 0.6)
    assert made.line.witness_z == pytest.approx(made.crowns[0])


def test_mirrored_by_handedness() -> None:
    for board, posts, mirrored in (({}, POSTS, MIRRORED), (STEEP, POSTS, MIRRORED)):
        aim = {"nut.slot_aim": 0.5, "nut.compensation": SHIFTS}
        right = instrument({**board, **aim, "headstock.posts": posts}).nut
        left = instrument({**board, **aim, "headstock.posts": mirrored, "handedness": "left"}).nut
        for name in ("floor", "depth", "width", "back_angle_deg", "break_angle_deg", "forward", "floor_at_back"):
            assert getattr(left, name) == pytest.approx(getattr(right, name), abs=1e-9), name
        for name in ("along", "across", "direction_deg", "side_angle_deg"):
            assert getattr(left, name) == pytest.approx(-getattr(right, name), abs=1e-9), name
        assert left.front_ends[::-1] == pytest.approx(-right.front_ends)
        assert left.top.z(-right.along) == pytest.approx(right.top.z(right.along), abs=1e-9)


# -------------------------------------------------------------------------------------------------- behind the nut


def test_break_and_side_angles_from_posts_by_vectors() -> None:
    made = instrument({"headstock.posts": POSTS})
    nut = made.nut
    for n, post in enumerate(POSTS):
        leaves = np.array([*made.plan.string_nut[n], made.line.witness_z[n]])
        saddle_x, saddle_y = made.plan.string_saddle[n]
        saddle = np.array([saddle_x, saddle_y, made.line.z(saddle_x)[n]])
        on, to = leaves - saddle, np.array(post) - leaves

        def elevation(v: Any) -> float:
            return math.degrees(math.asin(v[2] / np.linalg.norm(v)))

        assert nut.break_angle_deg[n] == pytest.approx(elevation(on) - elevation(to), abs=1e-9)
        cos = on[:2] @ to[:2] / np.linalg.norm(on[:2]) / np.linalg.norm(to[:2])
        assert abs(nut.side_angle_deg[n]) == pytest.approx(math.degrees(math.acos(cos)), abs=1e-6)
        prolonged_y = leaves[1] + on[1] / on[0] * to[0]
        assert math.copysign(1, nut.side_angle_deg[n]) == math.copysign(1, post[1] - prolonged_y), "nut +x is plan +y"
    assert nut.back_angle_deg == pytest.approx(0.6 * nut.break_angle_deg)


def test_a_straight_pull_has_no_side_angle() -> None:
    plain = instrument()
    run = plain.plan.string_nut - plain.plan.string_saddle
    posts = [[*(plain.plan.string_nut[n] + run[n] * 0.15).tolist(), -12.0] for n in range(6)]
    assert instrument({"headstock.posts": posts}).nut.side_angle_deg == pytest.approx(np.zeros(6), abs=1e-6)


@pytest.mark.parametrize(("aim", "share"), [("string", 0.0), ("post", 1.0), (0.3, 0.3)])
def test_slot_aim(aim: Any, share: float) -> None:
    string = instrument({"headstock.posts": POSTS}).nut
    aimed = instrument({"headstock.posts": POSTS, "nut.slot_aim": aim}).nut
    assert aimed.direction_deg == pytest.approx(string.direction_deg + share * string.side_angle_deg)
    if share == 1:  # the slot's line then meets the post
        x, y = aimed.plan_point(aimed.along, -aimed.forward)
        dx, dy = aimed.plan_point(aimed.along + np.tan(np.radians(aimed.direction_deg)), 1.0 - aimed.forward)
        posts = np.array(POSTS)
        cross = (dx - x) * (posts[:, 1] - y) - (dy - y) * (posts[:, 0] - x)
        assert cross == pytest.approx(np.zeros(6), abs=1e-6)


@pytest.mark.parametrize(
    ("head", "want"),
    [
        ({}, 8.0),
        ({"headstock.break_angle": 12}, 7.2),
        ({"headstock.break_angle": 12, "nut.slot_back_angle": 5}, 5.0),
        ({"headstock.posts": [[-60, 0, 20]] * 6}, 0.0),
    ],
)
def test_back_angle(head: dict[str, Any], want: float) -> None:
    nut = instrument(head).nut
    assert nut.back_angle_deg == pytest.approx(np.full(6, want))


def test_floors_drop_by_the_back_angle_along_the_slot_and_the_top_with_them() -> None:
    nut = instrument({**STEEP, "nut.slot_back_angle": 6.5}).nut
    length = nut.thickness / np.cos(np.radians(nut.direction_deg))
    assert (nut.floor - nut.floor_at_back) / length == pytest.approx(np.full(6, math.tan(math.radians(6.5))))
    top_drop = nut.thickness * math.tan(math.radians(nut.top_fall_deg))
    assert top_drop == pytest.approx(float((nut.floor - nut.floor_at_back).mean()))


def test_floor_at_back_is_over_a_curved_and_slanted_seat() -> None:
    flat = instrument({**STEEP}).nut
    nut = instrument({**STEEP, "nut.seat_radius": "board", "nut.seat_angle": 3}).nut
    x = nut.along + nut.thickness * np.tan(np.radians(nut.direction_deg))
    _, across = nut.plan_point(x, nut.thickness)
    seat = np.sqrt(300**2 - across**2) - 300 - nut.thickness * math.tan(math.radians(3))
    assert nut.floor_at_back == pytest.approx(flat.floor_at_back - seat, abs=1e-9)


# ---------------------------------------------------------------------------------------------------- compensation


def test_compensation_moves_the_witness_along_the_string() -> None:
    made = instrument({**STEEP, "nut.compensation": SHIFTS})
    plan, nut = made.plan, made.nut
    assert made.line.witness_x == pytest.approx(plan.string_nut[:, 0] + SHIFTS)
    leaves = np.stack([made.line.witness_x, plan.string_at(made.line.witness_x)], -1)
    edge = plan.string_nut[0] - plan.string_nut[-1]
    edge = edge / np.hypot(*edge)
    off = leaves - plan.string_nut
    assert nut.forward == pytest.approx(np.abs(off[:, 0] * edge[1] - off[:, 1] * edge[0]), abs=1e-9)
    assert nut.across == pytest.approx(plan.string_nut[:, 1])


def test_cutting_back_the_board_moves_its_end_to_the_foremost_edge() -> None:
    for board in ({}, FAN, {**FAN, "handedness": "left"}):
        changes = {**board, "nut.compensation": SHIFTS}
        shelf, cut = instrument(changes), instrument({**changes, "nut.compensation_by": "board"})
        assert shelf.board_outline == pytest.approx(shelf.plan.outline)
        assert shelf.nut.body_forward == 0
        assert cut.nut.body_forward == max(cut.nut.forward)
        point = cut.board_outline[0] - cut.plan.outline[0]
        edge = cut.plan.outline[3] - cut.plan.outline[0]
        moved = abs(point[0] * edge[1] - point[1] * edge[0]) / np.hypot(*edge)
        assert moved == pytest.approx(cut.nut.body_forward, abs=1e-9)
        for name in ("floor", "depth", "along"):
            assert getattr(cut.nut, name) == pytest.approx(getattr(shelf.nut, name))


def test_depth_is_from_the_falling_top_where_the_string_leaves() -> None:
    nut = instrument({"nut.compensation": SHIFTS}).nut
    top = nut.top.z(nut.along) + nut.forward * math.tan(math.radians(nut.top_fall_deg))
    assert nut.depth == pytest.approx(top - nut.floor)


# ---------------------------------------------------------------------------------------------------- spacing laws


@settings(max_examples=25, deadline=None)
@given(
    gauges=st.lists(st.floats(0.2, 1.4), min_size=3, max_size=8),
    extra=st.floats(0.01, 0.5),
    law=st.sampled_from(["equal_gap", "equal_centre", 0.4]),
)
def test_a_heavier_set_keeps_the_outer_sides(gauges: list[float], extra: float, law: Any) -> None:
    sides = []
    for more in (0.0, extra):
        made = instrument({**set_of([g + more for g in gauges]), "nut.spacing": law})
        y, half = made.nut.across, made.plan.gauges / 2
        sides.append((y[0] + half[0], y[-1] - half[-1]))
    assert sides[0] == pytest.approx(sides[1])
    assert sides[0] == pytest.approx((43 / 2 - 3.2, 3.4 - 43 / 2))


@settings(max_examples=15, deadline=None)
@given(gauge=st.floats(0.25, 1.2), count=st.integers(3, 8))
def test_equal_gauges_make_the_laws_agree(gauge: float, count: int) -> None:
    places = [instrument({**set_of([gauge] * count), "nut.spacing": law}).nut.along for law in (0, 0.5, 1)]
    assert places[0] == pytest.approx(places[1])
    assert places[0] == pytest.approx(places[2])


@pytest.mark.parametrize("count", [3, 4, 5, 7, 8])
def test_from_three_to_eight_strings(count: int) -> None:
    made = instrument(set_of([0.3] * count))
    assert len(made.nut.along) == count


def test_millimetres_and_inches_are_one() -> None:
    mm = {"nut.thickness": "3.429 mm", "nut.seat_depth": "2.032 mm", "nut.filing_allowance": "0.254 mm"}
    inch = {"nut.thickness": "0.135 in", "nut.seat_depth": "80 thou", "nut.filing_allowance": "1/100 in"}
    one, two = (instrument(changes).nut for changes in (mm, inch))
    assert (one.floor == two.floor).all()
    assert (one.floor_at_back == two.floor_at_back).all()
    assert one.top == two.top


# --------------------------------------------------------------------------------------------------- share in slot


@settings(max_examples=40, deadline=None)
@given(
    gauges=st.lists(st.floats(0.2, 1.4), min_size=3, max_size=8),
    wound=st.lists(st.booleans(), min_size=8, max_size=8),
    plain=st.floats(0.5, 1.1),
    heights=st.lists(st.floats(0.2, 0.8), min_size=8, max_size=8),
    flat=st.booleans(),
)
def test_every_share_is_allowed_or_told(
    gauges: list[float], wound: list[bool], plain: float, heights: list[float], flat: bool
) -> None:
    made = instrument(
        {
            **set_of(gauges, wound),
            "nut.string_depth": {"plain": plain, "wound": 0.55},
            "setup.first_fret_clearance": heights[: len(gauges)],
            **({"fingerboard.radius": "flat"} if flat else {}),
            "nut.top_allowance": 2.0,
        }
    )
    nut = made.nut
    told = [f.message for f in work_of(made).findings if f.code == "share-in-slot"]
    for n, share in enumerate(nut.share):
        inside = 0.5 - 1e-5 <= share <= 1.1 + 1e-5 and nut.depth[n] >= 0.25 - 1e-5
        assert inside or any(f"string {n + 1} (" in text for text in told), f"string {n + 1}: {share}"
    assert nut.top.straight or not flat, "a curved board may ask for so flat an arc that a line is as near"


def test_a_curved_board_may_have_a_straight_top() -> None:
    """Heights that lie in a line to within an arc of 30 m are filed straight; on a flat board the top always is."""
    nearly = {
        **set_of([0.75, 0.625, 0.75], [False] * 3),
        "nut.string_depth": {"plain": 0.5, "wound": 0.55},
        "setup.first_fret_clearance": [0.5, 0.203125, 0.71875],
        "nut.top_allowance": 2.0,
    }
    assert instrument(nearly).nut.top.straight
    assert not instrument({**nearly, "setup.first_fret_clearance": [0.5, 0.4, 0.5]}).nut.top.straight


@pytest.mark.parametrize("path", FLEET, ids=lambda p: p.stem)
def test_the_fleet_keeps_to_the_trade(path: Path) -> None:
    """Common practice, no source: ranges of nut slots, margins and angles by kind."""
    made = job.compute(str(path))[1].instrument
    nut, kind, wound = made.nut, made.spec.kind, np.array([s.wound for s in made.spec.strings.set])
    clearance = nut.width - made.plan.gauges
    assert ((clearance >= 0.02) & (clearance <= 0.08)).all(where=~wound)
    assert ((clearance >= 0.04) & (clearance <= (0.13 if kind == "bass" else 0.12))).all(where=wound)
    assert (nut.depth >= 0.25 - 1e-9).all()
    assert ((nut.back_angle_deg >= 3) & (nut.back_angle_deg <= 0.9 * nut.break_angle_deg)).all()
    assert (nut.back_angle_deg >= 0.5 * nut.break_angle_deg).all()
    assert (nut.break_angle_deg > 4).all()
    assert (nut.break_angle_deg < (20 if kind == "classical" else 17)).all()
    room = made.plan.taper.at_nut / 2 - np.abs(nut.across[[0, -1]]) - made.plan.gauges[[0, -1]] / 2
    if kind is not None:
        assert (room >= 2.5).all()
        assert (room <= (5.5 if kind == "classical" else 4.0)).all()


# ---------------------------------------------------------------------------------------------------------- tools


def test_the_file_is_the_widest_that_the_slot_admits() -> None:
    files = (0.25, 0.3, 0.33, 0.4)
    assert file_for(0.29, 0.34, False, files) == 0.33
    assert file_for(0.30, 0.30, False, files) == 0.30, "a file as wide as the string, where the spec asks for none"
    assert file_for(0.41, 0.46, False, files) is None
    assert file_for(0.29, 0.34, False, ()) is None


# common practice, no source: plain 0.02 to 0.08, wound 0.04 to 0.12 over the gauge
@pytest.mark.parametrize(("wound", "least", "most"), [(False, 0.02, 0.08), (True, 0.04, 0.12)])
def test_a_file_leaves_the_string_its_usual_room(wound: bool, least: float, most: float) -> None:
    gauge, width = 0.70, 0.70 + (least + most) / 2
    assert usual_clearance(wound) == (least, most)
    tight, low, high = gauge + least - 0.002, gauge + least + 0.002, gauge + most - 0.002
    over = gauge + most + 0.002
    assert file_for(gauge, width, wound, (tight, low)) == low
    assert file_for(gauge, width, wound, (tight, high)) == high, "rather wider than asked than tighter than usual"
    assert file_for(gauge, width, wound, (low, high)) == low
    assert file_for(gauge, width, wound, (tight, over)) == tight
    assert file_for(gauge, width, wound, (over,)) is None
    assert file_for(gauge, gauge + least / 2, wound, (gauge + least / 2,)) == gauge + least / 2, "as the spec asks"
    assert file_for(gauge, gauge + most + 0.05, wound, (over,)) == over, "as the spec asks"


def test_slot_forms_by_the_shop_s_cutters() -> None:
    balls = EndMill(shape="ball", diameter=1.0), EndMill(shape="ball", diameter=0.8)
    shop = Shop(end_mills=(*balls, EndMill(shape="flat", diameter=0.4), EndMill(shape="vee", angle=90)))
    width, deepest = np.array([0.3, 0.8, 0.9, 1.3]), np.array([0.9, 0.25, 1.0, 1.2])
    forms = slot_forms(shop, "auto", width, deepest)
    assert forms.cutter == (None, 0.8, 0.8, 1.0)
    assert forms.full_width == (False, True, True, True)
    depths = [pilot.depth for pilot in forms.pilots]
    # w/(2·tan 45°), at least 0.3, never more than the slot's own depth
    assert depths == pytest.approx([0.3, 0.25, 0.45, 0.65])
    assert [pilot.width for pilot in forms.pilots] == pytest.approx([2 * d for d in depths])
    assert slot_forms(shop, "full", width, deepest).full_width == (True,) * 4
    assert slot_forms(shop, "pilot", width, deepest).full_width == (False,) * 4
    unowned = slot_forms(Shop(), "auto", width, deepest).pilots[3]  # a 60° vee, common in any shop
    assert unowned.depth == pytest.approx(1.3 / (2 * math.tan(math.pi / 6)))


@settings(max_examples=25, deadline=None)
@given(top=st.floats(0.0, 1.5), left=st.floats(0.0, 0.8), angle=st.floats(20, 120))
def test_pilots_never_reach_the_floor(top: float, left: float, angle: float) -> None:
    shop = {"end_mills": [{"shape": "vee", "angle": angle}]}
    try:
        nut = instrument({"nut.top_allowance": top, "nut.filing_allowance": left}, shop).nut
    except SpecError as error:
        assert "only" in error.problems[0].message  # noqa: PT017 - too shallow to guide a file
        return
    for n, pilot in enumerate(nut.pilots):
        bottom = nut.floor[n] + nut.depth[n] + top - pilot.depth
        assert bottom >= nut.floor[n] + left - 1e-9
        assert pilot.depth >= 0.3 - 1e-9


# -------------------------------------------------------------------------------------------------------- problems


@pytest.mark.parametrize(
    ("changes", "key", "says"),
    [
        ({"nut.top_allowance": 0.0, "nut.filing_allowance": 0.2}, "nut.filing_allowance", "needs 0.3 mm to guide"),
        ({"nut.seat_depth": 0.1, "nut.slot_back_angle": 28}, "nut.seat_depth", "below its seat"),
        (
            {"headstock.posts": [[-20, y, -5] for y in (-20, 20, 5, -5, -10, -15)], "nut.slot_aim": "post"},
            "nut.slot_aim",
            "slots of strings 1 and 2 run into each other",
        ),
        (
            {"strings.courses": [[1, 2]], "nut.course_gap": 0.1, "nut.slot_clearance": {"plain": 0.2, "wound": 0.1}},
            "nut.spacing",
            "slots of strings 1 and 2 run into each other",
        ),
        (
            {
                "headstock.posts": [[-20, 60, -8], *([-60, y, -8] for y in (12, 5, -5, -12, -18))],
                "nut.slot_aim": "post",
            },
            "nut",
            "lets the treble outer slot run out through the end",
        ),
        ({"nut.seat_depth": 0, "fingerboard.radius": 60}, "nut.seat_depth", "the top meets the seat before them"),
        (
            {"setup.first_fret_clearance": -0.7, "nut.compensation": SHIFTS, "nut.min_slot_depth": 0.6},
            "nut.compensation",
            "needs slot floors above the board",
        ),
    ],
)
def test_problems(changes: dict[str, Any], key: str, says: str) -> None:
    with pytest.raises(SpecError) as caught:
        instrument(changes)
    assert any(".".join(map(str, p.key)) == key and says in p.message for p in caught.value.problems)


@pytest.mark.parametrize(("back", "thick"), [(3.0, 3.4), (2.5, 3.4)])
def test_a_front_edge_set_back_through_the_nut_is_a_problem(back: float, thick: float) -> None:
    """Best fit on a short scale with high strings asks for more than the nut is thick (a fuzzed spec)."""
    with pytest.raises(SpecError) as caught:
        instrument({"nut.compensation": [0, 0, -back, 0, 0, 0], "nut.thickness": thick, "nut.edge_rounding": 0.5})
    (problem,) = caught.value.problems
    assert problem.key == ("nut", "compensation")
    assert f"under string 3 {back:.2f} mm back, which leaves {thick - back:.2f} mm" in problem.message
    assert "1.00 mm is the least" in problem.message
    instrument({"nut.compensation": [0, 0, -2.3, 0, 0, 0], "nut.thickness": thick, "nut.edge_rounding": 0.5})
