"""The ± of scale, nut, radius and relief hold, and misplaced frets are found: a part of tests/bench/coverage.py."""

from __future__ import annotations

import pytest
from survey_coverage import WAYS, cones, reliefs, rounds, simulate


def holds(shares: dict[str, float]) -> None:
    """Covered in 94 % at least, and no wider than 1.35 times what would hold 95 %."""
    for name, share in shares.items():
        if name.endswith("_covered"):
            assert share >= 0.94, name
        if name.endswith("_width"):
            assert share <= 1.35, name


def test_scale_and_shift() -> None:
    shares = simulate(150)
    holds(shares)
    assert shares["found6"] >= 0.95
    assert shares["found8"] >= 0.99
    assert shares["false"] <= 0.05


@pytest.mark.parametrize("way", WAYS)
def test_radius(way: str) -> None:
    shares = rounds(100, way)
    holds(shares)
    assert shares[f"{way}_cones"] <= 0.05


def test_a_cones_two_ends() -> None:
    shares = cones(60)
    holds(shares)
    assert shares["cone_told"] >= 0.9


@pytest.mark.parametrize("at", [(7,), (7, 9), (5, 7, 9, 12)])
def test_relief(at: tuple[int, ...]) -> None:
    holds(reliefs(150, at))
