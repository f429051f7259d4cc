"""Force on a saddle: the published example, and the sum of two pulls made out of their components."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from templategen.instrument.saddle.force import force_on

ANGLES = st.floats(0, 80)


def test_the_published_example() -> None:
    """T 72.5 N, 1° in front, 20° behind: 26.424, 26.062, 4.361 N (the contract's example)."""
    force = force_on(72.5, 1.0, 20.0)
    assert (force.whole, force.down, force.toward_nut) == pytest.approx((26.424, 26.062, 4.361), abs=5e-4)
    assert force.lean_deg == 9.5


@given(tension=st.floats(1, 300), front=ANGLES, behind=ANGLES)
def test_the_sum_of_two_pulls(tension: float, front: float, behind: float) -> None:
    """Second computation: two vectors of length T, (toward the nut, up)."""
    ahead = tension * np.array([math.cos(math.radians(front)), -math.sin(math.radians(front))])
    back = tension * np.array([-math.cos(math.radians(behind)), -math.sin(math.radians(behind))])
    pull, force = ahead + back, force_on(tension, front, behind)
    assert (force.toward_nut, -force.down) == pytest.approx(tuple(pull), abs=1e-9 * tension)
    assert force.whole == pytest.approx(float(np.hypot(*pull)), abs=1e-9 * tension)
    # a saddle whose top leans away from the nut has its foot toward the nut: the way the force points
    if force.whole > 1e-6:
        assert math.degrees(math.atan2(pull[0], -pull[1])) == pytest.approx(force.lean_deg, abs=1e-6)
