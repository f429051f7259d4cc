"""What the instrument needs: its clearance as found, the levelling plans, and the way from found to wanted."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from templategen.instrument.arrays import Array, fixed
from templategen.instrument.model import Instrument
from templategen.instrument.setup.clearance import Clearance, Setting, clearance
from templategen.repair.changes import Changes, Crowning, OnePieceBridge, Slots, changes
from templategen.repair.clearing import Demand, every_note_clears
from templategen.repair.crowns import CrownsRead, FoundCrowns
from templategen.repair.levelling import LEAST_FILED, Filing, leave_low, replacements, touch_all
from templategen.repair.standing import (
    Flags,
    Readings,
    Standing,
    as_read,
    as_wanted,
    readings_of,
    standing_setting,
)
from templategen.repair.tuning import SaddleFound, Tuned, saddles_found
from templategen.repair.verdict import Verdict, verdict

LEAST_CROWN = 0.7
"""Of the wire's crown: no crown is filed lower (common practice, no source)."""


@dataclass(frozen=True)
class FoundInPlay:
    """What was measured that bears on playing."""

    readings: Readings
    crowns: CrownsRead | None = None
    bridge: OnePieceBridge | None = None
    slots: Slots | None = None
    tuned: Tuned | None = None


@dataclass(frozen=True)
class Cause:
    """The one change that gives the worst note as found the most headroom, found by trying each.

    what: "relief", "action", "nut" or "crown"; by: how far it is changed, mm; fret, strings: of a crown that stands
    high, those under which it does. gain: of the least headroom of all fretted notes; over_next: over the next best.
    """

    what: str
    by: float
    gain: float
    over_next: float
    fret: int | None = None
    strings: tuple[int, ...] = ()


@dataclass(frozen=True)
class Remedy:
    """Everything that follows from the readings; each part is computed when it is first asked for."""

    instrument: Instrument
    found: FoundInPlay

    @cached_property
    def crowns(self) -> FoundCrowns | None:
        """None where none were measured."""
        return None if self.found.crowns is None else FoundCrowns(self.instrument, self.found.crowns)

    @cached_property
    def base(self) -> Array:
        """Crowns under every string on the straight neck, (frets, strings), as found where measured, else as wanted."""
        i = self.instrument
        return fixed(i.crowns + i.strung.sag(i.plan.crossings[..., 0])) if self.crowns is None else self.crowns.base

    # ---------------------------------------------------------------------------------------------------- clearance

    @cached_property
    def standing(self) -> Standing:
        """How it stood when it was read; what was not measured is taken as wanted."""
        return as_read(self.instrument, self.base, self.found.readings)

    @cached_property
    def saddles(self) -> tuple[SaddleFound, ...]:
        """Where the strings leave the saddle, by the tuner."""
        return () if self.found.tuned is None else saddles_found(self.instrument, self.standing, self.found.tuned)

    @cached_property
    def setting(self) -> Setting:
        return standing_setting(self.instrument, self.standing)

    @cached_property
    def clearance(self) -> Clearance:
        """Of the instrument as found."""
        return clearance(self.setting)

    @property
    def estimated(self) -> tuple[str, ...]:
        """What was not measured and is taken as the spec wants it: "relief", "crowns", "strings", or of these the
        "height at the nut" or the "action" of some."""
        r = self.found.readings
        ends = ("height at the nut", r.nut_read), ("action", r.saddle_read)
        missing = [("relief", r.relief is None), ("crowns", self.found.crowns is None), ("strings", not r.strung)]
        missing += [(_of(name, read), r.strung and not read.all()) for name, read in ends]
        return tuple(name for name, absent in missing if absent)

    # ---------------------------------------------------------------------------------------------------- levelling

    @property
    def least_crown(self) -> float:
        spec = self.instrument.spec
        return spec.levelling.least_crown or LEAST_CROWN * spec.fret_wire.crown_height

    @property
    def asked(self) -> Array:
        """Headroom that every fretted note is to have: that of [playing], else what the spec's setup has."""
        i = self.instrument
        given = i.spec.playing.headroom
        if given is not None:
            return given.spread(i.plan.toward_bass)
        return np.full(len(i.loads), i.clearance.least_fretted or 0.0)

    @cached_property
    def filings(self) -> tuple[Filing, ...]:
        """The plans side by side; none where no crowns were measured."""
        if self.crowns is None:
            return ()
        p, levelling = self.crowns.profile, self.instrument.spec.levelling
        stood = as_wanted(self.instrument, self.base, self.instrument.strung.relief)
        demand = Demand(standing_setting(self.instrument, stood), self.asked, self.crowns.shares)
        return (
            touch_all(p),
            leave_low(p, levelling.leave_low),
            *replacements(p, levelling.replace_up_to),
            every_note_clears(p, demand),
        )

    @cached_property
    def verdicts(self) -> tuple[Verdict, ...]:
        up_to = self.instrument.spec.levelling.replace_up_to
        return tuple(verdict(f, self.least_crown, up_to) for f in self.filings)

    @cached_property
    def chosen(self) -> int | None:
        """Which plan files least of those that keep every crown high enough; else the one that replaces fewest; None
        where all come to a refret, or nothing was measured."""
        ways = [n for n, v in enumerate(self.verdicts) if not v.refret]
        return min(ways, key=lambda n: (len(self.verdicts[n].replaced), self.filings[n].total), default=None)

    @property
    def anew(self) -> bool:
        """Whether the spec says that frets come out whatever the crowns say."""
        return bool({"board", "frets"} & set(self.instrument.spec.work or ()))

    @cached_property
    def as_done(self) -> tuple[Filing, ...]:
        """The plans as they are carried out: what would be left too low is replaced and not filed."""
        return tuple(f if v.refret else f.without(v.replaced) for f, v in zip(self.filings, self.verdicts, strict=True))

    @cached_property
    def crowning(self) -> Crowning | None:
        if self.chosen is None or self.crowns is None or self.anew:
            return None
        return Crowning(self.filings[self.chosen], self.verdicts[self.chosen].replaced, self.crowns.shares)

    # ------------------------------------------------------------------------------------------------------ changes

    @cached_property
    def changes(self) -> Changes:
        f = self.found
        refret = self.anew or (bool(self.filings) and self.chosen is None)
        return changes(self.instrument, self.base, f.readings, self.crowning, f.bridge, f.slots, refret, self.saddles)

    @cached_property
    def left(self) -> Clearance | None:
        """The clearance when all changes are made."""
        stood = self.changes.left
        return None if stood is None else clearance(standing_setting(self.instrument, stood))

    @cached_property
    def cause(self) -> Cause | None:
        """What is to blame for the worst note as found."""
        now = self.clearance.least_fretted
        if now is None:
            return None
        found = []
        for cause, stood in self._trials():
            then = clearance(standing_setting(self.instrument, stood)).least_fretted
            assert then is not None
            found.append(replace(cause, gain=then - now))
        found.sort(key=lambda cause: -cause.gain)
        if not found or found[0].gain <= 0:
            return None
        return replace(found[0], over_next=found[0].gain - max(found[1].gain if len(found) > 1 else 0.0, 0.0))

    def _trials(self) -> Iterator[tuple[Cause, Standing]]:
        """Each change to what is wanted, alone: relief, action and height at the nut with the other readings held, and
        every crown that stands high, with the strings' ends held."""
        i, s = self.instrument, self.standing
        now, wanted = readings_of(i, s), readings_of(i, as_wanted(i, s.base, s.relief))
        by = {
            "relief": i.strung.relief - s.relief,
            "nut": _largest(wanted.first_fret - now.first_fret),
            "action": _largest(wanted.action - now.action),
        }
        then = {
            "relief": replace(now, relief=i.strung.relief),
            "nut": replace(now, first_fret=wanted.first_fret),
            "action": replace(now, action=wanted.action),
        }
        for what, change in by.items():
            if abs(change) > LEAST_FILED:
                yield Cause(what, change, 0.0, 0.0), as_read(i, s.base, then[what])
        if self.crowns is None:
            return
        level, least = touch_all(self.crowns.profile), i.spec.levelling.leave_low
        high = level.worth_filing & (level.removed > least)
        off = np.einsum("fsl,fl->fs", self.crowns.shares, np.where(high, level.removed, 0.0))
        for row, under in enumerate(off):
            if under.max() > 0:
                base = np.array(s.base)
                base[self.crowns.rows[row]] -= under
                strings = tuple(int(n) + 1 for n in np.flatnonzero(under > under.max() / 2))
                yield (
                    Cause("crown", float(under.max()), 0.0, 0.0, int(self.crowns.frets[row]), strings),
                    replace(s, base=fixed(base)),
                )


def _of(name: str, read: Flags) -> str:
    """``"action"`` where no string was read, ``"action of strings 2 and 3"`` of some."""
    missing = [str(n + 1) for n in np.flatnonzero(~read)]
    if len(missing) == len(read) or not missing:
        return name
    if len(missing) == 1:
        return f"{name} of string {missing[0]}"
    return f"{name} of strings {', '.join(missing[:-1])} and {missing[-1]}"


def _largest(values: Array) -> float:
    """The one farthest from 0."""
    return float(values[np.abs(values).argmax()])
