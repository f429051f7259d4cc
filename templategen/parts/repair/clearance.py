"""Where it will buzz: a map of headroom, the worst note drawn, and what relief, action and nut are worth."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from templategen.document.model import BenchPage, Document, Heading, Kept, Paragraphs, Passage, Picture
from templategen.drawing.model import Drawing, Sketch
from templategen.instrument.arrays import Array
from templategen.instrument.model import Instrument
from templategen.instrument.setup.best import BestSetup
from templategen.instrument.setup.clearance import Clearance, Setting, setting
from templategen.parts.common import cautions
from templategen.parts.common.blocks import PAGE_WIDTH
from templategen.parts.common.layers import sketch
from templategen.parts.common.paper import stacked
from templategen.parts.common.product import Data, Product, Sheet, Writing
from templategen.parts.common.reading import document as read_at_the_bench
from templategen.parts.common.reading import headroom_text, listing, warned
from templategen.parts.common.work import Work
from templategen.parts.repair import clearance_map, clearance_profile
from templategen.parts.repair.clearance_map import Map
from templategen.parts.repair.clearance_profile import GapProfile
from templategen.tables import clearance as tables
from templategen.units import both_units

States = dict[str, tuple[Setting, Clearance]]

NAME = "clearance"
BETWEEN_MAPS = 5.0
MOST_ROWS = 30
MAP = "Strings across, treble first; frets down. In a cell the headroom, then the fret that is touched first."
PROFILE = "Thin: the string at rest. Dashed: how near it comes. Ring: the crown that it touches first."
READING = (
    "Every cell: how far the string may be pulled aside where it is plucked before it touches a crown beyond the "
    "finger, the smaller of a pull away from the board and one toward it; then the fret that it touches first. A bar "
    "is as long as its number. Double frame: the least of the open strings and of the fretted notes. Single frame: "
    "less than asked for, or lying on a crown.",
    "The figures bound an ideal string that is let go at rest, square to the board: for such a pluck they are "
    "cautious, and a hard strike can exceed them. They compare setups and frets.",
)


def make(work: Work) -> tuple[Product, ...]:
    i, states = work.instrument, settings(work)
    maps = {name: found for name, (_, found) in states.items()}
    return (
        Sheet(NAME, lambda: drawn(i, states), ("svg",)),
        Writing(NAME, lambda: document(work, states), ("pdf",)),
        Data(NAME, lambda: tables.file(maps)),
    )


def settings(work: Work) -> States:
    """What is compared, by name: as found, where it was measured, and as wanted."""
    i, remedy = work.instrument, work.bench.remedy
    wanted = {"wanted": (setting(i), i.clearance)}
    if remedy is None:
        return wanted
    return {f"found{' (est.)' if remedy.estimated else ''}": (remedy.setting, remedy.clearance)} | wanted


def drawn(i: Instrument, states: States) -> Drawing:
    """Both maps and the worst notes, under each other."""
    first, second = (_maps(i, states, in_inches) for in_inches in _units(i))
    whole = stacked(i, f"clearance: where it will buzz, {how_played(i)}", (*first, *_profiles(i, states), *second))
    return replace(whole, title=f"{i.spec.title}: clearance", cautions=cautions.lines(cautions.ROD))


def document(work: Work, states: States) -> Document:
    """The maps; the worst notes and what to do about them; the maps once more in the other unit."""
    i = work.instrument
    first, second = (tuple(Picture(each, MAP) for each in _maps(i, states, in_inches)) for in_inches in _units(i))
    other = Heading(f"Headroom in {'mm' if i.spec.units == 'in' else 'thousandths of an inch'}")
    again: tuple[Passage, ...] = (Kept((other, second[0])), *second[1:])
    worst: list[Passage] = [Picture(each, PROFILE) for each in _profiles(i, states)]
    if i.best_setup is not None:
        worst += [
            Heading("What relief, action and nut are worth"),
            *map(Paragraphs, best_lines(i, i.best_setup)),
            Kept((listing(tables.worth(i.best_setup)),)),
            Kept((listing(tables.actions(i, i.best_setup)),)),
            *warned(cautions.ROD),
        ]
    return read_at_the_bench(
        work,
        NAME,
        "clearance",
        BenchPage("Where it will buzz", (*first, *map(Paragraphs, reading(work)))),
        BenchPage("The first notes to touch, and what helps", (*worst, *again)),
    )


def _units(i: Instrument) -> tuple[bool, bool]:
    """Whether the maps are in inches: the job's own unit first."""
    return (True, False) if i.spec.units == "in" else (False, True)


def _profiles(i: Instrument, states: States) -> Iterator[Drawing]:
    """The worst note of each setting."""
    for name, (stood, found) in states.items():
        worst = found.worst_fretted or found.worst_open
        held = f"held at {worst.fretted}" if worst.fretted else "open"
        title = f"{name.capitalize()}, the first to touch: string {worst.string} {held}, over fret {worst.touches}"
        s = sketch()
        clearance_profile.draw(s, GapProfile(title, stood, worst), (0.0, 0.0))
        yield _sheet(i, s)


def _maps(i: Instrument, states: States, in_inches: bool) -> tuple[Drawing, ...]:
    """Side by side where a page is wide enough, else a sheet for each; long ones in parts."""
    drawn, s, x = [], sketch(), 0.0
    for one in _parts(i, states, in_inches):
        named = x == 0 or len(one.rows or ()) < len(clearance_map.shown(one.clearance))
        one = replace(one, named=named)
        if x > 0 and x + one.width > PAGE_WIDTH:
            drawn.append(_sheet(i, s))
            s, x, one = sketch(), 0.0, replace(one, named=True)
        x = clearance_map.draw(s, one, (x, 0.0)).x1 + BETWEEN_MAPS
    return (*drawn, _sheet(i, s))


def _parts(i: Instrument, states: States, in_inches: bool) -> Iterator[Map]:
    names = tuple(f"{n + 1} {string.note.text}" for n, string in enumerate(i.spec.strings.set))
    highest = max(float(np.nanmax(found.headroom)) for _, found in states.values())
    unit = "thou" if in_inches else "mm"
    for name, (_, found) in states.items():
        rows = clearance_map.shown(found)
        count = -(-len(rows) // MOST_ROWS)
        size = -(-len(rows) // count)
        for start in range(0, len(rows), size):
            part = rows[start : start + size]
            title = f"{name.capitalize()}: headroom, {unit}"
            if count > 1:
                title += f", {_place(found, part[0])} to {_place(found, part[-1])}"
            yield Map(title, found, names, asked_of(i), highest, in_inches, rows=part)


def _place(c: Clearance, row: int) -> str:
    number = int(c.numbers[row])
    return str(number) if number else "open"


def _sheet(i: Instrument, s: Sketch) -> Drawing:
    return Drawing(
        name=NAME,
        title=f"{i.spec.title}: clearance",
        layers=s.layers(),
        cautions=cautions.lines(cautions.ROD),
    )


def reading(work: Work) -> tuple[str, ...]:
    """How the maps are read, and what they rest on."""
    i, remedy = work.instrument, work.bench.remedy
    where = how_played(i)
    if "plucked_at" not in i.spec.playing.model_fields_set:
        where += ": nobody said where, and every figure hangs on it ([playing] plucked_at)"
    said = [*READING, f"{where[0].upper()}{where[1:]}."]
    if remedy is not None and remedy.estimated:
        said.append(f"Found: not measured, and taken as wanted (est.): {', '.join(remedy.estimated)}.")
    if remedy is not None and remedy.crowns is not None:
        lines = ", ".join(remedy.crowns.readings.lines)
        said.append(f"Found: crowns were measured along {lines}; between and beside these lines in proportion.")
    return tuple(said)


def how_played(i: Instrument) -> str:
    """Where the strings are plucked, and whether anybody said so."""
    share = i.spec.playing.plucked_at.spread(i.plan.toward_bass)
    low, high = float(share.min()), float(share.max())
    where = f"{low:g}" if low == high else f"{low:g} to {high:g}"
    given = "plucked_at" in i.spec.playing.model_fields_set
    return f"plucked at {where}{'' if given else ' (est.)'} of the scale from the saddle"


def asked_of(i: Instrument) -> Array | None:
    given = i.spec.playing.headroom
    return None if given is None else given.spread(i.plan.toward_bass)


def best_lines(i: Instrument, best: BestSetup) -> tuple[str, ...]:
    """Both best setups against the spec as written."""
    low, high = float(best.asked.min()), float(best.asked.max())
    asked = both_units(low) if high - low < 5e-4 else f"{both_units(low)} to {both_units(high)}"
    whose = "asked for" if i.spec.playing.headroom is not None else "of the spec as written"
    saved = float((best.action - best.least_action).mean())
    direction = "lower" if saved >= 0 else "higher"
    most, now, away = (headroom_text(mm, 3) for mm in (best.most_headroom, best.headroom, best.away_headroom))
    alone = ""
    if best.away_headroom > best.most_headroom + 5e-4:
        alone = f" Pulls away from the board alone could have {away} at relief {both_units(best.away_relief)}."
    return (
        f"At the action of the spec: relief {both_units(best.most_headroom_relief)} instead of "
        f"{both_units(best.relief)} gives the fretted notes at least {most} of headroom instead of {now}.{alone}",
        f"At the headroom {whose}, {asked}: relief {both_units(best.least_action_relief)} lets the action be "
        f"{both_units(abs(saved))} {direction}, in the mean over the strings; each is listed. The floors keep the "
        "spec's height at the nut. Nothing here changes the spec.",
    )
