"""Cones that fall to nothing where a surface is needed are problems of their key; so is a pitch that is no number."""

from __future__ import annotations

import math
from typing import Any

import pytest
from making import instrument

from templategen.errors import SpecError
from templategen.spec.values import read_pitch

SHORT: dict[str, Any] = {
    "scale.fret_count": 1,
    "setup.relief": None,
    "fret_wire.markers": [],
    "fret_wire.doubled_markers": [],
    "fingerboard.radius": None,
}


@pytest.mark.parametrize(
    ("changes", "key", "said"),
    [
        ({"fingerboard.radius_at_nut": 60, "fingerboard.radius_at_last_fret": 600}, "fingerboard", "behind the front"),
        (
            {
                "fingerboard.radius_at_nut": 300,
                "fingerboard.radius_at_last_fret": 100,
                "setup.action": {"fret": 2, "bass": 2.0, "treble": 1.6},
            },
            "fingerboard",
            "69.8 mm from the front edge of the nut",  # 640·(1 − 2^(−2/12)), the second fret, past the board's only one
        ),
        (
            {
                "fingerboard.radius": 300,
                "setup.action": {"fret": 2, "bass": 2.0, "treble": 1.6},
                "fingerboard.beyond_last_fret": 30,
                "fingerboard.before": {"radius_at_nut": 300, "radius_at_last_fret": 50, "thickness_at_edge": 5},
            },
            "fingerboard.before",
            "from the front edge of the nut",
        ),
    ],
    ids=["behind the nut", "at the action's fret", "before"],
)
def test_a_cone_that_falls_to_nothing(changes: dict[str, Any], key: str, said: str) -> None:
    with pytest.raises(SpecError) as told:
        instrument(SHORT | changes)
    assert f"{key}.radius_at_last_fret" in str(told.value) or f"{key}.before" in str(told.value)
    assert said in str(told.value)
    assert "nan" not in str(told.value)


def test_a_usual_cone_is_none() -> None:
    instrument({"fingerboard.radius": None, "fingerboard.radius_at_nut": 184, "fingerboard.radius_at_last_fret": 305})


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf, 0.0])
def test_a_pitch_that_is_no_number(value: float) -> None:
    with pytest.raises(ValueError, match="1 to 20000 Hz"):
        read_pitch(value)
