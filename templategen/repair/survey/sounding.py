"""What frets out of place and a nut out of place do to the notes, by the fretting model of the instrument itself.

A survey alone knows no strings, so it tells cents by lengths, 1200·log₂ of the sounding lengths' ratio. With a spec all
that a moved crown changes is counted: length, stretch, tension and stiffness.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from templategen.instrument.arrays import Array, fixed
from templategen.instrument.model import Instrument
from templategen.instrument.strings.fretting import fretting_cents
from templategen.repair.standing import Standing
from templategen.repair.survey.found import AsFound
from templategen.repair.survey.frets import FretLine
from templategen.repair.survey.rules import fractions
from templategen.repair.tuning import Tuned, as_it_sounds

HEARD_TO = 12
"""Cents that a nut out of place brings are alike at all frets but for the stretch; told is their mean up to here."""


def by_the_model(i: Instrument, found: AsFound, s: Standing) -> AsFound:
    """The same readings, their cents by the model; s: how the strings stand over the crowns."""
    if found.frets is None:
        return found
    lines = tuple(_line(i, line, s) for line in found.frets.lines)
    return replace(found, frets=replace(found.frets, lines=lines))


def _line(i: Instrument, line: FretLine, s: Standing) -> FretLine:
    strings = strings_on(i, line.line)
    moved = np.zeros((len(i.intonation.frets), len(i.loads)))
    rows = _rows(i, line)
    moved[rows] = np.array([fret.off for fret in line.frets])[:, None]
    as_they_fit, as_read = (as_it_sounds(i, s, by) for by in (0.0, moved))
    nut = i.intonation.nut_offset
    shift = line.shift.value if line.shift is not None else 0.0
    by_fret, by_nut = [], []
    for n in strings:
        saddle = float(i.saddle.offset[n])
        own = fretting_cents(as_they_fit[n], saddle, nut[n]).total
        by_fret.append(fretting_cents(as_read[n], saddle, nut[n]).total - own)
        by_nut.append(float((fretting_cents(as_they_fit[n], saddle, nut[n] - shift).total - own)[:HEARD_TO].mean()))
    cents = np.mean(by_fret, axis=0)[rows]
    frets = tuple(replace(fret, off_cents=float(c)) for fret, c in zip(line.frets, cents, strict=True))
    return replace(line, frets=frets, shift_cents=float(np.mean(by_nut)))


def strings_on(i: Instrument, line: str) -> tuple[int, ...]:
    """Rows of the strings that a line stands for: the outer one on its side, or all."""
    count = len(i.loads)
    return {"treble": (0,), "bass": (count - 1,)}.get(line, tuple(range(count)))


def _rows(i: Instrument, line: FretLine) -> list[int]:
    return [int(np.flatnonzero(i.intonation.frets == fret.fret)[0]) for fret in line.frets]


def tuned(i: Instrument, found: AsFound) -> Tuned | None:
    """What the tuner read, over frets and a nut as they were found; None without a reading."""
    strings = found.strings
    read = {fret: cents for fret, cents in strings.cents.items() if any(cents)} if strings is not None else {}
    if not read:
        return None
    values = {
        fret: fixed([np.nan if each is None else each.value for each in cents])
        for fret, cents in read.items()
        if fret in i.intonation.frets
    }
    pm = max(each.pm for cents in read.values() for each in cents if each is not None)
    moved, nut = _displaced(i, found)
    return Tuned(values, pm, moved, nut)


def _displaced(i: Instrument, found: AsFound) -> tuple[Array, Array]:
    """How far frets stand toward the bridge of the spec's places, (frets, strings), and the nut's front edge of its
    own, (strings,): what is misplaced beyond its ±, and what another rule of the frets makes."""
    frets, count = i.intonation.frets, len(i.loads)
    nut = i.intonation.nut_offset
    if found.frets is None:
        return fixed(np.zeros((len(frets), count))), nut
    share = np.linspace(0.0, 1.0, count)[:, None]  # across, from the treble side
    ends = {line.line: _along(line, frets) for line in found.frets.lines}
    treble, bass = ends.get("treble", ends.get("centre")), ends.get("bass", ends.get("centre"))
    assert treble is not None
    assert bass is not None
    across = (1 - share) * treble + share * bass  # (strings, 1 + frets)
    return fixed(across[:, 1:].T), fixed(nut - across[:, 0])


def _along(line: FretLine, frets: Array) -> Array:
    """The nut's shift, then what every fret stands toward the bridge of the stated rule's place."""
    scale = line.scale.value
    off = scale * (fractions(line.law, frets, line.rule.step) - fractions(line.law, frets))
    for fret in line.outliers:
        off[np.flatnonzero(frets == fret.fret)] += fret.off
    beyond = line.shift is not None and abs(line.shift.value) > line.shift.pm
    return np.concatenate([[line.shift.value if beyond and line.shift is not None else 0.0], off])
