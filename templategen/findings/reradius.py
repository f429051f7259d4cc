"""What a re-radius plan tells a person: findings and its words."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from templategen.findings.catalogue import Fact, fact
from templategen.findings.limits import limit
from templategen.geometry import arc_drop
from templategen.instrument.board.surfaces import RadiusLaw
from templategen.instrument.model import Instrument
from templategen.repair.model import Bench
from templategen.repair.reradius import DEPTH_TOLD, Reradius
from templategen.units import both_units


def reradius_facts(bench: Bench) -> Iterator[Fact]:
    """Thin boards, slots to re-cut, and what happens at the nut, for the crown line kept parallel."""
    i, plan = bench.instrument, bench.reradius
    if plan is None:
        return
    yield from _thickness(i, plan)
    if not plan.wear_measured:
        yield fact("reradius-hollows", "fingerboard.before.wear_depth", taken=plan.parallel.centre.min())
    told = plan.measured
    if told is not None and told.given:
        yield fact(
            "reradius-measured",
            "fingerboard.before.height",
            chord=told.chord,
            height=told.height,
            radius=told.radius,
            error=told.error,
            low=told.radius_if_higher,
            high=told.radius_if_lower,
        )
    if plan.parallel.largest >= DEPTH_TOLD:
        yield from _removal(i, plan)
        yield from _slots(plan)
        yield from _nut_and_action(i, plan)


def _removal(i: Instrument, plan: Reradius) -> Iterator[Fact]:
    way = plan.parallel
    yield fact(
        "reradius-removal",
        "fingerboard.before",
        largest=way.largest,
        place=place_text(i, way.at),
        down=way.start,
        at_nut=plan.tilted.centre[0],
        at_last=plan.tilted.centre[-1],
    )
    wood = way.thickness_edge[1:] - np.maximum(plan.slot_needed, way.slot_left_edge)
    if plan.flat_floor:
        wood = way.thickness_centre[1:] - plan.depth_stop
    least = limit("wood_under_slot")
    if wood.min() < least:
        row = int(wood.argmin())
        yield fact(
            "reradius-thin-board",
            "fingerboard.before",
            thick=way.thickness_edge[1 + row],
            fret=plan.numbers[1 + row],
            source="measured" if plan.thickness_measured else "taken",
            wood=wood[row],
            least=least,
        )


def _slots(plan: Reradius) -> Iterator[Fact]:
    recut = plan.parallel.recut
    if not (recut > 0).any():
        return
    row = int(recut.argmax())
    yield fact(
        "reradius-recut-slots",
        "fingerboard.before.slot_depth",
        count=int((recut > 0).sum()),
        frets=len(recut),
        source="measured" if plan.slot_measured else "taken",
        fret=plan.numbers[1 + row],
        lacks=recut[row],
        stop="level" if plan.flat_floor else "round",
        first=plan.depth_stop.min(),
        last=plan.depth_stop.max(),
    )


def _nut_and_action(i: Instrument, plan: Reradius) -> Iterator[Fact]:
    way, depth = plan.parallel, i.nut.seat_depth
    at_nut = float(way.centre[0])
    if at_nut > limit("seat_lowered"):
        yield fact(
            "reradius-nut-seat",
            "nut.seat_depth",
            down=at_nut,
            depth=depth,
            left=max(depth - at_nut, 0.0),
            seat=i.spec.nut.seat,
        )
    yield fact(
        "reradius-action",
        "setup.action",
        "note" if plan.crowns_measured else "decide",
        fret=i.spec.setup.action.fret,
        crowns="measured" if plan.crowns_measured else "taken",
        higher=plan.crowns_higher,
        height=i.spec.fret_wire.crown_height,
        grows=way.at_action.max(),
        lower=max(float(way.lower_saddle.max()), float(way.lower_nut.max())),
    )


def _thickness(i: Instrument, plan: Reradius) -> Iterator[Fact]:
    """Where [fingerboard] and [fingerboard.before] contradict each other, and what hangs on a single thickness."""
    board, way = i.spec.fingerboard, plan.parallel
    if board.thickness is not None:
        key, where, drop, taken = "fingerboard.thickness", "centre", 0.0, float(way.centre[0])
    elif board.thickness_at_edge is not None:
        key, where = "fingerboard.thickness_at_edge", "edge"
        drop = float(arc_drop(plan.wanted.at_nut, i.plan.taper.at_nut / 2))
        taken = float(way.edge[0])
    else:
        return
    said, left = i.board.thickness - drop, float(way.thickness_centre[0]) - drop
    told = limit("thickness_differs")
    if plan.thickness_measured and abs(said - left) > told:
        yield fact(
            "reradius-thickness", key, case="contradicts", name=key, where=where, said=said, taken=taken, left=left
        )
    elif not plan.thickness_measured and taken > told:
        yield fact(
            "reradius-thickness",
            key,
            case="taken",
            name=key,
            where=where,
            said=said,
            before=said + taken,
            left=said - taken,
            wood=float(i.frets.wood_under_slot_at_edge.min()) - taken,
        )


def stop_text(plan: Reradius) -> str:
    """The depth stop for re-cutting, as said to a person."""
    low, high = float(plan.depth_stop.min()), float(plan.depth_stop.max())
    if plan.flat_floor:
        where = "below the board's new centreline, level across"
        return f"{both_units(low)} (first fret) to {both_units(high)} (last) {where}"
    return f"{both_units(high)}, riding on the new round"


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
