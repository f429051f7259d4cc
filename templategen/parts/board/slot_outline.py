"""Every fret slot as a closed outline, in the plan frame: a template in one piece, or slots for the board itself."""

from __future__ import annotations

import math
from functools import partial

import numpy as np

from templategen.drawing.model import Line, Outline, Sketch, point
from templategen.geometry import counterclockwise
from templategen.instrument.arrays import Array
from templategen.instrument.model import Instrument
from templategen.parts.common import cut
from templategen.parts.common.about import CUT_ORDER, THROUGH, About
from templategen.parts.common.product import Product, Sheet
from templategen.parts.common.work import Work
from templategen.units import mm_text

NAME = "slot-outline"


PAST_EDGE = 1.5
"""mm that slots cut into a board run past its edges."""


def make(work: Work) -> tuple[Product, ...]:
    return sheets(work.instrument)


def sheets(i: Instrument) -> tuple[Sheet, ...]:
    """The template that stays in one piece, or slots to cut into a board, finished size and beam size."""
    asked = i.spec.slot_outline
    what = "template of the fret slots" if asked.use == "template" else "fret slots to cut into the board"
    return cut.sheets(NAME, f"{i.spec.title}: {what}", partial(_sketch, i), i.shop, _about(i))


def _sketch(i: Instrument, kerf: float) -> Sketch:
    """Slots and, of a template, the board's outline. A beam as wide as the slot or wider leaves no outline: it runs
    once along the slot's centre line instead."""
    s = cut.sketch()
    slots, width = to_cut(i), i.spec.fret_wire.slot_width
    if kerf < width:
        s.add("SLOT_OUTLINE", *(slot.offset(-kerf / 2) for slot in slots))
    else:
        s.add("SLOT_CENTRE", *(_centre(slot, kerf / 2) for slot in slots))
    if i.spec.slot_outline.use == "template":
        corners = counterclockwise([point(corner) for corner in i.board_outline])
        s.add("OUTLINE", Outline.polygon(corners).offset(kerf / 2))
    return s


def _about(i: Instrument) -> About:
    asked, width, frets = i.spec.slot_outline, mm_text(i.spec.fret_wire.slot_width), i.frets
    template = asked.use == "template"
    if i.shop.beam_kerf >= i.spec.fret_wire.slot_width:
        width += " (the beam takes more: in the beam's file each slot is one pass on its centre)"
    if template:
        ends = f"end {mm_text(_bridge(i))} mm inside both edges, so that the sheet stays in one piece"
    else:
        ends = "end where the binding begins" if _blind(i) else f"run {PAST_EDGE} mm past both edges; no outline is cut"
    stops = frets.depth_stop.tolist()
    same = max(stops) - min(stops) < 0.005
    deep = f"{mm_text(min(stops))} mm" if same else "per fret " + ", ".join(map(mm_text, stops))
    follows = "below the crown line of a flat blank" if frets.flat_floor else "square below the board's surface"
    return About(
        part="template of the fret slots, in one piece" if template else "fret slots, cut into the board itself",
        job=f"{i.spec.title}; {i.trace}",
        material="sheet stock, as thick as the shop likes" if template else "the board",
        thickness=None if template else i.board.thickness,
        side="the board's front up",
        depth=THROUGH if template else f"not through: {deep} {follows}",
        allowances="none",
        datum="centreline at the nut's front edge, x toward the bridge; seen from the front",
        order=CUT_ORDER,
        more=(f"Slots {width} mm wide {ends}.",),
    )


def _blind(i: Instrument) -> bool:
    return i.spec.fingerboard.blind_slot_inset is not None


def _bridge(i: Instrument) -> float:
    """What a template keeps between a slot's end and the edge, mm, square to it."""
    return max(i.spec.slot_outline.bridge, i.spec.fingerboard.blind_slot_inset or 0.0)


def to_cut(i: Instrument) -> tuple[Outline, ...]:
    """The slots in finished size as they are cut: stopping inside the edges on a template, past them on a board."""
    plan, wire = i.plan, i.spec.fret_wire
    if i.spec.slot_outline.use == "board" and _blind(i):
        return outlines(i)
    along, beside = _ways(i)
    if i.spec.slot_outline.use == "board":
        sides = _to_edges(i, along, beside, -PAST_EDGE)
        return tuple(Outline.polygon(point(p) for p in corners) for corners in sides)
    if wire.slot_ends == "round":
        inside = _to_edges(i, along, beside, _bridge(i) + wire.slot_width / 2)
        sides, bulges = _level(inside, plan.bass_ends, along, beside, inside=True), (0.0, 1.0, 0.0, 1.0)
    else:
        sides, bulges = _to_edges(i, along, beside, _bridge(i)), (0.0,) * 4
    return tuple(Outline(tuple(point(p) for p in corners), bulges) for corners in sides)


def _centre(slot: Outline, by: float) -> Line:
    """A slot's centre line, shortened at each end by ``by``."""
    a, b, c, d = slot.points
    (x0, y0), (x1, y1) = ((a[0] + d[0]) / 2, (a[1] + d[1]) / 2), ((b[0] + c[0]) / 2, (b[1] + c[1]) / 2)
    share = by / math.hypot(x1 - x0, y1 - y0)
    dx, dy = share * (x1 - x0), share * (y1 - y0)
    return Line((x0 + dx, y0 + dy), (x1 - dx, y1 - dy))


def _ways(i: Instrument) -> tuple[Array, Array]:
    """Unit vectors along the slots from bass to treble, and half a slot's width to their left; (frets, 2)."""
    run = i.plan.slot_treble_ends - i.plan.slot_bass_ends
    along = run / np.hypot(run[:, 0], run[:, 1])[:, None]
    return along, np.stack([-along[:, 1], along[:, 0]], -1) * i.spec.fret_wire.slot_width / 2


def outlines(i: Instrument) -> tuple[Outline, ...]:
    """The slots of the board as it is made, fret by fret, each ``slot_width`` wide.

    A through slot ends on the board's edges, its ends along them; with round ends the half circles begin past the
    edge, so that the slot is of full width there. A blind slot's length is between its ends over all.
    """
    plan, wire = i.plan, i.spec.fret_wire
    blind, round_ends = _blind(i), wire.slot_ends == "round"
    along, beside = _ways(i)
    if blind:
        back = along * (wire.slot_width / 2 if round_ends else 0.0)
        start, end = plan.slot_bass_ends + back, plan.slot_treble_ends - back
        sides = np.stack([start - beside, end - beside, end + beside, start + beside], 1)
    elif round_ends:
        sides = _level(_to_edges(i, along, beside, 0.0), plan.bass_ends, along, beside)
    else:
        sides = _to_edges(i, along, beside, 0.0)
    bulges = (0.0, 1.0, 0.0, 1.0) if round_ends else (0.0,) * 4
    return tuple(Outline(tuple(point(p) for p in corners), bulges) for corners in sides)


def through(i: Instrument) -> Array:
    """Corners of what through slots take out of the board, (frets, 4, 2), counterclockwise from bass: from edge to
    edge, whatever the ends of their outlines."""
    plan = i.plan
    run = plan.slot_treble_ends - plan.slot_bass_ends
    along = run / np.hypot(run[:, 0], run[:, 1])[:, None]
    left = np.stack([-along[:, 1], along[:, 0]], -1)
    return _to_edges(i, along, left * i.spec.fret_wire.slot_width / 2, 0.0)


def _to_edges(i: Instrument, along: Array, beside: Array, inset: float) -> Array:
    """The slots' long sides from edge to edge: corners (frets, 4, 2), counterclockwise from bass."""
    plan = i.plan
    right_side, left_side = plan.bass_ends - beside, plan.bass_ends + beside
    return np.stack(
        [
            plan.taper.meets(right_side, along, -plan.side, inset),
            plan.taper.meets(right_side, along, plan.side, inset),
            plan.taper.meets(left_side, along, plan.side, inset),
            plan.taper.meets(left_side, along, -plan.side, inset),
        ],
        1,
    )


def _level(corners: Array, origin: Array, along: Array, beside: Array, inside: bool = False) -> Array:
    """Square ends where the farther (``inside``: the nearer) of each end's two corners lies; ``beside`` is the
    half width wanted."""
    reach = ((corners - origin[:, None]) * along[:, None]).sum(-1)
    low, high = (np.max, np.min) if inside else (np.min, np.max)
    start = origin + low(reach[:, [0, 3]], axis=1)[:, None] * along
    end = origin + high(reach[:, [1, 2]], axis=1)[:, None] * along
    return np.stack([start - beside, end - beside, end + beside, start + beside], 1)
