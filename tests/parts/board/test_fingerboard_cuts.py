"""Boards whose slots the kernel left uncut, or whose right volume was thought wrong."""

from __future__ import annotations

import math
from typing import Any

import pytest
from making import FAN, instrument
from probing import ray

from templategen.parts.board import fingerboard

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
