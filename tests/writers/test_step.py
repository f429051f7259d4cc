"""STEP files read back by cadquery and by a second CAD program; header, names and bytes."""

from __future__ import annotations

import math
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from probing import faces, ray_z
from reading import needs_freecad, second_cad

from templategen.errors import OurBug
from templategen.solids.board import BoardTop, FretSlot, board, slotted
from templategen.solids.combine import cut
from templategen.solids.make import ball_slot, box, polygon
from templategen.solids.shape import Solid
from templategen.writers import step

CONE = BoardTop.cone(254, 406, 0, 460)


def cone_board() -> Solid:
    made = board(polygon(((0, -21.5), (470, -28), (470, 28), (0, 21.5))), 6.2, CONE, "Fleet 07, fingerboard, mm")
    return slotted(made, CONE, [FretSlot((x, -30), (x, 30), 0.58, 1.9) for x in (36.5, 71.0, 325.0)])


def nut() -> Solid:
    slots = [ball_slot((x, 0, 5.5), (0.04, 1, -0.14), w, 6, 8) for x, w in ((-15, 1.2), (0, 0.75), (15, 0.3))]
    return cut(box((-21.5, 0, 0), (21.5, 3.4, 8), "Fleet 07, nut, finished, mm"), slots)


@pytest.fixture(scope="module")
def cadquery() -> Any:
    return pytest.importorskip("cadquery")


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> dict[str, tuple[Solid, Path]]:
    folder = tmp_path_factory.mktemp("step")
    found = {}
    for name, solid in (("board", cone_board()), ("nut", nut())):
        path = folder / f"{name}.step"
        path.write_bytes(step.encode(solid))
        found[name] = solid, path
    return found


@pytest.mark.parametrize("name", ["board", "nut"])
def test_read_back_as_one_valid_solid(cadquery: Any, written: dict[str, tuple[Solid, Path]], name: str) -> None:
    solid, path = written[name]
    shape = cadquery.importers.importStep(str(path)).val()
    assert shape.isValid()
    assert len(shape.Solids()) == 1
    assert shape.Volume() == pytest.approx(solid.volume, rel=1e-6)


def test_sections_of_the_cone_read_back(cadquery: Any, written: dict[str, tuple[Solid, Path]]) -> None:
    shape = cadquery.importers.importStep(str(written["board"][1])).val()
    read = Solid(shape.Solids()[0].wrapped)
    for x in (1.0, 100.0, 230.0, 469.0):
        for y in (-21.0, -13.0, 0.0, 7.0, 21.0):
            top = ray_z(read, x, y)[-1]
            assert math.hypot(y, top + CONE.radius(x)) == pytest.approx(CONE.radius(x), abs=0.001)


def test_slot_floors_and_radii_read_back(cadquery: Any, written: dict[str, tuple[Solid, Path]]) -> None:
    shape = cadquery.importers.importStep(str(written["nut"][1])).val()
    read = Solid(shape.Solids()[0].wrapped)
    assert sorted(f.radius for f in faces(read) if f.kind == "cylinder") == pytest.approx([0.15, 0.375, 0.6])
    for x in (-15.0, 0.0, 15.0):
        assert ray_z(read, x + 0.04, 1.0)[-1] == pytest.approx(5.5 - 0.14, abs=1e-6)


@needs_freecad
@pytest.mark.parametrize("name", ["board", "nut"])
def test_opened_by_a_second_cad_program(written: dict[str, tuple[Solid, Path]], name: str) -> None:
    solid, path = written[name]
    seen = second_cad(path)
    assert seen["solids"] == 1
    assert seen["valid"]
    assert seen["volume"] == pytest.approx(solid.volume, rel=1e-6)
    if name == "nut":
        assert sorted(seen["cylinders"]) == pytest.approx([0.15, 0.375, 0.6])
    else:
        assert seen["cones"]
        for angle in seen["cones"]:
            assert abs(angle) == pytest.approx(math.atan(152 / 460))


def test_header_is_ours_or_empty() -> None:
    content = step.encode(box((0, 0, 0), (1, 2, 3), "box"), "a title").decode("ascii")
    head = re.sub(r"\s", "", content.split("DATA;")[0])
    assert "FILE_DESCRIPTION((''),'2;1');" in head
    assert "FILE_NAME('atitle','2000-01-01T00:00:00',(''),(''),'templategen','','');" in head
    assert "FILE_SCHEMA(('AUTOMOTIVE_DESIGN{10103032141111}'));" in head
    assert not re.search(r"cascade|opencasc|occt|cadquery", content, re.IGNORECASE)
    assert "SI_UNIT(.MILLI.,.METRE.)" in content


def test_products_carry_the_names_and_no_counters() -> None:
    bodies = [box((0, 0, 0), (1, 1, 1), "nut’s «blank» 'a\\b'"), box((2, 0, 0), (3, 1, 1), "long " * 40 + "name")]
    content = step.encode(bodies).decode("ascii")
    assert re.findall(r"=\s*PRODUCT\('((?:[^']|'')*)'", content) == [
        "nut\\X2\\2019\\X0\\s \\X2\\00AB\\X0\\blank\\X2\\00BB\\X0\\ ''a\\\\b''",
        "long " * 40 + "name",
    ]


def test_names_read_back(tmp_path: Path) -> None:
    from OCP.STEPCAFControl import STEPCAFControl_Reader
    from OCP.TCollection import TCollection_ExtendedString
    from OCP.TDataStd import TDataStd_Name
    from OCP.TDF import TDF_LabelSequence
    from OCP.TDocStd import TDocStd_Document
    from OCP.XCAFDoc import XCAFDoc_DocumentTool

    names = ["nut’s «blank» 'a\\b'", "clé 𝄞"]
    path = tmp_path / "two.step"
    path.write_bytes(step.encode([box((i, 0, 0), (i + 0.5, 1, 1), name) for i, name in enumerate(names)]))
    document = TDocStd_Document(TCollection_ExtendedString("any"))
    reader = STEPCAFControl_Reader()
    reader.SetNameMode(True)
    reader.ReadFile(str(path))
    reader.Transfer(document)
    labels = TDF_LabelSequence()
    XCAFDoc_DocumentTool.ShapeTool_s(document.Main()).GetFreeShapes(labels)
    read = []
    for i in range(1, labels.Length() + 1):
        name = TDataStd_Name()
        labels.Value(i).FindAttribute(TDataStd_Name.GetID_s(), name)
        read.append(name.Get().ToExtString())
    assert read == names


def test_a_solid_without_a_name_of_its_own_is_our_bug() -> None:
    anonymous, one = box((0, 0, 0), (1, 1, 1)), box((0, 0, 0), (1, 1, 1), "one")
    for solids in (anonymous, [one, one], []):
        with pytest.raises(OurBug, match="names of their own"):
            step.encode(solids)


def test_the_kernels_switches_are_put_back() -> None:
    from OCP.Interface import Interface_Static
    from OCP.STEPControl import STEPControl_Controller

    STEPControl_Controller.Init_s()
    Interface_Static.SetCVal_s("write.step.unit", "INCH")
    Interface_Static.SetIVal_s("write.surfacecurve.mode", 1)
    try:
        assert "MILLI" in step.encode(box((0, 0, 0), (1, 1, 1), "box")).decode()
        assert Interface_Static.CVal_s("write.step.unit") == "INCH"
        assert Interface_Static.IVal_s("write.surfacecurve.mode") == 1
    finally:
        Interface_Static.SetCVal_s("write.step.unit", "MM")


SCRIPT = """
import hashlib, sys
sys.path[:0] = [sys.argv[1], sys.argv[1] + "/.."]
import test_step as t
from templategen.solids.combine import cut
from templategen.solids.exact import exact
from templategen.solids.make import ball_slot, box
from templategen.writers import step, stl
tools = [ball_slot((9, 0, 8), (0.2, 1, -0.1), 2, 30, 12), ball_slot((0, 9, 8), (1, 0.1, -0.1), 3, 40, 12)]
crossed = exact(cut(box((0, 0, 0), (30, 20, 10), "crossed"), tools))
jobs = {"nut": t.nut, "board": t.cone_board, "slots": lambda: crossed}
for name in sys.argv[2].split(","):
    solid = jobs[name]()
    print(name, hashlib.sha256(step.encode(solid)).hexdigest(), hashlib.sha256(stl.encode(solid)).hexdigest())
"""


def test_same_bytes_across_processes_seeds_zones_and_order() -> None:
    here = str(Path(__file__).parent)
    runs = []
    for seed, zone, order in (("0", "UTC", "nut,board,slots,nut"), ("4711", "Asia/Tokyo", "slots,board,nut,slots")):
        env = {**os.environ, "PYTHONHASHSEED": seed, "TZ": zone}
        out = subprocess.run(
            [sys.executable, "-c", SCRIPT, here, order], env=env, capture_output=True, text=True, check=True
        )
        assert out.stderr == ""
        runs.append(set(out.stdout.splitlines()))
    assert runs[0] == runs[1]
    assert len(runs[0]) == 3
