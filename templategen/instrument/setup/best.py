"""The best setup: how much relief gives the most headroom, and how low the action may be.

All gaps are linear in relief and action while the floors keep the spec's height at the nut, so two linear programmes
answer: the most headroom at the action asked for, and the least action at the headroom asked for. With the relief held
either is read off at once, so what is left to search is one number, over which the most headroom is concave and the
least action, summed over the strings, convex; both are piecewise straight. They say what is possible and never change
the spec.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from templategen.instrument.arrays import Array, fixed
from templategen.instrument.board.surfaces import crown_points
from templategen.instrument.built import Built
from templategen.instrument.setup.clearance import Setting, clearance, setting_of
from templategen.instrument.setup.line import StringLine, string_line

MOST_RELIEF = 5.0  # as much as a spec may ask for
AWAY, TOWARD = 0, 1  # as in ``Setting.motions``
BOTH_WAYS = (AWAY, TOWARD)
STEPS = {"relief": 0.05, "action": 0.1, "nut": 0.05}


@dataclass(frozen=True)
class Worth:
    """What one step gives, all else as the spec has it.

    what: "relief" (action held), "action" (relief held), "nut" (the floors; action and relief held). step: mm. fretted,
    opened: by how much the least headroom of all fretted notes, and of the open strings, grows.
    """

    what: str
    step: float
    fretted: float
    opened: float


@dataclass(frozen=True)
class BestSetup:
    """Headroom is the least of all strings at all frets, both ways. action: per string, as the spec measures it,
    (strings,). asked: the headroom that the least action keeps, (strings,).

    away_headroom, away_relief: the most, counting pulls away from the board alone. More relief serves them longer: what
    then touches first is a pull toward the board, high up the neck, whose string comes nearest where it is plucked. On
    the level board of the tests the two ways part at relief 0.249: away alone would go on to 0.8942 at 0.313, where a
    pull toward the board has only 0.791 left; both ways have at most 0.868."""

    relief: float
    action: Array
    headroom: float
    most_headroom: float
    most_headroom_relief: float
    away_headroom: float
    away_relief: float
    asked: Array
    least_action: Array
    least_action_relief: float
    worth: tuple[Worth, ...]


def tried(i: Built, relief: float | None = None, action: Array | None = None, nut: Array | float = 0.0) -> Setting:
    """The instrument with another relief or action (as the spec measures it), or floors higher by ``nut``.

    What is not changed stays as the spec wants it: crowns sink with relief, floors keep their height over the first
    crowns, the saddle follows.
    """
    strung = i.strung if relief is None else replace(i.strung, relief=relief)
    crowns = crown_points(i.plan, strung)
    asked = i.spec.setup
    if action is not None:
        asked = asked.model_copy(update={"action": asked.action.model_copy(update={"strings": tuple(action)})})
    line = string_line(asked, i.plan, strung, crowns, i.line.witness_x)
    return setting_of(i, crowns, raised(i, line, nut))


def raised(i: Built, line: StringLine, by: Array | float) -> StringLine:
    """The string line with its end at the nut higher, turned about where its action is measured.

    A zero fret's crown is such an end. With a capo the action is the height at the nominal saddle.
    """
    action = i.spec.setup.action
    held = i.plan.string_saddle[:, 0] if action.capo else i.plan.crossing(action.fret)[:, 0]
    return replace(
        line,
        witness_z=fixed(line.witness_z + by),
        slope=fixed(line.slope - by / (held - line.witness_x)),
    )


def best_setup(i: Built) -> BestSetup | None:
    """None where no fret has a crown beyond it."""
    own = clearance(tried(i)).least_fretted
    if own is None:
        return None
    given = i.spec.playing.headroom
    asked = np.full(len(i.loads), own) if given is None else given.spread(i.plan.toward_bass)
    most_at, most = most_headroom(i)
    away_at, away = most_headroom(i, (AWAY,))
    gap, by_relief, by_action, motion = _linear(i)
    at = _lowest((asked[:, None] * motion - gap) / by_action, -by_relief / by_action, i.strung.relief)
    action = i.spec.setup.action.over_strings.spread(i.plan.toward_bass)
    more = ((asked[:, None] * motion - gap - by_relief * at) / by_action).max(1)
    return BestSetup(
        relief=i.strung.relief,
        action=fixed(action),
        headroom=own,
        most_headroom=most,
        most_headroom_relief=most_at,
        away_headroom=away,
        away_relief=away_at,
        asked=fixed(asked),
        least_action=fixed(action + more),
        least_action_relief=at,
        worth=_worth(i, own),
    )


def most_headroom(i: Built, ways: tuple[int, ...] = BOTH_WAYS) -> tuple[float, float]:
    """The relief, and the headroom of all fretted notes with it, pulled the given ways, at the spec's action."""
    gap, by_relief, _, motion = _linear(i, ways)
    value, slope = (-(of / motion).reshape(1, -1) for of in (gap, by_relief))
    at = _lowest(value, slope, i.strung.relief)
    return at, -float((value + slope * at).max())


def _linear(i: Built, ways: tuple[int, ...] = BOTH_WAYS) -> tuple[Array, Array, Array, Array]:
    """gap, its change per mm of relief and per mm of action, and the motion it must hold: (strings, conditions) each.

    A condition is a crown beyond a fret, pulled one way. gap is at no relief and the spec's action.
    """
    action = i.spec.setup.action.over_strings.spread(i.plan.toward_bass)
    straight = tried(i, relief=0.0)
    base = straight.gaps
    bent = tried(i, relief=1.0).gaps - base
    lifted = tried(i, relief=0.0, action=action + 1.0).gaps - base
    place, crown = np.triu_indices(len(straight.numbers), 1)
    pairs = place[place > 0], crown[place > 0]

    def conditions(*of: Array) -> Array:
        return np.concatenate([one[pairs] for one in of]).T

    gap, by_relief, by_action = (conditions(*[of] * len(ways)) for of in (base, bent, lifted))
    return gap, by_relief, by_action, conditions(*(straight.motions[way] for way in ways))


def _lowest(value: Array, slope: Array, near: float, high: float = MOST_RELIEF) -> float:
    """Where Σ over rows of the largest value + slope·r in each row is least, 0 ≤ r ≤ high.

    The tangents at both ends of a bracket meet where no point of a convex curve can be lower than they are: either the
    curve goes through there, or the place is the bracket's new end. Every step finds a new straight piece, so there
    are finitely many. Where a whole stretch is lowest, its point nearest to ``near``.
    """

    def at(r: float) -> tuple[float, float]:
        heights = value + slope * r
        row = np.arange(len(heights))
        top = heights.argmax(1)
        return float(heights[row, top].sum()), float(slope[row, top].sum())

    low = 0.0
    (f_low, g_low), (f_high, g_high) = at(low), at(high)
    best, least = (low, f_low) if f_low <= f_high else (high, f_high)
    while g_low < 0 < g_high:
        r = low + (f_high - f_low - g_high * (high - low)) / (g_low - g_high)
        f, g = at(r)
        if f < least:
            best, least = r, f
        if f <= f_low + g_low * (r - low) + 1e-12 or not low < r < high:
            break
        if g < 0:
            low, f_low, g_low = r, f, g
        else:
            high, f_high, g_high = r, f, g
    return _nearest(lambda r: at(r)[0] <= least + 1e-12, best, min(max(near, 0.0), MOST_RELIEF))


def _nearest(holds: Callable[[float], bool], inside: float, wanted: float) -> float:
    """The point nearest to ``wanted`` of a stretch that holds ``inside``, to 1e-12."""
    if holds(wanted):
        return wanted
    outside = wanted
    while abs(outside - inside) > 1e-12:
        middle = (inside + outside) / 2
        if middle in (inside, outside):
            break
        inside, outside = (middle, outside) if holds(middle) else (inside, middle)
    return inside


def _worth(i: Built, own: float) -> tuple[Worth, ...]:
    """Each step up and down, through the model."""
    action = i.spec.setup.action.over_strings.spread(i.plan.toward_bass)
    opened = clearance(tried(i)).least_open
    found = []
    for what, size in STEPS.items():
        for step in (size, -size):
            match what:
                case "relief":
                    made = tried(i, relief=i.strung.relief + step)
                case "action":
                    made = tried(i, action=action + step)
                case _:
                    made = tried(i, nut=step)
            now = clearance(made)
            assert now.least_fretted is not None
            found.append(Worth(what, step, now.least_fretted - own, now.least_open - opened))
    return tuple(found)
