"""By which rule the slots were cut: the one the survey names, or another that fits their places better.

step   what one step of the rule raises the pitch by, as a share of what the survey's rule says: 1 is that rule itself
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from templategen.instrument.arrays import Array
from templategen.instrument.board.scale import cents_of
from templategen.repair.survey.fits import LinearFit, linear, saturating
from templategen.repair.survey.significance import ALPHA, better_chance, misfit_chance, outliers, runs_chance
from templategen.repair.survey.tools import K
from templategen.spec.checks.law import OCTAVE, FretLaw

LEAST_READINGS = 6  # fewer say nothing of a step of its own
DIVISORS = (18.0, 17.817)
"""Each fret at this fraction of what is left of the string: the old rule of 18, and what equal tempering comes to."""
STEPS = tuple(range(5, 73))
RATE = math.log(2) / OCTAVE
"""Of what is left of the string, per cent: 1 − f = e^(−RATE·cents)."""


@dataclass(frozen=True)
class FretRule:
    """What the frets follow.

    stated: the survey's rule in words. followed: another rule that fits, in words; the same where that is the stated
    one, None where the residuals run in a pattern that no rule known here makes. step: of the rule that is followed, 1
    for the stated one; found, pm: the step as fitted free, None where that was not tried. decided: whether a pattern in
    the residuals was found at all.
    """

    stated: str
    followed: str | None
    step: float
    found: float | None = None
    pm: float | None = None
    decided: bool = False

    @property
    def words(self) -> str:
        """As numbers.json has it."""
        if not self.decided:
            return self.stated
        return self.followed or f"not {self.stated}, nor any rule known here"


def stated_rule(law: FretLaw) -> str:
    if law.fret_cents is not None:
        return f"the {len(law.fret_cents)} listed cents"
    return equal_steps(law.steps_per_octave)


def equal_steps(count: int) -> str:
    return f"{count} equal steps to the octave"


def fractions(law: FretLaw, frets: Array, step: float = 1.0) -> Array:
    """Share of the scale from the nut to each fret, its cents taken ``step`` times."""
    return np.asarray(1.0 - np.exp2(-step * cents_of(law, frets) / OCTAVE))


def columns(shares: Array, shifted: bool = True) -> Array:
    """Design of reading = L·f + o, or of L·f alone."""
    return np.stack([shares, np.ones_like(shares)], 1) if shifted else shares[:, None]


def rule_of(law: FretLaw, frets: Array, places: Array, u: Array) -> FretRule:
    """Judged along one line by all readings but those that no step explains."""
    stated = stated_rule(law)
    if len(frets) < LEAST_READINGS:
        return FretRule(stated, stated, 1.0)
    cents = cents_of(law, frets)
    free = saturating(cents, places, u, rate=RATE)
    kept = np.setdiff1d(np.arange(len(frets)), outliers(free.design, places, u).rows)
    if len(kept) < LEAST_READINGS:
        return FretRule(stated, stated, 1.0)
    cents, places, u = cents[kept], places[kept], u[kept]
    free = saturating(cents, places, u, rate=RATE)
    plain = linear(columns(fractions(law, frets[kept])), places, u)
    step, pm = float(free.values[1]) / RATE, K * math.sqrt(free.covariance[1, 1]) / RATE
    pattern = min(better_chance(plain, free), runs_chance(plain.residuals)) < ALPHA / 2
    if not pattern:
        return FretRule(stated, stated, 1.0, step, pm)
    other = _known_rule(law, cents, places, u, free)
    if other is None:
        # a pattern that no rule makes, in readings that scatter no more than they may, is chance
        strays = misfit_chance(plain) < ALPHA
        return FretRule(stated, None if strays else stated, 1.0, step, pm, decided=strays)
    words, its_step = other
    if abs(its_step - 1) < 1e-9:
        return FretRule(stated, stated, 1.0, step, pm)
    return FretRule(stated, words, its_step, step, pm, decided=True)


def _known_rule(law: FretLaw, cents: Array, places: Array, u: Array, free: LinearFit) -> tuple[str, float] | None:
    """The rule that fits best of those that fit as well as a free step does, the stated one first; None where none
    does."""

    def fit(step: float) -> LinearFit:
        return linear(columns(1 - np.exp2(-step * cents / OCTAVE)), places, u)

    if better_chance(fit(1.0), free) >= ALPHA:
        return stated_rule(law), 1.0
    fits = [(fit(step), words, step) for words, step in _other_rules(law)]
    best = min(fits, key=lambda each: each[0].sum_of_squares, default=None)
    return None if best is None or better_chance(best[0], free) < ALPHA else best[1:]


def _other_rules(law: FretLaw) -> Iterator[tuple[str, float]]:
    """Words and step of every other rule known here; none beside a list of cents."""
    if law.fret_cents is not None:
        return
    here = OCTAVE / law.steps_per_octave
    for count in STEPS:
        if count != law.steps_per_octave:
            yield equal_steps(count), OCTAVE / count / here
    for divisor in DIVISORS:
        yield f"a constant ratio by {divisor:g}", -OCTAVE * math.log2(1 - 1 / divisor) / here
