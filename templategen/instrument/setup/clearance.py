"""Clearance: how far a plucked string stays off the crowns beyond the finger, for every string at every place.

setting   one way the instrument stands: where the crowns are and both ends of every string
place     where a string ends on the nut's side: 0, the floor of its slot (or the zero fret), or a fret it is held at
gap       between the resting string, straight from its place to the saddle, and a crown beyond
motion    how far a string that was pulled 1 mm aside comes nearer to a crown than it rests
headroom  the pull, mm, at which the string just touches the first crown

An ideal string pulled at a distance p from the saddle and let go stays inside two triangles (d'Alembert's travelling
waves with their reflections; any text on vibrating strings): the one it starts from, on the side it was pulled to, and
the same turned end for end on the other, half a period later. So a pull *away* from the board is worst near the finger,
and one *toward* it where it is plucked. Only motion square to the board counts. The bound holds for an ideal string
released at rest; a hard strike can exceed it, stiffness and losses only lessen it.

Places along a string are given by x, in which a straight string is as linear as in its own length; gaps and motions
depend on ratios of such lengths alone.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from templategen.instrument.arrays import Array, fixed
from templategen.instrument.board.plan import Plan
from templategen.instrument.built import Built
from templategen.instrument.setup.line import StringLine

NEAREST_PLUCK = 0.8
"""Of the sounding length: the hand stays where it is as one frets higher, but never nearer to the finger than this."""


@dataclass(frozen=True)
class Setting:
    """Where everything stands that a string could touch.

    numbers: of the places, 0 first, (places,). x, z: of each string's end at the nut (first row) and of every crown
    under it, (places, strings). saddle_x, saddle_z: its other end; pluck: from the saddle to where it is plucked;
    tension_n; (strings,) each.
    """

    numbers: Array
    x: Array
    z: Array
    saddle_x: Array
    saddle_z: Array
    pluck: Array
    tension_n: Array

    @cached_property
    def beyond(self) -> Array:
        """Whether a place (second axis) lies toward the bridge of another (first axis); (places, places, 1), 0 or 1."""
        count = len(self.numbers)
        return np.triu(np.ones((count, count)), 1)[:, :, None]

    @cached_property
    def sounding(self) -> Array:
        """Length from each place to the saddle, along x; (places, strings)."""
        return np.asarray(self.saddle_x - self.x)

    @cached_property
    def plucked(self) -> Array:
        """From the saddle to where the string is plucked, held at each place; (places, strings)."""
        return np.minimum(self.pluck, NEAREST_PLUCK * self.sounding)

    @cached_property
    def gaps(self) -> Array:
        """z_n·(1 − d/L) + z_s·d/L − z_j, d from place n to crown j; NaN but beyond n; (places, places, strings)."""
        share = (self.x[None] - self.x[:, None]) / self.sounding[:, None]
        rest = self.z[:, None] * (1 - share) + self.saddle_z * share
        return np.where(self.beyond > 0, rest - self.z[None], np.nan)

    @cached_property
    def motions(self) -> tuple[Array, Array]:
        """Away and toward, per mm of pull, NaN but beyond; (places, places, strings) each.

        Away: d/p up to d = p, then (L − d)/(L − p). Toward: d/(L − p) up to d = L − p, then (L − d)/p.
        """
        d = self.x[None] - self.x[:, None]
        length, p = self.sounding[:, None], self.plucked[:, None]
        with np.errstate(divide="ignore", invalid="ignore"):
            away = np.minimum(d / p, (length - d) / (length - p))
            toward = np.minimum(d / (length - p), (length - d) / p)
        return tuple(np.where(self.beyond > 0, motion, np.nan) for motion in (away, toward))  # type: ignore[return-value]


@dataclass(frozen=True)
class Note:
    """One string at one place. None where no crown lies beyond; headroom is negative where the string lies on one."""

    string: int
    fretted: int
    headroom_away: float | None
    touches_away: int | None
    headroom_toward: float | None
    touches_toward: int | None
    force_n: float | None
    least_gap: float | None
    least_gap_over: int | None

    @property
    def headroom(self) -> float | None:
        """The smaller of the two."""
        if self.headroom_away is None or self.headroom_toward is None:
            return None
        return min(self.headroom_away, self.headroom_toward)

    @property
    def touches(self) -> int | None:
        """The crown that it touches first."""
        return self.touches_away if self.headroom == self.headroom_away else self.touches_toward


@dataclass(frozen=True)
class Clearance:
    """Of every string at every place, (places, strings) each; NaN where no crown lies beyond.

    numbers: of the places, (places,). away, toward: headroom. touches_*: number of the fret touched first. force_n: the
    smaller of the two pulls, square to the board. least_gap: at rest, over the crown least_gap_over.
    """

    numbers: Array
    away: Array
    touches_away: Array
    toward: Array
    touches_toward: Array
    force_n: Array
    least_gap: Array
    least_gap_over: Array

    @cached_property
    def headroom(self) -> Array:
        """The smaller of away and toward, (places, strings)."""
        return fixed(np.minimum(self.away, self.toward))

    @property
    def least_open(self) -> float:
        """Least headroom of the open strings."""
        return float(np.min(self.headroom[0]))

    @property
    def least_fretted(self) -> float | None:
        """Least headroom of all fretted notes, None where no crown lies beyond any fret."""
        held = self.headroom[1:]
        return float(np.nanmin(held)) if np.isfinite(held).any() else None

    @cached_property
    def notes(self) -> tuple[Note, ...]:
        """Every string at every place, string by string."""
        return tuple(self._notes())

    @property
    def worst_open(self) -> Note:
        return min(self._of(True), key=_height)

    @property
    def worst_fretted(self) -> Note | None:
        """The fretted note with the least headroom."""
        return min(self._of(False), key=_height, default=None)

    def _of(self, open_strings: bool) -> Iterator[Note]:
        return (n for n in self.notes if (n.fretted == 0) is open_strings and n.headroom is not None)

    def _notes(self) -> Iterator[Note]:
        for string in range(self.away.shape[1]):
            for row, number in enumerate(self.numbers):
                at = row, string
                yield Note(
                    string + 1,
                    int(number),
                    _real(self.away[at]),
                    _fret(self.touches_away[at]),
                    _real(self.toward[at]),
                    _fret(self.touches_toward[at]),
                    _real(self.force_n[at]),
                    _real(self.least_gap[at]),
                    _fret(self.least_gap_over[at]),
                )


def setting(i: Built, crowns: Array | None = None, line: StringLine | None = None) -> Setting:
    """The instrument as its spec wants it, or with other crowns, (frets, strings), or other string lines."""
    return setting_of(i, i.crowns if crowns is None else crowns, i.line if line is None else line)


def setting_of(i: Built, crowns: Array, line: StringLine) -> Setting:
    """Crowns and strings where the plan has them, at these heights."""
    return between_ends(i, crowns, line.witness_z, line.z(i.saddle.x))


def between_ends(i: Built, crowns: Array, nut_z: Array, saddle_z: Array) -> Setting:
    """Crowns, (frets, strings), and strings between ends at these heights, (strings,)."""
    numbers, x, under = _frets_played(i.plan, crowns)
    scale = i.plan.string_saddle[:, 0] - i.plan.string_nut[:, 0]
    return Setting(
        numbers=fixed(np.concatenate([[0.0], numbers])),
        x=fixed(np.concatenate([i.line.witness_x[None], x])),
        z=fixed(np.concatenate([np.asarray(nut_z)[None], under])),
        saddle_x=i.saddle.x,
        saddle_z=fixed(saddle_z),
        pluck=fixed(scale * i.spec.playing.plucked_at.spread(i.plan.toward_bass)),
        tension_n=fixed([load.tension_n for load in i.loads]),
    )


def _frets_played(plan: Plan, crowns: Array) -> tuple[Array, Array, Array]:
    """Numbers, x and z of the crowns under each string, without a zero fret, which is where its strings start."""
    played = plan.numbers > 0
    return plan.numbers[played], plan.crossings[played, :, 0], crowns[played]


def clearance(s: Setting) -> Clearance:
    """Headroom = least of gap over motion, both ways; force = T·a·L/(p·(L − p)), the pull that holds a string aside by
    a (statics of a stretched string, small slopes)."""
    away, toward = (_least(s, s.gaps / motion) for motion in s.motions)
    gap = _least(s, s.gaps)
    pull = np.minimum(away[0], toward[0])
    force = s.tension_n * pull * s.sounding / (s.plucked * (s.sounding - s.plucked))
    return Clearance(s.numbers, *away, *toward, fixed(force), *gap)


def _least(s: Setting, values: Array) -> tuple[Array, Array]:
    """Least over the crowns beyond, and the fret it is over; NaN where there is none; (places, strings) each."""
    filled = np.where(np.isnan(values), np.inf, values)
    least, over = filled.min(1), s.numbers[filled.argmin(1)]
    none = np.isinf(least)
    return fixed(np.where(none, np.nan, least)), fixed(np.where(none, np.nan, over))


def _real(value: float) -> float | None:
    return None if np.isnan(value) else float(value)


def _fret(value: float) -> int | None:
    return None if np.isnan(value) else int(value)


def _height(note: Note) -> float:
    assert note.headroom is not None
    return note.headroom
