"""The command line as a user meets it: words, sentences, exit codes, never a traceback."""

from __future__ import annotations

import json
import re
import shutil
import tomllib
from pathlib import Path

import jsonschema
import pytest
from places import ROOT

from templategen.cli import main

SPEC = str(ROOT / "specs" / "fleet-07.toml")


def test_make_tells_what_it_wrote(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["make", SPEC, "--out", str(tmp_path), "--only", "tables", "slot-outline"]) == 0
    told = capsys.readouterr().out
    assert str(tmp_path / "fleet-07") in told
    assert "numbers (json)" in told
    assert "kerf" in told, "what was taken off for the beam is stated in the list of files"
    assert main(["make", SPEC, "--out", str(tmp_path), "--only", "tables", "slot-outline"]) == 0
    assert "unchanged, nothing written" in capsys.readouterr().out


def test_format_narrows_what_is_written(tmp_path: Path) -> None:
    assert main(["make", SPEC, "--out", str(tmp_path), "--format", "svg"]) == 0
    suffixes = {p.suffix for p in (tmp_path / "fleet-07").iterdir()} - {".json"}
    assert suffixes == {".svg"}


def test_one_wrong_spec_among_good_ones(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    wrong = tmp_path / "wrong.toml"
    wrong.write_text('title = "no tables"\n')
    assert main(["make", str(wrong), SPEC, "--out", str(tmp_path / "out"), "--only", "tables"]) == 2
    told = capsys.readouterr()
    assert "nothing was written" in told.err
    assert (tmp_path / "out" / "fleet-07" / "numbers.json").exists()
    assert not (tmp_path / "out" / "wrong").exists()


def test_check_is_0_without_and_1_with_findings_to_decide(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(ROOT / "specs" / "fleet-12.toml")]) == 0
    assert main(["check", str(ROOT / "specs" / "fleet-26.toml")]) == 1, "measured, with something to decide about"
    text = Path(SPEC).read_text(encoding="utf-8")
    near = tmp_path / "near.toml"
    shutil.copy(ROOT / "specs" / "shop.toml", tmp_path)
    shutil.copytree(ROOT / "specs" / "surveys", tmp_path / "surveys")
    near.write_text(re.sub(r"(?m)^edge_margin\s*=.*$", "edge_margin = { bass = 2.0, treble = 3.2 }", text))
    assert main(["check", str(near)]) == 1
    told = capsys.readouterr().out
    assert "decide: The bass outer string lies 2.00 mm from the board's edge at the nut" in told
    assert not (ROOT / "out" / "near").exists()


def test_unknown_parts_and_formats_are_told(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["make", SPEC, "--only", "nutt"]) == 2
    told = capsys.readouterr().err
    assert told.startswith("--only  nutt\n    no such part; there are: ")
    assert told.endswith("1 problem; nothing was written.\n")
    assert main(["make", SPEC, "--format", "dwg"]) == 2


def test_output_folder_that_cannot_be_written_is_exit_3(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "file").write_text("in the way")
    assert main(["make", SPEC, "--only", "tables", "--out", str(tmp_path / "file")]) == 3
    assert "cannot be written" in capsys.readouterr().err


def test_new_spec_passes_check_and_is_never_overwritten(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    target = tmp_path / "measured.toml"
    assert main(["new-spec", str(target)]) == 0
    assert main(["check", str(target)]) == 0
    target.write_text("mine")
    assert main(["new-spec", str(target)]) == 2
    assert "already there" in capsys.readouterr().err
    assert target.read_text() == "mine"


def test_new_spec_in_inches_of_a_mandolin(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "job.toml"
    words = ["new-spec", str(path), "--units", "in", "--kind", "mandolin", "--strings"]
    assert main([*words, "8"]) == 0
    (relief,) = (line for line in path.read_text(encoding="utf-8").splitlines() if line.startswith("relief = "))
    assert relief.startswith("relief = 0.0031 ")
    assert relief.endswith("; usual 0 to 0.0059 in")
    assert "courses = [[1, 2], [3, 4], [5, 6], [7, 8]]" in path.read_text(encoding="utf-8")
    assert main(["check", str(path)]) == 0, capsys.readouterr()
    path.unlink()
    assert main([*words, "9"]) == 2
    assert "there are sheets of kind mandolin for so many strings: 8, 4" in capsys.readouterr().err
    assert not path.exists()


def test_new_spec_writes_a_shop_file_on_request(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["new-spec", str(tmp_path / "job.toml"), "--shop", str(tmp_path / "shop.toml")]) == 0
    assert 'shop = "shop.toml"' in (tmp_path / "job.toml").read_text()
    assert main(["check", str(tmp_path / "job.toml")]) == 0, capsys.readouterr().err
    assert main(["new-spec", str(tmp_path / "nowhere" / "job.toml")]) == 2
    assert "there is no folder" in capsys.readouterr().err


def test_a_spec_in_the_way_leaves_no_shop_file_behind(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "job.toml").write_text("mine")
    assert main(["new-spec", str(tmp_path / "job.toml"), "--shop", str(tmp_path / "shop.toml")]) == 2
    assert "1 problem; nothing was written." in capsys.readouterr().err
    assert [p.name for p in tmp_path.iterdir()] == ["job.toml"]


def test_nothing_to_make_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["make", SPEC, "--only", "fret-template", "--format", "csv", "--out", str(tmp_path)]) == 2
    assert "fret-template: there is no file of csv to make" in capsys.readouterr().err
    assert not list(tmp_path.iterdir())


def test_cautions_close_what_make_tells(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["make", SPEC, "--only", "slot-outline", "--out", str(tmp_path)]) == 0
    told = capsys.readouterr().out
    assert "caution: Routing or laser cutting:" in told
    manifest = json.loads((tmp_path / "fleet-07" / "manifest.json").read_text())
    assert any("laser" in line for line in manifest["cautions"])


def test_schema_prints_a_schema_that_accepts_the_fleet(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["schema"]) == 0
    schema = json.loads(capsys.readouterr().out)
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(tomllib.loads(Path(SPEC).read_text(encoding="utf-8")), schema)
    assert main(["schema", "--shop"]) == 0
    of_shop = json.loads(capsys.readouterr().out)
    jsonschema.validate(tomllib.loads((Path(SPEC).parent / "shop.toml").read_text(encoding="utf-8")), of_shop)
    assert set(of_shop["properties"]) > {"end_mills", "saw_kerfs", "wire"}


def test_show_prints_both_units(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["show", SPEC]) == 0
    told = capsys.readouterr().out
    for words in ("Frets", "Strings", "Nut slots", "Radius block", "mm", "in"):
        assert words in told


@pytest.mark.parametrize("path", ["nowhere.toml", str(ROOT / "specs")], ids=["missing", "a folder"])
def test_no_file_to_read_is_exit_2(path: str, capsys: pytest.CaptureFixture[str]) -> None:
    for command in ("make", "check", "show"):
        assert main([command, path]) == 2
        assert "Traceback" not in capsys.readouterr().err
