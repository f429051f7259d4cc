"""The bench sheet read back: values tied to their labels, steps exactly where their cause is, text that stays text."""

from __future__ import annotations

import io
import re
from pathlib import Path
from typing import Any
from xml.etree.ElementTree import Element

import html5lib
import labelled
import pdfplumber
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from making import instrument, spec_file, work_of
from places import FLEET

from templategen import job
from templategen.drawing.paper.sizes import PAPERS
from templategen.parts.bench import order, quote
from templategen.parts.bench.bench_sheet import document
from templategen.parts.common.work import Work
from templategen.writers import document as on_paper
from templategen.writers import html

ASKED = ("board", "frets", "level", "nut", "saddle", "setup")


def parsed(work: Work) -> Element:
    """The HTML by a parser that follows the standard and stops at its first error."""
    tree = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parse(html.encode(document(work)).decode())
    assert isinstance(tree, Element)
    return tree


def text(element: Element) -> str:
    return " ".join("".join(element.itertext()).split())


def table(tree: Element, key: str) -> list[dict[str, str]]:
    """A table's rows, each cell under its head; an inch column is called after the one before it."""
    (found,) = tree.findall(f".//table[@data-table='{key}']")
    heads: list[str] = []
    for cell in found.findall("./thead/tr/th"):
        said = text(cell)
        heads.append(f"{heads[-1].removesuffix(', mm')}, in" if said == "in" else said)
    return [dict(zip(heads, map(text, row), strict=True)) for row in found.findall("./tbody/tr")]


def facts(tree: Element) -> dict[str, str]:
    return {text(pair[0]): text(pair[1]) for pair in tree.iter("div") if len(pair) == 2 and pair[0].tag == "dt"}


@pytest.mark.parametrize("path", FLEET, ids=lambda path: path.stem)
def test_every_value_is_that_of_numbers_json_beside_its_label(path: Path) -> None:
    work = job.compute(str(path))[1]
    tree, told = parsed(work), labelled.numbers(work)
    strings = told["strings"]
    bass = work.instrument.nut.front_ends[0 if work.instrument.side > 0 else 1]
    columns = {
        "bench_nut": {
            "from the bass end": [abs(row["along_nut"] - bass) for row in strings],
            "width": [row["slot_width"] for row in strings],
            "floor over the wood": [row["floor_above_board_here"] for row in strings],
            "depth from the top": [row["slot_depth"] for row in strings],
        },
        "bench_setup": {
            "over the first crown, open": [row["first_fret_clearance"] for row in strings],
            "over the first crown, held at 3": [row["pressed_gap"] for row in strings],
            f"over fret {told['setup']['action_fret']}": [row["action"] for row in strings],
        },
        "bench_saddle": {
            "height over the board's centreline": [row["saddle_height"] for row in strings],
            "offset from the scale line": [row["saddle_offset"] for row in strings],
        },
    }
    for key, heads in columns.items():
        rows = table(tree, key)
        assert [row["string"].split()[0] for row in rows] == [str(row["string"]) for row in strings]
        for head, values in heads.items():
            assert [float(row[f"{head}, mm"]) for row in rows] == pytest.approx(values, abs=0.0051)
            # ISO 80000-3: 25.4 mm to the inch, exactly
            assert [float(row[f"{head}, in"]) * 25.4 for row in rows] == pytest.approx(values, abs=0.013)
    wanted = {row["quantity"]: row["as wanted"] for row in table(tree, "record")}
    assert float(wanted["relief"].split()[0]) == pytest.approx(told["setup"]["relief"], abs=0.0051)
    for side, row in (("bass", strings[-1]), ("treble", strings[0])):
        for label, key in (
            ("first-fret clearance", "first_fret_clearance"),
            ("gap at the first fret, string held at 3", "pressed_gap"),
            (f"action over fret {told['setup']['action_fret']}", "action"),
        ):
            assert float(wanted[f"{label}, {side}"].split()[0]) == pytest.approx(row[key], abs=0.0051)
    measured = any(row["as found"] for row in table(tree, "record"))
    assert measured == (work.bench.found is not None)
    assert all(row["as left"] == "" for row in table(tree, "record"))
    assert facts(tree)["job"] == told["digest"][:12]
    decided = [f["message"] for f in told["findings"] if f["level"] == "decide"]
    assert [text(p).removeprefix("To decide: ") for p in tree.findall(".//p[@class='told decide']")] == decided


@settings(max_examples=25, deadline=None)
@given(st.sets(st.sampled_from(ASKED), min_size=1), st.booleans())
def test_steps_stand_exactly_where_their_cause_is(wanted: set[str], before: bool) -> None:
    changes: dict[str, Any] = {"work": sorted(wanted)}
    if before:
        changes["fingerboard.before"] = {"radius": 240, "thickness_at_edge": 5.2}
        changes["fingerboard.thickness"] = None
    made = instrument(changes)
    present = [step.key for step in order.steps(work_of(made))]
    fretwork = bool(wanted & {"board", "frets"})
    expected = {
        "radius": "board" in wanted,
        "frets-out": fretwork,
        "slots": fretwork,
        "frets-in": fretwork,
        "level": fretwork or "level" in wanted,
        "neck": fretwork or "level" in wanted,
        "nut": "nut" in wanted,
        "saddle": "saddle" in wanted,
        "strings-off": wanted != {"setup"},
        "strings-on": wanted != {"setup"},
        "record": True,
        "setup": True,
        "offsets": True,
        "check": True,
        "record-left": True,
    }
    assert set(present) == {key for key, there in expected.items() if there}
    assert present == [key for key in order.STEPS if key in present], "in the order of work"


def test_left_out_work_is_what_the_spec_is_for() -> None:
    assert order.asked(instrument({}).spec) == {"frets", "nut", "setup"}
    sanded = {"fingerboard.before": {"radius": 240, "thickness_at_edge": 5.2}, "fingerboard.thickness": None}
    assert order.asked(instrument(sanded).spec) == {"board", "frets", "nut", "setup"}


def test_every_step_has_its_cautions_and_boxes() -> None:
    for step in order.steps(work_of(instrument({"work": list(ASKED)}))):
        assert step.boxes
        if step.key not in ("check", "record-left", "offsets"):
            assert step.cautions, step.key


def test_the_quote_adds_up_what_the_shop_gave_and_nothing_else() -> None:
    minutes = {"nut": {"job": 30, "string": 5}, "frets_in": {"fret": 3}, "radius": 90, "check": 10}
    made = instrument({}, {"minutes": minutes, "rate": 60, "currency": "EUR"})
    found = {each.key: each.minutes for each in quote.taken(made)}
    assert found == {"nut": 30 + 5 * 6, "frets-in": 3 * 21, "check": 10}, "no radius step in this job"
    rows = table(parsed(work_of(made)), "quote")
    assert [(row["step"], row["minutes"], row["price"]) for row in rows] == [
        ("Frets in", "63", "63.00 EUR"),
        ("Nut", "60", "60.00 EUR"),
        ("Play every note", "10", "10.00 EUR"),
        ("together", "133", "133.00 EUR"),
    ]
    assert quote.taken(instrument({})) == ()
    bare = html.encode(document(work_of(instrument({})))).decode()
    assert "minutes" not in bare
    assert "EUR" not in bare


def test_a_title_stays_text() -> None:
    hostile = "<script>alert(1)</script> & \"quotes\" 'n' </style> %%u"
    made = work_of(instrument({"title": hostile}))
    tree = parsed(made)
    assert [text(h) for h in tree.iter("h1")] == [hostile]
    assert not list(tree.iter("script"))
    with pdfplumber.open(io.BytesIO(on_paper.encode(document(made), PAPERS["A4"]))) as pdf:
        assert hostile in pdf.pages[0].extract_text()


def test_one_file_without_network_or_script() -> None:
    whole = html.encode(document(work_of(instrument({})))).decode()
    assert not re.search(r"(src|href)=", whole)
    assert "http" not in whole
    assert "@import" not in whole
    assert "<script" not in whole


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("path", [FLEET[0], FLEET[8], FLEET[-1]], ids=lambda path: path.stem)
def test_paper_holds_every_step_whole_and_large_numbers_are_large(path: Path, paper: str) -> None:
    work = job.compute(str(path))[1]
    data = on_paper.encode(document(work), PAPERS[paper])
    assert data == on_paper.encode(document(work), PAPERS[paper])
    with pdfplumber.open(io.BytesIO(data)) as pdf:
        pages = [page.extract_text() for page in pdf.pages]
        for page in pdf.pages:
            assert all(char["x0"] >= 0 and char["x1"] <= page.width and char["top"] > 0 for char in page.chars)
        sizes = {round(char["size"], 1) for page in pdf.pages for char in page.chars}
    for step in order.steps(work):
        (home,) = [n for n, page in enumerate(pages) if f"\n{step.title}\n" in f"\n{page}\n"][:1]
        assert " ".join(step.boxes[-1:]) in pages[home], step.key
    assert max(sizes) >= 14
    assert min(sizes) >= 6.5


def test_the_command_writes_both_without_a_kernel(tmp_path: Path) -> None:
    with spec_file() as path:
        made = job.make(path, tmp_path, ("bench-sheet",))
    assert [name for name, _ in made.files] == ["bench-sheet.html", "bench-sheet.pdf"]
