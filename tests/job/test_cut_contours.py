"""A cut file whose contour crosses itself is never written; the rest is."""

from __future__ import annotations

from pathlib import Path

import pytest
from making import spec_file

from templategen import job
from templategen.drawing.model import Outline, Sketch
from templategen.instrument.model import Instrument
from templategen.parts.board import slot_outline


def test_a_crossing_contour_is_missing_and_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    true = slot_outline._sketch

    def crossing(instrument: Instrument, kerf: float) -> Sketch:
        drawn = true(instrument, kerf)
        drawn.add("OUTLINE", Outline.polygon(((0.0, 0.0), (10.0, 10.0), (10.0, 0.0), (0.0, 10.0))))
        return drawn

    monkeypatch.setattr(slot_outline, "_sketch", crossing)
    with spec_file() as path:
        made = job.make(path, tmp_path, only=["slot-outline", "slot-path"])
    assert [name for name, _ in made.missing] == [
        f"slot-outline{beam}.{kind}" for beam in ("", "-beam") for kind in ("dxf", "svg")
    ]
    assert "(5.000, 5.000)" in made.missing[0][1]
    assert (made.folder / "slot-path.dxf").exists()
    assert not (made.folder / "slot-outline.dxf").exists()
