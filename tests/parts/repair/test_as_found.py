"""The sheet to measure with, and what was measured as sheet, CSV and numbers.json."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest
from places import SPECS
from pypdf import PdfReader

from templategen import job
from templategen.errors import SpecError


@pytest.mark.parametrize(("paper", "width"), [("A4", 595.276), ("Letter", 612.0)])
def test_the_blank_sheet_has_a_page_for_each_position(tmp_path: Path, paper: str, width: float) -> None:
    """ISO 216 and ASME Y14.1: A4 is 595.276 pt wide, Letter 612."""
    survey, sheet = job.new_survey(str(tmp_path / "found.toml"), "Loan fleet 60", 24, 6, paper)
    pages = PdfReader(sheet).pages
    assert len(pages) == 4
    assert float(pages[0].mediabox.width) == pytest.approx(width, abs=0.01)
    for page, says in zip(pages, ("playing position", "strings on", "strings off", "Frets out"), strict=True):
        assert says in page.extract_text()
    assert job.survey(survey)  # it loads as it is
    for path in (survey, sheet):
        before = Path(path).read_bytes()
        with pytest.raises(SpecError, match="already there"):
            job.new_survey(survey, "again")
        assert Path(path).read_bytes() == before


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("as-found")
    return job.make(str(SPECS / "fleet-31.toml"), out, only=["as-found", "tables"]).folder


def test_csv_and_numbers_agree(made: Path) -> None:
    numbers = json.loads((made / "numbers.json").read_text(encoding="utf-8"))["as_found"]
    rows = list(csv.DictReader(io.StringIO((made / "as-found.csv").read_text(encoding="utf-8"))))
    frets = {int(row["fret_or_string"]): row for row in rows if row["what"] == "fret"}
    assert len(frets) == len(numbers["frets"])
    for fret in numbers["frets"]:
        row = frets[fret["fret"]]
        assert float(row["value"]) == pytest.approx(fret["read"], abs=1e-4)
        assert float(row["off"]) == pytest.approx(fret["off"], abs=1e-4)
        assert float(row["off_cents"]) == pytest.approx(fret["off_cents"], abs=1e-4)
        assert (row["outlier"] == "yes") == fret["outlier"]
        assert fret["off"] == pytest.approx(fret["read"] - fret["fitted"], abs=1e-8)
    assert [fret["fret"] for fret in numbers["frets"] if fret["outlier"]] == [7, 14]
    (scale,) = (row for row in rows if row["what"] == "scale")
    assert float(scale["value"]) == pytest.approx(numbers["scale_length"], abs=1e-4)
    assert float(scale["pm"]) == pytest.approx(numbers["scale_length_pm"], abs=1e-4)
    for station in numbers["radius"]:
        assert station["low"] < station["radius"] < station["high"]
    assert numbers["shape"] == "cylinder"
    assert numbers["rule"] == "12 equal steps to the octave"
    assert set(numbers["relief"]) >= {"depth", "pm", "at"}


def test_the_sheet_says_what_is_out_of_place(made: Path) -> None:
    words = " ".join(page.extract_text() for page in PdfReader(made / "as-found.pdf").pages)
    words = " ".join(words.split())
    assert "Fret 7 stands 1.58 mm" in words
    assert words.count("out of place") == 2
