"""From a survey file to readings in mm; what a spec that names one hands on."""

from __future__ import annotations

import datetime
import hashlib
import math
import tomllib
from pathlib import Path

import pytest
from places import DATA

from templategen.errors import Problem, SpecError, problem_report
from templategen.spec.load import load
from templategen.spec.schema import survey_schema
from templategen.spec.survey.load import load_survey
from templategen.spec.survey.models import Rise, Survey
from templategen.spec.survey.values import ByFret

WHOLE = DATA / "survey-whole-example.toml"


def survey(text: str) -> Survey:
    return load_survey("made.toml", text.encode()).survey


def test_every_kind_of_reading() -> None:
    read = load_survey(WHOLE).survey
    assert read.date == datetime.date(2026, 11, 20)
    assert read.frets is not None
    assert read.frets.centre is not None
    assert read.frets.centre.by_number(21) == {1: (35.6,), 2: (69.5,), 5: (160.0,), 12: (319.5, 319.6), 21: (449.2,)}
    board = read.board
    assert board is not None
    assert board.width is not None
    assert board.width.by_number(21) == {0: (43.2,), 21: (55.4,)}
    assert board.radius is not None
    assert board.radius.by_number(21) == {1: (228.6, pytest.approx(241.3)), 12: (254.0,)}
    assert board.rise is not None
    rise = board.rise.by_number(21)
    assert isinstance(rise[12], Rise)
    assert (rise[12].chord, rise[12].height) == (42.0, (0.8,))
    assert rise[3] == ((-20.0, 1.2), (0.0, 0.3), (20.0, 1.2))
    assert read.crowns is not None
    assert read.crowns.under_straightedge == ByFret((("1", ((0.0,), (0.02,))), ("2", ((0.05,), ()))))
    assert read.strings is not None
    assert read.strings.cents is not None
    assert read.strings.cents.by_number(21)[12][:3] == ((9.0,), (8.0,), ())
    assert (read.tools.rule.class_, read.tools.gauges.step, read.tools.feelers.step) == ("II", 12.7, 0.01)


def test_inches_and_gauges_that_show_a_flat_board() -> None:
    read = survey('units = "in"\n[scale]\nfret_count = 12\n[board]\nradius = { nut = "flat", "7" = [14, "flat"] }')
    assert read.board is not None
    assert read.board.radius is not None
    assert read.board.radius.by_number(12) == {0: (math.inf,), 7: (pytest.approx(355.6), math.inf)}


def test_the_board_ends_where_last_is() -> None:
    read = survey('[scale]\nfret_count = 19\n[board]\nwidth = { last = 54, "7" = 49, nut = 43 }')
    assert read.board is not None
    assert read.board.width is not None
    assert list(read.board.width.by_number(19)) == [0, 7, 19]


def test_listed_cents_start_again_at_the_octave() -> None:
    read = survey("[scale]\nfret_count = 9\nfret_cents = [200, 400, 700, 1200]\n[frets]\ncentre = { last = 490 }")
    assert read.scale.repeat_at == 1200.0


def test_the_schema_knows_the_whole_example() -> None:
    jsonschema = pytest.importorskip("jsonschema")
    schema = survey_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    judge = jsonschema.Draft202012Validator(schema)
    good = tomllib.loads(WHOLE.read_text(encoding="utf-8"))
    good["date"] = good["date"].isoformat()  # JSON has no dates
    assert list(judge.iter_errors(good)) == []
    for change in (
        {"frets": {"centre": {"x": 3}}},
        {"frets": {"centre": {"1": []}}},
        {"scale": {}},
        {"board": {"rise": {"12": {"chord": 42}}}},
        {"crowns": {"lines": ["middle"]}},
        {"strings": {"first_fret": 0.3}},
        {"tools": {"rule": {"class": "IV"}}},
    ):
        assert list(judge.iter_errors(good | change)), change


# ------------------------------------------------------------------------------------------------- named by a spec


@pytest.fixture
def spec(tmp_path: Path) -> Path:
    text = (DATA.parent.parent / "specs" / "fleet-07.toml").read_text(encoding="utf-8")
    path = tmp_path / "fleet-07.toml"
    kept = "".join(line for line in text.splitlines(keepends=True) if not line.startswith("survey"))
    path.write_text('survey = "found.toml"\n' + kept, encoding="utf-8")
    for name in ("found.toml", "shop.toml"):
        source = WHOLE if name == "found.toml" else DATA.parent.parent / "specs" / name
        (tmp_path / name).write_bytes(source.read_bytes())
    return path


def test_a_spec_reads_its_survey_once_and_counts_it_in(spec: Path) -> None:
    loaded = load(spec)
    assert loaded.survey is not None
    assert loaded.as_left is None
    assert loaded.survey.survey.scale.fret_count == 21
    found = spec.with_name("found.toml")
    assert str(found) in loaded.inputs
    read = [path.read_bytes() for path in (spec, spec.with_name("shop.toml"), found)]
    assert loaded.digest == hashlib.sha256(b"".join(read)).hexdigest()
    found.write_text(found.read_text() + "\n# measured again\n")
    assert load(spec).digest != loaded.digest


def test_problems_of_the_survey_are_told_at_its_own_lines(spec: Path) -> None:
    loaded = load(spec)
    told = loaded.locate(Problem(("survey", "relief", "held"), "is odd"))
    assert told.file is not None
    assert told.file.endswith("found.toml")
    assert told.line == 23
    found = spec.with_name("found.toml")
    found.write_text(found.read_text().replace('"9" = 0.48', '"9" = -0.48'))
    spec.write_text(spec.read_text().replace("thickness          = 6.2", "thickness = 620"))
    with pytest.raises(SpecError) as caught:
        load(spec)
    files = [Path(problem.file or "").name for problem in caught.value.problems]
    assert files == ["fleet-07.toml", "found.toml"], problem_report(caught.value.problems)


@pytest.mark.parametrize(
    ("named", "says"), [("nowhere.toml", "there is no such survey file"), ("../found.toml", "outside the spec's own")]
)
def test_a_survey_that_is_not_to_be_had(spec: Path, named: str, says: str) -> None:
    spec.write_text(spec.read_text().replace('"found.toml"', f'"{named}"'))
    with pytest.raises(SpecError, match=says) as caught:
        load(spec)
    assert caught.value.problems[0].line == 1
