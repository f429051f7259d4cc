"""DXF read back by ezdxf, and printed by a second program."""

from __future__ import annotations

import io
import math
import os
import shutil
import subprocess
from collections import Counter
from dataclasses import replace
from itertools import pairwise

import ezdxf
import ezdxf.path
import pytest
from ezdxf import recover
from sample_sheets import cut, shapes, strip

from templategen.drawing.model import Dimension, Drawing, Layer, Pen
from templategen.errors import OurBug
from templategen.writers import dxf


def read(data: bytes):
    document, auditor = recover.read(io.BytesIO(data))
    assert not auditor.errors
    assert not auditor.fixes
    return document


@pytest.mark.parametrize("drawing", [strip(), shapes(), cut()], ids=lambda d: d.name)
@pytest.mark.parametrize("version", ["R2000", "R12"])
def test_audit_is_clean(drawing: Drawing, version: dxf.Version) -> None:
    document = read(dxf.encode(drawing, version))
    assert not document.audit().has_errors
    assert document.dxfversion == {"R2000": "AC1015", "R12": "AC1009"}[version]


def test_millimetres_are_declared() -> None:
    header = read(dxf.encode(strip())).header
    assert header["$INSUNITS"] == 4  # DXF reference: millimetres
    assert header["$MEASUREMENT"] == 1


def test_r12_says_millimetres_in_words() -> None:
    data = dxf.encode(strip(), "R12")
    assert any(text.dxf.text == dxf.UNITS_NOTE for text in read(data).modelspace().query("TEXT"))
    assert dxf.UNITS_NOTE.encode() in dxf.encode(cut(), "R12").splitlines()


def test_geometry_is_true_size_at_any_scale() -> None:
    space = read(dxf.encode(shapes())).modelspace()
    arc, circle = space.query("ARC").first, space.query("CIRCLE").first
    assert tuple(arc.dxf.center)[:2] == (10.0, 5.0)
    assert (arc.dxf.radius, arc.dxf.start_angle, arc.dxf.end_angle) == (2.0, 30.0, 290.0)
    assert (tuple(circle.dxf.center)[:2], circle.dxf.radius) == ((20.0, 5.0), 3.0)
    outline = space.query("LWPOLYLINE").first
    assert outline.closed
    bulge = outline.get_points("b")[2][0]
    centre, _, _, radius = ezdxf.math.bulge_to_arc((40, 10), (0, 10), bulge)
    # circular segment, any handbook: r = s/2 + c²/(8s)
    assert radius == pytest.approx(2 / 2 + 40**2 / (8 * 2), abs=1e-6)
    assert tuple(centre) == pytest.approx((20.0, 12.0 - 101.0), abs=1e-6)


def test_paths_in_space_and_level_paths_at_their_height() -> None:
    space = read(dxf.encode(shapes())).modelspace()
    (path,) = space.query("POLYLINE")
    assert path.is_3d_polyline
    assert not path.is_closed
    assert [tuple(spot) for spot in path.points()] == [(5.0, 1.0, -2.0), (5.0, 9.0, -1.5)]
    (level,) = space.query("LWPOLYLINE[layer=='SLOT_CENTRE']")
    assert (level.closed, level.dxf.elevation) == (False, -1.0)
    assert list(level.get_points("xyb")) == [(2.0, 2.0, 0.0), (6.0, 2.0, 0.5), (6.0, 4.0, 0.0)]
    (old,) = (e for e in read(dxf.encode(shapes(), "R12")).modelspace().query("POLYLINE") if len(e) == 3)
    assert (old.is_2d_polyline, old.is_closed) == (True, False)
    assert old.dxf.elevation.z == -1.0


def test_lettering_is_paper_height_over_scale() -> None:
    space = read(dxf.encode(shapes())).modelspace()
    assert sorted(text.dxf.height for text in space.query("TEXT")) == [2.5 / 5, 3.5 / 5]


def test_dimensions_measure_true_lengths() -> None:
    document = read(dxf.encode(shapes()))
    found = list(document.modelspace().query("DIMENSION"))
    assert [entity.get_measurement() for entity in found] == pytest.approx([40.0, 10.0, 1.0], abs=1e-9)
    assert [entity.dxf.actual_measurement for entity in found] == [40.0, 10.0, 1.0]
    assert [entity.dxf.text for entity in found] == ["<>", "<>", "about 1"]
    style = document.dimstyles.get(found[0].dxf.dimstyle)
    assert (style.dxf.dimtxt, style.dxf.dimasz, style.dxf.dimdec, style.dxf.dimlfac) == (0.5, 0.5, 2, 1.0)
    drawn = found[0].get_geometry_block()
    assert Counter(entity.dxftype() for entity in drawn) == {"LINE": 3, "SOLID": 2, "TEXT": 1}
    assert drawn.query("TEXT").first.dxf.text == "40.00"


def test_layers_carry_width_and_dashes_in_paper_mm() -> None:
    document = read(dxf.encode(shapes()))
    assert document.layers.get("OUTLINE").dxf.lineweight == 35
    assert document.layers.get("DIMENSION").dxf.lineweight == 18
    dashes = document.linetypes.get(document.layers.get("CENTRELINE").dxf.linetype)
    pattern = [tag.value for tag in dashes.pattern_tags.tags if tag.code == 49]
    assert pattern == pytest.approx([12 / 5, -2.5 / 5, 0.5 / 5, -2.5 / 5])


def test_no_minus_zero_and_no_long_numbers() -> None:
    for line in read(dxf.encode(shapes())).modelspace().query("LINE"):
        for value in (*line.dxf.start, *line.dxf.end):
            assert round(value, 6) == value
            assert math.copysign(1.0, value) == 1.0 or value < 0
    assert b"\n-0.0\n" not in dxf.encode(shapes())


@pytest.mark.parametrize("version", ["R2000", "R12"])
def test_cut_file_holds_lines_only(version: dxf.Version) -> None:
    document = read(dxf.encode(cut(), version))
    kinds = {entity.dxftype() for entity in document.modelspace()}
    assert kinds == {"LWPOLYLINE" if version == "R2000" else "POLYLINE"}
    strokes = document.modelspace().query("*[layer=='ENGRAVE']")
    assert not any(stroke.is_closed for stroke in strokes)
    ys = [spot.y for stroke in strokes for spot in ezdxf.path.make_path(stroke).control_vertices()]
    assert max(ys) - 10.0 == pytest.approx(3.5, abs=1e-6)  # capitals stand on y = 10


def test_a_dimension_in_a_cut_drawing_is_our_bug() -> None:
    wrong = replace(cut(), layers=(Layer("DIMENSION", Pen(), (Dimension((0, 0), (1, 0), (0, 1)),)),))
    with pytest.raises(OurBug):
        dxf.encode(wrong)


def test_the_library_s_option_is_put_back() -> None:
    before = ezdxf.options.write_fixed_meta_data_for_testing
    dxf.encode(cut())
    assert ezdxf.options.write_fixed_meta_data_for_testing is before is False


@pytest.mark.skipif(not shutil.which("librecad"), reason="librecad is missing: apt-get install librecad")
def test_a_second_program_draws_the_same_slots(tmp_path) -> None:
    import pdfplumber

    source, target = tmp_path / "strip.dxf", tmp_path / "strip.pdf"
    source.write_bytes(dxf.encode(strip()))
    subprocess.run(
        ["librecad", "dxf2pdf", "-a", "-k", "-o", str(target), str(source)],
        env={**os.environ, "QT_QPA_PLATFORM": "offscreen", "HOME": str(tmp_path)},
        check=True, capture_output=True, timeout=120,
    )  # fmt: skip
    with pdfplumber.open(target) as pdf:
        drawn = pdf.pages[0].lines + pdf.pages[0].curves
    upright = sorted(o["x0"] for o in drawn if o["x1"] - o["x0"] < 0.01 and o["bottom"] - o["top"] > 10)
    steps = [b - a for a, b in pairwise(upright) if b - a > 0.01]
    # outline end to slot 0, 24 equal steps, last slot to outline end
    assert len(steps) == 26
    assert [step / steps[1] for step in steps] == pytest.approx([4 / 19, *[1.0] * 24, 24 / 19], abs=2e-3)
