"""A short straightedge rocked over three crowns: laid on heights of the test's own, and read back to the profile."""

from __future__ import annotations

import numpy as np
import pytest

from templategen.repair.survey.crowns import crowns_found
from templategen.spec.survey.load import load_survey

FRETS = 12
X = 640 * (1 - 2 ** (-np.arange(FRETS + 1) / 12))


def reading(z: np.ndarray, fret: int, free: str) -> str:
    """What a feeler of thousandths reads: the edge lies on the middle crown and the one whose end is held down."""
    held = fret - 1 if free == "bridge" else fret + 1
    far = fret + 1 if free == "bridge" else fret - 1
    edge = z[held] + (z[fret] - z[held]) * (X[far] - X[held]) / (X[fret] - X[held])
    gap = edge - z[far]
    if gap > 0:
        return f'{{ free = "{free}", gap = [{np.floor(gap * 1000) / 1000:.3f}] }}'
    chord = z[fret - 1] + (z[fret + 1] - z[fret - 1]) * (X[fret] - X[fret - 1]) / (X[fret + 1] - X[fret - 1])
    return f"{{ low = [{np.floor((chord - z[fret]) * 1000) / 1000:.3f}] }}"


@pytest.mark.parametrize("free", ["bridge", "nut"])
@pytest.mark.parametrize("seed", range(3))
def test_the_profile_comes_back(free: str, seed: int) -> None:
    """Up to the straight line of the outermost crowns, within what the feelers leave open."""
    z = np.random.default_rng(seed).normal(0, 0.05, FRETS + 1)
    rows = ", ".join(f'"{fret}" = {reading(z, fret, free)}' for fret in range(2, FRETS))
    tools = "[tools]\nfeelers = { step = 0.001 }\n"
    text = f'{tools}[scale]\nfret_count = {FRETS}\n[crowns]\nlines = ["centre"]\nrocker = {{ {rows} }}'
    found = crowns_found(load_survey("made.toml", text.encode()).survey)
    assert found is not None
    line = z[1] + (z[FRETS] - z[1]) * (X[1:] - X[1]) / (X[FRETS] - X[1])
    assert found.z[:, 0] == pytest.approx(z[1:] - line, abs=0.004)
    assert np.all(np.abs(found.z[:, 0] - (z[1:] - line)) <= found.z_pm[:, 0] + 1e-9)


def test_a_crown_that_does_not_rock_is_level_within_a_leaf() -> None:
    rows = ", ".join(f'"{fret}" = {{ gap = [0] }}' for fret in range(2, FRETS))
    text = f'[scale]\nfret_count = {FRETS}\n[crowns]\nlines = ["centre"]\nrocker = {{ {rows} }}'
    found = crowns_found(load_survey("made.toml", text.encode()).survey)
    assert found is not None
    assert found.z[:, 0] == pytest.approx(np.zeros(FRETS), abs=1e-12)
    assert (found.z_pm[1:-1, 0] > 0.01).all()
