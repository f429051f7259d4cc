"""The schema for editors, judged by a general-purpose validator (jsonschema, draft 2020-12)."""

from __future__ import annotations

import copy
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from places import SPECS

from templategen import units
from templategen.spec.models import Spec
from templategen.spec.schema import schema, shop_schema
from templategen.spec.table import Table, table_in
from templategen.spec.template import new_shop, new_spec
from templategen.spec.values import LENGTH_TEXT

jsonschema = pytest.importorskip("jsonschema")
FLEET = sorted(SPECS.glob("fleet-*.toml"))
FOR_SPEC = jsonschema.Draft202012Validator(schema())
FOR_SHOP = jsonschema.Draft202012Validator(shop_schema())
GOOD = tomllib.loads((SPECS / "fleet-07.toml").read_text(encoding="utf-8"))


def wrong(validator: Any, value: Any) -> list[str]:
    return [f"{list(error.path)}: {error.message}" for error in validator.iter_errors(value)]


def test_they_are_schemas() -> None:
    for validator in (FOR_SPEC, FOR_SHOP):
        jsonschema.Draft202012Validator.check_schema(validator.schema)
        assert validator.schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
        assert validator.schema["additionalProperties"] is False


@pytest.mark.parametrize("path", FLEET, ids=lambda path: path.stem)
def test_the_fleet_is_fine(path: Path) -> None:
    assert wrong(FOR_SPEC, tomllib.loads(path.read_text(encoding="utf-8"))) == []


def test_the_shop_and_the_templates_are_fine() -> None:
    assert wrong(FOR_SHOP, tomllib.loads((SPECS / "shop.toml").read_text(encoding="utf-8"))) == []
    assert wrong(FOR_SPEC, tomllib.loads(new_spec("x"))) == []
    assert wrong(FOR_SHOP, tomllib.loads(new_shop())) == []


def put(value: Any, *key: str | int) -> Callable[[Any], None]:
    def change(spec: Any) -> None:
        for step in key[:-1]:
            spec = spec.setdefault(step, {}) if isinstance(spec, dict) else spec[step]
        spec[key[-1]] = value

    return change


def drop(*key: str) -> Callable[[Any], None]:
    def change(spec: Any) -> None:
        for step in key[:-1]:
            spec = spec[step]
        del spec[key[-1]]

    return change


BAD = [
    *(drop(table) for table in ("title", "scale", "fingerboard", "strings", "bridge", "nut", "setup")),
    drop("scale", "fret_count"), drop("nut", "thickness"), drop("setup", "action"), drop("setup", "action", "fret"),
    put(1, "frobnicate"), put(1, "nut", "frobnicate"), put({}, "nutt"), put("inch", "units"), put(3, "title"),
    put("25.5 inch", "scale", "length"), put("25.5", "scale", "length"), put([25], "scale", "length"),
    put(True, "nut", "thickness"), put(21.5, "scale", "fret_count"), put(0, "scale", "fret_count"),
    put("flatt", "fingerboard", "radius"), put({"fret": 12}, "fingerboard", "width_at"),
    put("H4", "strings", "set", 0, "note"), put(-1, "strings", "set", 0, "note"),
    put(1, "strings", "set", 0, "wound"), put("wood", "strings", "material"), put([["a"]], "strings", "courses"),
    put({"bass": 1}, "nut", "edge_margin"), put({"bass": 1, "treble": 1, "mid": 1}, "nut", "edge_margin"),
    put([], "setup", "first_fret_clearance"), put([1, "x"], "setup", "first_fret_clearance"),
    put(1.5, "nut", "spacing"), put("equal", "nut", "spacing"), put("best-fit", "nut", "compensation"),
    put("much", "setup", "relief"), put({"from": 1}, "setup", "relief"), put(2, "setup", "action", "capo"),
    put([[1, 2]], "headstock", "posts"), put("end", "radius_block", "at"), put(3, "fret_wire", "markers"),
]  # fmt: skip


@pytest.mark.parametrize("change", BAD)
def test_a_changed_spec_is_not(change: Callable[[Any], None]) -> None:
    spec = copy.deepcopy(GOOD)
    change(spec)
    assert len(wrong(FOR_SPEC, spec)) == 1


GOOD_CHANGES = [
    put("1-11/16 in", "fingerboard", "width_at_nut"), put(True, "scale", "zero_fret"), put(7, "radius_block", "at"),
    put({"crown_height": "48 thou"}, "scale", "zero_fret"), put("last", "radius_block", "at"),
    put({"depth": 0.2, "from": 1, "to": 14}, "setup", "relief"), put("Bb3", "strings", "set", 0, "note"),
    put(440, "strings", "set", 0, "note"), put("board", "nut", "seat_radius"),
    put([0.1, "2 thou"], "nut", "compensation"),
]  # fmt: skip


@pytest.mark.parametrize("change", GOOD_CHANGES)
def test_other_ways_of_writing_are_fine(change: Callable[[Any], None]) -> None:
    spec = copy.deepcopy(GOOD)
    change(spec)
    assert wrong(FOR_SPEC, spec) == []


def test_every_key_is_described() -> None:
    def walk(table: type[Table]) -> None:
        for key, info in table.entries().items():
            assert info.description, (table, key)
            inner = table_in(info.annotation)
            if inner is not None:
                walk(inner)

    walk(Spec)
    properties = schema()["$defs"]["Nut"]["properties"]
    assert properties["top_allowance"]["default"] == "0.8 mm"  # with its unit, whatever the file's is
    assert properties["thickness"]["description"] == "square to the front edge: what calipers show"


@given(st.from_regex(LENGTH_TEXT.replace(r"\s", " ").replace(r"\d", "[0-9]"), fullmatch=True))
def test_the_pattern_allows_what_the_reader_reads(text: str) -> None:
    if len(text) > 40 or ("/" in text and not any(digit in text.split("/")[1] for digit in "123456789")):
        return  # nothing under the line: a pattern cannot tell
    units.parse_length(text, "in")
