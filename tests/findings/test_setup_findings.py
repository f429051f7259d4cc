"""What is told of the strings' heights."""

from __future__ import annotations

import re

import pytest
from making import found, instrument, work_of


def test_a_negative_pressed_gap_says_how_far_the_open_string_stands_off_and_names_relief() -> None:
    """With much relief and action the open string stands 0.15 mm clear of the crown that it would lie on when pressed:
    it does not ring against it."""
    made = instrument({
        "setup.relief": 0.5, "setup.action": {"fret": 12, "bass": 2.6, "treble": 2.4},
        "setup.first_fret_clearance": 0.15,
    })  # fmt: skip
    assert made.line.pressed_gap.max() < 0
    (told,) = found(made, "negative-pressed-gap")
    assert f"string 1 (E4) {made.line.pressed_gap[0]:.3f} mm, open 0.15 mm clear of it" in told.message
    assert not re.search(r"\bring\b", told.message)
    assert "less relief" in told.message
    less = instrument({
        "setup.relief": 0.0, "setup.action": {"fret": 12, "bass": 2.6, "treble": 2.4},
        "setup.first_fret_clearance": 0.15,
    })  # fmt: skip
    assert less.line.pressed_gap[0] > made.line.pressed_gap[0], "less relief does help"
    assert not found(made, "strings-touch-crowns")


def test_an_open_string_under_the_crown_is_said_to_be_under_it() -> None:
    (told,) = found(instrument({"setup.first_fret_clearance": -0.05}), "negative-pressed-gap")
    assert re.search(r"string 1 \(E4\) -0\.\d+ mm, open 0\.05 mm under it", told.message)


@pytest.mark.parametrize("capo", [0, 1])
def test_sane_heights_say_nothing_to_decide(capo: int) -> None:
    made = instrument({"kind": "electric", "setup.action": {"fret": 12, "bass": 2.0, "treble": 1.6, "capo": capo}})
    assert not [f for f in work_of(made).findings if f.key.startswith("setup") and f.level == "decide"]
