"""The re-radius plan on paper, as CSV and in numbers.json, against the plan itself."""

from __future__ import annotations

import io
import math
import re
from typing import Any

import labelled
import pdfplumber
import pytest
from making import FAN, instrument, work_of
from overlapping import overlaps

from templategen.document.model import Document
from templategen.drawing.model import Arc
from templategen.drawing.paper.sizes import PAPERS
from templategen.instrument.model import Instrument
from templategen.parts.common.product import Writing
from templategen.parts.repair import reradius
from templategen.writers import document as on_paper

PLAN: dict[str, Any] = {"fingerboard.radius": 304.8, "fingerboard.before.radius": 184.15}
MEASURED = {"fingerboard.before.chord": 42, "fingerboard.before.height": 1.16, "fingerboard.before.slot_depth": 1.8}
CONE: dict[str, Any] = {
    "fingerboard.radius": None,
    "fingerboard.radius_at_nut": 254,
    "fingerboard.radius_at_last_fret": 406.4,
    "fingerboard.before.radius": 241.3,
}
SHAPES: list[dict[str, Any]] = [
    PLAN, MEASURED, CONE, FAN | PLAN, PLAN | {"scale.fret_count": 36}, PLAN | {"scale.zero_fret": True},
    {"fingerboard.before.radius": "flat"}, {"fingerboard.radius": "flat", "fingerboard.before.radius": 300},
    PLAN | {"fret_wire.slot_floor": "flat"},
]  # fmt: skip


def test_nothing_without_a_board_before() -> None:
    assert reradius.make(work_of(instrument({}))) == ()


def written(made: Instrument) -> Document:
    (found,) = [p for p in reradius.make(work_of(made)) if isinstance(p, Writing)]
    document = found.content("pdf")
    assert isinstance(document, Document)
    return document


@pytest.mark.parametrize("changes", SHAPES)
def test_the_drawing_is_clear_and_every_page_holds_something(changes: dict[str, Any]) -> None:
    made = instrument(changes)
    plan, document = work_of(made).bench.reradius, written(made)
    assert plan is not None
    assert overlaps(reradius.sections(made, plan)) == []
    said = labelled.words_of(document)
    assert "dust" in said
    assert "Local rules" in said
    for paper in ("A4", "Letter"):
        pages = pdfplumber.open(io.BytesIO(on_paper.encode(document, PAPERS[paper]))).pages
        assert len(pages) <= 5
        for page in pages:
            assert len(page.extract_text().splitlines()) > 8, page.extract_text()


def test_sections_show_both_rounds() -> None:
    made = instrument(PLAN)
    plan = work_of(made).bench.reradius
    assert plan is not None
    drawing = reradius.sections(made, plan)
    wanted = [s for s in drawing.layer("RADIUS_CURVE").shapes if isinstance(s, Arc)]
    before = [s for s in drawing.layer("DIMENSION").shapes if isinstance(s, Arc)]
    assert [s.radius for s in wanted] == pytest.approx([304.8] * 2)
    assert [s.radius for s in before] == pytest.approx([184.15] * 2)
    for old, new in zip(before, wanted, strict=True):
        tops = [arc.centre[1] + arc.radius for arc in (old, new)]
        assert tops[0] - tops[1] == pytest.approx(plan.parallel.start)


def test_every_station_of_both_ways_stands_in_its_row() -> None:
    made = instrument(PLAN)
    plan = work_of(made).bench.reradius
    assert plan is not None
    found = labelled.of_document(written(made))
    for way in plan.ways:
        rows = found[f"reradius-{way.way}"]
        for n in range(1, len(plan.x)):
            for head, values in (("thick, edge", way.thickness_edge), ("edge", way.edge)):
                assert float(rows[str(n), f"{head}, mm"]) == pytest.approx(values[n], abs=0.00501)
                assert float(rows[str(n), f"{head}, in"]) * 25.4 == pytest.approx(values[n], abs=0.0128)
        for s, string in enumerate(made.spec.strings.set):
            cell = found["reradius-strings"][f"{s + 1} {string.note.text}", f"{way.way}, saddle, mm"]
            assert float(cell) == pytest.approx(way.lower_saddle[s], abs=0.00501)


def test_csv_has_every_station() -> None:
    made = instrument(PLAN)
    plan = work_of(made).bench.reradius
    assert plan is not None
    rows = labelled.of_csv(reradius.make(work_of(made)), "reradius")
    assert [row["fret"] for row in rows] == ["", *(str(n) for n in range(1, 22))]
    for n, row in enumerate(rows):
        assert float(row["from_nut"]) == pytest.approx(640 * (1 - 2 ** (-n / 12)), abs=1e-6)
        half = (43 + 12 * n_share(n)) / 2
        lost = plan.parallel.start - (_drop(184.15, half) - _drop(304.8, half))
        assert float(row["parallel_bass_edge"]) == pytest.approx(lost, abs=1e-6)
        assert float(row["parallel_centre"]) == pytest.approx(plan.parallel.start, abs=1e-6)


def test_numbers_json_has_the_plan() -> None:
    made = instrument(MEASURED)
    told = labelled.numbers(work_of(made))["reradius"]
    plan = work_of(made).bench.reradius
    assert plan is not None
    assert told["parallel"]["volume_mm3"] == pytest.approx(plan.parallel.volume)
    assert told["tilted"]["tilt"] == pytest.approx(plan.tilted.tilt, abs=1e-9)
    assert told["measurement"]["radius_if_higher"] < told["before_radius_at_nut"]
    assert len(told["stations"]) == 22
    assert labelled.numbers(work_of(instrument({})))["reradius"] is None


def test_the_sheet_says_which_thickness_is_which() -> None:
    glued = PLAN | {"fingerboard.thickness": None, "fingerboard.before.thickness_at_edge": 6.0}
    glued["fingerboard.before.wear_depth"] = 0
    made = instrument(glued)
    plan = work_of(made).bench.reradius
    assert plan is not None
    said = " ".join(reradius.text(made, plan))
    after, before = f"{made.board.thickness:.2f}", f"{made.board.thickness + plan.parallel.start:.2f}"
    assert re.search(rf"Before sanding: board {before} mm \(.*? in\) thick at the centreline, from its edge as", said)
    assert f"finished board, {after} mm (" in said
    thick = float(plan.parallel.thickness_centre[0]), float(plan.tilted.thickness_centre[0])
    assert f"{thick[0]:.2f}" == after
    ways = labelled.of_document(written(made))["reradius"]
    for way, mm in zip(("parallel", "tilted"), thick, strict=True):
        assert ways["thick after, centre, nut", way] == f"{mm:.2f} mm ({mm / 25.4:.3f} in)"
    told = labelled.numbers(work_of(made))
    assert told["reradius"]["thickness_measured"] is True
    assert told["reradius"]["thickness_before"] == pytest.approx(float(before), abs=0.006)
    assert told["board"]["thickness_at_centreline"] == pytest.approx(float(after), abs=0.006)
    single = instrument(PLAN)
    assert work_of(single).bench.reradius is not None
    assert "from the finished thickness in [fingerboard]" in " ".join(
        reradius.text(single, work_of(single).bench.reradius)
    )
    shelf = instrument(glued | {"nut.seat": "shelf", "nut.seat_depth": None})
    assert work_of(shelf).bench.reradius is not None
    assert reradius.text(shelf, work_of(shelf).bench.reradius)[-1].startswith("The nut's shelf stays where it is")


def n_share(fret: int) -> float:
    return (1 - 2 ** (-fret / 12)) / (1 - 2 ** (-21 / 12))


def _drop(radius: float, half: float) -> float:
    return radius - math.sqrt(radius**2 - half**2)
