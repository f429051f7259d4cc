"""What was read of strings against the model: every sentence with the numbers of its own string."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
import pytest
from making import FAN, instrument, work

from templategen.instrument.model import Instrument


def told(survey: dict[str, Any], changes: dict[str, Any] | None = None) -> dict[str, str]:
    return {f.code: f.message for f in work({**(changes or {}), "survey": survey}).findings}


def at_nut(i: Instrument) -> np.ndarray:
    """Along the nut's line from where it crosses the bass edge, both drawn through their own points."""
    x, y = i.plan.string_nut.T
    slant, at = np.polyfit(y, x, 1)
    taper = i.plan.taper
    edge = -i.side * (taper.at_nut + taper.slope * at) / (2 + i.side * taper.slope * slant)
    return np.abs(y - edge) * np.hypot(1, slant)


@pytest.mark.parametrize("changes", [{}, {"handedness": "left"}, FAN])
def test_spacing_at_the_nut(changes: dict[str, Any]) -> None:
    read = at_nut(instrument(changes)).round(2)
    said = told({"strings": {"at_nut": read.tolist()}}, changes)
    assert re.search(r"within 0\.0[0-4] mm", said["found-spacing"])
    read[2] += 0.4
    read[4] -= 0.3
    said = told({"strings": {"at_nut": read.tolist()}}, changes)["found-spacing-off"]
    third, fifth = re.findall(r"string (\d) \(\w+\) (0\.\d\d) mm ± 0\.0\d mm toward the (\w+)", said)[-2:]
    assert third[0] == "3"
    assert float(third[1]) == pytest.approx(0.4, abs=0.03)
    assert third[2] == "treble"
    assert fifth[0] == "5"
    assert float(fifth[1]) == pytest.approx(0.3, abs=0.03)
    assert fifth[2] == "bass"


def heights(i: Instrument) -> dict[str, Any]:
    return {
        "first_fret": [round(float(v) - 0.005, 3) for v in i.line.first_fret_clearance],
        "action": {"fret": 12, "heights": [round(float(v), 2) for v in i.line.action]},
    }


def test_a_gap_held_down_that_does_not_agree() -> None:
    i = instrument()
    gap = [round(float(v) - 0.005, 3) for v in i.line.pressed_gap]
    bow = {"relief": {"held": [1, 21], "gap": {"9": 0.195}}}
    assert "found-pressed-differs" not in told({"strings": {**heights(i), "pressed": gap}, **bow})
    gap[1] += 0.08
    said = told({"strings": {**heights(i), "pressed": gap}, **bow})["found-pressed-differs"]
    (at,) = re.findall(r"string (\d) \(\w+\) reads (\S+) mm, and the heights come to (\S+) mm", said)
    assert at[0] == "2"
    assert float(at[1]) == pytest.approx(i.line.pressed_gap[1] + 0.08, abs=0.006)
    assert float(at[2]) == pytest.approx(i.line.pressed_gap[1], abs=0.011)


def test_a_flat_octave_tells_saddle_place_from_string() -> None:
    i = instrument()
    cents = i.intonation.cents.round(2)
    good = {"12": cents[:, 11].tolist(), "5": cents[:, 4].tolist()}
    bow = {"relief": {"held": [1, 21], "gap": {"9": 0.195}}}
    said = told({"strings": {**heights(i), "cents": good}, **bow})
    assert not {"found-saddle-off", "found-cents-odd"} & set(said)
    far = instrument({"intonation.saddle": (i.saddle.offset + np.eye(6)[3] * 2).tolist()}).intonation.cents.round(2)
    said = told({"strings": {**heights(i), "cents": {"12": far[:, 11].tolist(), "5": far[:, 4].tolist()}}, **bow})
    (at,) = re.findall(
        r"string (\d) \(\w+\) reads (\S+) cents at fret 12, where a saddle in its place would give (\S+): "
        r"it is (\S+) mm ± 0\.\d mm too far from the nut",
        said["found-saddle-off"],
    )
    assert at[0] == "4"
    assert float(at[1]) == pytest.approx(far[3, 11], abs=0.06)
    assert float(at[2]) == pytest.approx(cents[3, 11], abs=0.06)
    assert float(at[3]) == pytest.approx(2.0, abs=0.06)
    odd = {"12": cents[:, 11].tolist(), "5": (cents[:, 4] + np.eye(6)[0] * 6).tolist()}
    assert re.search(
        r"string 1 \(E4\)\. Read again", told({"strings": {**heights(i), "cents": odd}, **bow})["found-cents-odd"]
    )


def test_a_note_that_lies_on_a_crown_is_said_to() -> None:
    said = told({"strings": {"first_fret": [0.3] * 6, "action": {"fret": 12, "heights": [0.1] * 6}}})
    assert "it lies on fret" in said["found-first-to-buzz"]
    assert "aside" not in said["found-first-to-buzz"]


@pytest.mark.parametrize(
    ("radius", "read", "says"),
    [
        (
            300,
            {"5": [250, 262.5]},
            r"at fret 5 is round to 256\.1 mm, from 24\d\.\d mm to 26\d\.\d mm, .* wants it round to 300",
        ),
        ("flat", {"nut": [300, 312.5]}, r"at the nut is round to .* wants it flat"),
        (300, {"9": "flat"}, r"at fret 9 is flat, and the spec wants it round to 300\.0 mm"),
        (300, {"1": [400, "flat"]}, r"at fret 1 is round to \d+\.\d mm or flatter"),
        (256, {"5": [250, 262.5], "9": [250, 262.5]}, None),
    ],
)
def test_a_round_that_is_not_the_one_wanted(radius: Any, read: dict[str, Any], says: str | None) -> None:
    said = told({"board": {"radius": read}}, {"fingerboard.radius": radius}).get("found-radius-differs")
    if says is None:
        assert said is None
    else:
        assert said is not None
        assert re.search(says, said), said
