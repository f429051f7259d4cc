"""Malformed surveys, each with its whole report: tests/data/malformed-surveys/NN-name.toml and NN-name.txt.

Run this file as a program to write the reports anew, and read every change before it is kept.
"""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from places import DATA

from templategen.errors import SpecError, problem_report
from templategen.spec.survey.load import load_survey

FOLDER = DATA / "malformed-surveys"
CASES = sorted(path.stem for path in FOLDER.glob("[0-9]*.toml"))
GOOD = DATA / "survey-whole-example.toml"


def report(case: str) -> str:
    with pytest.raises(SpecError) as caught:
        load_survey(f"{case}.toml")
    return problem_report(caught.value.problems) + "\n"


@pytest.mark.parametrize("case", CASES)
def test_the_whole_report(case: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(FOLDER)
    assert report(case) == (FOLDER / f"{case}.txt").read_text(encoding="utf-8")


def test_every_report_has_its_survey() -> None:
    assert [path.stem for path in sorted(FOLDER.glob("*.txt"))] == CASES
    assert len(CASES) >= 30


JUNK = [
    "", "0", "-1", "1e9", "nan", "true", '"x"', '"1/3 in"', "[]", "[1]", "[[]]", "{}", '{ "1" = 1 }', '{ "99" = 2 }',
    '{ nut = 1, "1" = [1, 2] }', "1979-05-27", "[[1, 2], [3, 4], [5, 6]]", '"nut"', '[1, "-"]', '"-"', "7",
    '{ "2" = { free = "nut", gap = [0.1, 0] } }', '{ "1" = "flat" }',
]  # fmt: skip


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_any_change_of_a_good_survey_is_a_survey_or_a_report(data: st.DataObject) -> None:
    """Lines dropped, doubled, moved, and values replaced: never anything but sentences of ours."""
    lines = GOOD.read_text(encoding="utf-8").splitlines()
    for _ in range(data.draw(st.integers(1, 3))):
        at = data.draw(st.integers(0, len(lines) - 1))
        match data.draw(st.sampled_from(["drop", "double", "move", "value", "value", "value"])):
            case "drop":
                del lines[at]
            case "double":
                lines.insert(at, lines[at])
            case "move":
                lines.append(lines.pop(at))
            case _:
                head, equals, _ = lines[at].partition("=")
                lines[at] = head + (equals and "= " + data.draw(st.sampled_from(JUNK)))
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "changed.toml"
        path.write_text("\n".join(lines), encoding="utf-8")
        try:
            load_survey(path)
        except SpecError as error:
            problems = error.problems
        else:
            return
    assert problems
    for problem in problems:
        assert problem.line is not None
        assert 1 <= problem.line <= len(lines)
        assert not problem.message.startswith(("cannot be used", "is not TOML"))


if __name__ == "__main__":
    os.chdir(FOLDER)
    for name in CASES:
        (FOLDER / f"{name}.txt").write_text(report(name), encoding="utf-8")
