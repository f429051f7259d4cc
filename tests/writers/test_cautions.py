"""What can hurt somebody is lettered on every drawing, in each format once; nothing is lettered on what is cut."""

from __future__ import annotations

import io
from dataclasses import replace
from xml.etree import ElementTree

import ezdxf
import pytest
from overlapping import overlaps
from pypdf import PdfReader

from templategen.drawing.alone import with_cautions
from templategen.drawing.model import Box, Drawing, Layer, Line, Outline, Pen
from templategen.drawing.paper.pages import PAPERS, paginate
from templategen.writers import dxf, pdf, svg

SAID = ("Sawing: keep hands behind the teeth.", "Local rules come first.")
BOARD = Drawing(
    "board", "Board", (Layer("OUTLINE", Pen(0.35), (Outline.rectangle(Box(0.0, 0.0, 150.0, 40.0)),)),), cautions=SAID
)


def in_svg(drawing: Drawing) -> list[str]:
    root = ElementTree.fromstring(svg.encode(drawing))
    return [text.text or "" for text in root.iter("{http://www.w3.org/2000/svg}text")]


def in_dxf(drawing: Drawing) -> list[str]:
    document = ezdxf.read(  # type: ignore[attr-defined]
        io.StringIO(dxf.encode(drawing).decode("cp1252"))
    )
    return [entity.dxf.text for entity in document.modelspace().query('TEXT[layer=="TEXT"]')]


def test_svg_and_dxf_have_them_as_lettering_and_a_page_has_them_once() -> None:
    assert in_svg(BOARD) == in_dxf(BOARD) == list(SAID)
    pages = pdf.encode(paginate(BOARD, PAPERS["A4"]), "Board")
    (page,) = PdfReader(io.BytesIO(pages)).pages
    text = " ".join(page.extract_text().split())
    assert [text.count(line) for line in SAID] == [1, 1]


def test_a_cut_file_has_none() -> None:
    cut = replace(BOARD, kind="cut")
    assert in_svg(cut) == in_dxf(cut) == []
    assert with_cautions(cut) is cut


@pytest.mark.parametrize("scale", [1.0, 2.0, 0.5])
def test_they_stand_clear_under_the_drawing(scale: float) -> None:
    slanted = Layer("SLOT_CENTRE", Pen(0.25), (Line((-20.0, -7.0), (400.0, 90.0)),))
    wide = replace(BOARD, scale=scale, layers=(*BOARD.layers, slanted), cautions=(" ".join(SAID * 9),))
    said = with_cautions(wide)
    assert overlaps(said) == []
    texts = list(said.layer("TEXT").shapes)
    assert len(texts) > 1
    assert said.bounds().y1 == wide.bounds().y1
