"""Crowns as measured, along lines and under strings.

Crowns are measured along lines that need not be under strings. How far a crown stands off the shape that board and wire
would give it is taken from line to line in proportion to the way across, and beyond the outer lines as on them; a crown
that was not measured takes it from its neighbours along the line. Which straight line the readings lie on makes no
difference: whatever is read of strings is read over the crowns.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from templategen.instrument.arrays import Array, fixed
from templategen.instrument.model import Instrument
from templategen.repair.levelling import CrownProfile, highest_line
from templategen.repair.standing import straight_crowns


@dataclass(frozen=True)
class CrownsRead:
    """Crowns as measured, neck straight: names of the lines ("bass", "treble", "centre" or a string's number), and per
    fret, 1 first, and line: z, its expanded uncertainty, height over the wood and width; NaN where not measured."""

    lines: tuple[str, ...]
    z: Array
    pm: Array
    height: Array
    width: Array


@dataclass(frozen=True)
class FoundCrowns:
    """The readings on the instrument's own plan."""

    instrument: Instrument
    readings: CrownsRead

    @cached_property
    def profile(self) -> CrownProfile:
        """As the levelling plans read them."""
        i, r = self.instrument, self.readings
        x, _ = self.places
        return CrownProfile(
            lines=r.lines,
            frets=self.frets,
            x=fixed(x),
            z=r.z,
            fall=fixed(self._fall(x)),
            pm=fixed(np.where(np.isfinite(r.z), r.pm, 0.0)),
            height=r.height,
            width=fixed(np.where(np.isfinite(r.width), r.width, i.spec.fret_wire.crown_width)),
            sounding=fixed(self._saddle_x - x),
        )

    @property
    def frets(self) -> Array:
        numbers = self.instrument.plan.numbers
        return numbers[numbers > 0]

    @cached_property
    def rows(self) -> tuple[int, ...]:
        """Of the frets in the plan, (frets,)."""
        return tuple(self.instrument.plan.index(int(n)) for n in self.frets)

    @cached_property
    def shares(self) -> Array:
        """Each line's share in what is under each string, (frets, strings, lines); 0 where nothing was measured."""
        _, y = self.places
        strings = self.instrument.plan.crossings[list(self.rows), :, 1]
        found = np.zeros((*strings.shape, len(self.readings.lines)))
        for row in range(len(self.frets)):
            lines = np.flatnonzero(np.isfinite(self.readings.z[row]))
            if len(lines):
                found[row][:, lines] = _between(strings[row], y[row, lines])
        return fixed(found)

    @cached_property
    def base(self) -> Array:
        """Crowns under every string on the straight neck, (frets, strings)."""
        straight = np.array(straight_crowns(self.instrument))
        straight[list(self.rows)] += np.einsum("fsl,fl->fs", _whole(self.shares), self._off)
        return fixed(straight)

    @cached_property
    def _off(self) -> Array:
        """How far crowns stand off their own shape along each line, over the highest line under them."""
        x, _ = self.places
        off = np.array(self.readings.z - self._shape)
        for line in range(off.shape[1]):
            there = np.isfinite(off[:, line])
            a, b = highest_line(x[there, line], off[there, line])
            off[:, line] -= a + b * x[:, line]
            if there.any():
                off[:, line] = np.interp(x[:, line], x[there, line], off[there, line])
        return np.nan_to_num(off)

    @cached_property
    def places(self) -> tuple[Array, Array]:
        """x and y of every crown on every line, (frets, lines) each."""
        plan, rows = self.instrument.plan, list(self.rows)
        centre = np.stack([plan.centre_x[rows], np.zeros(len(rows))], -1)
        places = np.stack([centre if n is None else plan.crossings[rows, n] for n in self._lines], 1)
        return places[..., 0], places[..., 1]

    @property
    def _lines(self) -> list[int | None]:
        """Which string each line lies under, None for the centreline."""
        named = {"treble": 0, "bass": len(self.instrument.loads) - 1, "centre": None}
        return [named[name] if name in named else int(name) - 1 for name in self.readings.lines]

    @cached_property
    def _shape(self) -> Array:
        """Crowns along the lines as board and wire would have them, (frets, lines)."""
        i = self.instrument
        straight, flat = straight_crowns(i)[list(self.rows)], np.full(len(self.frets), i.strung.crown_height)
        return np.stack([flat if n is None else straight[:, n] for n in self._lines], 1)

    @property
    def _saddle_x(self) -> Array:
        saddle = self.instrument.saddle.x
        return np.array([float(saddle.mean()) if n is None else float(saddle[n]) for n in self._lines])

    def _fall(self, x: Array) -> Array:
        """The fall-away asked for along the lines: that of [levelling], else that of [setup]."""
        i = self.instrument
        asked = i.spec.levelling.fall_away
        if asked is None:
            return i.strung.fall_away(x)
        start = float(i.plan.centre_x[i.plan.index(asked.from_fret)])
        return replace(i.strung, fall_from=start, fall_drop=asked.drop).fall_away(x)


def _between(y: Array, lines: Array) -> Array:
    """Share of each line, at ``lines``, in what is at y; (len(y), len(lines)). Beyond the outer lines as on them."""
    order = np.argsort(lines)
    unit = np.eye(len(lines))
    return np.stack([np.interp(y, lines[order], unit[order, line]) for line in range(len(lines))], -1)


def _whole(shares: Array) -> Array:
    """Shares that make one at every fret: where nothing was measured, those of the fret next to it that was."""
    found = np.array(shares)
    measured = np.flatnonzero(found.sum((1, 2)) > 0)
    for row in range(len(found)):
        if row not in measured and len(measured):
            found[row] = found[measured[np.abs(measured - row).argmin()]]
    return found
