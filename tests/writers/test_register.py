"""The writers' register: whatever a part hands over has a writer, and what is not asked for is not made."""

from __future__ import annotations

from typing import get_args

import pytest
from making import instrument, work_of

from templategen.drawing.model import Drawing, Sketch
from templategen.drawing.paper.sizes import PaperSize
from templategen.errors import OurBug
from templategen.parts.common import product
from templategen.parts.common.product import Sheet
from templategen.parts.register import PARTS
from templategen.writers.register import FORMATS, WRITERS, Setting, Writer, encode


def test_every_product_has_a_writer_for_each_of_its_formats() -> None:
    work = work_of(instrument())
    asked = {(p.kind, form) for part in PARTS for p in part.make(work) for form in p.formats}
    assert asked <= set(WRITERS)
    assert FORMATS == ("dxf", "svg", "pdf", "step", "stl", "csv", "json", "html", "ngc")
    assert {kind for kind, _ in WRITERS} >= {kind.kind for kind in get_args(product.Product)}


def test_a_sheet_is_laid_out_when_it_is_asked_for_and_once() -> None:
    laid: list[Drawing] = []

    def draw() -> Drawing:
        laid.append(Drawing("plate", "Plate", (), notes=("a", "b")))
        return laid[-1]

    sheet = Sheet("plate", draw, ("dxf", "pdf"), told=("which side is up",))
    assert laid == []
    assert sheet.content("dxf") is sheet.drawing
    assert [leaf.to_decide for leaf in sheet.content("pdf")] == [("which side is up",)]
    assert (sheet.note, len(laid)) == ("a b", 1)


def test_a_writer_gets_the_settings_that_it_wants(monkeypatch: pytest.MonkeyPatch) -> None:
    """A new format is one line here, and its file."""
    seen: list[object] = []
    monkeypatch.setattr("templategen.writers.plain.spelt", lambda *got: seen.extend(got) or b"", raising=False)
    monkeypatch.setitem(WRITERS, ("text", "txt"), Writer("plain", "spelt", ("trace", "paper")))
    encode("text", "txt", "words", Setting(PaperSize(1.0, 2.0), trace="from here"))
    assert seen == ["words", "from here", PaperSize(1.0, 2.0)]


def test_solids_only_lays_out_no_drawing(monkeypatch: pytest.MonkeyPatch) -> None:
    def never(*_: object) -> None:
        raise OurBug("a drawing was laid out")

    work = work_of(instrument())
    asked = [part for part in PARTS if part.name != "radius-gauge"]  # how many sheets it has, nesting says
    monkeypatch.setattr(Sketch, "layers", never)
    assert sum("step" in p.formats for part in asked for p in part.make(work)) > 3
