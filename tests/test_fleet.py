"""Every shipped spec, built whole, and every file opened by another reader than the one that wrote it."""

from __future__ import annotations

import csv
import io
import json
import math
import re
import xml.etree.ElementTree as ET
from pathlib import Path

import ezdxf
import pytest
import trimesh
from ezdxf import recover
from overlapping import overlaps
from places import ROOT
from pypdf import PdfReader

from templategen import job
from templategen.job.store import not_everywhere
from templategen.parts.common.layers import PENS
from templategen.parts.common.product import Sheet
from templategen.parts.register import PARTS

FLEET = sorted((ROOT / "specs").glob("fleet-*.toml"))

# Files that every instrument gets (design: "What is written")
ALWAYS = {
    f"{stem}.{suffix}"
    for stem, suffixes in {
        "fret-template": ("dxf", "svg", "pdf"),
        "slot-outline": ("dxf", "svg"),
        "slot-path": ("dxf", "csv"),
        "notched-strip": ("dxf", "svg", "pdf"),
        "nut-blank": ("step",),
        "nut-slotted": ("step",),
        "nut-finished": ("step",),
        "nut-cut": ("dxf",),
        "nut": ("dxf", "svg", "pdf"),
        "nut-spacing-strip": ("svg", "pdf"),
        "saddle": ("dxf", "svg"),
        "radius-block": ("dxf", "svg", "pdf", "step", "stl"),
        "radius-gauge": ("dxf", "svg"),
        "press-caul": ("dxf", "step"),
        "fingerboard": ("step",),
        "numbers": ("json",),
        "frets": ("csv",),
        "strings": ("csv",),
        "wire": ("csv",),
        "manifest": ("json",),
    }.items()
    for suffix in suffixes
}
CUT = (
    "slot-outline",
    "slot-path",
    "notched-strip",
    "nut-cut",
    "nut-plan",
    "nut-blank",
    "saddle-cut",
    "radius-block",
    "radius-gauge",
    "radius-ribs",
)


@pytest.fixture(scope="module", params=FLEET, ids=lambda p: p.stem)
def made(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return job.make(str(request.param), tmp_path_factory.mktemp("fleet")).folder


def files(folder: Path, suffix: str) -> list[Path]:
    return sorted(folder.glob(f"*.{suffix}"))


def test_names_are_kept_on_every_system(made: Path) -> None:
    """Small letters, figures, hyphens and one dot: legal everywhere, no device's name, different without case."""
    names = [path.name for path in made.iterdir()]
    for name in names:
        assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*\.[a-z]+", name), name
        assert not not_everywhere(name), name
    assert len({name.casefold() for name in names}) == len(names)


def test_all_files_are_there(made: Path) -> None:
    names = {p.name for p in made.iterdir()}
    split = "fleet-23" in str(made)  # a multi-scale board has a notched strip for each edge
    edges = {f"notched-strip-{side}.{suffix}" for side in ("bass", "treble") for suffix in ("dxf", "svg", "pdf")}
    strips = {name for name in ALWAYS if name.startswith("notched-strip")}
    assert names >= ((ALWAYS - strips) | edges if split else ALWAYS)
    listed = {entry["path"] for entry in json.loads((made / "manifest.json").read_text())["files"]}
    assert listed | {"manifest.json"} == names


OPEN = {"ENGRAVE", "CHECK_RULER", "SLOT_PATH", "SLOT_CENTRE", "TEXT", "RADIUS_CURVE"}
"""Layers with strokes and ways; every other outline is closed."""


def test_dxf_passes_the_audit_in_mm_on_our_layers(made: Path) -> None:
    for path in files(made, "dxf"):
        document, auditor = recover.readfile(path)
        assert not auditor.has_errors, path.name
        assert not auditor.fixes, path.name
        assert document.header["$INSUNITS"] == 4, "millimetres"
        assert document.dxfversion == "AC1015", "R2000"
        kinds = {entity.dxftype() for entity in document.modelspace()}
        assert kinds <= {"LINE", "ARC", "CIRCLE", "LWPOLYLINE", "POLYLINE", "TEXT", "DIMENSION"}, path.name
        assert {entity.dxf.layer for entity in document.modelspace()} <= set(PENS), path.name
        if path.stem.startswith(CUT):
            assert not kinds & {"TEXT", "DIMENSION"}, f"{path.name} is to be cut, not read"
        for outline in document.modelspace().query("LWPOLYLINE"):
            assert outline.closed or outline.dxf.layer in OPEN, f"{path.name}: {outline.dxf.layer}"


def test_svg_is_in_mm_with_our_layers_as_groups(made: Path) -> None:
    for path in files(made, "svg"):
        root = ET.parse(path).getroot()
        assert root.get("width", "").endswith("mm"), path.name
        if path.stem == "cents":
            continue  # a chart, not a drawing
        groups = {g.get("id") for g in root.iter("{http://www.w3.org/2000/svg}g")} - {None}
        assert groups <= set(PENS), path.name
        assert not [e for e in root.iter() if e.get("transform") and not e.tag.endswith("text")], path.name


def test_pdf_opens_and_asks_for_no_scaling(made: Path) -> None:
    for path in files(made, "pdf"):
        reader = PdfReader(path)
        assert len(reader.pages) >= 1
        wish = reader.trailer["/Root"].get("/ViewerPreferences")
        if path.stem != "cents":
            assert wish is not None, path.name
            assert wish["/PrintScaling"] == "/None", path.name


def test_step_holds_valid_named_solids_and_stl_is_watertight(made: Path) -> None:
    import cadquery

    for path in files(made, "step"):
        read = cadquery.importers.importStep(str(path))
        names = re.findall(r"PRODUCT\('([^']*)'", path.read_text())
        assert all(re.fullmatch(r"Loan fleet \d\d - [A-Za-z0-9 ._-]+ - [A-Za-z0-9 ._-]+", name) for name in names)
        assert read.solids().size() == len(set(names)), path.name
        assert len(names) == 1 or path.stem == "press-caul", path.name
        for solid in read.solids().vals():
            assert solid.isValid(), path.name
            assert solid.Volume() > 100, path.name
    for path in files(made, "stl"):
        assert trimesh.load(path).is_watertight, path.name


def test_tables_agree_with_numbers_json(made: Path) -> None:
    numbers = json.loads((made / "numbers.json").read_text())
    frets = list(csv.DictReader(io.StringIO((made / "frets.csv").read_text())))
    assert [float(row["from_nut"]) for row in frets] == [fret["from_nut"] for fret in numbers["frets"]]
    strings = list(csv.DictReader(io.StringIO((made / "strings.csv").read_text())))
    assert [float(row["floor_above_seat"]) for row in strings] == [s["floor_above_seat"] for s in numbers["strings"]]
    wire = list(csv.DictReader(io.StringIO((made / "wire.csv").read_text())))
    assert len(wire) >= len(frets), "a piece for every fret, spares besides"
    for fret in numbers["frets"]:
        assert all(not isinstance(v, float) or math.isfinite(v) for v in fret.values())


def test_template_has_one_slot_line_per_fret_where_the_numbers_say(made: Path) -> None:
    numbers = json.loads((made / "numbers.json").read_text())
    lines = ezdxf.readfile(made / "fret-template.dxf").modelspace().query("LINE[layer=='SLOT_CENTRE']")
    assert len(lines) == len(numbers["frets"])
    places = []
    for line in lines:
        (x0, y0, _), (x1, y1, _) = line.dxf.start, line.dxf.end
        places.append(x0 - y0 * (x1 - x0) / (y1 - y0))
    wanted = sorted(fret["from_nut"] for fret in numbers["frets"])
    assert sorted(places) == pytest.approx(wanted, abs=2e-6)


@pytest.mark.parametrize("path", FLEET, ids=lambda p: p.stem)
def test_no_label_lies_over_a_line_or_another_label(path: Path) -> None:
    _, work = job.compute(str(path))
    for part in PARTS:
        for product in part.make(work):
            if isinstance(product, Sheet) and product.drawing.kind == "drawing":
                assert overlaps(product.drawing) == [], f"{part.name} {product.stem}"
