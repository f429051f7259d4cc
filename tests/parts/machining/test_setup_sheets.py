"""Setup sheets: one page each, every size beside its label, tolerance and box, drawings without labels over lines."""

from __future__ import annotations

import io
import json
import math
from functools import cache
from typing import Any

import numpy as np
import pdfplumber
import pytest
from calls import CONE
from labelled import of_table
from making import instrument, work, work_of
from overlapping import overlaps
from places import FLEET, SPECS

from templategen import job
from templategen.document.model import Boxes, Document, Facts, Listing, Picture, Warned
from templategen.drawing.paper.sizes import PAPERS
from templategen.instrument.model import Instrument
from templategen.parts.common.work import Work
from templategen.parts.machining.sheets import make, sheets
from templategen.tables import machining
from templategen.tables.numbers import numbers
from templategen.writers import document as on_paper
from templategen.writers import json as as_json

SOME = (
    "07",
    "23",
    "38",
    "41",
    "44",
    "52",
)  # plain, multi-scale, twelve strings, left-handed, inches, saddle of one piece


@cache
def fleet(number: str) -> Work:
    return job.compute(str(SPECS / f"fleet-{number}.toml"))[1]


@cache
def told_of(number: str) -> Any:
    """numbers.json."""
    return json.loads(as_json.encode(numbers(fleet(number).bench, ())))


@cache
def sheet(number: str, name: str) -> Document:
    return dict(sheets(fleet(number)))[name]()


UNMEASURED = {f"fret_wire.{key}": None for key in ("slot_width", "tang_depth", "crown_height")}


def documents(work: Work) -> list[tuple[str, Document]]:
    return [(name, laid_out()) for name, laid_out in sheets(work)]


def blocks(made: Document, kind: type) -> list[Any]:
    (page,) = made.pages
    return [block for block in page.blocks if isinstance(block, kind)]


@pytest.mark.parametrize(("number", "paper"), [("07", "A4"), ("23", "A4"), ("38", "Letter"), ("52", "Letter")])
def test_one_page_each_with_everything_on_it(number: str, paper: str) -> None:
    for name, made in documents(fleet(number)):
        with pdfplumber.open(io.BytesIO(on_paper.encode(made, PAPERS[paper]))) as pdf:
            assert len(pdf.pages) == 1, name
            (page,) = pdf.pages
            words = page.extract_words()
            text = " ".join(page.extract_text().split())
        assert min(w["size"] if "size" in w else w["bottom"] - w["top"] for w in words) > 4.4, (
            f"{name}: too small to read"
        )
        for said in ("Held:", "Origin:", "Operations in their order", "To measure afterwards", "Milling:", "initials"):
            assert said in text, f"{name} lacks {said}"
        assert "inf" not in text.split()
        assert "nan" not in text.split()


@pytest.mark.parametrize("path", FLEET, ids=lambda path: path.stem)
def test_no_label_lies_over_anything(path: Any) -> None:
    for name, made in documents(fleet(path.stem.removeprefix("fleet-"))):
        for picture in blocks(made, Picture):
            found = [each for each in overlaps(picture.drawing) if each.layer != "SLOT_PATH"]
            assert found == [], f"{name}: {found[:2]}"


@pytest.mark.parametrize("number", SOME)
def test_every_size_has_its_tolerance_and_its_box(number: str) -> None:
    for name, made in documents(fleet(number)):
        written = [block.table for block in blocks(made, Listing) if block.writes]
        assert written, name
        for table in written:
            assert set(table.columns[-1].values) == {""}, "the last column takes the reading"
            if "within" in [column.key for column in table.columns]:
                assert all(table["within"].values)
            else:
                assert "within ±" in " ".join(table.notes)
        assert blocks(made, Boxes)
        assert blocks(made, Warned)


@pytest.mark.parametrize("number", SOME)
def test_nut_sizes_are_those_of_numbers_json(number: str) -> None:
    """Read from the page as it is printed, by row and column, against the file of numbers."""
    i = fleet(number).instrument
    told = told_of(number)
    with pdfplumber.open(io.BytesIO(on_paper.encode(sheet(number, "nut"), PAPERS["A4"]))) as pdf:
        tables = pdf.pages[0].extract_tables()
    read = {row[0].replace("\n", " "): row for table in tables for row in table if row[0]}
    for n, string in enumerate(told["strings"]):
        row = read[f"{n + 1} {i.spec.strings.set[n].note.text}"]
        pilot = not i.nut.full_width[n]
        floor = string["floor_above_seat"] + i.nut.filing_allowance
        if pilot:
            floor = string["floor_above_seat"] + string["slot_depth"] + i.nut.top_allowance - i.nut.pilots[n].depth
        assert float(row[1]) == pytest.approx(float(i.nut.along[n]), abs=0.0051)
        assert float(row[3]) == pytest.approx(floor - i.nut.datum_z, abs=0.0051)
        assert float(row[5]) == pytest.approx(i.nut.pilots[n].width if pilot else string["slot_width"], abs=0.00051)
        assert float(row[4]) == pytest.approx((floor - i.nut.datum_z) / 25.4, abs=0.00051)
    size = told["nut"]["blank"]["size"]
    for label, value in zip(("blank: length", "blank: front to back"), size, strict=False):
        assert float(read[label][1]) == pytest.approx(value, abs=0.0051)
    assert float(read["blank: highest point over the underside"][1]) == pytest.approx(size[2], abs=0.0051)


@pytest.mark.parametrize("number", SOME)
def test_board_sizes_are_those_of_numbers_json(number: str) -> None:
    told = told_of(number)
    cells = of_table(machining.board_sizes(fleet(number).instrument))
    frets = {fret["fret"]: fret for fret in told["frets"]}
    found = {row for row, _ in cells if " to fret " in row}
    assert len(found) >= 4
    for row in found:
        n = int(row.split(" to fret ")[1].split(",")[0])
        assert float(cells[row, "wanted, mm"]) == pytest.approx(frets[n]["from_nut"], abs=0.0051)
        assert cells[row, "within"] == "±0.05 mm (0.002 in)"
    last = max(frets)
    assert float(cells[f"width at fret {last}", "wanted, mm"]) == pytest.approx(frets[last]["width"], abs=0.0051)
    key = "depth_stop_flat" if fleet(number).instrument.frets.flat_floor else "slot_depth"
    depth = cells[f"slot depth at fret {last}, at the centreline", "wanted, mm"]
    assert float(depth) == pytest.approx(frets[last][key], abs=0.0051)


def test_block_and_saddle_by_label() -> None:
    i = fleet("52").instrument
    assert i.block is not None
    assert i.saddle_piece is not None
    cells = of_table(machining.block_sizes(i.block))
    for label, value in (("width", i.block.width), ("length", i.block.length), ("height over all", i.block.height)):
        assert float(cells[label, "wanted, mm"]) == pytest.approx(value, abs=0.0051)
    lands = of_table(machining.saddle_lands(i, i.saddle_piece))
    told = told_of("52")["saddle"]
    for n, string in enumerate(i.spec.strings.set):
        row = f"{n + 1} {string.note.text}"
        height, across = told["height"][n], told["across"][n]
        assert float(lands[row, "height over the seat, mm"]) == pytest.approx(height, abs=0.0051)
        front = told["thickness"] - across
        assert float(lands[row, "from front face, mm"]) == pytest.approx(front, abs=0.0051)


def test_tools_are_the_mills_and_depths_reach_the_floors() -> None:
    i = fleet("07").instrument
    rows = {row["operation"]: row for row in machining.nut_operations(i).records()}
    pilots, full = rows["Slots of strings 1, 2, 3, 4 and 5, front to back"], rows["Slots of string 6, front to back"]
    assert (pilots["tool"], pilots["files"]) == ("T6, vee cutter of 60°, 3.00 mm", "nut-slots.ngc")
    assert (full["tool"], full["left"]) == ("T4, ball end mill, 1.00 mm", "0.25 mm over the finished floor")
    fall = (
        i.nut.thickness
        * math.tan(math.radians(i.nut.back_angle_deg[5]))
        / math.cos(math.radians(i.nut.direction_deg[5]))
    )
    floor = i.nut.floor[5] + i.nut.filing_allowance - fall
    assert full["depth"] == pytest.approx(i.nut.blank.high[2] - floor)
    board = [row for row in machining.board_operations(i).records() if "slots" in str(row["operation"])]
    assert [(row["tool"], row["files"], row["depth"]) for row in board] == [
        ("T3, flat end mill, 0.58 mm", "fret-slots.ngc", pytest.approx(1.9))
    ]


def test_slots_come_before_the_top() -> None:
    said = [str(row["operation"]) for row in machining.nut_operations(fleet("07").instrument).records()]
    assert [text.split()[0] for text in said] == ["Blank", "Slots", "Slots", "After", "At"]


def test_without_a_mill_no_program_is_named() -> None:
    made = work_of(instrument())
    for name, each in documents(made):
        said = " ".join(cell for b in blocks(each, Listing) for line in b.table.lines() for cell in line)
        assert ".ngc" not in said, name
        assert "T3" not in said, name


def test_what_the_job_lacks_has_no_sheet() -> None:
    assert [name for name, _ in sheets(work())] == ["nut", "board", "radius-block"]
    assert [name for name, _ in sheets(work(CONE))] == ["nut", "board"]
    assert [product.stem for product in make(fleet("52"))] == [
        "setup-nut", "setup-board", "setup-radius-block", "setup-saddle",
    ]  # fmt: skip


@pytest.mark.parametrize("number", ["07", "23", "55"])
def test_top_radius_along_the_slots(number: str) -> None:
    """Against the curvature of the top itself, cut square to the way of the slots where the top is level across."""
    nut = fleet(number).instrument.nut
    fall, aside = math.radians(nut.top_fall_deg), math.radians(float(nut.direction_deg.mean()))
    x0 = float(nut.top.centre[0])
    way = np.array([math.sin(aside), math.cos(aside) * math.cos(fall), -math.cos(aside) * math.sin(fall)])
    normal = np.array([0.0, math.sin(fall), math.cos(fall)])
    across = np.cross(way, normal)
    across /= np.linalg.norm(across)

    def height(u: float) -> float:
        """Along the normal, of the top over a step u across: the root of z(x) − y·tan(fall) on that line."""
        low, high = -1.0, 1.0
        for _ in range(80):
            h = (low + high) / 2
            x, y, z = np.array([x0, 0.0, float(nut.top.z(x0))]) + u * across + h * normal
            low, high = (h, high) if z < float(nut.top.z(x)) - y * math.tan(fall) else (low, h)
        return (low + high) / 2

    step = 1.0
    curvature = -(height(step) - 2 * height(0.0) + height(-step)) / step**2
    assert 1 / curvature == pytest.approx(nut.top_radius_along, rel=2e-4)
    facts = dict(row for block in blocks(sheet(number, "nut"), Facts) for row in block.rows)
    assert facts["top's radius along the slots"].startswith(f"{nut.top_radius_along:.2f} mm")
    assert facts["top's radius in the upright plane of the front edge"].startswith(f"{nut.top.radius:.2f} mm")


def test_instrument_is_read_not_reckoned() -> None:
    i: Instrument = fleet("23").instrument
    facts = dict(row for block in blocks(sheet("23", "nut"), Facts) for row in block.rows)
    assert facts["stock"].startswith(f"{i.nut.blank.size[0]:.2f} mm (")


def test_what_rests_on_an_unmeasured_wire_says_so() -> None:
    guessed, measured = instrument(UNMEASURED), fleet("07").instrument
    assert guessed.guessed.slot
    assert guessed.guessed.crown
    for made, marks in ((guessed, "est."), (measured, "")):
        board = machining.board_sizes(made)["wanted"]
        last = made.frets[len(made.frets) - 1].name
        rows = dict(zip(machining.board_sizes(made)["size"].values, range(99), strict=False))
        for row in ("slot width", f"slot depth at {last}, at the centreline"):
            assert board.text(rows[row]).endswith(f"in) {marks}".rstrip())
        assert not board.text(rows["thickness at the centreline"]).endswith("est.")
        assert machining.nut_slots(made)["floor"].text(0).endswith(f"in) {marks}".rstrip())
    said = [finding for finding in work(UNMEASURED).findings_for("setup") if finding.est]
    assert "the fret wire" in {finding.est for finding in said}


def test_floors_count_from_the_flat_underside_of_a_curved_seat() -> None:
    """The underside lies where the seat's arc is lowest, at the wider end of the back: R − √(R² − x²)."""
    curved, flat = instrument({"nut.seat_radius": 300}), instrument()
    ends = [*curved.nut.front_ends, *curved.nut.back_ends]
    drop = max(300 - math.sqrt(300**2 - float(x) ** 2) for x in ends)
    for n in range(6):
        over, plain = (machining.nut_slots(each)["floor"].values[n] for each in (curved, flat))
        assert isinstance(over, float)
        assert isinstance(plain, float)
        assert over - plain == pytest.approx(drop, abs=2e-4)
    assert drop > 0.5
