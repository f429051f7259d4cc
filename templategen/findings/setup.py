"""What a person should know about the setup's heights: strings that buzz, and what is unusual for the kind.

The ranges by kind of instrument are common practice, no source: they tell what is unusual, never what is wrong.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from templategen.errors import Finding
from templategen.findings.wording import capital, listed, string_name, with_values
from templategen.instrument.arrays import Array
from templategen.units import mm_text

if TYPE_CHECKING:
    from templategen.instrument.model import Instrument

LEAST_FELT = 5e-4  # mm below which a gap is none: the least that is printed
FEELER = 0.005  # mm that a feeler gauge tells; less past a limit is at it

# (bass low, bass high, treble low, treble high): common practice, no source
CLEARANCE = {
    "electric": (0.25, 0.50, 0.15, 0.35),
    "steel_acoustic": (0.40, 0.65, 0.30, 0.50),
    "classical": (0.70, 1.00, 0.55, 0.80),
    "bass": (0.45, 0.75, 0.40, 0.60),
    "ukulele": (0.40, 0.65, 0.40, 0.65),
    "mandolin": (0.25, 0.45, 0.25, 0.45),
}
PRESSED = {
    "electric": (0.02, 0.13),
    "steel_acoustic": (0.05, 0.15),
    "classical": (0.10, 0.25),
    "bass": (0.08, 0.20),
    "ukulele": (0.05, 0.13),
}
ACTION = {
    "electric": (1.6, 2.2, 1.2, 1.8),
    "steel_acoustic": (2.2, 2.8, 1.7, 2.3),
    "classical": (3.5, 4.2, 2.7, 3.3),
    "bass": (2.0, 3.0, 1.6, 2.4),
    "ukulele": (2.0, 3.0, 2.0, 3.0),
    "mandolin": (1.3, 2.0, 1.3, 2.0),
}
RELIEF = {
    "electric": (0.10, 0.30),
    "steel_acoustic": (0.10, 0.30),
    "bass": (0.20, 0.50),
    "classical": (0.0, 0.35),
    "mandolin": (0.0, 0.15),
    "ukulele": (0.0, 0.10),
}


def setup_findings(i: Instrument) -> Iterator[Finding]:
    line, kind, setup = i.line, i.spec.kind, i.spec.setup
    given = (setup.first_fret_clearance, setup.pressed_gap, setup.nut_over_crowns)
    if i.spec.scale.zero_fret and any(way is not None for way in given):
        yield Finding(
            "zero-fret-sets-height",
            "note",
            "setup",
            "The zero fret's crown fixes the string's height at the nut; the height given in [setup] is not used.",
        )
    yield from _touching(i)
    resting = np.flatnonzero(line.pressed_gap < -LEAST_FELT).tolist()
    if resting:
        remedy = "Raise the floor."
        if i.spec.scale.zero_fret is not None:
            remedy = "A higher zero fret: scale.zero_fret.crown_height."
        yield Finding(
            "negative-pressed-gap",
            "decide",
            "scale.zero_fret" if i.spec.scale.zero_fret is not None else "setup",
            "Held at the second crown, strings would rest on the first, and ring against it when open (pressed gap "
            f"{with_values(i, resting, line.pressed_gap, 'mm', 3)}). {remedy}",
        )
    if kind is None:
        return
    clearance = "setup.first_fret_clearance" if setup.first_fret_clearance is not None else "setup"
    yield from _outside(i, line.first_fret_clearance, CLEARANCE[kind], clearance, "first-fret clearance")
    if i.action_at_octave is not None:
        yield from _outside(i, i.action_at_octave, ACTION[kind], "setup.action", "action at the octave")
    if kind in PRESSED:
        key = "setup.pressed_gap" if setup.pressed_gap is not None else "setup"
        gap = np.where(line.pressed_gap < -LEAST_FELT, np.nan, line.pressed_gap)
        yield from _outside(i, gap, PRESSED[kind] * 2, key, "pressed gap")
    low, high = RELIEF[kind]
    if not low - FEELER <= i.strung.relief <= high + FEELER:
        yield Finding(
            "unusual-relief",
            "note",
            "setup.relief",
            f"Relief {mm_text(i.strung.relief)} mm; common practice for this kind is {low:.2f} to {high:.2f} mm.",
        )


def _touching(i: Instrument) -> Iterator[Finding]:
    """Open strings that lie on a crown, or lower; a zero fret's own crown is what they start from."""
    played = i.plan.numbers > 0
    gap = i.line.z(i.plan.crossings[played, :, 0]) - i.crowns[played]
    least = gap.min(0)
    rows = np.flatnonzero(least < LEAST_FELT).tolist()
    if not rows:
        return
    worst = int(least.argmin())
    fret = i.plan.numbers[played][int(gap[:, worst].argmin())]
    yield Finding(
        "strings-touch-crowns",
        "decide",
        "setup.action",
        f"The open string touches crowns: {capital(string_name(i, worst))} has its smallest gap, "
        f"{mm_text(float(least[worst]))} mm, over fret {fret:.0f}; touching: {listed(rows)}. Raise the action or the "
        "height at the nut, or give less relief; is the unit of each right?",
    )


def _outside(i: Instrument, values: Array, limits: tuple[float, ...], key: str, what: str) -> Iterator[Finding]:
    """One note for all strings outside their range, which runs linearly from the treble to the bass side's."""
    bass_low, bass_high, treble_low, treble_high = limits
    share = i.plan.toward_bass
    low, high = treble_low + (bass_low - treble_low) * share, treble_high + (bass_high - treble_high) * share
    rows = np.flatnonzero((values < low - FEELER) | (values > high + FEELER)).tolist()
    if not rows:
        return
    said = [f"{string_name(i, n)} {mm_text(float(values[n]))} mm ({low[n]:.2f} to {high[n]:.2f})" for n in rows]
    yield Finding(
        f"unusual-{what.replace(' ', '-')}",
        "note",
        key,
        f"{capital(what)} outside common practice for this kind, given in brackets: {'; '.join(said)}.",
    )
