"""Readings beside what the model expects of them: strings at the nut, and gaps over the first crown held down."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from templategen.instrument.arrays import Array, fixed
from templategen.repair.model import Bench
from templategen.repair.standing import as_read, line_of
from templategen.repair.survey.strings import ReadPerString


@dataclass(frozen=True)
class Compared:
    """Per string, NaN where not read; pm expanded, of the difference."""

    read: Array
    expected: Array
    pm: Array


def spacing(bench: Bench) -> Compared | None:
    """Centres from the board's bass edge, against the spec's; None where they were not read."""
    i, strings = bench.instrument, None if bench.found is None else bench.found.strings
    if strings is None or strings.at_nut is None:
        return None
    read, pm = _arrays(strings.at_nut)
    return Compared(read, fixed(np.linalg.norm(i.plan.string_nut - i.plan.nut_bass_end, axis=1)), pm)


def gaps_held_down(bench: Bench) -> Compared | None:
    """Where open strings were read as well: what their heights come to; None where not both were read."""
    strings, remedy = None if bench.found is None else bench.found.strings, bench.remedy
    if remedy is None or strings is None or strings.pressed is None:
        return None
    i, r = bench.instrument, remedy.found.readings
    both = np.isfinite(r.first_fret) & r.saddle_read
    if not both.any():
        return None

    def gap(first: Array, action: Array) -> Array:
        return line_of(i, as_read(i, remedy.base, replace(r, first_fret=first, action=action))).pressed_gap

    at = gap(r.first_fret, r.action)
    by_first, by_action = gap(r.first_fret + 1.0, r.action) - at, gap(r.first_fret, r.action + 1.0) - at
    read, own = _arrays(strings.pressed)
    pm = np.sqrt(own**2 + (by_first * r.first_fret_pm) ** 2 + (by_action * r.action_pm) ** 2)
    none = np.where(both, 0.0, np.nan)
    return Compared(fixed(read + none), fixed(at), fixed(pm))


def _arrays(values: ReadPerString) -> tuple[Array, Array]:
    """Values and pm, NaN where a string was not read."""
    return (
        fixed([np.nan if each is None else each.value for each in values]),
        fixed([np.nan if each is None else each.pm for each in values]),
    )
