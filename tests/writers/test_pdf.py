"""PDF read by pypdf and pdfplumber, and measured in pixels as poppler prints it."""

from __future__ import annotations

import io
import shutil
import subprocess
from itertools import pairwise
from pathlib import Path

import numpy as np
import pdfplumber
import pypdf
import pytest
from PIL import Image
from sample_sheets import shapes, strip

from templategen.drawing.model import Circle, Drawing, Layer, Pen, Text
from templategen.drawing.paper.pages import PAPERS, PaperSize, calibration_page, paginate
from templategen.writers import pdf

DPI = 300
PX = DPI / 25.4  # per mm

needs_poppler = pytest.mark.skipif(
    not shutil.which("pdftoppm"), reason="pdftoppm is missing: apt-get install poppler-utils"
)


def printed(data: bytes, folder: Path) -> list[np.ndarray]:
    """The pages as darkness from 0 to 1, row 0 on top."""
    source = folder / "sheet.pdf"
    source.write_bytes(data)
    subprocess.run(["pdftoppm", "-r", str(DPI), "-gray", str(source), str(folder / "page")], check=True, timeout=120)
    return [1 - np.asarray(Image.open(page), dtype=float) / 255 for page in sorted(folder.glob("page-*.pgm"))]


def words(data: bytes) -> list[str]:
    """The text of each page, in the order it was written."""
    return [" ".join(page.extract_text().split()) for page in pypdf.PdfReader(io.BytesIO(data)).pages]


def runs(line: np.ndarray) -> list[tuple[int, int]]:
    """Dark stretches of one row or column, as (first, past the last)."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], (line > 0.3).astype(int), [0]))))
    return list(zip(edges[::2], edges[1::2], strict=True))


def ruler_length(page: np.ndarray) -> tuple[float, float]:
    """The first and last ticks of the lying ruler, in mm of paper: (mm side, inch side)."""
    for y in range(page.shape[0]):
        for a, b in runs(page[y]):
            if 97 * PX < b - a < 106 * PX:
                lengths = []
                for side in (-1, 1):
                    row = page[y + side * round(0.9 * PX), max(0, a - 9) : b + 9]
                    ticks = [row[i:j] @ np.arange(i, j) / row[i:j].sum() for i, j in runs(row)]
                    lengths.append((ticks[-1] - ticks[0]) / PX)
                return lengths[0], lengths[1]
    raise AssertionError("no ruler on the page")


def both_rulers(page: np.ndarray) -> tuple[float, ...]:
    return (*ruler_length(page), *ruler_length(np.rot90(page, -1)))


def targets(page: np.ndarray) -> list[tuple[float, float]]:
    """The centres (x, y from the top, px) of the registration marks: crosses of 8 mm with a ring of 5 mm."""
    found: list[tuple[float, float]] = []
    for y in range(page.shape[0]):
        for a, b in runs(page[y]):
            if not 7.6 * PX < b - a < 8.6 * PX:
                continue
            x = (a + b - 1) / 2
            column = page[:, round(x)]
            half = round(3.9 * PX)
            ring = page[y, :][[round(x - 2.5 * PX), round(x + 2.5 * PX)]].min()
            if (column[y - half : y + half] > 0.3).all() and ring > 0.3:
                found.append((x, y))
    # a pen covers more than one row
    return [(x, y + 0.5) for x, y in found if (x, y + 1) in found or (x, y - 1) not in found]


@pytest.mark.parametrize("name", ["A4", "Letter", "A3"])
def test_boxes_are_the_paper_to_the_point(name: str) -> None:
    data = pdf.encode(paginate(strip(), PAPERS[name]), "strip")
    for page in pypdf.PdfReader(io.BytesIO(data)).pages:
        # ISO 32000-1, 8.3.2: one unit is 1/72 in
        want = sorted((PAPERS[name].width * 72 / 25.4, PAPERS[name].height * 72 / 25.4))
        for box in (page.mediabox, page.cropbox, page.trimbox):
            assert sorted((float(box.width), float(box.height))) == pytest.approx(want, abs=1e-3)


def test_no_scaling_and_plain_properties() -> None:
    reader = pypdf.PdfReader(io.BytesIO(pdf.encode(paginate(strip(), PAPERS["A4"]), "Strip 07")))
    assert reader.trailer["/Root"]["/ViewerPreferences"]["/PrintScaling"] == "/None"
    assert reader.metadata.title == "Strip 07"
    assert "reportlab" not in str(dict(reader.metadata)).lower()


def test_the_drawing_is_there_once() -> None:
    reader = pypdf.PdfReader(io.BytesIO(pdf.encode(paginate(strip(), PAPERS["A4"]), "strip")))
    assert len(reader.pages) == 3
    forms = {page["/Resources"]["/XObject"].raw_get(key).idnum
             for page in reader.pages for key in page["/Resources"]["/XObject"] if "/Contents" in page}  # fmt: skip
    assert len(forms) == 1


def test_every_page_says_what_a_person_needs() -> None:
    data = pdf.encode(paginate(strip(), PAPERS["Letter"], trace="fleet-07.toml, digest 3f9a1c20"), "strip")
    pages = words(data)
    assert len(pages) == 3
    for number, text in enumerate(pages, 1):
        for phrase in (
            f"sheet {number} of 3", "scale 1:1", "At 100 %, never fit to page", "fleet-07.toml, digest 3f9a1c20",
            "Strip of the loan fleet", "Clamp the work before sawing.", "Slots 0.58 mm wide.", "with a steel rule",
            "228.00 mm (8.976 in)", "456.00 mm (17.953 in)", "dashed line",
        ):  # fmt: skip
            assert phrase in text


@needs_poppler
@pytest.mark.parametrize("name", ["A4", "Letter"])
def test_both_rulers_on_every_page(name: str, tmp_path: Path) -> None:
    pages = printed(pdf.encode(paginate(strip(), PAPERS[name]), "strip"), tmp_path)
    assert len(pages) == 3
    for page in pages:
        assert both_rulers(page) == pytest.approx((100.0, 101.6, 100.0, 101.6), abs=0.1)


@needs_poppler
def test_a_measured_printer_is_corrected(tmp_path: Path) -> None:
    """A printer that makes 99 of 100 across and 101 along: what reaches the paper is true again."""
    data = pdf.encode(paginate(strip(), PAPERS["A4"], (99.0, 101.0)), "strip")
    (page, *_) = printed(data, tmp_path)
    assert page.shape[1] > page.shape[0]  # on its side: the lying ruler runs along
    lying_mm, lying_inch, upright_mm, upright_inch = both_rulers(page)
    assert (lying_mm * 1.01, lying_inch * 1.01) == pytest.approx((100.0, 101.6), abs=0.1)
    assert (upright_mm * 0.99, upright_inch * 0.99) == pytest.approx((100.0, 101.6), abs=0.1)
    assert "measured 99.00 across and 101.00 along the paper" in words(data)[0]


@needs_poppler
def test_a_distance_across_three_joints(tmp_path: Path) -> None:
    """Tiles laid mark on mark, as the pages say, in pixels."""
    drawing = strip(length=900.0, slots=46)
    pages = printed(pdf.encode(paginate(drawing, PAPERS["A4"]), "strip"), tmp_path)
    assert len(pages) == 4
    slots: list[float] = []
    shift = 0.0
    for number, page in enumerate(pages):
        marks = sorted(targets(page))
        assert len(marks) == (2 if number in (0, 3) else 4)
        middle = (marks[0][1] + marks[1][1]) / 2
        band = page[int(middle + 8 * PX) : int(middle + 14 * PX)].mean(axis=0)
        upright = [band[a:b] @ np.arange(a, b) / band[a:b].sum() for a, b in runs(band)]
        left = (marks[0][0] + marks[1][0]) / 2 if number else 0.0
        if number:
            shift -= left  # the cut edge comes to lie on the mark before
            slots = [slot for slot in slots if slot < shift + left - 1]
        slots += [shift + x for x in upright if x > left + 1]
        shift += (marks[-1][0] + marks[-2][0]) / 2
    own = slots[[18.5 * PX < b - a < 19.5 * PX for a, b in pairwise(slots)].index(True) :]
    assert len(own) >= 47
    for i in (12, 24, 36, 46):
        assert (own[i] - own[0]) / PX == pytest.approx(19.0 * i, abs=0.2)


@needs_poppler
def test_a_tile_shows_its_window_and_no_more(tmp_path: Path) -> None:
    laid = paginate(strip(), PAPERS["A4"])
    for page, seen in zip(laid, printed(pdf.encode(laid, "strip"), tmp_path), strict=True):
        box = page.placements[0].box
        level = slice(int(seen.shape[0] - box.y1 * PX), int(seen.shape[0] - box.y0 * PX))
        assert seen[level, int((box.x1 + 0.2) * PX) :].max() == 0.0
        assert seen[level, int(32 * PX) : int((box.x0 - 4.2) * PX)].max(initial=0.0) == 0.0  # from ruler to marks
        assert seen[level, int((box.x1 - 2) * PX) : int((box.x1 - 0.2) * PX)].max() > 0.5


@needs_poppler
def test_a_printer_check_has_long_rulers(tmp_path: Path) -> None:
    page = calibration_page(PAPERS["A4"])
    (seen,) = printed(pdf.encode([page], "check"), tmp_path)
    lying = max(b - a for y in range(500) for a, b in runs(seen[y])) / PX
    upright = max(b - a for x in range(400) for a, b in runs(seen[:, x])) / PX
    assert (lying, upright) == pytest.approx((150.0, 250.0), abs=0.3)  # a pen's width more
    assert "ruler_measured = { across =" in words((tmp_path / "sheet.pdf").read_bytes())[0]


@needs_poppler
def test_circles_are_round(tmp_path: Path) -> None:
    ring = Drawing("ring", "Ring", (Layer("OUTLINE", Pen(0.2), (Circle((0.0, 0.0), 80.0),)),))
    (page,) = printed(pdf.encode(paginate(ring, PAPERS["A3"]), "ring"), tmp_path)
    # widest and tallest extent, and the diagonal, of the one big closed curve
    size = page.shape
    placed = paginate(ring, PAPERS["A3"])[0].placements[0]
    x, y = placed.on_page((0.0, 0.0))
    cx, cy = x * PX, size[0] - y * PX
    for turn in np.radians(np.arange(360, 15) + 2):
        reach = np.arange(78 * PX, 82 * PX)
        dark = page[(cy - reach * np.sin(turn)).astype(int), (cx + reach * np.cos(turn)).astype(int)]
        assert reach @ dark / dark.sum() / PX == pytest.approx(80.0, abs=0.08)


def test_bezier_error_is_as_stated() -> None:
    """Points of the curve against the circle, at the largest radius a board's end or a gauge has."""
    path: list[tuple[float, ...]] = []

    class Path:
        def curveTo(self, *numbers: float) -> None:  # noqa: N802
            path.append(numbers)

    from templategen.drawing.model import Arc

    arc = Arc((0.0, 0.0), 500.0, 10.0, 200.0)
    pdf._Replay(None, 1.0).arc_to(Path(), arc)
    start = np.array(arc.at(10.0)) * pdf.POINTS
    for numbers in path:
        p1, p2, p3 = np.array(numbers).reshape(3, 2)
        t = np.linspace(0, 1, 41)[:, None]
        points = (1 - t) ** 3 * start + 3 * (1 - t) ** 2 * t * p1 + 3 * (1 - t) * t**2 * p2 + t**3 * p3
        off = np.hypot(*points.T) / pdf.POINTS - 500.0
        assert np.abs(off).max() < pdf.ARC_ERROR
        start = p3
    assert tuple(start / pdf.POINTS) == pytest.approx(arc.at(200.0), abs=1e-9)


def test_signs_outside_winansi_are_embedded() -> None:
    signs = "−0.05 from ₁ to Ω"
    lines = Text((0.0, 0.0), signs, 5.0), Text((0.0, 9.0), "plain")
    sheet = Drawing("signs", "Signs", (Layer("TEXT", Pen(), lines),))
    data = pdf.encode(paginate(sheet, PAPERS["A4"]), "signs")
    with pdfplumber.open(io.BytesIO(data)) as document:
        text = document.pages[0].extract_text()
        fonts = {char["fontname"] for char in document.pages[0].chars}
    assert signs in text
    assert any("DejaVuSans" in font for font in fonts)
    assert "Helvetica" in fonts


def test_a_reduced_drawing_says_so() -> None:
    (page,) = paginate(shapes(), PaperSize(210.0, 148.0))
    (text,) = words(pdf.encode([page], "shapes"))
    assert "scale 2:1" in text
    assert "Shown at 2:1; drawn for 5:1" in text
