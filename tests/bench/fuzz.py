"""Whole specs by the thousand, from a seed: ``fuzz.py --builds 5000 --make 500 --solids 300 --seed 1``.

Every example is one spec, ten to a seed; each that breaks a promise is printed as a file and counted, and the run
goes on. Exit code 1 where one did.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

sys.path[:0] = [str(Path(__file__).parents[1]), str(Path(__file__).parents[2])]

from fuzzing import SPECS, build, make, near, plausible, text_of  # noqa: E402
from hypothesis import HealthCheck, Phase, given, seed, settings  # noqa: E402

BATCH = 10  # examples per seed: a run that is cut off still says how far it came


def run(what: str, specs: Any, check: Callable[[dict[str, Any]], bool], count: int, first: int) -> int:
    """How many failed; says what."""
    tally: Counter[str] = Counter()
    last = first + -(-count // BATCH) - 1
    for number in range(first, last + 1):
        left = count - sum(tally.values())
        _batch(what, specs, check, number, min(BATCH, left), tally)
        print(f"{what}: {dict(tally)}, seeds {first} to {number}", flush=True)
    return tally["failed"]


def _batch(
    what: str, specs: Any, check: Callable[[dict[str, Any]], bool], number: int, count: int, tally: Counter[str]
) -> None:
    @seed(number)
    @settings(
        max_examples=count, deadline=None, database=None, phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )  # fmt: skip
    @given(specs)
    def batch(change: dict[str, Any]) -> None:
        try:
            tally["made" if check(change) else "refused"] += 1
        except Exception as error:
            tally["failed"] += 1
            said = f"{type(error).__name__}: {str(error)[:300]}"
            print(f"--- {what}, seed {number}: {said}\n{text_of(change)}", flush=True)

    batch()


def main() -> int:
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--builds", type=int, default=0)
    words.add_argument("--make", type=int, default=0)
    words.add_argument("--solids", type=int, default=0)
    words.add_argument("--seed", type=int, default=1)
    asked = words.parse_args()

    def into(solids: bool) -> Callable[[dict[str, Any]], bool]:
        def check(change: dict[str, Any]) -> bool:
            with tempfile.TemporaryDirectory() as folder:
                return make(change, Path(folder), solids)

        return check

    failed = 0
    for what, specs, check, count in (
        ("builds", SPECS, build, asked.builds),
        ("2D makes", near() | plausible(), into(False), asked.make),
        ("solids", near() | plausible(), into(True), asked.solids),
    ):
        if count:
            failed += run(what, specs, check, count, asked.seed)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
