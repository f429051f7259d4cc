"""The re-radius plan on paper, as CSV and in numbers.json, against the plan itself."""

from __future__ import annotations

import math
from typing import Any

import labelled
import pytest
from making import FAN, instrument, work_of
from overlapping import overlaps

from templategen.drawing.model import Arc
from templategen.drawing.paper.pages import PAPERS, paginate
from templategen.parts.common.product import Sheet
from templategen.parts.repair import reradius

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


@pytest.mark.parametrize("changes", SHAPES)
def test_sheets_are_clear_and_fit_a_page(changes: dict[str, Any]) -> None:
    drawings = [p.drawing for p in reradius.make(work_of(instrument(changes))) if isinstance(p, Sheet)]
    assert len(drawings) >= 2
    for drawing in drawings:
        assert overlaps(drawing) == []
        assert len(paginate(drawing, PAPERS["A4"])) == 1
        assert len(paginate(drawing, PAPERS["Letter"])) == 1
        said = " ".join(drawing.cautions).lower()
        assert "dust" in said
        assert "local rules" in said


def test_sections_show_both_rounds() -> None:
    made = instrument(PLAN)
    sheet = reradius.make(work_of(made))[0]
    assert isinstance(sheet, Sheet)
    wanted = [s for s in sheet.drawing.layer("RADIUS_CURVE").shapes if isinstance(s, Arc)]
    before = [s for s in sheet.drawing.layer("DIMENSION").shapes if isinstance(s, Arc)]
    assert [s.radius for s in wanted] == pytest.approx([304.8] * 2)
    assert [s.radius for s in before] == pytest.approx([184.15] * 2)
    assert work_of(made).bench.reradius is not None
    for old, new in zip(before, wanted, strict=True):
        tops = [arc.centre[1] + arc.radius for arc in (old, new)]
        assert tops[0] - tops[1] == pytest.approx(work_of(made).bench.reradius.parallel.start)


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
    made = instrument(glued)
    plan = work_of(made).bench.reradius
    assert plan is not None
    said = " ".join(reradius.text(made, plan))
    after, before = f"{made.board.thickness:.2f}", f"{made.board.thickness + plan.parallel.start:.2f}"
    assert f"Before sanding: board {before} mm thick at the centreline, from its edge as measured" in said
    assert f"finished board, {after} mm thick" in said
    thick = float(plan.parallel.thickness_centre[0]), float(plan.tilted.thickness_centre[0])
    assert f"{thick[0]:.2f}" == after
    both = (f"{mm:.2f} ({mm / 25.4:.3f})" for mm in thick)
    assert reradius.number_rows(made, plan)[5] == ("thick after, centre, nut", *both)
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
