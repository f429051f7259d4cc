"""The fret template: slots read back from DXF and SVG, what is written on it, and that it stays legible."""

from __future__ import annotations

import csv
import io
import math
from fractions import Fraction
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import ezdxf
import labelled
import numpy as np
import pytest
from making import FAN, instrument, work_of
from overlapping import overlaps
from places import ROOT

from templategen import job
from templategen.drawing.model import Circle, Drawing, Line, Text
from templategen.drawing.paper.pages import paginate
from templategen.drawing.paper.sizes import PAPERS
from templategen.instrument.model import Instrument, build
from templategen.parts.board import fret_template, notched_strip, slot_outline, slot_path
from templategen.parts.common.product import Sheet
from templategen.parts.sheet import tables
from templategen.tables import frets
from templategen.writers import dxf, svg
from templategen.writers.register import Setting, encode

DATA = ROOT / "tests" / "data"
SPECS = sorted((ROOT / "specs").glob("fleet-*.toml"))
DENSE: dict[str, Any] = {
    "scale.fret_count": 100,
    "scale.steps_per_octave": 72,
    "scale.zero_fret": True,
    "fret_wire.crown_width": 1.5,
    "fingerboard.blind_slot_inset": 1.5,
}


def texts(drawing: Drawing) -> list[Text]:
    return [s for layer in drawing.layers for s in layer.shapes if isinstance(s, Text)]


def said(drawing: Drawing) -> list[str]:
    return [text.text for text in texts(drawing)]


@pytest.mark.parametrize(("column", "length"), [("650", 650), ("647.7", 647.7), ("330.2", 330.2)])
def test_published_positions_in_the_dxf(column: str, length: float) -> None:
    """fret-positions.csv (computed with mpmath, see its head), read back by ezdxf: 1e-6 is what DXF is rounded to."""
    lines = (DATA / "fret-positions.csv").read_text().splitlines()
    published = [float(row[column]) for row in csv.DictReader(x for x in lines if not x.startswith("#"))]
    made = instrument({"scale.length": length, "scale.fret_count": 24, "fret_wire.crown_width": 1.2})
    document = ezdxf.read(io.StringIO(dxf.encode(fret_template.draw(made)).decode("cp1252")))
    assert document.audit().errors == []
    assert document.units == 4
    slots = document.modelspace().query('LINE[layer=="SLOT_CENTRE"]')
    assert len(slots) == 24
    for slot, x in zip(slots, published, strict=True):
        assert slot.dxf.start.x == pytest.approx(x, abs=1e-6)
        assert slot.dxf.end.x == pytest.approx(x, abs=1e-6)


@pytest.mark.parametrize("changes", [FAN, {**FAN, "handedness": "left", "fingerboard.blind_slot_inset": 2}])
def test_slanted_slots_in_dxf_and_svg(changes: dict[str, Any]) -> None:
    made = instrument(changes)
    drawing = fret_template.draw(made)
    want = np.hstack([made.plan.slot_bass_ends, made.plan.slot_treble_ends])
    space = ezdxf.read(io.StringIO(dxf.encode(drawing).decode("cp1252"))).modelspace()
    lines = [line.dxf for line in space.query('LINE[layer=="SLOT_CENTRE"]')]
    assert np.allclose([[x.start.x, x.start.y, x.end.x, x.end.y] for x in lines], want, rtol=0, atol=1e-6)
    root = ElementTree.fromstring(svg.encode(drawing))
    group = next(g for g in root.iter("{http://www.w3.org/2000/svg}g") if g.get("id") == "SLOT_CENTRE")
    found = np.array([[float(line.get(k, "")) for k in ("x1", "y1", "x2", "y2")] for line in group])
    left, top = math.floor(drawing.bounds().x0 - 5), math.ceil(drawing.bounds().y1 + 5)
    assert np.allclose(found * [1, -1, 1, -1] + [left, top, left, top], want, rtol=0, atol=2e-6)


def test_what_is_written_on_it() -> None:
    made = instrument()
    drawing = fret_template.draw(made)
    words = said(drawing)
    for n, x in enumerate(made.plan.centre_x, 1):
        assert str(n) in words
        assert f"{x:.2f}" in words
    assert "Loan fleet: test board" in words
    assert made.trace in words
    assert "made" in made.trace
    assert made.digest[:12] in made.trace
    f = made.frets
    cells = labelled.of_table(frets.depth_stops(made))
    assert [f"{head}, mm" for head in ("at the nut", "fret 21")] == [head for _, head in cells if head.endswith("mm")]
    assert all(cell in words for cell in cells.values())
    least = f"{f.wood_under_slot_at_edge.min():.2f} mm"
    assert any(text.startswith("Least wood left under a slot") and least in text for text in words)
    assert {"CHECK_RULER", "NUT_FRONT", "STRING", "CENTRELINE"} <= {layer.name for layer in drawing.layers}
    assert len(drawing.layer("STRING").shapes) == 6


def test_never_from_fret_to_fret() -> None:
    """A distance that is not from the nut, or from the nut end along an edge, is not on the sheet."""
    made = instrument()
    words = said(fret_template.draw(made))
    for gap in made.frets.from_previous[1:]:
        assert f"{gap:.2f}" not in words


def test_markers_single_and_doubled_before_their_fret() -> None:
    made = instrument({"fret_wire.markers": [1, 5], "fret_wire.doubled_markers": [12]})
    circles = [s for s in fret_template.draw(made).layer("POSITION_MARKER").shapes if isinstance(s, Circle)]
    x = [0.0, *made.plan.centre_x]
    quarter = float(made.plan.taper.width((x[11] + x[12]) / 2)) / 4
    want = [((x[0] + x[1]) / 2, 0), ((x[4] + x[5]) / 2, 0), *(((x[11] + x[12]) / 2, y) for y in (-quarter, quarter))]
    assert [c.centre for c in circles] == [pytest.approx(p) for p in want]
    assert {c.radius for c in circles} == {3.0}


def test_a_fanned_board_lists_distances_along_both_edges() -> None:
    made = instrument(FAN)
    words = said(fret_template.draw(made))
    nut = made.plan.outline
    for corner, ends in ((nut[0], made.plan.bass_ends), (nut[3], made.plan.treble_ends)):
        for point in ends:
            assert f"{math.dist(corner, point):.2f}" in words


@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize("board", [{}, FAN])
def test_the_nut_end_says_which_side_is_which(board: dict[str, Any], hand: str) -> None:
    """String 1 is the treble outer string by the spec's order, so its number and "treble side" lie on one side."""
    made = instrument({**board, "handedness": hand})
    at = {t.text: t.at for t in texts(fret_template.draw(made)) if t.angle_deg == 0 and -20 < t.at[0] < 0}
    way = 1 if hand == "right" else -1
    assert at["treble side"][1] * way > at["1"][1] * way > at["6"][1] * way > at["bass side"][1] * way
    for n, y in enumerate(made.plan.string_nut[:, 1], 1):
        assert at[str(n)][1] == pytest.approx(y, abs=2)


@pytest.mark.parametrize("hand", ["right", "left"])
def test_figures_at_a_slanted_slot_are_of_the_edge_they_stand_at(hand: str) -> None:
    made = instrument({**FAN, "handedness": hand})
    drawing = fret_template.draw(made)
    top = max(y for _, y in made.board_outline)
    upright = [t for t in texts(drawing) if t.angle_deg == 90 and not t.text.startswith("nut")]
    nut, plan = plan_corners(made), made.plan
    for side, ends in (("bass", plan.bass_ends), ("treble", plan.treble_ends)):
        above = ends[0][1] > 0
        want = [f"{math.dist(nut[side], end):.2f}" for end in ends]
        assert [t.text for t in upright if (t.at[1] > top) == above] == want
    assert any("corner on that edge" in note for note in drawing.notes)


def plan_corners(made: Instrument) -> dict[str, Any]:
    return {"bass": made.board_outline[0], "treble": made.board_outline[3]}


def test_every_distance_and_depth_stop_in_both_units() -> None:
    made = instrument()
    words = said(fret_template.draw(made))
    for mm in made.plan.centre_x:
        assert f"{mm:.2f}" in words
        assert f"{mm / 25.4:.3f}" in words
    assert f"{made.frets.slot_depth[-1] / 25.4:.3f}" in words


@pytest.mark.parametrize(
    ("changes", "way", "other"),
    [
        ({}, "sawn after radiusing", "sawn before radiusing"),
        ({"fret_wire.slot_floor": "flat"}, "sawn before radiusing", "sawn after radiusing"),
        ({"fingerboard.radius": "flat"}, "all slots, a flat board", "radiusing"),
    ],
)
def test_the_depth_stop_is_of_the_job_s_way_of_working_alone(changes: dict[str, Any], way: str, other: str) -> None:
    made = instrument(changes)
    words = said(fret_template.draw(made))
    assert any(text.startswith(way) for text in words)
    assert not any(text.startswith(other) for text in words)
    left = {"sawn before": "over a level floor", "sawn after ": "over a concentric floor"}.get(way[:11], "at an edge:")
    (least,) = [text for text in words if text.startswith("Least wood left")]
    assert left in least


def test_numbers_stand_on_both_sides_of_the_board() -> None:
    for changes in ({}, FAN, {**FAN, "handedness": "left"}):
        made = instrument(changes)
        high, low = (f(y for _, y in made.board_outline) for f in (max, min))
        upright = [t for t in texts(fret_template.draw(made)) if t.height == 3.5 and t.text.isdigit()]
        for above in (True, False):
            ends = [f(a, b, key=lambda p: p[1]) for a, b in zip(made.plan.bass_ends, made.plan.treble_ends, strict=True)
                    for f in ((max if above else min),)]  # fmt: skip
            found = {t.text: t.at for t in upright if (t.at[1] > high if above else t.at[1] < low)}
            assert set(found) == {str(n) for n in range(1, 22)}
            for n, end in enumerate(ends, 1):
                assert found[str(n)][0] == pytest.approx(end[0], abs=4)


def test_an_inch_job_is_in_inches_with_64ths_in_the_table() -> None:
    made = instrument({"units": "in"} | IN_INCHES)
    drawing = fret_template.draw(made)
    upright = [t for t in texts(drawing) if t.angle_deg == 90 and not t.text.startswith("nut")]
    assert [t.text for t in upright] == [f"{x / 25.4:.3f}" for x in made.plan.centre_x]
    cells = labelled.of_table(frets.distances(made))
    for n, x in enumerate(made.plan.centre_x, 1):
        whole, _, share = cells[str(n), "from nut, 1/64 in"].rpartition(" ")
        assert (int(whole or 0) + Fraction(share)) * Fraction(254, 10) == pytest.approx(x, abs=25.4 / 128 + 1e-9)
    assert "1/64 in" in said(drawing)
    assert cells["1", "from nut, 1/64 in"] in said(drawing)
    assert drawing.unit == "in"
    assert any("inches" in note for note in drawing.notes)


@pytest.mark.parametrize("hand", ["right", "left"])
def test_sides_and_hand_are_for_every_tile(hand: str) -> None:
    drawing = fret_template.draw(instrument({"handedness": hand}))
    assert drawing.about == f"{hand}-handed"
    assert drawing.sides == (("treble side", "bass side") if hand == "right" else ("bass side", "treble side"))


@pytest.mark.parametrize("number", ["15", "26", "34", "55"])
def test_tables_fill_what_the_tiles_leave(number: str) -> None:
    """Five, four and three pages once."""
    drawing = fret_template.draw(job.compute(str(ROOT / "specs" / f"fleet-{number}.toml"))[1].instrument)
    assert len(paginate(drawing, PAPERS["A4"])) <= 3


def test_dense_scales_name_the_frets_they_label_and_list_all() -> None:
    made = instrument(DENSE)
    drawing = fret_template.draw(made)
    words = said(drawing)
    for n, x in enumerate(made.plan.centre_x):
        assert f"{x:.2f}" in words
        assert str(n) in words
    upright = [t for t in texts(drawing) if t.angle_deg == 90 and not t.text.startswith("nut")]
    under = {round(t.at[0], 6): t.text for t in texts(drawing) if t.height == 3.5 and t.at[1] < 0}
    assert len(upright) < 101
    for t in upright:
        fret = int(under[round(t.at[0], 6)])
        assert t.text == f"{made.plan.centre_x[fret]:.2f}"
        assert abs(t.at[0] - float(made.plan.centre_x[fret])) < 13


def test_a_zero_fret_has_slot_and_number_and_the_nut_stands_behind() -> None:
    made = instrument({"scale.zero_fret": True})
    drawing = fret_template.draw(made)
    assert len(drawing.layer("SLOT_CENTRE").shapes) == 22
    assert "0" in said(drawing)
    (front,) = drawing.layer("NUT_FRONT").shapes
    assert isinstance(front, Line)
    assert front.start[0] == front.end[0] == -4
    assert any("from the zero fret along" in text for text in drawing.notes)


BOARDS: dict[str, dict[str, Any]] = {
    "plain": {},
    "fan": FAN,
    "left": {**FAN, "handedness": "left"},
    "dense": DENSE,
    "thirty-six frets": {"scale.fret_count": 36, "handedness": "left"},
    "dense fan": {**FAN, **DENSE, "scale.zero_fret": False},
    "short": {"scale.length": 330, "fret_wire.crown_width": 1.5},
    "one fret": {"scale.fret_count": 3, "scale.fret_cents": [200, 500, 700], "fret_wire.markers": []},
    "long title": {"title": "Loan fleet 99: " + "a title that goes on and on " * 5},
}


@pytest.mark.parametrize("name", BOARDS)
def test_no_label_lies_over_a_line_or_a_label(name: str) -> None:
    changes = BOARDS[name]
    if name == "one fret":
        changes = changes | {"fret_wire.doubled_markers": [3], "setup.action": {"fret": 3, "bass": 1, "treble": 1}}
        changes |= {"intonation.fit_to_fret": 3}
    assert overlaps(fret_template.draw(instrument(changes))) == []


@pytest.mark.parametrize("spec", SPECS, ids=lambda path: path.stem)
def test_every_demo_spec_is_legible(spec: Path) -> None:
    i = job.compute(str(spec))[1].instrument
    assert overlaps(fret_template.draw(i)) == []
    for product in notched_strip.make(work_of(i)):
        assert isinstance(product, Sheet)
        assert overlaps(product.drawing) == []


def test_whole_slots_and_checks_across_joints() -> None:
    made = instrument(FAN)
    drawing = fret_template.draw(made)
    assert len(drawing.whole) == 21
    for box, a, b in zip(drawing.whole, made.plan.bass_ends, made.plan.treble_ends, strict=True):
        for x, y in (a, b):
            assert box.x0 < x < box.x1
            assert box.y0 <= y <= box.y1
    for label, start, end in drawing.joints:
        assert start == (0.0, 0.0)
        assert end[1] == 0
        if "last" not in label and "fret" in label:
            fret = int(label.split("fret ")[1].split(",")[0])
            assert end[0] == pytest.approx(made.plan.centre_x[made.plan.index(fret)])


# ------------------------------------------------------------------------------------------------------------ laws

IN_MM: dict[str, Any] = {
    "fret_wire.crown_width": 2.413, "fret_wire.crown_height": 1.0922, "fret_wire.tang_depth": 1.5875,
    "fret_wire.tang_thickness": 0.508, "fret_wire.barb_width": 0.8128, "fret_wire.slot_width": 0.5842,
    "scale.length": 647.7, "fingerboard.width_at_nut": 42.8625, "fingerboard.width_at_last_fret": 55.5625,
    "fingerboard.thickness": 6.35, "fingerboard.radius": 304.8, "fingerboard.beyond_last_fret": 7.9375,
    "bridge.string_spread": 52.3875, "nut.thickness": 3.175, "nut.seat_depth": 1.5875,
    "nut.edge_margin": {"bass": 3.302, "treble": 3.175}, "fret_wire.marker_diameter": 6.35,
    "setup.first_fret_clearance": {"bass": 0.4572, "treble": 0.3048},
    "setup.action": {"fret": 12, "bass": 2.032, "treble": 1.524}, "setup.relief": 0.2032,
    "strings.set": [{"gauge": 0.254, "note": "E4"}, {"gauge": 0.3302, "note": "B3"}, {"gauge": 0.4318, "note": "G3"}],
}  # fmt: skip
IN_INCHES: dict[str, Any] = {
    "fret_wire.crown_width": 0.095, "fret_wire.crown_height": "43 thou", "fret_wire.tang_depth": "1/16 in",
    "fret_wire.tang_thickness": 0.02, "fret_wire.barb_width": "32 thou", "fret_wire.slot_width": 0.023,
    "units": "in", "scale.length": 25.5, "fingerboard.width_at_nut": "1 11/16 in",
    "fingerboard.width_at_last_fret": "2-3/16 in", "fingerboard.thickness": 0.25, "fingerboard.radius": 12,
    "fingerboard.beyond_last_fret": "5/16 in", "bridge.string_spread": "2 1/16 in", "nut.thickness": 0.125,
    "nut.seat_depth": "1/16 in", "nut.edge_margin": {"bass": "130 thou", "treble": 0.125},
    "fret_wire.marker_diameter": 0.25, "setup.first_fret_clearance": {"bass": 0.018, "treble": "12 thou"},
    "setup.action": {"fret": 12, "bass": "80 thou", "treble": 0.060}, "setup.relief": 0.008,
    "strings.set": [{"gauge": "10 thou", "note": "E4"}, {"gauge": 0.013, "note": "B3"}, {"gauge": 0.017, "note": "G3"}],
}  # fmt: skip


def test_mm_and_inch_specs_give_the_same_files() -> None:
    """All but the digest that prints are traced by, which is of the spec's own bytes, and the unit of words."""
    one, other = (rebuilt(instrument(changes)) for changes in (IN_MM, IN_INCHES))
    first, second = files(one), files(other)
    assert first.keys() == second.keys()
    for name in first:
        assert first[name] == second[name], name


def rebuilt(made: Instrument) -> Instrument:
    return build(made.spec.model_copy(update={"units": "mm"}), made.shop, "same", "0123456789abcdef")


def files(made: Instrument) -> dict[str, bytes]:
    found = {}
    for part in (fret_template, slot_outline, slot_path, notched_strip, tables):
        for product in part.make(work_of(made)):
            for form in product.formats:
                data = encode(product.kind, form, product.content(form), Setting(PAPERS["A4"]))
                found[f"{product.stem}.{form}"] = data
    return found


def test_the_same_spec_gives_the_same_bytes() -> None:
    assert files(instrument(FAN)) == files(instrument(FAN))
