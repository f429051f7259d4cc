"""The bench sheet read back: values tied to their labels, steps exactly where their cause is, text that stays text."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any
from xml.etree.ElementTree import Element

import html5lib
import labelled
import pdfplumber
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from making import instrument, spec_file, work, work_of
from places import FLEET

from templategen import job
from templategen.document.model import BenchPage, Document, Paragraphs, Step
from templategen.document.stacked import stacked
from templategen.drawing.paper.sizes import PAPERS
from templategen.parts.bench import order
from templategen.parts.bench.bench_sheet import document
from templategen.parts.common.work import Work
from templategen.repair.work import STEPS, asked
from templategen.tables import orders
from templategen.writers import document as on_paper
from templategen.writers import html

ASKED = ("board", "frets", "level", "nut", "saddle", "setup")
MM = 25.4  # ISO 80000-3: to the inch, exactly


def parsed(work: Work) -> Element:
    """The HTML by a parser that follows the standard and stops at its first error."""
    tree = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parse(html.encode(document(work)).decode())
    assert isinstance(tree, Element)
    return tree


@cache
def sheet(path: Path) -> tuple[Work, Element, dict[str, Any]]:
    """A spec of the fleet, made once: the job, its sheet, its numbers."""
    made = job.compute(str(path))[1]
    return made, parsed(made), labelled.numbers(made)


def text(element: Element) -> str:
    return " ".join("".join(element.itertext()).split())


def table(tree: Element, key: str) -> list[dict[str, str]]:
    """A table's rows, each cell under its head; of one to read from afar what is small stands under ``HEAD small``."""
    (found,) = tree.findall(f".//table[@data-table='{key}']")
    heads = [text(cell) for cell in found.findall("./thead/tr/th")]
    rows = []
    for row in found.findall("./tbody/tr"):
        cells = dict(zip(heads, row, strict=True))
        rows.append({head: (cell.text or "").strip() for head, cell in cells.items()})
        rows[-1] |= {f"{head} small": text(cell[0]) for head, cell in cells.items() if len(cell)}
    return rows


def facts(element: Element) -> dict[str, str]:
    return {text(pair[0]): text(pair[1]) for pair in element.iter("div") if len(pair) == 2 and pair[0].tag == "dt"}


def step(tree: Element, key: str) -> Element:
    (found,) = tree.findall(f".//article[@data-step='{key}']")
    return found


def said(element: Element, kind: str) -> list[str]:
    return [text(each) for each in element.iter("p") if each.get("class") == kind]


def first(value: str) -> float:
    """The number that a text begins with."""
    return float(value.split()[0])


# ------------------------------------------------------------------------------------------------------------- values


@pytest.mark.parametrize("path", FLEET, ids=lambda path: path.stem)
def test_every_value_is_that_of_numbers_json_beside_its_label(path: Path) -> None:
    job_, tree, told = sheet(path)
    present = {article.get("data-step") for article in tree.iter("article")}
    _tables(tree, told, job_, present)
    _record(tree, told, job_)
    _steps(tree, told, job_, present)
    assert facts(tree)["job"] == told["digest"][:12]
    assert facts(tree)["tuning"].split() == [row["note"] for row in reversed(told["strings"])]
    assert facts(tree)["handedness"] == f"{told['handedness']}-handed"
    label = facts(tree)
    action = told["setup"]["action_fret"]
    assert first(label["relief"]) == pytest.approx(told["setup"]["relief"], abs=0.0051)
    assert first(label[f"action over fret {action}, bass"]) == pytest.approx(told["strings"][-1]["action"], abs=0.0051)
    assert first(label[f"action over fret {action}, treble"]) == pytest.approx(told["strings"][0]["action"], abs=0.0051)
    for row in told["strings"]:
        (size,) = re.findall(rf"\b{row['string']} {row['note']} ([\d.]+) mm", label["gauges"])
        assert float(size) == pytest.approx(row["gauge"], abs=0.00051)


def _tables(tree: Element, told: dict[str, Any], job_: Work, present: set[str | None]) -> None:
    strings, i = told["strings"], job_.instrument
    lead, other = (("mm", "in"), ("in", "mm"))[i.spec.units == "in"]
    bass = told["nut"]["front_ends"][0 if told["handedness"] == "right" else 1]
    lengths = {
        "bench_nut": {
            "from the bass end": [abs(row["along_nut"] - bass) for row in strings],
            "width": [row["slot_width"] for row in strings],
            "file": [row["file"] for row in strings],
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
        "bench_tuning": {"gauge": [row["gauge"] for row in strings]},
    }
    homes = {"bench_nut": "nut", "bench_setup": "setup", "bench_tuning": "strings-on"}
    for key, heads in lengths.items():
        if homes.get(key, "setup") not in present:
            assert not tree.findall(f".//table[@data-table='{key}']")
            continue
        rows = table(tree, key)
        assert [row["string"].split() for row in rows] == [[str(row["string"]), row["note"]] for row in strings]
        for head, values in heads.items():
            for row, value in zip(rows, values, strict=True):
                if value is None:
                    assert row[f"{head}, {lead}"] == "no file of the shop"
                    continue
                small = row[f"{head}, {lead} small"].removesuffix(" est.")
                assert small.endswith(f" {other}")
                mm = {lead: float(row[f"{head}, {lead}"]), other: first(small)}
                assert mm["mm"] == pytest.approx(value, abs=0.0051), head
                assert mm["in"] * MM == pytest.approx(value, abs=0.013), head
        if key != "bench_tuning":
            *_, last = rows[0]
            assert all(row[head] == "" for row in rows for head in row if head in ("reached", "floor reached")), last
    if "strings-on" in present:
        for row, string in zip(table(tree, "bench_tuning"), strings, strict=True):
            assert float(row["pitch, Hz"]) == pytest.approx(string["frequency_hz"], abs=0.0051)
            assert float(row["tension, N"]) == pytest.approx(string["tension_n"], abs=0.051)
            assert (row.get("tension, N small") == "est.") == string.get("tension_n_estimated", False)
    for row, string in zip(table(tree, "bench_saddle"), strings, strict=True):
        guessed = string.get("saddle_offset_estimated", False)
        assert row[f"offset from the scale line, {lead} small"].endswith("est.") == guessed


def _record(tree: Element, told: dict[str, Any], job_: Work) -> None:
    strings, action = told["strings"], told["setup"]["action_fret"]
    wanted = {row["quantity"]: row["as wanted"] for row in table(tree, "record")}
    assert first(wanted["relief"]) == pytest.approx(told["setup"]["relief"], abs=0.0051)
    for side, row in (("bass", strings[-1]), ("treble", strings[0])):
        for label, key in (
            ("first-fret clearance", "first_fret_clearance"),
            ("gap at the first fret, string held at 3", "pressed_gap"),
            (f"action over fret {action}", "action"),
        ):
            assert first(wanted[f"{label}, {side}"]) == pytest.approx(row[key], abs=0.0051)
    spread = abs(strings[0]["nut_y"] - strings[-1]["nut_y"])
    assert first(wanted["outer strings at the nut, centres"]) == pytest.approx(spread, abs=0.0051)
    assert first(wanted["slot depth, least"]) == pytest.approx(told["frets"][-1]["slot_depth"], abs=0.0051)
    octave = job_.instrument.plan.octave
    if octave is not None and octave < len(strings[0]["cents"]):
        for row in strings:
            cents = wanted[f"cents at the octave, string {row['string']} {row['note']}"]
            assert first(cents) == pytest.approx(row["cents"][octave], abs=0.051)
    radius = told["board"]["radius_at_nut"]
    law = {label: value for label, value in wanted.items() if label.startswith("board radius")}
    assert next(iter(law.values())).startswith("flat" if radius is None else f"{radius:.1f} mm")
    if len(law) == 2:
        last = told["board"]["radius_at_last_fret"]
        assert first(wanted["board radius at the last fret"]) == pytest.approx(last, abs=0.051)
    found = {row["quantity"]: row["as found"] for row in table(tree, "record")}
    assert any(found.values()) == (told["as_found"] is not None)
    if told["as_found"] is not None and told["as_found"]["relief"] is not None:
        assert first(found["relief"]) == pytest.approx(told["as_found"]["relief"]["depth"], abs=0.0051)
    if told["as_found"] is not None and isinstance(told["as_found"]["scale_length"], float):
        assert first(found["scale"]) == pytest.approx(told["as_found"]["scale_length"], abs=0.0051)
    assert all(row["as left"] == "" for row in table(tree, "record"))


def _steps(tree: Element, told: dict[str, Any], job_: Work, present: set[str | None]) -> None:
    """The numbers and goals of the steps, each by its label."""
    frets, i = told["frets"], job_.instrument
    assert first(facts(step(tree, "setup"))["relief"]) == pytest.approx(told["setup"]["relief"], abs=0.0051)
    assert facts(step(tree, "setup"))["action at fret"].split(",")[0] == str(told["setup"]["action_fret"])
    if "nut" in present:
        nut = facts(step(tree, "nut"))
        assert first(nut["thickness"]) == pytest.approx(told["nut"]["thickness"], abs=0.0051)
        assert first(nut["seat below the board"]) == pytest.approx(told["nut"]["seat_depth"], abs=0.0051)
    if "frets-in" in present:
        seated, slots = facts(step(tree, "frets-in")), facts(step(tree, "slots"))
        count, low, *rest = re.findall(r"[\d.]+(?= mm|,)", seated["pieces"])
        cuts = [row["wire_cut"] for row in frets]
        assert int(count) == len(frets)
        assert float(low) == pytest.approx(min(cuts), abs=0.051)
        assert float(rest[0] if rest else low) == pytest.approx(max(cuts), abs=0.051)
        stops = [row["depth_stop_flat" if i.frets.flat_floor else "slot_depth"] for row in frets]
        stop = re.findall(r"[\d.]+(?= mm)", slots["depth stop"])
        assert [float(stop[0]), float(stop[-1])] == pytest.approx([min(stops), max(stops)], abs=0.0051)
        assert first(slots["slot width"]) == pytest.approx(i.spec.fret_wire.slot_width, abs=0.0051)
    if "radius" in present and told["radius_block"] is not None:
        board = facts(step(tree, "radius"))
        assert first(board["block radius"]) == pytest.approx(told["radius_block"]["block_radius"], abs=0.0051)


def test_an_inch_job_has_its_inches_large() -> None:
    tree = parsed(work({"units": "in", **_in_mm()}))
    (row, *_) = table(tree, "bench_setup")
    assert float(row["over the first crown, open, in"]) * MM == pytest.approx(0.30, abs=0.0013)
    assert row["over the first crown, open, in small"] == "0.300 mm"


def _in_mm() -> dict[str, Any]:
    """The test board's bare lengths with their unit, so that it stays the same in a job in inches."""
    import tomllib

    from making import SPEC

    def named(value: Any) -> Any:
        if isinstance(value, dict):
            return {key: each if key in NO_LENGTHS else named(each) for key, each in value.items()}
        if isinstance(value, list):
            return [named(each) for each in value]
        return f"{value} mm" if isinstance(value, int | float) and not isinstance(value, bool) else value

    whole = named(tomllib.loads(SPEC))
    return {
        f"{table}.{key}": value
        for table, keys in whole.items()
        if isinstance(keys, dict)
        for key, value in keys.items()
    }


NO_LENGTHS = ("fret_count", "markers", "doubled_markers", "fret", "wound")


# -------------------------------------------------------------------------------------------------- what is to decide


@pytest.mark.parametrize("path", FLEET, ids=lambda path: path.stem)
def test_what_is_to_be_decided_stands_worst_first_with_what_to_do(path: Path) -> None:
    _, tree, told = sheet(path)
    paragraphs = [each for each in tree.iter("p") if each.get("class") == "told decide"]
    dos = [text(next(span for span in each if span.get("class") == "do")) for each in paragraphs]
    messages = [
        text(each).removeprefix("To decide: ").replace(" Do: ", " ").replace("Do: ", " ") for each in paragraphs
    ]
    decided = {" ".join(f["message"].split()): f for f in told["findings"] if f["level"] == "decide"}
    assert sorted(" ".join(m.split()) for m in messages) == sorted(decided)
    assert all(len(do) > 10 for do in dos)
    ranks = [("hurts", "fails", "poorer").index(decided[" ".join(m.split())]["harm"]) for m in messages]
    assert ranks == sorted(ranks)
    for rank in set(ranks):
        shares = [decided[" ".join(m.split())]["past"] for m, r in zip(messages, ranks, strict=True) if r == rank]
        assert shares == sorted(shares, reverse=True)


def test_worse_stands_before_less_bad() -> None:
    """By hand: a nut 1.0 mm thick where 2 is the least is 0.5 past it and breaks; strings 1.5 mm from the edge where
    2.3 is the least are (2.3 - 1.5)/2.3 = 0.348 past it, and 0.5 mm are 0.783; both only play less well."""
    job_ = work({"nut.thickness": 1.0, "nut.edge_margin": {"bass": 1.5, "treble": 0.5}})
    heads = [text(each) for each in parsed(job_).iter("p") if each.get("class") == "told decide"]
    order_ = [
        next(n for n, head in enumerate(heads) if words in head)
        for words in ("The nut is only 1.00 mm", "The treble outer string lies", "The bass outer string lies")
    ]
    assert order_ == sorted(order_)
    past = {(f.code, f.values.get("side")): f.past for f in job_.findings}
    assert past["thin-nut", None] == pytest.approx(0.5)
    assert past["string-near-edge", "bass"] == pytest.approx((2.3 - 1.5) / 2.3)
    assert past["string-near-edge", "treble"] == pytest.approx((2.3 - 0.5) / 2.3)


# -------------------------------------------------------------------------------------------------------------- steps


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
    assert present == [key for key in ORDER if key in present], "in the order of work"


ORDER = (
    "record", "strings-off", "frets-out", "neck", "radius", "slots", "frets-in", "level", "nut", "saddle", "strings-on",
    "setup", "offsets", "check", "record-left",
)  # fmt: skip


def test_left_out_work_is_what_the_spec_is_for() -> None:
    assert asked(work({}).bench) == {"frets", "nut", "setup"}
    sanded = {"fingerboard.before": {"radius": 240, "thickness_at_edge": 5.2}, "fingerboard.thickness": None}
    assert asked(work(sanded).bench) == {"board", "frets", "nut", "setup"}


LEVEL = {"lines": ["bass", "treble"], "under_straightedge": {str(n): [0, 0] for n in range(1, 22)}}
TALL = {**LEVEL, "height": {str(n): [1.1, 1.1] for n in range(1, 22)}}
LOW_NUT = {"first_fret": [0.02] * 6, "action": {"fret": 12, "heights": [1.6, 1.7, 1.8, 1.9, 1.95, 2.0]}}


@pytest.mark.parametrize(
    ("survey", "wanted"),
    [
        ({"crowns": TALL}, {"setup"}),
        (
            {"crowns": {**TALL, "under_straightedge": {**LEVEL["under_straightedge"], "7": [0.2, 0.2]}}},
            {"setup", "level"},
        ),
        ({"crowns": {**TALL, "height": {str(n): [0.4, 0.4] for n in range(1, 22)}}}, {"setup", "frets", "nut"}),
        ({"crowns": TALL, "strings": LOW_NUT}, {"setup", "nut"}),
        ({"relief": {"held": [1, 21], "gap": {"8": 0.3}}}, {"frets", "nut", "setup"}),
    ],
    ids=["level crowns", "one low", "worn down", "nut too low", "no crowns measured"],
)
def test_left_out_work_follows_from_what_was_measured(survey: dict[str, Any], wanted: set[str]) -> None:
    job_ = work({"survey": survey})
    assert asked(job_.bench) == wanted
    (told,) = [f for f in job_.findings if f.code == "work-not-said"]
    assert ", ".join(sorted(wanted)) in told.message
    assert asked(work({"survey": survey, "work": ["saddle"]}).bench) == {"saddle"}, "said is said"


@pytest.mark.parametrize("path", FLEET, ids=lambda path: path.stem)
def test_every_step_is_whole(path: Path) -> None:
    """A goal with a number, tools, boxes, initials, a caution, and only files that the job has."""
    job_, tree, _ = sheet(path)
    whole = {f"{p.stem}.{form}" for p in _products(job_) for form in p.formats}
    for article in tree.iter("article"):
        key = str(article.get("data-step"))
        (goal,) = said(article, "goal")
        assert re.search(r"\d", goal) or key in ("record", "record-left"), goal
        assert len(said(article, "caution")) >= 1, key
        (boxes,) = [each for each in article.iter("p") if each.get("class") == "boxes"]
        labels = [text(each[0]) for each in boxes]
        assert labels[-1] == "initials"
        assert len(labels) >= 2
        small = dict(line.split(": ", 1) for line in said(article, "small"))
        assert small["Tools"]
        for use, names in small.items():
            assert use in ("Tools", "Print", "Cut", "Load", "Read")
            assert use == "Tools" or set(names.split(", ")) <= whole, (key, names)
    for key in ("slots", "nut"):
        for article in tree.findall(f".//article[@data-step='{key}']"):
            assert any(line.startswith("Print: ") for line in said(article, "small"))


def _products(job_: Work) -> list[Any]:
    from templategen.parts.register import PARTS

    return [product for part in PARTS for product in part.make(job_)]


def test_tolerances_are_those_of_the_record() -> None:
    """One set: what a step's goal says is what the record's column says."""
    tree = parsed(work({"work": list(ASKED)}))
    within = {row["quantity"]: row["within"] for row in table(tree, "record")}
    (goal,) = said(step(tree, "setup"), "goal")
    for quantity, words in (
        ("relief", "Relief ± "), ("first-fret clearance, bass", "at the first fret ± "),
        ("action over fret 12, bass", "action ± "),
    ):  # fmt: skip
        assert f"{words}{within[quantity]} (" in goal
    (slots,) = said(step(tree, "slots"), "goal")
    assert f"at the stop ± {within['slot depth, least']} (" in slots
    (offsets,) = said(step(tree, "offsets"), "goal")
    assert f"± {float(within['cents at the octave, string 1 E4']):g} cents" in offsets
    assert "± 5%" in said(step(tree, "radius"), "goal")[0]
    assert within["board radius"] == "15.0 mm"


def test_the_shop_s_own_tools_stand_beside_their_step() -> None:
    made = work({}, {"hand_tools": {"level": "beam 400 & file 3", "frets_out": "nippers 2"}})
    tree = parsed(made)
    assert "Tools: beam 400 & file 3" in said(step(tree, "level"), "small")
    assert "Tools: nippers 2" in said(step(tree, "frets-out"), "small")
    assert "Tools: beam 400 & file 3" not in said(step(tree, "frets-in"), "small")
    (nut,) = [line for line in said(step(tree, "nut"), "small") if line.startswith("Tools")]
    assert "nut files 0.300, 0.380, 0.500, " in nut
    (slots,) = [line for line in said(step(tree, "slots"), "small") if line.startswith("Tools")]
    assert "saw of 0.58 mm" in slots


# ------------------------------------------------------------------------------------------------------- order, quote


def test_what_is_to_be_ordered() -> None:
    made = work({"work": ["frets", "nut", "saddle"]}, {"end_mills": [{"diameter": 3, "shape": "flat"}]})
    i = made.instrument
    rows = [(row["what"], row["how much, how large"], row["in the shop"]) for row in table(parsed(made), "to-order")]
    told = {what: (size, has) for what, size, has in rows}
    assert i.wire_cuts is not None
    assert told["fret wire"][0].startswith(f"{i.wire_cuts.sticks} sticks of 610 mm")
    assert "for 21 pieces and 2 spare" in told["fret wire"][0]
    long, thick, tall = i.nut.blank.size
    sizes = [float(n) for n in re.findall(r"([\d.]+) mm", told["nut blank"][0])]
    assert sizes == pytest.approx([long, tall, thick], abs=0.051)
    assert [float(n) for n in re.findall(r"([\d.]+) mm", told["6 strings, treble side first"][0])] == pytest.approx(
        [0.26, 0.34, 0.44, 0.66, 0.90, 1.15]
    )
    assert told["fret saw"] == ("kerf 0.58 mm (0.023 in)", "owned")
    assert told["flat end mill, where slots are milled"][1] == "to order"
    files = [(size, has) for what, size, has in rows if what == "nut files"]
    fits = [file for file in i.nut.file if file is not None]
    assert [has for _, has in files] == ["owned", "to order"][: 1 + (len(fits) < 6)]
    assert f"{fits[0]:.3f} mm" in files[0][0]
    assert told["saddle blank"][0].startswith("longer than the strings' ")
    blunt = work({}, {"nut_file_widths": [5], "saw_kerfs": [0.4]})
    rows = [(row["what"], row["how much, how large"], row["in the shop"]) for row in table(parsed(blunt), "to-order")]
    (lacking,) = [size for what, size, has in rows if (what, has) == ("nut files", "to order")]
    for n, width in enumerate(blunt.instrument.nut.width):
        assert f"string {n + 1} {width:.3f} mm" in lacking
    assert ("fret saw", "kerf 0.58 mm (0.023 in)", "to order") in rows
    few = {row["what"] for row in table(parsed(work({"work": ["setup"]})), "to-order")}
    assert few == {"paper"}, "nothing is bought for a setup"


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_paper_is_what_the_printed_files_take(paper: str, tmp_path: Path) -> None:
    """Pages counted in the files themselves, by another reader than what laid them out."""
    with spec_file({}, {"paper": paper}) as path:
        job.make(path, tmp_path, formats=("pdf",))
        made = job.compute(path)[1]
    (row,) = [row for row in table(parsed(made), "to-order") if row["what"] == "paper"]
    total, listed = re.fullmatch(
        rf"(\d+) sheets of {paper}: (.*); besides clearance.pdf, this sheet", row["how much, how large"]
    ).groups()  # type: ignore[union-attr]
    counted = {}
    for each in listed.split(", "):
        name, pages = each.split()
        with pdfplumber.open(tmp_path / "made" / name) as pdf:
            counted[name] = len(pdf.pages)
        assert int(pages) == counted[name], name
    assert int(total) == sum(counted.values())
    assert {"fret-template.pdf", "nut.pdf", "nut-spacing-strip.pdf", "saddle.pdf"} <= set(counted)


def test_the_quote_adds_up_what_the_shop_gave_and_nothing_else() -> None:
    minutes = {"nut": {"job": 30, "string": 5}, "frets_in": {"fret": 3}, "radius": 90, "check": 10}
    made = work({}, {"minutes": minutes, "rate": 60, "currency": "EUR"})
    rows = table(parsed(made), "quote")
    assert [(row["step"], row["minutes"], row["price"]) for row in rows] == [
        ("Frets in", "63", "63.00 EUR"),  # 3 minutes for each of 21 frets; no radius step in this job
        ("Nut", "60", "60.00 EUR"),  # 30 and 5 for each of 6 strings
        ("Play every note", "10", "10.00 EUR"),
        ("together", "133", "133.00 EUR"),
    ]
    assert "price" not in table(parsed(work({}, {"minutes": minutes})), "quote")[0]
    assert orders.minutes(work({}).bench) is None
    assert orders.minutes(work({"work": ["setup"]}, {"minutes": {"nut": 30}}).bench) is None
    bare = html.encode(document(work({}))).decode()
    assert "minutes" not in bare
    assert "EUR" not in bare


# ------------------------------------------------------------------------------------------------- text, paper, speed


@settings(max_examples=30, deadline=None)
@given(st.text(st.characters(codec="utf-8").filter(str.isprintable), min_size=1, max_size=60))
def test_any_title_stays_text(title: str) -> None:
    made = replace(SHORT, title=title)
    tree = html5lib.HTMLParser(strict=False, namespaceHTMLElements=False).parse(html.encode(made).decode())
    (head,) = tree.iter("h1")
    assert "".join("".join(head.itertext()).split()) == "".join(title.split())
    assert not list(tree.iter("script"))
    assert [text(each) for each in tree.iter("h2")] == ["The job"], "and what follows is what it was"


SHORT = Document("", "bench sheet", "trace", (BenchPage("The job", (Paragraphs("Nothing."),)),))


def test_a_hostile_title_stays_text() -> None:
    hostile = "<script>alert(1)</script> & \"quotes\" 'n' </style> %%u"
    made = work_of(instrument({"title": hostile}))
    tree = parsed(made)
    assert [text(h) for h in tree.iter("h1")] == [hostile]
    assert facts(tree)["instrument"] == hostile
    assert not list(tree.iter("script"))
    with pdfplumber.open(io.BytesIO(on_paper.encode(document(made), PAPERS["A4"]))) as pdf:
        assert hostile in pdf.pages[0].extract_text()


def test_one_file_without_network_or_script() -> None:
    whole = html.encode(document(work_of(instrument({})))).decode()
    assert not re.search(r"(src|href)=", whole)
    assert "http" not in whole
    assert "@import" not in whole
    assert "<script" not in whole


ON_PAPER = [path for path in FLEET if path.stem in ("fleet-07", "fleet-23", "fleet-38", "fleet-55")]


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("path", ON_PAPER, ids=lambda path: path.stem)
def test_a_page_a_position_and_figures_for_arm_s_length(path: Path, paper: str) -> None:
    """Every position on one page, every step whole on it, the step's figures at least 14 pt: a refret that was
    measured, a job in inches, twelve strings, a board that is sanded."""
    job_ = sheet(path)[0]
    made = document(job_)
    data = on_paper.encode(made, PAPERS[paper])
    with pdfplumber.open(io.BytesIO(data)) as pdf:
        pages = [page.extract_text() for page in pdf.pages]
        sizes = [{(round(c["size"], 1), c["text"]) for c in page.chars} for page in pdf.pages]
        for page in pdf.pages:
            assert all(char["x0"] >= 0 and char["x1"] <= page.width and char["top"] > 0 for char in page.chars)
    _, *positions, last = made.pages
    found = {step_.key: step_ for step_ in order.steps(job_)}
    starts = {}
    for position in (*positions, last):
        (starts[position.title],) = [n for n, page in enumerate(pages) if f"\n{position.title}\n" in f"\n{page}"]
        for block in position.blocks:
            if isinstance(block, Step):
                whole = pages[starts[position.title]]
                assert f"\n{block.title}\n" in whole, f"{block.key} is on the page of its position"
                assert all(label in whole for label in block.boxes)
                assert "".join(block.cautions[-1].split())[-40:] in "".join(whole.split())
    assert list(starts.values()) == sorted(starts.values())
    assert starts[last.title] == len(pages) - 1
    assert all("quantity as found as wanted within as left" in page for page in pages[: min(starts.values())])
    assert sum(isinstance(block, Step) for position in positions for block in position.blocks) == len(found)
    for title, step_ in ((p.title, b) for p in positions for b in p.blocks if isinstance(b, Step)):
        large = {sign for size, sign in sizes[starts[title]] if size >= 14}
        shown = [value for _, value in step_.numbers]
        if step_.table is not None:
            columns = stacked(step_.table.table, step_.table.lead)
            shown += [cell.large for column in columns for cell in column.cells]
        assert {sign for value in shown for sign in value} - {" "} <= large, step_.key
    assert min(size for page in sizes for size, _ in page) >= 6.5


def test_the_command_writes_both_without_a_kernel(tmp_path: Path) -> None:
    with spec_file() as path:
        made = job.make(path, tmp_path, ("bench-sheet",))
    assert [name for name, _ in made.files] == ["bench-sheet.html", "bench-sheet.pdf"]


def test_every_step_has_a_maker_and_a_title() -> None:
    assert tuple(STEPS) == tuple(order.MADE) == ORDER
