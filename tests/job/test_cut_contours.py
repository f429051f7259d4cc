"""A cut file whose contour crosses itself is never written; the rest is."""

from __future__ import annotations

from pathlib import Path

import pytest
from making import spec_file

from templategen import job
from templategen.drawing.model import Drawing, Outline
from templategen.parts.board import slot_outline


def test_a_crossing_contour_is_missing_and_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    true = slot_outline.draw

    def crossing(instrument: object) -> Drawing:
        drawing = true(instrument)  # type: ignore[arg-type]
        layer = drawing.layers[0]
        bow = Outline.polygon(((0.0, 0.0), (10.0, 10.0), (10.0, 0.0), (0.0, 10.0)))
        whole = type(layer)(layer.name, layer.pen, (*layer.shapes, bow))
        return type(drawing)(drawing.name, drawing.title, (whole, *drawing.layers[1:]), kind="cut")

    monkeypatch.setattr(slot_outline, "draw", crossing)
    with spec_file() as path:
        made = job.make(path, tmp_path, only=["slot-outline", "slot-path"])
    assert [name for name, _ in made.missing] == ["slot-outline.dxf", "slot-outline.svg"]
    assert "(5.000, 5.000)" in made.missing[0][1]
    assert (made.folder / "slot-path.dxf").exists()
    assert not (made.folder / "slot-outline.dxf").exists()
