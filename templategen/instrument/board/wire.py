"""Fret wire: how far to bend it before it goes in, and how the pieces come out of bought sticks.

Pieces are nipped. What a nip takes of the stick (nothing, unless the shop file says otherwise) lies between pieces and
between the last one and the offcut; the overhang that every piece carries at both ends is trimmed after fitting.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from templategen.geometry.programs import least_cost
from templategen.instrument.arrays import Array, fixed

BEND_SHARE = 0.86
"""Bend radius over the board's radius; common practice, no source: 0.80 to 0.92, so that the ends press down."""

GRID = 0.5
"""mm. The solver sees every length at the next half mm, about what nippers cut to: pieces of one half mm are alike to
it, which makes the search short."""
_NODES = 20  # of the search; a limit in time would give another answer on a busy machine
_MOST_COUNTS = 100  # kinds times sticks: beyond it a longer last offcut is not searched for


@dataclass(frozen=True)
class CutList:
    """Pieces and the sticks they come from.

    stock: length of a stick. loss: what every nip takes. lengths: per piece, in the order they are asked for. stick:
    number of the stick, from 1, per piece; the fullest stick is the first. offcuts: what is left of each stick, nips
    taken off, (sticks,).
    """

    stock: float
    loss: float
    lengths: Array
    stick: tuple[int, ...]
    offcuts: Array

    @property
    def sticks(self) -> int:
        return len(self.offcuts)

    @property
    def waste(self) -> float:
        return float(self.offcuts.sum())


def bend_radius(radius: Array) -> Array:
    """What to bend the wire to, per fret, for the board's radius there; infinite on a flat board."""
    return fixed(BEND_SHARE * radius)


def cut_list(lengths: Sequence[float] | Array, stock: float, loss: float = 0.0) -> CutList | None:
    """The fewest sticks of ``stock`` mm that the pieces come out of, and of those plans one whose last offcut is long.

    lengths: mm, any order. loss: mm that a nip takes; k pieces of one stick are k − 1 nips and, unless nothing is left,
    one more. None where a piece is longer than a stick.

    Bin packing. First-fit decreasing gives a plan; a mixed-integer programme over counts of like pieces per stick
    (HiGHS) looks for one with fewer sticks, down to the bound of Martello and Toth, and then for the
    smallest load on the last of few sticks. Should the search end unfinished, the better of the two plans stands.
    """
    asked = np.asarray(lengths, dtype=float)
    if not len(asked) or asked.max() > stock:
        return None
    pieces, room = asked + loss, stock + loss  # every piece with its nip; the last one of a full stick needs none
    best = _first_fit(pieces, room)
    for count in range(_least_sticks(pieces, room), len(best)):
        found = _searched(pieces, room, count)
        if found is not None:
            best = found
            break
    else:
        if _last_load(pieces, best) > pieces.min() and len(_kinds(pieces)) * len(best) <= _MOST_COUNTS:
            found = _searched(pieces, room, len(best))
            if found is not None and _last_load(pieces, found) < _last_load(pieces, best):
                best = found
    best.sort(key=lambda stick: (-round(float(pieces[stick].sum()), 9), min(stick)))
    number = {piece: n for n, stick in enumerate(best, 1) for piece in stick}
    return CutList(
        stock=stock,
        loss=loss,
        lengths=fixed(asked),
        stick=tuple(number[piece] for piece in range(len(pieces))),
        offcuts=fixed([max(stock - pieces[stick].sum(), 0.0) for stick in best]),
    )


Packing = list[list[int]]
"""Zero-based pieces per stick."""


def _last_load(pieces: Array, plan: Packing) -> float:
    return min(float(pieces[stick].sum()) for stick in plan)


def _first_fit(pieces: Array, stock: float) -> Packing:
    """Longest first, each into the first stick that still holds it."""
    plan: Packing = []
    for piece in np.argsort(-pieces, kind="stable").tolist():
        for stick in plan:
            if pieces[[*stick, piece]].sum() <= stock:
                stick.append(piece)
                break
        else:
            plan.append([piece])
    return plan


def _least_sticks(pieces: Array, stock: float) -> int:
    """A number of sticks below which nothing fits (Martello and Toth's bound L2 for bin packing)."""
    least = 1
    for k in [0.0, *pieces[pieces <= stock / 2].tolist()]:
        alone = int((pieces > stock - k).sum())
        half = pieces[(pieces <= stock - k) & (pieces > stock / 2)]
        small = pieces[(pieces <= stock / 2) & (pieces >= k)]
        over = float(small.sum() - (len(half) * stock - half.sum()))
        least = max(least, alone + len(half) + max(0, math.ceil(over / stock - 1e-9)))
    return least


def _stepped(pieces: Array) -> Array:
    return np.asarray(np.ceil(pieces / GRID - 1e-9) * GRID)


def _kinds(pieces: Array) -> Array:
    return np.unique(_stepped(pieces))


def _searched(pieces: Array, stock: float, sticks: int) -> Packing | None:
    """A plan of so many sticks with a small load on the last, or None where the search found none."""
    stepped = _stepped(pieces)
    kinds, counts = np.unique(stepped, return_counts=True)
    shape = len(kinds), sticks
    rows, low, high = [], [], []

    def constrain(coefficients: Array, least: float, most: float) -> None:
        rows.append(coefficients.ravel())
        low.append(least)
        high.append(most)

    for kind, count in enumerate(counts):
        every = np.zeros(shape)
        every[kind] = 1
        constrain(every, count, count)
    for stick in range(sticks):
        load = np.zeros(shape)
        load[:, stick] = kinds
        constrain(load, 0, stock)
        if stick + 1 < sticks:  # fuller sticks first: otherwise every order of the sticks is searched
            load = load.copy()
            load[:, stick + 1] = -kinds
            constrain(load, 0, np.inf)
    objective = np.zeros(shape)
    objective[:, -1] = kinds
    found = least_cost(
        objective.ravel(), np.array(rows), low, high, np.repeat(counts, sticks), whole=True,
        mip_max_nodes=_NODES, mip_rel_gap=1e-3,
    )  # fmt: skip
    if found is None:
        return None
    taken = np.rint(found.reshape(shape)).astype(int)
    plan: Packing = [[] for _ in range(sticks)]
    for kind, length in enumerate(kinds):
        alike = np.flatnonzero(stepped == length).tolist()
        for stick in range(sticks):
            plan[stick] += alike[: taken[kind, stick]]
            alike = alike[taken[kind, stick] :]
    whole = sum(map(len, plan)) == len(pieces) and all(plan)
    return plan if whole and max(float(pieces[stick].sum()) for stick in plan) <= stock else None
