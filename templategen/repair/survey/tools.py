"""How well a reading is known: what its tool's graduation, step and limit of error leave open.

A value that may lie anywhere within ±a with nothing to prefer any of it has u = a/√3 (JCGM 100:2008, 4.3.7); so a
graduation g leaves ±g/2, u = g/√12.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import mean, stdev

from templategen.spec.survey.models import Calipers, Feelers, HeightGauge, Rule, Tuner
from templategen.spec.survey.values import Reads

K = 2.0
"""Coverage factor of what is reported."""
METRE = 1000.0
CLASSES = {"I": (0.1, 0.1, 0.1), "II": (0.3, 0.2, 0.2), "III": (0.6, 0.4, 0.3)}
"""Rules: a, b and what a butt end adds, mm (MID 2014/32/EU, Annex X; UK SI 2016/1153, Schedule 1I)."""


@dataclass(frozen=True)
class Reading:
    """A value with its standard uncertainty, and how many readings it is of."""

    value: float
    u: float
    count: int = 1

    @property
    def pm(self) -> float:
        return K * self.u


def rectangular(half: float) -> float:
    """u of something that lies within ±half, nothing known of where."""
    return half / math.sqrt(3)


def graduated(step: float) -> float:
    """u of a reading to the nearest of marks ``step`` apart."""
    return rectangular(step / 2)


def of_reads(reads: Reads, u: float, shift: float = 0.0) -> Reading:
    """Several readings of one thing: their mean, with the larger of the tool's u and their own scatter/√n."""
    scatter = stdev(reads) / math.sqrt(len(reads)) if len(reads) > 1 else 0.0
    return Reading(mean(reads) + shift, max(u, scatter), len(reads))


def on_rule(reads: Reads, rule: Rule) -> Reading:
    """Without the rule's own error, which all its readings share (``rule_limit``)."""
    return of_reads(reads, graduated(rule.graduation))


def rule_limit(rule: Rule, length: float) -> float:
    """Limit of error of a length read on a rule: a + b for each metre begun, and more from a butt end."""
    a, b, end = CLASSES[rule.class_]
    return a + b * max(1, math.ceil(length / METRE)) + (end if rule.from_end else 0.0)


def rule_end(rule: Rule) -> float:
    """u of where a rule begins that is read from its butt end; it moves all its readings alike."""
    return rectangular(CLASSES[rule.class_][2]) if rule.from_end else 0.0


def on_calipers(reads: Reads, calipers: Calipers) -> Reading:
    return of_reads(reads, math.hypot(graduated(calipers.graduation), rectangular(calipers.limit)))


def by_feelers(reads: Reads, feelers: Feelers) -> Reading:
    """The thickest leaf g that enters means a gap from g to the next leaf."""
    return of_reads(reads, graduated(feelers.step), shift=feelers.step / 2)


def on_height_gauge(reads: Reads, gauge: HeightGauge) -> Reading:
    return of_reads(reads, graduated(gauge.graduation))


def on_tuner(reads: Reads, tuner: Tuner) -> Reading:
    """Cents."""
    return of_reads(reads, rectangular(tuner.limit))
