"""Numbers that look like slips: each told with its number and what to do, and silent on sane instruments."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest
from making import SPEC, found, instrument

from templategen.errors import SpecError

SET = tomllib.loads(SPEC)["strings"]["set"]
PLAIN_BASS = [*SET[:5], {"gauge": 1.15, "note": "E2"}]
HEAVY = [*SET[:5], {"gauge": 1.8, "note": "A2", "wound": True, "core_diameter": 0.8}]
THICK = [{k: v if isinstance(v, (str, bool)) else 1.7 * v for k, v in string.items()} for string in SET]
NO_CORES = [{k: v for k, v in string.items() if k != "core_diameter"} for string in SET]

CASES: list[tuple[str, dict[str, Any], str]] = [
    ("strings-bass-first", {"strings.set": SET[::-1]}, "String 1 (E2) is lower and thicker than string 6 (E4)"),
    ("strings-bass-first", {"strings.set": SET[::-1]}, "the list starts at the treble side"),
    ("strings-narrow-toward-bridge", {"bridge.string_spread": 30}, "only 30.00 mm at the saddle"),
    ("board-narrows", {"fingerboard.width_at_last_fret": 42.8}, "43.00 mm wide at the nut and only 42.80 mm"),
    ("groove-through-board", {"nut.seat_depth": 6.2}, "groove is 6.20 mm (0.244 in) deep"),
    ("thin-nut", {"nut.thickness": 1.9}, "only 1.90 mm (0.075 in) thick"),
    ("wide-crown", {"fret_wire.crown_width": 4.1}, "4.10 mm (0.161 in) wide"),
    ("marker-too-large", {"fret_wire.marker_diameter": 11.5}, "before fret 21 there are 10.7"),
    ("high-tension", {"strings.set": HEAVY}, "Over 250 N on string 6 (A2) "),
    ("high-total-tension", {"strings.set": THICK}, "more than 1000 N is not usual"),
    ("thick-plain-steel", {"strings.set": PLAIN_BASS}, "(0.028 in): string 6. Such strings are wound"),
    ("strings-touch-crowns", {"setup.action": {"fret": 12, "bass": 0.03, "treble": 0.03}}, "is the unit of each right"),
]


@pytest.mark.parametrize(("code", "changes", "says"), CASES, ids=[f"{code}-{n}" for n, (code, *_) in enumerate(CASES)])
def test_told(code: str, changes: dict[str, Any], says: str) -> None:
    (told,) = found(instrument(changes), code)
    assert says in told.message
    assert told.level == "decide"
    assert not found(instrument(), code)


def test_a_high_drone_on_the_bass_side_is_no_slip() -> None:
    drone = [*SET[:5], {"gauge": 0.24, "note": "G4"}]
    assert not found(instrument({"strings.set": drone}), "strings-bass-first")


def test_the_touching_string_and_its_fret_are_those_of_the_smallest_gap() -> None:
    heights = [1.6, 1.6, 0.0, 1.6, 1.6, 1.6]
    flat = {"fingerboard.radius": "flat", "setup.relief": 0.0}
    (told,) = found(instrument({**flat, "setup.action": {"fret": 12, "strings": heights}}), "strings-touch-crowns")
    assert "String 3 (G3) has its smallest gap" in told.message
    assert "over fret 21; touching: string 3." in told.message
    # straight down from 0.36 mm over fret 1 to nothing over fret 12: past it the string is under the crowns


def test_a_zero_frets_own_crown_is_not_touched() -> None:
    zero = {"scale.zero_fret": True, "setup.first_fret_clearance": None}
    assert not found(instrument(zero), "strings-touch-crowns")


def test_a_low_zero_fret_is_told_as_such() -> None:
    (told,) = found(
        instrument({"scale.zero_fret": {"crown_height": 0.9}, "setup.first_fret_clearance": None}),
        "negative-pressed-gap",
    )
    assert "scale.zero_fret.crown_height" in told.message
    assert "floor" not in told.message
    assert told.message.count("(pressed gap") == 1, "one message for all strings"


def test_an_estimated_core_only_warns_and_says_so() -> None:
    (told,) = found(instrument({"strings.set": [*NO_CORES[:4], {"gauge": 0.9, "note": "A3", "wound": True}, SET[5]]}),
                    "string-stress")  # fmt: skip
    assert told.level == "note"
    assert told.message.startswith("String 5 would break if its core is as thin as estimated: ")


def test_what_no_core_could_hold_will_break() -> None:
    (told,) = found(instrument({"strings.set": [*SET[:5], {"gauge": 1.15, "note": "E5", "wound": True}]}),
                    "string-stress")  # fmt: skip
    assert told.level == "decide"
    assert told.message.startswith("String 6 will break: ")


def test_posts_in_the_wrong_unit() -> None:
    with pytest.raises(SpecError) as caught:
        instrument({"headstock.posts": [["-45 in", 22, "-6 in"]] * 6})
    first = caught.value.problems[0]
    assert first.key == ("headstock", "posts", 0, 0)
    assert first.message.startswith("must be from -600 to 600 mm")
    assert len(caught.value.problems) == 12, "x and z of six posts"


def test_a_chord_longer_than_the_board_is_wide() -> None:
    before = {"chord": 57.1, "height": 1.2, "thickness_at_edge": 5}
    with pytest.raises(SpecError, match=r"must be at most 57\.00 mm"):
        instrument({"fingerboard.before": before})
    assert instrument({"fingerboard.before": {**before, "chord": 56.9}}) is not None


def test_a_board_sanded_through_is_a_problem() -> None:
    before = {"radius": 60, "thickness_at_edge": 1}
    with pytest.raises(SpecError) as caught:
        instrument({"fingerboard.thickness": None, "fingerboard.before": before, "fingerboard.radius": "flat"})
    (problem,) = caught.value.problems
    assert problem.key == ("fingerboard", "before")
    assert problem.message.startswith("sanding to the new radius takes 6.7")


def test_one_value_for_plain_and_wound() -> None:
    one = instrument({"nut.string_depth": 0.7, "nut.slot_clearance": 0.06})
    two = instrument({
        "nut.string_depth": {"plain": 0.7, "wound": 0.7}, "nut.slot_clearance": {"plain": 0.06, "wound": 0.06},
    })  # fmt: skip
    assert one.nut.depth == pytest.approx(two.nut.depth, abs=0)
    assert one.nut.width - one.plan.gauges == pytest.approx([0.06] * 6)
    with pytest.raises(SpecError, match=r"must be from 0\.1 to 3"):
        instrument({"nut.string_depth": 7})
    with pytest.raises(SpecError, match="one number for all strings"):
        instrument({"nut.string_depth": "deep"})


def test_courses_that_leave_strings_out_are_to_decide() -> None:
    """[[1, 2], [3, 4]] on ten strings left six single ones without a word."""
    ten = [{"gauge": 0.25 + 0.02 * n, "note": "E4"} for n in range(10)]
    made = instrument({"strings.set": ten, "strings.courses": [[1, 2], [3, 4]], "fingerboard.width_at_nut": 50})
    (told,) = found(made, "partial-courses")
    assert (told.level, told.key) == ("decide", "strings.courses")
    assert told.message.startswith("2 courses are listed, and nothing is said of strings 5, 6, 7, 8, 9 and 10: ")
    assert "a course too, [5]." in told.message
    lone = {"strings.courses": [[1, 2], [3], [4], [5, 6]]}
    assert not found(instrument(lone), "partial-courses"), "every string is named"
    assert not found(instrument(), "partial-courses")
    assert [list(course) for course in instrument(lone).plan.courses] == [[0, 1], [2], [3], [4, 5]]
