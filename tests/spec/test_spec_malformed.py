"""Malformed specs, each with its whole report: tests/data/malformed.

``python tests/malformed.py`` writes the reports anew; read every change before it is kept.
"""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from malformed import SPEC, changed_lines, is_read_or_told
from places import FLEET, SPECS

from templategen.spec.load import load


@pytest.mark.parametrize("case", SPEC.cases)
def test_the_whole_report(case: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(SPEC.folder)
    assert SPEC.report(case) == SPEC.kept(case)


def test_every_report_has_its_spec() -> None:
    assert SPEC.orphans() == set()
    assert len(SPEC.cases) >= 25


GOOD = {path.name: path.read_text(encoding="utf-8").splitlines() for path in FLEET}
JUNK = ("{ bass = 1 }", "{ x = 1 }", "{ bass = 9, treble = -9 }", '[{ gauge = 1, note = "A4" }]', "[1, [2]]", '"flat"')


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_any_change_of_a_good_spec_is_a_spec_or_a_report(data: st.DataObject) -> None:
    good = GOOD[data.draw(st.sampled_from(sorted(GOOD)))]
    is_read_or_told(changed_lines(data, good, JUNK), load, [SPECS / "shop.toml"])
