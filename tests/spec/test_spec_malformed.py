"""Malformed specs, each with its whole report: tests/data/malformed/NN-name.toml and NN-name.txt.

Run this file as a program to write the reports anew, and read every change before it is kept.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from templategen.errors import SpecError, problem_report
from templategen.spec.load import load

FOLDER = Path(__file__).parents[1] / "data" / "malformed"
CASES = sorted(path.stem for path in FOLDER.glob("[0-9]*.toml"))


def report(case: str) -> str:
    with pytest.raises(SpecError) as caught:
        load(f"{case}.toml")
    return problem_report(caught.value.problems) + "\n"


@pytest.mark.parametrize("case", CASES)
def test_the_whole_report(case: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(FOLDER)
    assert report(case) == (FOLDER / f"{case}.txt").read_text(encoding="utf-8")


def test_every_report_has_its_spec() -> None:
    assert [path.stem for path in sorted(FOLDER.glob("*.txt"))] == CASES
    assert len(CASES) >= 25


if __name__ == "__main__":
    os.chdir(FOLDER)
    for name in CASES:
        (FOLDER / f"{name}.txt").write_text(report(name), encoding="utf-8")
