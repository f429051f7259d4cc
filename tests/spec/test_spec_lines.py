"""Key to line: what is found is compared with what the TOML parser reads from the same text."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from templategen.errors import Key
from templategen.spec.lines import WhereWritten, places

HARD = '''\
# comment with "quotes" and = and [brackets]
title = "a # in text" # and a comment
'quoted key' = 'a \\ backslash'
"with \\"escape\\" and \\u00e9" = 1
site."a.b".c = true
a.b = 1 # dotted
a . c = [ 1, [2, 3], # a comment ] in a list
  { x = 1, y.z = [ "]", '}' ] }, """multi
line ] with "quotes" and \\""" and # no comment""",
]
text = """
first line is dropped
  "quoted" to the end"""""
literal = \'\'\'
it's \\ raw '' here\'\'\'\'
when = 1979-05-27 07:32:00 # a space inside
far = -1_000.5e-3
empty = []
none = {   }

[table] # header comment
k = 1
[ "spaced" . 'header' ]
k = 2
[[many]]
k = 3
[many.inner]
k = 4
[[many]]
k = 5
[[many.more]]
k = 6
[[many.more]]
k = 7
[deep.down.here]
k = 8
[deep]
k = 9'''


def value_at(parsed: Any, key: Key) -> Any:
    for step in key:
        parsed = parsed[step]
    return parsed


def check_against_parser(text: str) -> dict[Key, WhereWritten]:
    """Every value the parser reads is found, at a line of its own text, and its text reads as the same value."""
    parsed = tomllib.loads(text)
    found = places(text)
    for key, place in found.items():
        value = value_at(parsed, key)
        if place.text is not None:
            line = text.split("\n")[place.line - 1]
            assert place.text.split("\n")[0].rstrip("\r") in line
            assert tomllib.loads(f"k = {place.text}")["k"] == value
    assert set(_paths(parsed)) == found.keys()
    return found


def _paths(value: Any, key: Key = ()) -> list[Key]:
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [key, *(path for step, each in items for path in _paths(each, (*key, step)))]


def test_hard_text() -> None:
    found = check_against_parser(HARD)
    assert found[("title",)] == WhereWritten(2, '"a # in text"', "and a comment")
    assert {key: place.comment for key, place in found.items() if place.comment} == {
        ("title",): "and a comment",
        ("a", "b"): "dotted",
        ("a", "c", 1): "a comment ] in a list",
        ("when",): "a space inside",
        ("table",): "header comment",
    }
    assert found[('with "escape" and é',)] == WhereWritten(4, "1")
    assert found[("site", "a.b", "c")] == WhereWritten(5, "true")
    assert found[("a", "c")].line == 7
    assert found[("a", "c", 2, "y", "z", 1)] == WhereWritten(8, "'}'")
    assert found[("when",)].text == "1979-05-27 07:32:00"
    assert found[("table",)].line == 21
    assert found[("many",)].line == 25
    assert found[("many", 1, "k")] == WhereWritten(30, "5")
    assert found[("many", 0, "inner", "k")] == WhereWritten(28, "4")
    assert found[("many", 1, "more", 1)] == WhereWritten(33)
    assert found[("deep",)] == WhereWritten(37)  # by its own header, not by the one below which it was first mentioned


@pytest.mark.parametrize("newline", ["\n", "\r\n"])
def test_line_endings(newline: str) -> None:
    text = newline.join(["a = 1", "[t]", 'b = """', "x", '"""', "c = [", "  1,", "]", "d = 2"])
    found = places(text)
    assert {key: place.line for key, place in found.items()} == {
        (): 1, ("a",): 1, ("t",): 2, ("t", "b"): 3, ("t", "c"): 6, ("t", "c", 0): 7, ("t", "d"): 9,
    }  # fmt: skip


def test_empty_text() -> None:
    assert places("") == places("# only a comment") == {(): WhereWritten(1)}


# Generated documents: values and keys of every form, laid out in the ways TOML allows.
_TEXT = st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"]), max_size=8)
_KEY_PART = st.one_of(st.from_regex(r"[A-Za-z0-9_-]{1,4}", fullmatch=True), _TEXT.map(lambda t: _basic(t)))


def _basic(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def _multi(text: str) -> str:
    return '"""\n' + text.replace("\\", "\\\\").replace('"""', '\\"\\"\\"') + '\n"""'


_LITERAL = _TEXT.filter(lambda t: "'" not in t)
_SCALAR = st.one_of(
    st.integers(-(10**9), 10**9).map(str),
    st.floats(allow_nan=False, allow_infinity=False).map(repr),
    st.sampled_from(["true", "false", "inf", "1979-05-27", "07:32:00", "1979-05-27T07:32:00Z", "0xff", "1_000"]),
    _TEXT.map(_basic),
    _LITERAL.map(lambda t: f"'{t}'"),
    _TEXT.map(_multi),
    _LITERAL.map(lambda t: f"'''\n{t}\n'''"),
)
_GAP = st.sampled_from(["", " ", "\n", '\n  # note ] } "\n'])


def _array(items: list[str], gap: str, trailing: bool) -> str:
    return f"[{gap}" + f",{gap}".join(items) + ("," if trailing and items else "") + f"{gap}]"


def _inline(items: dict[str, str]) -> str:
    return "{ " + ", ".join(f"{key} = {value}" for key, value in items.items()) + " }"


_SIMPLE_KEYS = st.from_regex(r"[a-z]{1,3}", fullmatch=True)
_VALUE = st.recursive(
    _SCALAR,
    lambda inner: st.one_of(
        st.builds(_array, st.lists(inner, max_size=3), _GAP, st.booleans()),
        st.dictionaries(_SIMPLE_KEYS, inner, max_size=3).map(_inline),
    ),
    max_leaves=6,
)
_PAIR = st.builds("{} = {}{}".format, st.lists(_KEY_PART, min_size=1, max_size=2).map(" . ".join), _VALUE, _GAP)
_HEADER = st.one_of(
    st.lists(_KEY_PART, min_size=1, max_size=3).map(lambda parts: f"[{'.'.join(parts)}]"),
    st.lists(_KEY_PART, min_size=1, max_size=2).map(lambda parts: f"[[ {' . '.join(parts)} ]] # note"),
)


@settings(max_examples=300, deadline=None)
@given(st.lists(st.one_of(_PAIR, _HEADER), max_size=8).map("\n".join))
def test_generated_text(text: str) -> None:
    try:
        tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return  # a key twice, say; the pass runs only on text that the parser has accepted
    check_against_parser(text)
