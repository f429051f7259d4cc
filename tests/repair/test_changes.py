"""From found to wanted: every change made, one after another, on a neck and strings of the test's own."""

from __future__ import annotations

import math
from dataclasses import dataclass
from dataclasses import replace as altered
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from making import FAN, instrument

from templategen.instrument.arrays import Array
from templategen.instrument.model import Instrument
from templategen.repair.changes import Change, Changes, Crowning, OnePieceBridge, Slots, changes, filed_base
from templategen.repair.levelling import CrownProfile, Filing, leave_low, replace, touch_all
from templategen.repair.standing import Readings, line_of, straight_crowns

FRETS, STRINGS = 21, 6


def readings(relief: float | None, first: Any, action: Any, pm: float = 0.0, fret: int = 12) -> Readings:
    full = np.full(STRINGS, 1.0)
    return Readings(relief, pm, first * full, pm * full, action * full, pm * full, fret)


# ------------------------------------------------------------------------------------- a neck of the test's own


@dataclass
class Bench:
    """One string on a neck: crowns (x, z) with the neck straight, and both ends, all riding on the neck's bow."""

    x: Array
    crowns: Array
    x_nut: float
    x_saddle: float
    bow: tuple[float, float]
    relief: float
    nut: float = 0.0
    saddle: float = 0.0

    def sag(self, x: Any) -> Any:
        start, end = self.bow
        middle, half = (start + end) / 2, (end - start) / 2
        u = (np.asarray(x, dtype=float) - middle) / half
        return self.relief * np.where(np.abs(u) <= 1, 1 - u**2, 2 - 2 * np.abs(u))

    def under_string(self, fret: int) -> float:
        """Gap between the open string and a crown."""
        ends = [self.nut - float(self.sag(self.x_nut)), self.saddle - float(self.sag(self.x_saddle))]
        string = float(np.interp(self.x[fret - 1], [self.x_nut, self.x_saddle], ends))
        return string - float(self.crowns[fret - 1] - self.sag(self.x[fret - 1]))

    def held_at_second(self) -> float:
        """Gap over the first crown with the string on its floor and held down on the second."""
        floor, over = self.nut - float(self.sag(self.x_nut)), self.crowns - self.sag(self.x)
        return float(np.interp(self.x[0], [self.x_nut, self.x[1]], [floor, over[1]]) - over[0])

    def with_capo(self, fret: int) -> float:
        """Gap over a crown with the string held on the first."""
        over, end = self.crowns - self.sag(self.x), self.saddle - float(self.sag(self.x_saddle))
        return float(np.interp(self.x[fret - 1], [self.x[0], self.x_saddle], [over[0], end]) - over[fret - 1])

    def hang(self, first: float, fret: int, action: float) -> None:
        """Ends with which the first fret and ``fret`` read so: each reading is linear in both."""
        rows = []
        for n in (1, fret):
            self.nut, self.saddle = 0.0, 0.0
            nought = self.under_string(n)
            self.nut = 1.0
            by_nut = self.under_string(n) - nought
            self.nut, self.saddle = 0.0, 1.0
            rows.append((by_nut, self.under_string(n) - nought, nought))
        matrix = np.array([row[:2] for row in rows])
        self.nut, self.saddle = np.linalg.solve(matrix, np.array([first, action]) - np.array([row[2] for row in rows]))


def bench(i: Instrument, n: int, base: Array, r: Readings) -> Bench:
    row = [i.plan.index(f) for f in range(1, FRETS + 1)]
    assert r.relief is not None
    made = Bench(
        x=i.plan.crossings[row, n, 0], crowns=base[row, n].copy(), x_nut=float(i.line.witness_x[n]),
        x_saddle=float(i.saddle.x[n]), bow=(i.strung.x_from, i.strung.x_to), relief=r.relief,
    )  # fmt: skip
    made.hang(float(r.first_fret[n]), r.action_fret, float(r.action[n]))
    return made


def work(b: Bench, n: int, steps: tuple[Change, ...], shares: Array | None, lines: tuple[str, ...]) -> None:
    """Do what the plan says, and read at the bench what it says is read there."""
    for step in steps:
        if step.string not in (None, n + 1) or step.left:
            continue
        match step.what:
            case "relief":
                b.relief += step.change  # type: ignore[operator]
            case "crown":
                assert step.fret
                assert step.line
                assert shares is not None
                b.crowns[step.fret - 1] += shares[step.fret - 1, n, lines.index(step.line)] * step.change
            case "nut_floor" | "zero_fret":
                assert b.under_string(1) == pytest.approx(step.reads_before, abs=1e-9)
                b.nut += step.change  # type: ignore[operator]
                assert b.under_string(1) == pytest.approx(step.reads_after, abs=1e-9)
            case "saddle":
                assert b.under_string(12) == pytest.approx(step.reads_before, abs=1e-9)
                b.saddle += step.change  # type: ignore[operator]
                assert b.under_string(12) == pytest.approx(step.reads_after, abs=1e-9)


def check_targets(i: Instrument, base: Array, r: Readings, c: Changes, crowning: Crowning | None = None) -> None:
    setup = i.spec.setup
    first = setup.first_fret_clearance
    assert first is not None
    at_first, at_action = (v.spread(i.plan.toward_bass) for v in (first, setup.action.over_strings))
    for n in range(STRINGS):
        b = bench(i, n, base, r)
        shares = None if crowning is None else crowning.shares
        work(b, n, c.steps, shares, () if crowning is None else crowning.filing.profile.lines)
        assert b.relief == pytest.approx(i.strung.relief, abs=1e-9)
        assert b.under_string(1) == pytest.approx(at_first[n], abs=1e-6)
        assert b.under_string(12) == pytest.approx(at_action[n], abs=1e-6)


# ------------------------------------------------------------------------------------------------------ properties


def profile(i: Instrument, z: Array) -> tuple[CrownProfile, Array, Array]:
    """Crowns on the outer strings that stand off their own shape by z, (frets, 2) bass and treble; the crowns under
    every string, and every line's share in each."""
    row = [i.plan.index(f) for f in range(1, FRETS + 1)]
    x, y = i.plan.crossings[row, :, 0], i.plan.crossings[row, :, 1]
    share = (y - y[:, :1]) / (y[:, -1:] - y[:, :1])
    shares = np.stack([share, 1 - share], -1)
    straight = straight_crowns(i)
    base = straight.copy()
    base[row] += np.einsum("fsl,fl->fs", shares, z)
    one = np.ones_like(z)
    found = CrownProfile(
        ("bass", "treble"), np.arange(1.0, FRETS + 1), x[:, [-1, 0]], base[row][:, [-1, 0]], 0 * one, 0 * one,
        1.1 * one, 2.4 * one, i.saddle.x[[-1, 0]] - x[:, [-1, 0]],
    )  # fmt: skip
    return found, base, shares


@settings(max_examples=15, deadline=None)
@given(
    found=st.tuples(st.floats(-0.3, 0.9), st.floats(0.0, 1.2), st.floats(0.5, 4.0)),
    wanted=st.tuples(st.floats(-0.1, 0.6), st.floats(0.1, 0.9), st.floats(1.0, 3.0)),
    seed=st.integers(0, 10**6),
    shape=st.sampled_from([{}, FAN, {"handedness": "left"}, {"setup.relief": {"from": 2, "to": 15}}]),
    level=st.sampled_from(["no", "touch_all", "leave_low", "replace"]),
)
def test_when_all_is_done_every_target_is_met(
    found: tuple[float, float, float], wanted: tuple[float, float, float], seed: int, shape: dict[str, Any], level: str
) -> None:
    relief: Any = wanted[0] if "setup.relief" not in shape else {"depth": wanted[0], **shape["setup.relief"]}
    i = instrument(
        {
            **shape,
            "setup.relief": relief,
            "setup.first_fret_clearance": wanted[1],
            "setup.action": {"fret": 12, "bass": wanted[2] + 0.3, "treble": wanted[2]},
        }
    )
    rng = np.random.default_rng(seed)
    off = rng.normal(0, 0.02, (FRETS, 2))
    p, base, shares = profile(i, off)
    r = readings(found[0], found[1] + 0.1 * rng.random(STRINGS), found[2] + 0.3 * rng.random(STRINGS))
    made: dict[str, Filing] = {"touch_all": touch_all(p), "leave_low": leave_low(p, 0.02)}
    crowning = Crowning(made[level], (), shares) if level in made else None
    if level == "replace":
        filing = replace(p, 1)
        crowning = Crowning(filing, filing.replaced, shares)
    c = changes(i, base, r, crowning)
    if level == "replace":  # a new fret is as the level is; at the bench it is not filed but put there
        assert c.left is not None
        line = line_of(i, c.left)
        first = i.spec.setup.first_fret_clearance
        assert first is not None
        assert line.first_fret_clearance == pytest.approx(first.spread(i.plan.toward_bass), abs=1e-6)
        assert line.action == pytest.approx(i.spec.setup.action.over_strings.spread(i.plan.toward_bass), abs=1e-6)
        return
    check_targets(i, base, r, c, crowning)


@settings(max_examples=12, deadline=None)
@given(
    found=st.tuples(st.floats(-0.3, 0.9), st.floats(0.1, 1.2), st.floats(0.5, 4.0)),
    seed=st.integers(0, 10**6),
    shape=st.sampled_from([{}, FAN, {"handedness": "left"}]),
    held_down=st.sampled_from(["none", "some", "all"]),
    capo=st.sampled_from([0, 1]),
    fret=st.sampled_from([9, 12, 17]),
)
def test_readings_of_held_strings_tell_the_same(
    found: tuple[float, float, float], seed: int, shape: dict[str, Any], held_down: str, capo: int, fret: int
) -> None:
    """Some strings held on the second fret, all with a capo: what stands is what was hung, and targets are met."""
    i = instrument({**shape, "intonation.saddle": "none"})
    rng = np.random.default_rng(seed)
    _, base, _ = profile(i, rng.normal(0, 0.02, (FRETS, 2)))
    told = readings(found[0], found[1] + 0.1 * rng.random(STRINGS), found[2] + 0.3 * rng.random(STRINGS))
    hung = [bench(i, n, base, told) for n in range(STRINGS)]
    by_press = {"none": np.zeros(6, bool), "some": np.arange(6) % 2 == 0, "all": np.ones(6, bool)}[held_down]
    r = Readings(
        relief=found[0], relief_pm=0.0,
        first_fret=np.where(by_press, np.nan, [b.under_string(1) for b in hung]), first_fret_pm=np.zeros(6),
        action=np.array([b.with_capo(fret) if capo else b.under_string(fret) for b in hung]), action_pm=np.zeros(6),
        action_fret=fret, capo=capo,
        pressed=np.where(by_press, [b.held_at_second() for b in hung], np.nan), pressed_pm=np.zeros(6),
    )  # fmt: skip
    c = changes(i, base, r)
    assert c.found is not None
    assert c.found.nut == pytest.approx([b.nut for b in hung], abs=1e-9)
    assert c.found.saddle == pytest.approx([b.saddle for b in hung], abs=1e-9)
    check_targets(i, base, told, c)
    assert not any(step.estimated for step in c.steps)


def test_one_end_alone() -> None:
    """Floors without an action, read held down: known by themselves. Read open, or an action alone: partly taken as
    wanted, which the steps say; an end that was not measured has none."""
    i, none = instrument(), np.full(6, np.nan)
    base, nought = straight_crowns(i), np.zeros(6)
    high = Readings(0.2, 0.0, none, nought, none, nought, 12, i.line.pressed_gap + 0.1, nought)
    c = changes(i, base, high)
    floors = [s for s in c.steps if s.what == "nut_floor"]
    reach = (i.plan.crossing(2)[:, 0] - i.line.witness_x) / (i.plan.crossing(2) - i.plan.crossing(1))[:, 0]
    assert [s.change for s in floors] == pytest.approx((-0.1 * reach).tolist(), abs=1e-9)
    assert {s.what for s in c.steps} == {"relief", "strings", "nut_floor", "relief_again"}
    assert not any(s.estimated for s in c.steps)
    opened = Readings(0.2, 0.0, i.line.first_fret_clearance + 0.1, nought, none, nought, 12)
    assert all(s.estimated for s in changes(i, base, opened).steps if s.what == "nut_floor")
    action = Readings(0.2, 0.0, none, nought, i.line.action + 0.4, nought, 12)
    c = changes(i, base, action)
    assert {s.what for s in c.steps} == {"relief", "strings", "saddle", "relief_again"}
    assert all(s.estimated for s in c.steps if s.what == "saddle")
    assert c.left is not None
    assert line_of(i, c.left).action == pytest.approx(i.line.action, abs=1e-9)
    unbent = Readings(None, 0.0, i.line.first_fret_clearance, nought, i.line.action + 0.4, nought, 12)
    assert all(s.estimated for s in changes(i, base, unbent).steps if s.what in ("saddle", "nut_floor"))


def test_some_strings_alone() -> None:
    """Two of six were read: they have their steps, the others are taken as wanted."""
    i = instrument()
    base = straight_crowns(i)
    first, action = (np.where(np.isin(np.arange(6), (0, 5)), v, np.nan) for v in (0.6, 2.8))
    c = changes(i, base, Readings(0.2, 0.0, first, np.zeros(6), action, np.zeros(6), 12))
    assert [s.string for s in c.steps if s.what == "nut_floor"] == [1, 6]
    assert [s.string for s in c.steps if s.what == "saddle"] == [1, 6]
    assert c.left is not None
    assert line_of(i, c.left).action == pytest.approx(i.line.action, abs=1e-9)


@pytest.mark.parametrize(
    "shape",
    [
        {"setup.action": {"fret": 14, "bass": 2.0, "treble": 1.5, "capo": 1}},
        {"setup.first_fret_clearance": None, "setup.pressed_gap": 0.08},
        {"setup.first_fret_clearance": None, "setup.nut_over_crowns": {"bass": 0.2, "treble": 0.1}},
        {"setup.first_fret_clearance": None, "scale.zero_fret": {"crown_height": 1.3}},
        {"setup.fall_away": {"from": 14, "drop": 0.3}, "nut.compensation": [0.5, 0.2, 0.4, 0.1, 0.2, 0.1]},
    ],
    ids=["capo", "pressed", "over the crowns", "zero fret", "fall-away"],
)
def test_targets_told_in_other_ways(shape: dict[str, Any]) -> None:
    i = instrument(shape)
    base = straight_crowns(i)
    c = changes(i, base, readings(0.45, 0.7, 2.6))
    assert c.left is not None
    line = line_of(i, c.left)
    wanted = i.line if "setup.fall_away" not in shape else None
    assert c.left.relief == i.strung.relief
    if wanted is not None:  # crowns as the model has them, so the whole line is
        for name in ("witness_z", "slope", "pressed_gap", "nut_over_crowns", "first_fret_clearance", "action"):
            assert getattr(line, name) == pytest.approx(getattr(wanted, name), abs=1e-9), name
    else:
        assert line.action == pytest.approx(i.line.action, abs=1e-9)
        assert line.first_fret_clearance == pytest.approx(i.line.first_fret_clearance, abs=1e-9)


def test_a_new_fret_stands_at_the_level_of_the_plan() -> None:
    """Under the outer strings, where the lines run, its crown is the level of the plan."""
    i = instrument()
    p, base, shares = profile(i, np.where(np.arange(FRETS)[:, None] == 11, -0.05, 0.0) * np.ones((1, 2)))
    filing = replace(p, 1)
    left = filed_base(i, base, Crowning(filing, filing.replaced, shares))
    row = i.plan.index(filing.replaced[0])
    assert left[row, [-1, 0]] == pytest.approx(filing.level[filing.replaced[0] - 1], abs=1e-12)
    assert left[row] != pytest.approx(base[row], abs=0.01)


def test_the_order_of_work() -> None:
    i = instrument()
    p, base, shares = profile(i, np.where(np.arange(FRETS)[:, None] == 6, 0.06, 0.0) * np.ones((1, 2)))
    c = changes(
        i, base, readings(0.4, 0.6, 2.6), Crowning(touch_all(p), (), shares),
        OnePieceBridge((4.0, 3.5), None, 14), Slots({3: 1.5}, {3: 0.4}),
    )  # fmt: skip
    order = list(dict.fromkeys(step.what for step in c.steps))
    assert order == [
        "relief", "crown", "slot_depth", "slot_width", "strings", "nut_floor", "saddle", "relief_again", "neck",
    ]  # fmt: skip
    assert [s.string for s in c.steps if s.what == "nut_floor"] == [1, 2, 3, 4, 5, 6]
    for step in c.steps:
        if step.found is not None and step.wanted is not None:
            assert step.change == pytest.approx(step.wanted - step.found)


def test_what_is_within_its_own_error_is_left_and_reckoned_with() -> None:
    """Relief 0.25 ± 0.06 is 0.20 for all anybody knows; the saddle is then reckoned at 0.25."""
    i = instrument()
    base = straight_crowns(i)
    first, action = i.line.first_fret_clearance, i.line.action
    r = Readings(0.25, 0.06, first, np.full(6, 0.06), action + 0.5, np.full(6, 0.02), 12)
    c = changes(i, base, r)
    by = {step.what: step for step in c.steps if step.string in (None, 6)}
    assert by["relief"].how == "leave"
    assert by["nut_floor"].how == "leave"
    assert by["saddle"].change == pytest.approx(-1.0, abs=0.02)
    assert c.left is not None
    assert c.left.relief == 0.25
    assert line_of(i, c.left).action == pytest.approx(action, abs=1e-9)
    near = altered(r, relief=0.2, relief_pm=0.0, action=action + 0.01)
    assert all(step.left for step in changes(i, base, near).steps if step.found is not None)
    assert "relief_again" not in {step.what for step in changes(i, base, near).steps}


def test_each_change_counts_with_those_before_it() -> None:
    """Straightening lowers the action; a lower nut lowers it again; the saddle takes off only the rest."""
    i = instrument()
    base = straight_crowns(i)
    c = changes(i, base, readings(0.5, 0.8, 2.6))
    nut = next(s for s in c.steps if s.what == "nut_floor" and s.string == 6)
    saddle = next(s for s in c.steps if s.what == "saddle" and s.string == 6)
    assert nut.reads_before is not None
    assert saddle.reads_before is not None
    assert nut.reads_before < 0.8
    assert saddle.reads_before < 2.6 - 0.5 * 0.1
    assert saddle.reads_after == pytest.approx(2.0)
    assert saddle.change is not None
    # similar triangles from the nut, which is held: the saddle stands where its offset puts it
    reach = (i.saddle.x[5] - i.line.witness_x[5]) / (i.plan.crossing(12)[5, 0] - i.line.witness_x[5])
    assert saddle.change == pytest.approx((2.0 - saddle.reads_before) * reach, abs=1e-9)


def test_too_low_asks_for_something_new() -> None:
    i = instrument()
    base = straight_crowns(i)
    low = changes(i, base, readings(0.2, 0.1, 0.9), bridge=OnePieceBridge())
    assert low.new_nut == low.new_saddle == (1, 2, 3, 4, 5, 6)
    high = changes(i, base, readings(0.2, 0.7, 2.9), bridge=OnePieceBridge())
    assert high.new_nut == high.new_saddle == ()
    assert {s.how for s in high.steps if s.what == "saddle"} == {"take off under the saddle"}


@pytest.mark.parametrize(("showing", "sense"), [((3.0, 2.6), 1), ((9.0, 8.0), -1), ((5.0, 4.6), 0)])
def test_the_neck(showing: tuple[float, float], sense: int) -> None:
    """Similar triangles, drawn: the plane of the crowns turned about the joint, read at the saddle."""
    i = instrument()
    c = changes(i, straight_crowns(i), readings(0.2, 0.4, 2.6), bridge=OnePieceBridge(showing, None, 14))
    neck = c.steps[-1]
    assert neck.what == "neck"
    if sense == 0:
        assert (neck.how, c.neck_deg) == ("leave", None)
        return
    assert c.neck_deg is not None
    assert math.copysign(1, c.neck_deg) == sense
    joint, saddle = i.plan.crossing(14)[:, 0].mean(), i.saddle.x.mean()
    turned = math.tan(math.radians(c.neck_deg)) * (saddle - joint)
    assert neck.found is not None
    assert neck.found + turned == pytest.approx(2.0 if sense > 0 else 5.0, abs=1e-9)
    assert f"by about {abs(c.neck_deg):.2f} degrees" in neck.how


def test_the_bridges_top_under_a_straightedge_tells_what_shows() -> None:
    """2.5 under the crowns' plane, the string a mm or so over it at the saddle: 2.5 more shows."""
    i = instrument({"fingerboard.radius": "flat", "setup.relief": 0})
    r = readings(0.0, i.line.first_fret_clearance, i.line.action)
    c = changes(i, straight_crowns(i), r, bridge=OnePieceBridge(None, 2.5, 14))
    over = i.saddle.height - i.spec.fret_wire.crown_height
    assert c.steps[-1].found == pytest.approx(min(over[0], over[-1]) + 2.5) or c.neck_deg is not None


def test_slots_against_tang_and_barbs() -> None:
    i = instrument({"fret_wire.tang_depth": 1.6, "fret_wire.depth_below_tang": 0.3})
    slots = Slots({1: 1.5, 2: 2.2}, {1: 0.4, 2: 0.58, 3: 0.79})
    c = changes(i, straight_crowns(i), readings(None, np.nan, np.nan), slots=slots)
    said = [(s.what, s.fret, s.how.split(":")[0], round(s.wanted or 0, 9)) for s in c.steps]
    assert said == [
        ("slot_depth", 1, "saw deeper for the new tang", 1.9),
        ("slot_depth", 2, "leave", 2.2),
        ("slot_width", 1, "widen", 0.58),
        ("slot_width", 2, "leave", 0.58),
        ("slot_width", 3, "too wide for the barbs", 0.58),
    ]
    assert c.found is None


def test_uncertainty_of_the_ends_is_that_of_the_readings() -> None:
    """By drawing readings: the spread of the ends' heights is what is told."""
    i = instrument()
    base = straight_crowns(i)
    r = readings(0.2, 0.5, 2.2, pm=0.04)
    step = next(s for s in changes(i, base, r).steps if s.what == "saddle" and s.string == 3)
    rng = np.random.default_rng(1)
    heights = []
    for _ in range(400):
        drawn = altered(r, first_fret=r.first_fret + rng.normal(0, 0.02, 6), action=r.action + rng.normal(0, 0.02, 6))
        found = changes(i, base, drawn).found
        assert found is not None
        heights.append(found.saddle[2])
    assert step.pm == pytest.approx(2 * np.std(heights), rel=0.12)
