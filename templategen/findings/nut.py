"""What a person should know about a nut: shares, walls, ends, wood, angles, seat, and what the shop's tools can do."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from templategen.errors import Finding
from templategen.findings.wording import listed, string_name, with_values
from templategen.instrument.board.frets import LEAST_WOOD
from templategen.instrument.nut.nut import LEAST_SHARE, MOST_SHARE, SHELF_LIFT
from templategen.units import both_units, mm_text

if TYPE_CHECKING:
    from templategen.instrument.model import Instrument

LEAST_END = 1.5  # from an outer slot's wall to the end of the nut
LEAST_WALL, LEAST_WALL_GAUGES = 0.5, 1.2  # between slots: mm, and in gauges of the thinner string beside it
DEEPEST_SHARE = 1.5  # of the gauge; a deeper slot binds and damps
LEAST_BACK_DEG, MOST_SIDE_DEG = 3.0, 10.0
_FELT = 1e-6  # what is exceeded by less is met


def nut_findings(i: Instrument) -> Iterator[Finding]:
    yield from _shares(i)
    yield from _walls(i)
    yield from _wood(i)
    yield from _angles(i)
    yield from _seat(i)
    yield from _groove(i)
    yield from _edges(i)
    yield from _files(i)
    yield from _cutters(i)


def _shares(i: Instrument) -> Iterator[Finding]:
    nut, gauges, least = i.nut, i.plan.gauges, i.spec.nut.min_slot_depth
    low = np.maximum(LEAST_SHARE * gauges, least)
    outside = np.flatnonzero((nut.depth < low - _FELT) | (nut.depth > MOST_SHARE * gauges + _FELT)).tolist()
    if outside:
        said = [
            f"{string_name(i, n)} {mm_text(float(nut.depth[n]))} mm, {mm_text(float(nut.share[n]))} of its gauge "
            f"(wanted {nut.want_depth[n] / gauges[n]:.2f})"
            for n in outside
        ]
        yield Finding(
            "share-in-slot",
            "decide",
            "nut.string_depth",
            f"With one arc over all slots the depth of some strings is outside what is allowed, {LEAST_SHARE} to "
            f"{MOST_SHARE} of the gauge and at least {least:.2f} mm: {'; '.join(said)}. Other targets at the nut, or "
            "file the top by hand.",
        )
    deep = np.flatnonzero(nut.share > DEEPEST_SHARE).tolist()
    if deep:
        yield Finding(
            "slot-too-deep",
            "decide",
            "nut.string_depth",
            f"Slots over {DEEPEST_SHARE} gauges deep: {with_values(i, deep, nut.depth, 'mm')}; strings bind and ring "
            "dull in them. File the top down beside them, or raise the floor.",
        )


def _walls(i: Instrument) -> Iterator[Finding]:
    """Judged at the front and at the back face, square to the slots; one finding inside courses, one between them."""
    nut, gauges = i.nut, i.plan.gauges
    course = {string: n for n, strings in enumerate(i.plan.courses) for string in strings}
    need = np.maximum(LEAST_WALL_GAUGES * np.minimum(gauges[:-1], gauges[1:]), LEAST_WALL)
    thin = np.flatnonzero(nut.walls < need).tolist()
    for inside, key in ((True, "nut.course_gap"), (False, "nut.spacing")):
        said = [
            f"{string_name(i, n)} and {string_name(i, n + 1)} {mm_text(float(nut.walls[n]))} mm (under {need[n]:.2f})"
            for n in thin
            if (course[n] == course[n + 1]) == inside
        ]
        if said:
            yield Finding(
                "thin-wall",
                "decide",
                key,
                f"Walls between slots so thin that they chip (limit in brackets: {LEAST_WALL_GAUGES} of the thinner "
                f"string, at least {LEAST_WALL} mm): {'; '.join(said)}. More room between them.",
            )
    for room, name in zip(nut.end_walls, ("treble", "bass"), strict=True):
        if room < LEAST_END:
            yield Finding(
                "slot-near-end",
                "decide",
                "nut.edge_margin",
                f"The {name} outer slot lies {room:z.2f} mm from the end of the nut; under {LEAST_END} mm the end "
                "breaks off. A wider margin.",
            )


def _wood(i: Instrument) -> Iterator[Finding]:
    nut = i.nut
    if nut.floor_at_back.min() < LEAST_WOOD:
        row = int(nut.floor_at_back.argmin())
        yield Finding(
            "floor-low-at-back",
            "decide",
            "nut.slot_back_angle",
            f"The slot of {string_name(i, row)} leaves the back of the nut {nut.floor_at_back[row]:z.2f} mm above the "
            f"seat; under {LEAST_WOOD} mm the nut may split. A smaller back angle or a deeper seat.",
        )
    over = np.flatnonzero(nut.forward > nut.body_forward)
    if len(over):
        thin = nut.floor[over] - nut.board_height(nut.along[over], -nut.forward[over]) - SHELF_LIFT
        row = int(over[thin.argmin()])
        if thin.min() < LEAST_WOOD:
            yield Finding(
                "thin-shelf",
                "decide",
                "nut.compensation_by",
                f"The shelf under the slot of {string_name(i, row)} is {thin.min():z.2f} mm thick; under "
                f"{LEAST_WOOD} mm it breaks off. "
                'Less compensation there, or nut.compensation_by = "board".',
            )


def _angles(i: Instrument) -> Iterator[Finding]:
    nut = i.nut
    back, breaks = nut.back_angle_deg, nut.break_angle_deg
    above = breaks < -_FELT
    if above.any():
        rows = np.flatnonzero(above).tolist()
        yield Finding(
            "posts-above-nut",
            "decide",
            "headstock.posts",
            f"Strings rise behind the nut instead of falling: {with_values(i, rows, -breaks, '°', 1)}. They would lift "
            "out of their slots. z of a post counts from the board's surface at the nut and is negative below it.",
        )
    known = np.where(np.isnan(breaks), np.inf, breaks)
    lifted = np.flatnonzero((back > known + _FELT) & ~above).tolist()
    if lifted:
        said = [f"{string_name(i, n)} {back[n]:.1f}° against {breaks[n]:.1f}°" for n in lifted]
        yield Finding(
            "back-angle-over-break",
            "decide",
            "nut.slot_back_angle",
            f"Slots drop more than their strings break: {', '.join(said)}. A string would lift off the slot's back and "
            "buzz at the front edge. A smaller back angle, or lower posts.",
        )
    level = np.flatnonzero((back < LEAST_BACK_DEG - _FELT) & ~above).tolist()
    if level:
        yield Finding(
            "back-angle-small",
            "decide",
            "nut.slot_back_angle",
            f"Slots drop less than {LEAST_BACK_DEG:g}° toward the tuners: {with_values(i, level, back, '°', 1)}. Their "
            "strings may not rest on the front edge. A larger back angle.",
        )
    side = np.abs(np.nan_to_num(nut.side_angle_deg))
    turned = np.flatnonzero(side > MOST_SIDE_DEG + _FELT).tolist()
    if turned:
        yield Finding(
            "side-angle",
            "decide",
            "headstock.posts",
            f"Strings turn more than {MOST_SIDE_DEG:g}° sideways behind the nut and saw at the slot's wall: "
            f'{with_values(i, turned, side, "°", 1)}. nut.slot_aim toward "post" spreads the turn.',
        )


def _seat(i: Instrument) -> Iterator[Finding]:
    nut = i.nut
    if not np.isinf(nut.seat_radius):
        yield Finding(
            "curved-seat",
            "note",
            "nut.seat_radius",
            f"The seat is curved to {both_units(nut.seat_radius)}: blank and slotted nut keep a flat datum, and the "
            "curve is left to the bench.",
        )
    if nut.seat_angle_deg:
        yield Finding(
            "slanted-seat",
            "note",
            "nut.seat_angle",
            f"The seat slants {abs(nut.seat_angle_deg):.1f}°: blank and slotted nut keep a flat datum, and the slant "
            "is left to the bench.",
        )


def _groove(i: Instrument) -> Iterator[Finding]:
    """A flat seat that stands higher than the board's edges has nothing to stand on there."""
    nut = i.nut
    ends, back = np.array([nut.front_ends, nut.back_ends]), np.array([[0.0], [nut.thickness]])
    above = float((nut.seat_height(ends, back) - nut.board_height(ends, back)).max())
    if above > 0:
        yield Finding(
            "seat-above-edge",
            "decide",
            "nut.seat_depth",
            f"At its ends the seat stands {above:.2f} mm above the board: nothing is left there for the nut to stand "
            'in. A deeper seat, or nut.seat_radius = "board".',
        )


def _edges(i: Instrument) -> Iterator[Finding]:
    asked, made = i.spec.nut.edge_rounding, i.nut.rounding
    if made < asked:
        yield Finding(
            "less-rounding",
            "note",
            "nut.edge_rounding",
            f"Back edge and ends are eased R {made:.2f} instead of {asked:.2f} mm: half of the nut's thickness or of "
            "its height at the lower end is all that fits.",
        )


def _files(i: Instrument) -> Iterator[Finding]:
    said, widths = [], i.shop.nut_file_widths
    for row, file in enumerate(i.nut.file):
        if file is not None or not widths:
            continue
        gauge, width = float(i.plan.gauges[row]), float(i.nut.width[row])
        nearest = min(widths, key=lambda f: abs(f - (gauge + width) / 2))
        leaves = nearest - gauge
        bound = " and the string would bind" if leaves < 0 else ""
        said.append(
            f"{string_name(i, row)} {gauge:.3f} to {width:.3f} mm, the nearest, {both_units(nearest, 3)}, leaves "
            f"{leaves:+.3f} mm round the string{bound}"
        )
    if said:
        yield Finding(
            "no-nut-file", "note", "shop.nut_file_widths", f"No nut file of the shop cuts the slot: {'; '.join(said)}."
        )


def _cutters(i: Instrument) -> Iterator[Finding]:
    """Which slots of the slotted nut are milled, with what, and which stay pilots."""
    nut = i.nut
    rows = range(len(nut.width))
    full, pilots = ([n for n in rows if nut.full_width[n] == wanted] for wanted in (True, False))
    bare = [n for n in full if nut.cutter[n] is None]
    if bare:
        width = min(float(nut.width[n]) for n in bare)
        yield Finding(
            "no-ball-cutter",
            "decide",
            "nut.slot_form",
            f"The slots of {listed(bare)} are drawn full on the slotted nut, as nut.slot_form asks, but no ball cutter "
            f"of the shop is {width:.3f} mm or less. Get one, or leave them as pilots.",
        )
    milled: dict[float, list[int]] = {}
    for n in full:
        cutter = nut.cutter[n]
        if cutter is not None:
            milled.setdefault(cutter, []).append(n)
    said = [f"{listed(group)} with the ball cutter of {both_units(cutter)}" for cutter, group in sorted(milled.items())]
    whole = f"milled to full width: {'; '.join(said)}" if said else "none is milled to full width"
    if pilots:
        yield Finding(
            "pilot-slots",
            "note",
            "nut.slot_form",
            f"On the slotted nut the slots of {listed(pilots)} are {nut.pilots[0].angle_deg:g}° pilot grooves for saw "
            f"and file; {whole}.",
        )
    elif said:
        yield Finding("milled-slots", "note", "nut.slot_form", f"On the slotted nut all slots are {whole}.")
