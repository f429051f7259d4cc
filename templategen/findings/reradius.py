"""What a re-radius plan tells a person: findings and its words."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from templategen.errors import Finding
from templategen.instrument.board.frets import LEAST_WOOD
from templategen.instrument.board.surfaces import RadiusLaw, arc_drop
from templategen.instrument.model import Instrument
from templategen.repair.model import Bench
from templategen.repair.reradius import DEPTH_TOLD, Reradius
from templategen.units import both_units, mm_text

SEAT_TOLD = 0.05  # mm at the nut that somebody should know about
THICKNESS_TOLD = 0.1  # mm between what the spec says of the finished board and what sanding leaves


def reradius_findings(bench: Bench) -> Iterator[Finding]:
    """Thin boards, slots to re-cut, and what happens at the nut, for the crown line kept parallel."""
    i, plan = bench.instrument, bench.reradius
    if plan is None:
        return
    way, told = plan.parallel, plan.measured
    yield from _thickness(i, plan)
    if told is not None and told.given:
        yield Finding(
            "reradius-measured",
            "note",
            "fingerboard.before.height",
            f"Chord {told.chord:.2f} and height {told.height:.2f} mm mean {both_units(told.radius)}; a gauge "
            f"{told.error} mm off would read {told.radius_if_higher:.1f} to {told.radius_if_lower:.1f} mm.",
        )
    if way.largest < DEPTH_TOLD:
        return
    yield Finding(
        "reradius-removal",
        "note",
        "fingerboard.before",
        f"Sanding to the new radius takes {way.largest:.2f} mm at most, {place_text(i, way.at)}; the crown line goes "
        f"down by {way.start:z.2f} mm (or, tilted along the neck, by {float(plan.tilted.centre[0]):z.2f} mm at the nut "
        f"and {float(plan.tilted.centre[-1]):z.2f} mm at the last fret).",
    )
    wood = way.thickness_edge[1:] - np.maximum(plan.slot_needed, way.slot_left_edge)
    if plan.flat_floor:
        wood = way.thickness_centre[1:] - plan.depth_stop
    if wood.min() < LEAST_WOOD:
        row = int(wood.argmin())
        source = "" if plan.thickness_measured else " (as [fingerboard] has it, taken as the finished board's)"
        yield Finding(
            "reradius-thin-board",
            "decide",
            "fingerboard.before",
            f"After sanding the board is {way.thickness_edge[1 + row]:z.2f} mm thick at the edge of fret "
            f"{plan.numbers[1 + row]:.0f}{source}; {wood[row]:z.2f} mm is left under a slot deep enough for the wire, "
            f"and less than {LEAST_WOOD} mm may break out. A radius nearer the present one, or a "
            "new board.",
        )
    again = np.flatnonzero(way.recut > 0)
    if len(again):
        row = int(way.recut.argmax())
        source = "" if plan.slot_measured else " (if they were as deep as the wire needs before)"
        yield Finding(
            "reradius-recut-slots",
            "decide",
            "fingerboard.before.slot_depth",
            f"{len(again)} of {len(way.recut)} fret slots become too shallow for the wire{source}, the worst at fret "
            f"{plan.numbers[1 + row]:.0f} by {way.recut[row]:.2f} mm: re-cut them with the depth stop at "
            f"{stop_text(plan)}.",
        )
    at_nut = float(way.centre[0])
    if at_nut > SEAT_TOLD:
        depth = i.nut.seat_depth
        words = (
            f"a seat cut {depth:.2f} mm deep before is {max(depth - at_nut, 0.0):.2f} mm deep after. Deepen it by as "
            f"much, or the nut stands {at_nut:z.2f} mm too high."
        )
        if i.spec.nut.seat == "shelf":
            words = (
                f"the shelf stays where it is, and a nut that fits now stands {at_nut:z.2f} mm too high after. The nut "
                f"written here is for the sanded board, its seat {depth:.2f} mm below that."
            )
        down = f"The board goes down {at_nut:z.2f} mm at the nut's middle"
        yield Finding("reradius-nut-seat", "decide", "nut.seat_depth", f"{down}: {words}")
    worst = max(float(way.lower_saddle.max()), float(way.lower_nut.max()))
    yield Finding(
        "reradius-action",
        "note",
        "setup.action",
        f"With nut and saddle left alone the action at fret {i.spec.setup.action.fret} grows by "
        f"{way.at_action.max():z.2f} mm at most; lowering both ends by up "
        f"to {worst:z.2f} mm (string by string in the plan) restores it.",
    )


def _thickness(i: Instrument, plan: Reradius) -> Iterator[Finding]:
    """Where [fingerboard] and [fingerboard.before] contradict each other, and what hangs on a single thickness."""
    board, way = i.spec.fingerboard, plan.parallel
    if board.thickness is not None:
        key, where, drop, taken = "fingerboard.thickness", "at the centreline", 0.0, float(way.centre[0])
    elif board.thickness_at_edge is not None:
        key, where = "fingerboard.thickness_at_edge", "at the nut's edge"
        drop = float(arc_drop(plan.wanted.at_nut, i.plan.taper.at_nut / 2))
        taken = float(way.edge[0])
    else:
        return
    said, left = i.board.thickness - drop, float(way.thickness_centre[0]) - drop
    if plan.thickness_measured and abs(said - left) > THICKNESS_TOLD:
        yield Finding(
            "reradius-thickness",
            "decide",
            key,
            f"{key} makes the finished board {said:.2f} mm thick {where}, but what was measured before, less the "
            f"{taken:.2f} mm taken there, leaves {left:z.2f} mm. All but the re-radius plan is made for {said:.2f} mm: "
            "wood under the slots, the board's solid, a shelf's seat. Leave the key out, and the board is what sanding "
            "leaves.",
        )
    elif not plan.thickness_measured and taken > THICKNESS_TOLD:
        wood = float(i.frets.wood_under_slot_at_edge.min()) - taken
        yield Finding(
            "reradius-thickness",
            "decide",
            key,
            f"{key} is taken as the finished board's: {said:.2f} mm {where}, from {said + taken:.2f} mm before "
            f"sanding. If {said:.2f} mm was measured before, {said - taken:z.2f} mm will be left, and {wood:z.2f} mm "
            "of wood under a slot: give fingerboard.before.thickness_at_edge instead.",
        )


def stop_text(plan: Reradius) -> str:
    """The depth stop for re-cutting, as said to a person."""
    low, high = float(plan.depth_stop.min()), float(plan.depth_stop.max())
    if plan.flat_floor:
        return f"{mm_text(low)} mm (first fret) to {mm_text(high)} mm (last) below the new crown line, level across"
    return f"{mm_text(high)} mm, riding on the new round"


def place_text(i: Instrument, at: tuple[float, float]) -> str:
    """A place on the board in words."""
    x, y = at
    near = int(np.abs(i.plan.centre_x - x).argmin())
    where = "at the nut" if abs(x - i.plan.nut_x) < abs(x - i.plan.centre_x[near]) else (
        f"near fret {i.plan.numbers[near]:.0f}"
    )  # fmt: skip
    if x > i.plan.centre_x[-1] + 1.0:
        where = "at the board's end"
    if abs(y) < 1e-9:
        return f"on the centreline {where}"
    side = "treble" if y * i.plan.side > 0 else "bass"
    return f"at the {side} edge {where}"


def law_text(law: RadiusLaw, last_x: float) -> str:
    """A round in words and both units."""
    if law.flat:
        return "flat"
    if law.conical:
        return f"{both_units(law.at_nut)} at the nut to {both_units(float(law.radius(last_x)))} at the last fret"
    return both_units(law.at_nut)
