"""The rule that places frets, of a spec and of a survey alike."""

from __future__ import annotations

from collections.abc import Iterator, Set
from itertools import pairwise
from typing import Protocol

from templategen.errors import Problem

OCTAVE = 1200.0
"""Cents; where ``fret_cents`` start again if ``repeat_at`` does not say."""
OCTAVES = 3
"""The highest fret lies at most this far above the open string."""


class FretLaw(Protocol):
    """A [scale] table: how many frets, and where they go."""

    @property
    def fret_count(self) -> int: ...
    @property
    def steps_per_octave(self) -> int: ...
    @property
    def fret_cents(self) -> tuple[float, ...] | None: ...
    @property
    def repeat_at(self) -> float | None: ...
    @property
    def model_fields_set(self) -> Set[str]: ...


def cents(law: FretLaw, fret: int) -> float:
    """Cents of a whole fret above the open string."""
    if law.fret_cents is None:
        return OCTAVE * fret / law.steps_per_octave
    laps, place = divmod(fret - 1, len(law.fret_cents))
    return law.fret_cents[place] + laps * (law.repeat_at or OCTAVE)


def cents_problems(scale: FretLaw) -> Iterator[Problem]:
    if scale.fret_cents is None:
        if "repeat_at" in scale.model_fields_set:
            yield Problem(("scale", "repeat_at"), "repeats fret_cents, which are not given; add them or leave it out")
        return
    key = ("scale", "fret_cents")
    if not scale.fret_cents:
        yield Problem(key, "is empty; list the cents above the open string, fret 1 first")
        return
    if "steps_per_octave" in scale.model_fields_set:
        yield Problem(
            ("scale", "steps_per_octave"), "stands beside fret_cents: both place the frets; keep one of the two"
        )
    for place, (lower, upper) in enumerate(pairwise(scale.fret_cents), 1):
        if upper <= lower:
            yield Problem(
                (*key, place), f"must be more than {lower:g}, the fret before it: cents rise from fret to fret"
            )
    last, count = scale.fret_cents[-1], len(scale.fret_cents)
    if scale.repeat_at is not None:
        if scale.repeat_at < last:
            yield Problem(("scale", "repeat_at"), f"must be at least {last:g}, the last of fret_cents")
    elif scale.fret_count > count and last > OCTAVE:
        more = f"list all {scale.fret_count}, or say with repeat_at where they start again"
        yield Problem(key, f"lists {count} of {scale.fret_count} frets and goes beyond an octave; {more}")


def count_problems(scale: FretLaw) -> Iterator[Problem]:
    key = ("scale", "fret_count")
    if scale.fret_cents is None:
        limit = OCTAVES * scale.steps_per_octave
        if scale.fret_count > limit:
            steps = f"{scale.steps_per_octave} steps to the octave"
            yield Problem(key, f"must be from 1 to {limit}: three octaves of {steps}")
    elif scale.fret_cents and cents(scale, scale.fret_count) > OCTAVES * OCTAVE:
        at = cents(scale, scale.fret_count)
        yield Problem(
            key, f"puts the last fret at {at:g} cents; the limit is three octaves, {OCTAVES * OCTAVE:g} cents"
        )
