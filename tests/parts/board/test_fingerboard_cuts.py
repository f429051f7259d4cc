"""Boards whose slots the kernel left uncut, or whose right volume was thought wrong."""

from __future__ import annotations

import math
from typing import Any

import pytest
from making import FAN, instrument
from probing import ray

from templategen.errors import OurBug
from templategen.parts.board import fingerboard
from templategen.solids import board as boards

FEW: dict[str, Any] = {"scale.fret_count": 5, "fret_wire.markers": [], "fret_wire.doubled_markers": []}


@pytest.mark.parametrize("wider", [0.001, 0.05, 0.3])
def test_a_nearly_parallel_board_has_its_slots(wider: float) -> None:
    """Between 43 mm at the nut and 43.001 to 43.3 at the fifth fret: sides and floors meet in ellipses of 100 m to
    100 km; each floor is where its concentric circle says, within 0.001 mm."""
    made = instrument({**FEW, "fingerboard.width_at_last_fret": 43 + wider})
    board = fingerboard.solid(made)
    for fret in made.frets:
        for y in (-20.0, 0.0, 20.0):
            up = ray(board, (fret.from_nut, y, 0.0), (0.0, 0.0, 1.0))
            inner = 300 - fret.slot_depth
            floor = math.sqrt(inner**2 - y * y) - 300
            assert up[-1] == pytest.approx(floor, abs=1e-3), fret.number


def test_round_ends_of_through_slots_take_no_wood_past_slanted_edges() -> None:
    """The slots' outlines run past the edges so that they are of full width there; that is no wood of the board."""
    square, around = (
        instrument({**FAN, **FEW, "scale.square_fret": 3, "fret_wire.slot_ends": ends}) for ends in ("square", "round")
    )
    assert fingerboard.expected_volume(around) == fingerboard.expected_volume(square)
    assert fingerboard.solid(around).volume == pytest.approx(fingerboard.expected_volume(square), rel=1e-7)


@pytest.mark.parametrize("square_fret", [3.95, 4.001, 4.07])
def test_a_blind_slot_that_stands_all_but_square_is_cut(square_fret: float) -> None:
    """Its end walls met the board's round in ellipses of kilometres; they are laid along the board, 0.0005 mm at
    most."""
    slanted = {"scale.length": None, "scale.bass": 440.681, "scale.treble": 429.446, "scale.square_fret": square_fret}
    blind = {"fingerboard.radius": 444.581, "fingerboard.blind_slot_inset": 1.619, "fret_wire.slot_ends": "square"}
    made = instrument({**FEW, **slanted, **blind})
    expected = fingerboard.expected_volume(made)
    assert expected is not None
    board = fingerboard.solid(made)
    assert board.volume == pytest.approx(expected, rel=1e-6)
    for fret in made.frets:
        assert len(ray(board, (fret.from_nut, 0.0, 0.0), (0.0, 0.0, 1.0))) == 2
        assert ray(board, (fret.from_nut, 0.0, 0.0), (0.0, 0.0, 1.0))[-1] == pytest.approx(-fret.slot_depth, abs=1e-3)


@pytest.mark.parametrize("lost", [0, 2, 4])
def test_a_lost_slot_is_seen_where_there_is_no_volume(lost: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """The last slot at the board's end: what it takes is not summed, and every slot is missed all the same."""
    made = instrument({**FEW, "fingerboard.beyond_last_fret": 0.1})
    assert fingerboard.expected_volume(made) is None
    assert fingerboard.solid(made).volume > 0
    real = boards.slot_tools

    def without_one(*given: Any) -> Any:
        return tuple(tool for n, tool in enumerate(real(*given)) if n != lost)

    monkeypatch.setattr(boards, "slot_tools", without_one)
    with pytest.raises(OurBug, match="left what was to be cut away at"):
        fingerboard.solid(made)
