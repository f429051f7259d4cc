"""What a person should know about a nut: shares, walls, ends, wood, angles, seat, and what the shop's tools can do."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from templategen.findings.catalogue import Fact, fact
from templategen.findings.limits import limit
from templategen.findings.naming import cases, numbers, of_string
from templategen.instrument.model import Instrument
from templategen.instrument.nut.nut import LEAST_ROUNDING, LEAST_SHARE, MOST_SHARE, SHELF_LIFT
from templategen.instrument.nut.slots import usual_clearance

_FELT = 1e-6  # what is exceeded by less is met


def nut_facts(i: Instrument) -> Iterator[Fact]:
    yield from _shares(i)
    yield from _walls(i)
    yield from _ends(i)
    yield from _wood(i)
    yield from _angles(i)
    yield from _seat(i)
    yield from _groove(i)
    yield from _edges(i)
    yield from _files(i)
    yield from _cutters(i)


def _shares(i: Instrument) -> Iterator[Fact]:
    nut, gauges, least = i.nut, i.plan.gauges, i.spec.nut.min_slot_depth
    low = np.maximum(LEAST_SHARE * gauges, least)
    above = nut.depth <= 0
    if above.any():
        strings = cases(i, np.flatnonzero(above), above=-nut.depth)
        yield fact("string-above-nut", "nut.string_depth", strings=strings)
    outside = np.flatnonzero(((nut.depth < low - _FELT) | (nut.depth > MOST_SHARE * gauges + _FELT)) & ~above)
    if len(outside):
        yield fact(
            "share-in-slot",
            "nut.string_depth",
            low=LEAST_SHARE,
            high=MOST_SHARE,
            least=least,
            strings=cases(i, outside, depth=nut.depth, share=nut.share, want=nut.want_depth / gauges),
        )
    most = limit("slot_depth_gauges")
    deep = np.flatnonzero(nut.share > most)
    if len(deep):
        yield fact("slot-too-deep", "nut.string_depth", most=most, strings=cases(i, deep, depth=nut.depth))


def _walls(i: Instrument) -> Iterator[Fact]:
    """Judged at the front and at the back face, square to the slots; one finding inside courses, one between them."""
    nut, gauges = i.nut, i.plan.gauges
    course = {string: n for n, strings in enumerate(i.plan.courses) for string in strings}
    share, least = limit("nut_wall_gauges"), limit("nut_wall")
    need = np.maximum(share * np.minimum(gauges[:-1], gauges[1:]), least)
    thin = np.flatnonzero(nut.walls < need).tolist()
    for inside, key in ((True, "nut.course_gap"), (False, "nut.spacing")):
        walls = [
            {"one": of_string(i, n), "other": of_string(i, n + 1), "wall": nut.walls[n], "need": need[n]}
            for n in thin
            if (course[n] == course[n + 1]) == inside
        ]
        if walls:
            yield fact("thin-wall", key, share=share, least=least, walls=walls)


def _ends(i: Instrument) -> Iterator[Fact]:
    least = limit("nut_end_wall")
    for room, side in zip(i.nut.end_walls, ("treble", "bass"), strict=True):
        if room < least:
            yield fact("slot-near-end", "nut.edge_margin", side=side, room=room, least=least)


def _wood(i: Instrument) -> Iterator[Fact]:
    nut, least = i.nut, limit("wood_under_slot")
    if nut.floor_at_back.min() < least:
        row = int(nut.floor_at_back.argmin())
        yield fact(
            "floor-low-at-back",
            "nut.slot_back_angle",
            string=of_string(i, row),
            floor=nut.floor_at_back[row],
            least=least,
        )
    over = np.flatnonzero(nut.forward > nut.body_forward)
    if len(over):
        thin = nut.floor[over] - nut.board_height(nut.along[over], -nut.forward[over]) - SHELF_LIFT
        row = int(over[thin.argmin()])
        if thin.min() < least:
            yield fact("thin-shelf", "nut.compensation_by", string=of_string(i, row), shelf=thin.min(), least=least)


def _angles(i: Instrument) -> Iterator[Fact]:
    nut = i.nut
    back, breaks = nut.back_angle_deg, nut.break_angle_deg
    above = breaks < -_FELT
    if above.any():
        yield fact("posts-above-nut", "headstock.posts", strings=cases(i, np.flatnonzero(above), rise=-breaks))
    known = np.where(np.isnan(breaks), np.inf, breaks)
    lifted = np.flatnonzero((back > known + _FELT) & ~above)
    if len(lifted):
        strings = cases(i, lifted, back=back, breaks=breaks)
        yield fact("back-angle-over-break", "nut.slot_back_angle", strings=strings)
    least, most = limit("back_angle"), limit("side_angle")
    level = np.flatnonzero((back < least - _FELT) & ~above)
    if len(level):
        yield fact("back-angle-small", "nut.slot_back_angle", least=least, strings=cases(i, level, back=back))
    side = np.abs(np.nan_to_num(nut.side_angle_deg))
    turned = np.flatnonzero(side > most + _FELT)
    if len(turned):
        yield fact("side-angle", "headstock.posts", most=most, strings=cases(i, turned, side=side))


def _seat(i: Instrument) -> Iterator[Fact]:
    nut = i.nut
    if not np.isinf(nut.seat_radius):
        yield fact("curved-seat", "nut.seat_radius", radius=nut.seat_radius)
    if nut.seat_angle_deg:
        yield fact("slanted-seat", "nut.seat_angle", angle=abs(nut.seat_angle_deg))


def _groove(i: Instrument) -> Iterator[Fact]:
    """A flat seat that stands higher than the board's edges has nothing to stand on there."""
    nut = i.nut
    ends, back = np.array([nut.front_ends, nut.back_ends]), np.array([[0.0], [nut.thickness]])
    above = float((nut.seat_height(ends, back) - nut.board_height(ends, back)).max())
    if above > 0:
        yield fact("seat-above-edge", "nut.seat_depth", above=above)


def _edges(i: Instrument) -> Iterator[Fact]:
    asked, made = i.spec.nut.edge_rounding, i.nut.rounding
    if made < asked:
        why = "room" if made else "small"
        yield fact("less-rounding", "nut.edge_rounding", made=made, asked=asked, why=why, least=LEAST_ROUNDING)


def _files(i: Instrument) -> Iterator[Fact]:
    lacking, files = [], i.shop.nut_file_widths
    for row, file in enumerate(i.nut.file):
        if file is not None or not files:
            continue
        gauge, width = float(i.plan.gauges[row]), float(i.nut.width[row])
        nearest = min(files, key=lambda f: abs(f - (gauge + width) / 2))
        leaves = nearest - gauge if abs(nearest - gauge) > _FELT else 0.0
        lacking.append(
            {
                "string": of_string(i, row),
                "gauge": gauge,
                "width": width,
                "nearest": nearest,
                "leaves": leaves,
                "string_then": "binds" if leaves < 0 else "free",
            }
        )
    if lacking:
        yield fact("no-nut-file", "shop.nut_file_widths", strings=lacking)
    for code, cut in (("nut-file-tight", _under_range(i)), ("nut-file-wide", _over_width(i))):
        if cut:
            yield fact(code, "shop.nut_file_widths", strings=cut)


def _under_range(i: Instrument) -> list[dict[str, Any]]:
    """Strings whose file leaves them less than is usual, nor as little as the spec asks for."""
    found = []
    for n, file in enumerate(i.nut.file):
        room = usual_clearance(i.spec.strings.set[n].wound)
        gauge = float(i.plan.gauges[n])
        if file is not None and file - gauge < min(room[0], float(i.nut.width[n]) - gauge) - _FELT:
            case = {"leaves": file - gauge, "low": room[0], "high": room[1], "width": i.nut.width[n]}
            found.append({"string": of_string(i, n), "file": file} | case)
    return found


def _over_width(i: Instrument) -> list[dict[str, Any]]:
    """Strings whose file cuts a slot wider than asked for, though no wider than is usual."""
    return [
        {"string": of_string(i, n), "file": file, "leaves": file - float(i.plan.gauges[n]), "width": i.nut.width[n]}
        for n, file in enumerate(i.nut.file)
        if file is not None and file > i.nut.width[n] + _FELT
    ]


def _cutters(i: Instrument) -> Iterator[Fact]:
    """Which slots of the slotted nut are milled, with what, and which stay pilots."""
    nut = i.nut
    rows = range(len(nut.width))
    full, pilots = ([n for n in rows if nut.full_width[n] == wanted] for wanted in (True, False))
    bare = [n for n in full if nut.cutter[n] is None]
    if bare:
        yield fact("no-ball-cutter", "nut.slot_form", strings=numbers(bare), width=nut.width[bare].min())
    cutters = sorted({cutter for n in full if (cutter := nut.cutter[n]) is not None})
    milled = [{"strings": numbers(n for n in full if nut.cutter[n] == each), "cutter": each} for each in cutters]
    if pilots:
        yield fact(
            "pilot-slots",
            "nut.slot_form",
            strings=numbers(pilots),
            angle=nut.pilots[0].angle_deg,
            whole=milled,
            rest="milled" if milled else "none",
        )
        lost = [n for n in pilots if nut.pilots[n].depth <= nut.top_allowance + _FELT]
        if lost:
            yield fact(
                "pilots-lost-if-dressed",
                "nut.top_allowance",
                strings=numbers(lost),
                top=nut.top_allowance,
                deep=max(nut.pilots[n].depth for n in lost),
            )
    elif milled:
        yield fact("milled-slots", "nut.slot_form", whole=milled)
