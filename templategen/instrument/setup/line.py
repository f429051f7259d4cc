"""The string line: the straight underside of every open string, and the ways of giving its height.

Three ways fix the height at the nut and all three are reported:

first_fret_clearance  open string's underside to the first crown
nut_over_crowns       slot floor over the straight line of the first two crowns, drawn on to the nut
pressed_gap           gap over the first crown with the string held on the floor and on the second crown;
                      equal to nut_over_crowns·(x₂ − x₁)/(x₂ − x₀) by similar triangles

Heights are z in the plan frame over the strung board; places along a string are given by x, in which a straight string
is as linear as in its own length.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from templategen.instrument.arrays import Array, fixed
from templategen.instrument.board.plan import Plan
from templategen.instrument.board.surfaces import Strung
from templategen.spec.models import Setup


@dataclass(frozen=True)
class StringLine:
    """The open strings' undersides; every array has shape (strings,).

    witness_x: where the string leaves the nut (or the zero fret's crown); witness_z: its height there. slope: dz/dx.
    action: as the spec measures it (with a capo where it says so). The three heights at the nut as in the module.
    """

    witness_x: Array
    witness_z: Array
    slope: Array
    first_fret_clearance: Array
    nut_over_crowns: Array
    pressed_gap: Array
    action: Array

    def z(self, x: Array | float) -> Array:
        """Underside of every string at x (scalar or one per string)."""
        return np.asarray(self.witness_z + self.slope * (np.asarray(x, dtype=float) - self.witness_x))


def string_line(setup: Setup, plan: Plan, strung: Strung, crowns: Array, witness_x: Array) -> StringLine:
    """Solve the line of every string from its height at the nut and its action.

    crowns: crown heights (frets, strings). witness_x: where each string leaves its nut slot, shape (strings,). With a
    zero fret the line starts on that fret's own crown, whatever witness_x, and the spec's height at the nut is not
    used. The second crown, and that of the action, may be past the last fret of a short board: there they are taken
    where they would be. An action measured with a capo fixes the string's height at the nominal saddle, before any
    offset.
    """
    (x1, z1), (x2, z2), (xk, zk) = (_crown(plan, strung, crowns, n) for n in (1, 2, setup.action.fret))
    action = setup.action.over_strings.spread(plan.toward_bass)
    if setup.action.capo:
        # the string runs from the first crown to the saddle while it is measured; its end at the saddle is the line's
        x_far = plan.string_saddle[:, 0]
        z_far = z1 + (zk + action - z1) * (x_far - x1) / (xk - x1)
    else:
        x_far, z_far = xk, zk + action

    x0 = np.asarray(witness_x, dtype=float)
    if strung.zero_crown_height is not None:
        x0 = plan.crossings[plan.index(0), :, 0]
        x_near, z_near = x0, crowns[plan.index(0)]
    elif setup.first_fret_clearance is not None:
        x_near, z_near = x1, z1 + setup.first_fret_clearance.spread(plan.toward_bass)
    elif setup.pressed_gap is not None:
        gap = setup.pressed_gap.spread(plan.toward_bass)
        x_near, z_near = x0, ((z1 + gap) * (x2 - x0) - z2 * (x1 - x0)) / (x2 - x1)
    else:
        assert setup.nut_over_crowns is not None
        over = setup.nut_over_crowns.spread(plan.toward_bass)
        x_near, z_near = x0, z1 + (z2 - z1) * (x0 - x1) / (x2 - x1) + over

    slope = (z_far - z_near) / (x_far - x_near)
    return line_through(plan, strung, crowns, x0, z_near + slope * (x0 - x_near), slope, action)


def line_through(
    plan: Plan, strung: Strung, crowns: Array, x0: Array, z0: Array, slope: Array, action: Array
) -> StringLine:
    """Strings from z0 at x0 with these slopes, (strings,) each, with what is read of them over the crowns."""
    (x1, z1), (x2, z2) = (_crown(plan, strung, crowns, n) for n in (1, 2))
    over_crowns = z0 - (z1 + (z2 - z1) * (x0 - x1) / (x2 - x1))
    return StringLine(
        witness_x=fixed(x0),
        witness_z=fixed(z0),
        slope=fixed(slope),
        first_fret_clearance=fixed(z0 + slope * (x1 - x0) - z1),
        nut_over_crowns=fixed(over_crowns),
        pressed_gap=fixed(over_crowns * (x2 - x1) / (x2 - x0)),
        action=fixed(action),
    )


def action_over(setup: Setup, plan: Plan, strung: Strung, crowns: Array, z0: Array, slope: Array, x0: Array) -> Array:
    """The action of strings that run from z0 at x0 with these slopes, as the spec measures it; (strings,)."""
    (x1, z1), (xk, zk) = (_crown(plan, strung, crowns, n) for n in (1, setup.action.fret))
    if setup.action.capo:
        x_far = plan.string_saddle[:, 0]
        slope, z0, x0 = (z0 + slope * (x_far - x0) - z1) / (x_far - x1), z1, x1
    return np.asarray(z0 + slope * (xk - x0) - zk)


def _crown(plan: Plan, strung: Strung, crowns: Array, fret: int) -> tuple[Array, Array]:
    """x and z of a fret's crown under every string, or of what would be its crown past the last fret."""
    at = plan.crossing(fret)
    if fret > plan.numbers[-1]:
        return at[:, 0], strung.crown_z(at[:, 0], at[:, 1])
    return at[:, 0], crowns[plan.index(fret)]


def lever_at(plan: Plan, fret: int, from_nut: bool) -> Array:
    """What raising one end by 1 mm does over a crown, the other end held; shape (strings,).

    Straight line between nut and saddle: (x_s − x)/(x_s − x_0) for the nut, (x − x_0)/(x_s − x_0) for the saddle.
    """
    x = plan.crossing(fret)[:, 0]
    x0, xs = plan.string_nut[:, 0], plan.string_saddle[:, 0]
    return fixed((xs - x) / (xs - x0) if from_nut else (x - x0) / (xs - x0))
