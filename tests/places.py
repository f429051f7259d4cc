"""Where tests find things: the checkout, its specs, the tests' own data."""

from __future__ import annotations

from pathlib import Path

ROOT = Path(__file__).parent.parent
SPECS = ROOT / "specs"
FLEET = sorted(SPECS.glob("fleet-*.toml"))
DATA = ROOT / "tests" / "data"
