"""The fleet's surveys: what is found of each lies within its ± of the truth it was measured of; drafts of all pass."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from survey_truths import FLEET, FOLDER, Truth, text

from templategen import job
from templategen.errors import SpecError
from templategen.repair.survey.found import AsFound, as_found
from templategen.spec.survey.load import load_survey

BY_STEM = {truth.stem: truth for truth in FLEET}


def found(stem: str) -> tuple[Truth, AsFound]:
    return BY_STEM[stem], as_found(load_survey(FOLDER / f"{stem}-survey.toml").survey)


@pytest.mark.parametrize("truth", FLEET, ids=lambda t: t.stem)
def test_the_files_are_what_was_measured(truth: Truth) -> None:
    assert (FOLDER / f"{truth.stem}-survey.toml").read_text(encoding="utf-8") == text(truth)


@pytest.mark.parametrize("stem", BY_STEM)
def test_scale_nut_and_relief_lie_within_their_pm(stem: str) -> None:
    truth, f = found(stem)
    assert f.frets is not None
    assert {line.line for line in f.frets.lines} == set(truth.scales)
    for line in f.frets.lines:
        assert abs(line.scale.value - truth.scales[line.line]) <= line.scale.pm
        assert line.shift is not None
        assert abs(line.shift.value - truth.shifts[line.line]) <= line.shift.pm
    assert f.relief is not None
    assert abs(f.relief.depth.value - truth.relief) <= f.relief.depth.pm
    assert f.board is not None
    for fret, width in zip((0, truth.fret_count), truth.widths, strict=True):
        assert abs(f.board.width[fret].value - width) <= f.board.width[fret].pm
    if truth.radius is not None and f.board.round is not None and truth.radius[0] == truth.radius[1]:
        assert f.board.round.all.within(truth.radius[0])
        assert f.board.round.shape == "cylinder"


@pytest.mark.parametrize("stem", BY_STEM)
def test_only_what_is_out_of_place_is_told(stem: str) -> None:
    truth, f = found(stem)
    assert f.frets is not None
    told = {fret.fret: fret.off for line in f.frets.lines for fret in line.outliers}
    wanted = truth.misplaced | truth.slips
    assert told.keys() == wanted.keys()
    for fret, off in told.items():
        assert off == pytest.approx(wanted[fret], abs=0.45)


def test_the_rule_of_18_is_recognised() -> None:
    _, f = found("fleet-52")
    assert f.frets is not None
    (line,) = f.frets.lines
    assert line.rule.words == "a constant ratio by 18"
    assert line.rule.found == pytest.approx(0.989546, abs=line.rule.pm)  # 98.9546 cents of 100, published
    for stem in set(BY_STEM) - {"fleet-52"}:
        frets = found(stem)[1].frets
        assert frets is not None
        assert {line.rule.words for line in frets.lines} == {"12 equal steps to the octave"}


def test_a_cone_that_gauges_cannot_tell() -> None:
    _, f = found("fleet-26")
    assert f.board is not None
    assert f.board.round is not None
    assert f.board.round.shape == "cannot tell"


def test_the_square_fret_of_a_multi_scale() -> None:
    truth, f = found("fleet-23")
    assert f.frets is not None
    assert f.frets.square_fret is not None
    assert truth.square_fret is not None
    assert abs(f.frets.square_fret.value - truth.square_fret) <= f.frets.square_fret.pm


def test_wear_and_profile_of_the_student_electric() -> None:
    truth, f = found("fleet-07")
    crowns = f.crowns
    assert crowns is not None
    for fret, worn in truth.worn.items():
        assert crowns.z[fret - 1] == pytest.approx(-np.array(worn), abs=0.011)
        assert crowns.height[fret - 1] == pytest.approx(truth.new_height - np.array(worn), abs=0.045)
    assert math.isclose(crowns.wear[1].max(), crowns.wear[np.isfinite(crowns.wear)].max())


@pytest.mark.parametrize("stem", BY_STEM)
def test_a_draft_passes_and_is_never_written_over(stem: str, tmp_path: Path) -> None:
    survey, draft = tmp_path / "found.toml", tmp_path / "draft.toml"
    survey.write_text(text(BY_STEM[stem]), encoding="utf-8")
    assert job.survey(str(survey), str(draft))
    begun = draft.read_text(encoding="utf-8")
    assert "# not measured" in begun
    assert 'survey = "found.toml"' in begun
    job.check(str(draft))
    made = job.make(str(draft), tmp_path / "out", formats=["json", "svg"])
    assert not made.missing
    with pytest.raises(SpecError, match="already there"):
        job.survey(str(survey), str(draft))
    assert draft.read_text(encoding="utf-8") == begun
