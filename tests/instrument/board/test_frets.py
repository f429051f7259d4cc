"""Slots and wire: depth stops, wood left, cents, blind tangs, and every finding and problem with its number."""

from __future__ import annotations

import math
from typing import Any

import labelled
import numpy as np
import pytest
from making import FAN, found, instrument, work_of

from templategen.errors import SpecError

WIDE: dict[str, Any] = {"fingerboard.width_at_nut": 56, "fingerboard.width_at_last_fret": 56}


@pytest.mark.parametrize(("radius", "stop"), [(304.8, 3.19), (241.3, 3.53), (184.15, 4.04)])
def test_depth_stop_of_a_level_floor(radius: float, stop: float) -> None:
    """A board 56 mm wide, 1.9 mm wanted at the edge; worked out in arbitrary precision."""
    made = instrument({**WIDE, "fingerboard.radius": radius, "nut.edge_rounding": 0})
    assert made.frets.slot_depth == pytest.approx([1.9] * 21)
    assert made.frets.depth_stop_flat == pytest.approx([stop] * 21, abs=5e-3)
    assert made.frets.depth_stop_flat_at_nut == pytest.approx(stop, abs=5e-3)


@pytest.mark.parametrize("floor", ["concentric", "flat"])
def test_wood_under_the_slot_at_the_edge(floor: str) -> None:
    made = instrument({"fret_wire.slot_floor": floor})
    half = made.frets.width / 2
    edge = 6.2 - (300 - np.sqrt(300**2 - half**2))
    want = edge - 1.9 if floor == "concentric" else 6.2 - made.frets.depth_stop_flat
    assert made.frets.wood_under_slot_at_edge == pytest.approx(want)
    assert made.frets.wood_under_slot_at_edge == pytest.approx(edge - 1.9)


@pytest.mark.parametrize("floor", ["concentric", "flat"])
def test_a_blind_slot_is_reckoned_to_its_end(floor: str) -> None:
    """The floor ends where the slot does: the edge, lower by the arc beyond it, has no slot under it."""
    radius, inset = 184.15, 1.6
    blind = {"fingerboard.radius": radius, "fingerboard.blind_slot_inset": inset, "fret_wire.slot_floor": floor}
    f = instrument({**blind, "nut.edge_rounding": 0}).frets
    half = f.width / 2 - inset * math.hypot(1, (55 - 43) / 2 / f.from_nut[-1])
    rise = radius - np.sqrt(radius**2 - half**2)
    assert f.depth_stop_flat == pytest.approx(1.9 + rise, abs=1e-9)
    assert f.wood_under_slot_at_edge == pytest.approx(6.2 - 1.9 - rise, abs=1e-9)
    to_edge = radius - np.sqrt(radius**2 - (f.width / 2) ** 2)
    assert np.all(to_edge - rise > 0.15), "what the full width would make of it"
    nut_half = 43 / 2 - inset * math.hypot(1, (55 - 43) / 2 / f.from_nut[-1])
    assert f.depth_stop_flat_at_nut == pytest.approx(1.9 + radius - math.sqrt(radius**2 - nut_half**2), abs=1e-9)


def test_little_wood_is_found_and_none_is_a_problem() -> None:
    thin = instrument({"fingerboard.thickness": 3.8})
    (told,) = found(thin, "little-wood-under-slot")
    left = 3.8 - 1.9 - (300 - math.sqrt(300**2 - 27.5**2))
    assert told.level == "decide"
    assert f"Only {left:.2f} mm of wood is left under the slot at the edge of fret 21" in told.message
    assert not found(instrument(), "little-wood-under-slot")
    with pytest.raises(SpecError) as caught:
        instrument({"fingerboard.thickness": 3.0})
    (problem,) = caught.value.problems
    assert problem.key == ("fingerboard", "thickness")
    assert "at fret 21 the slot is 1.90 mm deep at the edge and 0.16 mm of it would come out below" in problem.message


def test_one_cent_and_a_tenth_of_a_millimetre() -> None:
    """(L − x)(2^(1/1200) − 1): moving the slot by it changes the pitch by one cent."""
    f = instrument().frets
    left = 640 - f.from_nut
    assert 1200 * np.log2(left / (left - f.length_of_one_cent / 2 ** (1 / 1200))) == pytest.approx([1.0] * 21)
    assert f.length_of_one_cent[11] == pytest.approx(320 * (2 ** (1 / 1200) - 1))
    assert f.cents_of_tenth == pytest.approx(1200 * np.log2(left / (left - 0.1)))
    assert f.cents_of_tenth[11] == pytest.approx(0.541, abs=5e-4)


def test_blind_slots_have_a_nipped_tang() -> None:
    made = instrument({"fingerboard.blind_slot_inset": 1.5, "fingerboard.radius": "flat"})
    f = made.frets
    slot = f.width - 2 * 1.5 * math.hypot(1, (55 - 43) / 2 / f.from_nut[-1])
    assert f.slot_length == pytest.approx(slot)
    assert f.tang_length == pytest.approx(slot - 0.8)
    assert f.nip_each_end == pytest.approx((f.width + 4 - f.tang_length) / 2)
    through = instrument().frets
    assert (through.tang_length == through.wire_cut).all()
    assert (through.nip_each_end == 0).all()


def test_frets_in_numbers_json_agree_with_the_plan() -> None:
    made = instrument({**FAN, "scale.zero_fret": True})
    rows = labelled.numbers(work_of(made))["frets"]
    assert [row["fret"] for row in rows] == list(range(22))
    for n, row in enumerate(rows):
        assert row["bass_end"] == pytest.approx(made.plan.bass_ends[n], abs=1e-9)
        assert row["treble_end"] == pytest.approx(made.plan.treble_ends[n], abs=1e-9)
        assert row["from_previous"] == pytest.approx(row["from_nut"] - (rows[n - 1]["from_nut"] if n else 0))
        assert row["wood_under_slot_at_edge"] > 0.8


# -------------------------------------------------------------------------------------------------- wire and tools


def test_a_slot_narrower_than_the_tang() -> None:
    (told,) = found(instrument({"fret_wire.slot_width": 0.48}, {"saw_kerfs": []}), "slot-narrower-than-tang")
    assert "0.48 mm wide and the bare tang 0.51 mm thick" in told.message
    assert not found(instrument(), "slot-narrower-than-tang")


def test_a_slot_wider_than_the_barbs_hold() -> None:
    (told,) = found(instrument({"fret_wire.slot_width": 0.74}), "slot-too-wide-for-barbs")
    assert "0.74 mm wide and the barbs reach 0.80 mm" in told.message
    assert not found(instrument(), "slot-too-wide-for-barbs")


def test_no_saw_for_the_slot() -> None:
    (told,) = found(instrument({}, {"saw_kerfs": [0.5, 0.64]}), "no-saw-for-slot")
    assert "No saw of the shop cuts 0.58 mm; the nearest cuts 0.64 mm" in told.message
    assert not found(instrument(), "no-saw-for-slot")
    assert not found(instrument({}, {"saw_kerfs": []}), "no-saw-for-slot")


def test_no_end_mill_for_the_slot() -> None:
    large = [{"diameter": 3.0, "shape": "flat"}, {"diameter": 0.55, "shape": "ball"}]
    made = instrument({}, {"end_mills": large})
    (told,) = found(made, "no-end-mill-for-slot")
    assert "between the bare tang, 0.51 mm, and the slot, 0.58 mm" in told.message
    assert made.slot_cutter.diameter == 0.58
    assert not made.slot_cutter.owned
    fitting = instrument({}, {"end_mills": [{"diameter": d, "shape": "flat"} for d in (0.3, 0.52, 0.57, 0.6)]})
    assert fitting.slot_cutter.diameter == 0.57
    assert not found(fitting, "no-end-mill-for-slot")
    assert not found(instrument({}, {"end_mills": []}), "no-end-mill-for-slot")


def test_an_end_mill_narrower_than_the_slot() -> None:
    made = instrument({}, {"end_mills": [{"diameter": 0.52, "shape": "flat"}]})
    (told,) = found(made, "end-mill-narrower-than-slot")
    assert "0.060 mm narrower than the 0.580 mm asked for" in told.message
    assert not found(instrument(), "end-mill-narrower-than-slot")


def test_a_beam_wider_than_the_slot() -> None:
    (told,) = found(instrument({}, {"beam_kerf": 0.65}), "beam-wider-than-slot")
    assert "come out 0.07 mm too wide" in told.message
    assert not found(instrument(), "beam-wider-than-slot")
