"""Malformed surveys, each with its whole report: tests/data/malformed-surveys.

``python tests/malformed.py`` writes the reports anew; read every change before it is kept.
"""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from malformed import SURVEY, changed_lines, is_read_or_told
from places import DATA

from templategen.spec.survey.load import load_survey


@pytest.mark.parametrize("case", SURVEY.cases)
def test_the_whole_report(case: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(SURVEY.folder)
    assert SURVEY.report(case) == SURVEY.kept(case)


def test_every_report_has_its_survey() -> None:
    assert SURVEY.orphans() == set()
    assert len(SURVEY.cases) >= 30


GOOD = (DATA / "survey-whole-example.toml").read_text(encoding="utf-8").splitlines()
JUNK = (
    '{ "1" = 1 }', '{ "99" = 2 }', '{ nut = 1, "1" = [1, 2] }', "[[1, 2], [3, 4], [5, 6]]", '[1, "-"]', '"-"',
    '{ "2" = { free = "nut", gap = [0.1, 0] } }', '{ "1" = "flat" }',
)  # fmt: skip


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_any_change_of_a_good_survey_is_a_survey_or_a_report(data: st.DataObject) -> None:
    is_read_or_told(changed_lines(data, GOOD, JUNK), load_survey)
