"""A short run of tests/bench/fuzz.py: whole specs built by hypothesis, none ends in a traceback."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any

from fuzzing import SPECS, build, make, near, plausible
from hypothesis import HealthCheck, given, settings

QUICK = {"deadline": None, "derandomize": True, "database": None, "suppress_health_check": list(HealthCheck)}


@settings(max_examples=60, **QUICK)  # type: ignore[arg-type]
@given(SPECS)
def test_builds(change: dict[str, Any]) -> None:
    build(change)


@settings(max_examples=3, **QUICK)  # type: ignore[arg-type]
@given(near() | plausible())
def test_makes(change: dict[str, Any]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        make(change, Path(folder))
