"""What is to be decided stands on the sheets of the parts that it touches, in every format, and on no other."""

from __future__ import annotations

import io
import re
import xml.etree.ElementTree as ET
from typing import Any

import ezdxf
import pytest
from making import instrument, spec_file, work_of
from overlapping import overlaps
from pypdf import PdfReader

from templategen.cli import main
from templategen.drawing.paper.pages import paginate
from templategen.drawing.paper.sizes import PAPERS
from templategen.findings.catalogue import catalogue
from templategen.parts.common.product import Sheet
from templategen.parts.register import PARTS
from templategen.writers import dxf, pdf, svg

CASES: list[tuple[str, dict[str, Any]]] = [
    ("thin-nut", {"nut.thickness": 1.9}),
    ("string-near-edge", {"nut.edge_margin": {"bass": 2.0, "treble": 3.2}}),
    ("marker-too-large", {"fret_wire.marker_diameter": 11.5}),
    ("thin-web", {"scale.fret_count": 24, "fret_wire.crown_width": 2.0, "notched_strip.pin": 8.5}),
]


def words(text: str) -> str:
    return re.sub(r"\s+", "", text)


def text_of(sheet: Sheet, way: str) -> str:
    if way == "pdf":
        pages = PdfReader(io.BytesIO(pdf.encode(paginate(sheet.drawing, PAPERS["A4"]), "title"))).pages
        return words(" ".join(page.extract_text() for page in pages))
    if way == "svg":
        tree = ET.fromstring(svg.encode(sheet.drawing))
        return words(" ".join(node.text or "" for node in tree.iter("{http://www.w3.org/2000/svg}text")))
    document = ezdxf.read(io.StringIO(dxf.encode(sheet.drawing).decode("cp1252")))
    return words(" ".join(text.dxf.text for text in document.modelspace().query("TEXT")))


@pytest.mark.parametrize(("code", "changes"), CASES, ids=[code for code, _ in CASES])
def test_it_is_printed_on_the_sheets_it_touches_and_on_no_other(code: str, changes: dict[str, Any]) -> None:
    work = work_of(instrument(changes))
    (told,) = [finding for finding in work.findings if finding.code == code]
    assert told.level == "decide"
    assert told.parts == catalogue()[code].parts
    printed = set()
    for part in PARTS:
        assert (told in work.findings_for(part.name)) == (part.name in told.parts)
        for product in part.make(work):
            if isinstance(product, Sheet) and product.drawing.kind == "drawing":
                for way in set(product.formats) & {"pdf", "svg", "dxf"}:
                    if words(told.message) in text_of(product, way):
                        printed.add((part.name, product.stem, way))
                    else:
                        assert part.name not in told.parts, (product.stem, way)
                assert overlaps(product.drawing) == []
    sheets = {part for part, _, _ in printed}
    assert sheets <= set(told.parts)
    assert sheets, "no sheet says it"


def test_notes_stay_off_the_sheets_and_cut_files_hold_no_words() -> None:
    work = work_of(instrument({"nut.thickness": 1.9}))
    for part in PARTS:
        for product in part.make(work):
            if isinstance(product, Sheet):
                wanted = [f.message for f in work.findings_for(part.name) if f.level == "decide"]
                assert list(product.drawing.to_decide) == wanted
                if product.drawing.kind == "cut" and "svg" in product.formats:
                    assert text_of(product, "svg") == ""


def test_tiles_say_where_the_decision_is_told() -> None:
    """A tiled sheet whose words went to a page of their own still says that something is to be decided."""
    work = work_of(instrument({"fret_wire.marker_diameter": 11.5}))
    (template,) = [p for part in PARTS if part.name == "fret-template" for p in part.make(work)]
    assert isinstance(template, Sheet)
    pages = paginate(template.drawing, PAPERS["A4"])
    read = PdfReader(io.BytesIO(pdf.encode(pages, "title"))).pages
    assert len(read) > 1
    for page in read[:2]:
        assert "Todecide" in words(page.extract_text())


def test_make_ends_with_what_is_to_decide(tmp_path: Any, capsys: pytest.CaptureFixture[str]) -> None:
    with spec_file({"nut.thickness": 1.9, "kind": "mandolin"}, name="one") as one, spec_file({}, name="two") as two:
        assert main(["make", one, two, "--only", "tables", "--out", str(tmp_path)]) == 0
        told = capsys.readouterr().out.splitlines()
    assert told[-2] == f"{tmp_path / 'one'}: 1 finding to decide"
    assert told[-1].startswith("  decide: The nut is only 1.90 mm (0.075 in) thick;")
    assert sum("decide" in line for line in told) == 2
    assert any(line.startswith("  note: Relief 0.20 mm") for line in told[:-2])
