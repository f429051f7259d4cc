"""What several values must be together.

Each check is a small generator of problems over the whole spec. Where some keys could not be read, the checks run on a
draft that lacks them (``table``), and a check that reaches for one of those ends there: its other problems are still
told. What only the computed geometry can tell is left to the instrument room.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import pairwise
from typing import TypeVar

from templategen.errors import Key, Problem
from templategen.spec.models import FretWire, Scale, Shop, Spec, StringSpec, Surface, Wire
from templategen.spec.table import Table, toml
from templategen.spec.values import OverStrings

Found = Iterator[Problem]
LEAST_STRINGS, MOST_STRINGS = 3, 12
OCTAVES = 3
"""The highest fret lies at most this far above the open string."""
LEAST_BLOCK_BACK = 3.0
"""mm of block between the deepest point of its arc and its flat back."""

_Checked = TypeVar("_Checked", bound=Table)


def of_spec(spec: Spec, whole: bool) -> list[Problem]:
    """The problems of a spec, or of the draft of one (``whole`` is False)."""
    return _run(_OF_SPEC, spec, whole)


def of_shop(shop: Shop, whole: bool) -> list[Problem]:
    """The same for the shop file; keys are those of that file."""
    return _run(_OF_SHOP, shop, whole)


def _run(checks: Iterable[Callable[[_Checked], Found]], table: _Checked, whole: bool) -> list[Problem]:
    problems: list[Problem] = []
    for check in checks:
        try:
            for problem in check(table):
                problems.append(problem)
        except AttributeError:
            if whole:
                raise
    return problems


def given(table: Table, name: str) -> bool:
    """Whether the file gives this key, be it with its default."""
    return name in table.model_fields_set


def _one_way(key: Key, ways: dict[str, bool], example: str, what: str) -> Found:
    """Exactly one of ``ways`` (key to whether it is given) must be taken."""
    taken = [name for name, is_given in ways.items() if is_given]
    if not taken:
        yield Problem(key, f"gives no {what}; {example}")
    for name in taken[1:]:
        yield Problem((*key, name), f"stands beside {taken[0]}: both give the {what}; keep one of the two")


# ------------------------------------------------------------------------------------------------------------ scale


def _scale_lengths(spec: Spec) -> Found:
    scale = spec.scale
    sides = [side for side in ("bass", "treble") if given(scale, side)]
    if given(scale, "length"):
        for side in sides:
            yield Problem(("scale", side), "stands beside length; give length, or bass and treble for a multi-scale board")
    elif not sides:
        example = 'add length = "25 3/16 in", or bass and treble for a multi-scale board'
        yield Problem(("scale",), f"gives no scale length; {example}")
    elif len(sides) == 1:
        other = "treble" if sides == ["bass"] else "bass"
        yield Problem(("scale", sides[0]), f"needs {other} beside it: a multi-scale board has both")


def _square_fret(spec: Spec) -> Found:
    scale = spec.scale
    if not given(scale, "square_fret"):
        return
    key = ("scale", "square_fret")
    if not (given(scale, "bass") or given(scale, "treble")):
        yield Problem(key, "is for a multi-scale board (bass and treble); leave it out, every fret stands square here")
    elif scale.square_fret > scale.fret_count:
        yield Problem(key, f"must be from 0 to the last fret, {scale.fret_count}")


def _fret_cents(spec: Spec) -> Found:
    scale = spec.scale
    if scale.fret_cents is None:
        if given(scale, "repeat_at"):
            yield Problem(("scale", "repeat_at"), "repeats fret_cents, which are not given; add them or leave it out")
        return
    key = ("scale", "fret_cents")
    if not scale.fret_cents:
        yield Problem(key, "is empty; list the cents above the open string, fret 1 first")
        return
    if given(scale, "steps_per_octave"):
        yield Problem(("scale", "steps_per_octave"), "stands beside fret_cents: both place the frets; keep one of the two")
    for place, (lower, upper) in enumerate(pairwise(scale.fret_cents), 1):
        if upper <= lower:
            yield Problem((*key, place), f"must be more than {lower:g}, the fret before it: cents rise from fret to fret")
    last, count = scale.fret_cents[-1], len(scale.fret_cents)
    if scale.repeat_at is not None:
        if scale.repeat_at < last:
            yield Problem(("scale", "repeat_at"), f"must be at least {last:g}, the last of fret_cents")
    elif scale.fret_count > count:
        more = f"list {scale.fret_count} in fret_cents, or add repeat_at = 1200"
        yield Problem(("scale", "fret_count"), f"is more than the {count} frets that fret_cents lists; {more}")
    elif scale.fret_count < count:
        yield Problem(("scale", "fret_count"), f"is less than the {count} frets that fret_cents lists; make them agree")


def _fret_count(spec: Spec) -> Found:
    scale = spec.scale
    key = ("scale", "fret_count")
    if scale.fret_cents is None:
        limit = OCTAVES * scale.steps_per_octave
        if scale.fret_count > limit:
            steps = f"{scale.steps_per_octave} steps to the octave"
            yield Problem(key, f"must be from 1 to {limit}: three octaves of {steps}")
    elif scale.fret_cents and _cents(scale, scale.fret_count) > 1200 * OCTAVES:
        cents = _cents(scale, scale.fret_count)
        yield Problem(key, f"puts the last fret at {cents:g} cents; the limit is three octaves, {1200 * OCTAVES} cents")


def _cents(scale: Scale, fret: int) -> float:
    """Cents of a whole fret; beyond the list, those of its last fret where nothing repeats."""
    if scale.fret_cents is None:
        return 1200 * fret / scale.steps_per_octave
    count = len(scale.fret_cents)
    if scale.repeat_at is None:
        return scale.fret_cents[min(fret, count) - 1]
    return scale.fret_cents[(fret - 1) % count] + (fret - 1) // count * scale.repeat_at


def _on_the_board(spec: Spec) -> Found:
    """Frets that are named must be there."""
    count = spec.scale.fret_count
    message = f"must be a fret of this board, 1 to {count}"
    if spec.fingerboard.width_at is not None and spec.fingerboard.width_at.fret > count:
        yield Problem(("fingerboard", "width_at", "fret"), message)
    wire = spec.fret_wire
    for name, frets in (("markers", wire.markers), ("doubled_markers", wire.doubled_markers)):
        for place, fret in enumerate(frets):
            if fret > count:
                yield Problem(("fret_wire", name, place), message)
    if given(spec.intonation, "fit_to_fret") and spec.intonation.fit_to_fret > count:
        yield Problem(("intonation", "fit_to_fret"), message)
    block = spec.radius_block
    if block is not None and isinstance(block.at, int) and block.at > count:
        yield Problem(("radius_block", "at"), f'must be "nut", "last" or a fret of this board, 1 to {count}')


# ------------------------------------------------------------------------------------------------------ fingerboard


def _widths(spec: Spec) -> Found:
    board = spec.fingerboard
    ways = {name: given(board, name) for name in ("width_at_last_fret", "width_at")}
    example = "add width_at_last_fret = 55.4, or width_at = { fret = 12, width = 52 }"
    yield from _one_way(("fingerboard",), ways, example, "second width")


def _thickness(spec: Spec) -> Found:
    ways = {name: given(spec.fingerboard, name) for name in ("thickness", "thickness_at_edge")}
    example = "add thickness = 6.2 (at the centreline), or thickness_at_edge = 5.4 (at the nut)"
    yield from _one_way(("fingerboard",), ways, example, "thickness")


def _radius(spec: Spec) -> Found:
    yield from _surface(("fingerboard",), spec.fingerboard, {})


def _surface(key: Key, surface: Surface, more: dict[str, bool]) -> Found:
    ends = ("radius_at_nut", "radius_at_last_fret")
    ways = {"radius": given(surface, "radius")} | {end: given(surface, end) for end in ends} | more
    if ways["radius_at_nut"] and ways["radius_at_last_fret"]:
        del ways["radius_at_last_fret"]
    elif ways["radius_at_nut"] or ways["radius_at_last_fret"]:
        here, other = ends if ways["radius_at_nut"] else ends[::-1]
        yield Problem((*key, here), f"needs {other} beside it: a compound radius has both")
    yield from _one_way(key, ways, 'add radius = "11 in", or "flat", or radius_at_nut and radius_at_last_fret', "radius")


def _inset(spec: Spec) -> Found:
    board = spec.fingerboard
    if board.blind_slot_inset is not None and 2 * board.blind_slot_inset >= board.width_at_nut:
        limit = f"must be less than {board.width_at_nut / 2:g} mm, half of the board's width at the nut"
        yield Problem(("fingerboard", "blind_slot_inset"), f"leaves nothing of the slots; {limit}")


def _before(spec: Spec) -> Found:
    before = spec.fingerboard.before
    if before is None:
        return
    key = ("fingerboard", "before")
    measured = given(before, "chord"), given(before, "height")
    yield from _surface(key, before, {"chord": any(measured)})
    if any(measured) and not all(measured):
        here, other = ("chord", "height") if measured[0] else ("height", "chord")
        yield Problem((*key, here), f"needs {other} beside it: the two together give the radius")
    if all(measured) and before.chord is not None and before.height is not None:
        if before.height > before.chord / 2:
            limit = f"must be at most {before.chord / 2:g} mm, half of the chord"
            yield Problem((*key, "height"), f"is higher than half a circle; {limit}")
        else:
            radius = before.height / 2 + before.chord**2 / (8 * before.height)
            if not 50 <= radius <= 10_000:
                range_ = "boards are from 50 to 10000 mm; measure again"
                yield Problem((*key, "height"), f"over a chord of {before.chord:g} mm means a radius of {radius:.4g} mm; {range_}")


def _circle_is_wide_enough(spec: Spec) -> Found:
    board = spec.fingerboard
    at_nut = board.width_at_nut
    at_last = _width_at_last_fret(spec)
    yield from _wider_than_circle(("fingerboard",), board, at_nut, at_last)
    if board.before is not None:
        yield from _wider_than_circle(("fingerboard", "before"), board.before, at_nut, at_last)


def _width_at_last_fret(spec: Spec) -> float:
    board = spec.fingerboard
    if board.width_at is None:
        return board.width_at_last_fret or 0.0
    here, last = (1 - 2 ** (-_cents(spec.scale, n) / 1200) for n in (board.width_at.fret, spec.scale.fret_count))
    return board.width_at_nut + (board.width_at.width - board.width_at_nut) * last / here


def _wider_than_circle(key: Key, surface: Surface, at_nut: float, at_last: float) -> Found:
    stations = (
        ("radius", surface.radius, max(at_nut, at_last)),
        ("radius_at_nut", surface.radius_at_nut, at_nut),
        ("radius_at_last_fret", surface.radius_at_last_fret, at_last),
    )
    for name, radius, width in stations:
        if isinstance(radius, float) and radius <= width / 2:
            limit = f"must be more than {width / 2:.4g} mm, half of the board's width there"
            yield Problem((*key, name), f"is a circle narrower than the board; {limit}")


# -------------------------------------------------------------------------------------------------------- fret wire


def _wire_in_itself(spec: Spec) -> Found:
    yield from _wire(("fret_wire",), spec.fret_wire)


def _wire(key: Key, wire: FretWire | Wire) -> Found:
    if wire.barb_width < wire.tang_thickness:
        limit = f"must be at least the bare tang's thickness, {wire.tang_thickness:g} mm"
        yield Problem((*key, "barb_width"), f"is measured over the barbs and {limit}")
    if wire.slot_width >= wire.crown_width:
        limit = f"must be less than the crown's width, {wire.crown_width:g} mm"
        yield Problem((*key, "slot_width"), f"is not covered by the crown; {limit}")


def _markers(spec: Spec) -> Found:
    wire = spec.fret_wire
    for name, frets in (("markers", wire.markers), ("doubled_markers", wire.doubled_markers)):
        for place, fret in enumerate(frets):
            if fret in frets[:place]:
                yield Problem(("fret_wire", name, place), f"fret {fret} is listed twice; keep one of the two")
            elif name == "doubled_markers" and fret in wire.markers:
                yield Problem(("fret_wire", name, place), f"fret {fret} stands in markers too; keep one of the two")


# ---------------------------------------------------------------------------------------------------------- strings


def _string_count(spec: Spec) -> Found:
    count = len(spec.strings.set)
    if not LEAST_STRINGS <= count <= MOST_STRINGS:
        yield Problem(("strings", "set"), f"lists {count} strings; from {LEAST_STRINGS} to {MOST_STRINGS} are possible")


def _cores(spec: Spec) -> Found:
    for place, string in enumerate(spec.strings.set):
        key = ("strings", "set", place, "core_diameter")
        if "core_diameter" not in vars(string) or string.core_diameter is None:
            continue
        if not string.wound:
            yield Problem(key, "is of a wound string; add wound = true, or leave it out")
        elif string.core_diameter >= string.gauge:
            yield Problem(key, f"must be less than the string's gauge, {string.gauge:g} mm")


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
        yield Problem(("bridge", "string_spread"), f"leaves no room between the strings, which take {taken:.1f} mm")


def _behind_the_nut(spec: Spec) -> Found:
    headstock = spec.headstock
    if headstock is not None:
        ways = {name: given(headstock, name) for name in ("break_angle", "posts")}
        example = "add break_angle = 12, or posts = [[-45, 22, -6], …], or take the table out"
        yield from _one_way(("headstock",), ways, example, "course of the strings behind the nut")
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
    nut, width = spec.nut, spec.fingerboard.width_at_nut
    ways = {name: given(nut, name) for name in ("edge_margin", "string_spread")}
    example = "add edge_margin = { bass = 3.4, treble = 3.2 }, or string_spread = 35.5"
    yield from _one_way(("nut",), ways, example, "place of the outer strings")
    if nut.edge_margin is not None and nut.edge_margin.each is not None:
        yield Problem(("nut", "edge_margin"), "is of the two outer strings; write one length, or { bass = …, treble = … }")
        return
    if not spec.strings.set:
        return
    taken = _side_by_side(spec.strings.set, spec.strings.courses, nut.course_gap)
    room = width - taken
    board = f"the board is {width:g} mm wide at the nut"
    if room <= 0:
        message = f"leaves no room for the strings, which take {taken:.1f} mm side by side"
        yield Problem(("fingerboard", "width_at_nut"), message)
    elif nut.edge_margin is not None:
        margin = nut.edge_margin
        if margin.bass + margin.treble >= room:
            limit = f"the two margins must total less than {_down(room)} mm"
            yield Problem(_wider_margin(margin), f"leaves no room for the strings: {board}; {limit}")
    elif nut.string_spread is not None:
        edges = _outer_edges(spec, nut.string_spread)
        if edges >= width:
            limit = f"the spread must be less than {_down(width - edges + nut.string_spread)} mm"
            yield Problem(("nut", "string_spread"), f"puts the outer strings past the edges: {board}; {limit}")
        elif edges <= taken:
            yield Problem(("nut", "string_spread"), f"leaves no room between the strings, which take {taken:.1f} mm")


def _wider_margin(margin: OverStrings[float]) -> Key:
    if margin.bass == margin.treble:
        return ("nut", "edge_margin")
    return ("nut", "edge_margin", "bass" if margin.bass > margin.treble else "treble")


def _down(mm: float) -> str:
    """To a tenth of a mm, rounded down, so that the limit told is one that holds."""
    return f"{math.floor(mm * 10) / 10:.1f}"


# ------------------------------------------------------------------------------------------------------------ setup


def _height_at_the_nut(spec: Spec) -> Found:
    names = ("first_fret_clearance", "pressed_gap", "nut_over_crowns")
    ways = {name: given(spec.setup, name) for name in names}
    if spec.scale.zero_fret is None or any(ways.values()):
        example = "add first_fret_clearance = { bass = 0.45, treble = 0.30 }, or pressed_gap, or nut_over_crowns"
        yield from _one_way(("setup",), ways, example, "height of the strings at the nut")


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
    if action.fret < 2 or action.fret > spec.scale.fret_count:
        limit = f"must be a fret of this board beyond the first, 2 to {spec.scale.fret_count}"
        yield Problem((*key, "fret"), limit)


def _relief(spec: Spec) -> Found:
    relief, last = spec.setup.relief, spec.scale.fret_count
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
    fall_away, last = spec.setup.fall_away, spec.scale.fret_count
    if fall_away is not None and fall_away.from_fret >= last:
        yield Problem(("setup", "fall_away", "from"), f"must be a fret before the last, 1 to {last - 1}")


# -------------------------------------------------------------------------------------------------- tools and shop


def _block(spec: Spec) -> Found:
    block, board = spec.radius_block, spec.fingerboard
    if block is None:
        return
    cone = board.radius_at_nut is not None and board.radius_at_last_fret is not None
    if cone and block.at is None:
        message = 'missing; a block is a cylinder and fits a compound radius at one station, for example: at = "nut"'
        yield Problem(("radius_block", "at"), message)
        return
    radius = _radius_at(spec, block.at)
    if radius is None:
        return
    radius += block.abrasive_thickness + (spec.fret_wire.crown_height if block.rides_on == "crowns" else 0.0)
    half = block.width / 2
    if half >= radius:
        yield Problem(("radius_block", "width"), f"must be less than {2 * radius:.4g} mm, twice the block's radius")
        return
    least = radius - math.sqrt(radius**2 - half**2) + LEAST_BLOCK_BACK
    if block.height < least:
        limit = f"must be at least {math.ceil(least * 10) / 10:.1f} mm for the arc and {LEAST_BLOCK_BACK:g} mm of back"
        yield Problem(("radius_block", "height"), limit)


def _radius_at(spec: Spec, station: str | int | None) -> float | None:
    """The board's radius where a block is for; None on a flat board or where it is not known."""
    board, scale = spec.fingerboard, spec.scale
    if isinstance(board.radius, float):
        return board.radius
    start, end = board.radius_at_nut, board.radius_at_last_fret
    if start is None or end is None:
        return None
    if isinstance(station, str):
        return start if station == "nut" else end
    here, last = (1 - 2 ** (-_cents(scale, n) / 1200) for n in (station or scale.fret_count, scale.fret_count))
    return start + (end - start) * here / last


def _strip(spec: Spec) -> Found:
    strip = spec.notched_strip
    if strip is not None and strip.notch_depth >= strip.width:
        yield Problem(("notched_strip", "notch_depth"), f"must be less than the strip's width, {strip.width:g} mm")


def _end_mills(shop: Shop) -> Found:
    for place, mill in enumerate(shop.end_mills):
        key = ("end_mills", place)
        if mill.shape == "vee":
            if not given(mill, "angle"):
                yield Problem((*key, "angle"), "missing; a vee needs its full angle, for example: angle = 60")
        else:
            if not given(mill, "diameter"):
                yield Problem((*key, "diameter"), f"missing; a {mill.shape} cutter needs it, for example: diameter = 1.0")
            if given(mill, "angle"):
                yield Problem((*key, "angle"), f"is of a vee; leave it out for a {mill.shape} cutter")


def _wires(shop: Shop) -> Found:
    names = [vars(wire).get("name") for wire in shop.wire]
    for place, name in enumerate(names):
        if name is not None and name in names[:place]:
            message = f"is the name of two wires; call one of them something else than {toml(name)}"
            yield Problem(("wire", place, "name"), message)


def _wires_in_themselves(shop: Shop) -> Found:
    for place, wire in enumerate(shop.wire):
        if set(Wire.model_fields) <= vars(wire).keys():
            yield from _wire(("wire", place), wire)


_OF_SPEC: tuple[Callable[[Spec], Found], ...] = (
    _scale_lengths, _square_fret, _fret_cents, _fret_count, _on_the_board, _widths, _thickness, _radius, _inset, _before,
    _circle_is_wide_enough, _wire_in_itself, _markers, _string_count, _cores, _courses, _lists_per_string,
    _at_the_saddle, _behind_the_nut, _seat, _room_at_the_nut, _height_at_the_nut, _action, _relief, _fall_away, _block,
    _strip,
)  # fmt: skip
_OF_SHOP: tuple[Callable[[Shop], Found], ...] = (_end_mills, _wires, _wires_in_themselves)
