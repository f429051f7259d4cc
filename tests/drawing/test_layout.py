"""Tables, rulers, labels kept apart, and the finder of labels that touch."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from overlapping import overlaps

from templategen.drawing.layout import ruler, spread, table, title_block
from templategen.drawing.lettering import text_width, wrapped
from templategen.drawing.model import (
    Arc,
    Circle,
    Dimension,
    Drawing,
    Layer,
    Line,
    Outline,
    Pen,
    Polyline,
    Shape,
    Text,
)


def sheet(*shapes: Shape, scale: float = 1.0) -> Drawing:
    return Drawing("sheet", "Sheet", (Layer("TEXT", Pen(), shapes),), scale=scale)


ROWS = (("fret", "from nut", "where"), ("1", "36.48", "under the first"), ("12", "325.00", "octave"))


@pytest.mark.parametrize("scale", [1.0, 5.0])
def test_a_table_is_aligned_and_touches_nothing(scale: float) -> None:
    laid = table(ROWS, (10.0, 50.0), scale=scale)
    assert not overlaps(sheet(*laid.shapes, scale=scale))
    bounds = sheet(*laid.shapes, scale=scale).bounds()
    assert laid.box.holds(bounds, 0.01)
    figures = [s for s in laid.shapes if isinstance(s, Text) and s.text in ("36.48", "325.00")]
    assert {s.anchor for s in figures} == {"right"}
    assert len({s.at[0] for s in figures}) == 1
    assert {s.bold for s in laid.shapes if isinstance(s, Text) and s.text in ROWS[0]} == {True}


def test_a_title_block_touches_nothing() -> None:
    laid = title_block(("Nut, finished", "fleet-07.toml", "scale 5:1"), (0.0, 0.0))
    assert not overlaps(sheet(*laid.shapes))
    assert laid.box.holds(sheet(*laid.shapes).bounds(), 0.5)


@pytest.mark.parametrize("scale", [1.0, 5.0])
def test_rulers_are_true_on_paper(scale: float) -> None:
    shapes = ruler((3.0, 4.0), "across", scale)
    (comb,) = (s for s in shapes if isinstance(s, Polyline))
    places = [((x - 3.0) * scale, (y - 4.0) * scale) for x, y in comb.points]
    assert places[0] == pytest.approx((0.0, 0.0))
    assert places[-1] == pytest.approx((25.4 * 4, 0.0))
    steps = list(pairwise(places))
    assert all((x0 == pytest.approx(x1)) != (y0 == pytest.approx(y1)) for (x0, y0), (x1, y1) in steps), "square"
    assert all(y1 == pytest.approx(0) for (_, y0), (_, y1) in steps if y0 > 0.1 or y0 < -0.1), "each tick goes back"
    mm = [(x, y) for x, y in places if y > 0.1]
    inch = [(x, y) for x, y in places if y < -0.1]
    assert [x for x, _ in mm] == pytest.approx(list(range(101)))
    assert [x for x, _ in inch] == pytest.approx([25.4 / 8 * n for n in range(33)])  # 1 in = 25.4 mm exactly
    assert [y for _, y in mm[:11]] == pytest.approx([3.2, 1.6, 1.6, 1.6, 1.6, 2.4, 1.6, 1.6, 1.6, 1.6, 3.2])
    assert [y for _, y in inch[:9]] == pytest.approx([-3.2, -1.6, -1.6, -1.6, -2.4, -1.6, -1.6, -1.6, -3.2])
    numbers = [s.text for s in shapes if isinstance(s, Text)]
    assert numbers == [*(str(n) for n in range(0, 101, 10)), "0", "1", "2", "3", "4", "mm", "in"]
    assert not overlaps(sheet(*shapes, scale=scale))


wishes = st.lists(st.floats(-100, 100), min_size=1, max_size=12)


@given(wishes, st.floats(0.5, 8))
def test_labels_keep_apart_and_in_order(places: list[float], pitch: float) -> None:
    found = spread(places, pitch)
    order = sorted(range(len(places)), key=lambda i: (places[i], i))
    assert all(found[b] - found[a] >= pitch - 1e-9 for a, b in pairwise(order))
    if all(places[b] - places[a] >= pitch for a, b in pairwise(order)):
        assert found == pytest.approx(places, abs=1e-9)
    # the middle of all is where it was: nobody is pushed without need (the sum of a least-squares fit)
    assert sum(found) == pytest.approx(sum(places), abs=1e-6)


@given(wishes, st.floats(0.5, 3))
def test_labels_stay_between_limits(places: list[float], pitch: float) -> None:
    low, high = -40.0, 40.0
    found = spread(places, pitch, low, high)
    assert low - 1e-9 <= min(found)
    assert max(found) <= high + 1e-9


def test_labels_that_cannot_fit() -> None:
    with pytest.raises(ValueError, match="do not fit"):
        spread([0.0, 1.0, 2.0], 5.0, 0.0, 9.0)


@given(st.lists(st.text("abc MW", min_size=1, max_size=9), max_size=30), st.floats(20, 90))
def test_wrapped_words(pieces: list[str], width: float) -> None:
    text = " ".join(pieces)
    lines = wrapped(text, 2.5, width)
    assert " ".join(lines).split() == text.split()
    assert all(text_width(line, 2.5) <= width or " " not in line for line in lines)


LABEL = Text((0.0, 0.0), "12.50")


@pytest.mark.parametrize(
    "other",
    [
        Text((5.0, 1.0), "13"),
        Text((4.0, -3.0), "up", 2.5, 90.0),
        Line((-5.0, 1.0), (20.0, 1.0)),
        Line((3.0, -9.0), (4.0, 9.0)),
        Line((2.0, 1.0), (2.5, 1.2)),
        Circle((3.0, 6.0), 5.0),
        Arc((3.0, 6.0), 5.0, 200.0, 340.0),
        Outline(((-9.0, 5.0), (15.0, 5.0)), (0.4, 0.0)),
        Dimension((0.0, 5.0), (30.0, 5.0), (0.0, 1.0)),
        Dimension((-30.0, 20.0), (-3.0, 20.0), (0.0, 0.0), text="much too long for its place" * 2),
    ],
    ids=lambda s: type(s).__name__,
)
def test_touching_is_found(other: Shape) -> None:
    assert overlaps(sheet(LABEL, other))
    assert overlaps(sheet(other, LABEL))


@pytest.mark.parametrize(
    "other",
    [
        Text((11.0, 0.0), "13"),
        Text((0.0, 4.0), "13"),
        Line((-5.0, -0.5), (20.0, -0.5)),  # under figures, which have no descenders
        Line((-3.0, -3.0), (-1.0, 12.0)),
        Circle((3.0, 1.0), 20.0),
        Arc((3.0, 6.0), 5.0, 0.0, 180.0),
        Dimension((0.0, 9.0), (30.0, 9.0), (0.0, 5.0)),
    ],
    ids=lambda s: type(s).__name__,
)
def test_clear_is_clear(other: Shape) -> None:
    assert overlaps(sheet(LABEL, other)) == []


@pytest.mark.parametrize("length", [0.5, 3.0, 9.0, 12.0, 17.0, 40.0])
@pytest.mark.parametrize("angle", [0.0, 90.0])
@pytest.mark.parametrize("text_at", ["middle", "end"])
def test_a_dimension_is_clear_of_itself(length: float, angle: float, text_at: str) -> None:
    end = (length, 2.0) if angle == 0 else (2.0, length)
    assert overlaps(sheet(Dimension((0.0, 0.0), end, (-6.0, -5.0), angle, text_at=text_at))) == []


def test_descenders_count_where_there_are_any() -> None:
    under = Line((-1.0, -0.5), (9.0, -0.5))
    assert overlaps(sheet(Text((0.0, 0.0), "gap"), under))
    assert overlaps(sheet(Text((0.0, 0.0), "nut"), under)) == []


def test_slanted_labels_are_not_judged_by_their_upright_boxes() -> None:
    long = Text((0.0, 0.0), "a long slanted label", 2.5, 45.0)
    assert overlaps(sheet(long, Text((20.0, 2.0), "clear"))) == []
    assert overlaps(sheet(long, Text((10.0, 11.0), "hit")))
