"""Where the frets stand: the scale, the nut, and every fret that is not in its place.

Reading = o + L·f(n): L the scale along the line, o how far the nut's front edge stands behind its place (+ toward the
tuners: readings long, every fretted note sharp with the saddle unmoved).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from templategen.instrument.arrays import Array
from templategen.repair.survey.fits import LinearFit, linear
from templategen.repair.survey.rules import FretRule, columns, fractions, rule_of
from templategen.repair.survey.significance import outliers
from templategen.repair.survey.tools import K, Reading, on_rule, rectangular, rule_end, rule_limit
from templategen.spec.checks.law import OCTAVE, FretLaw
from templategen.spec.survey.models import LinesAt, Rule, Survey
from templategen.spec.survey.values import ByFret, Reads


@dataclass(frozen=True)
class FretFound:
    """One fret. read: mean of its readings, u theirs; fitted: where the others put it; u_off: of the difference.

    off: read − fitted, + toward the bridge; off_cents: + sharp. outlier: misplaced, or a slip of the rule.
    """

    fret: int
    read: float
    u: float
    fitted: float
    off: float
    u_off: float
    off_cents: float
    outlier: bool


@dataclass(frozen=True)
class FretLine:
    """The frets along one line: "centre", "bass" or "treble".

    scale: L, its u that of the fit and of the rule together; u_rule: what the rule alone brings. shift: o; None where
    one reading alone left no choice but 0. readings: how many; farthest: the longest of them. fit: over the frets that
    are no outliers. shift_cents: what o does to every fretted note by the fretting model, None where only lengths are
    known.
    """

    line: str
    scale: Reading
    u_rule: float
    shift: Reading | None
    readings: int
    farthest: float
    frets: tuple[FretFound, ...]
    rule: FretRule
    law: FretLaw
    fit: LinearFit
    shift_cents: float | None = None

    @property
    def outliers(self) -> tuple[FretFound, ...]:
        return tuple(fret for fret in self.frets if fret.outlier)

    @property
    def cents_of_shift(self) -> float:
        """By the model, or 1200·log₂((L + o)/L): the open string is longer by o and tuned to its pitch, the fretted
        ones are not."""
        if self.shift_cents is not None:
            return self.shift_cents
        return OCTAVE * math.log2(1 + (self.shift.value if self.shift else 0.0) / self.scale.value)

    @property
    def rms(self) -> float:
        """Of the readings about the fit, outliers aside."""
        return float(np.sqrt((self.fit.residuals**2).mean()))

    def place(self, fret: int) -> float:
        """Where the fit puts a fret, from the nut's front edge; 0 for the nut itself."""
        if fret == 0:
            return 0.0
        share = float(fractions(self.law, np.array([float(fret)]), self.rule.step)[0])
        return (self.shift.value if self.shift else 0.0) + self.scale.value * share


@dataclass(frozen=True)
class FretsFound:
    """All lines. square_fret: the fret that stands square to the centreline, None where that cannot be told; bass,
    treble: scale lengths at the lines' own places, parallel to the centreline."""

    lines: tuple[FretLine, ...]
    square_fret: Reading | None

    @property
    def multi_scale(self) -> bool:
        return len(self.lines) > 1

    @cached_property
    def by_name(self) -> dict[str, FretLine]:
        return {line.line: line for line in self.lines}


def frets_found(survey: Survey) -> FretsFound | None:
    """None where no place of a fret was read."""
    if survey.frets is None:
        return None
    named = (("centre", survey.frets.centre), ("bass", survey.frets.bass), ("treble", survey.frets.treble))
    lines = tuple(
        line_found(name, survey.scale, readings, survey.tools.rule)
        for name, readings in named
        if readings is not None and readings.items
    )
    if not lines:
        return None
    return FretsFound(lines, square_fret(survey, lines))


def line_found(name: str, law: FretLaw, places: ByFret[Reads], rule: Rule) -> FretLine:
    """The fit of one line.

    The rule's class limit is common to all readings and never averages out: an error of ±limit at the farthest,
    rectangular, proportional to length, u = limit·L/(x_far·√3). A butt end shifts all of them besides.
    """
    read = [(fret, on_rule(reads, rule)) for fret, reads in places.by_number(law.fret_count).items()]
    frets = np.array([float(fret) for fret, _ in read])
    values = np.array([reading.value for _, reading in read])
    u = np.array([reading.u for _, reading in read])
    followed = rule_of(law, frets, values, u)
    design = columns(fractions(law, frets, followed.step), shifted=len(frets) > 1)
    out = np.isin(np.arange(len(frets)), outliers(design, values, u).rows)
    fit = linear(design[~out], values[~out], u[~out])
    found = tuple(_fret(*each, fit=fit) for each in zip(frets, values, u, design, out, strict=True))
    # what is less off than its own ± is not misplaced, however well the others stand
    doubted = np.array([each.outlier and abs(each.off) > K * each.u_off for each in found])
    if (doubted != out).any():
        out = doubted
        fit = linear(design[~out], values[~out], u[~out])
        found = tuple(_fret(*each, fit=fit) for each in zip(frets, values, u, design, out, strict=True))
    scale = float(fit.values[0])
    farthest = float(values[~out].max())
    u_rule = rectangular(rule_limit(rule, farthest)) * scale / farthest
    u_scale = math.hypot(math.sqrt(fit.covariance[0, 0]), u_rule)
    shift = None
    if len(fit.values) > 1:
        shift = Reading(float(fit.values[1]), math.hypot(math.sqrt(fit.covariance[1, 1]), rule_end(rule)))
    count = sum(reading.count for _, reading in read)
    return FretLine(name, Reading(scale, u_scale, count), u_rule, shift, count, farthest, found, followed, law, fit)


def _fret(fret: float, value: float, u: float, row: Array, out: bool, fit: LinearFit) -> FretFound:
    fitted = float(row @ fit.values)
    off, scale = float(value) - fitted, float(fit.values[0])
    around = fit.u_of(row) ** 2
    # a reading that the fit rests on is nearer to it than one that it does not
    u_off = math.sqrt(u * u + around) if out else math.sqrt(max(u * u - around, 0.0))
    cents = OCTAVE * math.log2((scale - fitted) / (scale - value))
    return FretFound(int(fret), float(value), float(u), fitted, off, u_off, cents, bool(out))


def square_fret(survey: Survey, lines: tuple[FretLine, ...]) -> Reading | None:
    """The fret that crosses both lines at the same x: b + L_b·f(p) = t + L_t·f(p), t − b the slant between the lines.

    The slant is that of the nut's ends; the lines run nearer to the centreline and have their share of it. None where
    one of the two was not measured, or the frets lie parallel.
    """
    frets = survey.frets
    if frets is None or frets.at_y is None or frets.nut_slant is None or len(lines) < 2:
        return None
    by_name = {line.line: line for line in lines}
    bass, treble = by_name["bass"].scale, by_name["treble"].scale
    slant = frets.nut_slant * _share_of_nut(survey, frets.at_y)
    longer = bass.value - treble.value
    u_longer = math.hypot(bass.u, treble.u)
    if abs(longer) <= K * u_longer:
        return None
    share = slant / longer
    if share >= 1:
        return None
    u_slant = rectangular(rule_limit(survey.tools.rule, abs(frets.nut_slant)))
    u_share = math.hypot(u_slant / longer, share * u_longer / longer)
    fret, beside = (_fret_at(survey.scale, s) for s in (share, min(share + u_share, 0.999)))
    return Reading(fret, abs(beside - fret))


def _share_of_nut(survey: Survey, at: LinesAt) -> float:
    """How far apart the lines run, over the width of the nut; 1 where that was not measured."""
    width = survey.board.width if survey.board is not None else None
    reads = width.by_number(survey.scale.fret_count).get(0) if width is not None else None
    return (at.treble - at.bass) / (sum(reads) / len(reads)) if reads else 1.0


def _fret_at(law: FretLaw, share: float) -> float:
    """The fret, whole or not, whose fraction this is; below the nut it runs on as the first step does."""
    numbers = np.arange(0.0, law.fret_count + 1)
    places = fractions(law, numbers)
    if share < 0:
        return float(share / (places[1] - places[0]))
    if share > places[-1]:
        return float(numbers[-1] + (share - places[-1]) / (places[-1] - places[-2]))
    return float(np.interp(share, places, numbers))
