"""Every fret slot as a closed outline for a beam, in the plan frame, the beam's kerf taken off."""

from __future__ import annotations

import numpy as np

from templategen.drawing.model import Drawing, Line, Outline, point
from templategen.instrument.arrays import Array
from templategen.instrument.model import Instrument
from templategen.parts.common import cautions
from templategen.parts.common.kerf import kerf_note
from templategen.parts.common.layers import sketch
from templategen.parts.common.offset import counterclockwise, offset
from templategen.parts.common.product import Product, Sheet
from templategen.parts.common.work import Work
from templategen.units import mm_text

NAME = "slot-outline"


def make(work: Work) -> tuple[Product, ...]:
    instrument = work.instrument
    return (Sheet(NAME, lambda: draw(instrument), ("dxf", "svg")),)


def draw(i: Instrument) -> Drawing:
    """Slots and the board's outline as the beam runs: nothing else.

    A beam as wide as the slot or wider leaves no outline: the slot's centre line is cut once instead.
    """
    s = sketch()
    kerf, width = i.shop.beam_kerf, i.spec.fret_wire.slot_width
    corners = counterclockwise([point(corner) for corner in i.board_outline])
    s.add("OUTLINE", offset(Outline.polygon(corners), kerf / 2))
    if kerf < width:
        s.add("SLOT_OUTLINE", *outlines(i, kerf))
        how = f"Slots {mm_text(width)} mm wide."
    else:
        plan = i.plan
        ends = zip(plan.slot_bass_ends, plan.slot_treble_ends, strict=True)
        s.add("SLOT_CENTRE", *(Line(point(a), point(b)) for a, b in ends))
        how = f"Slots asked for {mm_text(width)} mm wide; the beam is wider, so each slot is one pass on its centre."
    return Drawing(
        name=NAME,
        title=f"{i.spec.title}: fret slots and outline, for a beam",
        layers=s.layers(),
        kind="cut",
        notes=(f"{how} {kerf_note(kerf)}", i.trace),
        cautions=cautions.lines(cautions.ROUTING),
    )


def outlines(i: Instrument, kerf: float = 0.0) -> tuple[Outline, ...]:
    """The slots, fret by fret, each ``slot_width`` wide less the kerf.

    A through slot ends on the board's edges, its ends along them; with round ends the half circles begin past the
    edge, so that the slot is of full width there. A blind slot's length is between its ends over all.
    """
    plan, wire = i.plan, i.spec.fret_wire
    blind, round_ends = i.spec.fingerboard.blind_slot_inset is not None, wire.slot_ends == "round"
    run = plan.slot_treble_ends - plan.slot_bass_ends
    along = run / np.hypot(run[:, 0], run[:, 1])[:, None]
    left = np.stack([-along[:, 1], along[:, 0]], -1)
    beside = left * (wire.slot_width - kerf) / 2
    if blind:
        back = along * (wire.slot_width / 2 if round_ends else kerf / 2)
        start, end = plan.slot_bass_ends + back, plan.slot_treble_ends - back
        sides = np.stack([start - beside, end - beside, end + beside, start + beside], 1)
    elif round_ends:
        sides = _level(_to_edges(i, along, left * wire.slot_width / 2, 0.0), plan.bass_ends, along, beside)
    else:
        sides = _to_edges(i, along, beside, kerf / 2)
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


def _level(corners: Array, origin: Array, along: Array, beside: Array) -> Array:
    """Square ends where the farther of each end's two corners lies; ``beside`` is the half width wanted."""
    reach = ((corners - origin[:, None]) * along[:, None]).sum(-1)
    start = origin + reach[:, [0, 3]].min(1)[:, None] * along
    end = origin + reach[:, [1, 2]].max(1)[:, None] * along
    return np.stack([start - beside, end - beside, end + beside, start + beside], 1)
