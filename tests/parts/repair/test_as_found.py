"""The sheet to measure with, and what was measured as sheet, CSV and numbers.json."""

from __future__ import annotations

import csv
import io
import json
import math
import re
from pathlib import Path

import numpy as np
import pytest
from making import work
from overlapping import overlaps
from places import SPECS
from pypdf import PdfReader

from templategen import job
from templategen.drawing.model import Circle, Drawing, Line, Text
from templategen.drawing.paper.pages import PAPERS, paginate
from templategen.errors import SpecError
from templategen.job.make import compute
from templategen.parts.common.product import Sheet
from templategen.parts.repair import as_found
from templategen.repair.model import Bench


@pytest.mark.parametrize("strings", [6, 12])
@pytest.mark.parametrize(("paper", "width"), [("A4", 595.276), ("Letter", 612.0)])
def test_the_blank_sheet_has_a_page_for_each_position(tmp_path: Path, paper: str, width: float, strings: int) -> None:
    """ISO 216 and ASME Y14.1: A4 is 595.276 pt wide, Letter 612."""
    survey, sheet = job.new_survey(str(tmp_path / "found.toml"), "Loan fleet 60", 24, strings, paper)
    pages = PdfReader(sheet).pages
    assert len(pages) == 4
    assert float(pages[0].mediabox.width) == pytest.approx(width, abs=0.01)
    for page, says in zip(pages, ("playing position", "strings on", "strings off", "Frets out"), strict=True):
        assert says in page.extract_text()
    with pytest.raises(SpecError, match="has no readings"):
        job.survey(survey)
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
    assert "+1.58" in words
    html = " ".join((made / "as-found.html").read_text(encoding="utf-8").split())
    assert html.count("out of place") == 2


# ------------------------------------------------------------------------------------------------------- the sheet

SURVEYED = ("07", "23", "26", "31", "52")


def leaves(number: str) -> tuple[Bench, tuple[Drawing, ...]]:
    _, work = compute(str(SPECS / f"fleet-{number}.toml"))
    (sheet,) = [p for p in as_found.make(work) if isinstance(p, Sheet)]
    assert overlaps(sheet.drawing) == []
    return work.bench, sheet.leaves


@pytest.mark.parametrize("number", SURVEYED)
def test_one_sheet_that_is_clear(number: str) -> None:
    _, drawn = leaves(number)
    assert len(drawn) == 1
    assert overlaps(drawn[0]) == []
    for paper in ("A4", "Letter"):
        assert len(paginate(drawn[0], PAPERS[paper])) == 1


def lines_of(drawing: Drawing, layer: str) -> list[Line]:
    return [s for s in drawing.layer(layer).shapes if isinstance(s, Line)]


def named(drawing: Drawing, title: str, until: float) -> dict[str, float]:
    """x of every place's name under a panel, by the name; the panel's title stands at its top left."""
    (head,) = [s for s in drawing.layer("TEXT").shapes if isinstance(s, Text) and s.text.startswith(title)]
    below = [s for s in drawing.layer("TEXT").shapes
             if isinstance(s, Text) and s.anchor == "middle" and head.at[1] - until < s.at[1] < head.at[1]]  # fmt: skip
    return {s.text: s.at[0] for s in below}


def test_bars_of_frets_are_their_residuals() -> None:
    """Every bar over its own fret's number, as tall as the fret is off, on one scale; the two out of place ringed."""
    bench, (drawn,) = leaves("31")
    assert bench.found is not None
    assert bench.found.frets is not None
    (line,) = bench.found.frets.lines
    at = named(drawn, "Frets off their place", 40.0)
    zero = next(s for s in lines_of(drawn, "OUTLINE") if abs(s.start[1] - s.end[1]) < 1e-9)
    bars = {round(s.start[0], 6): s.end[1] - s.start[1] for s in lines_of(drawn, "NUT_FRONT")
            if s.start[0] == s.end[0] and s.start[1] == pytest.approx(zero.start[1])}  # fmt: skip
    limits = [s for s in lines_of(drawn, "DIMENSION") if abs(s.start[1] - zero.start[1]) < 15]
    kept = [f for f in line.frets if not f.outlier]
    per_mm = bars[round(at[str(kept[0].fret)], 6)] / kept[0].off
    assert per_mm > 0
    for fret in kept:
        x = at[str(fret.fret)]
        assert bars.get(round(x, 6), 0.0) == pytest.approx(fret.off * per_mm, abs=1e-6)
        own = sorted(s.start[1] - zero.start[1] for s in limits if (s.start[0] + s.end[0]) / 2 == pytest.approx(x))
        assert own[0] == pytest.approx(-2 * fret.u_off * per_mm)
        assert own[-1] == pytest.approx(2 * fret.u_off * per_mm)
    rings = [s for s in drawn.layer("OUTLINE").shapes if isinstance(s, Circle)]
    assert sorted(r.centre[0] for r in rings) == pytest.approx(sorted(at[str(f.fret)] for f in line.outliers))
    for fret in line.outliers:
        (said,) = [s for s in drawn.layer("TEXT").shapes if isinstance(s, Text) and s.text == f"{fret.off:+.2f}"]
        assert abs(said.at[0] - at[str(fret.fret)]) < 3.0


def test_dots_stand_at_their_readings_and_dashes_at_the_targets() -> None:
    bench, (drawn,) = leaves("07")
    assert bench.found is not None
    strings = bench.found.strings
    assert strings is not None
    assert strings.action is not None
    assert strings.first_fret is not None
    line = bench.instrument.line
    for title, read, wanted in (
        ("Action over 12", strings.action, line.action),
        ("Over fret 1", strings.first_fret, line.first_fret_clearance),
    ):
        (head,) = [s for s in drawn.layer("TEXT").shapes if isinstance(s, Text) and s.text.startswith(title)]
        right = min([s.at[0] for s in drawn.layer("TEXT").shapes if isinstance(s, Text) and s.bold
                     and s.at[1] == head.at[1] and s.at[0] > head.at[0]], default=math.inf)  # fmt: skip

        def inside(x: float, y: float, at: tuple[float, float] = head.at, right: float = right) -> bool:
            return at[0] < x < right and at[1] - 40 < y < at[1]

        dots = sorted(s.centre for s in drawn.layer("POINT").shapes if isinstance(s, Circle) and inside(*s.centre))
        dashes = sorted(
            ((s.start[0] + s.end[0]) / 2, s.start[1]) for s in lines_of(drawn, "NUT_FRONT") if inside(*s.start)
        )
        values = [each.value for each in read if each is not None]
        scale = (dots[-1][1] - dots[0][1]) / (values[-1] - values[0])
        assert [y - dots[0][1] for _, y in dots] == pytest.approx([(v - values[0]) * scale for v in values])
        assert [y - dots[0][1] for _, y in dashes] == pytest.approx([(v - values[0]) * scale for v in wanted])
        assert [x for x, _ in dots] == pytest.approx([x for x, _ in dashes])
        for (x, y), each in zip(dots, read, strict=True):
            assert each is not None
            (bar,) = [s for s in lines_of(drawn, "DIMENSION")
                      if s.start[0] == s.end[0] == pytest.approx(x) and inside(*s.start)]  # fmt: skip
            assert sorted((bar.start[1] - y, bar.end[1] - y)) == pytest.approx([-each.pm * scale, each.pm * scale])


def test_an_inch_job_is_drawn_and_told_in_inches() -> None:
    _, (drawn,) = leaves("23")
    words = " ".join(s.text for s in drawn.layer("TEXT").shapes if isinstance(s, Text))
    assert "Frets off their place, bass line, in" in words
    assert not re.search(r"\d mm (?!\()", words.replace(" mm)", ""))


def test_crowns_on_one_scale_and_pages_for_many_lines() -> None:
    """Both lines' figures are the same; twelve lines take pages of their own, and nothing is lost."""
    _, (drawn,) = leaves("07")
    words = [s.text for s in drawn.layer("TEXT").shapes if isinstance(s, Text)]
    assert words.count("-0.2") == 2 + 1  # and one of the frets'
    gaps = {str(n): [0.01 * (n % 3)] * 6 for n in range(1, 22)}
    survey = {"crowns": {"lines": [1, 2, 3, 4, 5, 6], "under_straightedge": gaps},
              "frets": {"centre": {str(n): round(640 * (1 - 2 ** (-n / 12)), 1) for n in range(1, 22)}}}  # fmt: skip
    (sheet,) = [p for p in as_found.make(work({"survey": survey})) if isinstance(p, Sheet)]
    assert len(sheet.leaves) <= 2
    said = " ".join(s.text for leaf in sheet.leaves for s in leaf.layer("TEXT").shapes if isinstance(s, Text))
    assert all(f"Crowns along line {n}, mm" in said for n in range(1, 7))
    assert all(overlaps(leaf) == [] for leaf in sheet.leaves)


def test_spacing_and_gaps_held_down_have_their_panels() -> None:
    """Strings at the nut off the spec's places as bars, string 3 by 0.4 toward the treble side; gaps with targets."""
    from making import instrument

    i = instrument()
    read = np.linalg.norm(i.plan.string_nut - i.plan.nut_bass_end, axis=1).round(2)
    read[2] += 0.4
    survey = {"strings": {"at_nut": read.tolist(), "pressed": [0.1, 0.1, 0.1, 0.1, 0.1, 0.1]}}
    (sheet,) = [p for p in as_found.make(work({"survey": survey})) if isinstance(p, Sheet)]
    (drawn,) = sheet.leaves
    assert overlaps(drawn) == []
    (head,) = [s for s in drawn.layer("TEXT").shapes if isinstance(s, Text) and s.text == "Off at nut, mm"]
    bars = {round(s.start[0], 3): s.end[1] - s.start[1] for s in lines_of(drawn, "NUT_FRONT")
            if s.start[0] == s.end[0] and s.start[0] > head.at[0]}  # fmt: skip
    names = {s.text: round(s.at[0], 3) for s in drawn.layer("TEXT").shapes
             if isinstance(s, Text) and s.anchor == "middle" and s.at[0] > head.at[0]}  # fmt: skip
    assert max(bars, key=bars.__getitem__) == names["3"]
    assert all(abs(tall) < bars[names["3"]] / 10 for x, tall in bars.items() if x != names["3"])
    dashes = [s for s in lines_of(drawn, "NUT_FRONT") if s.start[1] == s.end[1]]
    assert len(dashes) == 6, "a target for each string's gap held down"
    tall = np.array(sorted((d.start[0], d.start[1]) for d in dashes))[:, 1]
    assert np.diff(tall) / (tall[-1] - tall[0]) == pytest.approx(
        np.diff(i.line.pressed_gap) / (i.line.pressed_gap[-1] - i.line.pressed_gap[0])
    )
