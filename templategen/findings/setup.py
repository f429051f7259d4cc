"""What a person should know about the setup's heights: strings that buzz, and what is unusual for the kind.

The ranges by kind of instrument tell what is unusual, never what is wrong.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from templategen.findings.catalogue import Fact, fact
from templategen.findings.limits import practice
from templategen.findings.naming import cases, numbers, of_string
from templategen.instrument.arrays import Array
from templategen.instrument.model import Instrument

LEAST_FELT = 5e-4  # mm below which a gap is none: the least that is printed
FEELER = 0.005  # mm that a feeler gauge tells; less past a limit is at it


def setup_facts(i: Instrument) -> Iterator[Fact]:
    setup, zero = i.spec.setup, i.spec.scale.zero_fret is not None
    given = (setup.first_fret_clearance, setup.pressed_gap, setup.nut_over_crowns)
    if zero and any(way is not None for way in given):
        yield fact("zero-fret-sets-height", "setup")
    yield from _touching(i)
    yield from _overlapping(i)
    gap, clearance = i.line.pressed_gap, i.line.first_fret_clearance
    resting = np.flatnonzero(gap < -LEAST_FELT)
    if len(resting):
        ways = np.where(clearance < LEAST_FELT, "under", "clear")
        yield fact(
            "negative-pressed-gap",
            "scale.zero_fret" if zero else "setup",
            strings=cases(i, resting, gap=gap, clearance=np.abs(clearance), way=ways),
            remedy="zero_fret" if zero else "floor",
        )
    if i.spec.kind is not None:
        yield from _unusual(i, i.spec.kind)


def _touching(i: Instrument) -> Iterator[Fact]:
    """Open strings that lie on a crown, or lower; a zero fret's own crown is what they start from."""
    played = i.plan.numbers > 0
    gap = i.line.z(i.plan.crossings[played, :, 0]) - i.crowns[played]
    least = gap.min(0)
    rows = np.flatnonzero(least < LEAST_FELT)
    if not len(rows):
        return
    worst = int(least.argmin())
    yield fact(
        "strings-touch-crowns",
        "setup.action",
        string=of_string(i, worst),
        gap=least[worst],
        fret=i.plan.numbers[played][int(gap[:, worst].argmin())],
        strings=numbers(rows),
    )


def _overlapping(i: Instrument) -> Iterator[Fact]:
    """Neighbours that have no room side by side where the saddle holds them."""
    gauges = i.plan.gauges
    room = np.abs(np.diff(i.saddle.y)) - (gauges[1:] + gauges[:-1]) / 2
    pairs = [
        {"one": of_string(i, n), "other": of_string(i, n + 1), "by": -float(room[n])}
        for n in np.flatnonzero(room < -LEAST_FELT).tolist()
    ]
    if pairs:
        yield fact("strings-overlap-at-saddle", "bridge", pairs=pairs)


def _unusual(i: Instrument, kind: str) -> Iterator[Fact]:
    """What is outside the range of its kind: one note for all strings of a measure."""
    yield from _unusual_at_nut(i, kind)
    if i.action_at_octave is not None and (strings := _outside(i, i.action_at_octave, kind, "action_at_octave")):
        yield fact("unusual-action-at-the-octave", "setup.action", strings=strings)
    usual = practice(kind, "relief")
    if usual is not None and not usual.bass_low - FEELER <= i.strung.relief <= usual.bass_high + FEELER:
        yield fact("unusual-relief", "setup.relief", relief=i.strung.relief, low=usual.bass_low, high=usual.bass_high)


def _unusual_at_nut(i: Instrument, kind: str) -> Iterator[Fact]:
    """Of the heights at the nut the one that the spec gives is compared, and it wins: the others follow from it, from
    action and from relief, and with all of these inside their ranges may still be outside their own. Strings that
    start on a zero fret are compared by their clearance; a height over the crowns is a pressed gap told otherwise."""
    setup, line = i.spec.setup, i.line
    given = "first_fret_clearance" if setup.first_fret_clearance is not None else "pressed_gap"
    key = "setup" if i.spec.scale.zero_fret is not None or setup.nut_over_crowns is not None else f"setup.{given}"
    if given == "first_fret_clearance" or i.spec.scale.zero_fret is not None:
        if strings := _outside(i, line.first_fret_clearance, kind, "first_fret_clearance"):
            yield fact("unusual-first-fret-clearance", key, strings=strings)
        return
    gap = np.where(line.pressed_gap < -LEAST_FELT, np.nan, line.pressed_gap)
    if strings := _outside(i, gap, kind, "pressed_gap"):
        yield fact("unusual-pressed-gap", key, strings=strings)


def _outside(i: Instrument, values: Array, kind: str, what: str) -> list[dict[str, object]]:
    """The strings outside their range, which runs linearly from the treble to the bass side's, each with it."""
    usual = practice(kind, what)
    if usual is None:
        return []
    share = i.plan.toward_bass
    low = usual.treble_low + (usual.bass_low - usual.treble_low) * share
    high = usual.treble_high + (usual.bass_high - usual.treble_high) * share
    rows = np.flatnonzero((values < low - FEELER) | (values > high + FEELER))
    return cases(i, rows, value=values, low=low, high=high)
