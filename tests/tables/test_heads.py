"""Heads say what keys say: the words that a person reads over a column, beside the key that names it in files."""

from __future__ import annotations

from making import FAN, instrument

from templategen.tables import frets, strings

STRINGS = {
    "slot_width": "slot width", "floor_above_seat": "floor over seat", "floor_above_board": "over board",
    "floor_above_board_here": "over board here", "slot_depth": "depth from top", "back_angle_deg": "back angle",
    "break_angle_deg": "break angle", "side_angle_deg": "side angle", "first_fret_clearance": "first fret",
    "pressed_gap": "pressed gap", "nut_over_crowns": "nut over crowns", "saddle_height": "saddle height",
    "saddle_offset": "saddle offset", "nut_offset": "nut offset", "tension_n": "tension", "gauge": "gauge",
    "nut_y": "across at nut", "saddle_y": "across at saddle", "mass_g_per_m": "mass", "stress_mpa": "stress",
}  # fmt: skip
FRETS = {
    "from_nut": "from nut", "from_previous": "from the one before", "width": "width", "radius": "radius",
    "wire_cut": "wire cut", "tang_length": "tang", "nip_each_end": "nip each end", "bend_radius": "bend radius",
    "slot_depth": "slot depth", "depth_stop_flat": "depth stop, flat", "wood_under_slot_at_edge": "wood under slot",
    "length_of_one_cent": "one cent is", "cents_of_0_1_mm": "0.1 mm is",
}  # fmt: skip


def test_heads_of_strings_and_frets() -> None:
    made = instrument()
    for table, heads in ((strings.facts(made), STRINGS), (frets.facts(made), FRETS)):
        assert {key: table[key].head for key in heads} == heads


def test_no_two_columns_have_one_head() -> None:
    for made in (instrument(), instrument(FAN)):
        for table in (strings.facts(made), frets.facts(made)):
            heads = [(each.group, each.head) for each in table.columns]
            assert len(set(heads)) == len(heads), table.key
