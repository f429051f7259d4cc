"""Every finding of the nut and of the setup, called up with its number, and silent where it has nothing to say."""

from __future__ import annotations

import math
from typing import Any

import pytest
from making import found, instrument, work_of

POSTS = [[-60, y, -10] for y in (40, 32, 22, -22, -32, -40)]
ABOVE = [[-60 - 25 * abs(y) / 10, y, 10] for y in (19, 12, 5, -5, -12, -19)]
PLAIN_SET = [{"gauge": g, "note": n} for g, n in ((0.26, "E4"), (0.34, "B3"), (0.44, "G3"))]

CASES: list[tuple[str, dict[str, Any], str]] = [
    (
        "thin-wall",
        {"strings.courses": [[1, 2]], "nut.course_gap": 0.3},
        "string 1 (E4) and string 2 (B3) 0.24 mm (under 0.50)",
    ),
    ("thin-wall", {"nut.edge_margin": 17.0}, "the thinner string"),
    ("slot-near-end", {"nut.edge_margin": {"bass": 3.4, "treble": 1.4}}, "treble outer slot lies 1.3"),
    ("slot-near-end", {"nut.edge_margin": {"bass": 1.2, "treble": 3.2}}, "bass outer slot lies 1.1"),
    (
        "share-in-slot",
        {"setup.first_fret_clearance": [0.3, 0.9, 0.3, 0.3, 0.3, 0.3]},
        "allowed, 0.5 to 1.1 of the gauge",
    ),
    ("slot-too-deep", {"nut.min_slot_depth": 0.5}, "over 1.5 gauges deep: string 1 (E4) 0.5"),
    ("floor-low-at-back", {"nut.seat_depth": 1.0, "nut.slot_back_angle": 14}, "above the seat; under 0.8 mm"),
    ("thin-shelf", {"nut.compensation": 0.5, "setup.first_fret_clearance": -0.1}, "The shelf under the slot"),
    (
        "back-angle-over-break",
        {"headstock.break_angle": 6, "nut.slot_back_angle": 9},
        "string 6 (E2) 9.0° against 6.0°",
    ),
    ("less-rounding", {"nut.edge_rounding": 1.9}, "eased R 1.08 instead of 1.90 mm"),
    ("back-angle-small", {"headstock.break_angle": 4}, "string 1 (E4) 2.4°, string 2"),
    ("side-angle", {"headstock.posts": POSTS}, "Strings turn more than 10° sideways"),
    ("curved-seat", {"nut.seat_radius": 250}, "curved to 250.00 mm (9.843 in)"),
    ("slanted-seat", {"nut.seat_angle": -4}, "slants 4.0°"),
    ("seat-above-edge", {"nut.seat_depth": 0.5}, "At its ends the seat stands 0.27 mm above the board"),
    ("pilot-slots", {}, "strings 1, 2, 3, 4 and 5 are 60° pilot grooves"),
    ("pilot-slots", {}, "string 6 with the ball cutter of 1.00 mm (0.039 in)"),
    ("no-ball-cutter", {"nut.slot_form": "full"}, "no ball cutter of the shop is 0.311 mm or less"),
    ("negative-pressed-gap", {"setup.first_fret_clearance": 0.05}, "(pressed gap string 1 (E4) -0.0"),
    ("unusual-first-fret-clearance", {"kind": "classical"}, "string 1 (E4) 0.30 mm (0.55 to 0.80)"),
    (
        "unusual-pressed-gap",
        {"kind": "bass", "setup.first_fret_clearance": None, "setup.pressed_gap": 0.05},
        "string 1 (E4) 0.05 mm (0.08 to 0.20)",
    ),
    ("unusual-action-at-the-octave", {"kind": "classical"}, "string 6 (E2) 2.00 mm (3.50 to 4.20)"),
    ("unusual-relief", {"kind": "mandolin"}, "Relief 0.20 mm; common practice for this kind is 0.00 to 0.15 mm"),
    ("zero-fret-sets-height", {"scale.zero_fret": True}, "height given in [setup] is not used"),
]
NOTES = {
    "curved-seat", "slanted-seat", "less-rounding", "pilot-slots", "zero-fret-sets-height",
    "unusual-first-fret-clearance", "unusual-pressed-gap", "unusual-action-at-the-octave", "unusual-relief",
}  # fmt: skip


@pytest.mark.parametrize(("code", "changes", "says"), CASES, ids=[f"{code}-{n}" for n, (code, *_) in enumerate(CASES)])
def test_told(code: str, changes: dict[str, Any], says: str) -> None:
    told = found(instrument(changes), code)
    assert told, f"{code} was not told"
    assert any(says in finding.message for finding in told), [finding.message for finding in told]
    assert {finding.level for finding in told} == {"note" if code in NOTES else "decide"}


def test_a_plain_board_has_nothing_to_decide_at_its_nut() -> None:
    made = instrument({"kind": "electric"})
    assert [f.code for f in work_of(made).findings if f.level == "decide"] == []
    assert {f.code for f in work_of(made).findings if f.key.startswith(("nut", "setup", "headstock"))} == {
        "pilot-slots",
        "pilots-lost-if-dressed",
    }


def test_no_nut_file_names_the_nearest_and_what_it_leaves() -> None:
    made = instrument(shop={"nut_file_widths": [0.25, 0.36, 0.49, 0.70, 0.95, 1.2]})
    (first,) = found(made, "no-nut-file")
    assert "string 1 (E4) 0.260 to 0.311 mm, the nearest, 0.250 mm (0.010 in), leaves -0.010 mm" in first.message
    assert "would bind" in first.message
    wide = found(instrument(shop={"nut_file_widths": [0.35]}), "no-nut-file")
    assert "0.350 mm (0.014 in), leaves +0.090 mm round the string;" in wide[0].message
    assert not found(instrument(shop={"nut_file_widths": None}), "no-nut-file"), "a shop that lists no files"


def test_all_slots_milled() -> None:
    made = instrument(shop={"end_mills": [{"diameter": 0.3, "shape": "ball"}, {"diameter": 0.6, "shape": "ball"}]})
    (told,) = found(made, "milled-slots")
    assert "strings 1, 2 and 3 with the ball cutter of 0.30 mm" in told.message
    assert "strings 4, 5 and 6 with the ball cutter of 0.60 mm" in told.message
    assert not found(made, "pilot-slots")


def test_a_wall_is_judged_where_it_is_thinnest() -> None:
    """Slots aimed at posts that crowd together run toward each other: the wall is thinner at the back."""
    crowded = [[-40, y, -10] for y in (3, 2, 1, -1, -2, -3)]
    changes = {"headstock.posts": crowded, "nut.thickness": 8, "nut.edge_margin": 16}
    wide, narrow = (instrument({**changes, "nut.slot_aim": aim}) for aim in ("string", "post"))
    least = [float(made.nut.walls.min()) for made in (wide, narrow)]
    assert least[1] < least[0]
    (told,) = found(narrow, "thin-wall")
    assert f"{least[1]:.2f} mm" in told.message


def test_posts_above_the_nut_are_told_once() -> None:
    """z with the wrong sign: neither the angle under the break nor a small one is the thing to mend."""
    (told,) = (f for f in work_of(instrument({"headstock.posts": ABOVE})).findings if f.level == "decide")
    assert told.code == "posts-above-nut"
    assert "string 1 (E4) " in told.message
    assert "negative below it" in told.message


def test_every_string_is_held_against_its_range() -> None:
    heights = [0.30, 0.33, 0.80, 0.39, 0.42, 0.45]
    made = instrument({"kind": "electric", "setup.first_fret_clearance": heights})
    (told,) = found(made, "unusual-first-fret-clearance")
    assert told.message.endswith("string 3 (G3) 0.80 mm (0.19 to 0.41).")
    assert told.key == "setup.first_fret_clearance"


def test_a_file_that_leaves_too_little_is_told_with_what_it_leaves() -> None:
    """Plain strings want 0.02 mm of room at least, wound ones 0.04 (common practice, no source)."""
    made = instrument(shop={"nut_file_widths": [0.265, 0.365, 0.70, 0.96]})
    (tight,) = found(made, "nut-file-tight")
    assert "string 1 (E4) 0.265 mm (0.010 in), leaves 0.005 (0.02 to 0.08), slot 0.311 mm" in tight.message
    assert "string 2" not in tight.message, "0.025 mm is enough for a plain string"
    assert "string 4" not in tight.message, "0.04 mm is enough for a wound one"
    assert "Rock the file" in tight.message
    asked = instrument({"nut.slot_clearance": 0.005}, {"nut_file_widths": [0.265]})
    assert not found(asked, "nut-file-tight"), "the spec asks for as little"


def test_a_file_wider_than_asked_is_told() -> None:
    made = instrument(shop={"nut_file_widths": [0.33, 0.42]})
    (wide,) = found(made, "nut-file-wide")
    assert "string 1 (E4) 0.330 mm (0.013 in) for 0.311 mm, leaves 0.070 mm" in wide.message
    assert made.nut.file[:2] == (0.33, 0.42)


def test_pilots_that_dressing_the_top_takes_are_told() -> None:
    """A pilot is as deep as its width over twice the tangent of half its angle, and at least 0.3; the top takes 0.8."""
    made = instrument({"nut.slot_form": "pilot"})
    widths = [g + (0.0762 if s.wound else 0.0508) for g, s in zip(made.plan.gauges, made.spec.strings.set, strict=True)]
    depths = [max(w / (2 * math.tan(math.radians(30))), 0.3) for w in widths]
    lost = [str(n + 1) for n, depth in enumerate(depths) if depth <= 0.8]
    assert 0 < len(lost) < 6
    (told,) = found(made, "pilots-lost-if-dressed")
    assert f"strings {', '.join(lost[:-1])} and {lost[-1]}," in told.message
    assert f"{max(d for d in depths if d <= 0.8):.2f} mm deep at most" in told.message
    assert (
        found(
            instrument({"nut.slot_form": "pilot", "nut.top_allowance": 0.25, "nut.filing_allowance": 0.1}),
            "pilots-lost-if-dressed",
        )
        == []
    )
