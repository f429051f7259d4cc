"""The radius block's numbers against the circles they come from, worked out again here."""

from __future__ import annotations

import math
from typing import Any

import labelled
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from making import found, instrument, work_of

from templategen.geometry import radius_of, sagitta
from templategen.instrument.tools.block import Block, convex_radius, facets

CONE: dict[str, Any] = {
    "fingerboard.radius": None,
    "fingerboard.radius_at_nut": 254,
    "fingerboard.radius_at_last_fret": 406.4,
}


def block(changes: dict[str, Any]) -> Block:
    made = instrument(changes).block
    assert made is not None
    return made


# Circular segment (any handbook of formulas): r 10, c 12 → s 2; s 0.5, c 1.2 → r 0.61; the boards' rows are computed
# with 30 digits from r − √(r² − c²/4).
@pytest.mark.parametrize(
    ("radius", "chord", "height"),
    [(10, 12, 2), (0.61, 1.2, 0.5), (184.15, 42, 1.2013), (254, 42, 0.8696), (254, 56, 1.5480), (304.8, 56, 1.2888),
     (406.4, 56, 0.9657)],
)  # fmt: skip
def test_circular_segment(radius: float, chord: float, height: float) -> None:
    assert sagitta(radius, chord) == pytest.approx(height, abs=5e-5)
    assert radius_of(chord, sagitta(radius, chord)) == pytest.approx(radius, rel=1e-12)


def test_radius_is_the_board_plus_the_abrasive() -> None:
    # Asserted on the radius itself: the wrong sign would move the arc's height over 62 mm by 0.004 mm only.
    made = block({"radius_block.abrasive_thickness": 0.35})
    assert made.radius == pytest.approx(300.35, abs=1e-12)
    assert made.board_radius == made.work_radius == 300


def test_on_crowns_their_height_comes_on_top() -> None:
    made = block({"radius_block.rides_on": "crowns", "radius_block.abrasive_thickness": 0.35})
    assert made.work_radius == pytest.approx(301.1, abs=1e-12)
    assert made.radius == pytest.approx(301.45, abs=1e-12)


CONVEX: dict[str, Any] = {"radius_block.face": "convex"}


def test_convex_tools_take_the_abrasive_off() -> None:
    assert convex_radius(300, 0.35) == pytest.approx(299.65)
    with pytest.raises(ValueError, match="abrasive"):
        convex_radius(0.3, 0.35)
    made = instrument(CONVEX | {"radius_block.abrasive_thickness": 0.35, "radius_block.width": 62})
    told = labelled.numbers(work_of(made))["radius_block"]
    assert made.block is not None
    assert made.block.convex
    assert made.block.radius == told["block_radius"] == pytest.approx(299.65, abs=1e-12)
    assert (told["face"], told["board_radius"]) == ("convex", 300)
    assert told["profile_depth"] == pytest.approx(299.65 - math.sqrt(299.65**2 - 31**2), abs=1e-9)
    assert made.block.side_height == pytest.approx(32 - told["profile_depth"])


def test_left_to_itself_a_block_is_wider_than_the_board() -> None:
    """43 at the nut, 55 at the last fret 449.7 from it, 8 mm of board beyond: 55.21 at the end."""
    last = 640 * (1 - 2 ** (-21 / 12))
    widest = 43 + 12 * (last + 8) / last
    for changes in ({}, {"radius_block.rides_on": "crowns"}, {"fingerboard.radius": "flat"}):
        made = block(changes)
        assert (made.width, made.board_width) == pytest.approx((widest + 2, widest))
    low = block({"radius_block.height": 5.0, "fingerboard.radius": 184.15, "radius_block.abrasive_thickness": 0})
    assert low.width == pytest.approx(2 * math.sqrt(184.15**2 - 182.15**2)), "3 mm of back under an arc 2 mm high"
    assert block({"radius_block.width": 40}).width == 40


def test_a_block_narrower_than_the_board_is_to_decide() -> None:
    """Full strokes along the centreline would leave the edges; a cone's block is used at its station alone."""
    (told,) = found(instrument({"radius_block.width": 55.2}), "block-narrower-than-board")
    assert (told.level, told.key) == ("decide", "radius_block.width")
    assert told.message.startswith("The block is 55.20 mm (2.173 in) wide and the board up to 55.21 mm (2.174 in)")
    at_nut = CONE | {"radius_block.at": "nut", "radius_block.length": 150}
    at_150 = 43 + 12 * 150 / (640 * (1 - 2 ** (-21 / 12)))
    for fine in ({}, {"radius_block.width": 55.22}, CONVEX | {"radius_block.width": 40},
                 at_nut | {"radius_block.width": at_150 + 0.01}):  # fmt: skip
        assert not found(instrument(fine), "block-narrower-than-board"), fine
    assert found(instrument(at_nut | {"radius_block.width": at_150 - 0.01}), "block-narrower-than-board")


@settings(max_examples=20, deadline=None)
@given(st.floats(0, 2), st.floats(0.01, 2), st.floats(120, 900))
def test_thicker_abrasive_smaller_convex_radius_by_as_much(thin: float, more: float, radius: float) -> None:
    one, other = (
        block(CONVEX | {"fingerboard.radius": radius, "nut.edge_rounding": 0, "radius_block.abrasive_thickness": paper})
        for paper in (thin, thin + more)
    )
    assert one.radius - other.radius == pytest.approx(more, abs=1e-9)
    assert one.radius == pytest.approx(radius - thin, abs=1e-9)


def test_a_flat_board_s_block_is_flat_whatever_its_face() -> None:
    made = instrument(CONVEX | {"fingerboard.radius": "flat"})
    assert made.block is not None
    assert made.block.flat
    assert not made.block.convex
    (told,) = found(made, "key-changes-nothing")
    assert told.message == "radius_block.face changes nothing: the board is flat, and so is its block."


def test_convex_block_in_a_hollow_made_to_a_cone() -> None:
    """Signs turn round: where the cone's hollow is flatter than the block, the gap is at the edges."""
    asked = CONE | {"radius_block.at": 7, "radius_block.length": 120}
    hollow, convex = block(asked), instrument(asked | CONVEX)
    assert convex.block is not None
    assert convex.block.mismatch == tuple(-gap for gap in hollow.mismatch)
    assert convex.block.mismatch[0] < 0 < convex.block.mismatch[1]  # the far end is flatter
    (told,) = found(convex, "block-off-cone")
    assert "fits a hollow made to the cone at fret 7 only" in told.message
    assert "straight beam" not in told.message
    assert told.level == "note"


@settings(max_examples=20, deadline=None)
@given(st.floats(0, 2), st.floats(0.01, 2), st.sampled_from(["board", "crowns"]))
def test_thicker_abrasive_larger_radius_by_as_much(thin: float, more: float, rides_on: str) -> None:
    one, other = (
        block({"radius_block.rides_on": rides_on, "radius_block.abrasive_thickness": paper})
        for paper in (thin, thin + more)
    )
    assert other.radius - one.radius == pytest.approx(more, abs=1e-9)


def test_flat_board_has_a_flat_block() -> None:
    made = block({"fingerboard.radius": "flat"})
    assert made.flat
    assert made.profile_depth == 0
    assert made.mismatch == (0, 0)


def test_cone_without_a_station_has_no_block_and_says_so() -> None:
    made = instrument(CONE)
    assert made.block is None
    assert len(found(made, "block-needs-station")) == 1


@pytest.mark.parametrize(("at", "rides_on"), [("nut", "board"), (7, "board"), ("last", "crowns")])
def test_mismatch_at_the_ends_of_a_block_on_a_cone(at: str | int, rides_on: str) -> None:
    made = instrument(CONE | {"radius_block.at": at, "radius_block.rides_on": rides_on, "radius_block.length": 120})
    told = made.block
    assert told is not None
    last = float(made.plan.centre_x[-1])
    station = {"nut": 0.0, "last": last}.get(str(at)) if isinstance(at, str) else 640 * (1 - 2 ** (-at / 12))
    assert station is not None
    start = min(max(station - 60, 0), last + 8 - 120)
    assert told.ends_x == pytest.approx((start, start + 120))
    crown = 1.1 if rides_on == "crowns" else 0.0

    def work(x: float) -> float:
        return 254 + (406.4 - 254) * x / last + crown

    for x, gap in zip(told.ends_x, told.mismatch, strict=True):
        half = (43 + 12 * x / last) / 2
        y = np.linspace(-half, half, 2001)
        over_work = np.sqrt(work(x) ** 2 - y**2) - work(x)
        over_block = np.sqrt(work(station) ** 2 - y**2) - work(station)
        between = over_block - over_work  # crowns touching
        assert abs(gap) == pytest.approx(np.ptp(between), abs=1e-9)
        assert np.sign(gap) == np.sign(between[0]) or gap == 0


def test_mismatch_is_a_finding_with_both_numbers() -> None:
    made = instrument(CONE | {"radius_block.at": 7, "radius_block.length": 120})
    (finding,) = found(made, "block-off-cone")
    assert made.block is not None
    for gap in made.block.mismatch:
        assert f"{abs(gap):.3f} mm" in finding.message
    assert finding.level == "decide"
    short = instrument(CONE | {"radius_block.at": 7, "radius_block.length": 20})
    assert found(short, "block-off-cone")[0].level == "note"
    assert not found(instrument({}), "block-off-cone")


def test_ribs() -> None:
    made = block({"radius_block.rib_thickness": 6.2, "radius_block.length": 150})
    assert made.ribs is not None
    assert (made.ribs.count, made.ribs.stack_length) == (25, pytest.approx(155.0))
    exact = block({"radius_block.rib_thickness": 6, "radius_block.length": 150}).ribs
    assert exact is not None
    assert (exact.count, exact.stack_length) == (25, pytest.approx(150))
    thin = block({"radius_block.rib_thickness": 6, "radius_block.height": 6}).ribs
    assert thin is not None
    assert thin.holes == ()


def test_facets_are_tangents_of_the_cone() -> None:
    made = instrument(CONE)
    strips = facets(made.plan, made.board)
    last = float(made.plan.centre_x[-1])
    for k, x in enumerate((0.0, last)):
        radius = (254, 406.4)[k]
        y = made.plan.string_at(x)
        assert strips.drop[:, k] == pytest.approx(radius - np.sqrt(radius**2 - y**2), abs=1e-9)
        assert strips.width[:, k].sum() == pytest.approx((43, 55)[k], abs=1e-9)
        slope = y / np.sqrt(radius**2 - y**2)
        assert np.tan(np.radians(strips.tilt_deg[:, k])) == pytest.approx(slope, abs=1e-12)


def test_facets_meet_midway_and_ridges_stand_proud() -> None:
    made = instrument(CONE)
    strips, plan = facets(made.plan, made.board), made.plan
    y, radius = plan.string_at(0.0), 254.0
    inner = np.abs(np.diff((y[1:] + y[:-1]) / 2))
    assert strips.width[1:-1, 0] == pytest.approx(inner, abs=1e-9)
    reach = strips.width[2, 0] / 2
    assert strips.ridge[2, 0] == pytest.approx(reach**2 / (2 * radius), rel=0.1)
    assert (strips.ridge > 0).all()


def test_cone_matched_to_the_strings_has_no_twisted_facets() -> None:
    """R₁/R₀ = spread₁/spread₀ (reference: 254, 35 → 52 gives 377.371): every strip keeps its tilt."""
    spread = instrument({"nut.edge_margin": None, "nut.string_spread": 35})
    at_last = float(np.ptp(spread.plan.crossings[-1, :, 1]))
    matched = CONE | {"fingerboard.radius_at_last_fret": 254 * at_last / 35}
    made = instrument(matched | {"nut.edge_margin": None, "nut.string_spread": 35, "nut.spacing": "equal_centre"})
    strips = facets(made.plan, made.board)
    assert strips.tilt_deg[:, 0] == pytest.approx(strips.tilt_deg[:, 1], abs=1e-9)
    assert math.isclose(254 * 52 / 35, 377.371, abs_tol=5e-4)
