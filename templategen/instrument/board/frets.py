"""Fret slots and wire: how deep, how long, and what wood is left."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from templategen.errors import Problem
from templategen.instrument.arrays import Array, Pair, fixed, pairs
from templategen.instrument.board.plan import Plan
from templategen.instrument.board.surfaces import Board
from templategen.instrument.board.wire import bend_radius
from templategen.spec.models import Spec

ONE_CENT = 2.0 ** (1 / 1200) - 1


@dataclass(frozen=True)
class SlotFloor:
    """A slot's floor: level across at ``level`` (z, the crown line at 0), or where that is None following the round at
    ``depth`` below the board."""

    board: Board
    depth: float
    level: float | None

    def z(self, x: Array, y: Array) -> Array:
        """Height at plan points. Following the round: a coaxial surface, √((R − d)² − y²) − R (circle geometry)."""
        if self.level is not None:
            return np.full(np.shape(x), self.level)
        inner = self.board.radius(x) - self.depth
        return np.asarray(np.sqrt(inner**2 - y**2) - inner - self.depth)


@dataclass(frozen=True)
class Fret:
    """One fret as plain numbers, mm in the plan frame; what each means: ``Frets`` and ``Plan``.

    off_square_deg: of the slot against square to the centreline, positive with the treble end toward the bridge.
    string_cents: what its crossing with each string is off, + sharp.
    """

    number: int
    from_nut: float
    from_previous: float
    bass_end: Pair
    treble_end: Pair
    slot_bass_end: Pair
    slot_treble_end: Pair
    off_square_deg: float
    width: float
    radius: float
    wire_cut: float
    slot_length: float
    tang_length: float
    nip_each_end: float
    bend_radius: float
    slot_depth: float
    depth_stop_flat: float
    wood_under_slot_at_edge: float
    length_of_one_cent: float
    cents_of_tenth: float
    string_cents: tuple[float, ...]

    @property
    def name(self) -> str:
        return f"fret {self.number}"


@dataclass(frozen=True)
class Frets:
    """Iterates over its frets, each a ``Fret``. As arrays: one row per fret, fret 0 first where there is one; (frets,)
    unless said.

    from_nut: centreline distance from fret 0; from_previous: from the fret before (or from the nut).
    width, radius: of the board at that fret, on the centreline.
    wire_cut: length over the board's surface, edge to edge, with the overhang at both ends. slot_length: of the slot
    over the surface. tang_length, nip_each_end: blind slots; a through slot keeps its tang and has no nip.
    bend_radius: of the wire before it goes in, infinite for a flat board.
    slot_depth: below the surface. depth_stop_flat: below the crown line, for a floor sawn level across;
    depth_stop_flat_at_nut: what that would be at the board's nut end.
    wood_under_slot_at_edge: what is left at the slot's lower end, which on a bound board is inside the edge, as far as
    the depth stop reckons too. length_of_one_cent: along the centreline.
    cents_of_tenth: what placing the slot 0.1 mm off does, in cents.
    """

    plan: Plan
    board: Board
    numbers: Array
    from_nut: Array
    from_previous: Array
    width: Array
    radius: Array
    wire_cut: Array
    slot_length: Array
    tang_length: Array
    nip_each_end: Array
    bend_radius: Array
    slot_depth: Array
    depth_stop_flat: Array
    depth_stop_flat_at_nut: float
    wood_under_slot_at_edge: Array
    length_of_one_cent: Array
    cents_of_tenth: Array
    flat_floor: bool

    @property
    def depth_stop(self) -> Array:
        """What a saw's or a cutter's stop is set to: riding on the board, or for level floors below the crown line."""
        return self.depth_stop_flat if self.flat_floor else self.slot_depth

    @property
    def follows(self) -> bool:
        """Whether floors follow the round of the board."""
        return not (self.flat_floor or self.board.law.flat)

    def floor(self, row: int, flat_top: bool = False) -> SlotFloor:
        """Of one slot. flat_top: in a blank that is still to be radiused, where every floor is level."""
        stop = self.depth_stop_flat if flat_top else self.depth_stop
        level = None if self.follows and not flat_top else -float(stop[row])
        return SlotFloor(self.board, float(self.slot_depth[row]), level)

    @cached_property
    def each(self) -> tuple[Fret, ...]:
        plan = self.plan
        run = plan.treble_ends - plan.bass_ends
        columns = (
            self.numbers.astype(int).tolist(),
            self.from_nut.tolist(),
            self.from_previous.tolist(),
            pairs(plan.bass_ends),
            pairs(plan.treble_ends),
            pairs(plan.slot_bass_ends),
            pairs(plan.slot_treble_ends),
            np.degrees(np.arctan2(run[:, 0], plan.side * run[:, 1])).tolist(),
            self.width.tolist(),
            self.radius.tolist(),
            self.wire_cut.tolist(),
            self.slot_length.tolist(),
            self.tang_length.tolist(),
            self.nip_each_end.tolist(),
            self.bend_radius.tolist(),
            self.slot_depth.tolist(),
            self.depth_stop_flat.tolist(),
            self.wood_under_slot_at_edge.tolist(),
            self.length_of_one_cent.tolist(),
            self.cents_of_tenth.tolist(),
            map(tuple, plan.crossing_cents.tolist()),
        )
        return tuple(Fret(*row) for row in zip(*columns, strict=True))

    def __iter__(self) -> Iterator[Fret]:
        return iter(self.each)

    def __len__(self) -> int:
        return len(self.each)

    def __getitem__(self, row: int) -> Fret:
        return self.each[row]


def build_frets(spec: Spec, plan: Plan, board: Board) -> Frets:
    """Slot and wire numbers of every fret.

    Wire: arc length on the surface under the fret line (``Board.length_over``) + 2·overhang. Flat floor: the stop is
    the depth plus the arc's height over that slot, so that its ends are deep enough. One cent is
    (L − x)·(2^(1/1200) − 1), from x = L·(1 − 2^(−c/1200)).
    """
    wire = spec.fret_wire
    depth = np.full(len(plan.numbers), wire.slot_depth)
    wire_cut = board.length_over(plan.bass_ends, plan.treble_ends) + 2 * wire.overhang
    slot = board.length_over(plan.slot_bass_ends, plan.slot_treble_ends)
    blind = spec.fingerboard.blind_slot_inset is not None
    tang = slot - 2 * wire.tang_clearance if blind else wire_cut

    ends = np.stack([plan.slot_bass_ends, plan.slot_treble_ends])
    lowest = board.z(ends[..., 0], ends[..., 1]).min(0)
    stop = depth - lowest
    origin, inset = np.array([plan.nut_x, 0.0]), spec.fingerboard.blind_slot_inset or 0.0
    nut = np.stack([plan.taper.meets(origin, plan.nut_direction, side, inset) for side in (-1.0, 1.0)])
    flat = wire.slot_floor == "flat"
    floor = -stop if flat else lowest - depth
    left = plan.saddle_x - plan.centre_x
    return Frets(
        plan=plan,
        board=board,
        numbers=plan.numbers,
        from_nut=plan.centre_x,
        from_previous=fixed(np.diff(plan.centre_x, prepend=0.0)),
        width=fixed(plan.taper.width(plan.centre_x)),
        radius=fixed(board.radius(plan.centre_x)),
        wire_cut=fixed(wire_cut),
        slot_length=fixed(slot),
        tang_length=fixed(tang),
        nip_each_end=fixed((wire_cut - tang) / 2),
        bend_radius=bend_radius(board.radius(plan.centre_x)),
        slot_depth=fixed(depth),
        depth_stop_flat=fixed(stop),
        depth_stop_flat_at_nut=wire.slot_depth - float(board.z(nut[:, 0], nut[:, 1]).min()),
        wood_under_slot_at_edge=fixed(board.thickness + floor),
        length_of_one_cent=fixed(left * ONE_CENT),
        cents_of_tenth=fixed(1200 * np.log2(left / (left - 0.1))),
        flat_floor=flat,
    )


def fret_problems(frets: Frets) -> list[Problem]:
    """Slots that would come out of the board's underside."""
    through = frets.wood_under_slot_at_edge <= 0
    if not through.any():
        return []
    row = int(np.argmin(frets.wood_under_slot_at_edge))
    return [
        Problem(
            ("fingerboard", "thickness"),
            f"is too thin for the slots: at fret {frets.numbers[row]:.0f} the slot is "
            f"{frets.slot_depth[row]:.2f} mm deep at the edge and {-frets.wood_under_slot_at_edge[row]:.2f} mm of it "
            "would come out below the board\n"
            "make the board thicker, or choose a wire with a shorter tang (fret_wire.tang_depth), or less "
            "fret_wire.depth_below_tang",
        )
    ]
