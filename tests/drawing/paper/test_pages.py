"""Pages as data: what lies where, before any format."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from overlapping import lie_over, overlaps

from templategen.drawing.layout import ruler, table, title_block
from templategen.drawing.model import (
    Box,
    Circle,
    Drawing,
    Layer,
    Line,
    Outline,
    Pen,
    Point,
    Sketch,
    Text,
    shape_bounds,
)
from templategen.drawing.paper.pages import PAPERS, Page, PaperSize, calibration_page, paginate
from templategen.drawing.paper.sizes import MARGIN

PENS = {"OUTLINE": Pen(0.35), "SLOT_CENTRE": Pen(0.25), "TEXT": Pen(0.18)}
ROLL = PaperSize(610.0, 10000.0)


def board(length: float, width: float, places: list[float], slant: float = 0.0, scale: float = 1.0) -> Drawing:
    sketch = Sketch(PENS)
    sketch.add("OUTLINE", Outline.rectangle(Box(0.0, -width / 2, length, width / 2)))
    for x in places:
        sketch.add("SLOT_CENTRE", Line((x - slant / 2, -width / 2), (x + slant / 2, width / 2)))
    reach = slant / 2 + 0.3
    return Drawing(
        "board", "Board of the loan fleet", sketch.layers(), scale=scale,
        whole=tuple(Box(x - reach, -width / 2, x + reach, width / 2) for x in places),
        joints=(("front to end", (0.0, 0.0), (length, 0.0)),),
        notes=("Slots 0.58 mm wide.",), cautions=("Clamp the work before sawing.",),
    )  # fmt: skip


def equal_steps(length: float, count: int) -> list[float]:
    return [length * (1 - 2 ** (-n / 12)) for n in range(count + 1)]


def marks(page: Page) -> list[Point]:
    """Centres of registration marks in mm of the drawing."""
    (placement,) = page.placements
    window, (x, y), scale = placement.window, placement.at, placement.scale
    found = [s for layer in page.furniture.layers if layer.name == "TILE_MARK" for s in layer.shapes]
    rings = [ring.centre for ring in found if isinstance(ring, Circle)]
    return sorted((window.x0 + (across - x) / scale, window.y0 + (up - y) / scale) for across, up in rings)


def near(one: Point, other: Point) -> bool:
    return abs(one[0] - other[0]) < 1e-6 and abs(one[1] - other[1]) < 1e-6


def check_pages(drawing: Drawing, pages: tuple[Page, ...]) -> None:
    tiles = [page for page in pages if page.placements]
    windows = [page.placements[0].window for page in tiles]
    for box in drawing.whole:
        assert any(window.holds(box) for window in windows)
    for page in pages:
        inside = Box(0.0, 0.0, page.width / page.stretch[0], page.height / page.stretch[1]).grown(-MARGIN)
        assert inside.holds(page.furniture.bounds(), 1.0)
        assert not overlaps(page.furniture)
        for placement in page.placements:
            assert inside.holds(placement.box)
            for layer in page.furniture.layers:
                for shape in layer.shapes:
                    # the dashed edge runs along the window; nothing else comes near it
                    on_edge = isinstance(shape, Line) and (
                        shape.start[0] == shape.end[0] == placement.box.x0
                        or shape.start[1] == shape.end[1] == placement.box.y1
                    )
                    assert on_edge or not lie_over(shape_bounds(shape).grown(1e-9), placement.box)


@given(
    st.floats(120, 900), st.floats(35, 75), st.integers(1, 30),
    st.sampled_from(["A4", "Letter", "A3", "Tabloid", "Legal"]),
    st.tuples(st.floats(97, 103), st.floats(97, 103)),
)  # fmt: skip
@settings(max_examples=40, deadline=None)
def test_slots_of_any_board(length: float, width: float, count: int, paper: str, measured: tuple[float, float]) -> None:
    drawing = board(length, width, [x for x in equal_steps(1.3 * length, count) if x < length - 1])
    pages = paginate(drawing, PAPERS[paper], measured)
    check_pages(drawing, pages)
    for page in pages:
        assert page.placements[0].scale == 1.0
        window = page.placements[0].window
        for box in drawing.whole:
            for edge in (window.x0, window.x1):
                assert not box.x0 < edge < box.x1
    if len(pages) > 1:
        for one, other in pairwise(pages):
            shared = [a for a in marks(one) if any(near(a, b) for b in marks(other))]
            assert len(shared) == 2
            assert shared[0][0] == pytest.approx(other.placements[0].window.x0)
            assert one.placements[0].window.x1 - other.placements[0].window.x0 >= 12 - 1e-9
            assert shared[1][1] - shared[0][1] > width


@given(st.floats(500, 900), st.floats(5, 60), st.sampled_from(["A4", "Letter", "A3"]))
@settings(max_examples=15, deadline=None)
def test_slanted_slots_are_whole_on_one_sheet(length: float, slant: float, paper: str) -> None:
    drawing = board(length, 60.0, equal_steps(1.2 * length, 24), slant)
    check_pages(drawing, paginate(drawing, PAPERS[paper]))


def test_a_board_wider_than_the_paper_is_joined_by_rows() -> None:
    drawing = board(480.0, 400.0, [])
    pages = paginate(drawing, PAPERS["A4"])
    check_pages(drawing, pages)
    windows = [page.placements[0].window for page in pages]
    columns = sorted({(w.x0, w.x1) for w in windows})
    rows = sorted({(w.y0, w.y1) for w in windows}, reverse=True)
    assert len(columns) > 1
    assert len(rows) > 1
    assert [((w.x0, w.x1), (w.y0, w.y1)) for w in windows] == [(c, r) for r in rows for c in columns]
    for above, below in pairwise(rows):
        assert below[1] - above[0] >= 12 - 1e-9
    for column, side in ((0, windows[0].x0 - 5.0), (len(columns) - 1, windows[-1].x1 + 5.0)):
        upper, lower = pages[column], pages[len(columns) + column]
        level = lower.placements[0].window.y1
        for page in (upper, lower):
            assert any(near(mark, (side, level)) for mark in marks(page))


@pytest.mark.parametrize(("length", "wide"), [(180.0, 210.0), (240.0, 297.0)])
def test_one_page_upright_or_turned(length: float, wide: float) -> None:
    drawing = board(length / 1.2, 60.0, [10.0, 20.0])
    (page,) = paginate(drawing, PAPERS["A4"])
    check_pages(drawing, (page,))
    assert page.width == wide if length > 200 else page.width == 210.0


def test_a_roll_s_page_is_as_long_as_it_needs_to_be() -> None:
    drawing = board(480.0, 60.0, equal_steps(600.0, 22))
    (page,) = paginate(drawing, ROLL)
    check_pages(drawing, (page,))
    assert page.width == 610.0
    assert page.height < 250.0
    drawing = board(1200.0, 60.0, equal_steps(1500.0, 22))
    (page,) = paginate(drawing, ROLL)
    check_pages(drawing, (page,))
    assert page.height == 610.0
    assert page.width < 1300.0


def test_rulers_of_the_drawing_are_left_to_the_page() -> None:
    plain = board(150.0, 60.0, [])
    ruled = replace(plain, layers=(*plain.layers, Layer("CHECK_RULER", Pen(), ruler((0.0, 60.0), "across"))))
    assert paginate(ruled, PAPERS["A4"]) == paginate(plain, PAPERS["A4"])


def test_asides_leave_a_tiled_drawing_only() -> None:
    words = table([["fret", "mm"], *[[str(n), f"{n * 10.5:.2f}"] for n in range(25)]], (10.0, -50.0))
    title = title_block(["Board", "loan fleet"], (80.0, -50.0))

    def with_asides(plain: Drawing) -> Drawing:
        text = Layer("TEXT", Pen(0.18), (*words.shapes, *title.shapes))
        return replace(plain, layers=(*plain.layers, text), asides=(words.box, title.box))

    short = with_asides(board(140.0, 60.0, [10.0]))
    (page,) = paginate(short, PAPERS["A3"])
    assert page.placements[0].drawing == short

    long = with_asides(board(480.0, 60.0, equal_steps(600.0, 22)))
    plain = paginate(board(480.0, 60.0, equal_steps(600.0, 22)), PAPERS["A4"])
    pages = paginate(long, PAPERS["A4"])
    check_pages(long, pages)
    assert [p.placements[0].window for p in pages[: len(plain)]] == [p.placements[0].window for p in plain]
    beside = [p for page in pages for p in page.placements if p.drawing.name == "board" and p.scale == 1.0]
    shapes = [s for p in beside for layer in p.drawing.layers for s in layer.shapes if isinstance(s, Text)]
    wanted = [s.text for s in (*words.shapes, *title.shapes) if isinstance(s, Text)]
    assert sorted(s.text for s in shapes) == sorted(wanted)


@given(
    st.floats(300, 900), st.floats(35, 90), st.sampled_from(["A4", "Letter", "A3"]),
    st.lists(st.tuples(st.floats(20, 160), st.integers(1, 9)), min_size=1, max_size=14), st.integers(0, 9),
)  # fmt: skip
@settings(max_examples=20, deadline=None)
def test_what_stands_beside_tiles_is_all_there_once_and_clear_of_everything(
    length: float, width: float, paper: str, sizes: list[tuple[float, int]], notes: int
) -> None:
    plain = board(length, width, [x for x in equal_steps(1.3 * length, 22) if x < length - 1])
    low, blocks = -width / 2 - 20.0, []
    for n, (wide, rows) in enumerate(sizes):
        blocks.append(table([[f"table {n}"], *[[f"row {n}/{row}"] for row in range(rows)]], (0.0, low), [wide]))
        low = blocks[-1].box.y0 - 6.0
    text = Layer("TEXT", Pen(0.18), tuple(shape for block in blocks for shape in block.shapes))
    said_notes = tuple(f"Note {n} about how the work is held and measured." for n in range(notes))
    drawing = replace(
        plain, layers=(*plain.layers, text), asides=tuple(block.box for block in blocks), notes=said_notes
    )
    pages = paginate(drawing, PAPERS[paper])
    check_pages(drawing, pages)
    shown = [s.text for page in pages for p in page.placements for layer in p.drawing.layers for s in layer.shapes
             if isinstance(s, Text)]  # fmt: skip
    for n, (_, rows) in enumerate(sizes):
        for row in range(rows):
            assert shown.count(f"row {n}/{row}") == 1 or len(pages) == 1
    everything = " ".join(said(page) for page in pages)
    assert all(f"Note {n}" in everything for n in range(notes))
    for page in pages:
        boxes = [p.box for p in page.placements]
        for n, one in enumerate(boxes):
            assert not any(lie_over(one.grown(-1.0), other.grown(-1.0)) for other in boxes[n + 1 :])
        words = " ".join(s.text for layer in page.furniture.layers for s in layer.shapes if isinstance(s, Text))
        assert "Clamp the work" in words


def test_every_tile_names_its_sides_and_whose_hand() -> None:
    plain = board(480.0, 60.0, equal_steps(600.0, 22))
    pages = paginate(replace(plain, about="left-handed", sides=("bass side", "treble side")), PAPERS["A4"])
    tiles = [page for page in pages if "-last-" not in page.furniture.name]
    assert len(tiles) > 1
    for page in tiles:
        box = page.placements[0].box
        texts = {s.text: s.at for layer in page.furniture.layers for s in layer.shapes if isinstance(s, Text)}
        assert any(text.startswith("left-handed   scale 1:1") for text in texts)
        assert texts["bass side"][1] > box.y1
        assert texts["treble side"][1] < box.y0


def test_the_title_that_the_band_has_is_left_out_on_paper() -> None:
    title = title_block(["Board", "loan fleet"], (80.0, 60.0))
    plain = board(140.0, 60.0, [10.0])
    titled = replace(plain, layers=(*plain.layers, Layer("TEXT", Pen(0.18), title.shapes)), titles=(title.box,))
    assert paginate(titled, PAPERS["A4"]) == paginate(plain, PAPERS["A4"])


def test_an_inch_job_checks_its_joints_by_64ths() -> None:
    plain = board(480.0, 60.0, equal_steps(600.0, 22))
    words = " ".join(said(page) for page in paginate(replace(plain, unit="in"), PAPERS["A4"])).replace("\xa0", " ")
    assert "tells 0.02 in (0.5 mm)" in words
    assert "end: 18.898 in, 18 57/64 (480.00 mm)" in words  # 480/25.4 = 18.8976, 0.8976 x 64 = 57.45


def test_enlarged_drawings_are_reduced_never_tiled() -> None:
    drawing = board(60.0, 20.0, [10.0, 20.0], scale=5.0)
    (page,) = paginate(drawing, PAPERS["A4"])
    assert page.placements[0].scale == 2.0  # ISO 5455: the next below 5:1
    (page,) = paginate(drawing, PAPERS["A3"])
    assert page.placements[0].scale == 5.0


def test_correction_follows_the_paper_not_the_page() -> None:
    upright = paginate(board(150.0, 60.0, []), PAPERS["A4"], (99.0, 101.0))[0]
    turned = paginate(board(240.0, 60.0, []), PAPERS["A4"], (99.0, 101.0))[0]
    assert upright.stretch == (100 / 99, 100 / 101)
    assert turned.stretch == (100 / 101, 100 / 99)
    assert (upright.width, upright.height) == pytest.approx((210.0, 297.0))
    assert (turned.width, turned.height) == pytest.approx((297.0, 210.0))


@pytest.mark.parametrize("measured", [(89.0, 100.0), (100.0, 111.0), (float("nan"), 100.0)])
def test_a_ruler_far_off_is_refused(measured: tuple[float, float]) -> None:
    with pytest.raises(ValueError, match="between 90 and 110"):
        paginate(board(150.0, 60.0, []), PAPERS["A4"], measured)


def test_paper_too_small() -> None:
    with pytest.raises(ValueError, match="too small for its rulers"):
        paginate(board(150.0, 60.0, []), PaperSize(100.0, 150.0))


def test_many_words_go_to_a_last_page() -> None:
    plain = board(480.0, 75.0, equal_steps(600.0, 22))
    notes = tuple(f"Note {n} about how the work is held and what is measured from where." for n in range(30))
    drawing = Drawing(plain.name, plain.title, plain.layers, whole=plain.whole, notes=notes, cautions=plain.cautions)
    pages = paginate(drawing, PAPERS["A4"])
    check_pages(drawing, pages)
    tiles = [page for page in pages if "-last-" not in page.furniture.name]
    assert 1 < len(tiles) < len(pages)
    assert all('the page "notes".' in said(page) for page in tiles)
    assert all("Clamp the work before sawing." in said(page) for page in tiles)
    last = pages[len(tiles) :]
    assert all("notes" in said(page) for page in last)
    assert "Note 29 about" in " ".join(said(page) for page in last)
    assert not overlaps(last[0].placements[0].drawing)


def test_words_and_tables_share_a_last_page_where_both_fit() -> None:
    plain = board(480.0, 100.0, equal_steps(600.0, 22))
    notes = tuple(f"Note {n} about how the work is held and what is measured from where." for n in range(30))
    rows = table([["fret", "mm"], *[[str(n), f"{n * 10.5:.2f}"] for n in range(18)]], (10.0, -70.0))
    layers = (*plain.layers, Layer("TEXT", Pen(0.18), rows.shapes))
    pages = paginate(replace(plain, layers=layers, asides=(rows.box,), notes=notes), PAPERS["A4"])
    *tiles, last = pages
    assert all('the page "notes and tables".' in said(page) for page in tiles)
    assert all(word in said(last) for word in ("notes and tables", "Note 29 about", "115.50"))
    assert not overlaps(last.placements[0].drawing)


def said(page: Page) -> str:
    drawings = [page.furniture, *(p.drawing for p in page.placements)]
    texts = [s for d in drawings for layer in d.layers for s in layer.shapes if isinstance(s, Text)]
    return " ".join(text.text for text in texts)


@pytest.mark.parametrize("name", sorted(PAPERS))
def test_printer_check(name: str) -> None:
    page = calibration_page(PAPERS[name])
    assert (page.width, page.height) == (PAPERS[name].width, PAPERS[name].height)
    assert Box(0.0, 0.0, page.width, page.height).grown(-MARGIN + 1).holds(page.furniture.bounds())
    assert not overlaps(page.furniture)


def test_paper_sizes() -> None:
    # ISO 216; ASME Y14.1
    assert (PAPERS["A4"].width, PAPERS["A4"].height) == (210.0, 297.0)
    assert (PAPERS["A3"].width, PAPERS["A3"].height) == (297.0, 420.0)
    assert (PAPERS["Letter"].width, PAPERS["Letter"].height) == (215.9, 279.4)
    assert (PAPERS["Tabloid"].width, PAPERS["Tabloid"].height) == (279.4, 431.8)
