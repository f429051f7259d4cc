"""Every cut file of every fleet spec, read back from its DXF and followed by a beam in a geometry library (shapely)."""

from __future__ import annotations

import io
import itertools
from typing import Any

import ezdxf
import pytest
from places import SPECS
from shapely import Point, Polygon, STRtree, box, unary_union

from templategen import job
from templategen.drawing.model import Drawing
from templategen.parts.common.product import Sheet
from templategen.parts.register import PARTS
from templategen.writers import dxf, svg

FLEET = ("fleet-07", "fleet-23", "fleet-38", "fleet-47")  # a plain one, a fan, a step, a cone: the others take minutes
ROOMS = ("slot-outline", "notched-strip", "nut", "saddle", "radius-block", "radius-gauge", "press-caul")
INNER = ("HOLE", "SLOT_OUTLINE")


@pytest.fixture(scope="module", params=FLEET)
def cut(request: pytest.FixtureRequest) -> dict[str, Drawing]:
    """The cut drawings of one spec by their file names."""
    work = job.compute(str(SPECS / f"{request.param}.toml"))[1]
    products = [product for part in PARTS if part.name in ROOMS for product in part.make(work)]
    sheets = (p for p in products if isinstance(p, Sheet) and p.drawing.kind == "cut")
    return {p.stem: p.drawing for p in sheets if p.stem != "nut-plan"}  # that one is not run as it stands


def entities(drawing: Drawing) -> Any:
    document = ezdxf.read(io.StringIO(dxf.encode(drawing).decode()))  # type: ignore[attr-defined]
    assert not document.audit().errors
    return document.modelspace()


def closed(space: Any, *layers: str) -> list[Polygon]:
    found = []
    for entity in space:
        if entity.dxf.layer not in layers:
            continue
        if entity.dxftype() == "CIRCLE":
            found.append(Point(entity.dxf.center.x, entity.dxf.center.y).buffer(entity.dxf.radius, quad_segs=64))
        else:
            assert entity.closed
            points = [(round(p.x, 7), round(p.y, 7)) for p in ezdxf.path.make_path(entity).flattening(1e-5)]
            found.append(Polygon([a for a, b in itertools.pairwise([*points, points[0]]) if a != b]))
    return found


def flat(cut: dict[str, Drawing]) -> dict[str, Any]:
    found = {name: entities(drawing) for name, drawing in cut.items()}
    assert len(found) >= 10
    return found


def test_finished_and_beam_size_are_two_files_of_the_same_contours(cut: dict[str, Drawing]) -> None:
    """Outer contours stand half a kerf outside the finished edge, inner ones half a kerf inside: 0.06 of 0.12."""
    spaces = flat(cut)
    for name, space in spaces.items():
        if name.endswith("-beam"):
            continue
        beam = spaces[f"{name}-beam"]
        assert "no kerf taken off" in cut[name].notes[0]
        assert "kerf 0.120 mm (0.005 in) taken off" in cut[f"{name}-beam"].notes[0]
        for layers, by in ((("OUTLINE",), 0.06), (INNER, -0.06)):
            for a, b in zip(closed(space, *layers), closed(beam, *layers), strict=True):
                grown = a.buffer(by, join_style="mitre", mitre_limit=20, quad_segs=64)
                assert grown.symmetric_difference(b).area < 2e-3 * a.length * abs(by) + 1e-4, (name, layers)


def test_contours_are_simple_and_no_line_is_there_twice(cut: dict[str, Drawing]) -> None:
    for name, space in flat(cut).items():
        shapes = closed(space, "OUTLINE", *INNER)
        assert all(shape.is_valid for shape in shapes), name
        rings = [shape.exterior for shape in shapes]
        for n, m in STRtree(rings).query(rings, predicate="intersects").T.tolist():
            assert n == m, f"{name}: two contours touch"


def test_engraving_then_what_is_inside_then_the_outline(cut: dict[str, Drawing]) -> None:
    rank = {"ENGRAVE": 0, "HOLE": 1, "SLOT_CENTRE": 1, "SLOT_OUTLINE": 1, "OUTLINE": 2}
    for name, space in flat(cut).items():
        ranks = [rank[entity.dxf.layer] for entity in space]
        assert ranks == sorted(ranks), name
        inner, outer = closed(space, *INNER), closed(space, "OUTLINE")
        if outer:
            assert all(any(o.contains(i) for o in outer) for i in inner), name


@pytest.mark.parametrize("share", [1.0, 1.05])
def test_the_template_stays_in_one_piece(cut: dict[str, Drawing], share: float) -> None:
    """A beam of the stated kerf, and of 5 % more, run on every line: one template and a sliver out of each slot."""
    space = entities(cut["slot-outline-beam"])
    lines = [shape.exterior for shape in closed(space, "OUTLINE", "SLOT_OUTLINE")]
    taken = unary_union([line.buffer(share * 0.12 / 2) for line in lines])
    (outer,) = closed(space, "OUTLINE")
    left = outer.difference(taken)
    pieces = sorted((piece.area for piece in left.geoms), reverse=True)
    slots = closed(space, "SLOT_OUTLINE")
    assert len(pieces) == 1 + len(slots)
    assert pieces[1] < 1.1 * max(slot.area for slot in slots), "the others are slivers"
    assert pieces[0] > 0.85 * outer.area


def test_a_cutter_as_wide_as_the_pin_enters_the_notches(cut: dict[str, Drawing]) -> None:
    """A router's 2.0 mm cutter for a 2.0 mm pin, in the finished-size file: down to the notch's floor."""
    for name in cut:
        if not name.startswith("notched-strip") or name.endswith("-beam"):
            continue
        (strip,) = closed(entities(cut[name]), "OUTLINE")
        x0, y0, x1, y1 = strip.bounds
        free = box(x0, y0, x1, y1).difference(strip)
        notches = [gap for gap in getattr(free, "geoms", [free]) if gap.area > 5]
        assert len(notches) >= 13, name
        for gap in notches:
            low, high = gap.bounds[0], gap.bounds[2]
            assert high - low == pytest.approx(2.03, abs=1e-4)
            way = gap.buffer(-0.9999)  # where the middle of a cutter of 2.0 can be
            assert not way.is_empty


def test_one_contour_a_nut_with_every_slot_in_it(cut: dict[str, Drawing]) -> None:
    space = entities(cut["nut-cut"])
    assert [entity.dxf.layer for entity in space] == ["OUTLINE"]


def test_lines_for_a_beam_are_hairlines_of_two_pure_colours(cut: dict[str, Drawing]) -> None:
    for drawing in cut.values():
        text = svg.encode(drawing).decode()
        assert 'stroke-width="0.01"' in text
        assert {part.split('"')[0] for part in text.split(' stroke="')[1:]} <= {"#000000", "#0000ff"}
        assert "black (#000000) is cut, blue (#0000ff, layer ENGRAVE) engraved" in text


def test_what_is_said_travels_in_the_file(cut: dict[str, Drawing]) -> None:
    for name, drawing in cut.items():
        head = [line for line in dxf.encode(drawing).decode().split("\n  0\n")[0].splitlines() if line != "999"]
        whole = " ".join(head)
        for word in ("Loan fleet", "digest", "Depth: ", "Datum: ", "Order of work: ", "celluloid"):
            assert word in whole, (name, word)
