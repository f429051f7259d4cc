"""Findings: what can be made but somebody should know, with the number and what to do.

Ranges by kind of instrument are common practice, no source: they tell what is unusual, never what is wrong.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Literal

import numpy as np

from templategen.errors import Finding, key_text
from templategen.instrument.block import block_findings
from templategen.instrument.nut import LEAST_SHARE, MOST_SHARE
from templategen.instrument.reradius_findings import reradius_findings
from templategen.spec.models import NotchedStrip
from templategen.units import both_units, mm_text

if TYPE_CHECKING:
    from templategen.instrument.model import Instrument

LEAST_EDGE = 2.3  # outer string to board edge, common practice, no source
LEAST_WOOD = 0.8  # under a slot at the edge and under a nut slot
LEAST_WEB = 1.2  # between notches of a strip, common practice, no source
OTHER_WIDTH = 0.015  # mm that a saw may differ from the slot before anybody is told
NARROWER = 0.025  # the same of an end mill
LEAST_FELT = 5e-4  # mm below which a gap is none: the least that is printed
CENTS_OFF = 1.5  # an inner string at a slanted fret, design limit of this project

# (bass low, bass high, treble low, treble high): common practice, no source
CLEARANCE = {
    "electric": (0.25, 0.50, 0.15, 0.35),
    "steel_acoustic": (0.40, 0.65, 0.30, 0.50),
    "classical": (0.70, 1.00, 0.55, 0.80),
    "bass": (0.45, 0.75, 0.40, 0.60),
    "ukulele": (0.40, 0.65, 0.40, 0.65),
    "mandolin": (0.25, 0.45, 0.25, 0.45),
}
PRESSED = {
    "electric": (0.02, 0.13),
    "steel_acoustic": (0.05, 0.15),
    "classical": (0.10, 0.25),
    "bass": (0.08, 0.20),
    "ukulele": (0.05, 0.13),
}
ACTION = {
    "electric": (1.6, 2.2, 1.2, 1.8),
    "steel_acoustic": (2.2, 2.8, 1.7, 2.3),
    "classical": (3.5, 4.2, 2.7, 3.3),
    "bass": (2.0, 3.0, 1.6, 2.4),
    "ukulele": (2.0, 3.0, 2.0, 3.0),
    "mandolin": (1.3, 2.0, 1.3, 2.0),
}
RELIEF = {
    "electric": (0.10, 0.30),
    "steel_acoustic": (0.10, 0.30),
    "bass": (0.20, 0.50),
    "classical": (0.0, 0.35),
    "mandolin": (0.0, 0.15),
    "ukulele": (0.0, 0.10),
}


def string_name(instrument: Instrument, i: int) -> str:
    """``"string 6 (E2)"``."""
    return f"string {i + 1} ({instrument.spec.strings.set[i].note.text})"


def capital(text: str) -> str:
    """The first letter alone made large: a pitch name keeps its own."""
    return text[:1].upper() + text[1:]


def collect(instrument: Instrument) -> tuple[Finding, ...]:
    """All findings of an instrument, board first, then wire, nut and setup."""
    found: list[Finding] = []
    for group in (
        _idle,
        _scale,
        _board,
        _wire,
        _slot_tools,
        _nut,
        _nut_tools,
        _setup,
        block_findings,
        reradius_findings,
    ):
        found.extend(group(instrument))
    found.extend(instrument.string_findings)
    return tuple(found)


def _idle(i: Instrument) -> Iterator[Finding]:
    """Keys that are given but change nothing: told, so that nothing is silently ignored."""
    for key, reason in i.idle:
        yield Finding("key-changes-nothing", "note", key_text(key), f"{key_text(key)} changes nothing: {reason}.")


def _scale(i: Instrument) -> Iterator[Finding]:
    off = np.abs(i.plan.crossing_cents)
    if off.max() > CENTS_OFF:
        row, string = np.unravel_index(int(off.argmax()), off.shape)
        yield Finding(
            "inner-string-off",
            "decide",
            "bridge.spacing",
            f"{capital(string_name(i, int(string)))} meets fret {i.plan.numbers[row]:.0f} "
            f"{i.plan.crossing_cents[row, string]:+.2f} cents off its own place; the same spacing law at nut and "
            "saddle brings it nearer.",
        )
    if abs(i.plan.nut_slant_deg) > 20:
        yield Finding(
            "nut-slant",
            "decide",
            "scale.square_fret",
            f"The nut stands {abs(i.plan.nut_slant_deg):.1f}° off square; more than 20° is hard to slot and to play. "
            "A square fret nearer the nut, or scales nearer each other, lessens it.",
        )


def _board(i: Instrument) -> Iterator[Finding]:
    plan = i.plan
    ends = np.concatenate([plan.bass_ends[-1:, 0], plan.treble_ends[-1:, 0]])
    corners = plan.outline[1:3, 0]
    beyond = float((ends - corners).max())
    if beyond > 0:
        yield Finding(
            "last-fret-beyond-end",
            "decide",
            "fingerboard.beyond_last_fret",
            f"The last fret reaches {beyond:.2f} mm past the board's end. A longer fingerboard.beyond_last_fret, or "
            'fingerboard.end = "parallel", keeps it on the wood.',
        )
    for side, name, string, corner in ((-plan.side, "bass", -1, 1), (plan.side, "treble", 0, 2)):
        x = np.array([plan.string_nut[string, 0], max(plan.outline[corner, 0], plan.crossings[-1, string, 0])])
        y = np.array([plan.string_at(at)[string] for at in x])
        room = plan.taper.width(x) / 2 - side * y - plan.gauges[string] / 2
        if room.min() < LEAST_EDGE:
            where = "at the nut" if room.argmin() == 0 else "at the board's end"
            yield Finding(
                "string-near-edge",
                "decide",
                "nut.edge_margin" if room.argmin() == 0 else "bridge.string_spread",
                f"The {name} outer string lies {room.min():.2f} mm from the board's edge {where}; under "
                f"{LEAST_EDGE} mm it tends to slip off. Less spread, a wider board or a shifted bridge gives room.",
            )
    crown = i.spec.fret_wire.crown_width
    gaps = np.minimum(np.diff(plan.bass_ends[:, 0]), np.diff(plan.treble_ends[:, 0]))
    if len(gaps) and gaps.min() < crown:
        row = int(gaps.argmin())
        yield Finding(
            "frets-closer-than-crown",
            "decide",
            "fret_wire.crown_width",
            f"Frets {plan.numbers[row]:.0f} and {plan.numbers[row + 1]:.0f} are {gaps[row]:.2f} mm apart and the crown "
            f"is {crown:.2f} mm wide: they touch. A narrower wire or fewer frets.",
        )
    wood = i.frets.wood_under_slot_at_edge
    if 0 < wood.min() < LEAST_WOOD:
        row = int(wood.argmin())
        yield Finding(
            "little-wood-under-slot",
            "decide",
            "fingerboard.thickness",
            f"Only {wood.min():.2f} mm of wood is left under the slot at the edge of fret {plan.numbers[row]:.0f}; "
            f"under {LEAST_WOOD} mm the board may break out or the neck weaken. Shallower slots, a shorter tang or a "
            "thicker board.",
        )
    yield from _cone(i)


def _cone(i: Instrument) -> Iterator[Finding]:
    law, plan = i.board.law, i.plan
    if not law.conical:
        return
    last = float(plan.centre_x[-1])
    end = float(law.radius(last))
    if end < law.at_nut:
        yield Finding(
            "radius-shrinks",
            "decide",
            "fingerboard.radius_at_last_fret",
            f"The radius falls from {both_units(law.at_nut)} at the nut to {both_units(end)} at the last fret; "
            "boards usually flatten toward the body. Are the two values the right way round?",
        )
    proud, where = outer_string_bow(i)
    spread_nut = abs(plan.string_nut[0, 1] - plan.string_nut[-1, 1])
    spread_last = abs(plan.crossings[-1, 0, 1] - plan.crossings[-1, -1, 1])
    match = law.at_nut * spread_last / spread_nut
    if abs(proud) > 0.005:
        yield Finding(
            "cone-off-string-taper",
            "note",
            "fingerboard.radius_at_last_fret",
            f"Under the outer {where} string the board stands {abs(proud):.3f} mm "
            f"{'above' if proud > 0 else 'below'} a straight line from the nut to the last fret; "
            f"{both_units(match)} at the last fret would match the strings' taper and be straight.",
        )


def outer_string_bow(i: Instrument) -> tuple[float, str]:
    """How far the wood stands off the straight line under an outer string, nut to last fret: the largest, signed."""
    worst, name = 0.0, "bass"
    for string, side in ((-1, "bass"), (0, "treble")):
        start, end = i.plan.string_nut[string], i.plan.crossings[-1, string]
        share = np.linspace(0, 1, 401)
        points = start + share[:, None] * (end - start)
        z = i.board.z(points[:, 0], points[:, 1])
        off = z - (z[0] + share * (z[-1] - z[0]))
        peak = float(off[np.abs(off).argmax()])
        if abs(peak) > abs(worst):
            worst, name = peak, side
    return worst, name


def _wire(i: Instrument) -> Iterator[Finding]:
    wire = i.spec.fret_wire
    if wire.slot_width < wire.tang_thickness:
        yield Finding(
            "slot-narrower-than-tang",
            "decide",
            "fret_wire.slot_width",
            f"The slot is {wire.slot_width:.2f} mm wide and the bare tang {wire.tang_thickness:.2f} mm thick: the fret "
            "would wedge the neck into a back bow. A wider slot.",
        )
    if wire.slot_width > wire.barb_width - 0.10:
        yield Finding(
            "slot-too-wide-for-barbs",
            "decide",
            "fret_wire.slot_width",
            f"The slot is {wire.slot_width:.2f} mm wide and the barbs reach {wire.barb_width:.2f} mm: they would not "
            "hold (common practice: barbs 0.15 to 0.35 mm over the slot). A narrower slot, or glue and clamp.",
        )
    stick, longest = i.shop.wire_stock_length, float(i.frets.wire_cut.max())
    if stick is not None and longest > stick:
        yield Finding(
            "wire-longer-than-stick",
            "decide",
            "shop.wire_stock_length",
            f"The longest piece of wire is {longest:.2f} mm and a stick {stick:.2f} mm: there is no cut list. Longer "
            "sticks, or less fret_wire.overhang.",
        )
    kerfs = i.shop.saw_kerfs
    if kerfs and min(abs(k - wire.slot_width) for k in kerfs) > OTHER_WIDTH:
        nearest = min(kerfs, key=lambda k: abs(k - wire.slot_width))
        yield Finding(
            "no-saw-for-slot",
            "decide",
            "fret_wire.slot_width",
            f"No saw of the shop cuts {wire.slot_width:.2f} mm; the nearest cuts {nearest:.2f} mm.",
        )


def _slot_tools(i: Instrument) -> Iterator[Finding]:
    width, kerf = i.spec.fret_wire.slot_width, i.shop.beam_kerf
    if kerf >= width:
        yield Finding(
            "beam-wider-than-slot",
            "note",
            "shop.beam_kerf",
            f"The beam takes {kerf:.2f} mm and the slot is to be {width:.2f} mm wide: slot-outline has single lines, "
            f"and slots cut from it come out {kerf - width:.2f} mm too wide.",
        )
    cutter = i.slot_cutter
    if i.shop.end_mills and not cutter.owned:
        yield Finding(
            "no-end-mill-for-slot",
            "note",
            "shop.end_mills",
            f"No flat end mill of the shop is between the bare tang, {i.spec.fret_wire.tang_thickness:.2f} mm, and the "
            f"slot, {width:.2f} mm: slot-path is for one of {width:.2f} mm. Buy that, or saw the slots.",
        )
    elif cutter.owned and width - cutter.diameter > NARROWER:
        yield Finding(
            "end-mill-narrower-than-slot",
            "note",
            "shop.end_mills",
            f"slot-path is for the shop's end mill of {cutter.diameter:.3f} mm, and the slots come out "
            f"{width - cutter.diameter:.3f} mm narrower than the {width:.3f} mm asked for.",
        )
    asked = i.spec.notched_strip
    strip = asked or NotchedStrip()
    for side in i.notches:
        webs = side.webs(strip)
        if webs.min() < LEAST_WEB:
            row = int(webs.argmin())
            made = "" if webs.min() > 0 else " They run into each other: no strip is drawn."
            yield Finding(
                "thin-web",
                "decide" if asked else "note",
                "notched_strip.pin",
                f"On the notched strip ({side.side}) {webs.min():.2f} mm is left between the notches of "
                f"{notch_name(side.labels[row])} and {notch_name(side.labels[row + 1])}; under {LEAST_WEB} mm the web "
                f"breaks.{made} A thinner notched_strip.pin.",
            )


def notch_name(label: str) -> str:
    return "the nut end" if label == "nut" else f"fret {label}"


def _nut(i: Instrument) -> Iterator[Finding]:
    nut, gauges = i.nut, i.plan.gauges
    for row in range(len(gauges)):
        share = float(nut.share[row])
        low = max(LEAST_SHARE * gauges[row], i.spec.nut.min_slot_depth)
        if not low - 1e-6 <= nut.depth[row] <= MOST_SHARE * gauges[row] + 1e-6:
            yield Finding(
                "share-in-slot",
                "decide",
                "nut.string_depth",
                f"With one arc over all slots, {string_name(i, row)} lies {nut.depth[row]:.2f} mm deep, {share:.2f} of "
                f"its gauge (wanted {nut.want_depth[row] / gauges[row]:.2f}, allowed {LEAST_SHARE} to {MOST_SHARE} and "
                f"at least {i.spec.nut.min_slot_depth:.2f} mm). Other targets at the nut, or file the top by hand.",
            )
        if share > 1.5:
            yield Finding(
                "slot-too-deep",
                "decide",
                "nut.string_depth",
                f"The slot of {string_name(i, row)} is {nut.depth[row]:.2f} mm deep, over 1.5 gauges: strings bind and "
                "ring dull in it.",
            )
    cosines = np.cos(np.radians(nut.direction_deg))
    gaps = np.abs(np.diff(nut.along)) * cosines[1:]
    walls = gaps - (nut.width[1:] + nut.width[:-1]) / 2
    for row, wall in enumerate(walls):
        need = max(1.2 * float(min(gauges[row], gauges[row + 1])), 0.5)
        if wall < need:
            yield Finding(
                "thin-wall",
                "decide",
                "nut.course_gap" if i.spec.strings.courses else "nut.spacing",
                f"Between the slots of {string_name(i, row)} and {string_name(i, row + 1)} only {wall:.2f} mm is left; "
                f"under {need:.2f} mm (1.2 gauges, at least 0.5 mm) the wall chips.",
            )
    ends = nut.front_ends
    for row, end, name in ((0, i.plan.side, "treble"), (-1, -i.plan.side, "bass")):
        edge = ends[1] if end > 0 else ends[0]
        room = end * (edge - nut.along[row]) - nut.width[row] / 2
        if room < 1.5:
            yield Finding(
                "slot-near-end",
                "decide",
                "nut.edge_margin",
                f"The {name} outer slot lies {room:.2f} mm from the end of the nut; under 1.5 mm the end breaks off.",
            )
    low = nut.floor_at_back
    if low.min() < LEAST_WOOD:
        row = int(low.argmin())
        yield Finding(
            "floor-low-at-back",
            "decide",
            "nut.slot_back_angle",
            f"The slot of {string_name(i, row)} leaves the back of the nut {low.min():.2f} mm above the seat; under "
            f"{LEAST_WOOD} mm the nut may split. A smaller back angle or a deeper seat.",
        )
    back, known = nut.back_angle_deg, ~np.isnan(nut.break_angle_deg)
    for row in np.flatnonzero(known & (back > np.nan_to_num(nut.break_angle_deg) + 1e-9)).tolist():
        yield Finding(
            "back-angle-over-break",
            "decide",
            "nut.slot_back_angle",
            f"The slot of {string_name(i, row)} drops {back[row]:.1f}° but the string breaks only "
            f"{nut.break_angle_deg[row]:.1f}°: it would lift off the slot's back and buzz at the front edge.",
        )
    for row in np.flatnonzero(back < 3).tolist():
        yield Finding(
            "back-angle-small",
            "decide",
            "nut.slot_back_angle",
            f"The slot of {string_name(i, row)} drops only {back[row]:.1f}° toward the tuners; under 3° the "
            "string may not rest on the front edge.",
        )
    side = np.abs(np.nan_to_num(nut.side_angle_deg))
    for row in np.flatnonzero(side > 10).tolist():
        yield Finding(
            "side-angle",
            "decide",
            "headstock.posts",
            f"{capital(string_name(i, row))} turns {side[row]:.1f}° sideways behind the nut; over 10° it saws "
            'at the slot\'s wall. nut.slot_aim toward "post" spreads the turn.',
        )
    if not np.isinf(nut.seat_radius):
        yield Finding(
            "curved-seat",
            "note",
            "nut.seat_radius",
            f"The seat is curved to {both_units(nut.seat_radius)}: blank and slotted nut keep a flat datum, and the "
            "curve is left to the bench.",
        )


def _nut_tools(i: Instrument) -> Iterator[Finding]:
    for row, file in enumerate(i.nut.file):
        if file is not None or not i.shop.nut_file_widths:
            continue
        gauge, width = float(i.plan.gauges[row]), float(i.nut.width[row])
        nearest = min(i.shop.nut_file_widths, key=lambda f: abs(f - (gauge + width) / 2))
        leaves = nearest - gauge
        yield Finding(
            "no-nut-file",
            "note",
            "shop.nut_file_widths",
            f"No nut file of the shop cuts {gauge:.3f} to {width:.3f} mm for {string_name(i, row)}; the nearest, "
            f"{both_units(nearest, 3)}, leaves {leaves:+.3f} mm round the string"
            + (" and the string would bind." if leaves < 0 else "."),
        )
    full = [n for n, f in enumerate(i.nut.full_width) if f]
    pilots = [n for n, f in enumerate(i.nut.full_width) if not f]
    if pilots:
        names = ", ".join(str(n + 1) for n in pilots)
        milled = ", ".join(str(n + 1) for n in full) or "none"
        yield Finding(
            "pilot-slots",
            "note",
            "nut.slot_form",
            f"On the slotted nut the slots of strings {names} are pilot grooves for saw and file; milled to full width "
            f"with a ball cutter of the shop: {milled}.",
        )


def _setup(i: Instrument) -> Iterator[Finding]:
    line, kind = i.line, i.spec.kind
    given = (i.spec.setup.first_fret_clearance, i.spec.setup.pressed_gap, i.spec.setup.nut_over_crowns)
    if i.spec.scale.zero_fret and any(way is not None for way in given):
        yield Finding(
            "zero-fret-sets-height",
            "note",
            "setup",
            "The zero fret's crown fixes the string's height at the nut; the height given in [setup] is not used.",
        )
    for row in np.flatnonzero(line.pressed_gap < -LEAST_FELT).tolist():
        yield Finding(
            "negative-pressed-gap",
            "decide",
            "setup",
            f"{capital(string_name(i, row))} would rest on the first crown when held at the second "
            f"(pressed gap {line.pressed_gap[row]:.3f} mm): the open string buzzes. Raise the floor.",
        )
    if kind is None:
        return
    last = len(i.plan.gauges) - 1
    for values, ranges, key, what in (
        (line.first_fret_clearance, CLEARANCE, "setup.first_fret_clearance", "first-fret clearance"),
        (i.action_at_octave, ACTION, "setup.action", "action at the octave"),
    ):
        if kind not in ranges or values is None:
            continue
        bass_low, bass_high, treble_low, treble_high = ranges[kind]
        for row, low, high in ((last, bass_low, bass_high), (0, treble_low, treble_high)):
            yield from _outside(i, row, float(values[row]), low, high, key, what)
    if kind in PRESSED:
        for row in (last, 0):
            if line.pressed_gap[row] >= 0:
                gap = float(line.pressed_gap[row])
                yield from _outside(i, row, gap, *PRESSED[kind], "setup", "pressed gap")
    low, high = RELIEF[kind]
    if not low <= i.strung.relief <= high:
        yield Finding(
            "unusual-relief",
            "note",
            "setup.relief",
            f"Relief {mm_text(i.strung.relief)} mm; common practice for this kind is {low:.2f} to {high:.2f} mm.",
        )


def _outside(i: Instrument, row: int, value: float, low: float, high: float, key: str, what: str) -> Iterator[Finding]:
    """A note where a value lies outside its range by more than a feeler gauge can tell."""
    slack = 0.005
    if low - slack <= value <= high + slack:
        return
    level: Literal["note", "decide"] = "note"
    yield Finding(
        f"unusual-{what.replace(' ', '-')}",
        level,
        key,
        f"{capital(string_name(i, row))}: {what} {mm_text(value)} mm; common practice for this kind is "
        f"{low:.2f} to {high:.2f} mm.",
    )
