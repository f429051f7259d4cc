"""SVG read as XML, and measured in a browser."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest
from sample_sheets import cut, shapes, strip

from templategen.drawing.model import Drawing
from templategen.writers import svg

NS = {"s": "http://www.w3.org/2000/svg"}
PX_PER_MM = 96 / 25.4  # CSS Values and Units: 1 in = 96 px


def root(drawing: Drawing) -> ET.Element:
    return ET.fromstring(svg.encode(drawing))


@pytest.mark.parametrize("drawing", [strip(), shapes(), cut()], ids=lambda d: d.name)
def test_size_is_paper_mm_and_view_box_true_mm(drawing: Drawing) -> None:
    top = root(drawing)
    x, y, width, height = map(float, top.get("viewBox").split())
    assert (x, y) == (0, 0)
    assert float(top.get("width").removesuffix("mm")) == pytest.approx(width * drawing.scale)
    assert float(top.get("height").removesuffix("mm")) == pytest.approx(height * drawing.scale)


@pytest.mark.parametrize("drawing", [strip(), shapes(), cut()], ids=lambda d: d.name)
def test_plain_attributes_only(drawing: Drawing) -> None:
    text = svg.encode(drawing).decode()
    assert "style" not in text
    assert "class=" not in text
    assert set(re.findall(r'transform="(\w+)', text)) <= {"rotate"}  # of upright lettering
    for found in re.findall(r'"([-\d. ]+)"', text):
        assert not any(re.fullmatch(r"-0(\.0*)?", number) for number in found.split())


def test_one_group_a_layer() -> None:
    top = root(shapes())
    assert [group.get("id") for group in top.findall("s:g", NS)] == [layer.name for layer in shapes().layers]
    centre = top.find("s:g[@id='CENTRELINE']", NS)
    assert float(centre.get("stroke-width")) == 0.25 / 5
    assert [float(v) for v in centre.get("stroke-dasharray").split()] == [12 / 5, 2.5 / 5, 0.5 / 5, 2.5 / 5]


def test_contours_are_closed_and_arcs_are_arcs() -> None:
    outline = root(shapes()).find("s:g[@id='OUTLINE']", NS)
    contour, arc = (path.get("d") for path in outline.findall("s:path", NS))
    assert contour.endswith("Z")
    # circular segment, any handbook: r = s/2 + c²/(8s); from right to left over the top, seen with y down: sweep 0
    assert re.search(r"A 101 101 0 0 0 ", contour)
    assert re.search(r"A 2 2 0 1 0 ", arc)  # 260 degrees: the large arc


def test_title_and_words() -> None:
    top = root(strip())
    assert top.findtext("s:title", None, NS) == "Strip of the loan fleet"
    assert top.findtext("s:desc", None, NS).splitlines() == ["Slots 0.58 mm wide.", "Clamp the work before sawing."]


def test_cut_file_has_no_text() -> None:
    assert not root(cut()).findall(".//s:text", NS)


SCRIPT = """
<body style="margin:0">%s<script>
const rects = {};
for (const group of document.querySelectorAll("svg > g")) {
  rects[group.id] = [...group.children].map(e => e.getBoundingClientRect()).map(r => [r.x, r.y, r.width, r.height]);
}
const whole = document.querySelector("svg").getBoundingClientRect();
document.body.innerHTML = "<pre>" + JSON.stringify({size: [whole.width, whole.height], rects}) + "</pre>";
</script></body>
"""


@pytest.fixture(scope="module")
def measured(tmp_path_factory):
    if not shutil.which("chromium"):
        pytest.skip("chromium is missing: apt-get install chromium")

    def measure(drawing: Drawing):
        folder: Path = tmp_path_factory.mktemp("browser")
        page = folder / "page.html"
        body = svg.encode(drawing).decode().split("?>", 1)[1]
        page.write_text('<meta charset="utf-8">' + SCRIPT % body, encoding="utf-8")
        done = subprocess.run(
            ["chromium", "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
             "--disable-background-networking", "--disable-component-update", "--disable-sync",
             f"--user-data-dir={folder / 'profile'}", "--dump-dom", page.as_uri()],
            check=True, capture_output=True, timeout=120, text=True,
        )  # fmt: skip
        return json.loads(re.search(r"<pre>(.*)</pre>", done.stdout)[1])

    return measure


def test_a_browser_shows_true_millimetres(measured) -> None:
    seen = measured(strip())
    slots = [(x + width / 2) / PX_PER_MM for x, _, width, _ in seen["rects"]["SLOT_CENTRE"]]
    assert len(slots) == 25
    for i, slot in enumerate(slots):
        assert slot - slots[0] == pytest.approx(19.0 * i, abs=0.1 * max(1, 19 * i) / 100)
    assert seen["rects"]["SLOT_CENTRE"][3][3] / PX_PER_MM == pytest.approx(44.0, abs=0.05)


def test_a_browser_shows_scale_and_lettering(measured) -> None:
    seen = measured(shapes())
    circle = seen["rects"]["OUTLINE"][1]
    assert circle[2] / PX_PER_MM == pytest.approx(5 * 6.0, abs=0.1)
    outline = seen["rects"]["OUTLINE"][0]
    assert outline[2] / PX_PER_MM == pytest.approx(5 * 40.0, abs=0.1)
    assert outline[3] / PX_PER_MM == pytest.approx(5 * 12.0, abs=0.1)  # 2 mm of bow on top
