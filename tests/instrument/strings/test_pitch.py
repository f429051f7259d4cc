"""Pitch names against the handbook and a general-purpose library."""

from __future__ import annotations

import pretty_midi
import pytest
from hypothesis import given
from hypothesis import strategies as st

from templategen.spec.values import read_pitch

# CRC Handbook of Chemistry and Physics, "Musical scales", equal temperament, A4 = 440 Hz
CRC = {"E2": 82.407, "F2": 87.307, "C4": 261.63, "E4": 329.63, "C6": 1046.50, "E6": 1318.51}

# B. H. Suits, Michigan Technological University, table of note frequencies, A4 = 440 Hz
SUITS = {
    "E1": 41.20,
    "A1": 55.00,
    "B1": 61.74,
    "D2": 73.42,
    "G2": 98.00,
    "A2": 110.00,
    "D3": 146.83,
    "G3": 196.00,
    "B3": 246.94,
}


@pytest.mark.parametrize(("name", "hz"), CRC.items())
def test_handbook(name: str, hz: float) -> None:
    assert read_pitch(name).frequency_hz(440.0) == pytest.approx(hz, abs=0.0051)


@pytest.mark.parametrize(("name", "hz"), SUITS.items())
def test_university_table(name: str, hz: float) -> None:
    assert read_pitch(name).frequency_hz(440.0) == pytest.approx(hz, abs=0.0051)


def test_e4_to_ten_places() -> None:
    # OEIS A329211, digits cut off after ten places
    assert read_pitch("E4").frequency_hz(440.0) == pytest.approx(329.6275569128, abs=1e-10)
    # ISO 16
    assert read_pitch("A4").frequency_hz(440.0) == 440.0


@given(st.sampled_from("ABCDEFG"), st.sampled_from(["", "#", "b"]), st.integers(0, 8))
def test_every_name_is_the_librarys(letter: str, accidental: str, octave: int) -> None:
    name = f"{letter}{accidental}{octave}"
    reference = pretty_midi.note_number_to_hz(pretty_midi.note_name_to_number(name))
    assert read_pitch(name).frequency_hz(440.0) == pytest.approx(reference, rel=1e-12)


@given(st.floats(300, 600), st.sampled_from(list(CRC)))
def test_the_reference_scales_every_name_and_no_number(a4: float, name: str) -> None:
    assert read_pitch(name).frequency_hz(a4) == pytest.approx(read_pitch(name).frequency_hz(440.0) * a4 / 440.0)
    assert read_pitch(196.5).frequency_hz(a4) == 196.5
