"""How the instrument will sound: offsets, cents at every fret, why, and what a nut too high would add."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from templategen.instrument.arrays import Array
from templategen.instrument.model import Instrument
from templategen.instrument.strings.loads import CORE_SPREAD, MODULUS_SPREAD
from templategen.instrument.strings.sounding import DEEPER, HEARD_AT, NUT_TOO_HIGH
from templategen.tables import strings
from templategen.tables.model import ESTIMATED, Column, Table, column
from templategen.units import both_units, inch_text


def offsets(i: Instrument) -> Table:
    """The offsets of nut and saddle, what they leave, and what a saddle in one straight line would."""
    tuning, whole = i.intonation, strings.facts(i)
    straight, room = tuning.straight_saddle, tuning.saddle_range
    guessed = i.guessed
    saddles, nuts = ([getattr(fit, name) for fit in tuning.fits] for name in ("saddle_offset", "nut_offset"))
    columns = (
        strings.name_column(i),
        column("saddle_offset", "saddle", saddles, "length", estimated=guessed.saddle),
        column("nut_offset", "nut", nuts, "length", estimated=guessed.nut),
        *whole.pick("rms_cents_uncompensated", "rms_cents"),
        column(
            "best_saddle",
            "best saddle",
            (fit.saddle_offset for fit in tuning.best),
            "length",
            estimated=guessed.stiffness,
        ),
        column(
            "straight_saddle",
            "straight saddle",
            (fit.saddle_offset for fit in straight.fits),
            "length",
            estimated=[any(guessed.stiffness)] * len(straight.fits),
        ),
        column("straight_rms", "rms with that", (fit.rms_cents for fit in straight.fits), "cents", signed=False),
    )
    notes = (
        "Saddle: away from the nut; nut: toward the bridge. Rms: root mean square of the errors over these frets. "
        "Best saddle: were it free. Straight saddle: one line from string to string.",
        f"An adjustable saddle should go from {both_units(room.nearest)} to {both_units(room.farthest)}, "
        f"{both_units(room.margin)} beyond this set on both sides.",
    )
    return Table("offsets", f"Offsets, fitted to frets 1 to {tuning.fit_to_fret}", columns, notes)


def cents(i: Instrument) -> Table:
    """What every fret of every string is off, with the offsets and without."""
    tuning = i.intonation
    columns: list[Column] = [column("fret", "fret", (int(n) for n in tuning.frets), "count")]
    for n, (name, guess) in enumerate(zip(strings.names(i), i.guessed.notes, strict=True)):
        over = f"{name} {ESTIMATED}" if guess else name
        columns += [
            column(f"cents_{n + 1}", "with", tuning.cents[n], "cents", group=over),
            column(f"cents_uncompensated_{n + 1}", "without", tuning.cents_uncompensated[n], "cents", group=over),
        ]
    title = "Cents that each fret is off, sharp +, with the offsets and without"
    return Table("cents", title, tuple(columns))


def causes(i: Instrument) -> Table:
    """Why, at the first and at the last fret of the fit."""
    tuning = i.intonation
    columns = [strings.name_column(i)]
    for fret in sorted({1, tuning.fit_to_fret}):
        for cause in ("length", "density", "tension", "stiffness", "total"):
            off = (getattr(cents, cause)[fret - 1] for cents in tuning.nominal)
            head = "together" if cause == "total" else cause
            columns.append(column(f"{cause}_{fret}", head, off, "cents", group=f"fret {fret}"))
    columns += _marks(i)
    title = "Why frets are off, in cents, with nut and saddle at their nominal places"
    return Table("causes", title, tuple(columns))


def _marks(i: Instrument) -> list[Column]:
    """Which rows rest on a string of which something is guessed: one column for all their figures."""
    notes = i.guessed.notes
    return [column("estimated", "", (ESTIMATED if guess else "" for guess in notes))] if any(notes) else []


def nut_too_high(i: Instrument) -> Table:
    """What the lowest frets of every string would gain from a nut higher than it should be."""
    tuning = i.intonation
    frets = [int(fret) for fret in tuning.frets[:HEARD_AT]]
    added: dict[float, Array] = {extra: tuning.nut_too_high(extra) for extra in NUT_TOO_HIGH}
    columns = [strings.name_column(i)]
    for extra, cents_added in added.items():
        group = f"{extra:g} mm ({inch_text(extra, 3)} in)"
        columns += [
            column(f"nut_{extra:g}_mm_high_fret_{fret}", f"fret {fret}", cents_added[:, n], "cents", group=group)
            for n, fret in enumerate(frets)
        ]
    columns += _marks(i)
    return Table("nut-too-high", "What a nut too high would add, in cents", tuple(columns))


def spread(i: Instrument) -> Table | None:
    """Between what the offsets lie of strings of which something is guessed; None where all was measured."""
    rows = [n for n, each in enumerate(i.intonation.spread) if each is not None]
    if not rows:
        return None
    keys = ("saddle_offset", "saddle_offset_low", "saddle_offset_high", "nut_offset_low", "nut_offset_high")
    whole = strings.facts(i)
    columns = (
        replace(each, values=_of(each.values, rows), estimated=_of(each.estimated, rows))
        for each in (strings.name_column(i), *whole.pick("core_diameter", *keys))
    )
    cores, soft = any(i.guessed.core), any(load.body.stretch_guessed for load in i.loads)
    what = [f"cores {CORE_SPREAD:.0%} thinner or thicker"] * cores
    what += [f"stiffness {MODULUS_SPREAD:.0%} less or more"] * soft
    title = f"Offsets of strings of which something is an estimate: {', '.join(what)}"
    return Table("offset-spread", title, tuple(columns))


def _of(values: tuple[Any, ...], rows: Sequence[int]) -> tuple[Any, ...]:
    return tuple(values[n] for n in rows) if values else ()


def pressed(i: Instrument) -> Table:
    """How hard one presses: the largest thing that no spec can know."""
    last, depth = i.intonation.fit_to_fret, i.spec.intonation.finger_depth
    deeper = replace(strings.facts(i)["cents_of_0_2_mm_finger_depth"], head="adds", places=1)
    notes = (
        f"Adds: each {DEEPER:g} mm ({inch_text(DEEPER, 3)} in) of fingertip below the line from saddle to crown, mean "
        f"of frets 1 to {last}. Reckoned with {both_units(depth)}.",
    )
    return Table("pressed", "How hard one presses, in cents", (strings.name_column(i), deeper), notes)
