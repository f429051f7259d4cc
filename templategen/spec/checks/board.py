"""Scale, fingerboard, wire and the tools that follow the board."""

from __future__ import annotations

import math
from collections.abc import Callable

from templategen.errors import Key, Problem
from templategen.spec.checks.common import Found, given, one_way, wire_in_itself
from templategen.spec.checks.law import cents, cents_problems, count_problems
from templategen.spec.models import Spec, Surface
from templategen.units import both_units

LEAST_BLOCK_BACK = 3.0
"""mm of block between the lowest point of its arc and its flat back."""
WIDEST_CONVEX = 1.8
"""Width of a convex block over its radius; wider, and the face's edges would stand nearly upright."""
PAST_THE_EDGE = 2.0
"""mm by which a chord may be wider than the board at its widest: boards are not sawn to the tenth."""


def _scale_lengths(spec: Spec) -> Found:
    scale = spec.scale
    sides = [side for side in ("bass", "treble") if given(scale, side)]
    if given(scale, "length"):
        for side in sides:
            yield Problem(
                ("scale", side), "stands beside length; give length, or bass and treble for a multi-scale board"
            )
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
    yield from cents_problems(spec.scale)


def _fret_count(spec: Spec) -> Found:
    yield from count_problems(spec.scale)


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
    if not (given(board, "width_at_nut") or given(board, "width_along_nut")):
        yield Problem(("fingerboard", "width_at_nut"), "missing; for example: width_at_nut = 43.2")
    elif given(board, "width_at_nut") and given(board, "width_along_nut"):
        both = "stands beside width_at_nut: both give the width at the nut; keep one of the two"
        yield Problem(("fingerboard", "width_along_nut"), both)
    ways = {name: given(board, name) for name in ("width_at_last_fret", "width_at")}
    example = "add width_at_last_fret = 55.4, or width_at = { fret = 12, width = 52 }"
    yield from one_way(("fingerboard",), ways, example, "width beside that at the nut")


def _thickness(spec: Spec) -> Found:
    before = spec.fingerboard.before
    ways = {name: given(spec.fingerboard, name) for name in ("thickness", "thickness_at_edge")}
    if before is not None and before.thickness_at_edge is not None and not any(ways.values()):
        return  # it is what the sanding leaves
    example = "add thickness = 6.2 (at the centreline), or thickness_at_edge = 5.4 (at the nut)"
    yield from one_way(("fingerboard",), ways, example, "thickness")


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
    yield from one_way(key, ways, 'add radius = "11 in", or "flat", or radius_at_nut and radius_at_last_fret', "radius")


def _inset(spec: Spec) -> Found:
    board = spec.fingerboard
    if board.blind_slot_inset is not None and 2 * board.blind_slot_inset >= board.nut_width:
        limit = f"must be less than {both_units(board.nut_width / 2)}, half of the board's width at the nut"
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
        widest = max(spec.fingerboard.nut_width, _width_at_last_fret(spec)) + PAST_THE_EDGE
        if before.chord > widest:
            limit = f"is longer than the board is wide; must be at most {both_units(widest)}"
            yield Problem((*key, "chord"), limit)
        elif before.height > before.chord / 2:
            limit = f"must be at most {both_units(before.chord / 2)}, half of the chord"
            yield Problem((*key, "height"), f"is higher than half a circle; {limit}")
        else:
            from templategen.geometry import radius_of  # loads numpy, which reading a spec need not

            radius = radius_of(before.chord, before.height)
            if not 50 <= radius <= 10_000:
                range_ = "boards are from 50 to 10000 mm; measure again"
                yield Problem(
                    (*key, "height"),
                    f"over a chord of {both_units(before.chord)} means a radius of {radius:.0f} mm; {range_}",
                )


def _circle_is_wide_enough(spec: Spec) -> Found:
    board = spec.fingerboard
    at_nut = board.nut_width
    at_last = _width_at_last_fret(spec)
    yield from _wider_than_circle(("fingerboard",), board, at_nut, at_last)
    if board.before is not None:
        yield from _wider_than_circle(("fingerboard", "before"), board.before, at_nut, at_last)


def _width_at_last_fret(spec: Spec) -> float:
    board = spec.fingerboard
    if board.width_at is None:
        return board.width_at_last_fret or 0.0
    here, last = (1 - 2 ** (-cents(spec.scale, n) / 1200) for n in (board.width_at.fret, spec.scale.fret_count))
    return board.nut_width + (board.width_at.width - board.nut_width) * last / here


def _wider_than_circle(key: Key, surface: Surface, at_nut: float, at_last: float) -> Found:
    stations = (
        ("radius", surface.radius, max(at_nut, at_last)),
        ("radius_at_nut", surface.radius_at_nut, at_nut),
        ("radius_at_last_fret", surface.radius_at_last_fret, at_last),
    )
    for name, radius, width in stations:
        if isinstance(radius, float) and radius <= width / 2:
            limit = f"must be more than {both_units(width / 2)}, half of the board's width there"
            yield Problem((*key, name), f"is a circle narrower than the board; {limit}")


# -------------------------------------------------------------------------------------------------------- fret wire


def _own_wire(spec: Spec) -> Found:
    yield from wire_in_itself(("fret_wire",), spec.fret_wire)


def _markers(spec: Spec) -> Found:
    wire = spec.fret_wire
    for name, frets in (("markers", wire.markers), ("doubled_markers", wire.doubled_markers)):
        for place, fret in enumerate(frets):
            if fret in frets[:place]:
                yield Problem(("fret_wire", name, place), f"fret {fret} is listed twice; keep one of the two")
            elif name == "doubled_markers" and fret in wire.markers:
                yield Problem(("fret_wire", name, place), f"fret {fret} stands in markers too; keep one of the two")


# -------------------------------------------------------------------------------------------------- tools ---------


def _block(spec: Spec) -> Found:
    block, board = spec.radius_block, spec.fingerboard
    if block is None:
        return
    if block.face == "convex" and block.rides_on == "crowns":
        message = 'is round, and crowns are not hollow; give rides_on = "board", or face = "concave" for the crowns'
        yield Problem(("radius_block", "face"), message)
        return
    cone = board.radius_at_nut is not None and board.radius_at_last_fret is not None
    if cone and block.at is None:
        message = 'missing; a block is a cylinder and fits a compound radius at one station, for example: at = "nut"'
        yield Problem(("radius_block", "at"), message)
        return
    radius = _radius_at(spec, block.at)
    if radius is None:
        return
    convex = block.face == "convex"
    radius += -block.abrasive_thickness if convex else block.abrasive_thickness
    radius += spec.fret_wire.crown_height if block.rides_on == "crowns" else 0.0
    if block.width is None:
        return  # as wide as its height lets it be
    half = block.width / 2
    times, words = (WIDEST_CONVEX, f"{WIDEST_CONVEX} times") if convex else (2.0, "twice")
    if block.width >= times * radius:
        limit = f"must be less than {both_units(times * radius)}, {words} the block's radius"
        yield Problem(("radius_block", "width"), limit)
        return
    least = radius - math.sqrt(radius**2 - half**2) + LEAST_BLOCK_BACK
    if block.height < least:
        high = both_units(math.ceil(least * 10) / 10, 1)
        limit = f"must be at least {high} for the arc and {LEAST_BLOCK_BACK:g} mm of back"
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
    here, last = (1 - 2 ** (-cents(scale, n) / 1200) for n in (station or scale.fret_count, scale.fret_count))
    return start + (end - start) * here / last


def _strip(spec: Spec) -> Found:
    strip = spec.notched_strip
    if strip is not None and strip.notch_depth >= strip.width:
        yield Problem(
            ("notched_strip", "notch_depth"), f"must be less than the strip's width, {both_units(strip.width)}"
        )


CHECKS: tuple[Callable[[Spec], Found], ...] = (
    _scale_lengths, _square_fret, _fret_cents, _fret_count, _on_the_board, _widths, _thickness, _radius, _inset,
    _before, _circle_is_wide_enough, _own_wire, _markers, _block, _strip,
)  # fmt: skip
