"""The chart of cents: its data against the instrument, its files read back by other programs."""

from __future__ import annotations

import io
import subprocess
import sys
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import making
import numpy as np
import pdfplumber
import pytest
from calls import SET
from places import FLEET

from templategen import job
from templategen.drawing.chart import Chart
from templategen.drawing.paper.pages import paginate
from templategen.drawing.paper.sizes import PAPERS
from templategen.parts.sheet import cents_plot
from templategen.writers import pdf, svg

SVG = "{http://www.w3.org/2000/svg}"
BEST = {"nut.compensation": "best_fit"}
NO_MARKERS: dict[str, Any] = {"fret_wire.markers": [], "fret_wire.doubled_markers": []}


@pytest.fixture(scope="module")
def made() -> making.Instrument:
    return making.instrument(BEST)


@pytest.fixture(scope="module")
def chart(made: making.Instrument) -> Chart:
    return cents_plot.chart(made)


def tree(made: making.Instrument) -> ElementTree.Element:
    return ElementTree.fromstring(svg.encode(cents_plot.draw(made)))


def test_before_and_after_are_the_instruments(made: making.Instrument, chart: Chart) -> None:
    before, after = chart.panels
    for panel, cents in ((before, made.intonation.cents_uncompensated), (after, made.intonation.cents)):
        assert [group.values for group in panel.groups] == [tuple(row) for row in cents.tolist()]
        assert [group.name for group in panel.groups] == ["1: E4", "2: B3", "3: G3", "4: D3", "5: A2", "6: E2"]
        assert all(group.firm == (True,) * 12 + (False,) * 9 for group in panel.groups)
    assert "13 to 21" in " ".join(chart.legend)
    assert "hollow" not in " ".join(cents_plot.chart(making.instrument({"intonation.fit_to_fret": 21})).legend)


def dots(root: ElementTree.Element, layer: str) -> list[tuple[float, float]]:
    """Places of one layer's dots, in the order drawn."""
    found = root.findall(f".//{SVG}g[@id='{layer}']/{SVG}circle")
    return [(float(each.get("cx", "nan")), float(each.get("cy", "nan"))) for each in found]


def test_every_note_is_a_dot_at_its_height(made: making.Instrument, chart: Chart) -> None:
    root = tree(made)
    full, hollow, rises = dots(root, "POINT"), dots(root, "POINT_OPEN"), []
    assert (len(full), len(hollow)) == (2 * 6 * 12, 2 * 6 * 9)
    for number, panel in enumerate(chart.panels):
        values = [v for g in panel.groups for v, firm in zip(g.values, g.firm, strict=True) if firm]
        values += [v for g in panel.groups for v, firm in zip(g.values, g.firm, strict=True) if not firm]
        drawn = np.array([*full[number * 72 : number * 72 + 72], *hollow[number * 54 : number * 54 + 54]])[:, 1]
        slope, start = np.polyfit(values, drawn, 1)
        # one straight scale for all strings of a panel, sharp upward (an SVG's y runs down)
        assert drawn == pytest.approx(start + slope * np.array(values), abs=1e-3)
        rises.append(-slope)
    assert rises[1] > rises[0] > 0  # what is left is small, and drawn larger


def test_full_dots_are_filled_and_hollow_ones_are_not(made: making.Instrument) -> None:
    fills = {group.get("id"): group.get("fill") for group in tree(made).iter(f"{SVG}g")}
    assert fills["POINT"] != "none"
    assert fills["POINT_OPEN"] == "none"


def test_levels_stand_beside_their_lines(made: making.Instrument) -> None:
    """The figure beside every grid line is what a dot there would be worth, by the dots' own scale."""
    root = tree(made)
    values = [
        v for g in cents_plot.chart(made).panels[0].groups for v, firm in zip(g.values, g.firm, strict=True) if firm
    ]
    slope, start = np.polyfit(values, np.array(dots(root, "POINT")[:72])[:, 1], 1)
    lines = {float(line.get("y1", "nan")) for line in root.findall(f".//{SVG}g[@id='GRID']/{SVG}line")}
    figures = [
        (float(text.get("y", "nan")), float(text.text or "nan"))
        for text in root.iter(f"{SVG}text")
        if (text.text or "").lstrip("-").replace(".", "").isdigit() and text.get("text-anchor") == "end"
    ]
    told = 0
    for y in lines:
        value = (y - start) / slope
        near = [figure for at, figure in figures if abs(at - y) < 2.0]
        if near and y < min(lines) + 60:
            assert near[0] == pytest.approx(value, abs=0.05)
            told += 1
    assert told >= 3


@pytest.mark.parametrize("path", FLEET, ids=lambda path: path.stem)
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_one_page_with_all_words(path: Path, paper: str) -> None:
    made = job.compute(str(path))[1].instrument
    drawing = cents_plot.draw(made)
    with pdfplumber.open(
        io.BytesIO(pdf.encode(paginate(drawing, PAPERS[paper], trace=made.trace), drawing.title))
    ) as read:
        (page,) = read.pages
        text = page.extract_text()
        assert all(char["x0"] >= 0 and char["x1"] <= page.width for char in page.chars)
    for n, string in enumerate(made.spec.strings.set):
        assert f"{n + 1}: {string.note.text}" in text
    assert "root" in text


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
    root = tree(made)
    assert len(dots(root, "POINT")) + len(dots(root, "POINT_OPEN")) == 12 * made.spec.scale.fret_count


def test_no_plotting_library_is_loaded(tmp_path: Path) -> None:
    program = (
        "import sys; from templategen import job; "
        f"job.make(sys.argv[1], {str(tmp_path)!r}, only=['cents-plot']); print('matplotlib' in sys.modules)"
    )
    with making.spec_file() as path:
        done = subprocess.run([sys.executable, "-c", program, path], check=True, capture_output=True, text=True)
    assert done.stdout.strip() == "False"


def test_what_pressing_harder_adds_stands_by_its_string_and_guesses_are_marked() -> None:
    bare = [{key: value for key, value in string.items() if key != "core_diameter"} for string in SET]
    made = making.instrument({"strings.set": bare})
    chart = cents_plot.chart(made)
    said = " ".join(chart.legend)
    adds = made.intonation.pressed_deeper()
    marks = ["", "", "", " est.", " est.", " est."]
    each = (f"{n + 1} {s.note} +{adds[n]:.1f}{marks[n]}" for n, s in enumerate(made.strings))
    assert f"Pressed harder: {', '.join(each)} cents. Adds: each 0.2 mm (0.008 in) of fingertip" in said
    for panel in chart.panels:
        assert [group.note.endswith("est.") for group in panel.groups] == [False] * 3 + [True] * 3
    assert "mm est., nut by 0.00 mm" in chart.panels[-1].title
    assert "est." not in " ".join(cents_plot.chart(making.instrument()).legend)
