"""Terminal tables of how the instrument will sound: loads, cents per fret, why, and what else a bench could do."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING

from templategen.instrument.model import Instrument
from templategen.instrument.strings.fretting import Cents
from templategen.instrument.strings.sounding import DEEPER, HEARD_AT, NUT_TOO_HIGH
from templategen.sheet.lengths import lengths, pairs
from templategen.units import both_units, inch_text

if TYPE_CHECKING:
    from rich.table import Table

ABREAST = 8  # strings beside each other in the table of frets
NewTable = Callable[..., "Table"]
"""``terminal``'s: title and columns to an empty table."""


def tables(i: Instrument, new: NewTable) -> Iterator[Table]:
    yield _loads(i, new)
    yield _offsets(i, new)
    for first in range(0, len(i.loads), ABREAST):
        yield _frets(i, new, slice(first, first + ABREAST))
    yield _causes(i, new)
    yield _nut_too_high(i, new)
    yield _pressed(i, new)


def _names(i: Instrument) -> list[str]:
    return [f"{n + 1} {string.note.text}" for n, string in enumerate(i.spec.strings.set)]


def _loads(i: Instrument, new: NewTable) -> Table:
    table = new(
        f"Loads on the strings: {i.total_load_n:.0f} N on the neck",
        "string", *pairs("core"), "", "N", "N/mm2", "of its strength", "kappa, tension over stretch", "stiffness B",
        "mass from",
        words=("", "mass from"),
    )  # fmt: skip
    for name, load in zip(_names(i), i.loads, strict=True):
        body = load.body
        table.add_row(
            name,
            *lengths(body.core_diameter, places=3),
            "estimate" if body.core_estimated else "",
            f"{load.tension_n:.1f}",
            f"{load.stress_mpa:.0f}",
            "not known" if load.stress_share is None else f"{load.stress_share:.0%}",
            f"{load.kappa:.0f}",
            f"{load.bending:.5f}",
            body.mass_source,
        )
    return table


def _offsets(i: Instrument, new: NewTable) -> Table:
    tuning = i.intonation
    straight, room = tuning.straight_saddle, tuning.saddle_range
    table = new(
        f"Offsets, fitted to frets 1 to {tuning.fit_to_fret}; an adjustable saddle should go from "
        f"{both_units(room.nearest)} to {both_units(room.farthest)}, {both_units(room.margin)} beyond this set on both "
        "sides",
        "string", *pairs("saddle", "nut"), "rms cents without", "rms cents with",
        *pairs("best saddle", "one straight saddle"), "rms cents with that",
    )  # fmt: skip
    rows = zip(_names(i), tuning.fits, tuning.nominal_rms, tuning.best, straight.fits, strict=True)
    for name, fit, before, best, line in rows:
        table.add_row(
            name,
            *lengths(fit.saddle_offset, fit.nut_offset),
            f"{before:.2f}",
            f"{fit.rms_cents:.2f}",
            *lengths(best.saddle_offset, line.saddle_offset),
            f"{line.rms_cents:.2f}",
        )
    return table


def _frets(i: Instrument, new: NewTable, strings: slice) -> Table:
    tuning = i.intonation
    table = new(
        "Cents that each fret is off, sharp +: with the offsets (in brackets without)",
        "fret",
        *_names(i)[strings],
    )
    for row, fret in enumerate(tuning.frets):
        cells = zip(tuning.cents[strings, row], tuning.cents_uncompensated[strings, row], strict=True)
        table.add_row(f"{fret:.0f}", *(f"{_cents(after)} ({_cents(before, 1)})" for after, before in cells))
    return table


def _causes(i: Instrument, new: NewTable) -> Table:
    tuning = i.intonation
    last = tuning.fit_to_fret
    shown = sorted({1, (last + 1) // 2, last})
    table = new(
        "Why, in cents, nut and saddle at their nominal places",
        "string", "fret", "length", "density", "tension", "stiffness", "together",
    )  # fmt: skip
    for name, cents in zip(_names(i), tuning.nominal, strict=True):
        for fret in shown:
            table.add_row(name if fret == shown[0] else "", str(fret), *_terms(cents, fret - 1))
    return table


def _terms(cents: Cents, row: int) -> Sequence[str]:
    terms = (cents.length, cents.density, cents.tension, cents.stiffness, cents.total)
    return [_cents(float(term[row])) for term in terms]


def _nut_too_high(i: Instrument, new: NewTable) -> Table:
    tuning = i.intonation
    frets = [int(fret) for fret in tuning.frets[:HEARD_AT]]
    table = new(
        "What a nut too high would add, in cents",
        "string",
        *(f"{extra:g} mm ({inch_text(extra, 3)} in), fret {fret}" for extra in NUT_TOO_HIGH for fret in frets),
    )
    columns = [tuning.nut_too_high(extra)[:, : len(frets)] for extra in NUT_TOO_HIGH]
    for n, name in enumerate(_names(i)):
        table.add_row(name, *(_cents(float(value)) for column in columns for value in column[n]))
    return table


def _pressed(i: Instrument, new: NewTable) -> Table:
    """How hard one presses: the largest thing that no spec can know."""
    tuning = i.intonation
    table = new(
        f"How hard one presses: cents that each {DEEPER:g} mm ({inch_text(DEEPER, 3)} in) of fingertip below the line "
        f"from saddle to crown adds, mean of frets 1 to {tuning.fit_to_fret}; reckoned with "
        f"{both_units(i.spec.intonation.finger_depth)}",
        "string",
        "cents",
    )
    for name, cents in zip(_names(i), tuning.pressed_deeper(), strict=True):
        table.add_row(name, _cents(float(cents), 1))
    return table


def _cents(value: float, places: int = 2) -> str:
    return f"{round(value, places) + 0.0:+.{places}f}"
