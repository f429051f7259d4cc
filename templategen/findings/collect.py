"""Findings: what can be made but somebody should know, with the number and what to do."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from templategen.errors import Finding, key_text
from templategen.findings.nut import nut_findings
from templategen.findings.reradius import reradius_findings
from templategen.findings.setup import setup_findings
from templategen.findings.slips import slip_findings
from templategen.findings.strings import intonation_findings, load_findings
from templategen.findings.tools import block_findings, gauge_findings
from templategen.findings.wording import capital, string_name
from templategen.instrument.board.frets import LEAST_WOOD
from templategen.instrument.model import Instrument
from templategen.repair.model import Bench
from templategen.spec.models import NotchedStrip
from templategen.units import both_units

LEAST_EDGE = 2.3  # outer string to board edge, common practice, no source
LEAST_WEB = 1.2  # between notches of a strip, common practice, no source
OTHER_WIDTH = 0.015  # mm that a saw may differ from the slot before anybody is told
NARROWER = 0.025  # the same of an end mill
CENTS_OFF = 1.5  # an inner string at a slanted fret, design limit of this project


def collect(bench: Bench) -> tuple[Finding, ...]:
    """All findings of an instrument and of what is to be done to it: board first, then wire, nut and setup."""
    instrument = bench.instrument
    found: list[Finding] = []
    for group in (
        _idle,
        _scale,
        _board,
        _wire,
        _slot_tools,
        nut_findings,
        setup_findings,
        slip_findings,
        block_findings,
        gauge_findings,
    ):
        found.extend(group(instrument))
    found.extend(reradius_findings(bench))
    found.extend(load_findings(instrument.loads))
    found.extend(intonation_findings(instrument.spec, instrument.intonation))
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
                f"The {name} outer string lies {room.min():z.2f} mm from the board's edge {where}; under "
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
                f"On the notched strip ({side.side}) {webs.min():z.2f} mm is left between the notches of "
                f"{notch_name(side.labels[row])} and {notch_name(side.labels[row + 1])}; under {LEAST_WEB} mm the web "
                f"breaks.{made} A thinner notched_strip.pin.",
            )


def notch_name(label: str) -> str:
    return "the nut end" if label == "nut" else f"fret {label}"
