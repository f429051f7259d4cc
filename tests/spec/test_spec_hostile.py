"""Specs that somebody made to harm, or that were never specs: told in a few lines, soon, and nothing else is shown."""

from __future__ import annotations

import os
import shutil
import time
from pathlib import Path

import ezdxf
import pytest
from ezdxf.lldxf.encoding import decode_dxf_unicode
from making import instrument, work_of
from places import SPECS

from templategen.cli import main
from templategen.errors import SpecError, problem_report
from templategen.parts.board import fret_template
from templategen.spec.load import load
from templategen.writers import dxf

GOOD = (SPECS / "fleet-07.toml").read_text(encoding="utf-8").replace('survey = "surveys/fleet-07-survey.toml"\n', "")


def report(path: Path, text: str | bytes, seconds: float = 5.0) -> str:
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    begun = time.process_time()
    with pytest.raises(SpecError) as caught:
        load(path)
    told = problem_report(caught.value.problems)
    assert time.process_time() - begun < seconds
    assert len(told) < 20_000
    assert all(sign.isprintable() or sign == "\n" for sign in told)
    return told


@pytest.fixture
def spec(tmp_path: Path) -> Path:
    (tmp_path / "shop.toml").write_bytes((SPECS / "shop.toml").read_bytes())
    shutil.copytree(SPECS / "surveys", tmp_path / "surveys", dirs_exist_ok=True)
    return tmp_path / "spec.toml"


def test_files_elsewhere_are_not_read_unbidden(spec: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    secret = tmp_path / "elsewhere" / "secret.toml"
    secret.parent.mkdir()
    secret.write_text("root:hash of a password\n", encoding="utf-8")
    home = tmp_path / "home"
    home.mkdir()
    (home / "link.toml").symlink_to(secret)
    for named in (str(secret), "../elsewhere/secret.toml", "link.toml"):
        told = report(home / "spec.toml", GOOD.replace('"shop.toml"', f'"{named}"'))
        assert "lies outside the spec's own folder, and is not read unbidden" in told
        assert "password" not in told
    (tmp_path / "elsewhere" / "shop.toml").write_bytes((SPECS / "shop.toml").read_bytes())
    bidden = home / "spec.toml"
    bidden.write_text(GOOD.replace('"shop.toml"', '"../elsewhere/shop.toml"'), encoding="utf-8")
    assert main(["check", str(bidden)]) == 2
    assert main(["check", str(bidden), "--outside"]) in (0, 1)
    capsys.readouterr()


def test_a_file_that_is_not_called_toml_is_not_repeated(tmp_path: Path) -> None:
    assert "password" not in report(tmp_path / "shadow", "root:hash of a password\n")
    assert "password" in report(tmp_path / "spec.toml", "a password\n"), "in a spec the line helps to find the slip"


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no such pipes here")
def test_pipes_and_devices_are_no_files(tmp_path: Path) -> None:
    pipe = tmp_path / "spec.toml"
    os.mkfifo(pipe)
    with pytest.raises(SpecError, match="is a device or a pipe; name a file"):
        load(pipe)
    with pytest.raises(SpecError, match="is a device or a pipe; name a file"):
        load("/dev/zero")


def test_large_files(spec: Path) -> None:
    assert "is larger than 1 MB" in report(spec, GOOD + "# " + "x" * 1_000_000)
    told = report(spec, GOOD.replace("fret_count = 21", f"fret_count = [{'1, ' * 300_000}]"))
    assert "must be a whole number" in told


def test_deep_files(spec: Path) -> None:
    for text in (
        ".".join(["a"] * 20_000) + " = 1\n",
        "a = " + "[" * 400 + "]" * 400,
        "[" + ".".join("ab" * 40) + "]\n",
    ):
        assert "nested too deeply" in report(spec, GOOD.replace("[scale]", text + "\n[scale]"))


def test_many_unknown_keys(spec: Path) -> None:
    told = report(spec, "".join(f"key{n} = {n}\n" for n in range(20_000)) + GOOD, seconds=20)
    assert told.endswith("20000 problems; nothing was written.")
    assert "… and 19950 more\n" in told


def test_long_numbers_and_values_are_not_repeated_whole(spec: Path) -> None:
    told = report(spec, GOOD.replace("width_at_nut       = 43.2", "width_at_nut = 4" + "0" * 4000))
    assert len(told) < 600
    assert len(report(spec, GOOD.replace("width_at_nut       = 43.2", "width_at_nut = " + "9" * 100_000))) < 600
    assert len(report(spec, GOOD.replace("kind ", f"k{'i' * 5000}nd ", 1))) < 1500


@pytest.mark.parametrize(
    ("title", "words"),
    [
        ("a\\u001b[31mb", "take out U+001B (a control character)"),
        ("a\\u202eb", "take out U+202E (right-to-left override)"),
        ("x" * 3000, "must be at most 160 characters long, to fit its sheets; it has 3000"),
    ],
)
def test_titles(spec: Path, title: str, words: str) -> None:
    line = next(line for line in GOOD.splitlines() if line.startswith("title"))
    assert words in report(spec, GOOD.replace(line, f'title = "{title}"'))


def test_no_control_character_of_a_file_or_its_name_reaches_the_terminal(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    odd = tmp_path / "a\x1b[2Jb.toml"
    odd.write_text('"k\\u001b[2Jey" = "\\u001b]0;owned\\u0007"\n' + GOOD, encoding="utf-8")
    assert main(["check", str(odd)]) == 2
    told = capsys.readouterr()
    assert "\x1b" not in told.out + told.err
    assert "\x07" not in told.out + told.err


@pytest.mark.parametrize("title", ["%%u under %%d", "a \\P b", "\\U+0041 stays", "100% of it"])
def test_codes_of_a_format_are_letters(title: str, tmp_path: Path) -> None:
    """ezdxf's own decoders of what a CAD program would decode: percent codes and written code points."""
    made = instrument({"title": title})
    (sheet,) = [p for p in fret_template.make(work_of(made)) if p.stem == "fret-template"]  # type: ignore[union-attr]
    (tmp_path / "sheet.dxf").write_bytes(dxf.encode(sheet.drawing))  # type: ignore[union-attr]
    document = ezdxf.readfile(tmp_path / "sheet.dxf")
    shown = [decode_dxf_unicode(entity.plain_text()) for entity in document.modelspace().query("TEXT")]
    assert any(title in line for line in shown), [line for line in shown if "stays" in line]
