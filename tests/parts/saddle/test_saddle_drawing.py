"""The drawing of a saddle of one piece: every figure in its row and column, nothing over anything, one page."""

from __future__ import annotations

from typing import Any

import pytest
from calls import SADDLE
from making import work
from overlapping import overlaps
from places import SPECS

from templategen import job
from templategen.drawing.model import Line, Polyline, Text
from templategen.drawing.paper.pages import paginate
from templategen.drawing.paper.sizes import PAPERS
from templategen.parts.common.work import Work
from templategen.parts.saddle import piece_drawing


@pytest.fixture(scope="module", params=["fleet-21", "fleet-52", "left"])
def made(request: pytest.FixtureRequest) -> Work:
    if request.param == "left":
        return work({**SADDLE, "handedness": "left", "saddle.edge_margin": 5})
    return job.compute(str(SPECS / f"{request.param}.toml"))[1]


def test_one_page_and_no_label_over_a_line(made: Work) -> None:
    i = made.instrument
    assert i.saddle_piece is not None
    drawing = piece_drawing.draw(i, i.saddle_piece)
    assert overlaps(drawing) == []
    assert len(paginate(drawing, PAPERS["A4"])) == 1


def test_figures_stand_in_their_rows_and_columns(made: Work) -> None:
    """The mm table, read back by where its heads stand: right edges of figures under right edges of heads."""
    i = made.instrument
    piece = i.saddle_piece
    assert piece is not None
    texts = [t for t in piece_drawing.draw(i, piece).layer("TEXT").shapes if isinstance(t, Text)]
    heads = {t.text: t for t in texts if t.bold and t.text in ("from front", "over seat", "over bridge", "offset")}
    lines = {t.text.split()[0]: t for t in texts if t.text in [f"{s.number} {s.note}" for s in i.strings]}
    wanted: dict[str, Any] = {
        "from front": piece.thickness - piece.across,
        "over seat": piece.height,
        "over bridge": piece.over_bridge,
        "offset": piece.offset,
    }
    first = max((t for t in texts if t.text == "string, mm"), key=lambda t: t.at[1])
    for n in range(len(i.strings)):
        row = sorted((t for t in texts if t.text == f"{n + 1} {i.strings[n].note}"), key=lambda t: -t.at[1])[0]
        assert row.at[1] < first.at[1]
        for name, values in wanted.items():
            head = max((t for t in texts if t.text == name), key=lambda t: t.at[1])
            (cell,) = (t for t in texts if abs(t.at[1] - row.at[1]) < 1e-6 and abs(t.at[0] - head.at[0]) < 1e-6)
            assert cell.text == f"{values[n]:.2f}", (name, n)
    assert set(heads) == set(wanted)
    assert len(lines) == len(i.strings)


def test_views_show_each_string_at_its_own_place(made: Work) -> None:
    i = made.instrument
    piece = i.saddle_piece
    assert piece is not None
    drawing = piece_drawing.draw(i, piece)
    front, top = (shape for shape in drawing.layer("RADIUS_CURVE").shapes if isinstance(shape, Polyline))
    marks = [shape for shape in drawing.layer("STRING").shapes if isinstance(shape, Line)]
    low = min(min(m.start[1], m.end[1]) for m in marks) + 2 / drawing.scale
    for n, mark in enumerate(sorted(marks, key=lambda m: -i.side * m.start[0])):
        assert mark.start[0] == pytest.approx(piece.along[n])
        here = [y - low for x, y in top.points if abs(abs(x - piece.along[n]) - piece.lands[n] / 2) < 1e-6]
        assert here
        assert here[0] == pytest.approx(piece.across[n])
    assert front.points == piece.crest
