"""The nut's drawing, spacing strip and saddle: what they say, that nothing overlaps, that they print at their scale."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from making import FAN, instrument
from overlapping import overlaps
from places import FLEET

from templategen import job
from templategen.drawing.model import Circle, Dimension, Drawing, Line, Outline, Text, shape_bounds
from templategen.drawing.paper.pages import PAPERS, paginate
from templategen.instrument.model import Instrument
from templategen.parts.nut import nut_drawing, nut_spacing_strip
from templategen.parts.saddle import profile as saddle
from templategen.tables import nut as tables
from templategen.units import both_units, mm_text

SHIFTS = [0.6, 0.3, 0.9, 0.2, 0.3, 0.1]
POSTS = [[-120, 24, -14], [-95, 30, -13], [-60, 34, -12], [-60, -34, -12], [-95, -30, -13], [-120, -24, -14]]
TWELVE = {
    "title": "Loan fleet: a twelve-string with a title that is as long as anybody would write it, for a page",
    "strings.set": [{"gauge": 0.3 + n / 14, "note": "A2", "wound": n > 5} for n in range(12)],
    "strings.courses": [[n, n + 1] for n in range(1, 12, 2)],
    "fingerboard.width_at_nut": 49,
    "fingerboard.width_at_last_fret": 61,
    "bridge.string_spread": 58,
}
MADE: dict[str, dict[str, Any]] = {
    "moved": {"nut.compensation": SHIFTS, "nut.seat_radius": 250, "nut.seat_angle": 4},
    "slanted, board cut back": {**FAN, "nut.compensation": SHIFTS, "nut.compensation_by": "board"},
    "slanted, left-handed": {**FAN, "handedness": "left", "headstock.posts": POSTS, "nut.slot_aim": "post"},
    "three strings": {"strings.set": [{"gauge": 0.4, "note": "G3"}] * 3, "fingerboard.width_at_nut": 28},
    "zero fret": {"scale.zero_fret": True, "fingerboard.radius": "flat"},
    "twelve, slanted, moved": {**FAN, **TWELVE, "nut.compensation": 0.4},
    "sharp": {"nut.edge_rounding": 0},
}


def drawn_for(name: str) -> Instrument:
    if name in MADE:
        return instrument(MADE[name])
    return job.compute(next(str(p) for p in FLEET if p.stem == name))[1].instrument


@pytest.fixture(scope="module", params=[*(p.stem for p in FLEET), *MADE])
def made(request: pytest.FixtureRequest) -> Instrument:
    return drawn_for(request.param)


def texts(drawing: Drawing) -> list[str]:
    return [shape.text for layer in drawing.layers for shape in layer.shapes if isinstance(shape, Text)]


@pytest.mark.parametrize("part", [nut_drawing, nut_spacing_strip, saddle], ids=("nut", "strip", "saddle"))
def test_no_label_lies_over_anything(made: Instrument, part: Any) -> None:
    assert overlaps(part.draw(made)) == []


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_printed_at_its_scale_never_reduced(made: Instrument, paper: str) -> None:
    """The views as large as an office page holds: half of it was empty once."""
    leaves = nut_drawing.leaves(made)
    assert 3 <= len(leaves) <= 4
    for drawing in (*leaves, nut_spacing_strip.draw(made)):
        assert overlaps(drawing) == []
        pages = paginate(drawing, PAPERS[paper], trace=made.trace)
        shown = [page for page in pages if "-last-" not in page.furniture.name]
        scales = [placement.scale for page in shown for placement in page.placements]
        assert scales[0] == drawing.scale, "not reduced"
        assert len(shown) == 1
    front = [shape_bounds(s).width for s in leaves[0].layer("OUTLINE").shapes if isinstance(s, Outline)]
    assert max(front) * leaves[0].scale > 135


def test_the_title_is_printed_once_on_paper(made: Instrument) -> None:
    for drawing in nut_drawing.leaves(made):
        assert made.spec.title not in texts(drawing)
    assert any(made.spec.title.startswith(text) for text in texts(nut_drawing.draw(made)))


def test_a_slot_without_a_file_says_so() -> None:
    made = instrument()
    assert "–" not in [cell for drawing in nut_drawing.leaves(made) for cell in texts(drawing)]
    column = tables.places(made)["file"]
    assert replace(column, values=(None,) * len(column.values)).text(0) == "no file of the shop"


def test_every_place_from_the_bass_end(made: Instrument) -> None:
    """Running dimensions of every slot's centre and of the far end; none from slot to slot."""
    drawing, nut = nut_drawing.draw(made), made.nut
    ends = sorted(nut.front_ends, key=lambda x: -made.side * x)
    treble, bass = float(ends[0]), float(ends[1])
    upright = {s.text for s in drawing.layer("TEXT").shapes if isinstance(s, Text)}
    for place in (0.0, *np.abs(nut.along - bass), abs(treble - bass)):
        figure = f"{place / 25.4:.3f}" if made.spec.units == "in" else mm_text(float(place))
        assert figure in upright
    section = [s for s in drawing.layer("DIMENSION").shapes if isinstance(s, Dimension)]
    assert len(section) == 3, "thickness, floor over seat, depth from top"


def test_views_and_table_say_what_a_bench_needs(made: Instrument) -> None:
    said = texts(nut_drawing.draw(made))
    row = int(np.argmax(np.abs(made.nut.forward - made.nut.body_forward))) if made.nut.stepped else -1
    number = row % len(made.nut.along) + 1
    side = "left" if made.side > 0 else "right"
    for heading in ("Top view, tuners above", f"Front view, bass end {side}", f"Section, string {number}"):
        assert heading in said
    whole = " ".join(said)
    top, floors = (
        both_units(mm, first=made.spec.units) for mm in (made.spec.nut.top_allowance, made.spec.nut.filing_allowance)
    )
    slotted = f"Slotted: top +{top}, floors +{floors}"
    for words in (f"Blank: top +{top}", slotted, "Tolerances:", "common practice, no source"):
        assert words in whole
    assert ("across, mm" in said) == (abs(made.plan.nut_slant_deg) > 0.01), "both ways where the nut is slanted"
    assert ("Front edge moved toward the bridge" in whole) == bool(made.nut.shift.any())
    assert any("left to the bench" in text for text in said) == (
        bool(made.nut.seat_angle_deg) or bool(np.isfinite(made.nut.seat_radius))
    )


@pytest.mark.parametrize(
    ("changes", "corners"),
    [
        ({"nut.edge_rounding": 0}, 4),
        ({}, 4),  # the bass slot is deeper than the rounding and leaves the back face
        ({"nut.edge_rounding": 0, "nut.compensation": 0.5}, 6),
        ({"nut.edge_rounding": 0, "nut.compensation": SHIFTS, "nut.compensation_by": "board"}, 6),
    ],
)
def test_corners_of_the_section(changes: dict[str, Any], corners: int) -> None:
    assert section_corners(changes) == corners


def test_section_of_a_floor_that_comes_out_in_the_rounding() -> None:
    assert section_corners({"nut.edge_rounding": 1.0}) > 4


def section_corners(changes: dict[str, Any]) -> int:
    shapes = nut_drawing.draw(instrument(changes)).layer("OUTLINE").shapes
    top_view, front_view, section = [s for s in shapes if isinstance(s, Outline)][-3:]
    assert top_view
    assert front_view
    return len(section.points)


def test_board_shows_behind_the_nut_as_it_is() -> None:
    made = instrument(FAN)
    (line,) = [s for s in nut_drawing.draw(made).layer("RADIUS_CURVE").shapes if not isinstance(s, Line)]
    for angle in (line.start_deg, (line.start_deg + line.end_deg) / 2, line.end_deg):
        x, z = line.at(angle)
        plan_x, plan_y = made.nut.plan_point(x, 0.0)
        assert z == pytest.approx(2.0 + float(made.board.z(plan_x, plan_y)), abs=1e-3)


# ----------------------------------------------------------------------------------------------------- spacing strip


def test_strip_has_a_true_line_per_slot_at_its_angle_three_times(made: Instrument) -> None:
    """On the front edge at the slot's place, and from there as the slot is cut: up to 26° off square on a fan."""
    drawing, nut = nut_spacing_strip.draw(made), made.nut
    lines = [s for s in drawing.layer("NUT_SLOT").shapes if isinstance(s, Line)]
    feet = sorted({min(line.start[1], line.end[1]) for line in lines if line.start[1] < line.end[1]})
    fronts = sorted(o.points[0][1] for o in drawing.layer("OUTLINE").shapes if isinstance(o, Outline))
    assert len(fronts) == 3
    assert set(fronts) <= set(feet) | {front for front in fronts if (nut.width >= 0.75).all()} | set(feet)
    wide = nut.width >= 0.75
    assert len(lines) == 3 * (len(wide) + 2 * int(wide.sum()))
    for n, (x, turn) in enumerate(zip(nut.along, np.tan(np.radians(nut.direction_deg)), strict=True)):
        for front in fronts:
            on = [at for line in lines if front - 1e-9 <= line.start[1] < front + 6
                  for at in [line.start[0] - turn * (line.start[1] - front)]
                  if abs(at - x) < 1e-6 and abs(_slope(line) - turn) < 1e-6]  # fmt: skip
            assert on, f"string {n + 1}"
    turned = np.cos(np.radians(nut.direction_deg))
    for x, width, cos, walls in zip(nut.along, nut.width, turned, wide, strict=True):
        on_edge = [line.start[0] - x for line in lines if line.start[1] in fronts]
        marks = {round(off, 9) for off in on_edge if 1e-9 < abs(off) < width}
        assert marks == ({round(s * width / cos / 2, 9) for s in (-1, 1)} if walls else set())


def _slope(line: Line) -> float:
    return (line.end[0] - line.start[0]) / (line.end[1] - line.start[1])


def test_strip_says_what_to_do_with_it_on_itself(made: Instrument) -> None:
    drawing = nut_spacing_strip.draw(made)
    said = [s for s in drawing.layer("TEXT").shapes if isinstance(s, Text)]
    outlines = [shape_bounds(s) for s in drawing.layer("OUTLINE").shapes]
    assert len(outlines) == 3
    for box in outlines:
        inside = " ".join(s.text for s in said if box.holds(shape_bounds(s), 0.5))
        assert "cut out, stick on the blank, this foot on its front edge" in inside
        below = [s for s in said if s.text == "front edge here" and box.y0 - 5 < s.at[1] < box.y0]
        assert len(below) == 1
    assert drawing.about == f"{made.spec.handedness}-handed"


def test_strip_says_which_end_is_bass() -> None:
    for hand, left in (("right", "bass"), ("left", "treble")):
        drawing = nut_spacing_strip.draw(instrument({"handedness": hand}))
        places = {s.text: s.at[0] for s in drawing.layer("TEXT").shapes if isinstance(s, Text)}
        assert min(("bass", "treble"), key=places.__getitem__) == left


# ------------------------------------------------------------------------------------------------------------ saddle


def test_saddle_shows_every_string_at_its_height(made: Instrument) -> None:
    drawing = saddle.draw(made)
    circles = [s for s in drawing.layer("STRING").shapes if isinstance(s, Circle)]
    assert len(circles) == len(made.plan.gauges)
    for circle, y, z, gauge in zip(circles, made.saddle.y, made.saddle.height, made.plan.gauges, strict=True):
        assert circle.centre[0] == pytest.approx(y)
        assert circle.centre[1] - circle.radius == pytest.approx(z)
        assert 2 * circle.radius == pytest.approx(gauge)
    said = texts(drawing)
    for value in (*made.saddle.height, *made.saddle.offset, *made.saddle.from_nut):
        assert mm_text(float(value)) in said
    assert {"bass", "treble", "Base line: the board's centreline"} <= set(said)


def test_saddle_is_an_open_arc_over_a_base_line_and_no_part(made: Instrument) -> None:
    drawing = saddle.draw(made)
    assert "OUTLINE" not in {layer.name for layer in drawing.layers}
    assert not any(isinstance(s, Outline) for layer in drawing.layers for s in layer.shapes)
    (arc,) = drawing.layer("RADIUS_CURVE").shapes
    (base,) = drawing.layer("DIMENSION").shapes
    assert isinstance(base, Line)
    assert base.start[1] == base.end[1] == 0
    box = shape_bounds(arc)
    assert (box.x0, box.x1) == pytest.approx((base.start[0], base.end[0]))
    assert box.y0 > 0, "arc and base line do not meet"
