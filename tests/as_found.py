"""Instruments as found, made up for tests: readings of what is wanted and by so much more, crowns by so much higher."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
from making import work_of

from templategen.instrument.arrays import Array
from templategen.instrument.model import Instrument
from templategen.parts.common.work import Work
from templategen.repair.crowns import CrownsRead
from templategen.repair.remedy import FoundInPlay, Remedy
from templategen.repair.standing import Readings, straight_crowns

OUTER = ("bass", "treble")


def crowns(i: Instrument, off: Array, lines: tuple[str, ...] = OUTER, pm: float = 0.0) -> CrownsRead:
    """Readings of crowns that stand ``off``, (frets, lines), over the shape that board and wire give them."""
    strings = {"bass": len(i.loads) - 1, "treble": 0}
    rows = [i.plan.index(n) for n in range(1, len(off) + 1)]
    shape = straight_crowns(i)[rows]
    z = np.stack([shape[:, strings.get(name, int(name) - 1 if name.isdigit() else 0)] for name in lines], 1) + off
    if "centre" in lines:
        z[:, lines.index("centre")] = i.spec.fret_wire.crown_height + off[:, lines.index("centre")]
    full = np.ones_like(z)
    return CrownsRead(lines, z, pm * full, 1.1 * full, 2.4 * full)


def readings(i: Instrument, relief: float = 0.0, first: float = 0.0, action: float = 0.0, pm: float = 0.0) -> Readings:
    """As wanted, and by so much more."""
    full = np.full(len(i.loads), pm)
    line = i.line
    return Readings(
        i.strung.relief + relief, pm, line.first_fret_clearance + first, full, line.action + action, full, 12
    )


def remedy(i: Instrument, off: Array | None = None, lines: tuple[str, ...] = OUTER, **given: Any) -> Remedy:
    pm = given.get("pm", 0.0)
    return Remedy(i, FoundInPlay(readings(i, **given), None if off is None else crowns(i, off, lines, pm)))


def bump(fret: int, heights: Any, lines: int = 2, frets: int = 21) -> Array:
    off = np.zeros((frets, lines))
    off[fret - 1] = heights
    return off


def work_with(i: Instrument, made: Remedy) -> Work:
    """The job of an instrument that was measured."""
    work = work_of(i)
    return replace(work, bench=replace(work.bench, remedy=made))
