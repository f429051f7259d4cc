"""Places of frets that cannot be what was read, and the slip that makes them possible.

A fret that stands wrong by some millimetres is for the fit to find. Here are readings nearer to another fret's place
than to their own: of the wrong unit, a slip of ten, taken from the other end, of the fret beside it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from itertools import pairwise
from statistics import mean, median

from templategen.errors import Key, Problem
from templategen.spec.checks.law import OCTAVE, FretLaw, cents
from templategen.spec.survey.values import ByFret, Reads
from templategen.spec.table import toml
from templategen.units import MM_PER_INCH, Unit, both_units, mm_text

SHORTEST, LONGEST = 200.0, 1500.0  # mm: scales of fretted instruments, with room to spare (common practice, no source)
REPEATS = 3.0  # mm between readings of one thing: more is a slip
FEW = 4  # readings that say little about a rule by themselves
CENTIMETRE, MISREAD = 10.0, 1.2  # mm: a rule read at the wrong long line, and how near to it one then comes
LIKE = 0.01
"""By how much the scales that single readings give may differ, as a share, where they follow a rule."""
_INCH = float(MM_PER_INCH)
Fraction = Callable[[int], float]


def place_problems(key: Key, law: FretLaw, readings: ByFret[Reads], unit: Unit) -> Iterator[Problem]:
    """Problems of the frets' places along one line; the law must be one that can be used."""

    def fraction(fret: int) -> float:
        return 1 - 2 ** (-cents(law, fret) / OCTAVE) if fret > 0 else 0.0

    on = [(name, fret, reads) for name, fret, reads in readings.on(law.fret_count) if 0 < fret <= law.fret_count]
    apart = [(name, reads) for name, _, reads in on if max(reads) - min(reads) > REPEATS]
    for name, reads in apart:
        yield Problem(
            (*key, name), f"differ by {both_units(max(reads) - min(reads), 1)}: these are not readings of one place"
        )
    if apart or not on:
        return
    read = {fret: mean(reads) for _, fret, reads in sorted(on, key=lambda entry: entry[1])}
    whole = _of_all(key, law, read, fraction, unit)
    if whole is not None:
        yield whole
        return
    scale = median(x / fraction(fret) for fret, x in read.items())
    keys = {fret: name for name, fret, _ in on}
    strange = [fret for fret, x in read.items() if not _near(fret, x, scale, fraction)]
    other = _other_rule(law, read) if len(strange) >= FEW - 1 else ""
    if other or 2 * len(strange) > len(read):
        kept = "fret_cents" if law.fret_cents is not None else f"steps_per_octave = {toml(law.steps_per_octave)}"
        yield Problem(key, other or f"follow no one rule; see that each stands by its own fret, and scale.{kept}")
        return
    for fret in strange:
        yield Problem((*key, keys[fret]), _guess(fret, read[fret], scale, law, fraction))


def _of_all(key: Key, law: FretLaw, read: Mapping[int, float], fraction: Fraction, unit: Unit) -> Problem | None:
    """A slip that all readings share."""
    places = list(read.values())
    falls = sum(b < a for a, b in pairwise(places))
    if len(places) >= FEW and falls > len(places) // 2:
        return Problem(
            key,
            "fall from fret to fret, but places are read from the nut's front edge: were they taken from the saddle? "
            "Take them from the nut, or write the scale less each of them",
        )
    scale = median(x / fraction(fret) for fret, x in read.items())
    if SHORTEST <= scale <= LONGEST:
        return None
    slips = (
        (_INCH, "inches in a file whose bare numbers are mm", 'write units = "in" at the top, or "… in"'),
        (1 / _INCH, "mm in a file whose bare numbers are inches", 'write units = "mm" at the top, or "… mm"'),
        (10.0, "centimetres" if unit == "mm" else "a slip of ten", 'write "… cm"' if unit == "mm" else "read again"),
        (0.1, "a slip of ten", "read again"),
    )
    said = f"put the scale at {both_units(scale, 1)}, which no fretted instrument has"
    for times, what, do in slips:
        if SHORTEST <= scale * times <= LONGEST:
            return Problem(key, f"{said}; {what}? Then it would be {both_units(scale * times, 1)}: {do}")
    return Problem(key, f"{said}; read again")


def _near(fret: int, x: float, scale: float, fraction: Fraction) -> bool:
    """Whether a reading is nearer to its own fret's place than to the ones beside it."""
    own = fraction(fret)
    below, above = fraction(fret - 1), fraction(fret + 1)
    return scale * (own + below) / 2 < x < scale * (own + above) / 2


def _guess(fret: int, x: float, scale: float, law: FretLaw, fraction: Fraction) -> str:
    place = scale * fraction(fret)
    said = f"is {mm_text(abs(x - place), 1)} mm from where the other readings put fret {fret}, {mm_text(place, 1)} mm"
    slips = (
        (x * 10, "a slip of ten"),
        (x / 10, "a slip of ten"),
        (x * _INCH, "inches"),
        (x / _INCH, "mm in a file of inches"),
        (scale - x, "taken from the saddle, the wrong end"),
        (x + CENTIMETRE, "a rule read a centimetre short"),
        (x - CENTIMETRE, "a rule read a centimetre long"),
        (x + _INCH, "a rule read an inch short"),
        (x - _INCH, "a rule read an inch long"),
    )
    for meant, what in slips:
        if abs(meant - place) < MISREAD:
            return f"{said}: {what}? Then it would be {mm_text(meant, 1)} mm"
    for other in range(1, law.fret_count + 1):
        if other != fret and abs(x - scale * fraction(other)) < MISREAD:
            return f"{said}: fret {other} should be there. Another fret's reading?"
    return f"{said}; read it again, or leave it out"


def _other_rule(law: FretLaw, read: Mapping[int, float]) -> str:
    """Which number of equal steps the readings look like, or which fret they were counted from; empty for neither."""
    if law.fret_cents is not None or len(read) <= FEW:
        return ""
    for shift in (-1, 1):
        moved = {fret + shift: x for fret, x in read.items() if fret + shift > 0}
        if len(moved) > FEW and _spread(moved, law.steps_per_octave) < LIKE:
            where = "before" if shift < 0 else "after"
            return f"look like those of the fret {where} each: from where were the frets counted?"
    best = min(range(5, 73), key=lambda steps: _spread(read, steps))
    if best != law.steps_per_octave and _spread(read, best) < LIKE:
        return (
            f"look like {best} equal steps to the octave: give scale.steps_per_octave = {best}, or see that each "
            "stands by its own fret"
        )
    return ""


def _spread(read: Mapping[int, float], steps: int) -> float:
    """How much the scales differ that single readings give, the lowest frets aside, as a share."""
    scales = [x / (1 - 2 ** (-fret / steps)) for fret, x in read.items() if fret > 2]
    return (max(scales) - min(scales)) / mean(scales) if len(scales) > 2 else 1.0
