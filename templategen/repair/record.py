"""As found, as wanted, as left: every quantity of the job once, with what was measured before and after."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from templategen.instrument.model import Instrument
from templategen.repair import tolerances as t
from templategen.repair.model import Bench
from templategen.repair.survey.found import AsFound
from templategen.repair.survey.tools import Reading

RecordKind = Literal["length", "radius", "cents"]


@dataclass(frozen=True)
class Quantity:
    """One line of the record: mm, or cents by its kind. wanted: infinite for a flat board. tolerance: either way."""

    key: str
    label: str
    kind: RecordKind
    wanted: float
    tolerance: float
    found: Reading | None = None
    left: Reading | None = None

    @property
    def off(self) -> float | None:
        """How far it was left from what was wanted; None where that was not measured, or cannot be told."""
        if self.left is None or not math.isfinite(self.wanted) or not math.isfinite(self.left.value):
            return None
        return self.left.value - self.wanted

    @property
    def beyond(self) -> bool:
        """Left beyond its tolerance by more than the reading's own ±."""
        return self.off is not None and self.left is not None and abs(self.off) > self.tolerance + self.left.pm


def record(bench: Bench) -> tuple[Quantity, ...]:
    """Every quantity of the job, in the order in which one measures."""
    return tuple(_quantities(bench.instrument, bench.found, bench.left))


def _quantities(i: Instrument, found: AsFound | None, left: AsFound | None) -> Iterator[Quantity]:
    yield from _scale(i, found, left)
    yield Quantity("relief", "relief", "length", i.strung.relief, t.RELIEF, _relief(found), _relief(left))
    yield from _rounds(i, found, left)
    yield from _heights(i, found, left)
    spread = abs(float(i.nut.across[0]) - float(i.nut.across[-1]))
    yield Quantity(
        "spread_at_nut", "outer strings at the nut, centres", "length", spread, t.SPREAD, _spread(found), _spread(left)
    )
    crown = i.spec.fret_wire.crown_height
    yield Quantity(
        "crown_height", "least crown height", "length", crown, t.CROWN, _least_crown(found), _least_crown(left)
    )
    deep = float(i.frets.slot_depth[-1])
    yield Quantity(
        "slot_depth", "slot depth, least", "length", deep, t.SLOT_DEPTH, _least_slot(found), _least_slot(left)
    )
    yield from _octave(i, found, left)


def _scale(i: Instrument, found: AsFound | None, left: AsFound | None) -> Iterator[Quantity]:
    scale = i.spec.scale
    lines = {"centre": ("scale", scale.bass_length)}
    if scale.multi_scale:
        lines = {"bass": ("scale, bass", scale.bass_length), "treble": ("scale, treble", scale.treble_length)}
    for line, (label, wanted) in lines.items():
        yield Quantity(
            f"scale_{line}", label, "length", wanted, t.SCALE, _line(found, line, "scale"), _line(left, line, "scale")
        )
    for line in lines:
        name = "" if line == "centre" else f", {line}"
        yield Quantity(
            f"nut_place_{line}", f"nut's front edge behind its place{name}", "length", 0.0, t.NUT_FRONT,
            _line(found, line, "shift"), _line(left, line, "shift"),
        )  # fmt: skip


def _line(read: AsFound | None, line: str, what: str) -> Reading | None:
    if read is None or read.frets is None or line not in read.frets.by_name:
        return None
    value: Reading | None = getattr(read.frets.by_name[line], what)
    return value


def _relief(read: AsFound | None) -> Reading | None:
    return None if read is None or read.relief is None else read.relief.depth


def _rounds(i: Instrument, found: AsFound | None, left: AsFound | None) -> Iterator[Quantity]:
    law, last = i.board.law, float(i.plan.centre_x[-1])
    at = (
        {"": law.at_nut} if not law.conical else {"at the nut": law.at_nut, "at the last fret": float(law.radius(last))}
    )
    for place, wanted in at.items():
        tolerance = t.RADIUS_SHARE * wanted if math.isfinite(wanted) else math.inf
        label = f"board radius {place}".strip()
        key = label.replace(" ", "_")
        yield Quantity(key, label, "radius", wanted, tolerance, _round(found, place), _round(left, place))


def _round(read: AsFound | None, place: str) -> Reading | None:
    """The radius as read, its ± half of the interval."""
    if read is None or read.board is None or read.board.round is None:
        return None
    whole = read.board.round
    told = {"": whole.all, "at the nut": whole.at_nut or whole.all, "at the last fret": whole.at_last or whole.all}[
        place
    ]
    low, high = told.low, told.high
    return Reading(told.radius, (high - low) / 4 if math.isfinite(high) else math.inf, len(whole.stations))


def _heights(i: Instrument, found: AsFound | None, left: AsFound | None) -> Iterator[Quantity]:
    line, fret = i.line, i.spec.setup.action.fret
    rows = (
        ("first_fret_clearance", "first-fret clearance", line.first_fret_clearance, t.FIRST_FRET, "first_fret"),
        ("pressed_gap", "gap at the first fret, string held at 3", line.pressed_gap, t.PRESSED, "pressed"),
        ("action", f"action over fret {fret}", line.action, t.ACTION, "action"),
    )
    for side, n in (("bass", -1), ("treble", 0)):
        for key, label, values, tolerance, read in rows:
            yield Quantity(
                f"{key}_{side}", f"{label}, {side}", "length", float(values[n]), tolerance,
                _height(i, found, read, n), _height(i, left, read, n),
            )  # fmt: skip


def _height(i: Instrument, read: AsFound | None, what: str, n: int) -> Reading | None:
    """A string's reading; the action only where it was read as the spec measures it."""
    if read is None or read.strings is None or getattr(read.strings, what) is None:
        return None
    asked = i.spec.setup.action
    if what == "action" and (read.strings.action_fret, read.strings.capo) != (asked.fret, asked.capo):
        return None
    values: tuple[Reading | None, ...] = getattr(read.strings, what)
    return values[n] if len(values) == len(i.loads) else None


def _spread(read: AsFound | None) -> Reading | None:
    if read is None or read.strings is None or read.strings.at_nut is None:
        return None
    first, last = read.strings.at_nut[0], read.strings.at_nut[-1]
    if first is None or last is None:
        return None
    return Reading(abs(first.value - last.value), math.hypot(first.u, last.u))


def _least_crown(read: AsFound | None) -> Reading | None:
    import numpy as np

    if read is None or read.crowns is None or not np.isfinite(read.crowns.height).any():
        return None
    row, column = np.unravel_index(int(np.nanargmin(read.crowns.height)), read.crowns.height.shape)
    return Reading(float(read.crowns.height[row, column]), float(read.crowns.height_u[row, column]))


def _least_slot(read: AsFound | None) -> Reading | None:
    if read is None or read.board is None or not read.board.slot_depth:
        return None
    return min(read.board.slot_depth.values(), key=lambda each: each.value)


def _octave(i: Instrument, found: AsFound | None, left: AsFound | None) -> Iterator[Quantity]:
    row = i.plan.octave
    if row is None or row >= i.intonation.cents.shape[1]:
        return
    fret = int(i.plan.numbers[row])
    for n, string in enumerate(i.spec.strings.set):
        yield Quantity(
            f"cents_{n + 1}", f"cents at the octave, string {n + 1} {string.note.text}", "cents",
            float(i.intonation.cents[n, row]), t.CENTS, _cents(i, found, fret, n), _cents(i, left, fret, n),
        )  # fmt: skip


def _cents(i: Instrument, read: AsFound | None, fret: int, n: int) -> Reading | None:
    if read is None or read.strings is None:
        return None
    values = read.strings.cents.get(fret)
    return values[n] if values is not None and len(values) == len(i.loads) else None
