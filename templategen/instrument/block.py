"""The radius block's numbers, in the block frame."""

from __future__ import annotations

from dataclasses import dataclass

from templategen.instrument.board import Board, sagitta
from templategen.instrument.plan import Plan
from templategen.spec.models import Spec


@dataclass(frozen=True)
class Block:
    """A concave block that is a cylinder. radius is infinite for a flat board.

    at: the station it is made for ("nut", "last" or a fret), station_x its place; board_radius there; work_radius: of
    the surface it rides on (board or crowns); profile_depth: height of its arc over its width.
    """

    at: str | int
    station_x: float
    board_radius: float
    work_radius: float
    radius: float
    profile_depth: float
    length: float
    width: float
    height: float
    abrasive_thickness: float
    rides_on: str


def station_x(plan: Plan, at: str | int) -> float:
    """Where a station lies on the centreline: "nut", "last" or a fret number."""
    if at == "nut":
        return 0.0
    return float(plan.centre_x[-1 if at == "last" else plan.index(int(at))])


def build_block(spec: Spec, plan: Plan, board: Board) -> Block | None:
    """Block radius = radius of the work + abrasive: the block lies outside the work by the paper between them.

    None for a cone whose spec has no [radius_block]: one cylinder cannot serve it without a station.
    """
    from templategen.spec.models import RadiusBlock

    asked = spec.radius_block
    if asked is None:
        if board.law.conical:
            return None
        asked = RadiusBlock()
    at = asked.at if asked.at is not None else "nut"
    x = station_x(plan, at)
    on_board = float(board.radius(x))
    work = on_board + (spec.fret_wire.crown_height if asked.rides_on == "crowns" else 0.0)
    radius = work + asked.abrasive_thickness
    return Block(
        at=at,
        station_x=x,
        board_radius=on_board,
        work_radius=work,
        radius=radius,
        profile_depth=sagitta(radius, asked.width),
        length=asked.length,
        width=asked.width,
        height=asked.height,
        abrasive_thickness=asked.abrasive_thickness,
        rides_on=asked.rides_on,
    )
