"""Fret fractions against published distances, rational arithmetic and the laws of scales."""

from __future__ import annotations

import csv
from fractions import Fraction

import labelled
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from making import found, instrument, work_of
from mpmath import mp, mpf
from places import DATA

from templategen.instrument.board.scale import cents_of, fraction_of
from templategen.spec.models import Scale

mp.dps = 30
POSITIONS_FILE = DATA / "fret-positions.csv"
POSITIONS = list(csv.DictReader(line for line in POSITIONS_FILE.read_text().splitlines() if not line.startswith("#")))


def scale(**asked: object) -> Scale:
    return Scale.model_validate({"length": 650.0, "fret_count": 24} | asked)


@pytest.mark.parametrize(("column", "length"), [("650", 650), ("647.7", "25 1/2 in"), ("330.2", "13 in")])
def test_published_distances_in_numbers_json(column: str, length: object) -> None:
    """tests/data/fret-positions.csv has 12 digits, numbers.json 9 decimals: each rounds by up to half of 1e-9."""
    made = instrument({"scale.length": length, "scale.fret_count": 24, "fret_wire.crown_width": 1.2})
    rows = labelled.numbers(work_of(made))["frets"]
    assert [row["fret"] for row in rows] == [int(row["fret"]) for row in POSITIONS]
    for row, published in zip(rows, POSITIONS, strict=True):
        assert row["from_nut"] == pytest.approx(float(published[column]), abs=1.01e-9, rel=0)


def test_first_fret_of_650_from_the_saddle() -> None:
    """Anderson & Beausoleil, JASA 156(1), 683 (2024): "about 614 mm"; 613.518 by the formula."""
    made = instrument({"scale.length": 650})
    assert 650 - made.frets.from_nut[0] == pytest.approx(613.518, abs=5e-4)


def test_divisor_of_the_semitone() -> None:
    """Byers, American Lutherie 47 (1996), prints 17.817; 17.817153745105777 to more places."""
    assert 1 / fraction_of(scale(), 1) == pytest.approx(17.817153745105777, rel=1e-13)


def test_rule_of_eighteen() -> None:
    """Each fret takes an eighteenth of what is left (the old rule): fret 12 of 650 mm at 322.636 mm."""
    step = 1200 * float(mp.log(mpf(18) / 17, 2))
    assert step == pytest.approx(98.955, abs=5e-4)
    listed = [step * n for n in range(1, 13)]
    made = instrument({"scale.length": 650, "scale.fret_count": 12, "scale.fret_cents": listed, **TWELVE})
    assert made.frets.from_nut[11] == pytest.approx(322.636, abs=5e-4)
    for n, x in enumerate(made.frets.from_nut, 1):
        assert x == pytest.approx(float(650 * (1 - Fraction(17, 18) ** n)), abs=1e-9)
    assert 1200 - made.plan.cents[11] == pytest.approx(12.545, abs=5e-4)


TWELVE = {"fret_wire.markers": [3, 5, 7, 9]}


def test_nineteen_steps() -> None:
    made = instrument({"scale.steps_per_octave": 19, "scale.fret_count": 38, "scale.length": 650})
    want = [650 * (1 - mpf(2) ** (-mpf(n) / 19)) for n in range(1, 39)]
    assert np.allclose(made.frets.from_nut, [float(x) for x in want], rtol=0, atol=1e-10)
    assert made.frets.from_nut[18] == 325.0


def test_repeating_cents_and_a_fret_between_two() -> None:
    diatonic = scale(fret_cents=(204.0, 386.0, 498.0, 702.0, 884.0, 1088.0, 1200.0), repeat_at=1200.0, fret_count=17)
    assert cents_of(diatonic, [0, 1, 7, 8, 14, 15]).tolist() == [0, 204, 1200, 1404, 2400, 2604]
    assert cents_of(diatonic, 2.5) == pytest.approx((386 + 498) / 2)
    assert fraction_of(diatonic, [7, 14]).tolist() == [0.5, 0.75]


def test_repeat_above_the_octave() -> None:
    stretched = scale(fret_cents=(700.0, 1201.0), repeat_at=1201.0, fret_count=6)
    assert cents_of(stretched, [2, 3, 4, 6]).tolist() == [1201, 1901, 2402, 3603]


def test_a_list_of_equal_cents_is_equal_steps() -> None:
    listed = scale(fret_cents=tuple(1200 * n / 31 for n in range(1, 63)), fret_count=62)
    steps = scale(steps_per_octave=31, fret_count=62)
    places = np.linspace(0, 62, 249)
    assert np.allclose(fraction_of(listed, places), fraction_of(steps, places), rtol=0, atol=1e-14)


@given(st.integers(5, 72), st.integers(1, 3), st.floats(150, 1900))
def test_distances_rise_and_converge_on_the_saddle(steps: int, octaves: int, length: float) -> None:
    frets = np.arange(steps * octaves + 1)
    x = length * fraction_of(scale(steps_per_octave=steps, fret_count=steps * octaves), frets)
    gaps = np.diff(x)
    assert x[0] == 0
    assert (gaps > 0).all()
    assert (np.diff(gaps) < 0).all()
    assert (x < length).all()
    left = length - x
    assert np.allclose(left[1:] / left[:-1], 2 ** (-1 / steps), rtol=1e-12)
    assert np.allclose(left[steps::steps], length / 2.0 ** np.arange(1, octaves + 1), rtol=1e-15)


@given(st.floats(300, 900))
def test_the_twelfth_of_twelve_is_half(length: float) -> None:
    assert length * fraction_of(scale(), 12) == length / 2


@settings(max_examples=15, deadline=None)
@given(st.integers(5, 72))
def test_any_number_of_steps_builds(steps: int) -> None:
    made = instrument({"scale.steps_per_octave": steps, "scale.fret_count": max(steps, 12), **TWELVE})
    assert (np.diff(made.frets.from_nut) > 0).all()
    assert made.frets.from_nut[steps - 1] == 320


def test_thirty_six_frets_and_more_with_small_steps() -> None:
    assert instrument({"scale.fret_count": 36}).frets.from_nut[-1] == pytest.approx(640 * 7 / 8)
    fine = instrument({"scale.fret_count": 144, "scale.steps_per_octave": 72, "fret_wire.crown_width": 1.4})
    assert fine.frets.from_nut[-1] == pytest.approx(480)


def test_frets_closer_than_the_crown_are_found() -> None:
    made = instrument({"scale.fret_count": 144, "scale.steps_per_octave": 72, "fret_wire.crown_width": 2.4})
    (told,) = found(made, "frets-closer-than-crown")
    gap = 640 * (2 ** (-143 / 72) - 2 ** (-144 / 72))
    assert told.level == "decide"
    assert f"Frets 143 and 144 are {gap:.2f} mm apart and the crown is 2.40 mm wide" in told.message
    assert not found(instrument(), "frets-closer-than-crown")
