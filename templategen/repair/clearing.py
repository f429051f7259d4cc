"""The least filing with which every note clears: a linear programme over what is taken off each crown.

A string held at n lies on a crown that may be filed itself, so filing one fret lowers the string over all others:
gap − (1 − d/L)·removed_n + removed_j ≥ headroom·motion for every crown j beyond every fret n, under every string and
both ways. The strings' ends are held. Strings that run between the measured lines are filed as much as the lines
beside them, in proportion.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from templategen.errors import OurBug
from templategen.geometry.programs import least_cost
from templategen.instrument.arrays import Array, fixed
from templategen.instrument.setup.clearance import Setting
from templategen.repair.levelling import CrownProfile, Filing

FINE = 1000.0  # solved in µm, so that the solver's tolerance is far below anything that is printed


@dataclass(frozen=True)
class Demand:
    """What is to clear: strings and crowns as they stand before filing (places without 0 are the profile's frets), the
    headroom asked for, (strings,), and the share of each line in what is filed under each string, (frets, strings,
    lines)."""

    setting: Setting
    asked: Array
    shares: Array


def every_note_clears(p: CrownProfile, demand: Demand) -> Filing:
    """Least Σ removed. Crowns that were not measured are not filed, and clear as far as they can."""
    wanted = _conditions(p, demand)
    removed = np.where(np.isfinite(p.z), 0.0, np.nan)
    if wanted is not None:
        removed[np.isfinite(p.z)] = _least(*wanted)[np.isfinite(p.z).ravel()]
    none = np.full(len(p.lines), np.nan)
    return Filing("every_note_clears", p, (), fixed(none), fixed(none), fixed(removed))


def _conditions(p: CrownProfile, demand: Demand) -> tuple[Array, Array] | None:
    """Matrix and least values of what the removals, fret by fret and line by line, must do; None if all clears."""
    s = demand.setting
    frets, lines = p.z.shape
    shares = np.where(np.isfinite(p.z)[:, None, :], demand.shares, 0.0)
    place, crown, string = np.nonzero(np.isfinite(s.gaps))
    held = place > 0
    place, crown, string = place[held], crown[held], string[held]
    motion = np.maximum(s.motions[0], s.motions[1])  # the stricter of the two: the gap is the same
    at = place, crown, string
    short = demand.asked[string] * motion[at] - s.gaps[at]
    if np.all(short <= 0):
        return None
    lever = 1 - (s.x[crown, string] - s.x[place, string]) / s.sounding[place, string]
    matrix = np.zeros((len(place), frets, lines))
    row = np.arange(len(place))
    matrix[row, crown - 1] += shares[crown - 1, string]
    matrix[row, place - 1] -= lever[:, None] * shares[place - 1, string]
    moves = np.abs(matrix).sum((1, 2)) > 0
    return matrix[moves].reshape(int(moves.sum()), -1), short[moves]


def _least(matrix: Array, short: Array) -> Array:
    found = least_cost(np.ones(matrix.shape[1]), matrix, short * FINE, np.inf, solver="simplex")
    if found is None:
        raise OurBug("filing for clearance: no filing clears every note")
    return found / FINE
