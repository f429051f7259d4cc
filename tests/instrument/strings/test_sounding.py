"""Intonation wired into the instrument: geometry handed over, offsets applied, laws, and what is told."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from typing import Any

import making
import numpy as np
import pytest
from calls import SET
from hypothesis import given, settings
from hypothesis import strategies as st
from places import ROOT

from templategen import job
from templategen.errors import SpecError, problem_report
from templategen.findings.strings import intonation_facts, load_facts
from templategen.instrument.model import Instrument
from templategen.instrument.strings.sounding import held_problems
from templategen.tables import strings

NO_MARKERS: dict[str, Any] = {"fret_wire.markers": [], "fret_wire.doubled_markers": []}
BEST = {"nut.compensation": "best_fit"}

# a straight line of crowns that the string all but touches, and a string that neither stretches nor is stiff: what is
# left of the errors is where the frets lie
BARE: dict[str, Any] = {
    **NO_MARKERS,
    "fingerboard.radius": "flat",
    "setup.relief": 0,
    "setup.first_fret_clearance": 0.001 * (1 - 2 ** (-1 / 12)),
    "setup.action": {"fret": 12, "bass": 5e-4, "treble": 5e-4},
    "strings.set": [{"gauge": 0.4, "note": "E4", "mass_per_length": 0.3, "stretch_sensitivity": 1e-9}] * 5,
    "intonation.string_ends": "ideal",
}


def codes(made: Instrument) -> list[str]:
    return [fact.code for fact in (*load_facts(made.loads), *intonation_facts(made.spec, made.intonation))]


@pytest.mark.parametrize(
    "changes", [BEST, {**making.FAN, **BEST}, {"intonation.saddle": [1.0, 2.0, 3.0, 1.5, 2.5, 3.5]}]
)
def test_offsets_move_saddle_nut_and_line(changes: dict[str, Any]) -> None:
    made = making.instrument(changes)
    tuning, plan = made.intonation, made.plan
    assert made.saddle.offset == pytest.approx(tuning.saddle_offset)
    assert made.saddle.x == pytest.approx(plan.string_saddle[:, 0] + tuning.saddle_offset)
    assert made.nut.shift == pytest.approx(tuning.nut_offset)
    assert made.line.witness_x == pytest.approx(plan.string_nut[:, 0] + tuning.nut_offset)
    assert made.saddle.from_nut == pytest.approx(
        plan.string_saddle[:, 0] - plan.string_nut[:, 0] + tuning.saddle_offset - tuning.nut_offset
    )
    # the line in space is that of the nominal front edge
    straight = making.instrument({**changes, "nut.compensation": "none"})
    assert made.saddle.height == pytest.approx(straight.line.z(made.saddle.x), abs=1e-9)
    assert made.line.first_fret_clearance == pytest.approx(straight.line.first_fret_clearance, abs=1e-9)


def test_a_free_nut_is_the_specs_choice() -> None:
    assert not making.instrument().intonation.nut_offset.any()
    assert (making.instrument(BEST).intonation.nut_offset > 0.02).all()
    held = making.instrument({"nut.compensation": {"bass": 0.5, "treble": 0.2}, "intonation.saddle": "none"}).intonation
    assert held.nut_offset == pytest.approx([0.2, 0.26, 0.32, 0.38, 0.44, 0.5])
    assert not held.saddle_offset.any()
    assert not held.saddle_free
    free = making.instrument({"nut.compensation": {"bass": 0.5, "treble": 0.2}}).intonation
    assert [fit.saddle_offset for fit in held.best] == pytest.approx(free.saddle_offset)


def test_the_strings_of_a_multi_scale_board_count_from_their_own_nut_points() -> None:
    made = making.instrument({**making.FAN, "scale.square_fret": 9})
    fractions = 1 - 2 ** (-np.arange(1, 22) / 12)
    for string, length in ((0, 640.0), (-1, 670.0)):
        fretted = made.intonation.strings[string]
        assert fretted.saddle_x == pytest.approx(length)
        assert fretted.crown_x == pytest.approx(length * fractions)


def test_the_heights_are_those_of_relief_and_radius() -> None:
    """From the finished line and the strung board back to what intonation was given."""
    made = making.instrument({"setup.relief": 0.3, "setup.fall_away": {"from": 15, "drop": 0.2}})
    for n, string in enumerate(made.intonation.strings):
        start = made.plan.string_nut[n, 0]
        slope = (string.saddle_z - string.nut_z) / string.saddle_x
        clearance = string.nut_z + slope * string.crown_x - string.crown_z
        assert clearance[0] == pytest.approx(made.line.first_fret_clearance[n])
        assert clearance[11] == pytest.approx(made.line.action[n])
        y = made.plan.crossings[:, n, 1]
        crowns = made.strung.crown_z(start + string.crown_x, y)
        assert string.crown_z == pytest.approx(crowns)


def test_what_is_left_of_an_ideal_string_is_where_the_frets_lie() -> None:
    """Inner strings of a fan with two spacing laws meet the frets off their places; the plan says by how much."""
    gauges = [{**BARE["strings.set"][0], "gauge": gauge} for gauge in (0.3, 0.5, 1.2, 1.9, 3.0)]
    made = making.instrument({**BARE, **making.FAN, "bridge.spacing": 1.0, "nut.spacing": 0.0, "strings.set": gauges})
    assert abs(made.plan.crossing_cents).max() > 0.1
    assert made.intonation.cents_uncompensated == pytest.approx(made.plan.crossing_cents.T, abs=2e-3)


def test_frets_answer_for_their_own_pitch() -> None:
    """The old rule of 18 sets its frets 98.955 cents apart (1200·log₂(18/17)) and is in tune with itself."""
    eighteen = [1200 * n * math.log2(18 / 17) for n in range(1, 13)]
    assert eighteen[0] == pytest.approx(98.955, abs=5e-4)
    made = making.instrument({**BARE, "scale.fret_cents": eighteen, "scale.fret_count": 12})
    assert made.frets.from_nut[0] == pytest.approx(640 / 18)
    assert abs(made.intonation.cents_uncompensated).max() < 1e-3


def test_with_a_zero_fret_the_strings_start_on_its_crown() -> None:
    made = making.instrument({"scale.zero_fret": {"crown_height": 1.3}})
    tuning = made.intonation
    assert list(tuning.frets) == list(range(1, 22))
    for n, string in enumerate(tuning.strings):
        assert string.crown_x[11] == pytest.approx(320)
        assert string.nut_z == pytest.approx(made.crowns[0, n])
        assert string.crown_z == pytest.approx(made.crowns[1:, n])


def test_a_left_handed_instrument_sounds_the_same() -> None:
    right, left = (making.instrument({"handedness": hand, **making.FAN, **BEST}) for hand in ("right", "left"))
    assert left.intonation.cents == pytest.approx(right.intonation.cents, abs=1e-9)
    assert left.intonation.straight_saddle.slope == pytest.approx(-right.intonation.straight_saddle.slope, abs=1e-6)


# ------------------------------------------------------------------------------------------------------------- laws


@settings(max_examples=8, deadline=None)
@given(low=st.floats(1.2, 2.5), more=st.floats(0.1, 1.5))
def test_higher_action_is_sharper(low: float, more: float) -> None:
    same_nut = {"setup.first_fret_clearance": None, "setup.nut_over_crowns": 0.3}
    cents = [
        making.instrument(
            {**same_nut, "setup.action": {"fret": 12, "bass": a, "treble": a}}
        ).intonation.cents_uncompensated
        for a in (low, low + more)
    ]
    assert (cents[1] > cents[0]).all()


@settings(max_examples=8, deadline=None)
@given(scale=st.floats(560, 640), longer=st.floats(10, 60))
def test_a_longer_scale_asks_for_smaller_offsets(scale: float, longer: float) -> None:
    flat = {"fingerboard.radius": "flat", "setup.relief": 0, **BEST}
    short, long = (making.instrument({**flat, "scale.length": s}).intonation for s in (scale, scale + longer))
    assert (long.saddle_offset < short.saddle_offset).all()
    assert (long.nut_offset < short.nut_offset).all()


@pytest.mark.parametrize("extra", [0.1, 0.3])
def test_a_nut_too_high_is_that_of_a_spec_measured_so(extra: float) -> None:
    """The same instrument measured with its nut ``extra`` higher: over fret n a nut's lift counts (L − xₙ)/L."""
    held = {"nut.compensation": [0.1] * 6, "intonation.saddle": [1.4, 2.6, 4.4, 2.3, 3.6, 4.8]}
    first, action = {"bass": 0.45, "treble": 0.30}, {"bass": 2.0, "treble": 1.6}
    lift = extra * 2 ** (-1 / 12), extra / 2
    low = making.instrument({**held, "setup.first_fret_clearance": first, "setup.action": {"fret": 12, **action}})
    high = making.instrument(
        {
            **held,
            "setup.first_fret_clearance": {side: value + lift[0] for side, value in first.items()},
            "setup.action": {"fret": 12} | {side: value + lift[1] for side, value in action.items()},
        }
    )
    added = low.intonation.nut_too_high(extra)
    assert added == pytest.approx(high.intonation.cents - low.intonation.cents, abs=1e-6)
    assert (added[:, 0] > added[:, 1]).all()
    assert (added[:, 1] > added[:, 2]).all()
    assert (added[:, 2] > 0).all()


def test_one_straight_saddle_and_one_to_adjust() -> None:
    tuning = making.instrument(BEST).intonation
    straight = tuning.straight_saddle
    offsets = [fit.saddle_offset for fit in straight.fits]
    assert offsets == pytest.approx(straight.intercept + straight.slope * tuning.saddle_y)
    assert [fit.nut_offset for fit in straight.fits] == pytest.approx(tuning.nut_offset)
    # no line is better than every string's own offset, and turning or shifting this one makes it worse
    assert straight.rms_cents > max(fit.rms_cents for fit in tuning.fits)
    held = {"nut.compensation": tuning.nut_offset.tolist()}
    for turn, shift in ((0.005, 0.0), (-0.005, 0.0), (0.0, 0.1), (0.0, -0.1)):
        moved = np.array(offsets) + turn * tuning.saddle_y + shift
        other = making.instrument({**held, "intonation.saddle": moved.tolist()}).intonation
        assert np.sqrt(np.mean([fit.rms_cents**2 for fit in other.fits])) > straight.rms_cents
    room = tuning.saddle_range
    assert room.nearest == pytest.approx(tuning.saddle_offset.min() - 1.5)
    assert room.farthest == pytest.approx(tuning.saddle_offset.max() + 1.5)


# ------------------------------------------------------------------------------------------------ edges and findings


@pytest.mark.parametrize(
    "changes",
    [
        {"scale.fret_count": 2, "setup.action": {"fret": 2, "bass": 0.7, "treble": 0.6}},
        {"scale.fret_count": 36},
        {"scale.fret_count": 144, "scale.steps_per_octave": 72},
        {"scale.fret_cents": [204, 386, 498, 702, 884, 1088, 1200], "scale.repeat_at": 1200, "scale.fret_count": 14},
        {"setup.first_fret_clearance": 0.0, "setup.action": {"fret": 12, "bass": -0.5, "treble": -0.5}},
        {"intonation.finger_distance": 50},
    ],
    ids=["two frets", "36 frets", "72 steps", "seven cents", "no action", "finger far behind"],
)
def test_odd_boards_stay_finite(changes: dict[str, Any]) -> None:
    made = making.instrument({**NO_MARKERS, **changes, **BEST})
    tuning = made.intonation
    for values in (tuning.cents, tuning.cents_uncompensated, tuning.nut_too_high(0.3)):
        assert values.shape == (6, made.spec.scale.fret_count)
        assert np.isfinite(values).all()
    assert np.isfinite([tuning.straight_saddle.slope, tuning.saddle_range.travel]).all()


def test_a_fit_with_fewer_frets_than_usual_is_told() -> None:
    few = making.instrument({**NO_MARKERS, "scale.fret_count": 9, "setup.action": {"fret": 9, "bass": 2, "treble": 2}})
    assert few.intonation.fit_to_fret == 9
    assert "fit-shortened" in codes(few)
    assert "fit-shortened" not in codes(making.instrument())


def test_a_fit_to_a_small_part_of_the_string_is_told() -> None:
    fine = {**NO_MARKERS, "scale.fret_count": 48, "scale.steps_per_octave": 24}
    assert "fit-covers-little" in codes(making.instrument(fine))
    assert "fit-covers-little" not in codes(making.instrument({**fine, "intonation.fit_to_fret": 24}))


def test_offsets_beyond_the_usual_are_told() -> None:
    assert not [code for code in codes(making.instrument()) if "offset" in code]
    wide = making.instrument({"intonation.saddle": [2, 2, 2, 2, 2, 9], "nut.compensation": [2, 0, 0, 0, 0, 0]})
    saddle, nut = (making.found(wide, f"unusual-{end}-offset")[0] for end in ("saddle", "nut"))
    assert saddle.message.startswith("Saddle offset of string 6 9.00 mm; -1 to 8 mm is common practice.")
    assert (saddle.level, saddle.key) == ("decide", "intonation.saddle")
    assert nut.message.startswith("Nut offset of string 1 2.00 mm; -0.5 to 1.5 mm is common practice.")


def test_a_search_that_was_stopped_is_told() -> None:
    slack = [{"gauge": 1.2, "note": "E2", "mass_per_length": 2.5}] * 6
    stopped = making.instrument({"strings.set": slack, "setup.action": {"fret": 12, "bass": 9.0, "treble": 9.0}})
    (told,) = making.found(stopped, "offset-at-limit")
    assert told.message.startswith("No sane offset puts the frets of these strings in tune")
    assert told.message.count("(E2) saddle ") == 6
    assert "unusual-saddle-offset" not in codes(stopped)


# --------------------------------------------------------------------------------------------------------- problems


def report(changes: dict[str, Any]) -> str:
    with pytest.raises(SpecError) as told, making.spec_file(changes, name="held") as path:
        making.job.compute(path)
    return problem_report(replace(problem, file="held.toml", line=None) for problem in told.value.problems)


def test_a_nut_cannot_be_compensated_behind_a_zero_fret() -> None:
    for wanted in ("best_fit", 0.3):
        text = report({"scale.zero_fret": True, "nut.compensation": wanted})
        assert 'must be "none" with a zero fret' in text
        assert text.splitlines()[0].startswith("held.toml  nut.compensation = ")


def test_offsets_past_a_crown_are_problems() -> None:
    fine = {**NO_MARKERS, "scale.steps_per_octave": 72, "scale.length": 640, "scale.fret_count": 140}
    text = report({**fine, "nut.compensation": [0, 0, 0, 0, 0, 6.2]})
    assert "puts the nut's front edge at or past the first fret under string 6" in text
    assert "less than 6.13 mm" in text
    short = {**NO_MARKERS, "scale.length": 120, "scale.fret_count": 36}
    text = report({**short, "intonation.saddle": [0, -19, 0, 0, 0, 0]})
    assert "puts the saddle at or before the last fret under string 2" in text
    assert "more than -15.00 mm" in text


def test_held_offsets_that_can_be_are_no_problem() -> None:
    made = making.instrument({"nut.compensation": 2.9, "intonation.saddle": -19.9})
    assert held_problems(made.spec, made.plan) == ()
    assert np.isfinite(made.intonation.cents).all()


# --------------------------------------------------------------------- cores that nobody measured, fingers, the rest


def test_the_spread_of_an_estimated_core_is_that_of_cores_thinner_and_thicker_by_a_fifth() -> None:
    bare = [*SET[:5], {key: value for key, value in SET[5].items() if key != "core_diameter"}]
    guessed = making.instrument({"strings.set": bare})
    usual = guessed.loads[5].body.core_diameter
    offsets = [
        making.instrument({"strings.set": [*SET[:5], {**SET[5], "core_diameter": share * usual}]}).saddle.offset[5]
        for share in (0.8, 1.0, 1.2)
    ]
    spread = guessed.intonation.spread
    assert spread[:5] == (None,) * 5, "these were measured"
    assert spread[5] is not None
    assert (spread[5].saddle_low, guessed.saddle.offset[5], spread[5].saddle_high) == pytest.approx(offsets)
    assert (spread[5].nut_low, spread[5].nut_high) == (0.0, 0.0), "the nut is held"
    (told,) = making.found(guessed, "core-estimated")
    low, middle, high = (f"{offset:.2f}" for offset in offsets)
    assert told.level == "decide", "the spread moves the offset by more than a millimetre"
    assert f"string 6 (E2) {usual:.3f} mm ({middle}, {low} to {high} mm)" in told.message
    row = strings.records(guessed)[5]
    assert (row["saddle_offset_low"], row["saddle_offset_high"]) == pytest.approx((offsets[0], offsets[2]))
    assert strings.records(guessed)[0]["saddle_offset_low"] is None


def test_the_spread_of_a_nut_that_is_fitted_too() -> None:
    bare = [*SET[:5], {key: value for key, value in SET[5].items() if key != "core_diameter"}]
    both = making.instrument({"strings.set": bare, "nut.compensation": "best_fit"}).intonation.spread[5]
    held = making.instrument({"strings.set": bare, "intonation.saddle": "none"}).intonation.spread[5]
    assert both is not None
    assert held is not None
    assert both.nut_low < both.nut_high
    assert (held.saddle_low, held.saddle_high) == (0.0, 0.0)


def test_a_short_bass_without_its_cores_is_not_far_off() -> None:
    """0.45 of the gauge made 26.9 mm of the lowest string's 5.3."""
    path = ROOT / "specs" / "fleet-12.toml"
    text = path.read_text(encoding="utf-8")
    bare = re.sub(r', core_diameter = "[^"]+"', "", text)
    assert text.count("core_diameter") == 4
    assert "core_diameter" not in bare
    measured, guessed = (job.compute(str(path), data.encode())[1].instrument for data in (text, bare))
    assert measured.saddle.offset[3] == pytest.approx(5.30, abs=0.01)
    assert guessed.saddle.offset - measured.saddle.offset == pytest.approx(np.zeros(4), abs=0.6)
    spread = guessed.intonation.spread[3]
    assert spread is not None
    assert spread.saddle_low < measured.saddle.offset[3] < spread.saddle_high


def test_finger_depth_and_rest_go_through_offsets_and_notes() -> None:
    plain = making.instrument()
    deep = making.instrument({"intonation.finger_depth": 0.2})
    tied = making.instrument({"intonation.behind": {"nut": 40, "saddle": 160}})
    assert np.all(deep.intonation.cents_uncompensated > plain.intonation.cents_uncompensated)
    assert np.all(deep.saddle.offset > plain.saddle.offset)
    assert np.all(tied.intonation.cents_uncompensated < plain.intonation.cents_uncompensated)
    assert np.all(tied.saddle.offset < plain.saddle.offset)
    only_nut = making.instrument({"intonation.behind": {"nut": 200}})
    assert only_nut.saddle.offset == pytest.approx(tied.saddle.offset), "where the rest lies is one"
    added = deep.intonation.cents_uncompensated - plain.intonation.cents_uncompensated
    held = making.instrument({"intonation.saddle": "none"}).intonation
    assert held.pressed_deeper(0.2) == pytest.approx(added[:, :12].mean(axis=1))
    assert strings.records(plain)[2]["cents_of_0_2_mm_finger_depth"] == pytest.approx(
        float(plain.intonation.pressed_deeper()[2])
    )


@pytest.mark.parametrize(("string", "cents"), [(0, 1.0), (2, 2.9), (5, 3.1)])
def test_what_a_fingertip_two_tenths_lower_does(string: int, cents: float) -> None:
    """Of the first fleet's E4, plain G3 and E2, from an independent reckoning: 1.0, 2.9 and 3.1 cents."""
    made = job.compute(str(ROOT / "specs" / "fleet-07.toml"))[1].instrument
    assert made.intonation.pressed_deeper()[string] == pytest.approx(cents, rel=0.15)


@pytest.mark.parametrize(
    ("distance", "cents"),
    [(8.0, (0.880, 2.579, 2.725)), (6.25, (1.010, 2.937, 3.076))],
    ids=["the usual hand", "nearer"],
)
def test_what_a_firmer_hand_adds_to_fleet_07(distance: float, cents: tuple[float, float, float]) -> None:
    """Worked out apart with numpy from the path floor, fingertip, crown, saddle: E4, plain G3, E2, 0.2 mm deeper, mean
    of frets 1 to 12, no offsets. Nearer the crown the same depth bends the string more."""
    path = ROOT / "specs" / "fleet-07.toml"
    text = path.read_text(encoding="utf-8") + f'\n[intonation]\nfinger_distance = {distance}\nsaddle = "none"\n'
    added = job.compute(str(path), text.encode())[1].instrument.intonation.pressed_deeper(0.2)
    assert added[[0, 2, 5]] == pytest.approx(cents, abs=0.012)
