"""The measuring sheet: it loads, knows every key, and its commented defaults are the defaults."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

from templategen.errors import SpecError
from templategen.spec.load import Loaded, load
from templategen.spec.models import (
    FretWire,
    Intonation,
    NotchedStrip,
    PressCaul,
    RadiusBlock,
    RadiusGauge,
    Shop,
    Spec,
    StringSpec,
)
from templategen.spec.table import Table, table_in
from templategen.spec.template import kinds, new_shop, new_spec
from templategen.spec.values import OverStrings
from templategen.units import Unit

UNITS: tuple[Unit, ...] = ("mm", "in")

DEFAULT = re.compile(r"^#(?=[a-z0-9_]+ = |\[)", re.MULTILINE)
OPTIONAL = re.compile(r"^# (or|also): (?=(?P<key>[a-z_0-9]+) = |\[)", re.MULTILINE)
IN_BRACES = re.compile(r"^#   (?P<key>[a-z_]+) = ", re.MULTILINE)


def loaded(tmp_path: Path, text: str) -> Loaded:
    path = tmp_path / "new.toml"
    path.write_text(text, encoding="utf-8")
    return load(path)


def test_it_loads_as_it_is(tmp_path: Path) -> None:
    found = loaded(tmp_path, new_spec("Loan fleet 60: whatever it needs"))
    assert found.spec.title == "Loan fleet 60: whatever it needs"
    assert found.idle == ()


@pytest.mark.parametrize("title", ['a "quoted" \\ title', "tab\tand\nlines", "\x7f", "", "é ½"])
def test_any_title_is_fine(tmp_path: Path, title: str) -> None:
    assert loaded(tmp_path, new_spec(title)).spec.title.strip()


def test_uncommented_defaults_are_the_defaults(tmp_path: Path) -> None:
    before = loaded(tmp_path, new_spec("x")).spec
    text, count = DEFAULT.subn("", new_spec("x"))
    assert count > 45
    after = loaded(tmp_path, text).spec
    tools = {
        "radius_block": RadiusBlock(),
        "radius_gauge": RadiusGauge(),
        "press_caul": PressCaul(),
        "notched_strip": NotchedStrip(),
    }
    assert after == before.model_copy(update=tools)
    assert (after.fret_wire.model_copy(update={"markers": (), "doubled_markers": ()}), after.intonation) == (
        FretWire(),
        Intonation(),
    )
    assert after.nut.model_fields_set > before.nut.model_fields_set


SHEETS = [(kind, n, unit) for kind, counts in kinds().items() for n in counts for unit in UNITS]


@pytest.mark.parametrize(("kind", "strings", "unit"), SHEETS)
def test_every_sheet_loads_and_has_nothing_idle(tmp_path: Path, kind: str, strings: int, unit: Unit) -> None:
    found = loaded(tmp_path, new_spec("x", None, unit, kind, strings))
    assert (found.spec.kind, len(found.spec.strings.set), found.spec.units) == (kind, strings, unit)
    assert found.idle == ()


@pytest.mark.parametrize("kind", kinds())
def test_a_sheet_is_of_one_instrument_in_either_unit(tmp_path: Path, kind: str) -> None:
    """To half a thousandth of an inch, with every default taken in."""
    mm, inch = (
        loaded(tmp_path, DEFAULT.sub("", new_spec("x", None, unit, kind))).spec.model_copy(update={"units": "mm"})
        for unit in UNITS
    )
    assert list(differences(mm, inch, 0.0128)) == []


def differences(one: object, two: object, most: float, path: str = "") -> Iterator[str]:
    if isinstance(one, dict) and isinstance(two, dict):
        for key in {**one, **two}:
            yield from differences(one.get(key), two.get(key), most, f"{path}.{key}")
    elif isinstance(one, tuple) and isinstance(two, tuple) and len(one) == len(two):
        for place, (a, b) in enumerate(zip(one, two, strict=True)):
            yield from differences(a, b, most, f"{path}[{place}]")
    elif isinstance(one, Table | OverStrings) and type(one) is type(two):
        yield from differences(vars(one), vars(two), most, path)
    elif isinstance(one, float) and isinstance(two, float):
        if abs(one - two) > (0.06 if one > 10 else most):
            yield f"{path}: {one} {two}"
    elif one != two:
        yield f"{path}: {one} {two}"


@pytest.mark.parametrize("unit", UNITS)
def test_a_default_means_the_same_whatever_the_top_says(unit: Unit) -> None:
    """The 0.03 mm of a pin clearance stay 0.03 mm in a file of inches, and so does every length behind a #."""
    lines = DEFAULT.sub("", new_spec("x", None, unit).split("#[radius_block]")[1]).splitlines()
    text = "\n".join(["[radius_block]", *(line for line in lines if not line.startswith("# "))])
    models = {"radius_block": RadiusBlock, "press_caul": PressCaul, "notched_strip": NotchedStrip}
    parsed = tomllib.loads(text)
    for name, model in models.items():
        for other in UNITS:
            read = model.model_validate(parsed[name], context={"unit": other})
            assert list(differences(read, model(), 0.00128)) == []
    assert parsed["notched_strip"]["pin_clearance"] == {"mm": "0.03 mm", "in": "0.0012 in"}[unit]


@pytest.mark.parametrize("kind", kinds())
def test_posts_and_heights_fit_the_strings(tmp_path: Path, kind: str) -> None:
    text = re.sub(r"^(break_angle|action) = .*$", "", new_spec("x", None, "in", kind), flags=re.MULTILINE)
    found = loaded(tmp_path, text.replace("# or: posts", "posts").replace("# or: action", "action")).spec
    assert found.setup.action.strings is not None
    assert len(found.setup.action.strings) == len(found.strings.set)
    assert found.headstock is not None
    assert found.headstock.posts is not None
    assert len(found.headstock.posts) == len(found.strings.set)


def test_no_sheet_of_such_a_kind() -> None:
    with pytest.raises(SpecError, match="there are: electric, steel_acoustic, classical, bass, ukulele, mandolin"):
        new_spec("x", kind="banjo")
    with pytest.raises(SpecError, match="there are sheets of kind bass for so many strings: 4, 5, 6; take the nearest"):
        new_spec("x", kind="bass", strings=9)


def test_uncommented_shop_defaults_are_the_defaults() -> None:
    text, count = DEFAULT.subn("", new_shop())
    assert count == 5
    assert Shop.model_validate(tomllib.loads(text)) == Shop()
    whole = tomllib.loads(OPTIONAL.sub("", text))
    whole |= {key: tuple(whole[key]) for key in ("nut_file_widths", "saw_kerfs", "end_mills", "wire")}
    whole["mill"]["tools"] = tuple(whole["mill"]["tools"])
    assert Shop.model_validate(whole).model_fields_set == Shop.model_fields.keys()


def keys_below(table: type[Table], path: str = "") -> set[str]:
    found = set()
    for key, info in table.entries().items():
        inner = table_in(info.annotation)
        found |= {f"{path}{key}"} | (keys_below(inner, f"{path}{key}.") if inner else set())
    return found


def test_every_key_is_there() -> None:
    """Every alternative is written out, so the keys are read by the TOML parser, from each way in turn."""
    text = DEFAULT.sub("", new_spec("x"))
    shown = _paths(tomllib.loads(text))
    table = ""
    for line in text.splitlines():
        header = re.match(r"(?:# also: )?\[([a-z_.]+)\]", line)
        if header:
            table = f"{header[1]}."
            shown.add(header[1])
        elif OPTIONAL.match(line):
            shown |= {table + path for path in _paths(tomllib.loads(OPTIONAL.sub("", line)))}
    in_braces = set(IN_BRACES.findall(text[text.index("[strings]") :])) | {"wrap"}
    assert in_braces == StringSpec.model_fields.keys() - {"gauge", "note"}
    assert keys_below(Spec) - shown == {f"strings.set.{key}" for key in in_braces - {"wound", "core_diameter"}}


def _paths(table: dict[str, object], path: str = "") -> set[str]:
    found = set()
    for key, value in table.items():
        found.add(f"{path}{key}")
        for inner in value if isinstance(value, list) else [value]:
            if isinstance(inner, dict):
                found |= _paths(inner, f"{path}{key}.")
    return found


def test_each_optional_line_can_be_taken_in(tmp_path: Path) -> None:
    """Each line that may be added to an open table, alone."""
    lines = new_spec("x").splitlines()
    tried = set()
    for number, line in enumerate(lines):
        match = re.match(r"# also: ([a-z_]+) = ", line)
        if match and _table_of(lines, number).startswith("[") and match[1] not in ("shop", "square_fret"):
            tried.add(match[1])
            text = "\n".join([*lines[:number], line.removeprefix("# also: "), *lines[number + 1 :]])
            loaded(tmp_path, text)
    assert tried == {
        "blind_slot_inset", "courses", "course_gap", "seat_radius", "slot_back_angle", "compensation_by",
        "behind_zero_fret", "below_zero_crown", "fall_away", "headroom", "least_crown", "behind", "top_height",
    }  # fmt: skip


def _table_of(lines: list[str], number: int) -> str:
    return next((line for line in reversed(lines[:number]) if re.match(r"(# also: |#)?\[[a-z_.]+\]", line)), "")


def test_the_saddle_can_be_opened(tmp_path: Path) -> None:
    """With every line of its table taken in but the one that stands for another."""
    lines = new_spec("x").splitlines()
    first = lines.index("# also: [saddle]")
    last = next(n for n in range(first, len(lines)) if not lines[n])
    opened = [line.removeprefix("# also: ") for line in lines[first:last]]
    head = [line.removeprefix("# also: ") if "top_height" in line else line for line in lines[:first]]
    made = loaded(tmp_path, "\n".join([*head, *opened, *lines[last:]]).replace("from_nut = ", "#")).spec
    assert made.saddle is not None
    assert (made.saddle.length, made.bridge.top_height) == (72.0, -1.5)


def test_the_board_before_can_be_opened(tmp_path: Path) -> None:
    text = new_spec("x")
    values = 'radius = "228.6 mm"', 'slot_depth = "1.8 mm"', 'thickness_at_edge = "4.6 mm"'
    for line in ("[fingerboard.before]", *values):
        text = text.replace(f"# also: {line}", line)
    before = loaded(tmp_path, text).spec.fingerboard.before
    assert before is not None
    assert (before.radius, before.slot_depth, before.thickness_at_edge) == (228.6, 1.8, 4.6)
