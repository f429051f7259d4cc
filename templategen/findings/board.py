"""What a person should know about the plan of the board and its surface."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from templategen.errors import key_text
from templategen.findings.catalogue import Fact, fact
from templategen.findings.limits import limit
from templategen.findings.naming import of_string
from templategen.instrument.model import Instrument


def board_facts(i: Instrument) -> Iterator[Fact]:
    yield from _idle(i)
    yield from _scale(i)
    yield from _outline(i)
    yield from _near_edge(i)
    yield from _frets(i)
    yield from _cone(i)


def _idle(i: Instrument) -> Iterator[Fact]:
    """Keys that are given but change nothing: told, so that nothing is silently ignored."""
    for key, reason in i.idle:
        yield fact("key-changes-nothing", key_text(key), name=key_text(key), reason=reason)


def _scale(i: Instrument) -> Iterator[Fact]:
    off = np.abs(i.plan.crossing_cents)
    if off.max() > limit("inner_string_cents"):
        row, string = (int(n) for n in np.unravel_index(int(off.argmax()), off.shape))
        yield fact(
            "inner-string-off",
            "bridge.spacing",
            string=of_string(i, string),
            fret=i.plan.numbers[row],
            cents=i.plan.crossing_cents[row, string],
        )
    slant, most = abs(i.plan.nut_slant_deg), limit("nut_slant")
    if slant > most:
        yield fact("nut-slant", "scale.square_fret", slant=slant, most=most)


def _outline(i: Instrument) -> Iterator[Fact]:
    """The last slot's farther wall against the board's end, at both edges."""
    plan = i.plan
    run = plan.treble_ends[-1] - plan.bass_ends[-1]
    half = i.spec.fret_wire.slot_width / 2 * float(np.hypot(*run)) / abs(float(run[1]))
    ends = np.concatenate([plan.bass_ends[-1:, 0], plan.treble_ends[-1:, 0]])
    beyond = float((ends + half - plan.outline[1:3, 0]).max())
    if beyond > 0:
        yield fact("last-fret-beyond-end", "fingerboard.beyond_last_fret", beyond=beyond)


def _near_edge(i: Instrument) -> Iterator[Fact]:
    plan, least = i.plan, limit("outer_string_to_edge")
    for side, name, string, corner in ((-plan.side, "bass", -1, 1), (plan.side, "treble", 0, 2)):
        x = np.array([plan.string_nut[string, 0], max(plan.outline[corner, 0], plan.crossings[-1, string, 0])])
        y = np.array([plan.string_at(at)[string] for at in x])
        room = plan.taper.width(x) / 2 - side * y - plan.gauges[string] / 2
        if room.min() < least:
            at_nut = room.argmin() == 0
            yield fact(
                "string-near-edge",
                "nut.edge_margin" if at_nut else "bridge.string_spread",
                side=name,
                room=room.min(),
                where="nut" if at_nut else "end",
                least=least,
            )


def _frets(i: Instrument) -> Iterator[Fact]:
    plan, crown = i.plan, i.spec.fret_wire.crown_width
    gaps = np.minimum(np.diff(plan.bass_ends[:, 0]), np.diff(plan.treble_ends[:, 0]))
    if len(gaps) and gaps.min() < crown:
        row = int(gaps.argmin())
        yield fact(
            "frets-closer-than-crown",
            "fret_wire.crown_width",
            frets=[int(n) for n in plan.numbers[row : row + 2]],
            gap=gaps[row],
            crown=crown,
        )
    wood, least = i.frets.wood_under_slot_at_edge, limit("wood_under_slot")
    if 0 < wood.min() < least:
        row = int(wood.argmin())
        yield fact(
            "little-wood-under-slot", "fingerboard.thickness", wood=wood[row], fret=plan.numbers[row], least=least
        )


def _cone(i: Instrument) -> Iterator[Fact]:
    law, plan = i.board.law, i.plan
    if not law.conical:
        return
    key = "fingerboard.radius_at_last_fret"
    end = float(law.radius(float(plan.centre_x[-1])))
    if end < law.at_nut:
        yield fact("radius-shrinks", key, at_nut=law.at_nut, at_last=end)
    proud, where = outer_string_bow(i)
    spread_nut = abs(plan.string_nut[0, 1] - plan.string_nut[-1, 1])
    spread_last = abs(plan.crossings[-1, 0, 1] - plan.crossings[-1, -1, 1])
    if abs(proud) > limit("cone_under_string"):
        yield fact(
            "cone-off-string-taper",
            key,
            side=where,
            off=abs(proud),
            way="above" if proud > 0 else "below",
            match=law.at_nut * spread_last / spread_nut,
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
