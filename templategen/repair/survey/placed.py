"""The crowns as found, in the plan frame of an instrument: where they were read, and how high they stand there.

A straightedge tells heights up to a straight line. Here that line is the one that brings the crowns nearest to where
the wire and the board would have them (least squares), so that what is left are the crowns' own differences.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from templategen.instrument.arrays import Array, fixed
from templategen.instrument.board.surfaces import crown_points
from templategen.instrument.model import Instrument
from templategen.repair.survey.crowns import CrownsFound
from templategen.repair.survey.fits import linear


def places(i: Instrument, crowns: CrownsFound) -> Array:
    """Where the lines cross the crowns, (frets, lines, 2), x and y. Bass and treble run along the outer strings."""
    plan = i.plan
    rows = [plan.index(int(fret)) for fret in crowns.frets]
    centre = np.stack([plan.centre_x, np.zeros_like(plan.centre_x)], -1)
    along = {"bass": plan.crossings[:, -1], "treble": plan.crossings[:, 0], "centre": centre}
    lines = [along[line] if isinstance(line, str) else plan.crossings[:, line - 1] for line in crowns.lines]
    return fixed(np.stack(lines, 1)[rows])


def heights(i: Instrument, crowns: CrownsFound) -> Array:
    """Heights of the crowns in plan z, neck straight, (frets, lines); NaN where none was read."""
    return fixed(_wanted(i, crowns) + _deviation(i, crowns))


def shares(i: Instrument, crowns: CrownsFound) -> Array:
    """What each line counts under each string, (frets, strings, lines): the two lines beside it, in proportion; the
    nearest alone outside them."""
    at = places(i, crowns)[..., 1]
    rows = [i.plan.index(int(fret)) for fret in crowns.frets]
    under = i.plan.crossings[rows, :, 1]
    found = np.zeros((*under.shape, at.shape[1]))
    order = np.argsort(at[0])
    for fret in range(len(at)):
        unit = np.eye(at.shape[1])[order]
        for line in range(at.shape[1]):
            found[fret, :, line] = np.interp(under[fret], at[fret, order], unit[:, line])
    return fixed(found)


def base(i: Instrument, crowns: CrownsFound) -> Array:
    """Crowns under the strings as found, neck straight, (frets of the plan, strings). A crown that was not read is
    taken as the wire makes it."""
    whole = _straight(i)
    rows = [i.plan.index(int(fret)) for fret in crowns.frets]
    off = np.nan_to_num(_deviation(i, crowns))
    whole[rows] += np.einsum("fsl,fl->fs", shares(i, crowns), off)
    return fixed(whole)


def _straight(i: Instrument) -> Array:
    return np.array(crown_points(i.plan, replace(i.strung, relief=0.0, fall_drop=0.0)))


def _wanted(i: Instrument, crowns: CrownsFound) -> Array:
    at = places(i, crowns)
    return np.asarray(replace(i.strung, relief=0.0, fall_drop=0.0).crown_z(at[..., 0], at[..., 1]))


def _deviation(i: Instrument, crowns: CrownsFound) -> Array:
    """How far the crowns stand off the wanted ones, each line's own straight line taken out; (frets, lines)."""
    at, wanted = places(i, crowns), _wanted(i, crowns)
    off = np.full(wanted.shape, np.nan)
    for line in range(wanted.shape[1]):
        read = np.isfinite(crowns.z[:, line])
        if read.sum() > 2:
            x = at[read, line, 0]
            difference = crowns.z[read, line] - wanted[read, line]
            straight = linear(np.stack([np.ones_like(x), x], 1), difference)
            off[read, line] = straight.residuals
    return off
