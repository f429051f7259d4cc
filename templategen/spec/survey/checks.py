"""What several readings must be together. Each check is a generator of problems, as in ``spec.checks``."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from itertools import pairwise
from statistics import mean
from typing import Any

from templategen.errors import Key, Problem
from templategen.spec.checks import run
from templategen.spec.checks.common import Found, given
from templategen.spec.checks.law import cents_problems, count_problems
from templategen.spec.checks.strings import LEAST_STRINGS, MOST_STRINGS
from templategen.spec.survey.models import READINGS, Rise, Survey
from templategen.spec.survey.slips import place_problems
from templategen.spec.survey.values import ByFret, Reads, number_of
from templategen.units import both_units

LEAST_RADIUS, MOST_RADIUS = 50.0, 10_000.0


def of_survey(survey: Survey, whole: bool) -> list[Problem]:
    """The problems of a survey, or of the draft of one (``whole`` is False)."""
    return run(CHECKS, survey, whole)


def _law(survey: Survey) -> Found:
    yield from cents_problems(survey.scale)
    yield from count_problems(survey.scale)


def _something_read(survey: Survey) -> Found:
    tables = [vars(survey).get(name) for name in READINGS]
    if not any(_read(table) for table in tables if table is not None):
        yield Problem(
            (), f"has no readings; write in what you read, in one of these tables at least: {', '.join(READINGS)}"
        )


def _read(table: Any) -> bool:
    """Whether anything stands in a table; a fret's places may be named and none read yet."""
    values = [getattr(table, name) for name in table.model_fields_set]
    return any(value.items if isinstance(value, ByFret) else True for value in values)


def _by_fret(survey: Survey) -> Iterator[tuple[Key, ByFret[Any]]]:
    """Every table of readings by fret, of what could be read."""
    for name in READINGS:
        table = vars(survey).get(name)
        for key, value in vars(table).items() if table is not None else ():
            if isinstance(value, ByFret):
                yield (name, key), value


def _frets_are_there(survey: Survey) -> Found:
    """Frets that are named are on the board, and none is named twice in two ways."""
    last = survey.scale.fret_count
    for key, readings in _by_fret(survey):
        seen: dict[int, str] = {}
        for name, fret, _ in readings.on(last):
            if fret > last:
                yield Problem((*key, name), f"must be a fret of this board, 1 to {last}")
            elif fret in seen:
                yield Problem(
                    (*key, name),
                    f"is fret {fret} again, like {seen[fret]}; keep one, and write two readings of one thing as a "
                    "list: [319.5, 319.6]",
                )
            seen.setdefault(fret, name)
    for key, fret in _single_frets(survey):
        if fret > last:
            yield Problem(key, f"must be a fret of this board, 1 to {last}")


def _single_frets(survey: Survey) -> Iterator[tuple[Key, int]]:
    strings, bridge = vars(survey).get("strings"), vars(survey).get("bridge")
    if strings is not None and strings.action is not None:
        yield ("strings", "action", "fret"), strings.action.fret
    if bridge is not None and bridge.body_joint is not None:
        yield ("bridge", "body_joint"), bridge.body_joint


# ------------------------------------------------------------------------------------------------------ frets, board


def _lines_of_frets(survey: Survey) -> Found:
    frets = survey.frets
    if frets is None or not _read(frets):
        return
    sides = [side for side in ("bass", "treble") if given(frets, side)]
    if given(frets, "centre"):
        for side in sides:
            yield Problem(
                ("frets", side), "stands beside centre; give centre, or bass and treble on a multi-scale board"
            )
    elif not sides:
        yield Problem(("frets",), "has no readings; add centre = { … }, or bass and treble on a multi-scale board")
    elif len(sides) == 1:
        other = "treble" if sides == ["bass"] else "bass"
        yield Problem(("frets", sides[0]), f"needs {other} beside it: the two lines of a multi-scale board")
    if not sides:
        for name in ("nut_slant", "at_y"):
            if given(frets, name):
                yield Problem(("frets", name), "is of a multi-scale board, read along two lines: bass and treble")
    if frets.at_y is not None and frets.at_y.treble <= frets.at_y.bass:
        yield Problem(("frets", "at_y", "treble"), "must be more than bass: + is toward the treble side")


def _places(survey: Survey) -> Found:
    if survey.frets is None or any(_law(survey)):
        return
    for line in ("centre", "bass", "treble"):
        readings = vars(survey.frets).get(line)
        if isinstance(readings, ByFret):
            yield from place_problems(("frets", line), survey.scale, readings, survey.units)


def _gauges(survey: Survey) -> Found:
    board = survey.board
    for name, reads in board.radius.items if board is not None and board.radius is not None else ():
        if len(reads) > 2:
            yield Problem(
                ("board", "radius", name),
                "must be the gauge that shows no light, or the two between which the board lies",
            )


def _rises(survey: Survey) -> Found:
    board = survey.board
    for name, rise in board.rise.items if board is not None and board.rise is not None else ():
        key: Key = ("board", "rise", name)
        if not isinstance(rise, Rise):
            if len({y for y, _ in rise}) < 3:
                yield Problem(key, "has fewer than three places across: a circle needs three")
            continue
        height = mean(rise.height)
        if height > rise.chord / 2:
            limit = f"must be at most {both_units(rise.chord / 2)}, half of the chord"
            yield Problem((*key, "height"), f"is higher than half a circle; {limit}")
        elif height > 0:
            radius = height / 2 + rise.chord**2 / (8 * height)
            if not LEAST_RADIUS <= radius <= MOST_RADIUS:
                means = f"over a chord of {both_units(rise.chord)} means a radius of {radius:.0f} mm"
                yield Problem((*key, "height"), f"{means}; boards are from 50 to 10000 mm; {_ten(rise.chord, height)}")


def _ten(chord: float, height: float) -> str:
    for times in (0.1, 10.0):
        meant = height * times
        if LEAST_RADIUS <= meant / 2 + chord**2 / (8 * meant) <= MOST_RADIUS:
            return f"a slip of ten? {meant:g} would do"
    return "read again"


# ---------------------------------------------------------------------------------------------------- relief, crowns


def _held(survey: Survey) -> Found:
    relief, last = survey.relief, survey.scale.fret_count
    if relief is None:
        return
    key = ("relief", "held")
    frets: list[float] = [-math.inf, math.inf]
    for place, at in enumerate(relief.held):
        if isinstance(at, float):
            if survey.frets is None or not any(r.items for r in _fret_tables(survey)):
                yield Problem((*key, place), "is a distance, which needs the scale: give [frets], or a fret here")
            continue
        frets[place] = number_of(str(at), last)
        if not 0 <= frets[place] <= last:
            yield Problem((*key, place), f'must be a fret of this board, 1 to {last}, or "nut" or "last"')
    if frets[0] >= frets[1]:
        yield Problem(key, "must run from a lower to a higher fret")
        return
    for name, fret, _ in relief.gap.on(last):
        if fret in frets:
            yield Problem(("relief", "gap", name), "is where the straightedge rests: there is no gap to read")
        elif not frets[0] < fret < frets[1]:
            between = " and ".join(str(at) for at in relief.held)
            yield Problem(("relief", "gap", name), f"must be between the places held, {between}")


def _fret_tables(survey: Survey) -> list[ByFret[Reads]]:
    return [each for each in vars(survey.frets).values() if isinstance(each, ByFret)] if survey.frets else []


def _lines_of_crowns(survey: Survey) -> Found:
    crowns = survey.crowns
    if crowns is None:
        return
    if not crowns.lines:
        yield Problem(("crowns", "lines"), 'is empty; name the lines, for example: ["bass", "treble"]')
    for place, line in enumerate(crowns.lines):
        if line in crowns.lines[:place]:
            yield Problem(("crowns", "lines", place), "is named twice; keep one of the two")
    count = len(crowns.lines)
    for table in ("under_straightedge", "height", "width"):
        readings = vars(crowns).get(table)
        for name, lines in readings.items if readings is not None else ():
            one_for_all = table != "under_straightedge" and len(lines) == 1
            if len(lines) != count and not one_for_all:
                yield Problem(("crowns", table, name), _amounts(len(lines), count))
    for name, rocker in crowns.rocker.items if crowns.rocker is not None else ():
        for side in ("gap", "low"):
            lines = getattr(rocker, side)
            if lines is not None and len(lines) != count:
                yield Problem(("crowns", "rocker", name, side), _amounts(len(lines), count))


def _amounts(readings: int, lines: int) -> str:
    found = f"{readings} reading{'' if readings == 1 else 's'}"
    return f"has {found}, and crowns.lines names {lines} line{'' if lines == 1 else 's'}"


def _profile(survey: Survey) -> Found:
    crowns, last = survey.crowns, survey.scale.fret_count
    if crowns is None:
        return
    if crowns.rocker is None:
        return
    if crowns.under_straightedge is not None:
        yield Problem(
            ("crowns", "rocker"), "stands beside under_straightedge: both give the crowns' heights; keep one of the two"
        )
    frets = sorted({fret for _, fret, _ in crowns.rocker.on(last)})
    missing = sorted(set(range(frets[0], frets[-1] + 1)) - set(frets)) if frets else []
    if missing:
        yield Problem(
            ("crowns", "rocker"),
            f"lacks fret {missing[0]}: heights are added up from crown to crown, so every fret between the first and "
            "the last read is needed; where the rocker neither stands up nor shows light: gap = [0, 0]",
        )
    for name, fret, rocker in crowns.rocker.on(last):
        yield from _rocker(("crowns", "rocker", name), fret, last, rocker)


def _rocker(key: Key, fret: int, last: int, rocker: Any) -> Found:
    if not 2 <= fret <= last - 1:
        yield Problem(key, f"must be a fret with one on either side, 2 to {last - 1}: the rocker lies on three crowns")
    gaps, lows = rocker.gap or (), rocker.low or ()
    if not gaps and not lows:
        yield Problem(key, 'gives no reading; add free = "bridge" and gap = [0.06, 0], or low = [0.02, 0]')
    if any(max(reads, default=0.0) > 0 for reads in gaps) and rocker.free is None:
        yield Problem((*key, "free"), 'missing; which end of the rocker stood up? For example: free = "bridge"')
    for place, (gap, low) in enumerate(zip(gaps, lows, strict=False)):
        if max(gap, default=0.0) > 0 and max(low, default=0.0) > 0:
            yield Problem(
                (*key, "low", place), "stands beside a gap on the same line: a crown is proud or low, not both"
            )


# ----------------------------------------------------------------------------------------------------------- strings


def _string_lists(survey: Survey) -> Found:
    strings = survey.strings
    if strings is None:
        return
    listed: list[tuple[Key, int]] = []
    if strings.set is not None:
        listed.append((("strings", "set"), len(strings.set)))
    for name in ("at_nut", "first_fret", "pressed"):
        if vars(strings).get(name) is not None:
            listed.append((("strings", name), len(getattr(strings, name))))
    if strings.action is not None:
        listed.append((("strings", "action", "heights"), len(strings.action.heights)))
    for name, reads in strings.cents.items if strings.cents is not None else ():
        listed.append((("strings", "cents", name), len(reads)))
    for key, count in listed[:1]:
        if not LEAST_STRINGS <= count <= MOST_STRINGS:
            yield Problem(key, f"lists {count} strings; from {LEAST_STRINGS} to {MOST_STRINGS} are possible")
    for key, count in listed[1:]:
        if count != listed[0][1]:
            first = ".".join(map(str, listed[0][0]))
            yield Problem(
                key, f'lists {count} strings and {first} {listed[0][1]}; where a string was not read write "-"'
            )


def _string_lines(survey: Survey) -> Found:
    """Lines of the crowns that are strings."""
    crowns, strings = survey.crowns, survey.strings
    count = max((len(reads) for reads in _listed(strings)), default=MOST_STRINGS) if strings else MOST_STRINGS
    for place, line in enumerate(crowns.lines if crowns is not None else ()):
        if isinstance(line, int) and line > count:
            yield Problem(("crowns", "lines", place), f"must be a string, 1 to {count}")


def _listed(strings: Any) -> Iterator[tuple[Any, ...]]:
    for name in ("set", "at_nut", "first_fret", "pressed"):
        if getattr(strings, name, None) is not None:
            yield getattr(strings, name)
    if strings.action is not None:
        yield strings.action.heights


def _across_the_nut(survey: Survey) -> Found:
    strings = survey.strings
    if strings is None or strings.at_nut is None:
        return
    key = ("strings", "at_nut")
    places = [mean(reads) for reads in strings.at_nut if reads]
    width = _width_at_nut(survey)
    if len(places) > 1 and all(a < b for a, b in pairwise(places)):
        yield Problem(
            key,
            "rise along the list: string 1, on the treble side, comes first and is farthest from the bass edge. From "
            "the wrong end?",
        )
    elif any(a <= b for a, b in pairwise(places)):
        yield Problem(key, "must fall along the list, from the treble side to the bass side; two places changed about?")
    elif width is not None and places and places[0] > width:
        yield Problem((*key, 0), f"lies past the board, which is {both_units(width)} wide at the nut")


def _width_at_nut(survey: Survey) -> float | None:
    widths = survey.board.width if survey.board is not None else None
    at = widths.by_number(survey.scale.fret_count).get(0) if widths is not None else None
    return mean(at) if at else None


def _action(survey: Survey) -> Found:
    strings = survey.strings
    if strings is not None and strings.action is not None and strings.action.fret < 2:
        yield Problem(("strings", "action", "fret"), "must be beyond the first fret: there it is first_fret")


def _repeats(survey: Survey) -> Found:
    """Readings of one thing that differ too much to be that."""
    for key, readings in _by_fret(survey):
        if key[0] == "frets" or key[1] in ("radius", "rise", "rocker"):
            continue
        for name, reads in readings.items:
            nested = reads if reads and isinstance(reads[0], tuple) else (reads,)
            for each in nested:
                if _too_far(each):
                    yield Problem(
                        (*key, name),
                        f"differ too much for readings of one thing: {min(each):g} and "
                        f"{max(each):g} mm; a slip of ten?",
                    )


def _too_far(reads: Reads) -> bool:
    if len(reads) < 2:
        return False
    return max(reads) - min(reads) > 0.5 and max(reads) > 3 * abs(min(reads)) and math.isfinite(max(reads))


CHECKS: tuple[Callable[[Survey], Found], ...] = (
    _something_read, _law, _frets_are_there, _lines_of_frets, _places, _gauges, _rises, _held, _lines_of_crowns,
    _profile, _string_lists, _string_lines, _across_the_nut, _action, _repeats,
)  # fmt: skip
