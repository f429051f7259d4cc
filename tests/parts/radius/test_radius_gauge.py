"""Gauges, cauls, nesting and kerf: cut files read back, outlines judged by shapely."""

from __future__ import annotations

import math
from typing import Any

import labelled
import numpy as np
import pytest
from ezdxf.math import bulge_to_arc
from hypothesis import given, settings
from hypothesis import strategies as st
from making import FAN, found, instrument, work_of
from overlapping import lie_over
from probing import faces
from reading import modelspace, of_size, polygon
from shapely import Point, Polygon

from templategen.drawing.model import Arc, Box, Outline, Text
from templategen.errors import OurBug
from templategen.instrument.model import Instrument
from templategen.instrument.tools.gauges import stations, string_arc
from templategen.parts.board import notched_strip
from templategen.parts.common.nesting import nest
from templategen.parts.common.product import Body, Sheet
from templategen.parts.radius import press_caul, radius_gauge

CONE: dict[str, Any] = {
    "fingerboard.radius": None,
    "fingerboard.radius_at_nut": 254,
    "fingerboard.radius_at_last_fret": 406.4,
}


def radii(sheet: Sheet) -> list[float]:
    arcs = []
    for outline in modelspace(sheet.drawing).query("LWPOLYLINE[layer=='OUTLINE']"):
        assert outline.closed
        corners = list(outline.get_points("xyb"))
        for n, (x, y, bulge) in enumerate(corners):
            if bulge:
                arcs.append(bulge_to_arc((x, y), corners[(n + 1) % len(corners)][:2], bulge)[3])
    return arcs


def gauge_sheets(made: Instrument) -> list[Sheet]:
    return of_size(radius_gauge.make(work_of(made)), made.shop.beam_kerf)


# ------------------------------------------------------------------------------------------------------------ gauges


def test_arcs_of_a_cone_s_gauges_with_the_kerf_off() -> None:
    made = instrument(CONE)
    arcs = [r for sheet in gauge_sheets(made) for r in radii(sheet)]
    kerf = made.shop.beam_kerf / 2
    assert kerf == 0.06
    want = [string_arc(made).radius + kerf]
    want += [station.radius + side * kerf for station in stations(made) for side in (1, -1)]
    # A tooth's arc is 6 mm long: the file's 1e-6 mm of rounding is 1e-4 mm of its radius.
    nearest = [min(want, key=lambda w, r=r: abs(w - r)) for r in arcs]
    assert arcs == pytest.approx(nearest, abs=2e-4)
    assert set(nearest) == set(want)


@pytest.mark.parametrize(("at", "side"), [(310, "over"), (500, "under")])
@pytest.mark.parametrize("changes", [{}, FAN, {"handedness": "left"}])
def test_string_gauge_where_the_spec_wants_it(at: float, side: str, changes: dict[str, Any]) -> None:
    """Over the board its hollow edge lies on the strings, elsewhere its round edge meets them from below; the strings
    as circles, the gauge as a polygon."""
    made = instrument(changes | {"radius_gauge.string_arc_at": at}, {"beam_kerf": 0})
    arc = string_arc(made)
    (sheet,) = gauge_sheets(made)
    assert any(abs(r - arc.radius) < 1e-5 for r in radii(sheet))
    assert any(f"{side} the strings {at} mm from the nut" in note for note in sheet.drawing.notes)
    piece = radius_gauge.string_gauge(made, arc)
    gauge = polygon(piece.outline, 4000)
    assert gauge.is_valid
    assert gauge.exterior.is_ccw
    words = [t.text for t in piece.engraved if isinstance(t, Text)]
    assert f"{side} strings, {at} mm from nut" in words
    assert words[-2:] == (["T", "B"] if changes == {"handedness": "left"} else ["B", "T"])
    middle = made.line.z(float(at)) + made.plan.gauges / 2
    low = float((made.line.z(float(at)) + (made.plan.gauges if side == "over" else 0)).min())
    for y, z, thick in zip(made.plan.string_at(float(at)), middle - low, made.plan.gauges, strict=True):
        string = Point(y, z).buffer(thick / 2, 256)
        assert gauge.distance(string) <= arc.worst + 1e-3
        assert (string.centroid.y > gauge.centroid.y) == (side == "under")
        assert gauge.intersection(string).area < 0.05
    if side == "under":
        assert gauge.bounds[3] - gauge.bounds[1] < 11  # there is no more room between strings and top


def test_without_a_beam_the_finished_size() -> None:
    made = instrument({}, {"beam_kerf": 0})
    (sheet,) = gauge_sheets(made)
    assert {round(r, 5) for r in radii(sheet)} == {300, round(string_arc(made).radius, 5)}
    assert "no kerf taken off" in sheet.drawing.notes[0]


def test_flat_board_has_the_straightedge_alone() -> None:
    (sheet,) = gauge_sheets(instrument({"fingerboard.radius": "flat"}))
    assert radii(sheet) == []
    assert len(modelspace(sheet.drawing).query("LWPOLYLINE[layer=='OUTLINE']")) == 1


@pytest.mark.parametrize("changes", [{}, CONE, FAN, {"handedness": "left"}])
def test_concave_gauge_lies_on_the_board_and_clears_the_strings(changes: dict[str, Any]) -> None:
    made = instrument(changes)
    for station in stations(made):
        gauge = polygon(radius_gauge.concave(made, station).outline)
        assert gauge.is_valid
        assert gauge.exterior.is_ccw
        y = np.linspace(-1, 1, 801) * station.width / 2
        board = Polygon([(-40, -20), *np.stack([y, made.board.z(station.x, y)], -1).tolist(), (40, -20)])
        assert gauge.intersection(board).area < 0.02
        assert gauge.distance(board) < 1e-3
        under = made.line.z(station.x) + float(made.strung.sag(station.x))
        across = made.plan.string_at(station.x)
        for at, z, thick in zip(across, under, made.plan.gauges, strict=True):
            string = Polygon(
                [(at + thick / 2 * math.cos(t), z + thick / 2 * (1 + math.sin(t))) for t in np.linspace(0, 6.28, 60)]
            )
            assert gauge.distance(string) > 0.9


def test_pairs_fit_each_other() -> None:
    made = instrument({})
    (station,) = stations(made)
    hollow = polygon(radius_gauge.concave(made, station).outline)
    rounded = polygon(radius_gauge.convex(station).outline)
    assert hollow.intersection(rounded).area < 0.02
    assert hollow.distance(rounded) < 1e-3


def test_engraved_in_both_units() -> None:
    made = instrument({"fingerboard.radius": "12 in"})
    (station,) = stations(made)
    words = [t.text for t in radius_gauge.convex(station).engraved if isinstance(t, Text)]
    assert words[0] == "R 304.80 mm  12.000 in"


@pytest.mark.parametrize(
    "changes", [{}, CONE, FAN, {"fingerboard.radius": "flat"}, {"radius_gauge.string_arc_at": 310}]
)
def test_engraving_stays_within_its_piece(changes: dict[str, Any]) -> None:
    from templategen.drawing.model import text_corners

    for piece in radius_gauge.gauges(instrument(changes)):
        whole = polygon(piece.outline)
        texts = [shape for shape in piece.engraved if isinstance(shape, Text)]
        assert texts
        boxes = [Polygon(text_corners(text)) for text in texts]
        assert all(whole.contains(box) for box in boxes)
        assert all(not a.overlaps(b) for n, a in enumerate(boxes) for b in boxes[:n])


# -------------------------------------------------------------------------------------------------------------- caul


def test_caul_is_a_share_of_the_board_s_radius() -> None:
    made = instrument({"press_caul.radius_share": 0.9})
    sheet, _, solid = press_caul.make(work_of(made))
    assert isinstance(sheet, Sheet)
    assert isinstance(solid, Body)
    assert radii(sheet) == [pytest.approx(270, abs=1e-6)]
    (built,) = press_caul.solids(made)
    assert [f.radius for f in faces(built) if f.kind == "cylinder"] == [pytest.approx(270, abs=1e-9)]
    assert built.extent.high[0] - built.extent.low[0] > made.frets.wire_cut.max()
    assert any("press" in line.lower() for line in sheet.drawing.cautions)


def test_caul_default_share_and_cones() -> None:
    sheet, *_ = press_caul.make(work_of(instrument({})))
    assert isinstance(sheet, Sheet)
    assert radii(sheet) == [pytest.approx(285, abs=1e-6)]
    cone = instrument(CONE)
    sheet, _, solid = press_caul.make(work_of(cone))
    assert isinstance(sheet, Sheet)
    assert isinstance(solid, Body)
    assert radii(sheet) == [pytest.approx(0.95 * station.radius, abs=1e-6) for station in stations(cone)]
    assert len(press_caul.solids(cone)) == len(stations(cone))


def test_flat_caul() -> None:
    sheet, _, solid = press_caul.make(work_of(instrument({"fingerboard.radius": "flat"})))
    assert isinstance(sheet, Sheet)
    assert isinstance(solid, Body)
    assert radii(sheet) == []
    (built,) = press_caul.solids(instrument({"fingerboard.radius": "flat"}))
    assert {f.kind for f in faces(built)} == {"plane"}


# ---------------------------------------------------------------------------------------------------- kerf, nesting


@settings(max_examples=50, deadline=None)
@given(st.floats(60, 900), st.floats(0.02, 0.4), st.sampled_from([1, -1]))
def test_offset_is_shapely_s_buffer_with_sharp_corners(radius: float, by: float, side: int) -> None:
    made = Outline(
        ((-20, 0), (20, 0), (20, 10), (12, 10), (12, 14), (-12, 14), (-20, 10)),
        (0, 0, 0, 0, side * math.tan(math.asin(12 / radius) / 2), 0, 0),
    )
    got = polygon(made.offset(by), 2000)
    want = polygon(made, 2000).buffer(by, join_style="mitre", mitre_limit=20)
    assert got.symmetric_difference(want).area < 1e-3
    back = made.offset(by).offset(-by)
    for (x0, y0), (x1, y1) in zip(made.points, back.points, strict=True):
        assert math.hypot(x1 - x0, y1 - y0) < 1e-9


def test_offset_keeps_arcs_on_their_centre() -> None:
    bulge = math.tan(math.asin(12 / 300) / 2)
    made = Outline(((-12, 0), (12, 0), (12, 10), (-12, 10)), (0, 0, -bulge, 0))
    arc, moved = made.piece(2), made.offset(0.06).piece(2)
    assert isinstance(arc, Arc)
    assert isinstance(moved, Arc)
    assert moved.centre == pytest.approx(arc.centre)
    assert moved.radius == pytest.approx(300 - 0.06)


def test_an_arc_that_vanishes_is_our_bug() -> None:
    made = Outline(((-1, 0), (1, 0), (1, 3), (-1, 3)), (0, 0, -1.0, 0))
    with pytest.raises(OurBug):
        made.offset(2.0)


@settings(max_examples=40, deadline=None)
@given(st.lists(st.tuples(st.floats(3, 250), st.floats(3, 150)), min_size=1, max_size=25))
def test_nested_boxes_keep_apart_and_on_the_sheet(sizes: list[tuple[float, float]]) -> None:
    boxes = [Box(-w / 3, 7, -w / 3 + w, 7 + h) for w, h in sizes]
    laid = nest(boxes, (300, 200))
    assert sorted(place.piece for sheet in laid for place in sheet) == list(range(len(boxes)))
    for sheet in laid:
        put = []
        for place in sheet:
            b = boxes[place.piece]
            low = (-b.y1, b.x0, -b.y0, b.x1) if place.turned else (b.x0, b.y0, b.x1, b.y1)
            put.append(Box(low[0] + place.dx, low[1] + place.dy, low[2] + place.dx, low[3] + place.dy))
        for n, one in enumerate(put):
            assert one.x0 >= 5 - 1e-9
            assert one.y0 >= 5 - 1e-9
            if len(sheet) > 1:
                assert one.x1 <= 295 + 1e-6
                assert one.y1 <= 195 + 1e-6
            assert not any(lie_over(one.grown(2.99), other) for other in put[n + 1 :])


def test_a_piece_larger_than_the_sheet_lies_alone_and_is_told() -> None:
    made = instrument({}, {"sheet": {"width": 300, "height": 200}})
    (told,) = found(made, "gauge-beyond-sheet")
    assert (told.level, told.key) == ("note", "shop.sheet")
    assert told.message == (
        "The notched straightedge (457.2 x 30.0 mm, 18.00 x 1.18 in) does not fit on the shop's sheet (300.0 x "
        "200.0 mm, 11.81 x 7.87 in), 5 mm of it kept free along each edge: each such piece has a file of its own. Cut "
        "it from a longer piece of stock, or name a larger shop.sheet."
    )
    sheets = gauge_sheets(made)
    assert len(sheets) == 2
    assert "larger than the shop's 300 x 200 mm" in " ".join(sheets[-1].drawing.notes)
    assert len(modelspace(sheets[-1].drawing).query("LWPOLYLINE[layer=='OUTLINE']")) == 1


def test_a_sheet_just_large_enough_is_no_finding() -> None:
    """The straightedge, 457.2 + 0.12 of kerf, and 5 mm on both sides."""
    for width, count in ((467.3, 1), (467.4, 0)):
        assert len(found(instrument({}, {"sheet": {"width": width, "height": 200}}), "gauge-beyond-sheet")) == count
    assert not found(instrument({}), "gauge-beyond-sheet")  # no sheet named, nothing to judge by
    assert "larger than 600 x 400 mm" in " ".join(gauge_sheets(instrument(LONG))[-1].drawing.notes)


LONG: dict[str, Any] = {"scale.length": 800, "scale.fret_count": 24}


@pytest.mark.parametrize(("asked", "level"), [({}, "note"), ({"notched_strip.pin": 2.0}, "decide")])
def test_a_strip_longer_than_the_sheet_is_found(asked: dict[str, Any], level: str) -> None:
    shop = {"sheet": {"width": 600, "height": 400}}
    made = instrument(LONG | asked, shop)
    (told,) = found(made, "strip-beyond-sheet")
    assert told.level == level
    (strip,) = notched_strip.strips(made)
    assert told.message.startswith(f"The notched strip ({strip.end - strip.start:.1f} x 45.0 mm, ")
    (both,) = found(instrument(FAN | asked | {"scale.bass": 800, "scale.treble": 780}, shop), "strip-beyond-sheet")
    assert "The notched strip bass (" in both.message
    assert " and the notched strip treble (" in both.message
    assert " do not fit" in both.message
    assert not found(instrument(asked, shop), "strip-beyond-sheet")


def test_ribs_larger_than_the_sheet_are_found() -> None:
    ribs = {"radius_block.rib_thickness": 6, "radius_block.width": 62}
    small = {"sheet": {"width": 60, "height": 60}}
    (told,) = found(instrument(ribs, small), "rib-beyond-sheet")
    assert told.level == "decide"
    assert told.message.startswith("A rib of the radius block (62.0 x 32.0 mm, 2.44 x 1.26 in) does not fit on the ")
    assert "each of the 25 ribs" in told.message
    assert not found(instrument({}, small), "rib-beyond-sheet")
    assert not found(instrument(ribs, {"sheet": {"width": 80, "height": 60}}), "rib-beyond-sheet")


def test_findings_of_parts_are_in_numbers_json() -> None:
    made = instrument({}, {"sheet": {"width": 300, "height": 200}})
    codes = [told["code"] for told in labelled.numbers(work_of(made))["findings"]]
    assert codes == [told.code for told in work_of(made).findings]
    assert "gauge-beyond-sheet" in codes


def test_a_string_beside_the_board_needs_no_notch() -> None:
    """A bridge much wider than the board (a fuzzed spec): the outer strings leave it, and the gauge keeps its corners,
    in one simple contour."""
    wide = {"fingerboard.width_at_last_fret": 43, "bridge.string_spread": 72, "fingerboard.blind_slot_inset": 1.2}
    made = instrument(wide)
    last = stations(made)[-1]
    assert abs(float(made.plan.string_at(last.x)[0])) > last.width / 2
    piece = radius_gauge.concave(made, last)
    assert polygon(piece.outline).is_valid
    x = [point[0] for point in piece.outline.points]
    assert (min(x), max(x)) == pytest.approx((-last.width / 2, last.width / 2))
    edge = [z for y, z in piece.outline.points if y == pytest.approx(last.width / 2)]
    assert min(edge) == pytest.approx(-(300 - math.sqrt(300**2 - (last.width / 2) ** 2)))
