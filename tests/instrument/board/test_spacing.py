"""String spacing laws by their definitions."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from templategen.instrument.board.spacing import courses_of, outsides_of_spread, positions, toward_bass

GAUGES = np.array([0.26, 0.34, 0.44, 0.66, 0.90, 1.15])
SINGLE = courses_of(6, None)


def test_equal_gap() -> None:
    """gap = (outer centre distance − half of each outer gauge − every inner gauge)/(N − 1)."""
    y = positions(GAUGES, SINGLE, 0.0, 18.3, -18.1, 1.0)
    gaps = y[:-1] - GAUGES[:-1] / 2 - (y[1:] + GAUGES[1:] / 2)
    want = (y[0] - y[-1] - (GAUGES[0] + GAUGES[-1]) / 2 - GAUGES[1:-1].sum()) / 5
    assert gaps == pytest.approx([want] * 5)
    assert y[0] + GAUGES[0] / 2 == pytest.approx(18.3)
    assert y[-1] - GAUGES[-1] / 2 == pytest.approx(-18.1)


def test_equal_centre_keeps_the_outer_strings() -> None:
    y = positions(GAUGES, SINGLE, 0.0, 18.3, -18.1, 0.0)
    assert np.diff(y) == pytest.approx([np.diff(y)[0]] * 5)
    assert y[[0, -1]] == pytest.approx(positions(GAUGES, SINGLE, 0.0, 18.3, -18.1, 1.0)[[0, -1]])


@given(st.floats(0, 1))
def test_a_number_mixes_the_two(share: float) -> None:
    centre, gap = (positions(GAUGES, SINGLE, 0.0, 18.3, -18.1, s) for s in (0.0, 1.0))
    assert positions(GAUGES, SINGLE, 0.0, 18.3, -18.1, share) == pytest.approx(centre + share * (gap - centre))


def test_courses_lie_a_gap_apart_and_the_law_runs_over_them() -> None:
    gauges = np.array([0.3, 0.3, 0.4, 0.4, 0.6, 0.3, 0.9, 0.45])
    courses = courses_of(8, [[1, 2], [3, 4], [5, 6], [7, 8]])
    assert courses == [[0, 1], [2, 3], [4, 5], [6, 7]]
    y = positions(gauges, courses, 1.6, 15.0, -15.0, 1.0)
    sides = y + gauges / 2, y - gauges / 2
    for a, b in courses:
        assert sides[1][a] - sides[0][b] == pytest.approx(1.6)
    between = [sides[1][courses[n][1]] - sides[0][courses[n + 1][0]] for n in range(3)]
    assert between == pytest.approx([between[0]] * 3)
    assert toward_bass(courses).tolist() == pytest.approx([0, 0, 1 / 3, 1 / 3, 2 / 3, 2 / 3, 1, 1])


def test_a_string_in_no_course_is_one() -> None:
    assert courses_of(4, [[2, 3]]) == [[0], [1, 2], [3]]


def test_a_spread_is_between_centres() -> None:
    treble, bass = outsides_of_spread(GAUGES, 52.0, 1.5)
    assert treble - GAUGES[0] / 2 - (bass + GAUGES[-1] / 2) == pytest.approx(52)
    assert (treble - GAUGES[0] / 2 + bass + GAUGES[-1] / 2) / 2 == pytest.approx(1.5)
