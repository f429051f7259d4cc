"""Levelling sheets read back: every amount under its own fret, at its place along the board, and in its own row."""

from __future__ import annotations

import io
import itertools
import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from typing import Any

import as_found
import labelled
import numpy as np
import pdfplumber
import pytest
from as_found import bump, remedy, work_with
from making import FAN, instrument, work_of
from overlapping import overlaps
from places import SPECS

from templategen import job
from templategen.document.model import Document
from templategen.drawing.model import Line, Outline
from templategen.drawing.paper.sizes import PAPERS
from templategen.instrument.arrays import Array
from templategen.instrument.model import Instrument
from templategen.parts.common.product import Product, Sheet, Writing
from templategen.parts.common.work import Work
from templategen.parts.repair import levelling, levelling_chart, levelling_strip, setup_plan
from templategen.repair.remedy import FoundInPlay, Remedy
from templategen.tables import changes
from templategen.tables import levelling as tables
from templategen.units import from_inches
from templategen.writers import document as on_paper
from templategen.writers import svg

UNEVEN = bump(7, (0.06, 0.03)) + bump(14, (0.02, 0.05)) - bump(12, (0.03, 0.03)) + bump(21, (0.04, 0.06))
SHAPES: list[tuple[dict[str, Any], Array, tuple[str, ...]]] = [
    ({}, UNEVEN, ("bass", "treble")),
    (FAN, UNEVEN, ("bass", "treble")),
    ({"handedness": "left"}, np.hstack([UNEVEN, UNEVEN[:, :1]]), ("1", "centre", "6")),
    ({"scale.fret_count": 36, "playing.headroom": 0.75}, np.vstack([UNEVEN, UNEVEN[:15]]), ("bass", "treble")),
    ({"fret_wire.crown_height": 1.1, "levelling.least_crown": 1.2}, UNEVEN, ("bass", "treble")),
]


def made(changes: dict[str, Any], off: Array, lines: tuple[str, ...], **given: float) -> tuple[Instrument, Remedy]:
    i = instrument(changes)
    return i, remedy(i, off, lines, **given)


def sheets(products: tuple[Product, ...]) -> dict[str, Sheet]:
    return {p.stem: p for p in products if isinstance(p, Sheet)}


def written(products: tuple[Product, ...]) -> Document:
    (found,) = [p for p in products if isinstance(p, Writing)]
    document = found.content("pdf")
    assert isinstance(document, Document)
    return document


def pages(document: Document, paper: str = "A4") -> list[Any]:
    return list(pdfplumber.open(io.BytesIO(on_paper.encode(document, PAPERS[paper]))).pages)


def test_nothing_without_readings() -> None:
    work = work_of(instrument())
    assert levelling.make(work) == setup_plan.make(work) == ()
    numbers = labelled.numbers(work)
    assert (numbers["levelling"], numbers["changes"], numbers["clearance_found"]) == (None, None, None)


@pytest.mark.parametrize(("changes", "off", "lines"), SHAPES)
def test_drawings_are_clear_and_every_page_holds_something(
    changes: dict[str, Any], off: Array, lines: tuple[str, ...]
) -> None:
    i, needs = made(changes, off, lines, relief=0.1, first=0.2, action=0.4)
    work = work_with(i, needs)
    found = sheets(levelling.make(work))
    refret = changes.get("levelling.least_crown") == 1.2
    assert set(found) == {"levelling"} | (set() if refret else {"levelling-strip"})
    for sheet in found.values():
        assert overlaps(sheet.drawing) == []
        said = " ".join(sheet.drawing.cautions)
        assert "Local rules" in said
        assert "nickel" in said
        assert "mask board, body and pickups" in said
    for document in (written(levelling.make(work)), written(setup_plan.make(work))):
        for paper in ("A4", "Letter"):
            printed = pages(document, paper)
            assert len(printed) <= 6
            for page in printed:
                assert len((page.extract_text() or "").splitlines()) > 6, page.extract_text()


def test_no_page_parts_a_line_of_the_plans_or_an_order_of_work() -> None:
    """The plans' table and the order of work were once torn over two taped sheets of fleet-07."""
    work = job.compute(str(SPECS / "fleet-07.toml"))[1]
    first = pages(written(levelling.make(work)))[0].extract_text()
    assert "every note clears 0.278 0.0109 1.016 0.0400 10 0.72 0.028 replace fret 2" in first
    assert "1. Seat or glue loose frets, and measure again: what a loose fret shows is not its height." in first
    assert "6. String up, set the relief" in first


# ------------------------------------------------------------------------------------------------------- the strip


def strips(i: Instrument, needs: Remedy) -> list[dict[str, Any]]:
    """Every strip of the SVG: side, unit, places of its marks and of the nut's, and the text at every fret by row."""
    sheet = sheets(levelling.make(work_with(i, needs)))["levelling-strip"]
    root = ET.fromstring(svg.encode(sheet.drawing))
    space = "{http://www.w3.org/2000/svg}"
    groups = {g.get("id"): g for g in root.iter(f"{space}g")}

    def lines(layer: str) -> list[tuple[float, ...]]:
        return [tuple(float(e.get(k, 0)) for k in ("x1", "y1", "x2", "y2")) for e in groups[layer].iter(f"{space}line")]

    texts = [(float(t.get("x", 0)), float(t.get("y", 0)), t.text or "") for t in root.iter(f"{space}text")]
    found = []
    nuts = sorted(lines("NUT_FRONT"), key=lambda line: line[1])
    for nut, after in itertools.zip_longest(nuts, nuts[1:]):
        top, low = nut[1] - 0.1, (after[1] if after else nut[1] + 40) - 3
        marks = sorted(x for x, y, _, _ in lines("SLOT_CENTRE") if top <= y < low)
        inside = [(x, y, text) for x, y, text in texts if top < y < low]
        (name,) = [text for _, _, text in inside if re.match(r"(bass|treble), ", text)]
        rows = sorted((y, text.removeprefix("line ")) for _, y, text in inside if text.startswith("line "))
        (numbers_y,) = [y for _, y, text in inside if text == name]
        frets = {int(text): x for x, y, text in inside if abs(y - numbers_y) < 0.1 and text.isdigit()}
        said = {}
        for y, line in rows:
            for fret, x in frets.items():
                cell = [
                    t for tx, ty, t in inside if abs(tx - x) < 1.7 and abs(ty - y) < 2.6 and not t.startswith("line")
                ]
                said[line, fret] = " ".join(cell)
        found.append(
            {
                "name": name,
                "nut": nut[0],
                "marks": marks,
                "frets": frets,
                "rows": [row for _, row in rows],
                "said": said,
            }
        )
    return found


@pytest.mark.parametrize(("changes", "off", "lines"), SHAPES[:3])
def test_the_strips_lie_true_along_the_board_with_every_amount_under_its_fret(
    changes: dict[str, Any], off: Array, lines: tuple[str, ...]
) -> None:
    i, needs = made(changes, off, lines)
    assert needs.chosen is not None
    f = needs.filings[needs.chosen]
    assert f.worth_filing.any()
    found = strips(i, needs)
    assert [s["name"] for s in found] == ["bass, mm", "bass, thou", "treble, mm", "treble, thou"]
    for strip in found:
        side, unit = strip["name"].split(", ")
        ends, start = (
            (i.plan.bass_ends, i.plan.nut_bass_end) if side == "bass" else (i.plan.treble_ends, i.plan.nut_treble_end)
        )
        along = np.hypot(*(ends - start).T)
        nut_left = (side == "bass") == (i.side > 0)  # seen by somebody who stands on that side
        way = 1 if nut_left else -1
        assert sorted(strip["nut"] + way * along) == pytest.approx(strip["marks"], abs=1e-3)
        assert set(strip["frets"]) == set(range(1, 22))
        for fret, x in strip["frets"].items():
            assert abs(x - (strip["nut"] + way * along[fret - 1])) < 2
        assert needs.crowns is not None
        y = dict(zip(lines, i.side * needs.crowns.places[1].mean(0), strict=True))
        assert strip["rows"] == sorted(lines, key=lambda name: y[name] if side == "bass" else -y[name])
        for (line, fret), said in strip["said"].items():
            at = fret - 1, lines.index(line)
            if not f.worth_filing[at]:
                assert said == "–"
            elif unit == "mm":
                assert float(said) == pytest.approx(f.removed[at], abs=0.00501)
            else:
                assert from_inches(float(said) / 1000) == pytest.approx(f.removed[at], abs=from_inches(0.0000501))


def test_a_new_fret_and_one_that_was_not_read_are_told_apart() -> None:
    i = instrument()
    off = UNEVEN.copy()
    off[2] = np.nan
    needs = remedy(i, off)
    plan = next(n for n, f in enumerate(needs.filings) if f.plan == "replace")
    f = needs.filings[plan]
    (new,) = f.replaced
    said = levelling_strip.amounts(f, 0, "mm")
    assert said[new - 1] == "new"
    assert said[2] == "·"
    rows = labelled.of_table(tables.line(f, 0))
    assert rows[str(new), "do"] == "new fret"
    assert rows["3", "do"] == "not read"
    assert rows["3", "file, mm"] == ""


# ---------------------------------------------------------------------------------------------- tables and charts


def test_csv_and_numbers_json_hold_every_plan() -> None:
    i, needs = made({}, UNEVEN, ("bass", "treble"), pm=0.006)
    work = work_with(i, needs)
    rows = labelled.of_csv(levelling.make(work), "levelling")
    told = labelled.numbers(work)["levelling"]
    assert [plan["plan"] for plan in told] == [f.plan for f in needs.filings]
    for plan, f, v in zip(told, needs.filings, needs.verdicts, strict=True):
        assert set(plan) >= {"plan", "replaced", "lines", "most", "total", "filed", "least_crown_left", "verdict"}
        assert plan["replaced"] == list(f.replaced)
        assert plan["verdict"] == v.words
        removed = np.array([line["removed"] for line in plan["lines"]], dtype=float)
        assert pytest.approx(f.removed, abs=1e-9, nan_ok=True) == removed.T
        assert (plan["most"], plan["total"]) == pytest.approx((np.nanmax(removed), np.nansum(removed)), abs=1e-8)
        assert plan["filed"] == (np.nan_to_num(removed) > 0.0005).sum()
        assert [line["line"] for line in plan["lines"]] == ["bass", "treble"]
    assert len(rows) == len(needs.filings) * 2 * 21
    at = iter(rows)
    for f in needs.filings:
        for k, line in enumerate(f.profile.lines):
            for n in range(21):
                row = next(at)
                assert (row["line"], int(row["fret"])) == (line, n + 1)
                removed = f.removed[n, k]
                assert row["removed"] == ("" if np.isnan(removed) else str(round(float(removed), 9) + 0.0))
                assert row["file"] == ("new" if n + 1 in f.replaced else "yes" if f.worth_filing[n, k] else "no")


def test_what_would_be_left_too_low_is_replaced_on_every_sheet() -> None:
    """Fret 2 is worn to 0.75: the plan that files least leaves it under the least, so nowhere is it filed or left."""
    i = instrument({"playing.headroom": 0.8})
    off = bump(7, (0.06, 0.05))
    worn = as_found.crowns(i, off)
    height = np.array(worn.height)
    height[1] = 0.75
    needs = Remedy(i, FoundInPlay(as_found.readings(i), replace(worn, height=height)))
    assert needs.chosen is not None
    assert needs.verdicts[needs.chosen].replaced == (2,)
    f = needs.as_done[needs.chosen]
    work = work_with(i, needs)
    assert tables.plan_name(f).endswith(", 2 replaced")
    assert f.worth_filing.any()
    for column in range(2):
        does = ["file" if worth else "leave" for worth in f.worth_filing[:, column]]
        assert list(tables.line(f, column)["do"].values) == [does[0], "new fret", *does[2:]]
        assert levelling_strip.amounts(f, column, "mm")[1] == "new"
        chart = levelling_chart.draw(f, column, "line", levelling_chart.scales(f))
        assert len([s for s in chart.layer("OUTLINE").shapes if isinstance(s, Outline)]) == 20
    rows = labelled.of_csv(levelling.make(work), "levelling")
    chosen = {(r["line"], r["fret"]): r for r in rows if r["chosen"] == "yes"}
    assert {line for line in ("bass", "treble") if chosen[line, "2"]["file"] == "new"} == {"bass", "treble"}
    assert chosen["bass", "2"]["removed"] == ""


def test_the_chart_shows_what_is_filed_on_each_crown() -> None:
    _, needs = made({}, UNEVEN, ("bass", "treble"))
    f = levelling.shown(needs)
    scale = levelling_chart.scales(f)
    assert re.search(r"heights \d+ times exaggerated", scale.words)
    for column in range(2):
        chart = levelling_chart.draw(f, column, "line", scale)
        left = [s for s in chart.layer("OUTLINE").shapes if isinstance(s, Outline)]
        filed = [s for s in chart.layer("DIMENSION").shapes if isinstance(s, Outline)]
        assert len(left) == 21
        amounts = [(s.points[2][1] - s.points[1][1]) / scale.up for s in filed]
        assert amounts == pytest.approx([v for v in f.removed[:, column] if v * scale.up > 0.05], abs=1e-9)
        x = [s.points[0][0] for s in left]
        assert np.diff(x) == pytest.approx(np.diff(f.profile.x[:, column]) * scale.along)
        assert [s for s in chart.layer("CENTRELINE").shapes if isinstance(s, Line)]


def test_the_sheet_says_what_comes_first_and_what_is_chosen() -> None:
    i, needs = made({}, UNEVEN, ("bass", "treble"), pm=0.006)
    said = labelled.words_of(written(levelling.make(work_with(i, needs))))
    assert said.index("Seat or glue loose frets") < said.index("File along the measured lines")
    assert "between two lines in proportion" in said
    assert "Chosen: every note clears" in said
    _, worn = made({"levelling.least_crown": 1.2}, UNEVEN, ("bass", "treble"))
    said = labelled.words_of(written(levelling.make(work_with(i, worn))))
    assert "refret" in said
    assert worn.chosen is None


def test_every_amount_stands_in_its_own_row_and_column() -> None:
    i, needs = made({}, UNEVEN, ("bass", "treble"), pm=0.006)
    found = labelled.of_document(written(levelling.make(work_with(i, needs))))
    for f, v in zip(needs.filings, needs.verdicts, strict=True):
        name = tables.plan_name(f)
        assert float(found["levelling"][name, "most, mm"]) == pytest.approx(f.most, abs=0.000501)
        assert float(found["levelling"][name, "in all, in"]) * 25.4 == pytest.approx(f.total, abs=0.0013)
        assert found["levelling"][name, "comes to"] == v.words
    f = levelling.shown(needs)
    for k, line in enumerate(f.profile.lines):
        rows = found[f"levelling-{line}"]
        for n, fret in enumerate(f.profile.frets):
            cell = rows[f"{fret:.0f}", "file, mm"]
            assert float(cell) == pytest.approx(f.removed[n, k], abs=0.000501)
            assert rows[f"{fret:.0f}", "do"] == ("file" if f.worth_filing[n, k] else "leave")


# ------------------------------------------------------------------------------------------------------ setup plan


def test_the_setup_plan_has_every_step_in_order_with_its_numbers() -> None:
    i, needs = made({}, UNEVEN, ("bass", "treble"), relief=0.15, first=0.2, action=0.5, pm=0.01)
    steps = needs.changes.steps
    told = labelled.numbers(work_with(i, needs))["changes"]
    assert [t["what"] for t in told] == [s.what for s in steps]
    for t, step in zip(told, steps, strict=True):
        assert set(t) >= {"what", "string", "fret", "found", "pm", "wanted", "change", "how"}
        if step.change is not None:
            assert t["change"] == pytest.approx(t["wanted"] - t["found"], abs=1e-8)
    document = written(setup_plan.make(work_with(i, needs)))
    said = labelled.words_of(document)
    heads = ("1 Relief", "2 Crowns", "3 Strings", "4 Nut", "5 Saddle", "6 Relief again")
    places = [said.index(heading) for heading in heads]
    assert places == sorted(places)
    rows = labelled.of_document(document)["setup-saddle"]
    saddle = [s for s in steps if s.what == "saddle"]
    heads = ("found", "wanted", "change", "over fret 12 now", "over fret 12 then")
    for step in saddle:
        values = step.found, step.wanted, step.change, step.reads_before, step.reads_after
        for head, value in zip(heads, values, strict=True):
            assert value is not None
            assert float(rows[f"string {step.string}", f"{head}, mm"]) == pytest.approx(value, abs=0.00501)
            assert float(rows[f"string {step.string}", f"{head}, in"]) * 25.4 == pytest.approx(value, abs=0.0128)
        assert rows[f"string {step.string}", "as left"] == ""
    crowns = labelled.of_document(document)["setup-crown"]
    for step in (s for s in steps if s.what == "crown"):
        cell = crowns[f"fret {step.fret}, {step.line}", "change, mm"]
        assert float(cell) == pytest.approx(step.change, abs=0.000501)


def levelled() -> Work:
    """fleet-07 as its survey would have it done, the spec saying nothing of new frets."""
    spec = SPECS / "fleet-07.toml"
    text = re.sub(r"(?m)^work .*\n", "", spec.read_text(encoding="utf-8"))
    return job.compute(str(spec), text.encode())[1]


def test_a_step_without_a_length_names_its_fret() -> None:
    work = levelled()
    assert "2 New frets Fret 2: replace" in labelled.words_of(written(setup_plan.make(work)))


def test_cautions_stand_beside_the_steps_that_there_are() -> None:
    i = instrument()
    only_relief = remedy(i, None, relief=0.2)
    told = labelled.words_of(written(setup_plan.make(work_with(i, only_relief))))
    assert "Slacken" in told
    assert "nickel" not in told
    _, both = made({}, UNEVEN, ("bass", "treble"), first=0.2)
    told = labelled.words_of(written(setup_plan.make(work_with(i, both))))
    assert told.index("2 Crowns") < told.index("nickel") < told.index("3 Strings")
    assert told.index("4 Nut") < told.index("Nut saws")


def test_a_string_that_lies_on_a_crown_is_not_pulled() -> None:
    """fleet-07 as found: string 1 held at fret 3 lies on the bump at fret 4."""
    work = levelled()
    (told,) = [f for f in work.findings if f.code == "found-first-to-buzz"]
    assert "string 1 (E4) at fret 3: it lies on fret 4 before it is pulled." in told.message
    said = labelled.words_of(written(setup_plan.make(work)))
    assert "found none (a string lies on a crown), as left 0.71 mm" in said


def test_changes_that_rest_on_what_was_not_measured_say_so() -> None:
    """Actions alone were read: the saddle's changes hang on floors and a bow that nobody measured."""
    i = instrument()
    read = as_found.readings(i, action=0.4)
    alone = replace(read, relief=None, first_fret=np.full(6, np.nan))
    needs = Remedy(i, FoundInPlay(alone))
    steps = [step for step in needs.changes.steps if step.what == "saddle"]
    table = changes.steps(i, steps)
    assert table is not None
    assert [table["change"].text(row).endswith("est.") for row in range(6)] == [True] * 6
    told = [c for c in labelled.numbers(work_with(i, needs))["changes"] if c["what"] == "saddle"]
    assert [c["estimated"] for c in told] == [True] * 6
    both = Remedy(i, FoundInPlay(read))
    table = changes.steps(i, [step for step in both.changes.steps if step.what == "saddle"])
    assert table is not None
    assert not any(table["change"].text(row).endswith("est.") for row in range(6))
