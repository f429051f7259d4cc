"""The re-radius plan against boards sampled point by point with numpy, and against other libraries."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from making import FAN, found, instrument, work_of
from numpy.typing import NDArray
from scipy.integrate import dblquad
from scipy.optimize import linprog
from shapely import Polygon, contains_xy

from templategen.instrument.board.sanding import area_and_centroid, least_tilt, shortfall, whole_shortfall
from templategen.instrument.board.surfaces import RadiusLaw
from templategen.instrument.model import Instrument
from templategen.parts.repair import reradius as sheet
from templategen.repair.reradius import Removal, Reradius, measurement
from templategen.repair.survey.before import with_before
from templategen.tables import reradius as tables

Array = NDArray[np.float64]

# The board of the reference table: 42.5 → 56 wide, no wood past the last fret.
REFERENCE: dict[str, Any] = {
    "fingerboard.width_at_nut": 42.5,
    "fingerboard.width_at_last_fret": 56,
    "fingerboard.beyond_last_fret": 0,
}


def removal(plan: Reradius, way: Removal, x: Any, y: Any) -> Any:
    """Depth taken at plan points."""
    return way.crown(x) - shortfall(plan.before, plan.wanted, x, y)


def wanted(radius: float | tuple[float, float] | str) -> dict[str, Any]:
    return _surface("fingerboard", radius)


def before(radius: float | tuple[float, float] | str, **more: float) -> dict[str, Any]:
    return _surface("fingerboard.before", radius) | {f"fingerboard.before.{key}": v for key, v in more.items()}


def _surface(table: str, radius: float | tuple[float, float] | str) -> dict[str, Any]:
    if isinstance(radius, tuple):
        return {
            f"{table}.radius": None,
            f"{table}.radius_at_nut": radius[0],
            f"{table}.radius_at_last_fret": radius[1],
        }
    return {f"{table}.radius": radius}


def planned(changes: dict[str, Any]) -> tuple[Instrument, Reradius]:
    made = instrument(changes)
    assert work_of(made).bench.reradius is not None
    return made, work_of(made).bench.reradius


# ------------------------------------------------------------------------------------------------ second computation


def sampled(made: Instrument, old: Any, new: Any) -> tuple[Array, Array, Array]:
    """Points of the board (x, y) on a fine grid, and by how much the new surface stands over the old one, both crown
    lines at z = 0; written from the circles alone."""
    corners = np.asarray(made.plan.outline)
    last = float(made.plan.centre_x[-1])
    across = np.linspace(-1, 1, 401)
    grid = np.linspace(0, 1, 801)
    bass = corners[0] + grid[:, None] * (corners[1] - corners[0])
    treble = corners[3] + grid[:, None] * (corners[2] - corners[3])
    middle, half = (bass + treble) / 2, (treble - bass) / 2
    x = middle[:, None, 0] + across * half[:, None, 0]
    y = middle[:, None, 1] + across * half[:, None, 1]

    def height(radius: Any) -> Array:
        if radius == "flat":
            return np.zeros_like(x)
        r = radius if isinstance(radius, (int, float)) else radius[0] + (radius[1] - radius[0]) * x / last
        return np.sqrt(r * r - y * y) - r

    return x, y, height(new) - height(old)


CASES = {
    "cylinder to flatter": (184.15, 304.8),
    "cylinder to rounder": (400.0, 254.0),
    "cylinder to cone": (241.3, (254.0, 406.4)),
    "cone to cylinder": ((254.0, 406.4), 304.8),
    "flat to cylinder": ("flat", 300.0),
    "cylinder to flat": (300.0, "flat"),
    "cone to a reverse cone": ((254.0, 406.4), (406.4, 254.0)),
}


@pytest.mark.parametrize("old_new", CASES.values(), ids=CASES)
@pytest.mark.parametrize("shape", [{}, FAN], ids=["square frets", "slanted frets"])
def test_least_removal_against_sampled_surfaces(old_new: tuple[Any, Any], shape: dict[str, Any]) -> None:
    old, new = old_new
    made, plan = planned(shape | wanted(new) | before(old))
    x, y, stands = sampled(made, old, new)
    lowered = max(stands.max(), 0.0)
    way = plan.parallel
    assert way.start == pytest.approx(lowered, abs=1e-4)
    assert way.tilt == 0
    taken = removal(plan, way, x, y)
    np.testing.assert_allclose(taken, way.start - stands, atol=1e-9)
    assert taken.min() == pytest.approx(0, abs=1e-4)
    assert taken.min() >= -1e-9
    assert way.largest == pytest.approx((lowered - stands).max(), abs=1e-3)


@pytest.mark.parametrize("old_new", CASES.values(), ids=CASES)
@pytest.mark.parametrize("shape", [{}, FAN], ids=["square frets", "slanted frets"])
def test_tilted_crown_line_against_a_linear_programme(old_new: tuple[Any, Any], shape: dict[str, Any]) -> None:
    """Least c₀ + t·x̄ with c₀ + t·x ≥ g at every sample: solved again by a simplex."""
    old, new = old_new
    made, plan = planned(shape | wanted(new) | before(old))
    x, y, stands = sampled(made, old, new)
    centroid = Polygon(np.asarray(made.plan.outline)).centroid.x
    keep = np.zeros(x.shape, bool)
    keep[::10, ::10] = keep[:, [0, -1]] = keep[[0, -1], :] = True
    lines = -np.stack([np.ones(keep.sum()), x[keep]], -1)
    best = linprog([1, centroid], lines, -stands[keep], bounds=[(None, None), (None, None)])
    way = plan.tilted
    assert way.start + way.tilt * centroid == pytest.approx(best.fun, abs=1e-3)
    taken = removal(plan, way, x, y)
    assert taken.min() >= -1e-9
    assert taken.min() == pytest.approx(0, abs=1e-3)
    assert way.volume <= plan.parallel.volume + 1e-6


@pytest.mark.parametrize("old_new", CASES.values(), ids=CASES)
def test_volume_against_integration(old_new: tuple[Any, Any]) -> None:
    old, new = old_new
    made, plan = planned(wanted(new) | before(old))
    (x0, _), (x1, _) = made.plan.outline[0], made.plan.outline[1]
    for way in plan.ways:
        volume, _ = dblquad(
            lambda y, x, way=way: float(removal(plan, way, x, y)),
            float(x0),
            float(x1),
            lambda x: -(43 + 12 * x / made.plan.centre_x[-1]) / 2,
            lambda x: (43 + 12 * x / made.plan.centre_x[-1]) / 2,
            epsabs=1e-4,
        )
        assert way.volume == pytest.approx(volume, abs=1e-2)


def test_volume_on_slanted_ends_against_counted_points() -> None:
    """A million points over the box, those in the outline counted (shapely)."""
    made, plan = planned(FAN | {"scale.square_fret": 0} | wanted(304.8) | before(184.15))
    outline = Polygon(np.asarray(made.plan.outline))
    x0, y0, x1, y1 = outline.bounds
    x, y = np.meshgrid(*(lo + (hi - lo) * (np.arange(1000) + 0.5) / 1000 for lo, hi in ((x0, x1), (y0, y1))))
    inside = contains_xy(outline, x, y)
    cell = (x1 - x0) * (y1 - y0) / 1e6
    for way in plan.ways:
        assert way.volume == pytest.approx(removal(plan, way, x, y)[inside].sum() * cell, rel=2e-4)
    assert plan.area == pytest.approx(outline.area, rel=1e-12)


# ------------------------------------------------------------------------------------------------------ known numbers


def test_reference_case() -> None:
    """184.15 → 304.8 mm on a board 42.5 → 56 wide: the centre loses 0.85, the edges 0.36 at the nut and 0 at the last
    fret (computed; README of the trade figures, section 7)."""
    _, plan = planned(REFERENCE | wanted(304.8) | before(184.15))
    way = plan.parallel
    assert way.centre == pytest.approx(0.8523, abs=5e-5)
    assert way.edge[0] == pytest.approx(0.3638, abs=5e-5)
    assert way.edge[-1] == pytest.approx(0, abs=1e-9)
    assert way.at[1] == 0
    tilted = plan.tilted
    assert tilted.edge[0] == pytest.approx(0, abs=1e-9)
    assert tilted.edge[-1] == pytest.approx(0, abs=1e-9)
    assert tilted.centre[0] == pytest.approx(0.8523 - 0.3638, abs=1e-4)


def test_rounder_boards_keep_their_crown() -> None:
    _, plan = planned(wanted(254) | before(400))
    assert plan.parallel.start == plan.tilted.start == 0
    assert plan.parallel.centre == pytest.approx(0, abs=1e-12)
    assert plan.parallel.largest == pytest.approx(float(plan.parallel.edge.max()), abs=0.03)
    assert abs(plan.parallel.at[1]) > 27


@settings(max_examples=15, deadline=None)
@given(st.floats(150, 900), st.floats(36, 50), st.floats(0, 14))
def test_same_radius_removes_nothing(radius: float, width: float, wider: float) -> None:
    _, plan = planned(
        wanted(radius) | before(radius)
        | {"fingerboard.width_at_nut": width, "fingerboard.width_at_last_fret": width + wider, "nut.edge_rounding": 0}
    )  # fmt: skip
    for way in plan.ways:
        assert way.largest == pytest.approx(0, abs=1e-12)
        assert way.volume == pytest.approx(0, abs=1e-6)
        assert way.tilt == pytest.approx(0, abs=1e-12)


@settings(max_examples=25, deadline=None)
@given(*[st.floats(150, 900)] * 4, st.booleans())
def test_never_negative_and_zero_somewhere(a: float, b: float, c: float, d: float, fan: bool) -> None:
    made, plan = planned((FAN if fan else {}) | wanted((a, b)) | before((c, d)))
    x, y, _ = sampled(made, (c, d), (a, b))
    for way in plan.ways:
        taken = removal(plan, way, x, y)
        assert taken.min() >= -1e-9
        assert taken.min() < 2e-4
    assert plan.tilted.volume <= plan.parallel.volume + 1e-6


# ------------------------------------------------------------------------------------- thickness, slots, nut, strings


def test_thickness_and_slots_left() -> None:
    made, plan = planned(REFERENCE | wanted(304.8) | before(184.15, slot_depth=2.4, thickness_at_edge=4.6))
    way = plan.parallel
    drop_before = 184.15 - math.sqrt(184.15**2 - 21.25**2)
    assert plan.thickness_before == pytest.approx(4.6 + drop_before)
    assert way.thickness_centre[0] == pytest.approx(4.6 + drop_before - way.start)
    assert way.thickness_edge[0] == pytest.approx(4.6 - way.edge[0])
    # concentric floors: what is sanded off is gone from the slot
    assert way.slot_left_centre == pytest.approx(2.4 - way.centre[1:])
    assert way.slot_left_edge == pytest.approx(2.4 - way.edge[1:])
    lacking = made.spec.fret_wire.slot_depth - (2.4 - way.start)
    assert way.recut == pytest.approx(lacking)
    assert plan.depth_stop == pytest.approx(made.spec.fret_wire.slot_depth)
    (finding,) = found(made, "reradius-recut-slots")
    assert "21 of 21" in finding.message
    assert f"{lacking:.2f} mm" in finding.message


def test_level_floors_are_deeper_in_the_middle() -> None:
    made, plan = planned(REFERENCE | wanted(304.8) | before(184.15, slot_depth=1.9) | {"fret_wire.slot_floor": "flat"})
    way = plan.parallel
    for n, width in enumerate(made.frets.width):
        drop = 184.15 - math.sqrt(184.15**2 - width**2 / 4)
        assert way.slot_left_centre[n] == pytest.approx(1.9 + drop - way.start, abs=1e-9)
    assert plan.depth_stop == pytest.approx(made.frets.depth_stop_flat)
    assert way.recut[-1] == 0
    assert way.recut[0] > 0


@pytest.mark.parametrize(("lacking", "told"), [(0.009, False), (0.011, True)])
def test_a_depth_gauge_tells_a_hundredth_of_a_millimetre(lacking: float, told: bool) -> None:
    """Slots that lack less are left alone (common practice, no source)."""
    _, plan = planned(REFERENCE | wanted(304.8) | before(184.15, slot_depth=3.0))
    deep = plan.slot_needed + plan.parallel.start - lacking
    _, plan = planned(REFERENCE | wanted(304.8) | before(184.15, slot_depth=deep))
    assert plan.parallel.recut.any() == told


def test_deep_slots_need_no_saw() -> None:
    made, plan = planned(REFERENCE | wanted(304.8) | before(184.15, slot_depth=3.0))
    assert not plan.parallel.recut.any()
    assert not found(made, "reradius-recut-slots")


def test_thin_board_is_found() -> None:
    thin = instrument(REFERENCE | wanted(304.8) | before(184.15, thickness_at_edge=2.6))
    (finding,) = found(thin, "reradius-thin-board")
    assert finding.level == "decide"
    plan = work_of(thin).bench.reradius
    assert plan is not None
    left = float((plan.parallel.thickness_edge[1:] - plan.slot_needed).min())
    assert f"{left:.2f} mm is left" in finding.message
    thick = instrument(REFERENCE | wanted(304.8) | before(184.15, thickness_at_edge=4.6))
    assert not found(thick, "reradius-thin-board")


GLUED: dict[str, Any] = {"fingerboard.thickness": None}


@pytest.mark.parametrize("old_new", CASES.values(), ids=CASES)
@pytest.mark.parametrize("shape", [{}, FAN], ids=["square frets", "slanted frets"])
def test_without_its_own_thickness_the_board_is_what_sanding_leaves(
    old_new: tuple[Any, Any], shape: dict[str, Any]
) -> None:
    """Measured at the nut's edge, raised by the former round there, less what the sampled surfaces lose."""
    old, new = old_new
    made, plan = planned(shape | GLUED | wanted(new) | before(old, thickness_at_edge=6.4))
    _, _, stands = sampled(made, old, new)
    nut = old[0] if isinstance(old, tuple) else old
    round_at_nut = 0.0 if nut == "flat" else nut - math.sqrt(nut**2 - 21.5**2)
    assert plan.thickness_before == pytest.approx(6.4 + round_at_nut, abs=1e-9)
    assert made.board.thickness == pytest.approx(6.4 + round_at_nut - max(stands.max(), 0.0), abs=1e-4)
    assert made.board.thickness == pytest.approx(plan.parallel.thickness_centre[0])
    drop = made.board.thickness + made.board.z(*np.stack([made.plan.bass_ends, made.plan.treble_ends]).T)
    assert made.frets.wood_under_slot_at_edge == pytest.approx(drop.min(-1) - 1.9, abs=1e-9)
    assert not found(made, "reradius-thickness")


def test_a_shelf_s_seat_is_the_finished_board_s() -> None:
    made, _ = planned(
        GLUED | wanted(304.8) | before(184.15, thickness_at_edge=6.4) | {"nut.seat": "shelf", "nut.seat_depth": None}
    )
    assert made.nut.seat_depth == made.board.thickness
    (told,) = found(made, "reradius-nut-seat")
    assert "a nut that fits now stands" in told.message


@pytest.mark.parametrize("key", ["thickness", "thickness_at_edge"])
def test_a_thickness_that_sanding_does_not_leave_is_found(key: str) -> None:
    board = GLUED | REFERENCE | wanted(304.8) | before(184.15, thickness_at_edge=6.0)
    left = instrument(board).board.thickness - (0 if key == "thickness" else 304.8 - math.sqrt(304.8**2 - 21.25**2))
    assert not found(instrument(board | {f"fingerboard.{key}": left + 0.09}), "reradius-thickness")
    made = instrument(board | {f"fingerboard.{key}": left + 0.5})
    (told,) = found(made, "reradius-thickness")
    assert (told.level, told.key) == ("decide", f"fingerboard.{key}")
    taken, where = (0.85, "at the centreline") if key == "thickness" else (0.36, "at the nut's edge")
    assert told.message == (
        f"fingerboard.{key} makes the finished board {left + 0.5:.2f} mm thick {where}, but what was measured before, "
        f"less the {taken} mm taken there, leaves {left:.2f} mm. All but the re-radius plan is made for "
        f"{left + 0.5:.2f} mm: wood under the slots, the board's solid, a shelf's seat. Leave fingerboard.{key} out "
        "and have fingerboard.before.thickness_at_edge: the board is then what sanding leaves."
    )
    assert work_of(made).bench.reradius is not None
    assert work_of(made).bench.reradius.parallel.thickness_centre[0] == pytest.approx(instrument(board).board.thickness)


@pytest.mark.parametrize(("key", "value", "taken"), [("thickness", 6.2, 0.8523), ("thickness_at_edge", 5.4, 0.3638)])
def test_a_single_thickness_is_the_finished_board_s_and_told(key: str, value: float, taken: float) -> None:
    made, plan = planned(GLUED | REFERENCE | wanted(304.8) | before(184.15) | {f"fingerboard.{key}": value})
    way = plan.parallel
    assert not plan.thickness_measured
    assert (way.thickness_centre if key == "thickness" else way.thickness_edge)[0] == pytest.approx(value, abs=1e-9)
    assert way.thickness_centre == pytest.approx(made.board.thickness)
    assert plan.thickness_before == pytest.approx(made.board.thickness + 0.8523, abs=1e-4)
    (told,) = found(made, "reradius-thickness")
    assert f"{value:.2f} mm at the" in told.message
    assert f"from {value + taken:.2f} mm before sanding" in told.message
    assert f"{value - taken:.2f} mm will be left" in told.message
    thinner = instrument(GLUED | REFERENCE | wanted(304.8) | {f"fingerboard.{key}": value - taken})
    assert f"and {thinner.frets.wood_under_slot_at_edge.min():.2f} mm of wood" in told.message
    assert not found(instrument(wanted(254) | before(400)), "reradius-thickness")  # the crown loses nothing


def test_nut_seat_is_found() -> None:
    made = instrument(REFERENCE | wanted(304.8) | before(184.15))
    (finding,) = found(made, "reradius-nut-seat")
    assert "0.85 mm" in finding.message
    assert "1.15 mm deep after" in finding.message
    assert not found(instrument(wanted(254) | before(400)), "reradius-nut-seat")


def test_lowering_both_ends_restores_clearance_and_action() -> None:
    """The former crowns stand higher by what is taken; a string brought down at both ends has its heights again."""
    made, plan = planned(FAN | wanted(304.8) | before(184.15))
    for way in plan.ways:
        for n in range(6):
            x0, xs = made.plan.string_nut[n, 0], made.plan.string_saddle[n, 0]
            for fret in (1, 12):
                x, y = made.plan.crossings[fret - 1, n]
                share = (x - x0) / (xs - x0)
                came_down = way.lower_nut[n] * (1 - share) + way.lower_saddle[n] * share
                assert came_down == pytest.approx(float(removal(plan, way, x, y)), abs=1e-9)
                assert way.at_strings[fret, n] == pytest.approx(came_down, abs=1e-9)


def test_no_plan_without_a_board_before() -> None:
    made = instrument({})
    assert work_of(made).bench.reradius is None
    assert not found(made, "reradius-removal")


# --------------------------------------------------------------------------------------------------------- measuring


def test_radius_from_chord_and_height_with_its_error() -> None:
    """r = s/2 + c²/(8s); to first order a gauge error δ moves it by (1/2 − c²/(8s²))·δ."""
    made, plan = planned({"fingerboard.before.chord": 42, "fingerboard.before.height": 1.2013} | wanted(304.8))
    told = plan.measured
    assert told is not None
    assert told.given
    assert told.radius == pytest.approx(184.15, abs=0.01)
    assert plan.before.at_nut == told.radius
    slope = 0.5 - 42**2 / (8 * 1.2013**2)
    assert (told.radius_if_higher - told.radius_if_lower) / 0.04 == pytest.approx(slope, rel=1e-3)
    assert told.radius_if_lower - told.radius > 3
    assert told.radius_if_wider - told.radius == pytest.approx(0.02 * 42 / (4 * 1.2013), rel=1e-3)
    assert len(found(made, "reradius-measured")) == 1


def test_a_height_within_the_error_may_be_flat() -> None:
    assert math.isinf(measurement(42, 0.015).radius_if_lower)


# ------------------------------------------------------------------------------------------------------------- parts


def test_least_tilt_is_the_hull_over_the_centroid() -> None:
    x = np.array([0.0, 1, 2, 3, 4])
    assert least_tilt(x, np.array([0.0, 3, 4, 3, 0]), 0.5) == pytest.approx(3)
    assert least_tilt(x, np.array([2.0, 0, 0, 0, 4]), 2.0) == pytest.approx(0.5)


def test_area_centroid_and_shortfall_of_a_rectangle() -> None:
    corners = np.array([[0.0, -20], [100, -20], [100, 20], [0, 20]])
    assert area_and_centroid(corners) == (4000, 50)

    def under(r: float) -> float:  # ∫(r − √(r² − y²)) over |y| ≤ 20
        return 40 * r - (20 * math.sqrt(r * r - 400) + r * r * math.asin(20 / r))

    whole = whole_shortfall(RadiusLaw(184.15, 0), RadiusLaw(304.8, 0), corners)
    assert whole == pytest.approx(100 * (under(184.15) - under(304.8)), rel=1e-9)


def test_edge_is_the_one_that_loses_more() -> None:
    _, plan = planned(FAN | wanted(304.8) | before(184.15))
    way: Removal = plan.parallel
    assert (way.edge >= way.bass_edge).all()
    assert (way.edge >= way.treble_edge).all()


# ------------------------------------------------------------------------------------------- hollows and old crowns


def played_grid(made: Instrument) -> tuple[Array, Array]:
    """Between the outer strings, nut to last fret."""
    plan = made.plan
    last = float(plan.centre_x[-1])
    x = np.linspace(0.0, last, 201)[:, None]
    run = x / float(plan.string_saddle[0, 0])
    edges = [plan.string_nut[n, 1] + run * (plan.string_saddle[n, 1] - plan.string_nut[n, 1]) for n in (-1, 0)]
    y = edges[0] + (edges[1] - edges[0]) * np.linspace(0, 1, 101)[None, :]
    return np.broadcast_to(x, y.shape), y


@pytest.mark.parametrize(("old", "new"), [(184.15, 304.8), (304.8, 184.15), ((200.0, 300.0), 254.0)])
def test_hollows_are_taken_out_wherever_strings_wear(old: Any, new: Any) -> None:
    """Everywhere between the outer strings at least their depth goes, at one place no more; 12 to 7.25 in took 0.00 on
    the centreline before."""
    aside = {"nut.edge_margin": {"bass": 2.5, "treble": 4.5}, "bridge.offset": -1.5}  # the bass string lies farther out
    changes = {**REFERENCE, **wanted(new), **aside}
    made, plan = planned({**changes, **before(old, wear_depth=0.4)})
    _, unworn = planned({**changes, **before(old, wear_depth=0.0)})
    x, y = played_grid(made)
    for way, plain in zip(plan.ways, unworn.ways, strict=True):
        taken = removal(plan, way, x, y)
        assert taken.min() == pytest.approx(0.4, abs=2e-4)
        assert way.largest >= plain.largest - 1e-9
        assert way.volume > plain.volume
    assert plan.parallel.start - unworn.parallel.start <= 0.4 + 1e-9
    assert plan.thickness_before - plan.parallel.thickness_centre[0] == pytest.approx(plan.parallel.start)
    outline = np.asarray(made.plan.outline)
    sides = np.concatenate([np.linspace(a, b, 400) for a, b in zip(outline, np.roll(outline, -1, 0), strict=True)])
    at = np.concatenate([x.ravel(), sides[:, 0]])
    need = np.concatenate([
        (shortfall(plan.before, plan.wanted, x, y) + 0.4).ravel(),
        shortfall(plan.before, plan.wanted, sides[:, 0], sides[:, 1]),
    ])  # fmt: skip
    centroid = area_and_centroid(outline)[1]
    best = linprog([1.0, centroid], A_ub=-np.stack([np.ones_like(at), at], 1), b_ub=-need, bounds=(None, None))
    least = plan.tilted.start + plan.tilted.tilt * centroid
    assert least == pytest.approx(best.fun, abs=3e-4), "the way that takes the least wood"
    if (old, new) == (304.8, 184.15):
        assert unworn.parallel.start == pytest.approx(0.0, abs=1e-9)
        assert plan.parallel.start == pytest.approx(0.4)
        assert len(unworn.distinct) == 1, "one column where two could not differ"
        assert [column.key for column in tables.ways(made, unworn).columns[:2]] == ["way", "at_nut"]
        assert tables.ways(made, unworn)["at_nut"].values == (0.0,)


def test_a_board_that_nobody_looked_at_for_hollows() -> None:
    changes = {**REFERENCE, **wanted(304.8), **before(184.15)}
    made, plan = planned(changes)
    again, looked = planned({**changes, "fingerboard.before.wear_depth": 0.0})
    assert plan.parallel.start == looked.parallel.start
    (told,) = found(made, "reradius-hollows")
    assert (told.level, told.key) == ("decide", "fingerboard.before.wear_depth")
    assert not found(again, "reradius-hollows")
    assert all(tables.stations(plan)["parallel_centre"].estimated)
    assert not any(tables.stations(looked)["parallel_centre"].estimated)
    assert all(tables.of_way(plan, plan.parallel)["parallel_edge"].estimated)
    assert not any(tables.of_way(looked, looked.parallel)["parallel_edge"].estimated)
    said = " ".join(sheet.text(made, plan)), " ".join(sheet.text(again, looked))
    assert "est.: reckoned without hollows" in said[0]
    assert "No hollows before" in said[1]


def test_hollows_and_crowns_of_a_survey() -> None:
    """The deepest hollow that was read, the mean of the crowns; what the spec says itself stands."""
    readings = {3: SimpleNamespace(value=0.1), 5: SimpleNamespace(value=0.4), 7: SimpleNamespace(value=0.2)}
    board = SimpleNamespace(slot_depth={}, thickness={}, wear_depth=readings, round=None)
    found_so: Any = SimpleNamespace(board=board, crowns=SimpleNamespace(height=np.array([[0.8, np.nan], [1.0, 0.9]])))
    spec = instrument({**REFERENCE, **wanted(304.8), **before(184.15)}).spec
    taken = with_before(spec, found_so).fingerboard.before
    assert taken is not None
    assert (taken.wear_depth, taken.crown_height) == pytest.approx((0.4, 0.9))
    own = instrument({**REFERENCE, **wanted(304.8), **before(184.15, wear_depth=0.0)}).spec
    kept = with_before(own, found_so).fingerboard.before
    assert kept is not None
    assert kept.wear_depth == 0.0


def test_old_crowns_lower_than_the_new_take_as_much_off_what_the_action_gains() -> None:
    changes = {**REFERENCE, **wanted(304.8), **before(184.15, wear_depth=0.0)}
    made, plan = planned(changes)
    again, worn = planned({**changes, "fingerboard.before.crown_height": 0.8})
    for way, low in zip(plan.ways, worn.ways, strict=True):
        for name in ("at_action", "lower_nut", "lower_saddle"):
            assert getattr(low, name) == pytest.approx(getattr(way, name) - 0.3), name
        assert low.centre == pytest.approx(way.centre)
    (taken,) = found(made, "reradius-action")
    (told,) = found(again, "reradius-action")
    assert (taken.level, told.level) == ("decide", "note")
    assert "old crowns as high as the new ones, 1.10 mm" in taken.message
    assert told.message.endswith("restores it, new crowns being +0.30 mm higher than the old.")
    assert all(tables.under_strings(made, plan)["parallel_lower_nut"].estimated)
    assert not any(tables.under_strings(again, worn)["parallel_lower_nut"].estimated)
    assert "Old crowns 0.80 mm (0.031 in) high, new 1.10 mm" in " ".join(sheet.text(again, worn))
