"""The radius block's files read back by other programs: arc, cylinder, mesh, ribs; and how the block prints."""

from __future__ import annotations

import io
import math
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import trimesh
from ezdxf.math import bulge_to_arc
from hypothesis import given, settings
from hypothesis import strategies as st
from making import instrument, work_of
from overlapping import overlaps
from probing import faces, ray, ray_z
from reading import modelspace, needs_freecad, polygon, second_cad
from shapely import Point

from templategen.drawing.model import Outline
from templategen.drawing.paper.pages import PAPERS, paginate
from templategen.instrument.model import Instrument
from templategen.parts.common.product import Body, Sheet
from templategen.parts.radius import press_caul, radius_block, radius_block_drawing, radius_block_shape
from templategen.solids.shape import Solid
from templategen.writers import step, stl, svg

CONE: dict[str, Any] = {
    "fingerboard.radius": None,
    "fingerboard.radius_at_nut": 254,
    "fingerboard.radius_at_last_fret": 406.4,
    "radius_block.at": 5,
}
CONVEX: dict[str, Any] = {
    "radius_block.face": "convex", "radius_block.abrasive_thickness": 0.35, "radius_block.width": 62,
}  # fmt: skip
PAPER = {"radius_block.abrasive_thickness": 0.35, "radius_block.width": 62}


def sheets(made: Instrument, stem: str, kind: str) -> list[Sheet]:
    """Ribs in the beam's size, the block in finished size."""
    beam = kind == "cut" and stem == "radius-ribs"
    return [
        p for p in radius_block.make(work_of(made))
        if isinstance(p, Sheet) and p.stem.startswith(stem) and p.drawing.kind == kind
        and p.stem.endswith("-beam") == beam
    ]  # fmt: skip


def body(made: Instrument, stem: str = "radius-block") -> Solid:
    (found,) = [p for p in radius_block.make(work_of(made)) if isinstance(p, Body) and p.stem == stem]
    return found.build()


# -------------------------------------------------------------------------------------------------------------- DXF


def test_the_only_arc_in_the_dxf_has_the_radius() -> None:
    (sheet,) = sheets(instrument(PAPER), "radius-block", "cut")
    space = modelspace(sheet.drawing)
    assert {e.dxftype() for e in space} == {"LWPOLYLINE"}
    assert {e.dxf.layer for e in space} == {"OUTLINE", "ENGRAVE"}
    (profile,) = space.query("LWPOLYLINE[layer=='OUTLINE']")
    assert profile.closed
    corners = list(profile.get_points("xyb"))
    arcs = [(corners[n], corners[(n + 1) % len(corners)]) for n in range(len(corners)) if corners[n][2]]
    ((start, end),) = arcs
    centre, _, _, radius = bulge_to_arc(start[:2], end[:2], start[2])
    assert radius == pytest.approx(300.35, abs=1e-6)
    assert centre.y > 32  # hollow: the centre lies over the block
    assert abs(start[0] - end[0]) == pytest.approx(62)


def test_gap_to_the_board_is_the_abrasive_everywhere() -> None:
    """Set on the board with the paper between, the block's arc is as far from the board as the paper is thick."""
    made = instrument(PAPER)
    (sheet,) = sheets(made, "radius-block", "cut")
    (profile,) = modelspace(sheet.drawing).query("LWPOLYLINE[layer=='OUTLINE']")
    corners = list(profile.get_points("xyb"))
    n = next(n for n, c in enumerate(corners) if c[2])
    centre, _, _, radius = bulge_to_arc(corners[n][:2], corners[(n + 1) % len(corners)][:2], corners[n][2])
    deepest = centre.y - radius
    for x in (0.0, 200.0, 400.0):
        y = np.linspace(-1, 1, 101) * made.plan.taper.width(x) / 2
        wood = made.board.z(x, y)
        # The block is turned over, its face's deepest point one paper above the board's crown.
        in_block = deepest + 0.35 - wood
        assert radius - np.hypot(y - centre.x, in_block - centre.y) == pytest.approx(0.35, abs=1e-6)


def test_gap_in_the_hollow_is_the_abrasive_everywhere() -> None:
    """Laid in a hollow of the board's radius with the paper between, a convex block is as far from it everywhere."""
    (sheet,) = sheets(instrument(CONVEX), "radius-block", "cut")
    space = modelspace(sheet.drawing)
    (profile,) = space.query("LWPOLYLINE[layer=='OUTLINE']")
    corners = list(profile.get_points("xyb"))
    (n,) = [n for n, c in enumerate(corners) if c[2]]
    start, end = corners[n], corners[(n + 1) % len(corners)]
    centre, _, _, radius = bulge_to_arc(start[:2], end[:2], start[2])
    assert radius == pytest.approx(299.65, abs=1e-6)
    assert centre.y < 0  # round: the centre lies under the block
    crest = centre.y + radius
    assert crest == pytest.approx(32, abs=1e-6)
    assert abs(start[0] - end[0]) == pytest.approx(62)
    x = np.linspace(-31, 31, 201)
    hollow = crest + 0.35 - (300 - np.sqrt(300**2 - x**2))
    assert np.hypot(x - centre.x, hollow - centre.y) - radius == pytest.approx(0.35, abs=1e-6)
    assert "abrasive 0.35 mm taken off" in " ".join(sheet.drawing.notes)


def test_convex_block_says_so() -> None:
    made = instrument(CONVEX)
    assert made.block is not None
    assert radius_block_shape.engraving(made.block) == (
        "R 299.65 mm  11.797 in", "CONVEX: board 300.00 - paper 0.35",
    )  # fmt: skip
    assert radius_block.name_of(made, made.block) == "Loan fleet - test board - radius block convex R 299.65"
    assert len(radius_block_shape.figures(made.block)) == sum(
        {"2": 5, "9": 6, "6": 6, "5": 5, ".": 1, "-": 1, "0": 6, "3": 5}[sign] for sign in "299.65" + "-0.35"
    )
    rows = dict(radius_block_drawing.number_rows(made, made.block))
    assert rows["convex block's radius"] == "299.65 mm (11.797 in)"
    assert rows["rides in"] == "hollows"
    said = " ".join(radius_block_drawing.use_text(made, made.block))
    assert "does not sand the board" in said


@pytest.mark.parametrize("radius", [90, 300, 10_000])
def test_convex_solid_has_one_cylinder_and_eased_edges(radius: float, tmp_path: Path) -> None:
    cadquery = pytest.importorskip("cadquery")
    made = instrument(CONVEX | {"fingerboard.radius": radius, "fingerboard.thickness": 12, "nut.edge_rounding": 0})
    block = body(made)
    path = tmp_path / "block.step"
    path.write_bytes(step.encode(block))
    shape = cadquery.importers.importStep(str(path)).val()
    assert shape.isValid()
    (only,) = shape.Solids()
    again = Solid(only.wrapped)
    r = radius - 0.35
    assert [f.radius for f in faces(again) if f.kind == "cylinder"] == [pytest.approx(r, abs=1e-9)]
    for x in (-30.0, -11.0, 0.0, 21.0):
        assert ray_z(again, x, 75.0)[-1] == pytest.approx(32 - (r - math.sqrt(r * r - x * x)), abs=1e-6)
        assert ray_z(again, x, 0.25)[-1] == pytest.approx(32.25 - 0.5 - (r - math.sqrt(r * r - x * x)), abs=1e-6)
        assert ray_z(again, x, 149.75)[-1] == pytest.approx(ray_z(again, x, 0.25)[-1], abs=1e-6)
    mesh = trimesh.load(io.BytesIO(stl.encode(block)), file_type="stl")
    assert mesh.is_watertight
    assert mesh.volume == pytest.approx(again.volume, rel=1e-4)


def test_convex_ribs_have_the_radius_with_the_kerf_off() -> None:
    made = instrument(CONVEX | {"radius_block.rib_thickness": 6}, {"sheet": {"width": 300, "height": 200}})
    for sheet in sheets(made, "radius-ribs", "cut"):
        for outline in modelspace(sheet.drawing).query("LWPOLYLINE[layer=='OUTLINE']"):
            corners = list(outline.get_points("xyb"))
            (n,) = [n for n, c in enumerate(corners) if c[2]]
            *_, radius = bulge_to_arc(corners[n][:2], corners[(n + 1) % len(corners)][:2], corners[n][2])
            assert radius == pytest.approx(299.65 + 0.06, abs=1e-6)


def test_flat_block_has_no_arc() -> None:
    (sheet,) = sheets(instrument({"fingerboard.radius": "flat"}), "radius-block", "cut")
    (profile,) = modelspace(sheet.drawing).query("LWPOLYLINE[layer=='OUTLINE']")
    assert all(bulge == 0 for *_, bulge in profile.get_points("xyb"))


def test_cut_svg_has_no_text() -> None:
    (sheet,) = sheets(instrument({}), "radius-block", "cut")
    content = svg.encode(sheet.drawing).decode()
    assert "<text" not in content
    assert "300.35" in content  # the arc command's radius


# ------------------------------------------------------------------------------------------------------------ solids


@pytest.fixture(scope="module")
def plain() -> Solid:
    return body(instrument(PAPER))


def test_cylinder_of_the_reimported_step(plain: Solid, tmp_path: Path) -> None:
    cadquery = pytest.importorskip("cadquery")
    path = tmp_path / "block.step"
    path.write_bytes(step.encode(plain))
    shape = cadquery.importers.importStep(str(path)).val()
    assert shape.isValid()
    assert len(shape.Solids()) == 1
    again = Solid(shape.Solids()[0].wrapped)
    assert [f.radius for f in faces(again) if f.kind == "cylinder"] == [pytest.approx(300.35, abs=1e-9)]
    for x in (-30.0, -11.0, 0.0, 21.0):
        assert 32 - ray_z(again, x, 75.0)[-1] == pytest.approx(
            math.sqrt(300.35**2 - x * x) - math.sqrt(300.35**2 - 31**2), abs=1e-6
        )
    assert again.volume == pytest.approx(plain.volume, rel=1e-6)


@needs_freecad
def test_opened_by_a_second_cad_program(plain: Solid, tmp_path: Path) -> None:
    path = tmp_path / "block.step"
    path.write_bytes(step.encode(plain))
    seen = second_cad(path)
    assert (seen["solids"], seen["valid"]) == (1, True)
    assert seen["volume"] == pytest.approx(plain.volume, rel=1e-6)
    assert seen["cylinders"] == [pytest.approx(300.35, abs=1e-9)]


def test_mesh_is_watertight_and_within_a_hundredth(plain: Solid) -> None:
    mesh = trimesh.load(io.BytesIO(stl.encode(plain)), file_type="stl")
    assert mesh.is_watertight
    assert mesh.volume == pytest.approx(plain.volume, rel=1e-4)
    axis = 32 - (300.35 - math.sqrt(300.35**2 - 31**2)) + 300.35
    corners = mesh.triangles
    off = np.hypot(corners[..., 0], corners[..., 2] - axis) - 300.35
    on_face = (np.abs(off) < 1e-4).all(1) & (corners[..., 2] > 25).all(1)
    assert on_face.sum() > 4
    for weights in ((1 / 3, 1 / 3, 1 / 3), (0.5, 0.5, 0), (0, 0.5, 0.5), (0.5, 0, 0.5)):
        inner = np.einsum("k,nkd->nd", np.array(weights), corners[on_face])
        error = 300.35 - np.hypot(inner[:, 0], inner[:, 2] - axis)
        assert np.abs(error).max() < 0.01
    assert mesh.bounds[1] - mesh.bounds[0] == pytest.approx([62, 150, 32], abs=0.1)


@pytest.mark.parametrize("changes", [{}, {"fingerboard.radius": 184.15, "radius_block.height": 60}, CONE, CONVEX])
def test_prints_without_support(changes: dict[str, Any]) -> None:
    """Standing on its back: no face looks down by more than 45° but the back and the tips of engraved bars, whose
    ledges are 0.4 mm deep."""
    mesh = trimesh.load(io.BytesIO(stl.encode(body(instrument(changes)))), file_type="stl")
    down = mesh.face_normals[:, 2] < -math.cos(math.radians(45)) - 1e-4
    held = (mesh.triangles[..., 2] < 1e-6).all(1)
    ledges = mesh.triangles[down & ~held]
    assert held[down].any()
    assert ledges[..., 1].max(initial=0) <= 0.4 + 1e-6


def test_face_edges_are_eased_and_volume_is_the_profile_less_bevels(plain: Solid) -> None:
    area = polygon(radius_block_shape.profile(62, 32, 300.35, radius_block_shape.FACE_BEVEL), 2000).area
    bevels = 2 * (62 * 0.5**2 / 2 + 62 * 1.0**2 / 2)
    assert plain.volume == pytest.approx(150 * area - bevels, rel=1e-4)
    assert plain.extent.low == pytest.approx((-31, 0, 0), abs=1e-6)


def test_straight_beam_for_cones_only() -> None:
    made = instrument(CONE)
    beam = body(made, "straight-beam")
    assert not [f for f in faces(beam) if f.kind != "plane"]
    assert beam.extent.high[1] - beam.extent.low[1] >= made.plan.centre_x[-1] + 8
    stems = {p.stem for p in radius_block.make(work_of(instrument({})))}
    assert "straight-beam" not in stems
    no_station = {key: value for key, value in CONE.items() if not key.startswith("radius_block")}
    assert {p.stem for p in radius_block.make(work_of(instrument(no_station)))} == {"straight-beam"}


def test_radius_is_engraved_on_the_end(plain: Solid) -> None:
    """Rays into the end face meet the floor of a groove under every bar of "300.35" and "+0.35", and nowhere beside."""
    made = instrument(PAPER)
    assert made.block is not None
    bars = radius_block_shape.figures(made.block)
    assert len(bars) == sum({"3": 5, "0": 6, "5": 5, ".": 1, "+": 3}[sign] for sign in "300.35" + "+0.35")
    for x0, z0, x1, z1 in bars:
        assert ray(plain, ((x0 + x1) / 2, -5.0, (z0 + z1) / 2), (0.0, 1.0, 0.0))[0] == pytest.approx(5.4, abs=1e-6)
    assert ray(plain, (0.0, -5.0, 2.0), (0.0, 1.0, 0.0))[0] == pytest.approx(5.0, abs=1e-6)


@settings(max_examples=60, deadline=None)
@given(
    st.floats(50, 2000), st.floats(5, 90), st.floats(0, 40), st.sampled_from([0.0, radius_block_shape.FACE_BEVEL]),
    st.booleans(),
)  # fmt: skip
def test_profiles_never_cross_themselves(radius: float, width: float, more: float, eased: float, convex: bool) -> None:
    if width / 2 > 0.9 * radius:
        return
    height = radius - math.sqrt(radius**2 - width**2 / 4) + 3 + more
    whole = polygon(radius_block_shape.profile(width, height, radius, eased, convex))
    assert whole.is_valid
    assert whole.bounds[2] - whole.bounds[0] == pytest.approx(width)
    assert whole.exterior.is_ccw


# -------------------------------------------------------------------------------------------------------------- ribs


def test_ribs_are_the_profile_with_the_kerf_off() -> None:
    made = instrument(PAPER | {"radius_block.rib_thickness": 6}, {"sheet": {"width": 300, "height": 200}})
    files = sheets(made, "radius-ribs", "cut")
    assert len(files) > 1
    assert made.block is not None
    want = polygon(radius_block_shape.block_profile(made.block), 800).buffer(0.06, join_style="mitre", mitre_limit=10)
    count = 0
    for sheet in files:
        space = modelspace(sheet.drawing)
        outlines = list(space.query("LWPOLYLINE[layer=='OUTLINE']"))
        count += len(outlines)
        laid = []
        for outline in outlines:
            corners = list(outline.get_points("xyb"))
            back = Outline(tuple((x, y) for x, y, _ in corners), tuple(b for *_, b in corners))
            laid.append(polygon(back, 800))
            assert laid[-1].area == pytest.approx(want.area, rel=1e-5)
            (n,) = [n for n, c in enumerate(corners) if c[2]]
            *_, radius = bulge_to_arc(corners[n][:2], corners[(n + 1) % len(corners)][:2], corners[n][2])
            assert radius == pytest.approx(300.35 - 0.06, abs=1e-6)
        for n, one in enumerate(laid):
            x0, y0, x1, y1 = one.bounds
            assert min(x0, y0) >= 4.9
            assert x1 <= 295.1
            assert y1 <= 195.1
            assert all(one.distance(other) >= 3.9 for other in laid[n + 1 :])
        holes = list(space.query("CIRCLE[layer=='HOLE']"))
        assert len(holes) == 2 * len(outlines)
        assert {round(hole.dxf.radius, 6) for hole in holes} == {round(3 + 0.1 / 2 - 0.06, 6)}
        notes = " ".join(sheet.drawing.notes)
        assert "kerf 0.120 mm" in notes
        assert "in holes of 6.10 mm" in notes
        assert "25 ribs of 6.00 mm sheet make a stack 150.00 mm long" in notes
    assert count == 25


def test_dowels_lie_in_one_line_within_the_rib() -> None:
    made = instrument({"radius_block.rib_thickness": 6})
    assert made.block is not None
    assert made.block.ribs is not None
    inside = polygon(radius_block_shape.block_profile(made.block))
    (x0, z0), (x1, z1) = made.block.ribs.holes
    assert z0 == z1
    assert x0 == -x1
    for x, z in made.block.ribs.holes:
        assert inside.exterior.distance(Point(x, z)) >= made.block.ribs.dowel / 2 + 2.9


# ----------------------------------------------------------------------------------------------------------- drawing


@pytest.mark.parametrize(
    "changes",
    [{}, CONE, {"fingerboard.radius": "flat"}, {"radius_block.length": 300}, {"radius_block.rides_on": "crowns"},
     {"radius_block.width": 90, "radius_block.height": 14}, CONVEX, CONE | CONVEX],
)  # fmt: skip
def test_drawing_is_clear_and_fits_a_page(changes: dict[str, Any]) -> None:
    made = instrument(changes)
    (sheet,) = sheets(made, "radius-block", "drawing")
    assert overlaps(sheet.drawing) == []
    assert sheet.formats == ("pdf",)
    assert len(paginate(sheet.drawing, PAPERS["A4"])) == 1
    assert len(paginate(sheet.drawing, PAPERS["Letter"])) == 1
    said = " ".join(sheet.drawing.cautions).lower()
    assert "dust" in said
    assert "pickups" in said
    assert "local rules" in said


def test_grooves_are_given_where_the_profile_has_them() -> None:
    made = instrument({})
    assert made.block is not None
    heights = {y for _, y in radius_block_shape.block_profile(made.block).points}
    said = " ".join(radius_block_drawing.use_text(made, made.block))
    (words,) = said.split("In both sides: ")[1:]
    told = [float(x) for pair in re.findall(r"from ([\d.]+) to ([\d.]+) mm", words) for x in pair]
    assert len(told) == 4
    assert all(min(abs(y - x) for y in heights) < 0.006 for x in told)


def test_what_is_engraved_adds_up() -> None:
    """Board + crown + paper, each as engraved, make the radius that stands over them."""
    made = instrument({"radius_block.rides_on": "crowns", "fret_wire.crown_height": 1.2})
    assert made.block is not None
    first, made_of, *_ = radius_block_shape.engraving(made.block)
    parts = {name: float(value) for name, value in (part.split() for part in made_of.split(" + "))}
    assert parts == {"board": 300.0, "crown": 1.2, "paper": made.block.abrasive_thickness}
    assert f"{sum(parts.values()):.2f}" in first


def test_where_a_block_on_a_cone_leaves_its_gap() -> None:
    """Toward the rounder end of a cone the block, too flat there, stands off at the edges; toward the flatter end at
    the centre (two circles of one crown line)."""
    made = instrument({**CONE, "radius_block.at": 12})
    block = made.block
    assert block is not None
    rows = dict(radius_block_drawing.number_rows(made, block))
    near, far = (rows[f"gap {x:.0f} mm from the nut"] for x in block.ends_x)
    assert near.endswith("at the edges")
    assert far.endswith("at the centre")


def test_a_caul_says_of_which_board_it_is() -> None:
    made = instrument({"fingerboard.radius": 300, "press_caul.radius_share": 0.9})
    (station,) = press_caul.cauls(made)
    first, second = press_caul.label(made, station)
    assert "270.00 mm" in first
    assert second == "caul, 0.9 of 300.00"
