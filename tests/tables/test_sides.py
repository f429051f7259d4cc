"""What is told from the bass end, across, or with a sign: the same for either hand, against numbers.json."""

from __future__ import annotations

from functools import cache
from typing import Any

import labelled
import pytest
from making import FAN, work

from templategen.parts.common.work import Work
from templategen.tables import nut, saddle

BOARDS: dict[str, dict[str, Any]] = {
    "plain": {},
    "left": {"handedness": "left"},
    "fan, left": {**FAN, "handedness": "left"},
}


@cache
def job(board: str) -> Work:
    return work(BOARDS[board])


@pytest.mark.parametrize("board", BOARDS)
def test_nut_places(board: str) -> None:
    said, table = labelled.numbers(job(board)), nut.places(job(board).instrument)
    hand = -1 if said["handedness"] == "left" else 1
    end = said["nut"]["front_ends"][0 if hand > 0 else 1]
    strings = said["strings"]
    assert table["from_bass_end"].values == pytest.approx([abs(s["along_nut"] - end) for s in strings])
    assert table["from_bass_end"].values[-1] < 6 < table["from_bass_end"].values[0]
    full = ["full width" if s["slotted_full_width"] else "pilot" for s in strings]
    assert list(table["slotted"].values) == full
    if "fan" in board:
        assert table["across"].values == pytest.approx([hand * s["nut_y"] for s in strings])


@pytest.mark.parametrize("board", ["plain", "left"])
def test_saddle_places(board: str) -> None:
    said, table = labelled.numbers(job(board)), saddle.saddle(job(board).instrument)
    hand = -1 if said["handedness"] == "left" else 1
    strings = said["strings"]
    assert table["across"].values == pytest.approx([hand * s["saddle_y"] for s in strings])
    assert table["saddle_from_nut"].values == pytest.approx([640 + s["saddle_offset"] for s in strings])
    assert table["saddle_from_octave"].values == pytest.approx([320 + s["saddle_offset"] for s in strings])
