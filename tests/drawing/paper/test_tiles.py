"""The law of tiles along one axis."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from templategen.drawing.paper.tiles import OVERLAP, cover, cuts, uncovered

lengths = st.floats(50, 2000)
rooms = st.floats(90, 600)


def slots(places: list[float]) -> list[tuple[float, float]]:
    return [(x - 0.3, x + 0.3) for x in places]


def spaced(gaps: list[float]) -> list[float]:
    """Slots in the order of their gaps, at least 1 mm apart, so that there is always room for an edge."""
    places, x = [], 0.0
    for gap in gaps:
        x += gap
        places.append(x)
    return places


def check(length: float, room: float, whole: list[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
    spans = cover(0.0, length, room, whole)
    assert spans[0][0] == 0.0
    assert spans[-1][1] == length
    assert all(b - a <= room + 1e-9 for a, b in spans)
    assert all(b - c >= OVERLAP - 1e-9 and c > a for (a, b), (c, _) in pairwise(spans))
    return spans


@given(lengths, rooms, st.lists(st.floats(1.0, 40.0), max_size=80))
def test_slots_with_gaps_are_never_cut(length: float, room: float, gaps: list[float]) -> None:
    whole = [(lo, hi) for lo, hi in slots(spaced(gaps)) if hi < length]
    spans = check(length, room, whole)
    assert cuts(spans, whole) == 0
    assert not uncovered(spans, whole)


@given(lengths, rooms, st.lists(st.floats(0.0, 2000.0), max_size=60), st.floats(1.0, 60.0))
def test_slanted_slots_are_whole_on_one(length: float, room: float, places: list[float], wide: float) -> None:
    """Boxes that overlap each other, up to two thirds of a tile's room wide."""
    wide = min(wide, room * 0.6)
    whole = [(x, x + wide) for x in places if x + wide < length]
    assert not uncovered(check(length, room, whole), whole)


@given(lengths, rooms)
def test_fewest_and_even(length: float, room: float) -> None:
    spans = check(length, room, [])
    fewest = 1
    while fewest * room - (fewest - 1) * OVERLAP < length:
        fewest += 1
    assert len(spans) == fewest
    assert min(b - a for a, b in spans) >= 0.9 * max(b - a for a, b in spans) or fewest == 1


def test_room_that_overlap_eats() -> None:
    with pytest.raises(ValueError, match="no tiles of 24 mm"):
        cover(0.0, 100.0, 24.0, [])
