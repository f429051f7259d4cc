"""Cut lists: every piece once, sticks never over-full, as few as an exhaustive search finds; wire.csv."""

from __future__ import annotations

import math
from itertools import count

import labelled
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from making import found, instrument, work_of

from templategen.instrument.board.wire import BEND_SHARE, CutList, cut_list
from templategen.instrument.model import Instrument
from templategen.parts.sheet import tables
from templategen.tables import wire
from templategen.tables.orders import to_order


def sound(cuts: CutList, lengths: list[float], stock: float, loss: float = 0.0) -> None:
    """Whatever else: every piece has one stick, and no stick is cut shorter than nothing."""
    assert cuts.lengths.tolist() == lengths
    assert len(cuts.stick) == len(lengths)
    loads = [sum(x for x, s in zip(lengths, cuts.stick, strict=True) if s == n) for n in range(1, cuts.sticks + 1)]
    nips = [cuts.stick.count(n) * loss for n in range(1, cuts.sticks + 1)]
    assert all(0 < load + nip - loss <= stock + 1e-9 for load, nip in zip(loads, nips, strict=True))
    left = [max(stock - load - nip, 0.0) for load, nip in zip(loads, nips, strict=True)]
    assert cuts.offcuts == pytest.approx(left, abs=1e-9)
    assert cuts.waste == pytest.approx(sum(left), abs=1e-9)
    assert loads == sorted(loads, reverse=True)


def fewest(lengths: list[float], stock: float) -> int:
    """By trying every way, longest pieces first."""
    pieces = sorted(lengths, reverse=True)

    def fits(n: int, loads: tuple[float, ...]) -> bool:
        if n == len(pieces):
            return True
        tried = {load: k for k, load in enumerate(loads) if load + pieces[n] <= stock}
        return any(fits(n + 1, (*loads[:k], load + pieces[n], *loads[k + 1 :])) for load, k in tried.items())

    return next(sticks for sticks in count(1) if fits(0, (0.0,) * sticks))


def test_first_fit_is_not_the_last_word() -> None:
    """Longest-first would open a third stick here."""
    cuts = cut_list([50, 50, 40, 40, 30, 30], 120)
    assert cuts is not None
    sound(cuts, [50, 50, 40, 40, 30, 30], 120)
    assert cuts.sticks == 2
    assert cuts.waste == 0


@settings(max_examples=25, deadline=None)
@given(
    st.lists(st.integers(40, 90), min_size=1, max_size=9),
    st.sampled_from([150, 200, 260]),
    st.sampled_from([0, 0.5, 2]),
)
def test_as_few_sticks_as_an_exhaustive_search(lengths: list[int], stock: int, loss: float) -> None:
    pieces = [length / 1.0 for length in lengths]
    cuts = cut_list(pieces, stock, loss)
    assert cuts is not None
    sound(cuts, pieces, stock, loss)
    assert cuts.sticks == fewest([piece + loss for piece in pieces], stock + loss)


def test_what_nippers_take() -> None:
    """Two pieces of 60 out of 121 lose one nip, or there is no second piece; only the last cut may fall on the end."""
    whole, tight, short = (cut_list([60, 60], stock, 1.0) for stock in (122.5, 121, 120.9))
    assert whole is not None
    assert tight is not None
    assert short is not None
    assert (whole.sticks, tight.sticks, short.sticks) == (1, 1, 2)
    assert (whole.waste, tight.waste) == pytest.approx((0.5, 0.0))
    assert short.offcuts == pytest.approx([59.9, 59.9])
    made = instrument({}, {"nipper_loss": 1.5})
    plain = instrument().wire_cuts
    assert made.wire_cuts is not None
    assert plain is not None
    pieces = [*made.frets.wire_cut.tolist(), *[made.frets.wire_cut.max()] * 2]
    sound(made.wire_cuts, pieces, 610, 1.5)
    assert made.wire_cuts.stick != plain.stick, "what just fitted does not"
    assert wire.pieces(made).notes == ("Sticks: 1.50 mm (0.059 in) lost at each nip.",)
    assert wire.pieces(instrument()).notes == ()
    assert labelled.numbers(work_of(made))["wire"]["nipper_loss"] == 1.5
    assert ", 1.50 mm (0.059 in) lost at each nip; " in ordered(made)
    assert "nip" not in ordered(instrument())


@pytest.mark.parametrize("stock", [250, 300, 610])
def test_a_board_out_of_bought_sticks(stock: float) -> None:
    made = instrument({}, {"wire_stock_length": stock})
    cuts = made.wire_cuts
    assert cuts is not None
    pieces = [*made.frets.wire_cut.tolist(), *[made.frets.wire_cut.max()] * 2]
    sound(cuts, pieces, stock)
    assert cuts.sticks == math.ceil(sum(pieces) / stock)
    again = cut_list(pieces, stock)
    assert again is not None
    assert again.stick == cuts.stick


def test_what_is_left_is_left_in_one_piece() -> None:
    """23 pieces out of three sticks of 610: two sticks nearly used up, one piece from the third."""
    cuts = instrument().wire_cuts
    assert cuts is not None
    assert sorted(cuts.stick).count(3) == 1
    assert cuts.offcuts[:2].max() < 5


def test_a_piece_longer_than_a_stick() -> None:
    made = instrument({}, {"wire_stock_length": 58})
    assert made.wire_cuts is None
    (told,) = found(made, "wire-longer-than-stick")
    assert told.level == "decide"
    assert f"{made.frets.wire_cut.max():.2f} mm and a stick 58.00 mm" in told.message
    assert not found(instrument(), "wire-longer-than-stick")


def test_wire_csv_in_the_order_frets_go_in() -> None:
    made = instrument({"fingerboard.blind_slot_inset": 1.5, "scale.zero_fret": True})
    rows = labelled.of_csv(tables.make(work_of(made)), "wire")
    assert [row["fret"] for row in rows] == [*map(str, range(22)), "spare", "spare"]
    assert made.wire_cuts is not None
    assert [int(row["stick"]) for row in rows] == list(made.wire_cuts.stick)
    for row, cut, tang in zip(rows, made.frets.wire_cut, made.frets.tang_length, strict=False):
        assert float(row["wire_cut"]) == pytest.approx(cut, abs=1e-9)
        assert float(row["tang_length"]) == pytest.approx(tang, abs=1e-9)
        assert float(row["nip_each_end"]) == pytest.approx((cut - tang) / 2, abs=1e-9)
        assert float(row["bend_radius"]) == pytest.approx(300 * BEND_SHARE)
    assert {row["wire_cut"] for row in rows[-2:]} == {rows[-3]["wire_cut"]}


def test_without_a_stick_length_there_is_no_plan() -> None:
    made = instrument({"fingerboard.radius": "flat"}, {"wire_stock_length": None})
    assert made.wire_cuts is None
    rows = list(wire.pieces(made).records())
    assert {row["stick"] for row in rows} == {None}
    assert np.isinf([row["bend_radius"] for row in rows]).all()
    told = labelled.numbers(work_of(made))["wire"]
    assert told["sticks"] is None
    assert told["total_length"] == pytest.approx((made.frets.width + 4).sum(), abs=1e-8)


def test_wire_is_bent_tighter_than_the_board() -> None:
    """Common practice, no source: 0.80 to 0.92 of the board's radius."""
    assert 0.80 <= BEND_SHARE <= 0.92
    cone = {"fingerboard.radius": None, "fingerboard.radius_at_nut": 254, "fingerboard.radius_at_last_fret": 400}
    f = instrument(cone).frets
    assert f.bend_radius == pytest.approx(BEND_SHARE * f.radius)


def ordered(made: Instrument) -> str:
    """How much wire the bench sheet orders."""
    return labelled.of_table(to_order(work_of(made).bench))["fret wire", "how much, how large"]
