"""What was read of the strings, against what the model says the same instrument should give: spacing, gaps, cents."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from templategen.findings.catalogue import Fact
from templategen.findings.catalogue import fact as judgement
from templategen.findings.naming import cases
from templategen.instrument.arrays import Array
from templategen.repair.against import gaps_held_down, spacing
from templategen.repair.model import Bench


def against_facts(bench: Bench) -> Iterator[Fact]:
    yield from _spacing(bench)
    yield from _pressed(bench)
    yield from _cents(bench)


def _beyond(off: Array, pm: Array) -> list[int]:
    return np.flatnonzero(np.nan_to_num(np.abs(off)) > np.nan_to_num(pm) + 1e-9).tolist()


def _spacing(bench: Bench) -> Iterator[Fact]:
    """Centres at the nut, against the spec's law."""
    found = spacing(bench)
    if found is None:
        return
    off, pm = found.read - found.expected, found.pm
    rows = _beyond(off, pm)
    if not rows:
        yield judgement("found-spacing", "survey.strings.at_nut", most=float(np.nanmax(np.abs(off))))
        return
    toward = np.where(off > 0, "treble", "bass")
    yield judgement(
        "found-spacing-off", "survey.strings.at_nut",
        strings=cases(bench.instrument, rows, off=np.abs(off), pm=pm, toward=toward),
    )  # fmt: skip


def _pressed(bench: Bench) -> Iterator[Fact]:
    """Gaps of strings held down, against what the heights of the open strings come to."""
    found = gaps_held_down(bench)
    if found is None:
        return
    rows = _beyond(found.read - found.expected, found.pm)
    if rows:
        yield judgement(
            "found-pressed-differs", "survey.strings.pressed",
            strings=cases(bench.instrument, rows, read=found.read, expected=found.expected, pm=found.pm),
        )  # fmt: skip


def _cents(bench: Bench) -> Iterator[Fact]:
    """The tuner's readings, against the notes of the same crowns and heights with the saddle in its place."""
    if bench.remedy is None:
        return
    i, off, odd = bench.instrument, [], []
    for s in bench.remedy.saddles:
        wanted = float(i.saddle.offset[s.string - 1])
        last = len(s.frets) - 1
        case = {
            "fret": s.frets[last], "read": s.read[last], "expected": s.expected[last], "by": abs(s.offset - wanted),
            "pm": s.pm, "way": "far" if s.offset > wanted else "near",
        }  # fmt: skip
        named = cases(i, [s.string - 1])[0]
        if not s.explained:
            odd.append(named)
        elif abs(s.offset - wanted) > s.pm:
            off.append(named | case)
    if off:
        yield judgement("found-saddle-off", "survey.strings.cents", strings=off)
    if odd:
        yield judgement("found-cents-odd", "survey.strings.cents", strings=odd)
