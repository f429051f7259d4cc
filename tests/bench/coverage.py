"""Does the ± hold? The whole simulation: python tests/bench/coverage.py 2000. The tests run a small part of it."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parents[1]), str(Path(__file__).parents[2])]

from survey_coverage import everything  # noqa: E402

if __name__ == "__main__":
    for name, value in everything(int(sys.argv[1]) if len(sys.argv) > 1 else 2000).items():
        print(f"{name:24} {value:.4f}")
