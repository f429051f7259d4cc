"""Numbers that can be made but look like slips: turned about, in the wrong unit, or of the wrong thing."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from templategen.findings.catalogue import Fact, fact
from templategen.findings.limits import limit
from templategen.findings.naming import cases, numbers, of_string
from templategen.instrument.model import Instrument


def slip_facts(i: Instrument) -> Iterator[Fact]:
    yield from _order(i)
    yield from _courses(i)
    yield from _outline(i)
    yield from _sizes(i)
    yield from _markers(i)
    yield from _tension(i)


def _order(i: Instrument) -> Iterator[Fact]:
    """A high drone on the bass side also ends the list on a higher pitch, but it is as thin as the first string."""
    first, last = i.loads[0], i.loads[-1]
    thicker = first.body.gauge > limit("thicker_first") * last.body.gauge
    if first.frequency_hz < last.frequency_hz and thicker:
        ends = of_string(i, 0), of_string(i, len(i.loads) - 1)
        yield fact("strings-bass-first", "strings.set", first=ends[0], last=ends[1])


def _courses(i: Instrument) -> Iterator[Fact]:
    """Strings that no course names are laid as single ones; somebody may have stopped writing too early."""
    named = i.spec.strings.courses
    if not named:
        return
    lone = sorted(set(range(1, len(i.loads) + 1)) - {string for course in named for string in course})
    if lone:
        course = "one" if len(named) == 1 else "more"
        single = f"[{lone[0]}]"
        yield fact("partial-courses", "strings.courses", count=len(named), course=course, strings=lone, single=single)


def _outline(i: Instrument) -> Iterator[Fact]:
    plan = i.plan
    nut, saddle = (abs(float(at[0, 1] - at[-1, 1])) for at in (plan.string_nut, plan.string_saddle))
    if saddle < nut - limit("parallel_strings"):
        yield fact("strings-narrow-toward-bridge", "bridge.string_spread", at_nut=nut, at_saddle=saddle)
    if plan.taper.slope < 0:
        last = plan.taper.width(plan.centre_x[-1])
        yield fact("board-narrows", "fingerboard.width_at_nut", at_nut=plan.taper.at_nut, at_last=last)


def _sizes(i: Instrument) -> Iterator[Fact]:
    nut, crown = i.spec.nut, i.spec.fret_wire.crown_width
    if nut.seat == "groove" and nut.seat_depth is not None and nut.seat_depth >= i.board.thickness:
        yield fact("groove-through-board", "nut.seat_depth", depth=nut.seat_depth, board=i.board.thickness)
    if nut.thickness < limit("nut_thickness"):
        yield fact("thin-nut", "nut.thickness", nut=nut.thickness, least=limit("nut_thickness"))
    if crown > limit("crown_width"):
        yield fact("wide-crown", "fret_wire.crown_width", crown=crown, most=limit("crown_width"))


def _markers(i: Instrument) -> Iterator[Fact]:
    """The space of a marker: between its fret and the one before it, on the centreline, slot to slot."""
    wire, plan = i.spec.fret_wire, i.plan
    marked = {*wire.markers, *wire.doubled_markers}
    room = {int(n): float(s) - wire.slot_width for n, s in zip(plan.numbers, i.frets.from_previous, strict=True)}
    tight = [n for n in sorted(marked) if room[n] < wire.marker_diameter]
    if tight:
        worst = min(tight, key=room.__getitem__)
        yield fact(
            "marker-too-large",
            "fret_wire.marker_diameter",
            marker=wire.marker_diameter,
            fret=worst,
            room=room[worst],
        )


def _tension(i: Instrument) -> Iterator[Fact]:
    tension, most = np.array([load.tension_n for load in i.loads]), limit("string_tension")
    tight = np.flatnonzero(tension > most)
    if len(tight):
        yield fact("high-tension", "strings.set", most=most, strings=cases(i, tight, tension=tension))
    most = limit("pull_of_many" if len(tension) >= limit("many_strings") else "pull_together")
    if i.total_load_n > most:
        yield fact("high-total-tension", "strings.set", pull=i.total_load_n, most=most)
    plain, most = [load.body for load in i.loads], limit("plain_steel")
    thick = [n for n, b in enumerate(plain) if not b.wound and b.material == "steel" and b.gauge > most]
    if thick:
        yield fact("thick-plain-steel", "strings.set", most=most, strings=numbers(thick))
