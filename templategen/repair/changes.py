"""From found to wanted: what to turn, file, lower or leave, by how much and in which order.

Every step is reckoned with those before it already made, through the instrument model: the neck's bow first, then the
crowns, the strings tuned to pitch, the floors at the nut, and the saddle takes what is left. A value that already is
within its reading's own ± is left, and what follows counts with it as it is.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field, replace

import numpy as np

from templategen.instrument.arrays import Array, fixed
from templategen.instrument.model import Instrument
from templategen.instrument.setup.line import StringLine
from templategen.repair.levelling import Filing
from templategen.repair.standing import Readings, Standing, as_read, as_wanted, ends, line_of
from templategen.repair.tuning import SaddleFound

SAME = 1e-9  # mm: no more than a last digit

LEAVE = "leave"
ROD = "rod: turn a quarter at most with the strings slackened, tune, measure again"
LEAST_GRIP = 0.10  # mm that barbs reach past a slot so that they hold, common practice, no source


@dataclass(frozen=True)
class Change:
    """One step. change = wanted − found; pm: of found, expanded. reads_*: what is read at the bench before and after,
    where that is not the changed thing itself. estimated: found or wanted rests on something that was not measured."""

    what: str
    how: str
    found: float | None = None
    pm: float | None = None
    wanted: float | None = None
    string: int | None = None
    fret: int | None = None
    line: str | None = None
    reads_of: str | None = None
    reads_before: float | None = None
    reads_after: float | None = None
    estimated: bool = False

    @property
    def change(self) -> float | None:
        return None if self.wanted is None or self.found is None else self.wanted - self.found

    @property
    def left(self) -> bool:
        return self.how.startswith(LEAVE)


@dataclass(frozen=True)
class Crowning:
    """What is filed and replaced: a levelling plan, the frets that are new, and the share of each measured line in what
    is taken off under each string, (frets of the plan, strings, lines)."""

    filing: Filing
    replaced: tuple[int, ...]
    shares: Array


@dataclass(frozen=True)
class OnePieceBridge:
    """A one-piece bridge. showing: saddle over its top at the bass and at the treble end, None where not measured.
    under_plane: its top under a straightedge along the crowns. body_joint: fret at the body."""

    showing: tuple[float, float] | None = None
    under_plane: float | None = None
    body_joint: int | None = None


@dataclass(frozen=True)
class Slots:
    """Slots as found, by fret: depth, and the thickest feeler that enters; pm expanded."""

    depth: dict[int, float] = field(default_factory=dict)
    width: dict[int, float] = field(default_factory=dict)
    depth_pm: float = 0.0
    width_pm: float = 0.0


@dataclass(frozen=True)
class Changes:
    """steps: in the order in which one works. found, left: how it stands before and after, None where the strings were
    not measured. new_nut, new_saddle: strings whose floor or saddle is too low to be filed. neck_deg: about how far the
    neck wants setting back (+) or forward (−), None where it need not be or cannot be told."""

    steps: tuple[Change, ...]
    found: Standing | None
    left: Standing | None
    new_nut: tuple[int, ...]
    new_saddle: tuple[int, ...]
    neck_deg: float | None


def changes(
    i: Instrument,
    base: Array,
    r: Readings,
    crowning: Crowning | None = None,
    bridge: OnePieceBridge | None = None,
    slots: Slots | None = None,
    refret: bool = False,
    saddles: tuple[SaddleFound, ...] = (),
) -> Changes:
    """base: crowns as found on the straight neck, (frets, strings); the rest as measured. refret: no plan leaves crowns
    high enough, and what comes after is reckoned with new ones as they are wanted. saddles: where strings leave the
    saddle, by the tuner."""
    steps = [*_relief(i, r)]
    relief = i.strung.relief if r.relief is None or not steps or not steps[0].left else r.relief
    left_base = base if crowning is None else filed_base(i, base, crowning)
    if refret:
        steps.append(Change("refret", "refret: level the new crowns, and measure everything again"))
        left_base = i.crowns + i.strung.sag(i.plan.crossings[..., 0])
    steps += [*_crowns(crowning), *_slots(i, slots)]
    if not r.strung:
        steps += _offsets(i, saddles)
        return Changes(tuple(steps), None, None, (), (), None)
    found = as_read(i, base, r)
    moved = replace(found, relief=relief, base=fixed(left_base))
    nut_pm, saddle_pm = _end_pm(i, base, r)
    steps.append(Change("strings", "tune to pitch; every reading from here on is taken in playing position"))
    wanted = as_wanted(i, left_base, relief)
    nut_steps, floored = _nut(i, moved, wanted, nut_pm, r)
    saddle_steps, left = _saddle(i, floored, saddle_pm, bridge is not None, r)
    steps += [*nut_steps, *saddle_steps]
    if not all(step.left for step in steps if step.how and step.found is not None):
        steps.append(Change("relief_again", "measure the relief again", wanted=i.strung.relief))
    neck, degrees = _neck(i, found, left, bridge)
    steps += [*neck, *_offsets(i, saddles)]
    return Changes(tuple(steps), found, left, _raised(nut_steps), _raised(saddle_steps), degrees)


def filed_base(i: Instrument, base: Array, c: Crowning) -> Array:
    """Crowns after filing what is worth it; a new fret is filed down to the level of the plan, (frets, strings)."""
    f = c.filing
    off = np.where(f.worth_filing, f.removed, 0.0)
    new = np.isin(f.profile.frets, c.replaced)
    off[new] = np.nan_to_num((f.profile.z - f.level)[new])
    under = np.einsum("fsl,fl->fs", c.shares, off)
    rows = [i.plan.index(int(n)) for n in f.profile.frets]
    left = np.array(base)
    left[rows] -= under
    return left


def _relief(i: Instrument, r: Readings) -> Iterator[Change]:
    if r.relief is None:
        return
    off = abs(i.strung.relief - r.relief) > r.relief_pm + SAME
    yield Change("relief", ROD if off else LEAVE, r.relief, r.relief_pm, i.strung.relief)


def _crowns(c: Crowning | None) -> Iterator[Change]:
    if c is None:
        return
    f = c.filing
    for n in c.replaced:
        yield Change("fret", "replace; level the new one with the rest", fret=n)
    for row, fret in enumerate(f.profile.frets):
        for column, line in enumerate(f.profile.lines):
            if int(fret) in c.replaced or not f.worth_filing[row, column]:
                continue
            z = float(f.profile.z[row, column])
            yield Change(
                "crown", "file, then crown and polish", z, float(f.profile.pm[row, column]),
                z - float(f.removed[row, column]), fret=int(fret), line=line,
            )  # fmt: skip


def _slots(i: Instrument, s: Slots | None) -> Iterator[Change]:
    if s is None:
        return
    wire = i.spec.fret_wire
    for fret, depth in sorted(s.depth.items()):
        wanted = float(i.frets.slot_depth[i.plan.index(fret)])
        shallow = depth < wanted - s.depth_pm - SAME
        how = "saw deeper for the new tang" if shallow else LEAVE
        yield Change("slot_depth", how, depth, s.depth_pm, wanted if shallow else max(wanted, depth), fret=fret)
    for fret, width in sorted(s.width.items()):
        if width < wire.tang_thickness - s.width_pm - SAME:
            how = "widen: so tight it bows the neck back"
            yield Change("slot_width", how, width, s.width_pm, wire.slot_width, fret=fret)
        elif width > wire.barb_width - LEAST_GRIP + s.width_pm + SAME:
            yield Change(
                "slot_width", "too wide for the barbs: fill and saw again, or glue and clamp", width, s.width_pm,
                wire.slot_width, fret=fret,
            )  # fmt: skip
        else:
            yield Change("slot_width", LEAVE, width, s.width_pm, width, fret=fret)


def _nut(i: Instrument, now: Standing, wanted: Standing, pm: Array, r: Readings) -> tuple[list[Change], Standing]:
    """Floors over the line of the first two crowns, which does not hang on the saddle; the zero fret's crown likewise.

    With it what the first fret shows while the saddle is still as it was. What was read over the first crown of the
    open string tells its floor by way of the action and the bow; the gap of a string held down tells it by itself. A
    floor that was not measured has no step, and is reckoned with as it is wanted.
    """
    zero = i.spec.scale.zero_fret is not None
    off = np.abs(wanted.nut - now.nut) > pm + SAME
    change = np.where(off | ~r.nut_read, wanted.nut - now.nut, 0.0)
    guessed = np.isfinite(r.first_fret) & (~r.saddle_read | (r.relief is None))
    done = replace(now, nut=fixed(now.nut + change))
    before, after = line_of(i, now), line_of(i, done)
    steps = []
    for n in np.flatnonzero(r.nut_read).tolist():
        if change[n] == 0:
            how = LEAVE
        elif change[n] < 0:
            how = "file the zero fret's crown" if zero else "file the slot's floor down"
        else:
            how = "too low: a higher zero fret" if zero else "too low: shim the nut, fill the slot, or make a new one"
        over = float(before.nut_over_crowns[n])
        steps.append(
            Change(
                "zero_fret" if zero else "nut_floor", how, over, float(pm[n]),
                over + float(wanted.nut[n] - now.nut[n]), string=n + 1, reads_of="first_fret_clearance",
                reads_before=float(before.first_fret_clearance[n]), reads_after=float(after.first_fret_clearance[n]),
                estimated=bool(guessed[n]),
            )
        )  # fmt: skip
    return steps, done


def _saddle(i: Instrument, now: Standing, pm: Array, one_piece: bool, r: Readings) -> tuple[list[Change], Standing]:
    """Heights of the strings' undersides at the saddle, in the plan frame; with them the action before and after. A
    string whose action was not measured has no step, and is reckoned with as it is wanted."""
    before = line_of(i, now)
    _, z = ends(i, now)
    wanted = _at_saddle(i, now, before)
    change = np.where((np.abs(wanted - z) > pm + SAME) | ~r.saddle_read, wanted - z, 0.0)
    guessed = ~r.nut_read | (r.relief is None)
    done = replace(now, saddle=fixed(now.saddle + change))
    after = line_of(i, done)
    steps = []
    for n in np.flatnonzero(r.saddle_read).tolist():
        if change[n] == 0:
            how = LEAVE
        elif not one_piece:
            how = "lower the saddle" if change[n] < 0 else "raise the saddle"
        else:
            how = "take off under the saddle" if change[n] < 0 else "too low: shim the saddle, or make a new one"
        steps.append(
            Change(
                "saddle", how, float(z[n]), float(pm[n]), float(wanted[n]), string=n + 1, reads_of="action",
                reads_before=float(before.action[n]), reads_after=float(after.action[n]), estimated=bool(guessed[n]),
            )
        )  # fmt: skip
    return steps, done


def _at_saddle(i: Instrument, s: Standing, line: StringLine) -> Array:
    """Height at the saddle with which these floors have the action asked for; it grows linearly with the action."""
    higher = line_of(i, replace(s, saddle=fixed(s.saddle + 1.0)))
    per_mm = higher.action - line.action
    asked = i.spec.setup.action.over_strings.spread(i.plan.toward_bass)
    return np.asarray(ends(i, s)[1] + (asked - line.action) / per_mm)


def _end_pm(i: Instrument, base: Array, r: Readings) -> tuple[Array, Array]:
    """Expanded uncertainty of both ends over the straight neck, from what was read of the strings; (strings,) each.

    Both are linear in the readings, so a whole mm more of each gives its share exactly.
    """
    at = as_read(i, base, r)
    nut, saddle = np.zeros((2, len(i.loads)))
    for name in ("first_fret", "pressed", "action"):
        read, pm = getattr(r, name), getattr(r, f"{name}_pm")
        if read is None or pm is None:
            continue
        more, pm = as_read(i, base, replace(r, **{name: read + 1.0})), np.nan_to_num(pm)
        nut = np.hypot(nut, (more.nut - at.nut) * pm)
        saddle = np.hypot(saddle, (more.saddle - at.saddle) * pm)
    return nut, saddle


def _raised(steps: list[Change]) -> tuple[int, ...]:
    """Strings whose end is too low for filing."""
    return tuple(s.string for s in steps if s.string is not None and s.how.startswith("too low"))


def _offsets(i: Instrument, saddles: tuple[SaddleFound, ...]) -> Iterator[Change]:
    """Where strings leave the saddle, against where they are to when all else is done."""
    for s in saddles:
        wanted = float(i.saddle.offset[s.string - 1])
        if not s.explained:
            how = "no place of the saddle explains what was read: read again, then try a new string"
        elif abs(wanted - s.offset) <= s.pm + SAME:
            how = LEAVE
        else:
            how = f"move where the string leaves the saddle {'away from' if wanted > s.offset else 'toward'} the nut"
        yield Change(
            "saddle_offset", how, s.offset, s.pm, wanted, string=s.string,
            estimated=i.loads[s.string - 1].body.core_estimated,
        )  # fmt: skip


def _neck(
    i: Instrument, found: Standing, left: Standing, b: OnePieceBridge | None
) -> tuple[list[Change], float | None]:
    """What a one-piece bridge's saddle is left to show, and the neck's angle where that is too little or too much.

    A neck turned back by an angle about the joint lifts the plane of its crowns at the saddle by the tangent times the
    way from the joint to the saddle (similar triangles), and the saddle shows as much more.
    """
    showing = None if b is None else _showing(i, found, b)
    if b is None or showing is None:
        return [], None
    lifted = left.saddle - found.saddle
    then = {"bass": showing[0] + float(lifted[-1]), "treble": showing[1] + float(lifted[0])}
    least, most = i.spec.bridge.least_saddle, i.spec.bridge.most_saddle
    low, high = min(then, key=then.__getitem__), max(then, key=then.__getitem__)
    if then[low] < least - SAME:
        end, limit, how = low, least, "set the neck back"
    elif then[high] > most + SAME:
        end, limit, how = high, most, "set the neck forward"
    else:
        return [Change("neck", LEAVE, then[low], None, then[low], line=low)], None
    if b.body_joint is None:
        return [
            Change("neck", f"{how}; the fret at the body tells by how much", then[end], None, limit, line=end)
        ], None
    reach = float(i.saddle.x.mean()) - float(i.plan.crossing(b.body_joint)[:, 0].mean())
    degrees = math.degrees(math.atan2(limit - then[end], reach))
    how = f"{how} by about {abs(degrees):.2f} degrees at the joint"
    return [Change("neck", how, then[end], None, limit, fret=b.body_joint, line=end)], degrees


def _showing(i: Instrument, found: Standing, b: OnePieceBridge) -> tuple[float, float] | None:
    """Bass and treble end: as measured, or from where the bridge's top lies under a straightedge on the crowns."""
    if b.showing is not None:
        return b.showing
    if b.under_plane is None:
        return None
    _, z = ends(i, found)
    top = i.strung.crown_height - b.under_plane
    return float(z[-1]) - top, float(z[0]) - top
