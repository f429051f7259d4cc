"""The string line and the levers, read back from the terminal by label and reckoned anew."""

from __future__ import annotations

import labelled
import pytest
from making import instrument, work_of

from templategen.tables import setup, tuning


def test_pressed_gap_and_nut_over_crowns_each_in_its_column() -> None:
    """Similar triangles: the gap is the height over the crowns' line times (x2 - x1)/x2; x by equal temperament."""
    cells = labelled.printed(setup.line(instrument()))
    x1, x2 = (1 - 2 ** (-n / 12) for n in (1, 2))
    for name in ("1 E4", "6 E2"):
        over, gap = (float(cells[name, f"{head}, mm"]) for head in ("nut over crowns", "pressed gap"))
        assert gap == pytest.approx(over * (x2 - x1) / x2, abs=0.0011)
    assert [float(cells[name, "first fret, mm"]) for name in ("1 E4", "6 E2")] == [0.3, 0.45]
    assert [float(cells[name, "action, mm"]) for name in ("1 E4", "6 E2")] == [1.6, 2.0]


def test_levers_are_what_a_tenth_of_a_mm_does() -> None:
    """A straight line between nut and saddle: 0.1·2^(-n/12) over fret n for the nut, the rest for the saddle."""
    cells = labelled.printed(setup.levers(instrument()))
    for fret in (1, 12):
        share = 2 ** (-fret / 12)
        for end, wanted in (("nut", 0.1 * share), ("saddle", 0.1 * (1 - share))):
            assert cells[labelled.EVERY, f"{end}, fret {fret}"].startswith(f"{wanted:.3f} mm")


def test_the_same_levers_in_numbers_json() -> None:
    for row in labelled.numbers(work_of(instrument()))["strings"]:
        assert row["nut_0_1_mm_at_first_fret"] == pytest.approx(0.1 * 2 ** (-1 / 12), abs=1e-9)
        assert row["saddle_0_1_mm_at_action_fret"] == pytest.approx(0.05, abs=1e-9)


def test_a_nut_too_high_makes_fretted_notes_sharp_the_more_the_higher() -> None:
    made = instrument()
    cells = labelled.printed(tuning.nut_too_high(made))
    for name in ("1 E4", "6 E2"):
        low, high = (float(cells[name, f"{mm} mm ({inch} in), fret 1"]) for mm, inch in ((0.1, 0.004), (0.3, 0.012)))
        assert 0 < low < high
    first, second = labelled.numbers(work_of(made))["intonation"]["nut_too_high"]
    for less, more in zip(first["cents_added"], second["cents_added"], strict=True):
        assert 0 < less[0] < more[0]
