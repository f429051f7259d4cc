"""What rests on sizes that nobody measured looks like it: in every cell, in the file list, in the files themselves."""

from __future__ import annotations

from typing import Any

import labelled
import pytest
from calls import NO_CORES, NO_WIRE
from making import found, instrument, work_of

from templategen.instrument.model import Instrument
from templategen.parts.register import PARTS
from templategen.spec.models.wire import SIZES
from templategen.tables import frets, nut, saddle, setup, strings, tuning
from templategen.tables.model import Table

ON_CROWN = {"floor_above_seat", "floor_above_board", "floor_above_board_here", "saddle_height"}
ON_MASS = {"mass_g_per_m", "tension_n"}
ON_CORE = {"stress_mpa", "stress_share", "core_diameter"}
ON_STIFFNESS = {
    "kappa", "bending", "inharmonicity", "rms_cents", "rms_cents_uncompensated", "cents_of_0_2_mm_finger_depth",
}  # fmt: skip
ON_TANG = {"slot_depth", "depth_stop_flat", "wood_under_slot_at_edge"}
GIVEN = {"nut.compensation": "none"}


def marked(table: Table, row: int) -> set[str]:
    return {each.key for each in table.columns if each.estimated and each.estimated[row]}


def test_nothing_is_an_estimate_where_all_was_measured() -> None:
    made = instrument()
    for table in (strings.facts(made), frets.facts(made)):
        assert [marked(table, row) for row in range(len(table))] == [set()] * len(table)
    assert not found(made, "wire-unmeasured")


@pytest.mark.parametrize(
    ("size", "strings_marked", "frets_marked"),
    [("crown_height", ON_CROWN, set()), ("tang_depth", set(), ON_TANG), ("barb_width", set(), set())],
)
def test_an_unmeasured_wire_marks_what_follows_it(size: str, strings_marked: set[str], frets_marked: set[str]) -> None:
    """And moves nothing else: the size that stands in is that of the measured wire."""
    bare, whole = instrument({f"fret_wire.{size}": None}), instrument()
    assert [marked(strings.facts(bare), n) for n in range(6)] == [strings_marked] * 6
    assert [marked(frets.facts(bare), n) for n in range(21)] == [frets_marked] * 21
    for table in (strings.facts, frets.facts):
        assert [each.values for each in table(bare).columns] == [each.values for each in table(whole).columns]
    (told,) = found(bare, "wire-unmeasured")
    assert told.level == "decide"
    assert told.message.count("fret_wire.") == 2, "the one size, and the way to name a wire of the shop"
    assert f"fret_wire.{size} " in told.message


def test_a_wire_of_the_shop_is_measured() -> None:
    kept = {"name": "kept", **dict(zip(SIZES, (2.0, 0.95, 1.5, 0.5, 0.74, 0.56), strict=True))}
    made = instrument({**NO_WIRE, "fret_wire.wire": "kept"}, {"wire": [kept]})
    assert made.spec.fret_wire.unmeasured == ()
    assert made.spec.fret_wire.crown_height == 0.95
    assert instrument(NO_WIRE).spec.fret_wire.unmeasured == SIZES


def test_a_core_that_nobody_measured_marks_its_string_alone() -> None:
    made = instrument({"strings.set": NO_CORES, **GIVEN})
    wound = ON_MASS | ON_CORE | ON_STIFFNESS | {"saddle_offset"}
    assert [marked(strings.facts(made), n) for n in range(6)] == [set()] * 3 + [wound] * 3
    held = instrument({"strings.set": NO_CORES, "intonation.saddle": 2.0, "nut.compensation": "best_fit"})
    assert marked(strings.facts(held), 5) == wound - {"saddle_offset"} | {"nut_offset"}
    weighed = instrument({"strings.set": [*NO_CORES[:5], {**NO_CORES[5], "mass_per_length": 5.0}]})
    assert marked(strings.facts(weighed), 5) == wound - ON_MASS


def test_a_stiffness_that_nobody_measured_marks_offsets_and_has_a_spread() -> None:
    """Nylon 45 % softer and stiffer: the offsets of strings with that stiffness given."""
    nylon: dict[str, Any] = {"strings.material": "nylon"}
    made = instrument(nylon)
    assert marked(strings.facts(made), 0) == ON_STIFFNESS | {"saddle_offset"}
    spread = made.intonation.spread[0]
    assert spread is not None
    given = [{"gauge": 0.26, "note": "E4", "youngs_modulus": 5.7 * share} for share in (0.55, 1.0, 1.45)]
    rest = [{"gauge": 0.5, "note": "E4", "mass_per_length": 1.0}] * 5
    soft, mean, stiff = (instrument({**nylon, "strings.set": [one, *rest]}) for one in given)
    assert (spread.saddle_low, spread.saddle_high) == pytest.approx((soft.saddle.offset[0], stiff.saddle.offset[0]))
    assert mean.saddle.offset[0] == pytest.approx(made.saddle.offset[0])
    assert marked(strings.facts(mean), 0) == set()
    (told,) = found(made, "stretch-estimated")
    low, middle, high = (f"{each.saddle.offset[0]:.2f}" for each in (soft, mean, stiff))
    assert f"string 1 (E4) ({middle}, {low} to {high} mm)" in told.message


def test_marks_are_printed_beside_their_own_figures() -> None:
    """Through the terminal and back, by label."""
    made = instrument({"strings.set": NO_CORES, "fret_wire.crown_height": None})
    sheet = labelled.printed(saddle.saddle(made))
    assert {row for (row, head), cell in sheet.items() if head == "saddle offset, est." and cell} == {
        "4 D3", "5 A2", "6 E2"
    }  # fmt: skip
    assert all(
        sheet[f"{n + 1} {string.note}", "saddle height, est."] == "est." for n, string in enumerate(made.strings)
    )
    spread = made.intonation.spread[5]
    assert spread is not None
    assert sheet["6 E2", "saddle, least, mm"] == f"{spread.saddle_low:.2f}"
    assert sheet["6 E2", "saddle, most, mm"] == f"{spread.saddle_high:.2f}"
    assert labelled.printed(nut.heights(made))["1 E4", "floor over seat, est."] == "est."
    assert labelled.printed(setup.line(made))["6 E2", "saddle height, est."] == "est."
    offsets = labelled.printed(tuning.offsets(made))
    assert (offsets["3 G3", "saddle, est."], offsets["6 E2", "saddle, est."]) == ("", "est.")
    assert {column.group for column in tuning.cents(made).columns[-2:]} == {"6 E2 est."}
    assert {column.group for column in tuning.cents(made).columns[1:3]} == {"1 E4"}
    cause = tuning.causes(made)
    assert cause["estimated"].values == ("", "", "", "est.", "est.", "est.")
    assert "est." in frets.depth_stops(instrument({"fret_wire.tang_depth": None})).notes[0]


def resting(made: Instrument) -> dict[str, set[str]]:
    """By part: what the notes of its files say that they rest on."""
    work = work_of(made)
    parts = (part for part in PARTS if part.name not in ("bench-sheet", "clearance", "toolpath", "cents-plot"))
    return {part.name: {product.note.partition("est. ")[2] for product in part.make(work)} for part in parts}


def test_every_file_says_what_it_rests_on() -> None:
    said = resting(instrument({**NO_WIRE, "strings.set": NO_CORES}))
    wire, cores = "the fret wire", "the strings' cores"
    for name in ("fret-template", "slot-outline", "slot-path", "fingerboard"):
        assert said[name] == {f"Sizes here rest on what nobody measured: {wire}."}, name
    for name in ("nut", "saddle", "tables"):
        assert said[name] == {f"Sizes here rest on what nobody measured: {wire}, {cores}."}, name
    for name in ("nut-spacing-strip", "radius-block", "press-caul", "notched-strip"):
        assert said[name] <= {""}, name
    crowns = resting(instrument({**NO_WIRE, "radius_block.rides_on": "crowns"}))
    assert crowns["radius-block"] == {f"Sizes here rest on what nobody measured: {wire}."}
    assert all(notes <= {""} for notes in resting(instrument()).values())
