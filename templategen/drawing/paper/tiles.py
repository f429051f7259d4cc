"""How a long drawing is cut into windows that overlap.

Terms
-----
span    the window of one tile along one axis, mm of the drawing
whole   an interval that an edge of a span must not cut, and that must lie whole in at least one span
joint   where the next tile is laid: its cut edge, the start of its span
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from templategen.geometry import Span

OVERLAP = 12.0  # at least this much of a tile lies under the next one
# How far an edge keeps from what is whole, and how far back into the span (a share of it) that may push the edge.
_CLEARANCES = ((2.0, 0.15), (0.5, 0.3), (0.0, 0.5))
_TRIALS = 8


def cover(start: float, end: float, room: float, whole: Sequence[Span]) -> tuple[Span, ...]:
    """The fewest spans of at most ``room`` that cover start..end, each overlapping the next by ``OVERLAP`` or more.

    No inner edge falls inside an interval of ``whole`` where there is any gap to put it in. Where there is none
    (slanted slots side by side), spans overlap further, so that every interval shorter than the overlap's limit still
    lies whole in one. Spans are evened out as far as that adds none.
    """
    if room <= 2 * OVERLAP:
        raise ValueError(f"no tiles of {room:g} mm can overlap by {OVERLAP:g} mm")
    if end - start <= room:
        return ((start, end),)
    whole = tuple(whole)
    spans = _greedy(start, end, room, whole)
    even = (end - start + (len(spans) - 1) * OVERLAP) / len(spans) + 1e-6
    for i in range(_TRIALS):
        smaller = even + (room - even) * i / _TRIALS
        if smaller <= 2 * OVERLAP:
            continue
        trial = _greedy(start, end, smaller, whole)
        if len(trial) == len(spans) and _cuts(trial, whole) <= _cuts(spans, whole):
            return trial
    return spans


def uncovered(spans: Sequence[Span], whole: Sequence[Span]) -> tuple[Span, ...]:
    """The intervals that lie whole in no span."""
    return tuple((lo, hi) for lo, hi in whole if not any(a <= lo + 1e-9 and hi <= b + 1e-9 for a, b in spans))


def cuts(spans: Sequence[Span], whole: Sequence[Span]) -> int:
    """How many times an inner edge of ``spans`` falls inside an interval of ``whole``."""
    edges = [a for a, _ in spans[1:]] + [b for _, b in spans[:-1]]
    return sum(lo + 1e-9 < edge < hi - 1e-9 for edge in edges for lo, hi in whole)


def _cuts(spans: Sequence[Span], whole: Sequence[Span]) -> tuple[int, int]:
    return len(uncovered(spans, whole)), cuts(spans, whole)


def _greedy(start: float, end: float, room: float, whole: tuple[Span, ...]) -> tuple[Span, ...]:
    spans: list[Span] = []
    a = start
    while a + room < end:
        b, following = _step(a, room, whole)
        spans.append((a, b))
        a = following
    return (*spans, (a, end))


def _step(a: float, room: float, whole: tuple[Span, ...]) -> tuple[float, float]:
    """The end of the span that starts at ``a``, and the start of the next one."""
    for clear, share in _CLEARANCES:
        closed = _closed(whole, clear)
        b = _last_free(a + room, closed)
        following = _last_free(b - OVERLAP, closed)
        if following >= max(a + (1 - share) * room - OVERLAP, a + OVERLAP):
            return b, following
    b = a + room
    # Only what can still fit a span is worth stepping back for.
    reachable = [lo for lo, hi in whole if lo < b < hi and lo >= a + room / 5 and hi - lo <= room]
    return b, min([b - OVERLAP, *reachable])


@lru_cache(maxsize=64)
def _closed(whole: tuple[Span, ...], clear: float) -> tuple[Span, ...]:
    """What is whole and ``clear`` around it, sorted and apart."""
    merged: list[Span] = []
    for lo, hi in sorted((lo - clear, hi + clear) for lo, hi in whole):
        if merged and lo < merged[-1][1]:
            merged[-1] = merged[-1][0], max(hi, merged[-1][1])
        else:
            merged.append((lo, hi))
    return tuple(merged)


def _last_free(limit: float, closed: Sequence[Span]) -> float:
    """The last place up to ``limit`` that is inside none of the ``closed`` intervals (sorted, apart)."""
    for lo, hi in closed:
        if lo < limit < hi:
            return lo
    return limit
