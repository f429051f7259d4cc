"""The ± of scale and nut hold, and misplaced frets are found: a short run of tests/survey_coverage.py."""

from __future__ import annotations

from survey_coverage import simulate


def test_what_is_reported_holds() -> None:
    shares = simulate(150)
    for name in ("scale", "shift"):
        assert shares[f"{name}_covered"] >= 0.94
        assert shares[f"{name}_width"] <= 1.35
    assert shares["found6"] >= 0.95
    assert shares["found8"] >= 0.99
    assert shares["false"] <= 0.05
