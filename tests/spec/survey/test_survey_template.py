"""The survey to fill in: it names every key that can be read, and every line of it can be taken as it stands."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any, get_args

import pytest
from pydantic import BaseModel

from templategen.errors import SpecError
from templategen.spec import template
from templategen.spec.models import StringSpec
from templategen.spec.survey.load import load_survey
from templategen.spec.survey.models import Survey

BLANK = template.new_survey("Loan fleet 60", 21, 6)


def tables(kind: Any) -> Iterator[type[BaseModel]]:
    """Every table that a type may hold."""
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        yield kind
    for inner in (*get_args(kind), getattr(kind, "item", None)):
        if inner is not None:
            yield from tables(inner)


def keys(table: type[BaseModel]) -> Iterator[str]:
    for name, field in table.model_fields.items():
        yield field.alias or name
        for inner in (
            *tables(field.annotation),
            *(t for m in field.metadata for t in tables(getattr(m, "item", None))),
        ):
            if inner is not StringSpec:
                yield from keys(inner)


def test_every_key_is_named() -> None:
    named = set(re.findall(r"\w+", BLANK))
    assert set(keys(Survey)) >= {"class", "at_y", "free", "low", "chord", "capo", "top_under_plane", "heights"}
    assert set(keys(Survey)) - named == set()


def test_nothing_is_read_yet() -> None:
    """A blank sheet invents no reading: it says so instead."""
    with pytest.raises(SpecError) as caught:
        load_survey("blank.toml", BLANK.encode())
    (problem,) = caught.value.problems
    assert problem.message.startswith("has no readings; write in what you read")


ALTERNATIVES = ("rocker", "bass", "treble", "nut_slant", "at_y", "fret_cents", "repeat_at")
"""Given instead of others."""


def lines() -> list[str]:
    return [line for line in BLANK.splitlines() if re.match(r"#\w+ = ", line)]


def without_marks(taken: list[str]) -> str:
    text = BLANK
    for line in taken:
        text = text.replace(line, line[1:], 1)
    if any(line.startswith("#set") for line in taken):
        text = text.replace("#  {", "  {").replace("#]", "]")
    return text


def test_every_line_loads_once_its_mark_is_gone() -> None:
    plain = [line for line in lines() if not line[1:].startswith(ALTERNATIVES)]
    assert len(plain) > 30
    read = load_survey("filled.toml", without_marks(plain).encode()).survey
    assert read.board is not None
    assert read.board.model_fields_set == set(type(read.board).model_fields)
    assert read.strings is not None
    assert read.strings.model_fields_set == set(type(read.strings).model_fields)
    for line in plain:
        if not line.startswith("#repeat"):
            try:
                load_survey("one.toml", without_marks([line, '#gap = { "7" = 0.30']).encode())
            except SpecError as error:
                pytest.fail(f"{line}: {error}")


@pytest.mark.parametrize("name", ALTERNATIVES[:5])
def test_alternatives_load_by_themselves(name: str) -> None:
    taken = [line for line in lines() if line[1:].startswith(name)]
    if name != "rocker":
        taken = [line for line in lines() if line[1:].startswith(ALTERNATIVES[1:5])]
    text = without_marks(taken).replace("[frets.centre]", "")
    read = load_survey("other.toml", text.encode()).survey
    if name == "rocker":
        assert read.crowns is not None
        assert read.crowns.rocker is not None
    else:
        assert read.frets is not None
        assert getattr(read.frets, name) is not None


def test_a_line_for_every_fret_and_string() -> None:
    text = template.new_survey("x", 24, 4)
    assert re.findall(r'^# "(\d+)" = $', text, re.M) == [str(n) for n in range(1, 25)]
    assert 'first_fret = ["-", "-", "-", "-"]' in text
