"""What was measured, as judgements with their numbers: all of it for ``survey``, and what a spec should know of it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import numpy as np

from templategen.errors import Finding
from templategen.findings.against import against_facts
from templategen.findings.catalogue import Fact, told
from templategen.findings.catalogue import fact as judgement
from templategen.instrument.model import Instrument
from templategen.repair.model import Bench
from templategen.repair.survey.board import SAME_EDGE, Round, RoundFound
from templategen.repair.survey.crowns import CrownsFound
from templategen.repair.survey.found import AsFound
from templategen.repair.survey.frets import FretLine, FretsFound
from templategen.repair.survey.next import next_readings
from templategen.repair.survey.relief import ReliefFound
from templategen.repair.survey.strings import StringsFound
from templategen.repair.survey.tools import Reading
from templategen.units import Unit

TELLING = 0.5
"""Of the whole: what brings more than this share of an uncertainty's square is most of it."""

TUNED = 2.0  # cents: what a shift of the nut may do before it is worth deciding (common practice, no source)
BOOK = "judgements"


def judged(found: AsFound, unit: Unit | None = None) -> tuple[Finding, ...]:
    """Everything that was found, as sentences; unit: the survey's own if None."""
    return told(survey_facts(found), unit or found.survey.units, BOOK)


def found_findings(bench: Bench) -> tuple[Finding, ...]:
    """What a spec that names a survey should know."""
    return told(found_facts(bench), bench.instrument.spec.units, BOOK)


def compared(bench: Bench) -> tuple[Finding, ...]:
    """What was read against what the spec says."""
    if bench.found is None:
        return ()
    facts = [*_compared(bench, bench.found), *against_facts(bench)]
    return told(facts, bench.instrument.spec.units, BOOK)


def survey_facts(found: AsFound) -> Iterator[Fact]:
    """Everything that was found, in the order of the file, and what to measure next."""
    if found.frets is not None:
        yield from _frets(found.frets)
    if found.board is not None and found.board.round is not None:
        yield from _round(found.board.round)
    if found.relief is not None:
        yield from _relief(found.relief)
    if found.crowns is not None:
        yield from _crowns(found.crowns)
    if found.strings is not None:
        yield from _strings(found.strings)
    for each in next_readings(found):
        yield judgement(
            "measure-next", "survey", what=each.what, where=each.where, now=each.now, then=each.then, line=each.line,
            enough=SAME_EDGE / 2,
        )  # fmt: skip


def found_facts(bench: Bench) -> Iterator[Fact]:
    """What a spec that names a survey should know: frets out of place, another rule, values beyond their ±."""
    if bench.found is None:
        return
    if bench.found.frets is not None:
        for line in bench.found.frets.lines:
            yield from _out_of_place(line)
            yield from _rule(line)
            yield from _shift(line)
    yield from _compared(bench, bench.found)
    yield from against_facts(bench)


# ------------------------------------------------------------------------------------------------------------- frets


def _frets(frets: FretsFound) -> Iterator[Fact]:
    for line in frets.lines:
        way = "one" if line.shift is None else "fit"
        of_rule = line.u_rule**2 / line.scale.u**2 if line.scale.u else 0.0
        yield judgement(
            "found-scale", "survey.frets", line=line.line, scale=line.scale.value, pm=line.scale.pm, way=way,
            readings=line.readings, most="rule" if of_rule > TELLING else "readings",
        )  # fmt: skip
        yield from _shift(line, always=True)
        yield from _rule(line, always=True)
        yield from _out_of_place(line)
    if frets.multi_scale:
        square = frets.square_fret
        known = "known" if square is not None else "unknown"
        yield judgement(
            "found-square-fret", "survey.frets.nut_slant", known=known,
            fret=0.0 if square is None else square.value, pm=0.0 if square is None else square.pm,
        )  # fmt: skip


def _shift(line: FretLine, always: bool = False) -> Iterator[Fact]:
    shift = line.shift
    if shift is None or not (always or abs(shift.value) > shift.pm):
        return
    cents = line.cents_of_shift
    case = "place" if abs(shift.value) <= shift.pm else "back" if shift.value > 0 else "forward"
    bad = case != "place" and abs(cents) > TUNED
    yield judgement(
        "found-nut-shift", "survey.frets", "decide" if bad else "note",
        line=line.line, case=case, then=case, shift=abs(shift.value), pm=shift.pm, cents=abs(cents),
        most=TUNED,
    )  # fmt: skip


def _rule(line: FretLine, always: bool = False) -> Iterator[Fact]:
    rule = line.rule
    if not rule.decided and not always:
        return
    worst, fret = 0.0, 0
    if rule.decided and rule.followed is not None:
        from templategen.repair.survey.rules import fractions

        numbers = np.arange(1.0, line.law.fret_count + 1)
        cents = 1200 * np.log2((1 - fractions(line.law, numbers)) / (1 - fractions(line.law, numbers, rule.step)))
        fret = int(np.abs(cents).argmax()) + 1
        worst = float(cents[fret - 1])
    case = "stated" if not rule.decided else "other" if rule.followed else "unknown"
    yield judgement(
        "found-rule", "survey.scale", "note" if case == "stated" else "decide", line=line.line, case=case,
        then=case, stated=rule.stated, followed=rule.followed or "", cents=abs(worst), fret=fret,
        way="sharp" if worst > 0 else "flat", rms=line.rms,
    )  # fmt: skip


def _out_of_place(line: FretLine) -> Iterator[Fact]:
    for fret in line.outliers:
        yield judgement(
            "found-fret-misplaced", "survey.frets", line=line.line, fret=fret.fret, off=abs(fret.off),
            pm=2 * fret.u_off, toward="bridge" if fret.off > 0 else "nut", cents=abs(fret.off_cents),
            way="sharp" if fret.off_cents > 0 else "flat",
        )  # fmt: skip


# ------------------------------------------------------------------------------------------------ board, neck, crowns


def _round(found: RoundFound) -> Iterator[Fact]:
    values: dict[str, Any] = {"stations": len(found.stations)}
    if found.shape == "cone" and found.at_nut is not None and found.at_last is not None:
        values |= _spanned("nut", found.at_nut) | _spanned("last", found.at_last)
        yield judgement("found-cone", "survey.board", **values)
        return
    flat = "flat" if math.isinf(found.all.radius) else "open" if math.isinf(found.all.high) else "round"
    yield judgement("found-round", "survey.board", shape=found.shape, flat=flat, **values, **_spanned("all", found.all))


def _spanned(name: str, found: Round) -> dict[str, float]:
    """Radius and its interval; 0 stands for infinite, of which nothing is printed."""
    ends = {name: found.radius, f"{name}_low": found.low, f"{name}_high": found.high}
    return {key: 0.0 if math.isinf(value) else value for key, value in ends.items()}


def _relief(found: ReliefFound) -> Iterator[Fact]:
    worst = max(found.gaps, key=lambda gap: abs(gap.off))
    yield judgement(
        "found-relief", "survey.relief", depth=found.depth.value, pm=found.depth.pm, at=found.at,
        gaps=len(found.gaps), shape="s" if found.s_shaped else "arc", off=abs(worst.off), fret=worst.fret,
        way="more" if worst.off > 0 else "less",
    )  # fmt: skip


def _crowns(crowns: CrownsFound) -> Iterator[Fact]:
    if crowns.profiled:
        row, line = np.unravel_index(int(np.nanargmin(crowns.z)), crowns.z.shape)
        yield judgement(
            "found-crowns", "survey.crowns", spread=np.nanmax(crowns.z) - np.nanmin(crowns.z),
            fret=int(crowns.frets[row]), line=crowns.names[line], pm=crowns.z_pm[row, line],
        )  # fmt: skip
    if np.isfinite(crowns.wear).any():
        row, line = np.unravel_index(int(np.nanargmax(crowns.wear)), crowns.wear.shape)
        yield judgement(
            "found-wear", "survey.crowns.height", wear=crowns.wear[row, line], fret=int(crowns.frets[row]),
            line=crowns.names[line], left=crowns.height[row, line], new=crowns.new_height,
            named="wire" if crowns.named else "highest",
        )  # fmt: skip


def _strings(strings: StringsFound) -> Iterator[Fact]:
    for what, key, readings in (
        ("first_fret", "first_fret", strings.first_fret),
        ("pressed", "pressed", strings.pressed),
        ("action", "action", strings.action),
    ):
        read = [each for each in readings or () if each is not None]
        if read:
            yield judgement(
                "found-heights", f"survey.strings.{key}", what=what, treble=read[0].value, bass=read[-1].value,
                pm=max(each.pm for each in read), fret=strings.action_fret or 0,
            )  # fmt: skip
    for fret, cents in strings.cents.items():
        read = [each for each in cents if each is not None]
        if read:
            yield judgement(
                "found-cents", "survey.strings.cents", fret=fret, low=min(each.value for each in read),
                high=max(each.value for each in read), pm=max(each.pm for each in read),
            )  # fmt: skip


# -------------------------------------------------------------------------------------------------------- comparisons


def _compared(bench: Bench, found: AsFound) -> Iterator[Fact]:
    spec, i = bench.instrument.spec, bench.instrument
    if found.frets is not None:
        lengths = {"centre": spec.scale.length, "bass": spec.scale.bass, "treble": spec.scale.treble}
        for line in found.frets.lines:
            asked = lengths[line.line]
            if asked is not None:
                yield from _beyond("scale", f"scale.{_key_of(line)}", asked, line.scale)
    if found.board is None:
        return
    if found.board.round is not None:
        yield from _rounder_or_flatter(i, found.board.round)
    for fret, width in found.board.width.items():
        x = 0.0 if fret == 0 else float(i.plan.centre_x[i.plan.index(fret)])
        key = "fingerboard.width_at_nut" if fret == 0 else "fingerboard.width_at_last_fret"
        yield from _beyond("width", key, float(i.plan.taper.width(x)), width, fret)


def _rounder_or_flatter(i: Instrument, found: RoundFound) -> Iterator[Fact]:
    """The place where the board as measured is farthest from the radius wanted, of those beyond their own ±."""
    beyond = []
    for station in found.stations:
        x = 0.0 if station.fret == 0 else float(i.plan.centre_x[i.plan.index(station.fret)])
        asked = float(i.board.law.radius(x))
        if not station.round.within(asked):
            off = abs(station.round.curvature - (0.0 if math.isinf(asked) else 1 / asked))
            beyond.append((off, station, asked))
    if not beyond:
        return
    _, station, asked = max(beyond, key=lambda each: each[0])
    ends = {"found": station.round.radius, "low": station.round.low, "high": station.round.high}
    finite = {name: 0.0 if math.isinf(value) else value for name, value in ends.items()}
    yield judgement(
        "found-radius-differs", "fingerboard.radius", place="nut" if station.fret == 0 else "fret", fret=station.fret,
        asked=0.0 if math.isinf(asked) else asked, wants="flat" if math.isinf(asked) else "round",
        is_="flat" if math.isinf(ends["found"]) else "open" if math.isinf(ends["high"]) else "round", **finite,
    )  # fmt: skip


def _key_of(line: FretLine) -> str:
    return "length" if line.line == "centre" else line.line


def _beyond(what: str, key: str, asked: float, found: Reading, fret: int = 0) -> Iterator[Fact]:
    if abs(asked - found.value) > found.pm:
        yield judgement(
            "found-differs", key, what=what, fret=fret, asked=asked, found=found.value, pm=found.pm, name=key
        )
