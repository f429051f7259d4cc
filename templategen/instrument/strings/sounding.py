"""How the instrument will sound in tune: every string's line and load brought together, offsets and errors found.

Terms
-----
nominal     nut and saddle at their places in the plan, offsets 0: what a bench gets without compensation
fit         the offsets in use, found or held as the spec says, and the errors they leave
best        the saddle offset that would be best with the nut as it is in use; the fit itself where the saddle is free

Places along a string are counted by x from its own nut point, as scale lengths are; a string's slant against the
centreline makes less than a part in a thousand of it. The offsets are found with the heights at nut and saddle kept
(as Anderson & Beausoleil keep them, JASA 156(1), 683, 2024); the string line is solved again with the front edge they
give, which moves its height at the nut by some thousandths of a millimetre.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from templategen.errors import Problem
from templategen.instrument.arrays import Array, fixed
from templategen.instrument.board.plan import Plan
from templategen.instrument.setup.line import StringLine
from templategen.instrument.strings.fretting import (
    Cents,
    FrettedString,
    finger_effect,
    fretting_cents,
    nut_height_effect,
    rest_effect,
)
from templategen.instrument.strings.loads import Loads, StringLoad
from templategen.instrument.strings.offsets import (
    Fit,
    SaddleRange,
    StraightSaddle,
    best_offsets,
    best_straight_saddle,
    saddle_range,
)
from templategen.spec.models import Spec
from templategen.spec.values import OverStrings
from templategen.units import mm_text

NUT_TOO_HIGH = (0.1, 0.3)  # mm: what a customer hears of a nut filed too timidly
DEEPER = 0.2  # mm: what a firmer hand presses a fingertip further down (common practice, no source)
LONGER = 120.0  # mm of string beyond the saddle, to a tailpiece (common practice, no source)
USUAL_FIT = 12  # frets: the spec's default
HEARD_AT = 3  # frets from the nut that such a nut spoils most


@dataclass(frozen=True)
class OffsetSpread:
    """The least and the greatest offset of a string of which something is guessed, that being less or more."""

    saddle_low: float
    saddle_high: float
    nut_low: float
    nut_high: float


@dataclass(frozen=True)
class Intonation:
    """All strings' tuning. Arrays are (strings, frets), fret 1 first and no zero fret, unless said.

    frets: their numbers, (frets,). fit_to_fret: the last fret of the fit, at most the board's last; fitted_cents: how
    far up it stands. nominal: errors without offsets. saddle_y: y of each string's nominal saddle point, (strings,).
    saddle_free: the spec holds no saddle offset. uncertain: of each string of which something is guessed (core,
    stiffness), the same string with that less and more. held: (saddle, nut) offsets that the spec holds, None where
    free.
    """

    strings: tuple[FrettedString, ...]
    frets: Array
    fit_to_fret: int
    fitted_cents: float
    fits: tuple[Fit, ...]
    nominal: tuple[Cents, ...]
    saddle_y: Array
    saddle_free: bool
    uncertain: tuple[tuple[FrettedString, FrettedString] | None, ...]
    held: tuple[tuple[float | None, float | None], ...]

    @property
    def saddle_offset(self) -> Array:
        """(strings,), away from the nut."""
        return fixed([fit.saddle_offset for fit in self.fits])

    @property
    def nut_offset(self) -> Array:
        """(strings,), toward the bridge."""
        return fixed([fit.nut_offset for fit in self.fits])

    @property
    def cents(self) -> Array:
        """What every fret will be off, the offsets applied."""
        return fixed([fit.cents.total for fit in self.fits])

    @property
    def cents_uncompensated(self) -> Array:
        return fixed([cents.total for cents in self.nominal])

    @property
    def nominal_rms(self) -> Array:
        """Root mean square of the nominal errors over the frets of the fit, (strings,)."""
        return fixed(np.sqrt((self.cents_uncompensated[:, : self.fit_to_fret] ** 2).mean(axis=1)))

    @cached_property
    def best(self) -> tuple[Fit, ...]:
        """Every string's best saddle offset with the nut as it is in use."""
        if self.saddle_free:
            return self.fits
        return tuple(
            best_offsets(string, self.fit_to_fret, nut=fit.nut_offset)
            for string, fit in zip(self.strings, self.fits, strict=True)
        )

    @cached_property
    def straight_saddle(self) -> StraightSaddle:
        """The best saddle that is one straight line, the nut as it is in use."""
        return best_straight_saddle(
            self.strings, self.saddle_y, self.fit_to_fret, [fit.nut_offset for fit in self.fits]
        )

    @cached_property
    def saddle_range(self) -> SaddleRange:
        """What an adjustable saddle should cover: the best offsets of this set, a margin for other gauges and actions
        beyond the least and the greatest."""
        return saddle_range([fit.saddle_offset for fit in self.best])

    @cached_property
    def spread(self) -> tuple[OffsetSpread | None, ...]:
        """Between what the offsets lie of each string of which something is guessed; None for one that was measured."""
        found: list[OffsetSpread | None] = []
        for fit, cores, (saddle, nut) in zip(self.fits, self.uncertain, self.held, strict=True):
            fits = [fit, *(best_offsets(string, self.fit_to_fret, saddle, nut) for string in cores or ())]
            saddles, nuts = [each.saddle_offset for each in fits], [each.nut_offset for each in fits]
            found.append(OffsetSpread(min(saddles), max(saddles), min(nuts), max(nuts)) if cores else None)
        return tuple(found)

    def pressed_deeper(self, extra: float = DEEPER) -> Array:
        """Cents that pressing ``extra`` mm deeper adds, mean over the frets of the fit, (strings,)."""
        return self._mean(finger_effect, extra)

    def longer_rest(self, extra: float = LONGER) -> Array:
        """Cents that ``extra`` mm of string beyond nut and saddle add, mean over the frets of the fit, (strings,)."""
        return self._mean(rest_effect, extra)

    def _mean(self, effect: Callable[[FrettedString, float, float, float], Cents], extra: float) -> Array:
        added = [
            effect(string, extra, fit.saddle_offset, fit.nut_offset).total[: self.fit_to_fret]
            for string, fit in zip(self.strings, self.fits, strict=True)
        ]
        return fixed(np.mean(added, axis=1))

    def nut_too_high(self, extra: float) -> Array:
        """Cents that a nut ``extra`` mm too high adds at each fret, the offsets as they are in use."""
        return fixed(
            [
                nut_height_effect(string, extra, fit.saddle_offset, fit.nut_offset).total
                for string, fit in zip(self.strings, self.fits, strict=True)
            ]
        )


def held_problems(spec: Spec, plan: Plan) -> tuple[Problem, ...]:
    """Offsets of the spec that cannot be: past a crown, or a nut's where a zero fret ends the strings."""
    problems = []
    saddle, nut = spec.intonation.saddle, spec.nut.compensation
    crowns = plan.crossings[plan.numbers > 0, :, 0]
    if spec.scale.zero_fret is not None and nut != "none":
        problems.append(
            Problem(
                ("nut", "compensation"),
                'must be "none" with a zero fret: the strings end on its crown, and moving the nut behind it changes '
                "no note\ntake compensation out, or scale.zero_fret",
            )
        )
    elif isinstance(nut, OverStrings):
        room = crowns[0] - plan.string_nut[:, 0]
        for row in np.flatnonzero(nut.spread(plan.toward_bass) >= room).tolist():
            problems.append(
                Problem(
                    ("nut", "compensation"),
                    f"puts the nut's front edge at or past the first fret under string {row + 1}; it must be less than "
                    f"{mm_text(float(room[row]))} mm there",
                )
            )
    if isinstance(saddle, OverStrings):
        room = plan.string_saddle[:, 0] - crowns[-1]
        for row in np.flatnonzero(-saddle.spread(plan.toward_bass) >= room).tolist():
            problems.append(
                Problem(
                    ("intonation", "saddle"),
                    f"puts the saddle at or before the last fret under string {row + 1}; it must be more than "
                    f"{mm_text(-float(room[row]))} mm there",
                )
            )
    return tuple(problems)


def build_intonation(spec: Spec, plan: Plan, crowns: Array, line: StringLine, loads: Loads) -> Intonation:
    """Find or hold every string's offsets and predict all its notes.

    crowns: heights (frets, strings) as ``plan.numbers`` counts them, a zero fret included; line: with the nut's front
    edge at its nominal place. Held offsets must have passed ``held_problems``.
    """
    strings = fretted_strings(spec, plan, crowns, line, loads.strings)
    thin, thick = (fretted_strings(spec, plan, crowns, line, each) for each in (loads.thin, loads.thick))
    estimated = [load.body.guessed for load in loads.strings]
    count = len(strings)
    saddle = _held(spec.intonation.saddle, plan)
    nut = _held(spec.nut.compensation, plan)
    last = min(spec.intonation.fit_to_fret, spec.scale.fret_count)
    fits = tuple(best_offsets(string, last, saddle[i], nut[i]) for i, string in enumerate(strings))
    return Intonation(
        strings=strings,
        frets=fixed(plan.numbers[plan.numbers > 0]),
        fit_to_fret=last,
        fitted_cents=float(plan.cents[plan.index(last)]),
        fits=fits,
        nominal=tuple(fretting_cents(string) for string in strings),
        saddle_y=fixed(plan.string_saddle[:, 1]),
        saddle_free=saddle == [None] * count,
        uncertain=tuple((thin[i], thick[i]) if estimated[i] else None for i in range(count)),
        held=tuple(zip(saddle, nut, strict=True)),
    )


def fretted_strings(
    spec: Spec, plan: Plan, crowns: Array, line: StringLine, loads: tuple[StringLoad, ...]
) -> tuple[FrettedString, ...]:
    """Every string's geometry and physics, x from its own nut point (with a zero fret: from that crown)."""
    played, behind = plan.numbers > 0, spec.intonation.behind
    start = plan.string_nut[:, 0]
    at_nut, at_saddle = line.z(start), line.z(plan.string_saddle[:, 0])
    ratio = fixed(2 ** (plan.cents[played] / 1200))
    return tuple(
        FrettedString(
            crown_x=fixed(plan.crossings[played, i, 0] - start[i]),
            crown_z=fixed(crowns[played, i]),
            nut_z=float(at_nut[i]),
            saddle_x=float(plan.string_saddle[i, 0] - start[i]),
            saddle_z=float(at_saddle[i]),
            pitch_ratio=ratio,
            kappa=load.kappa,
            bending=load.bending,
            finger_distance=spec.intonation.finger_distance,
            finger_depth=spec.intonation.finger_depth,
            rest=0.0 if behind is None else behind.nut + behind.saddle,
            ends=spec.intonation.string_ends,
        )
        for i, load in enumerate(loads)
    )


def _held(wanted: str | OverStrings[float], plan: Plan) -> list[float | None]:
    """What the spec holds at one end of every string; None where the fit is free."""
    if isinstance(wanted, OverStrings):
        return [float(value) for value in wanted.spread(plan.toward_bass)]
    return [None if wanted == "best_fit" else 0.0] * len(plan.gauges)
