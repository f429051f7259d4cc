"""From readings to what the instrument needs: crowns across lines, clearance as found, its cause, the plan chosen."""

from __future__ import annotations

from dataclasses import replace
from time import process_time
from typing import Any

import numpy as np
import pytest
from as_found import bump, crowns, readings, remedy
from hypothesis import given, settings
from hypothesis import strategies as st
from making import FAN, instrument
from scipy.optimize import linprog

from templategen.instrument.arrays import fixed
from templategen.instrument.model import Instrument
from templategen.instrument.setup.clearance import clearance
from templategen.repair.changes import OnePieceBridge
from templategen.repair.remedy import FoundInPlay, Remedy
from templategen.repair.standing import (
    Readings,
    Standing,
    as_read,
    as_wanted,
    line_of,
    readings_of,
    standing_setting,
    straight_crowns,
)

FRETS = 21


# ------------------------------------------------------------------------------------------------------- crowns


SHAPES: list[dict[str, Any]] = [
    {},
    FAN,
    {"handedness": "left"},
    {"fingerboard.radius": "flat"},
    {"scale.zero_fret": {"crown_height": 1.25}, "setup.first_fret_clearance": None},
    {"setup.action": {"fret": 14, "bass": 2.0, "treble": 1.5, "capo": 1}, "intonation.saddle": "none"},
    {**FAN, "handedness": "left", "setup.first_fret_clearance": None, "setup.pressed_gap": 0.08},
]


@pytest.mark.parametrize("shape", [s for s in SHAPES if "capo" not in str(s)])
def test_found_as_wanted_is_what_is_wanted(shape: dict[str, Any]) -> None:
    i = instrument(shape)
    made = remedy(i, np.zeros((FRETS, 2)))
    for name in ("away", "toward", "least_gap", "force_n"):
        assert getattr(made.clearance, name) == pytest.approx(getattr(i.clearance, name), abs=1e-9, nan_ok=True)
    assert made.estimated == ()
    assert all(step.left for step in made.changes.steps if step.found is not None)


@pytest.mark.parametrize("shape", [*SHAPES, {"setup.fall_away": {"from": 12, "drop": 0.3}}])
def test_every_kind_of_instrument_is_levelled_and_set_up(shape: dict[str, Any]) -> None:
    """Crowns uneven, strings high, neck bent: plans, changes and what they leave, on zero frets, slanted frets, left
    hands, boards that fall away, and with a capo."""
    i = instrument({**shape, "playing.headroom": 0.5})
    off = np.random.default_rng(3).normal(0, 0.012, (FRETS, 2))
    fall = i.strung.fall_away(i.plan.crossings[-FRETS:][:, [-1, 0], 0])
    made = Remedy(i, FoundInPlay(seen(i), crowns(i, off - fall)))
    assert {f.plan for f in made.filings} == {"touch_all", "leave_low", "replace", "every_note_clears"}
    level = made.filings[0]
    x, z = level.profile.x, level.profile.z
    for line in range(2):  # the level as drawn by a general-purpose solver under crowns and fall-away
        raised = z[:, line] + fall[:, line]
        best = linprog(
            [-FRETS, -x[:, line].sum()], np.stack([np.ones(FRETS), x[:, line]], 1), raised, bounds=(None, None)
        )
        assert level.removed[:, line].sum() == pytest.approx(raised.sum() + best.fun, abs=1e-6)
    least = made.filings[-1]
    under = np.einsum("fsl,fl->fs", made.crowns.shares, least.removed) if made.crowns is not None else 0.0
    filed = np.array(made.base)
    filed[-FRETS:] -= under
    stands = as_wanted(i, made.base, i.strung.relief)
    cleared = clearance(standing_setting(i, replace(stands, base=fixed(filed))))
    assert cleared.least_fretted is not None
    assert cleared.least_fretted >= 0.5 - 1e-6
    assert made.left is not None
    changed = made.changes.left
    assert changed is not None
    assert changed.relief == pytest.approx(i.strung.relief)
    assert line_of(i, changed).action == pytest.approx(i.line.action, abs=1e-6)


def seen(i: Instrument) -> Readings:
    """What is read with the neck bent by 0.15 more, the nut 0.1 and the saddle a little higher than wanted."""
    base = i.crowns + i.strung.sag(i.plan.crossings[..., 0])
    stands = as_wanted(i, base, i.strung.relief + 0.15)
    return readings_of(i, replace(stands, nut=fixed(stands.nut + 0.1), saddle=fixed(stands.saddle + 0.8)))


@settings(max_examples=8, deadline=None)
@given(lift=st.floats(-1, 1), tilt=st.floats(-0.01, 0.01), seed=st.integers(0, 1000))
def test_the_line_that_the_readings_lie_on_makes_no_difference(lift: float, tilt: float, seed: int) -> None:
    i = instrument()
    off = np.random.default_rng(seed).normal(0, 0.02, (FRETS, 2))
    x = i.plan.crossings[:, [-1, 0], 0]
    level = np.array([lift, -2 * lift]) + x * np.array([tilt, 0.3 * tilt])
    one, two = remedy(i, off), remedy(i, off + level)
    assert two.clearance.away == pytest.approx(one.clearance.away, abs=1e-9, nan_ok=True)
    assert two.clearance.toward == pytest.approx(one.clearance.toward, abs=1e-9, nan_ok=True)


def test_strings_between_the_lines_take_their_share() -> None:
    """Half way between two lines, half of each; beyond the outer line what is on it."""
    i = instrument({"fingerboard.radius": "flat", "setup.relief": 0})
    found = remedy(i, bump(8, (0.06, 0.02))).crowns
    assert found is not None
    off = (found.base - straight_crowns(i))[7]
    y = i.plan.crossings[7, :, 1]
    share = (y - y[0]) / (y[-1] - y[0])
    assert off == pytest.approx(0.02 + 0.04 * share, abs=1e-12)
    inner = remedy(i, bump(8, (0.06, 0.02)), ("5", "2")).crowns
    assert inner is not None
    off = (inner.base - straight_crowns(i))[7]
    assert (off[4], off[1]) == pytest.approx((0.06, 0.02))
    assert (off[5], off[0]) == pytest.approx((0.06, 0.02)), "as on the outer lines"
    assert 0.02 < off[2] < off[3] < 0.06


def test_three_lines_and_one_along_the_middle() -> None:
    i = instrument({"setup.relief": 0})
    made = remedy(i, bump(8, (0.0, 0.05, 0.0), 3), ("bass", "centre", "treble"))
    assert made.crowns is not None
    off = (made.crowns.base - straight_crowns(i))[7]
    assert off[0] == pytest.approx(0)
    assert off[5] == pytest.approx(0)
    assert off[2] > 0.03
    assert made.crowns.profile.x[:, 1] == pytest.approx(i.plan.centre_x)


def test_a_crown_that_was_not_measured_takes_its_neighbours_height() -> None:
    i = instrument({"fingerboard.radius": "flat"})
    off = np.zeros((FRETS, 1))
    off[4:7, 0] = 0.0, np.nan, 0.04
    found = remedy(i, off, ("3",)).crowns
    assert found is not None
    x = i.plan.crossings[4:7, 2, 0]
    between = 0.04 * (x[1] - x[0]) / (x[2] - x[0])
    stands = (found.base - straight_crowns(i))[:, 2]
    assert stands[5] == pytest.approx(between, abs=1e-9)
    assert np.isnan(found.profile.z[5, 0])


# --------------------------------------------------------------------------------------------- clearance and cause


def test_a_high_crown_is_found_and_blamed() -> None:
    i = instrument()
    off, lines = np.zeros((FRETS, 5)), ("treble", "2", "3", "4", "bass")
    off[7, 1:3] = 0.06
    made = remedy(i, off, lines)
    worst = made.clearance.worst_fretted
    assert worst is not None
    assert worst.touches == 8
    assert worst.string in (2, 3)
    cause = made.cause
    assert cause is not None
    assert (cause.what, cause.fret, cause.strings) == ("crown", 8, (2, 3))
    assert cause.by == pytest.approx(0.06, abs=0.006), "over the level, which is straight where the board is not"
    assert cause.gain > 0.1
    filed = off.copy()
    filed[7, 1:3] -= cause.by
    again = remedy(i, filed, lines).clearance.least_fretted
    assert again is not None
    assert worst.headroom is not None
    assert again - worst.headroom == pytest.approx(cause.gain, abs=5e-3)


@pytest.mark.parametrize(
    ("given", "what"),
    [({"relief": -0.25}, "relief"), ({"action": -0.5}, "action"), ({"relief": 0.4}, "relief")],
)
def test_the_setup_is_blamed_where_it_is_to_blame(given: dict[str, float], what: str) -> None:
    i = instrument()
    made = remedy(i, np.zeros((FRETS, 2)), **given)
    cause = made.cause
    assert cause is not None
    assert cause.what == what
    assert cause.gain >= cause.over_next > 0


def test_nothing_is_blamed_where_all_is_well() -> None:
    i = instrument()
    assert remedy(i, np.zeros((FRETS, 2))).cause is None


def test_no_crown_reading_and_no_string_reading() -> None:
    i = instrument()
    none = np.full(6, np.nan)
    bare = Remedy(i, FoundInPlay(Readings(None, 0.0, none, none, none, none, 12)))
    assert bare.estimated == ("relief", "crowns", "strings")
    assert bare.clearance.away == pytest.approx(i.clearance.away, abs=1e-9, nan_ok=True)
    assert bare.filings == ()
    assert bare.chosen is None
    assert bare.changes.steps == ()
    assert bare.left is None


# ----------------------------------------------------------------------------------------------- plans and changes


def test_plans_side_by_side_and_the_one_chosen() -> None:
    i = instrument()
    off = bump(7, (0.06, 0.05)) + bump(14, (0.03, 0.04)) - bump(12, (0.03, 0.03))
    made = remedy(i, off)
    assert [f.plan for f in made.filings] == [
        "touch_all",
        "leave_low",
        "replace",
        "replace",
        "replace",
        "every_note_clears",
    ]
    assert made.chosen is not None
    assert made.filings[made.chosen].plan == "every_note_clears"
    assert made.verdicts[made.chosen].words.startswith("spot-level")
    cleared = made.left
    assert cleared is not None
    assert cleared.least_fretted is not None
    assert cleared.least_fretted >= float(made.asked.min()) - 5e-4


def test_all_that_was_wanted_is_reached() -> None:
    i = instrument()
    off = np.random.default_rng(4).normal(0, 0.015, (FRETS, 2))
    made = remedy(i, off, relief=0.2, first=0.15, action=0.5)
    assert made.changes.left is not None
    assert made.left is not None
    assert made.left.least_fretted is not None
    assert made.left.least_fretted == pytest.approx(float(made.asked.min()), abs=0.02)


def test_the_least_crown_is_a_share_of_the_wires_or_as_asked() -> None:
    assert remedy(instrument()).least_crown == pytest.approx(0.77)
    assert remedy(instrument({"levelling.least_crown": 0.9})).least_crown == 0.9


def test_levellings_own_fall_away() -> None:
    i = instrument({"levelling.fall_away": {"from": 15, "drop": 0.2}})
    made = remedy(i, np.zeros((FRETS, 2)))
    assert made.crowns is not None
    fall = made.crowns.profile.fall
    assert fall[14] == pytest.approx(0.0, abs=1e-12)
    assert fall[-1] == pytest.approx(0.2)
    other = remedy(instrument({"setup.fall_away": {"from": 14, "drop": 0.3}}), np.zeros((FRETS, 2)))
    assert other.crowns is not None
    assert other.crowns.profile.fall[-1] == pytest.approx(0.3)


def test_everything_in_a_second() -> None:
    i = instrument({"scale.fret_count": 24})
    off = np.random.default_rng(4).normal(0, 0.02, (24, 2)).round(2)
    began = process_time()
    made = Remedy(i, FoundInPlay(readings(i, 0.1, 0.2, 0.4), crowns(i, off), OnePieceBridge((4.0, 4.0), None, 14)))
    made.clearance, made.filings, made.verdicts, made.changes, made.left, made.cause  # noqa: B018
    assert process_time() - began < 1.0
    assert replace(made, found=FoundInPlay(made.found.readings)).crowns is None


def test_a_refret_is_reckoned_with_new_crowns() -> None:
    """All crowns worn under the least: what comes after is as if they stood as wanted."""
    i = instrument({"levelling.least_crown": 1.2})
    made = remedy(i, bump(7, (0.06, 0.03)), relief=0.2, first=0.1, action=0.3)
    assert made.chosen is None
    assert [step.what for step in made.changes.steps][:3] == ["relief", "refret", "strings"]
    assert made.left is not None
    assert made.left.headroom == pytest.approx(i.clearance.headroom, abs=1e-9, nan_ok=True)


@pytest.mark.parametrize(
    ("given", "high", "what"),
    [
        ({"first": 0.8, "action": -0.15, "relief": -0.02}, 0.0, "nut"),
        ({"first": 0.1, "action": -0.5, "relief": -0.02}, 0.0, "action"),
        ({"first": 0.1, "action": -0.1, "relief": -0.3}, 0.0, "relief"),
        ({"first": 0.3, "action": -0.2, "relief": -0.1}, 0.08, "crown"),
    ],
)
def test_the_cause_is_the_best_of_every_change_made_alone(given: dict[str, float], high: float, what: str) -> None:
    """Each change made by hand and the clearance taken again: the one told gives most, by so much."""
    i = instrument()
    made = remedy(i, bump(8, (high, high)), **given)
    s = made.standing
    now, wanted = readings_of(i, s), readings_of(i, as_wanted(i, s.base, s.relief))

    def gain(stands: Standing) -> float:
        least = clearance(standing_setting(i, stands)).least_fretted
        assert least is not None
        assert made.clearance.least_fretted is not None
        return least - made.clearance.least_fretted

    gains = {
        "relief": gain(as_read(i, s.base, replace(now, relief=i.strung.relief))),
        "nut": gain(as_read(i, s.base, replace(now, first_fret=wanted.first_fret))),
        "action": gain(as_read(i, s.base, replace(now, action=wanted.action))),
    }
    if high:
        level = made.filings[0]
        base = np.array(s.base)
        base[7] -= level.removed[7].mean()
        gains["crown"] = gain(replace(s, base=fixed(base)))
    best, second = sorted(gains.values(), reverse=True)[:2]
    cause = made.cause
    assert cause is not None
    assert cause.what == what == max(gains, key=gains.__getitem__)
    assert cause.gain == pytest.approx(best, abs=2e-3)
    assert cause.over_next == pytest.approx(best - max(second, 0.0), abs=2e-3)


def test_a_plan_that_replaces_none_goes_before_one_that_files_less() -> None:
    i = instrument({"playing.headroom": 1.3, "levelling.leave_low": 0.001})
    made = remedy(i, bump(12, (-0.03, -0.03)) + bump(7, (0.06, 0.06)))
    assert made.chosen is not None
    assert made.verdicts[made.chosen].replaced == ()
    less = [f for f in made.filings if f.replaced and f.total < made.filings[made.chosen].total - 0.01]
    assert less, "some plan with a new fret files less"


def test_a_crown_may_stand_at_the_least_and_no_lower() -> None:
    i = instrument({"levelling.least_crown": 0.9, "playing.headroom": 0.1, "fingerboard.radius": "flat"})
    for height, replaced in ((0.901, ()), (0.899, (3,))):
        read = crowns(i, np.zeros((FRETS, 2)))
        worn = np.array(read.height)
        worn[2] = height
        made = Remedy(i, FoundInPlay(readings(i), replace(read, height=worn)))
        assert made.verdicts[0].replaced == replaced
