"""From files to a Spec: what arrives, what is added from the shop, and where later rooms' problems are told."""

from __future__ import annotations

import builtins
import hashlib
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from places import DATA, SPECS

from templategen.errors import MachineError, Problem, SpecError, problem_report
from templategen.spec.load import Loaded, load
from templategen.spec.models import Relief, Scale, Shop, ZeroFret
from templategen.spec.table import Drafts
from templategen.spec.values import OverStrings

SHOP = """
units = "in"
beam_kerf = 0.005
[[wire]]
name = "thin"
crown_width = 0.08
crown_height = 0.04
tang_depth = 0.06
tang_thickness = 0.02
barb_width = 0.03
slot_width = 0.023
"""
SPEC = """
title = "On paper only"
shop = "tools/shop.toml"
[scale]
length = 640
fret_count = 20
[fingerboard]
width_at_nut = 43.2
width_at_last_fret = 55.6
thickness = 6.2
radius = 290
[fret_wire]
wire = "thin"
tang_depth = 1.4
[strings]
set = [
  { gauge = "0.010 in", note = "E4" },
  { gauge = "0.014 in", note = 246.94 },
  { gauge = "0.018 in", note = "G3" },
]
[bridge]
string_spread = 52
[nut]
thickness = 3.4
seat_depth = 2
edge_margin = 3.3
[setup]
first_fret_clearance = [0.3, 0.35, 0.4]
action = { fret = 12, bass = 2, treble = 1.6 }
"""


def written(folder: Path, spec: str = SPEC, shop: str | None = SHOP) -> Path:
    path = folder / "paper.toml"
    path.write_text(spec, encoding="utf-8")
    if shop is not None:
        (folder / "tools").mkdir(exist_ok=True)
        (folder / "tools" / "shop.toml").write_text(shop, encoding="utf-8")
    return path


def changed(old: str, new: str, spec: str = SPEC) -> str:
    assert old in spec
    return spec.replace(old, new, 1)


def report(path: Path | str) -> str:
    with pytest.raises(SpecError) as caught:
        load(path)
    return problem_report(caught.value.problems)


def test_what_arrives(tmp_path: Path) -> None:
    path = written(tmp_path)
    found = load(path)
    assert (found.name, found.path) == ("paper", str(path))
    assert found.digest == hashlib.sha256(SPEC.encode() + SHOP.encode()).hexdigest()
    assert found.spec.scale.length == 640.0
    assert found.spec.strings.set[0].gauge == 0.254
    assert found.spec.strings.set[1].note.frequency_hz(440) == 246.94
    assert found.spec.setup.first_fret_clearance == OverStrings(0.4, 0.3, (0.3, 0.35, 0.4))
    assert found.shop.beam_kerf == 0.127


def test_the_shops_wire_fills_in_what_the_spec_leaves_out(tmp_path: Path) -> None:
    wire = load(written(tmp_path)).spec.fret_wire
    assert (wire.crown_width, wire.crown_height, wire.slot_width) == (2.032, 1.016, 0.5842)
    assert wire.tang_depth == 1.4
    assert wire.depth_below_tang == 0.3


def test_without_wire_or_numbers_the_defaults_hold(tmp_path: Path) -> None:
    spec = changed('wire = "thin"\ntang_depth = 1.4\n', "", changed('shop = "tools/shop.toml"\n', ""))
    found = load(written(tmp_path, spec, shop=None))
    assert (found.spec.fret_wire.crown_height, found.spec.fret_wire.slot_width) == (1.1, 0.58)
    assert found.shop == Shop()
    assert found.digest == hashlib.sha256(spec.encode()).hexdigest()


def test_the_digest_follows_both_files(tmp_path: Path) -> None:
    digests = {
        load(written(tmp_path)).digest,
        load(written(tmp_path, SPEC + "# a note\n")).digest,
        load(written(tmp_path, SPEC, SHOP + "# a note\n")).digest,
    }
    assert len(digests) == 3


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("true", ZeroFret()),
        ("false", None),
        ("{ crown_height = 1.25 }", ZeroFret(crown_height=1.25)),
        ("{}", ZeroFret()),
    ],
)
def test_zero_fret(tmp_path: Path, text: str, expected: ZeroFret | None) -> None:
    spec = changed("fret_count = 20", f"fret_count = 20\nzero_fret = {text}")
    assert load(written(tmp_path, spec)).spec.scale.zero_fret == expected


def test_with_a_zero_fret_no_height_at_the_nut_is_needed(tmp_path: Path) -> None:
    spec = changed("first_fret_clearance = [0.3, 0.35, 0.4]\n", "")
    assert "gives no height of the strings at the nut" in report(written(tmp_path, spec))
    load(written(tmp_path, changed("fret_count = 20", "fret_count = 20\nzero_fret = true", spec)))


def test_relief_is_a_length_or_a_table(tmp_path: Path) -> None:
    assert load(written(tmp_path, changed("[setup]", '[setup]\nrelief = "8 thou"'))).spec.setup.relief == 0.2032
    table = load(written(tmp_path, changed("[setup]", "[setup]\nrelief = { depth = 0.2, to = 14 }"))).spec.setup.relief
    assert isinstance(table, Relief)
    assert (table.depth, table.from_fret, table.to_fret) == (0.2, None, 14)


def test_fret_cents_start_again_at_the_octave(tmp_path: Path) -> None:
    spec = changed("fret_count = 20", "fret_count = 20\nfret_cents = [204, 386, 498, 702, 884, 1088, 1200]")
    assert load(written(tmp_path, spec)).spec.scale.repeat_at == 1200
    whole = changed("fret_count = 20", f"fret_count = 20\nfret_cents = {[98.955 * n for n in range(1, 21)]}")
    assert load(written(tmp_path, whole)).spec.scale.repeat_at is None


def test_the_fit_ends_at_the_last_fret(tmp_path: Path) -> None:
    spec = changed("fret = 12", "fret = 7", changed("fret_count = 20", "fret_count = 9"))
    assert load(written(tmp_path, spec)).spec.intonation.fit_to_fret == 9


def test_bare_numbers_of_each_file_are_in_its_own_unit(tmp_path: Path) -> None:
    found = load(written(tmp_path))
    assert (found.spec.units, found.shop.units) == ("mm", "in")
    assert (found.spec.nut.thickness, found.shop.wire[0].crown_width) == (3.4, 2.032)


def test_a_byte_order_mark_and_carriage_returns_are_fine(tmp_path: Path) -> None:
    path = written(tmp_path)
    path.write_bytes(b"\xef\xbb\xbf" + SPEC.replace("\n", "\r\n").encode())
    assert load(path).spec == load(written(tmp_path)).spec


# ------------------------------------------------------------------------------------------------------- problems


def test_no_such_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert report("nope.toml") == (
        "nope.toml\n    there is no such file; check the path\n1 problem; nothing was written."
    )
    (tmp_path / "folder.toml").mkdir()
    assert report("folder.toml").splitlines()[1] == "    is a folder; name a file in it"
    written(tmp_path)
    assert report("paper.toml/spec.toml").splitlines()[1] == "    cannot be the path of a file; check it"
    assert report("a\0b.toml").splitlines()[1] == "    cannot be the path of a file; check it"


def test_the_machine_says_no(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = written(tmp_path)

    def refuse(*args: Any, **kwargs: Any) -> Any:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(builtins, "open", refuse)
    with pytest.raises(MachineError, match=r"paper\.toml: cannot be read: Permission denied"):
        load(path)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("length = 640", "length = " + "[" * 5000 + "]" * 5000, "nested too deeply"),
        ("length = 640", "length = " + "6" * 5000, "too many figures"),
        ("length = 640", "length = " + "6" * 400, "must be a finite number"),
        ("length = 640", "length = 1e999999999", "must be a finite number"),
        ("fret_count = 20", "fret_count = " + "6" * 400, "must be from 1 to 216"),
    ],
)
def test_hostile_numbers(tmp_path: Path, old: str, new: str, words: str) -> None:
    assert words in report(written(tmp_path, changed(old, new)))


def test_a_long_value_is_shown_shortened(tmp_path: Path) -> None:
    shown = report(written(tmp_path, changed("[0.3, 0.35, 0.4]", "[\n  0.3,\n" + "  0.4,\n" * 40 + "]")))
    assert " = [ 0.3, 0.4, 0.4, " in shown
    assert max(map(len, shown.splitlines())) < 250
    assert "…" in shown


def test_problems_of_a_table_do_not_hide_those_of_the_rest(tmp_path: Path) -> None:
    """A key that cannot be read takes only the checks with it that need it."""
    spec = changed("thickness = 6.2", 'thickness = "thick"', changed("edge_margin = 3.3", "edge_margin = 30"))
    spec = changed("width_at_last_fret = 55.6\n", "", changed('note = "E4"', 'note = "H4"', spec))
    shown = report(written(tmp_path, spec))
    assert "fingerboard.thickness = " in shown
    assert "gives no width beside that at the nut" in shown
    assert "strings.set[1].note" in shown
    assert "the two margins must total less than 42.1 mm" in shown
    assert shown.endswith("4 problems; nothing was written.")


@pytest.mark.parametrize(
    "table", ["scale", "fingerboard", "fret_wire", "strings", "bridge", "nut", "setup", "intonation"]
)
def test_a_table_that_is_none_is_one_problem(tmp_path: Path, table: str) -> None:
    start = SPEC.find(f"[{table}]")
    end = SPEC.find("\n[", start + 1) + 1 or len(SPEC)
    spec = SPEC if start < 0 else SPEC[:start] + SPEC[end:]
    shown = report(written(tmp_path, spec.replace("title", f"{table} = 3\ntitle")))
    assert shown.splitlines()[0].endswith(f"paper.toml:2  {table} = 3")
    assert "must be a table, for example: {" in shown
    assert shown.endswith("1 problem; nothing was written.")


# ------------------------------------------------------------------------------------------------- later problems


@pytest.fixture
def paper(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Loaded:
    written(tmp_path)
    monkeypatch.chdir(tmp_path)
    return load("paper.toml")


@pytest.mark.parametrize(
    ("key", "file", "line", "given"),
    [
        (("nut", "edge_margin"), "paper.toml", 26, "3.3"),
        (("nut", "edge_margin", "bass"), "paper.toml", 26, None),
        (("nut", "top_allowance"), "paper.toml", 23, None),
        (("nut",), "paper.toml", 23, None),
        (("headstock", "posts"), "paper.toml", 1, None),
        (("strings", "set", 1, "gauge"), "paper.toml", 18, '"0.014 in"'),
        (("fret_wire", "tang_depth"), "paper.toml", 14, "1.4"),
        (("fret_wire", "slot_width"), "tools/shop.toml", 11, "0.023"),
        (("shop", "beam_kerf"), "tools/shop.toml", 3, "0.005"),
        (("shop", "nut_file_widths"), "tools/shop.toml", 1, None),
        (("shop",), "paper.toml", 3, '"tools/shop.toml"'),
        ((), "paper.toml", 1, None),
    ],
)
def test_locating(paper: Loaded, key: tuple[str | int, ...], file: str, line: int, given: str | None) -> None:
    found = paper.locate(Problem(key, "cannot be"))
    assert (found.file, found.line, found.given, found.message) == (file, line, given, "cannot be")


def test_loading_is_lean() -> None:
    """No numeric or drawing library is loaded to read a spec."""
    code = (
        "import sys; from templategen.spec.load import load; load(sys.argv[1]); "
        "print([m for m in ('numpy', 'scipy', 'ezdxf', 'cadquery', 'rich', 'matplotlib') if m in sys.modules])"
    )
    run = subprocess.run(
        [sys.executable, "-c", code, SPECS / "fleet-07.toml"], capture_output=True, text=True, check=True
    )
    assert run.stdout == "[]\n"


def test_a_draft_lacks_what_could_not_be_read() -> None:
    drafts = Drafts()
    with pytest.raises(ValueError, match="must be more than 0"):
        Scale.model_validate({"repeat_at": -1, "length": 640}, context={"drafts": drafts})
    scale = drafts.outermost
    assert isinstance(scale, Scale)
    assert (scale.length, scale.steps_per_octave, scale.model_fields_set) == (640, 12, {"length", "repeat_at"})
    for name in ("repeat_at", "fret_count"):
        with pytest.raises(AttributeError):
            getattr(scale, name)


def test_what_changes_nothing_is_named(tmp_path: Path) -> None:
    spec = changed("fret_count = 20", "fret_count = 6\nfret_cents = [204, 386, 498, 702, 884, 1088, 1200]")
    spec = changed("fret = 12", "fret = 6", spec)
    spec = changed('note = "E4"', 'note = "E4", wrap = "brass", density = 7.8, mass_per_length = 0.4', spec)
    spec = changed("[bridge]", 'wrap = "brass"\n[bridge]\ncourse_gap = 2', spec)
    spec = changed("[nut]", '[nut]\nbehind_zero_fret = 4\nbelow_zero_crown = 0.5\ncompensation_by = "board"', spec)
    spec += '[radius_block]\nat = "nut"\n'
    assert load(written(tmp_path, spec)).idle == (
        (("scale", "fret_cents"), "1 of its 7 frets lie beyond the last fret, 6"),
        (("strings", "wrap"), "no string of the set is wound"),
        (("strings", "set", 0, "wrap"), "the string is plain"),
        (("strings", "set", 0, "density"), "mass_per_length is given and says it all"),
        (("bridge", "course_gap"), "the strings have no courses"),
        (("nut", "behind_zero_fret"), "there is no zero fret"),
        (("nut", "below_zero_crown"), "there is no zero fret"),
        (("nut", "compensation_by"), 'compensation is "none"'),
        (("radius_block", "at"), "the board has one radius everywhere"),
    )


def test_a_shop_without_wires(tmp_path: Path) -> None:
    assert "lists no [[wire]]" in report(written(tmp_path, SPEC, 'units = "mm"\n'))


# --------------------------------------------------------------------------------------- the format's whole example

WHOLE = DATA / "whole-example"
"""The file format's whole example and its shop file, key by key as users and tools rely on them."""
COMMENTED = re.compile(r"^# ([a-z_0-9]+ *= .*)")
ALONE = {"square_fret", "fret_cents", "repeat_at"}  # of another way to place the frets


def whole_example(tmp_path: Path, text: str) -> Loaded:
    (tmp_path / "shop.toml").write_bytes((WHOLE / "shop.toml").read_bytes())
    (tmp_path / "whole.toml").write_text(text, encoding="utf-8")
    return load(tmp_path / "whole.toml")


def test_the_whole_example(tmp_path: Path) -> None:
    found = load(WHOLE / "whole.toml")
    assert found.idle == ()
    spec, shop = found.spec, found.shop
    assert (spec.scale.length, spec.fingerboard.radius) == (639.7625, 279.4)
    assert (spec.setup.relief, spec.nut.edge_margin, spec.radius_block is not None) == (
        0.2,
        OverStrings(3.4, 3.2),
        True,
    )
    assert [mill.shape for mill in shop.end_mills] == ["flat", "ball", "flat", "vee"]
    assert (shop.spare_frets, shop.ruler_measured is not None, shop.wire[0].name) == (2, True, "fleet 2.4")


def test_every_commented_line_of_the_whole_example(tmp_path: Path) -> None:
    """Taken in one at a time, each in its table, every line that stands for itself loads."""
    lines = (WHOLE / "whole.toml").read_text(encoding="utf-8").splitlines()
    tried = 0
    for number, line in enumerate(lines):
        match = COMMENTED.match(line)
        if not match or match[1].split()[0] in ALONE:
            continue
        header = next(line for line in reversed(lines[:number]) if re.match(r"(# )?\[[a-z_.]+\]", line))
        above = [header.removeprefix("# ")] if header.startswith("# ") else []
        if "before" in header and not match[1].startswith("radius"):
            above.append('radius = "7.5 in"')
        whole_example(tmp_path, "\n".join([*lines[:number], *above, match[1], *lines[number + 1 :]]))
        tried += 1
    assert tried == 32
    fret_cents = "fret_cents = [204, 386, 498, 702, 884, 1088, 1200]\nrepeat_at = 1200"
    whole_example(tmp_path, "\n".join(lines).replace("fret_count = 21", f"fret_count = 21\n{fret_cents}"))


def test_the_reports_manner(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    text = (WHOLE / "whole.toml").read_text(encoding="utf-8").replace("bass = 3.4, treble", "bass = 60, treble")
    with pytest.raises(SpecError):
        whole_example(tmp_path, text)
    monkeypatch.chdir(tmp_path)
    assert report("whole.toml") == (
        "whole.toml:76  nut.edge_margin.bass = 60\n"
        "    leaves no room for the strings: the board is 43.20 mm (1.701 in) wide at the nut; the two "
        "margins must total less than 39.4 mm (1.55 in)\n"
        "1 problem; nothing was written."
    )
