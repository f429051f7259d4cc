"""Strips for an indexing pin, read back from the cut files by shapely."""

from __future__ import annotations

import io
from typing import Any

import ezdxf
import numpy as np
import pytest
from ezdxf.path import make_path
from making import FAN, found, instrument, work_of
from overlapping import overlaps
from shapely import Point, Polygon, box

from templategen.drawing.model import Text
from templategen.instrument.model import Instrument
from templategen.parts.board import notched_strip
from templategen.parts.common.product import Sheet
from templategen.writers import dxf

STRIP: dict[str, Any] = {"pin": 2.0, "pin_clearance": 0.03, "notch_depth": 5, "width": 45}


def sheets(made: Instrument, kind: str = "cut") -> dict[str, Sheet]:
    found = {}
    for product in notched_strip.make(work_of(made)):
        assert isinstance(product, Sheet)
        beam = kind == "cut" and made.shop.beam_kerf > 0
        if product.drawing.kind == kind and product.stem.endswith("-beam") == beam:
            found[product.stem.removesuffix("-beam")] = product
    return found


def cut(sheet: Sheet) -> tuple[Polygon, list[Any]]:
    """The strip's contour and everything else in the file."""
    document = ezdxf.read(io.StringIO(dxf.encode(sheet.drawing).decode()))
    assert document.audit().errors == []
    space = document.modelspace()
    assert {e.dxf.layer for e in space} <= {"OUTLINE", "HOLE", "ENGRAVE"}
    assert {e.dxftype() for e in space} <= {"LWPOLYLINE", "CIRCLE", "LINE"}
    (contour,) = space.query("LWPOLYLINE[layer=='OUTLINE']")
    assert contour.closed
    polygon = Polygon([(x, y) for x, y, *_ in contour.get_points()])
    assert polygon.is_valid
    return polygon, [e for e in space if e is not contour]


def notches(strip: Polygon) -> list[Polygon]:
    """What is missing from the strip's bounding box, left to right; slivers of rounding dropped."""
    missing = box(*strip.bounds).difference(strip)
    missing = missing.buffer(-1e-5, join_style="mitre").buffer(1e-5, join_style="mitre")
    return sorted(missing.geoms, key=lambda part: part.centroid.x)


@pytest.mark.parametrize("kerf", [0.0, 0.12])
def test_notches_are_where_the_slots_are(kerf: float) -> None:
    made = instrument({"notched_strip": STRIP}, {"beam_kerf": kerf})
    ((_, sheet),) = sheets(made).items()
    strip, _ = cut(sheet)
    finished = strip.buffer(-kerf / 2, join_style="mitre")
    parts = notches(finished)
    assert len(parts) == 22
    for part, x in zip(parts, [0.0, *made.plan.centre_x], strict=True):
        x0, y0, x1, y1 = part.bounds
        assert ((x0 + x1) / 2, x1 - x0, y1 - y0) == pytest.approx((x, 2.03, 5), abs=2e-6)
    assert finished.bounds[3] - finished.bounds[1] == pytest.approx(45, abs=2e-6)


def test_saw_offset_moves_the_notches_against_the_blade() -> None:
    """With the pin in a notch the blade stands at notch + offset: that must be the slot."""
    made = instrument({"notched_strip": STRIP | {"saw_offset": 3.5}}, {"beam_kerf": 0})
    ((_, sheet),) = sheets(made).items()
    centres = [part.centroid.x for part in notches(cut(sheet)[0])]
    assert np.array(centres) + 3.5 == pytest.approx([0.0, *made.plan.centre_x], abs=1e-6)
    assert "3.50 mm (0.138 in) from the pin's, toward the bridge" in " ".join(sheet.drawing.notes)


@pytest.mark.parametrize("handedness", ["right", "left"])
def test_a_fanned_board_has_a_strip_for_each_edge(handedness: str) -> None:
    """Distances along the edge, from the nut's corner, by shapely's projection; angles by the slots' direction."""
    made = instrument({**FAN, "handedness": handedness, "notched_strip": STRIP}, {"beam_kerf": 0})
    found = sheets(made)
    assert list(found) == ["notched-strip-bass", "notched-strip-treble"]
    for stem, ends, (near, far), strip in zip(
        found, (made.plan.bass_ends, made.plan.treble_ends), ((0, 1), (3, 2)), made.notches, strict=True
    ):
        nut, end = made.plan.outline[near], made.plan.outline[far]
        want = [0.0, *(Point(nut).distance(Point(p)) for p in ends)]
        assert [part.centroid.x for part in notches(cut(found[stem])[0])] == pytest.approx(want, abs=1e-6)
        along = (end - nut) / np.hypot(*(end - nut))
        square = np.array([-along[1], along[0]]) * made.side
        run = made.plan.treble_ends - made.plan.bass_ends
        turn = np.degrees(np.arctan2(run @ along, run @ square))
        assert strip.turn_deg[1:] == pytest.approx(turn)


def test_the_notched_edge_looks_outward() -> None:
    made = instrument({**FAN, "notched_strip": STRIP})
    up = {strip.name: strip.up for strip in notched_strip.strips(made)}
    assert up == {"notched-strip-bass": -1.0, "notched-strip-treble": 1.0}
    left = instrument({**FAN, "handedness": "left", "notched_strip": STRIP})
    assert {s.name: s.up for s in notched_strip.strips(left)} == {k: -v for k, v in up.items()}


def test_zero_fret_has_its_notch_and_so_has_the_nut_end() -> None:
    made = instrument({"scale.zero_fret": True, "nut.behind_zero_fret": 5, "notched_strip": STRIP})
    (side,) = made.notches
    assert side.labels[:3] == ("nut", "0", "1")
    assert side.at[:2].tolist() == [0, 5]


def test_engraved_which_edge_goes_to_the_pin_and_the_numbers() -> None:
    made = instrument({"notched_strip": STRIP})
    ((_, sheet),) = sheets(made).items()
    texts = [s.text for s in sheet.drawing.layer("ENGRAVE").shapes if isinstance(s, Text)]
    assert "THE NOTCHED EDGE GOES TO THE PIN" in texts
    assert [t for t in texts if t.isdigit()] == [str(n) for n in range(1, 22)]
    assert any(made.digest[:12] in t for t in texts)
    strip, rest = cut(sheet)
    for stroke in (e for e in rest if e.dxf.layer == "ENGRAVE"):
        assert all(strip.contains(Point(spot.x, spot.y)) for spot in make_path(stroke).control_vertices())
    (hole,) = [e for e in rest if e.dxftype() == "CIRCLE"]
    assert strip.buffer(-3).contains(Point(hole.dxf.center.x, hole.dxf.center.y).buffer(hole.dxf.radius))


def test_a_thin_web_is_found() -> None:
    changes = {"scale.fret_count": 24, "notched_strip": STRIP | {"pin": 8.5}, "fret_wire.crown_width": 2.0}
    made = instrument(changes)
    gap = float(np.diff(made.plan.centre_x).min())
    (told,) = found(made, "thin-web")
    assert told.level == "decide"
    assert f"{gap - 8.53:.2f} mm is left between the notches of fret 23 and fret 24" in told.message
    assert sheets(made)
    none = instrument({**changes, "notched_strip": STRIP | {"pin": 10}})
    assert "no strip is drawn" in found(none, "thin-web")[0].message
    assert not sheets(none)
    assert not found(instrument({"notched_strip": STRIP}), "thin-web")


@pytest.mark.parametrize(
    "changes",
    [
        {},
        {**FAN, "handedness": "left"},
        {"scale.fret_count": 36, "notched_strip": STRIP | {"width": 20}},
        {"scale.fret_count": 72, "scale.steps_per_octave": 36},
        {"scale.length": 330, "scale.fret_count": 15, "fret_wire.markers": [5, 7, 10]},
        {"notched_strip": STRIP | {"width": 12, "notch_depth": 10}},
    ],
)
def test_no_label_lies_over_a_line_or_a_label(changes: dict[str, Any]) -> None:
    made = instrument({"fret_wire.crown_width": 1.5, **changes})
    for kind in ("cut", "drawing"):
        for sheet in sheets(made, kind).values():
            assert overlaps(sheet.drawing) == []


def test_the_drawing_lists_every_notch_from_the_nut_end() -> None:
    made = instrument({**FAN, "notched_strip": STRIP})
    drawing = sheets(made, "drawing")["notched-strip-bass"].drawing
    texts = {s.text for layer in drawing.layers for s in layer.shapes if isinstance(s, Text)}
    for x in made.notches[0].at:
        assert f"{x:.2f}" in texts
