"""The chart of cents: its data against the instrument, its files read back by other programs."""

from __future__ import annotations

import hashlib
import io
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import making
import numpy as np
import pdfplumber
import pytest
from pypdf import PdfReader

from templategen import job
from templategen.drawing.chart import Chart
from templategen.parts.sheet import cents_plot
from templategen.writers import plot

SVG = "{http://www.w3.org/2000/svg}"
XLINK = "{http://www.w3.org/1999/xlink}"
BEST = {"nut.compensation": "best_fit"}
NO_MARKERS: dict[str, Any] = {"fret_wire.markers": [], "fret_wire.doubled_markers": []}


@pytest.fixture(scope="module")
def made() -> making.Instrument:
    return making.instrument(BEST)


@pytest.fixture(scope="module")
def chart(made: making.Instrument) -> Chart:
    return cents_plot.chart(made)


@pytest.fixture(scope="module")
def svg(chart: Chart) -> ElementTree.Element:
    return ElementTree.fromstring(plot.encode(chart, "svg"))


def test_before_and_after_are_the_instruments(made: making.Instrument, chart: Chart) -> None:
    before, after = chart.panels
    for panel, cents in ((before, made.intonation.cents_uncompensated), (after, made.intonation.cents)):
        assert [group.values for group in panel.groups] == [tuple(row) for row in cents.tolist()]
        assert [group.name for group in panel.groups] == ["1: E4", "2: B3", "3: G3", "4: D3", "5: A2", "6: E2"]
        assert all(group.firm == (True,) * 12 + (False,) * 9 for group in panel.groups)
    assert "13 to 21" in chart.legend[0]
    assert "hollow" not in cents_plot.chart(making.instrument({"intonation.fit_to_fret": 21})).legend[0]


def dots(svg: ElementTree.Element) -> list[tuple[float, float]]:
    """Places of all markers, in the order drawn: full and hollow of the first panel, then of the second."""
    return [(float(use.get("x", "nan")), float(use.get("y", "nan"))) for use in svg.iter(f"{SVG}use")]


def test_every_note_is_a_dot_at_its_height(chart: Chart, svg: ElementTree.Element) -> None:
    expected, rises = [], []
    for panel in chart.panels:
        values = [
            value
            for firm in (True, False)
            for group in panel.groups
            for value, is_firm in zip(group.values, group.firm, strict=True)
            if is_firm == firm
        ]
        drawn = np.array(dots(svg)[len(expected) : len(expected) + len(values)])[:, 1]
        expected += values
        slope, start = np.polyfit(values, drawn, 1)
        # one straight scale for all strings of a panel, sharp upward (an SVG's y runs down)
        assert drawn == pytest.approx(start + slope * np.array(values), abs=1e-3)
        rises.append(-slope)
    assert len(dots(svg)) == len(expected) == 2 * 6 * 21
    assert rises[1] > rises[0] > 0  # what is left is small, and drawn larger


def test_the_sheet_is_in_mm_and_reads_in_grey(svg: ElementTree.Element) -> None:
    text = ElementTree.tostring(svg, encoding="unicode")
    assert (svg.get("width"), svg.get("height"), svg.get("viewBox")) == ("281mm", "190mm", "0 0 281 190")
    colours = set(re.findall(r"#[0-9a-f]{6}", text))
    assert len(colours) > 2
    assert all(colour[1:3] == colour[3:5] == colour[5:7] for colour in colours)
    faces = set(re.findall(r"font-family: ([^;\"]+)", text))
    assert faces == {"Helvetica, Arial, sans-serif"}


def test_the_pdf_is_one_page_with_all_words(made: making.Instrument, chart: Chart) -> None:
    data = plot.encode(chart, "pdf")
    with pdfplumber.open(io.BytesIO(data)) as pdf:
        assert len(pdf.pages) == 1
        page = pdf.pages[0]
        text = page.extract_text()
        assert all(char["x0"] >= 0 and char["x1"] <= page.width for char in page.chars)
        assert {char["fontname"] for char in page.chars} == {"Helvetica"}
    for words in (chart.title, "1: E4", "6: E2", made.trace.split("  ")[0], "root mean square"):
        assert words in text
    told = PdfReader(io.BytesIO(data)).metadata
    assert told is not None
    assert dict(told) == {"/Title": chart.title, "/Creator": "templategen", "/Producer": "templategen"}


def test_signs_of_other_scripts_and_long_titles_stay_on_the_page() -> None:
    long = cents_plot.chart(making.instrument({"title": "Школьный прокат 07: новый порожек, " * 5}))
    with pdfplumber.open(io.BytesIO(plot.encode(long, "pdf"))) as pdf:
        page = pdf.pages[0]
        assert "Школьный прокат" in page.extract_text()
        assert max(char["x1"] for char in page.chars) <= page.width
    assert "Школьный прокат" in plot.encode(long, "svg").decode()


@pytest.mark.parametrize(
    "changes",
    [
        {"scale.fret_count": 2, "setup.action": {"fret": 2, "bass": 0.7, "treble": 0.6}},
        {"scale.fret_count": 144, "scale.steps_per_octave": 72},
        {"intonation.saddle": "none"},
    ],
    ids=["two frets", "144 frets", "nothing moved"],
)
def test_odd_boards_have_their_charts(changes: dict[str, Any]) -> None:
    made = making.instrument({**NO_MARKERS, **changes})
    svg = ElementTree.fromstring(plot.encode(cents_plot.chart(made), "svg"))
    assert len(dots(svg)) == 12 * made.spec.scale.fret_count


PROGRAM = "from test_cents_plot import digests; print(*digests())"


def digests() -> list[str]:
    chart = cents_plot.chart(making.instrument(BEST))
    return [hashlib.sha256(plot.encode(chart, kind)).hexdigest() for kind in ("svg", "pdf")]


def test_same_bytes_in_other_processes() -> None:
    here = digests()
    assert digests() == here
    folder = Path(__file__).parent
    for seed, zone in (("1", "Pacific/Auckland"), ("4242", "America/St_Johns")):
        env = {**os.environ, "PYTHONHASHSEED": seed, "TZ": zone, "PYTHONPATH": os.pathsep.join(sys.path)}
        program = [sys.executable, "-c", PROGRAM]
        done = subprocess.run(program, check=True, capture_output=True, text=True, cwd=folder, env=env)
        assert done.stdout.split() == here
        assert done.stderr == ""


def test_the_plotting_library_waits_until_a_chart_is_asked_for(tmp_path: Path) -> None:
    program = (
        "import sys; from templategen import job; "
        f"job.make(sys.argv[1], {str(tmp_path / 'saddle')!r}, only=['saddle']); "
        "print('matplotlib' in sys.modules)"
    )
    with making.spec_file() as path:
        done = subprocess.run([sys.executable, "-c", program, path], check=True, capture_output=True, text=True)
        assert done.stdout.strip() == "False"
        made = job.make(path, tmp_path / "cents", only=["cents-plot"])
    assert [name for name, _ in made.files] == ["cents.pdf", "cents.svg"]
