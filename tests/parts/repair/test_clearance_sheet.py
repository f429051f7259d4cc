"""The map of headroom read back from its files: every number in the cell of its own string and fret."""

from __future__ import annotations

import io
import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from typing import Any

import labelled
import pdfplumber
import pytest
from making import FAN, instrument, work_of
from overlapping import overlaps

from templategen.document.model import Document, Kept, Picture
from templategen.drawing.model import Circle, Drawing, Line, Outline, Text
from templategen.drawing.paper.sizes import PAPERS
from templategen.instrument.model import Instrument
from templategen.parts.common.product import Sheet, Writing
from templategen.parts.repair import clearance
from templategen.parts.repair.clearance_map import CELL, ROW
from templategen.units import from_inches
from templategen.writers import document as on_paper
from templategen.writers import svg

TWELVE = {
    "strings.set": [{"gauge": 0.25 + 0.06 * n, "note": "A3"} for n in range(12)],
    "fingerboard.width_at_nut": 60, "fingerboard.width_at_last_fret": 80, "bridge.string_spread": 72,
}  # fmt: skip
WORTH = {"nut": "height at the nut"}
SHAPES: list[dict[str, Any]] = [
    {},
    FAN,
    TWELVE,
    {"scale.fret_count": 36},
    {"scale.fret_count": 1, "setup.relief": 0, "fret_wire.markers": [], "fret_wire.doubled_markers": []},
    {"scale.zero_fret": True, "setup.first_fret_clearance": None, "handedness": "left"},
    {"playing.headroom": 0.8, "playing.plucked_at": {"bass": 0.1, "treble": 0.14}},
    {"setup.action": {"fret": 12, "bass": 0.4, "treble": 0.03}},
]


def sheet_of(i: Instrument) -> Sheet:
    (sheet,) = [p for p in clearance.make(work_of(i)) if isinstance(p, Sheet)]
    return sheet


def written(i: Instrument) -> Document:
    (found,) = [p for p in clearance.make(work_of(i)) if isinstance(p, Writing)]
    document = found.content("pdf")
    assert isinstance(document, Document)
    return document


def pictures(document: Document) -> list[Drawing]:
    blocks = [block for page in document.pages for block in page.blocks]
    inside = [each for block in blocks for each in (block.blocks if isinstance(block, Kept) else (block,))]
    return [block.drawing for block in inside if isinstance(block, Picture)]


@pytest.mark.parametrize("changes", SHAPES)
def test_drawings_are_clear_and_every_page_holds_something(changes: dict[str, Any]) -> None:
    i = instrument(changes)
    whole, document = sheet_of(i).drawing, written(i)
    for drawing in (whole, *pictures(document)):
        assert overlaps(drawing) == []
    for said in (" ".join(whole.cautions), labelled.words_of(document)):
        assert "Slacken" in said
        assert "Local rules" in said
    pages = pdfplumber.open(io.BytesIO(on_paper.encode(document, PAPERS["A4"]))).pages
    assert len(pages) <= (5 if changes.get("scale.fret_count") == 36 else 3)
    for page in pages:
        assert len(page.extract_text().splitlines()) > 8, page.extract_text()


def test_the_job_s_own_unit_comes_first() -> None:
    for units, first in (("mm", "Wanted: headroom, mm"), ("in", "Wanted: headroom, thou")):
        i = instrument()
        spec = i.spec.model_copy(update={"units": units})
        said = labelled.words_of(written(replace(i, spec=spec)))
        other = {"mm": "Wanted: headroom, thou", "in": "Wanted: headroom, mm"}[units]
        assert said.index(first) < said.index(other)


def test_what_steps_are_worth_stands_in_its_own_cell() -> None:
    i = instrument()
    assert i.best_setup is not None
    found = labelled.of_document(written(i))
    for w in i.best_setup.worth:
        (row,) = {row for row, _ in found["worth"] if row.startswith(f"{WORTH.get(w.what, w.what)} {w.step:+.2f} mm")}
        for head, value in (("fretted", w.fretted), ("open", w.opened)):
            assert float(found["worth"][row, f"{head}, mm"]) == pytest.approx(value, abs=0.000501)
            assert float(found["worth"][row, f"{head}, in"]) * 25.4 == pytest.approx(value, abs=0.0013)
    for n, string in enumerate(i.spec.strings.set):
        row = f"{n + 1} {string.note.text}"
        assert float(found["least-action"][row, "least, mm"]) == pytest.approx(i.best_setup.least_action[n], abs=0.0051)
        assert float(found["least-action"][row, "action at 12, mm"]) == pytest.approx(
            i.best_setup.action[n], abs=0.0051
        )


def cells(i: Instrument, heading: str) -> dict[tuple[int, int], str]:
    """(string, fret) to what stands in the cell, from the places of the letters in the SVG."""
    root = ET.fromstring(svg.encode(sheet_of(i).drawing))
    texts = [
        (float(t.get("x", 0)), float(t.get("y", 0)), t.text or "", t.get("text-anchor"))
        for t in root.iter("{http://www.w3.org/2000/svg}text")
    ]
    (top,) = [y for _, y, text, _ in texts if text == heading]
    heads = [(x, y, text) for x, y, text, anchor in texts if anchor == "middle" and top < y < top + 12]
    strings = {int(text.split()[0]): x for x, _, text in heads if re.match(r"\d+ [A-G]", text)}
    left = min(strings.values()) - CELL / 2
    below = top + (len(i.plan.numbers) + 5) * ROW
    names = re.compile(r"open|\d+")
    sides = [(y, text) for x, y, text, anchor in texts if anchor == "end" and x < left and top < y < below]
    rows = {text: y for y, text in sides if names.fullmatch(text)}
    found: dict[tuple[int, int], str] = {}
    for name, y in rows.items():
        for string, middle in strings.items():
            inside = sorted((x, t) for x, ty, t, _ in texts if abs(ty - y) < 0.1 and abs(x - middle) < CELL / 2)
            found[string, 0 if name == "open" else int(name)] = " ".join(t for _, t in inside)
    return found


@pytest.mark.parametrize("changes", [{}, FAN, SHAPES[5], SHAPES[6], SHAPES[7]])
def test_every_cell_has_the_number_of_its_string_and_fret(changes: dict[str, Any]) -> None:
    i = instrument(changes)
    metric, thou = cells(i, "Wanted: headroom, mm"), cells(i, "Wanted: headroom, thou")
    notes = [n for n in i.clearance.notes if n.headroom is not None]
    assert set(metric) == {(n.string, n.fretted) for n in notes} == set(thou)
    for note in notes:
        assert note.headroom is not None
        figure, crown = metric[note.string, note.fretted].split()
        assert len(figure) <= 4
        assert float(figure) == pytest.approx(note.headroom, abs=0.00501 if note.headroom > -0.995 else 0.0501)
        assert int(crown) == note.touches
        figure, crown = thou[note.string, note.fretted].split()
        assert from_inches(float(figure) / 1000) == pytest.approx(note.headroom, abs=from_inches(0.000501))
        assert int(crown) == note.touches


def test_marks_are_of_the_worst_and_of_what_is_under_the_headroom_asked_for() -> None:
    i = instrument({"playing.headroom": 0.8, "playing.plucked_at": 0.2})
    leaf = pictures(written(i))[0]
    frames = [s for s in leaf.layer("OUTLINE").shapes if isinstance(s, Outline)]
    bold = [s for s in leaf.layer("TEXT").shapes if isinstance(s, Text) and s.bold and re.match(r"-?[\d.]+$", s.text)]
    under = [n for n in i.clearance.notes if n.fretted and n.headroom is not None and n.headroom < 0.8 - 5e-4]
    worst = i.clearance.worst_fretted
    assert worst in under
    assert len(under) > 5
    assert len(bold) == len(under) + 1  # and the worst open string
    assert len(frames) == len(under) - 1 + 2 * 2
    bars = [s for s in leaf.layer("NUT_FRONT").shapes if isinstance(s, Line)]
    assert len(bars) == sum(n.headroom is not None for n in i.clearance.notes)
    longest = max(b.end[0] - b.start[0] for b in bars)
    highest = max(n.headroom for n in i.clearance.notes if n.headroom is not None)
    assert worst is not None
    assert worst.headroom is not None
    assert min(b.end[0] - b.start[0] for b in bars) == pytest.approx(longest * worst.headroom / highest)


def test_the_worst_note_is_drawn_as_exaggerated_as_it_says() -> None:
    i = instrument()
    leaf = pictures(written(i))[1]
    (scales,) = [s.text for s in leaf.layer("TEXT").shapes if isinstance(s, Text) and "exaggerated" in s.text]
    match = re.fullmatch(r"Lengths 1 : (\d+), heights (\d+) : 1: heights (\d+) times exaggerated\.", scales)
    assert match
    along, up = 1 / int(match[1]), int(match[2])
    assert int(match[3]) == pytest.approx(up / along)
    worst = i.clearance.worst_fretted
    assert worst is not None
    (string,) = [s for s in leaf.layer("STRING").shapes if isinstance(s, Line)]
    at, row = worst.string - 1, i.plan.index(worst.fretted)
    run, rise = string.end[0] - string.start[0], string.end[1] - string.start[1]
    assert run == pytest.approx((i.saddle.x[at] - i.plan.crossings[row, at, 0]) * along)
    assert rise == pytest.approx((i.saddle.height[at] - i.crowns[row, at]) * up)
    (ring,) = [s for s in leaf.layer("OUTLINE").shapes if isinstance(s, Circle)]
    touched = i.plan.index(worst.touches or 0)
    swing = [s for s in leaf.layer("CENTRELINE").shapes if isinstance(s, Line)]
    assert ring.centre[0] - string.start[0] == pytest.approx(
        (i.plan.crossings[touched, at, 0] - i.plan.crossings[row, at, 0]) * along
    )
    low = next(s for s in swing if s.start[0] <= ring.centre[0] <= s.end[0])
    share = (ring.centre[0] - low.start[0]) / (low.end[0] - low.start[0])
    assert low.start[1] + share * (low.end[1] - low.start[1]) == pytest.approx(ring.centre[1], abs=1e-9)


def test_csv_and_numbers_json_hold_every_note() -> None:
    i = instrument()
    work = work_of(i)
    rows = labelled.of_csv(clearance.make(work), "clearance")
    numbers = labelled.numbers(work)
    assert len(rows) == len(numbers["clearance"]) == 6 * 22
    for row, told, note in zip(rows, numbers["clearance"], i.clearance.notes, strict=True):
        assert (int(row["string"]), int(row["fretted"])) == (told["string"], told["fretted"])
        assert (told["string"], told["fretted"]) == (note.string, note.fretted)
        for key in ("headroom_away", "headroom_toward", "least_gap", "force_n"):
            value = getattr(note, key)
            assert told[key] == (None if value is None else pytest.approx(value, abs=1e-9))
            assert row[key] == ("" if value is None else str(told[key]))
        if note.headroom_away is not None:
            assert from_inches(float(row["headroom_away_in"])) == pytest.approx(note.headroom_away, abs=1e-6)
        assert told["touches_away"] == note.touches_away
        assert told["touches_toward"] == note.touches_toward
        assert told["least_gap_over"] == note.least_gap_over
        assert set(told) == {
            "string", "fretted", "headroom_away", "touches_away", "headroom_toward", "touches_toward", "force_n",
            "least_gap", "least_gap_over",
        }  # fmt: skip
    best = i.best_setup
    assert best is not None
    assert numbers["best_setup"]["most_headroom"] == {
        "relief": pytest.approx(best.most_headroom_relief, abs=1e-9),
        "headroom": pytest.approx(best.most_headroom, abs=1e-9),
    }
    assert numbers["best_setup"]["least_action"]["relief"] == pytest.approx(best.least_action_relief, abs=1e-9)
    assert numbers["best_setup"]["least_action"]["action"] == pytest.approx(best.least_action.tolist(), abs=1e-9)


def test_the_sheet_says_what_the_figures_are_and_whose_hand() -> None:
    said = labelled.words_of(written(instrument()))
    assert "Plucked at 0.2 (est.) of the scale" in said
    assert "a hard strike can exceed them" in said
    given = labelled.words_of(written(instrument({"playing.plucked_at": 0.2})))
    assert "Plucked at 0.2 of the scale" in given
    assert "(est.)" not in given
