"""The shape of every table: how kinds print, marks of estimates, what cannot be."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from templategen.errors import OurBug
from templategen.tables.model import SHOWN, Column, Table, column
from templategen.writers import csv, json, terminal


def strip_cells(each: Column) -> list[tuple[str, tuple[str, ...]]]:
    return [(strip.line, strip.cells) for strip in each.printed()]


@given(st.floats(-2000, 2000))
def test_a_length_prints_in_both_units(mm: float) -> None:
    """25.4 mm to the inch, exactly (ISO 80000-3); inches have one place more."""
    for kind, places in (("length", 2), ("fine", 3)):
        (metric, (first,)), (inch, (second,)) = strip_cells(column("x", "x", [mm], kind))  # type: ignore[arg-type]
        assert (metric, inch) == ("x, mm", "in")
        assert len(first.partition(".")[2]) == places
        assert len(second.partition(".")[2]) == places + 1
        exact = Fraction(mm)
        assert abs(Fraction(first) - exact) <= Fraction(1, 2 * 10**places) + Fraction(1, 10**9)
        assert abs(Fraction(second) - exact / Fraction(254, 10)) <= Fraction(1, 2 * 10 ** (places + 1)) + Fraction(
            1, 10**9
        )


def test_kinds_with_their_units() -> None:
    for kind, value, texts in (
        ("length", 279.4, "279.40 mm (11.000 in)"),
        ("fine", 0.254, "0.254 mm (0.0100 in)"),
        ("volume", 16387.064, "16.39 cm³ (1.000 in³)"),  # 1 in³ = 16.387064 cm³, exactly
        ("angle", 7.25, "7.2°"),
        ("cents", 1.234, "+1.23 cents"),
        ("cents", -0.001, "+0.00 cents"),
        ("force", 70.84, "70.8 N"),
        ("stress", 1396.4, "1396 N/mm²"),
        ("mass", 0.3984, "0.398 g/m"),
        ("frequency", 329.628, "329.63 Hz"),
        ("percent", 0.591, "59%"),
        ("count", 12, "12"),
        ("words", "pilot", "pilot"),
        ("flag", True, "yes"),
    ):
        assert column("x", "x", [value], kind).text(0) == texts  # type: ignore[arg-type]


def test_what_is_not_known() -> None:
    for unknown in (None, math.nan, math.inf):
        each = column("r", "radius", [unknown, 300.0], "length", missing="flat")
        assert strip_cells(each) == [("radius, mm", ("flat", "300.00")), ("in", ("", "11.811"))]
        assert each.text(0) == "flat"
        assert json.encode(Table("t", "t", (each,), labels=0)) == b'[\n {\n  "r": ' + (
            b'null\n },\n {\n  "r": 300.0\n }\n]\n'
        )


def test_estimates_are_marked_wherever_they_stand() -> None:
    core = column("core", "core", [0.309, 0.4], "fine", estimated=[True, False])
    table = Table("t", "Strings", (column("string", "string", [4, 5], "count"), core))
    assert table.lines() == [
        ["string", "core, mm", "in", ""],
        ["4", "0.309", "0.0122", "est."],
        ["5", "0.400", "0.0157", ""],
    ]
    assert core.text(0) == "0.309 mm (0.0122 in) est."
    assert core.text(1) == "0.400 mm (0.0157 in)"
    assert csv.encode(table).decode().splitlines() == ["string,core,core_estimated", "4,0.309,True", "5,0.4,False"]
    assert b'"core_estimated": true' in json.encode(table)
    assert "0.309 0.0122 est." in terminal.encode(table).decode()


def test_a_group_heads_its_columns() -> None:
    pair = [column(f"c{n}", head, [1.0], "cents", group="1 E4") for n, head in enumerate(("with", "without"))]
    assert [strip.line for strip in Table("t", "t", tuple(pair)).printed()] == [
        "1 E4 with, cents",
        "1 E4 without, cents",
    ]
    assert [strip.name for strip in column("a", "action", [1.0], "length").printed()] == ["action, mm", "action, in"]


def test_numbers_of_arrays_are_plain_and_points_stay_together() -> None:
    ends = column("end", "end", np.array([[1.0, 2.0], [3.0, 4.0]]), "points", axes=("x", "y"))
    counts = column("n", "n", np.array([1, 2]), "count")
    table = Table("t", "t", (counts, ends))
    assert ends.values == ((1.0, 2.0), (3.0, 4.0))
    assert [type(value) for value in counts.values] == [int, int]
    assert csv.encode(table) == b"n,end_x,end_y\n1,1.0,2.0\n2,3.0,4.0\n"
    assert list(table.records())[1] == {"n": 2, "end": (3.0, 4.0)}
    assert table.lines() == [["n"], ["1"], ["2"]], "points are for files"


def test_columns_that_cannot_differ_are_one_sentence() -> None:
    frets = column("fret", "fret", [1, 2, 3], "count")
    table = Table("t", "t", (frets, column("d", "slot depth", [1.9] * 3, "length"), column("w", "width", [1, 2, 3])))
    narrow, said = table.gathered()
    assert [each.key for each in narrow.columns] == ["fret", "w"]
    assert said == ("The same in every row: slot depth = 1.90 mm (0.075 in).",)
    estimated = column("d", "slot depth", [1.9] * 3, "length", estimated=[True] * 3)
    assert Table("t", "t", (frets, estimated)).gathered()[1] == (
        "The same in every row: slot depth = 1.90 mm (0.075 in) est.",
    )
    assert len(table.rows(0, 2).gathered()[0].columns) == 3, "of two rows both are told"


def test_an_upright_table_has_a_line_per_quantity() -> None:
    ways = column("way", "crown line", ["parallel", "tilted"])
    table = Table("t", "t", (ways, column("most", "largest", [0.5, 0.4], "length")), upright=True)
    assert table.lines() == [
        ["crown line", "parallel", "tilted"],
        ["largest", "0.50 mm (0.020 in)", "0.40 mm (0.016 in)"],
    ]


def test_what_cannot_be() -> None:
    one = column("a", "a", [1.0])
    with pytest.raises(OurBug, match="two columns of one key"):
        Table("t", "t", (one, one))
    with pytest.raises(OurBug, match="differ in length"):
        Table("t", "t", (one, column("b", "b", [1.0, 2.0])))
    with pytest.raises(OurBug, match="one rule for all"):
        column("a", "a", [1.0], "length", places=3)
    with pytest.raises(OurBug, match="marks"):
        column("a", "a", [1.0], estimated=[True, False])
    with pytest.raises(OurBug, match="points have axes"):
        column("a", "a", [(1.0, 2.0)], "points")
    with pytest.raises(OurBug, match="no column b"):
        Table("t", "t", (one,))["b"]
    with pytest.raises(OurBug, match="is no length"):
        list(column("a", "a", ["long"], "length").printed())


def test_every_kind_of_number_has_one_way_of_printing() -> None:
    for ways in SHOWN.values():
        assert len({way.unit for way in ways}) == len(ways)


# ---------------------------------------------------------------------------------------------------------- terminal


def wide(columns: int) -> Table:
    lengths = (column(f"c{n}", f"length {n}", [1.0, 2.0, 3.5 + n], "length") for n in range(columns))
    return Table("t", "A title", (column("string", "string", ["1 E4", "2 B3", "3 G3"]), *lengths))


def test_two_lines_of_head_over_a_rule() -> None:
    assert terminal.encode(wide(2)).decode().splitlines() == [
        "A title",
        "         length 0    length 1",
        "string    mm    in    mm    in",
        "──────  ────┬─────  ────┬─────",
        "1 E4    1.00 0.039  1.00 0.039",
        "2 B3    2.00 0.079  2.00 0.079",
        "3 G3    3.50 0.138  4.50 0.177",
    ]


@pytest.mark.parametrize("columns", [1, 7, 8, 20])
def test_never_wider_than_a_hundred_and_labels_repeat(columns: int) -> None:
    said = terminal.encode(wide(columns)).decode().splitlines()
    assert max(map(len, said)) <= terminal.WIDTH
    rows = [line for line in said if line.startswith("2 B3")]
    assert sum(len(row.split()) - 2 for row in rows) == 2 * columns


def test_titles_and_notes_are_wrapped_and_hang() -> None:
    table = Table("t", "word " * 50, (column("a", "a", ["x"]),), ("note " * 50,))
    said = terminal.encode([table, table]).decode().splitlines()
    assert max(map(len, said)) <= terminal.WIDTH
    assert said[1].startswith("      word")
    assert said.count("") == 1
