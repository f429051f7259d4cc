"""Single changes to a spec's text: what was not changed stays to the letter (tomllib reads every result back)."""

from __future__ import annotations

import difflib
import tomllib
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from places import FLEET

from templategen.page.desk import values
from templategen.page.document import NotAValue, change
from templategen.page.form import entry_at, places
from templategen.spec.models import Spec
from templategen.spec.template import new_spec

SPEC = (FLEET[0]).read_text(encoding="utf-8")


def lines_changed(before: str, after: str) -> list[str]:
    return [line for line in difflib.ndiff(before.splitlines(), after.splitlines()) if line[0] in "+-"]


@pytest.mark.parametrize(
    ("path", "typed", "line"),
    [
        (("fingerboard", "width_at_nut"), "43.90", "width_at_nut       = 43.90"),
        (("fingerboard", "radius"), "12 1/2 in", 'radius             = "12 1/2 in"'),
        (("setup", "action", "bass"), "2.1", "action = { fret = 12, bass = 2.1, treble = 1.6 }"),
        (("strings", "set", 2, "gauge"), "0.019 in", '  { gauge = "0.019 in", note = "G3" },'),
        (("nut", "edge_margin"), "3.3", "edge_margin    = 3.3"),
        (("nut", "slot_back_angle"), "9", "slot_back_angle = 9"),
    ],
)
def test_one_line_changes(path: tuple[Any, ...], typed: str, line: str) -> None:
    changed = lines_changed(SPEC, change(SPEC, path, typed))
    assert [each[2:] for each in changed if each[0] == "+"] == [line]
    assert len(changed) <= 2


def test_a_comment_on_the_line_stays() -> None:
    assert change("a = 1 # one\n[b] # two\nc = 'x' # three\n", ("b", "c"), "y") == (
        'a = 1 # one\n[b] # two\nc = "y" # three\n'
    )


def test_examples_behind_a_hash_are_opened_where_they_stand() -> None:
    sheet = new_spec("x", None)
    after = change(sheet, ("radius_block", "length"), "200")
    assert [each[2:] for each in lines_changed(sheet, after) if each[0] == "+"] == [
        "[radius_block]",
        "length = 200              # [R]",
    ]
    after = change(sheet, ("fingerboard", "before", "radius"), "9 in")
    assert tomllib.loads(after)["fingerboard"]["before"] == {"radius": "9 in"}


def test_rows_come_and_go() -> None:
    more = change(SPEC, ("strings", "set", 6), {"gauge": "0.056 in", "note": "B1", "wound": True})
    assert tomllib.loads(more)["strings"]["set"][6] == {"gauge": "0.056 in", "note": "B1", "wound": True}
    assert len(lines_changed(SPEC, more)) == 1
    less = change(more, ("strings", "set", 6), None)
    assert tomllib.loads(less) == tomllib.loads(SPEC)


def test_text_stays_text_and_numbers_stay_as_typed() -> None:
    assert tomllib.loads(change(SPEC, ("title",), "12"))["title"] == "12"
    assert 'title = "say \\"so\\""' in change(SPEC, ("title",), 'say "so"').replace("title  ", "title ")
    assert tomllib.loads(change(SPEC, ("fret_wire", "markers"), "3, 5"))["fret_wire"]["markers"] == [3, 5]
    assert tomllib.loads(change(SPEC, ("nut", "thickness"), "thick"))["nut"]["thickness"] == "thick"
    for slip in ("[1, 2", "{ a = "):
        with pytest.raises(NotAValue):
            change(SPEC, ("nut", "edge_margin"), slip)
    with pytest.raises(NotAValue, match="the file cannot be read"):
        change("a = = 1", ("a",), "1")


@settings(max_examples=80, deadline=None)
@given(st.data())
def test_every_given_value_can_be_typed_again_and_nothing_changes(data: st.DataObject) -> None:
    """What the fields show, typed back in, gives the same values: for every value of every spec of the fleet."""
    text = data.draw(st.sampled_from(FLEET)).read_text(encoding="utf-8")
    shown = values(text)
    assert shown is not None
    leaves = list(_leaves(shown))
    path, typed = data.draw(st.sampled_from(leaves))
    again = change(text, path, typed)
    assert _read(again) == _read(text)


def _leaves(value: Any, path: tuple[str | int, ...] = ()) -> Any:
    if isinstance(value, dict):
        for key, each in value.items():
            yield from _leaves(each, (*path, key))
    elif isinstance(value, list) and any(isinstance(each, dict) for each in value):
        for place, each in enumerate(value):
            yield from _leaves(each, (*path, place))
    elif isinstance(value, list):
        yield path, value
    else:
        yield path, value


def _read(text: str) -> dict[str, Any]:
    return tomllib.loads(text, parse_float=Decimal)


def test_the_form_has_every_key_of_the_models_and_no_other() -> None:
    shown = {(*table.path, entry.key) for place in places() for table in place.tables for entry in table.entries}
    top = {key for key, info in Spec.entries().items()}
    assert {path[0] for path in shown} == top
    assert len(shown) == sum(1 for place in places() for table in place.tables for entry in table.entries)
    for path in shown:
        entry = entry_at(path)
        assert entry is not None
        assert entry.sentence, f"{path} has no sentence"
    gauge = entry_at(("strings", "set", 3, "gauge"))
    assert gauge is not None
    assert gauge.kind == "length"
    assert entry_at(("nut", "nothing")) is None


def test_every_tool_is_one_of_the_measuring_sheets_legend() -> None:
    from templategen.page.form import tools

    told = tools()
    assert told[("fingerboard", "width_at_nut")].startswith("calipers")
    assert told[("setup", "relief")] == "straightedge, feeler gauges"
    assert told[("fingerboard", "before", "chord")].startswith("steel rule")
    assert {word for each in told.values() for word in each.split(", ")[:1]} <= {
        "steel rule", "calipers", "micrometer", "feeler gauges", "straightedge", "radius gauges", "protractor",
        "kitchen or letter scale", "looked at",
    }  # fmt: skip
    entry = entry_at(("fingerboard", "width_at_nut"))
    assert entry is not None
    assert entry.tool == told[("fingerboard", "width_at_nut")]
