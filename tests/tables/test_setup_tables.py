"""The string line and the levers, read back from the terminal by label and reckoned anew."""

from __future__ import annotations

import labelled
import pytest
from making import instrument

from templategen.tables import setup


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
