"""Strings, what holds them at both ends, and the setup."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise

from templategen.errors import Key, Problem
from templategen.spec.checks.common import Found, given, one_way
from templategen.spec.models import Spec, StringSpec
from templategen.spec.values import OverStrings
from templategen.units import both_units, inches

ACROSS_CORNERS = 2 / math.sqrt(3)  # of a hexagon, over its width across the flats
LEAST_STRINGS, MOST_STRINGS = 3, 12


def _string_count(spec: Spec) -> Found:
    count = len(spec.strings.set)
    if not LEAST_STRINGS <= count <= MOST_STRINGS:
        yield Problem(("strings", "set"), f"lists {count} strings; from {LEAST_STRINGS} to {MOST_STRINGS} are possible")


def _cores(spec: Spec) -> Found:
    for place, string in enumerate(spec.strings.set):
        key = ("strings", "set", place, "core_diameter")
        six = vars(string).get("core_form") == "hexagonal"
        if six and not string.wound:
            yield Problem((*key[:-1], "core_form"), "is of a wound string; add wound = true, or leave it out")
        if "core_diameter" not in vars(string) or string.core_diameter is None:
            continue
        if not string.wound:
            yield Problem(key, "is of a wound string; add wound = true, or leave it out")
        elif string.core_diameter >= string.gauge:
            yield Problem(key, f"must be less than the string's gauge, {both_units(string.gauge, 3, 4)}")
        elif six and string.core_diameter * ACROSS_CORNERS >= string.gauge:
            most = both_units(string.gauge / ACROSS_CORNERS, 3, 4)
            yield Problem(key, f"must be less than {most} across the flats, or its corners stand out of the string")


def _courses(spec: Spec) -> Found:
    count = len(spec.strings.set)
    seen: set[int] = set()
    for place, course in enumerate(spec.strings.courses or ()):
        key = ("strings", "courses", place)
        if not course:
            yield Problem(key, "is empty; a course lists its strings, for example [1, 2]")
        strange = [number for number in course if not 1 <= number <= count]
        twice = [number for i, number in enumerate(course) if number in seen or number in course[:i]]
        if strange:
            yield Problem(key, f"names string {strange[0]}; the strings are numbered 1 to {count}, treble side first")
        elif twice:
            yield Problem(key, f"names string {twice[0]} again; a string belongs to one course")
        elif any(after != before + 1 for before, after in pairwise(course)):
            yield Problem(key, "must be strings that lie side by side, in order, for example [1, 2]")
        seen.update(course)


def _lists_per_string(spec: Spec) -> Found:
    count = len(spec.strings.set)
    for key, values in _per_string(spec):
        if len(values) != count:
            there = f"lists {len(values)} value{'' if len(values) == 1 else 's'}, but there are {count} strings"
            yield Problem(key, f"{there}; give one for each, treble-side string first")


def _per_string(spec: Spec) -> Iterator[tuple[Key, Sequence[object]]]:
    places = (
        (spec, "setup", ("first_fret_clearance", "pressed_gap", "nut_over_crowns")),
        (spec, "nut", ("compensation",)),
        (spec, "intonation", ("saddle",)),
        (spec, "playing", ("plucked_at", "headroom")),
        (spec, "saddle", ("break_angle",)),
    )
    for owner, table_name, names in places:
        table = vars(owner).get(table_name)
        for name in names:
            value = vars(table).get(name) if table is not None else None
            if isinstance(value, OverStrings) and value.each is not None:
                yield (table_name, name), value.each
    setup, headstock = vars(spec).get("setup"), vars(spec).get("headstock")
    action = vars(setup).get("action") if setup is not None else None
    if action is not None and vars(action).get("strings") is not None:
        yield ("setup", "action", "strings"), action.strings
    if headstock is not None and vars(headstock).get("posts") is not None:
        yield ("headstock", "posts"), headstock.posts


# ------------------------------------------------------------------------------------------ bridge, headstock, nut


def _side_by_side(strings: Sequence[StringSpec], courses: Sequence[Sequence[int]] | None, course_gap: float) -> float:
    """What the strings take, mm, with the gaps inside courses and none between courses."""
    inner_gaps = sum(len(course) - 1 for course in courses or ())
    return sum(string.gauge for string in strings) + inner_gaps * course_gap


def _outer_edges(spec: Spec, spread: float) -> float:
    return spread + (spec.strings.set[0].gauge + spec.strings.set[-1].gauge) / 2


def _at_the_saddle(spec: Spec) -> Found:
    taken = _side_by_side(spec.strings.set, spec.strings.courses, spec.bridge.course_gap)
    if spec.strings.set and _outer_edges(spec, spec.bridge.string_spread) <= taken:
        yield Problem(
            ("bridge", "string_spread"), f"leaves no room between the strings, which take {both_units(taken)}"
        )


def _saddle_piece(spec: Spec) -> Found:
    saddle = spec.saddle
    if saddle is None:
        return
    ways = {name: given(saddle, name) for name in ("length", "edge_margin")}
    yield from one_way(("saddle",), ways, "add length = 72, or edge_margin = 8", "length of the saddle")
    if spec.bridge.top_height is None:
        message = "missing; a saddle of one piece is made to the bridge's top, for example: top_height = -1.5"
        yield Problem(("bridge", "top_height"), message)


def _behind_the_nut(spec: Spec) -> Found:
    headstock = spec.headstock
    if headstock is not None:
        ways = {name: given(headstock, name) for name in ("break_angle", "posts")}
        example = "add break_angle = 12, or posts = [[-45, 22, -6], …], or take the table out"
        yield from one_way(("headstock",), ways, example, "course of the strings behind the nut")
        for place, post in enumerate(headstock.posts or ()):
            if post[0] >= 0:
                message = "must be less than 0: a post stands behind the nut, and x counts toward the bridge"
                yield Problem(("headstock", "posts", place, 0), message)
    if spec.nut.slot_aim not in ("string", 0.0) and (headstock is None or headstock.posts is None):
        yield Problem(("nut", "slot_aim"), 'needs the posts; give headstock.posts, or slot_aim = "string"')


def _seat(spec: Spec) -> Found:
    if spec.nut.seat == "groove" and not given(spec.nut, "seat_depth"):
        yield Problem(("nut", "seat_depth"), "missing; a nut in a groove needs it, for example: seat_depth = 2.0")


def _room_at_the_nut(spec: Spec) -> Found:
    nut, width = spec.nut, spec.fingerboard.nut_width
    ways = {name: given(nut, name) for name in ("edge_margin", "string_spread")}
    example = "add edge_margin = { bass = 3.4, treble = 3.2 }, or string_spread = 35.5"
    yield from one_way(("nut",), ways, example, "place of the outer strings")
    if nut.edge_margin is not None and nut.edge_margin.each is not None:
        yield Problem(
            ("nut", "edge_margin"), "is of the two outer strings; write one length, or { bass = …, treble = … }"
        )
        return
    if not spec.strings.set:
        return
    taken = _side_by_side(spec.strings.set, spec.strings.courses, nut.course_gap)
    room = width - taken
    board = f"the board is {both_units(width)} wide at the nut"
    if room <= 0:
        message = f"leaves no room for the strings, which take {both_units(taken)} side by side"
        named = "width_along_nut" if spec.fingerboard.width_at_nut is None else "width_at_nut"
        yield Problem(("fingerboard", named), message)
    elif nut.edge_margin is not None:
        margin = nut.edge_margin
        if margin.bass + margin.treble >= room:
            limit = f"the two margins must total less than {_down(room)}"
            yield Problem(_wider_margin(margin), f"leaves no room for the strings: {board}; {limit}")
    elif nut.string_spread is not None:
        edges = _outer_edges(spec, nut.string_spread)
        if edges >= width:
            limit = f"the spread must be less than {_down(width - edges + nut.string_spread)}"
            yield Problem(("nut", "string_spread"), f"puts the outer strings past the edges: {board}; {limit}")
        elif edges <= taken:
            yield Problem(
                ("nut", "string_spread"), f"leaves no room between the strings, which take {both_units(taken)}"
            )


def _wider_margin(margin: OverStrings[float]) -> Key:
    if margin.bass == margin.treble:
        return ("nut", "edge_margin")
    return ("nut", "edge_margin", "bass" if margin.bass > margin.treble else "treble")


def _down(mm: float) -> str:
    """To a tenth of a mm and a hundredth of an inch, rounded down, so that the limit told is one that holds."""
    return f"{math.floor(mm * 10) / 10:.1f} mm ({math.floor(inches(mm) * 100) / 100:.2f} in)"


# ------------------------------------------------------------------------------------------------------------ setup


def _height_at_the_nut(spec: Spec) -> Found:
    names = ("first_fret_clearance", "pressed_gap", "nut_over_crowns")
    ways = {name: given(spec.setup, name) for name in names}
    if spec.scale.zero_fret is None or any(ways.values()):
        example = "add first_fret_clearance = { bass = 0.45, treble = 0.30 }, or pressed_gap, or nut_over_crowns"
        yield from one_way(("setup",), ways, example, "height of the strings at the nut")


def _action(spec: Spec) -> Found:
    action = spec.setup.action
    key = ("setup", "action")
    sides = [side for side in ("bass", "treble") if given(action, side)]
    if given(action, "strings"):
        for side in sides:
            yield Problem((*key, side), "stands beside strings; give bass and treble, or strings, not both")
    elif not sides:
        yield Problem(key, "gives no height; add bass = 2.0, treble = 1.6, or strings = [one for each string]")
    elif len(sides) == 1:
        other = "treble" if sides == ["bass"] else "bass"
        yield Problem((*key, sides[0]), f"needs {other} beside it; give both sides, or strings = [one for each string]")
    last = _last_place(spec)
    if action.fret < 2 or action.fret > last:
        limit = f"must be a fret of this board beyond the first, 2 to {last}"
        if last > spec.scale.fret_count:
            limit = (
                f"must be from 2 to {last}; past the last fret, {spec.scale.fret_count}, it is measured to where a "
                "crown would be"
            )
        yield Problem((*key, "fret"), limit)


def _last_place(spec: Spec) -> int:
    """The last fret whose place is known: cents that are listed, but not said to repeat, end with the list."""
    scale = spec.scale
    goes_on = scale.fret_cents is None or scale.repeat_at is not None
    return max(scale.fret_count, 12 if goes_on else 2)


def _relief(spec: Spec) -> Found:
    relief, last = spec.setup.relief, spec.scale.fret_count
    if last == 1:
        if relief != 0.0:
            yield Problem(("setup", "relief"), "is a bow between two frets, and this board has one; leave it out")
        return
    if isinstance(relief, float):
        return
    key = ("setup", "relief")
    start, end = relief.from_fret or 1, relief.to_fret or last
    if start > last:
        yield Problem((*key, "from"), f"must be a fret of this board, 1 to {last}")
    elif end > last:
        yield Problem((*key, "to"), f"must be a fret of this board, 1 to {last}")
    elif start >= end:
        told: Key = (*key, "to") if relief.to_fret is not None else (*key, "from")
        yield Problem(told, f"relief runs from a lower to a higher fret; here it runs from {start} to {end}")


def _fall_away(spec: Spec) -> Found:
    last = spec.scale.fret_count
    for name, fall_away in (("setup", spec.setup.fall_away), ("levelling", spec.levelling.fall_away)):
        if fall_away is not None and fall_away.from_fret >= last:
            limit = f"must be a fret before the last, 1 to {last - 1}"
            if last == 1:
                limit = "runs from a fret to the last, and this board has one; leave fall_away out"
            yield Problem((name, "fall_away", "from"), limit)


CHECKS: tuple[Callable[[Spec], Found], ...] = (
    _string_count, _cores, _courses, _lists_per_string, _at_the_saddle, _saddle_piece, _behind_the_nut, _seat,
    _room_at_the_nut, _height_at_the_nut, _action, _relief, _fall_away,
)  # fmt: skip
