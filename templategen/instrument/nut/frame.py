"""What is known of a nut before its slots are: where it stands on the board, its seat and its ends. Nut frame."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from templategen.geometry import arc_drop
from templategen.instrument.arrays import Array
from templategen.instrument.board.surfaces import Board


@dataclass(frozen=True)
class NutFrame:
    """turn_deg: from the nut's x axis to the plan's y axis, counterclockwise. seat_radius: square to the centreline,
    infinite for a flat seat. front_ends, back_ends: nut-frame x of the ends (−x end, +x end) at y = 0 and on the back
    face, (2,).
    """

    board: Board
    nut_x: float
    turn_deg: float
    seat_depth: float
    thickness: float
    seat_radius: float
    seat_angle_deg: float
    front_ends: Array
    back_ends: Array

    def end_x(self, end: int, y: float) -> float:
        """Where the end (0 at −x, 1 at +x) stands at y: it follows the board's edge."""
        return float(self.front_ends[end] + (self.back_ends[end] - self.front_ends[end]) * y / self.thickness)

    def plan_point(self, x: ArrayLike, y: ArrayLike) -> tuple[Array, Array]:
        """Plan x and y of points of the nut frame."""
        turn = np.radians(self.turn_deg)
        u, v = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
        return (
            np.asarray(self.nut_x + u * np.sin(turn) - v * np.cos(turn)),
            np.asarray(u * np.cos(turn) + v * np.sin(turn)),
        )

    def board_height(self, x: ArrayLike, y: ArrayLike) -> Array:
        """The wood's surface above the seat."""
        return np.asarray(self.seat_depth + self.board.z(*self.plan_point(x, y)))

    def seat_height(self, x: ArrayLike, y: ArrayLike) -> Array:
        """The finished seat: 0 at the front edge's middle, lower at curved ends, slanting down toward the tuners."""
        _, across = self.plan_point(x, y)
        slant = np.asarray(y, dtype=float) * np.tan(np.radians(self.seat_angle_deg))
        return np.asarray(-arc_drop(self.seat_radius, across) - slant)
