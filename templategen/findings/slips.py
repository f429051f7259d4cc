"""Numbers that can be made but look like slips: turned about, in the wrong unit, or of the wrong thing.

The limits are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from templategen.errors import Finding
from templategen.findings.wording import capital, listed, string_name, with_values
from templategen.units import both_units, mm_text

if TYPE_CHECKING:
    from templategen.instrument.model import Instrument

LEAST_NUT = 2.0  # mm thick
WIDEST_CROWN = 4.0
THICKEST_PLAIN = 0.7  # mm of plain steel
MOST_TENSION = 250.0  # N, of a string
MOST_PULL, MOST_PULL_OF_MANY, MANY = 1000.0, 1400.0, 10  # N together, from so many strings on
THICKER = 1.1  # times the last string's gauge: more than a drone differs from the first string
PARALLEL = 1.0  # mm that strings may come nearer each other and still pass as parallel


def slip_findings(i: Instrument) -> Iterator[Finding]:
    yield from _order(i)
    yield from _outline(i)
    yield from _sizes(i)
    yield from _markers(i)
    yield from _tension(i)


def _order(i: Instrument) -> Iterator[Finding]:
    """A high drone on the bass side also ends the list on a higher pitch, but it is as thin as the first string."""
    first, last = i.loads[0], i.loads[-1]
    if first.frequency_hz < last.frequency_hz and first.body.gauge > THICKER * last.body.gauge:
        yield Finding(
            "strings-bass-first",
            "decide",
            "strings.set",
            f"{capital(string_name(i, 0))} is lower and thicker than "
            f"{string_name(i, len(i.loads) - 1)}, the last: the list starts at the treble side, and as it stands the "
            "thick strings lie there and the nut comes out mirrored. Turn the list round, or, for a left-handed "
            'instrument, give handedness = "left".',
        )


def _outline(i: Instrument) -> Iterator[Finding]:
    plan = i.plan
    nut, saddle = (abs(float(at[0, 1] - at[-1, 1])) for at in (plan.string_nut, plan.string_saddle))
    if saddle < nut - PARALLEL:
        yield Finding(
            "strings-narrow-toward-bridge",
            "decide",
            "bridge.string_spread",
            f"The outer strings are {mm_text(nut)} mm apart at the nut and only {mm_text(saddle)} mm at the saddle; "
            "strings usually spread toward the bridge. Are the two the right way round?",
        )
    if plan.taper.slope < 0:
        yield Finding(
            "board-narrows",
            "decide",
            "fingerboard.width_at_nut",
            f"The board is {mm_text(plan.taper.at_nut)} mm wide at the nut and only "
            f"{mm_text(float(plan.taper.width(plan.centre_x[-1])))} mm at the last fret; boards usually widen toward "
            "the body. Are the two the right way round?",
        )


def _sizes(i: Instrument) -> Iterator[Finding]:
    nut = i.spec.nut
    if nut.seat == "groove" and nut.seat_depth is not None and nut.seat_depth >= i.board.thickness:
        yield Finding(
            "groove-through-board",
            "decide",
            "nut.seat_depth",
            f"The nut's groove is {both_units(nut.seat_depth)} deep and the board {both_units(i.board.thickness)} "
            'thick: the groove cuts it off. A shallower seat, or nut.seat = "shelf" against the board\'s end.',
        )
    if nut.thickness < LEAST_NUT:
        yield Finding(
            "thin-nut",
            "decide",
            "nut.thickness",
            f"The nut is only {both_units(nut.thickness)} thick; under {LEAST_NUT:g} mm it breaks easily and is hard "
            "to hold while it is slotted. Is the unit right?",
        )
    crown = i.spec.fret_wire.crown_width
    if crown > WIDEST_CROWN:
        yield Finding(
            "wide-crown",
            "decide",
            "fret_wire.crown_width",
            f"The crown is {both_units(crown)} wide; wire over {WIDEST_CROWN:g} mm is not usual. Is it the crown's "
            "width and the right unit?",
        )


def _markers(i: Instrument) -> Iterator[Finding]:
    """The space of a marker: between its fret and the one before it, on the centreline, slot to slot."""
    wire, plan = i.spec.fret_wire, i.plan
    marked = {*wire.markers, *wire.doubled_markers}
    room = {int(n): float(s) - wire.slot_width for n, s in zip(plan.numbers, i.frets.from_previous, strict=True)}
    tight = [n for n in sorted(marked) if room[n] < wire.marker_diameter]
    if tight:
        worst = min(tight, key=room.__getitem__)
        yield Finding(
            "marker-too-large",
            "decide",
            "fret_wire.marker_diameter",
            f"Position markers of {both_units(wire.marker_diameter)} run into the fret slots: before fret {worst} "
            f"there are {mm_text(room[worst])} mm of wood between the slots. Smaller markers.",
        )


def _tension(i: Instrument) -> Iterator[Finding]:
    ask = "Is every gauge in the right unit, are the notes in the right octave, and is the scale right?"
    tension = np.array([load.tension_n for load in i.loads])
    tight = np.flatnonzero(tension > MOST_TENSION).tolist()
    if tight:
        yield Finding(
            "high-tension",
            "decide",
            "strings.set",
            f"Over {MOST_TENSION:g} N on {with_values(i, tight, tension, 'N', 0)}; strings seldom pull so hard. {ask}",
        )
    limit = MOST_PULL_OF_MANY if len(tension) >= MANY else MOST_PULL
    if i.total_load_n > limit:
        yield Finding(
            "high-total-tension",
            "decide",
            "strings.set",
            f"The strings together pull {i.total_load_n:.0f} N on the neck; more than {limit:g} N is not usual. {ask}",
        )
    thick = [
        n
        for n, load in enumerate(i.loads)
        if not load.body.wound and load.body.material == "steel" and load.body.gauge > THICKEST_PLAIN
    ]
    if thick:
        yield Finding(
            "thick-plain-steel",
            "decide",
            "strings.set",
            f"Plain steel over {both_units(THICKEST_PLAIN)}: {listed(thick)}. Such strings are wound as a rule: add "
            "wound = true, or the mass, the tension and the offsets are those of a solid wire.",
        )
