"""The spec to fill in, which is also the measuring sheet: each value with the tool that measures it.

``templates/new-spec.toml`` is the sheet in mm, of an electric guitar; ``templates/kinds.toml`` says what other kinds
show instead. Which of its numbers are lengths the models tell, so that a sheet comes out in either unit: what is to be
filled in is bare, in the unit named at the top; what stands behind a # carries its unit, and means the same in any
file.
"""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Iterator, Mapping
from decimal import Decimal
from functools import cache
from importlib.resources import files
from typing import Any

from templategen import units
from templategen.errors import Key, Problem, SpecError
from templategen.spec.lines import places
from templategen.spec.values import LENGTH_TEXT, THIN

JsonTable = Mapping[str, Any]
Sides = tuple[float, float, float, float]
"""mm: from and to on the bass side, from and to on the treble side."""

SHOP_LINE = '# also: shop = "shop.toml" '
_HEAD = re.compile(r"(?:# also: |#)?\[\[?([a-z_.]+)\]\]?(?:\s|$)")
_LINE = re.compile(r"(?P<mark># or: |# also: |#|)(?P<rest>(?P<key>[a-z_0-9]+) = .*)")
_EITHER = re.compile(r"\{([^{}|]*)\|([^{}|]*)\}")  # words of the sheet that differ: in mm, in inches
_COMMENT_AT = 32
"""Column of a line's comment, where the value leaves room."""


def new_spec(
    title: str,
    shop: str | None = None,
    unit: units.Unit = "mm",
    kind: str = "electric",
    strings: int | None = None,
    usual: Mapping[Key, Sides] | None = None,
) -> str:
    """A whole spec as text, annotated; it loads as it is (with ``shop``, once that file is there).

    title: what the instrument is called; anything that does not print is left out. shop: path of the shop file from
    where the spec will lie, or None to leave that key commented. unit: of bare lengths. kind, strings: what the
    examples are of; SpecError where there are none. usual: what is common practice, said beside a key.
    """
    from templategen.spec.schema import schema

    of_kind, of_set = _examples(kind, strings)
    values = _laid_over(of_kind.get("values", {}), of_set.get("values", {}))
    rows = of_set["rows"]
    values = _laid_over(values, {"kind": kind, "headstock": {"posts": _posts(len(rows))}})
    text = _sheet(_text("new-spec.toml"), schema(), unit, values, usual or {})
    text = re.sub(r"^set = \[(.*?)^\]$", lambda m: _strings(rows, m[1]), text, count=1, flags=re.MULTILINE | re.DOTALL)
    if "courses" in of_set:
        of = of_set["courses"]
        courses = [list(range(first, first + of)) for first in range(1, len(rows) + 1, of)]
        text = re.sub(r"^# also: courses = \[\[.*?\]\]", f"courses = {courses}", text, count=1, flags=re.MULTILINE)
    if shop is not None:
        text = text.replace(SHOP_LINE, f"shop = {json.dumps(shop, ensure_ascii=False)} ")
    return _titled(text, title)


def new_shop(title: str = "The shop", unit: units.Unit = "mm") -> str:
    """A shop file as text, annotated; it loads as it is. unit: of bare lengths."""
    from templategen.spec.schema import shop_schema

    return _titled(_sheet(_text("new-shop.toml"), shop_schema(), unit, {}, {}), title)


def kinds() -> dict[str, list[int]]:
    """The kinds that a sheet can be of, with how many strings each; what it has if nothing is said comes first."""
    return {
        kind: sorted((int(n) for n in found["sets"]), key=lambda n: (n != found["strings"], n))
        for kind, found in _kinds().items()
    }


@cache
def _kinds() -> dict[str, Any]:
    return tomllib.loads(_text("kinds.toml"), parse_float=Decimal)


def new_survey(title: str, frets: int, strings: int) -> str:
    """A survey as text, annotated, in mm, with a line for every fret; it loads as it is."""
    text = _titled(_text("new-survey.toml"), title).replace("{frets}", str(frets))
    places = "\n".join(f'# "{n}" = ' for n in range(1, frets + 1))
    chosen = "\n".join(['#  { gauge = "0.010 in", note = "E4" },'] * strings)
    text = text.replace("{strings}", ", ".join(['"-"'] * strings))
    return text.replace("{places}", places).replace("{set}", chosen)


def _text(name: str) -> str:
    return files("templategen.spec").joinpath("templates", name).read_text(encoding="utf-8")


def _titled(text: str, title: str) -> str:
    shown = "".join(c for c in title if c.isprintable()).strip() or "untitled"
    return text.replace('"{title}"', json.dumps(shown, ensure_ascii=False)).replace("{title}", shown)


def _examples(kind: str, strings: int | None) -> tuple[dict[str, Any], dict[str, Any]]:
    """What is said of a kind, and of its set of so many strings."""
    there = kinds()
    if kind not in there:
        message = f"there is no sheet of this kind; there are: {', '.join(there)}"
        raise SpecError([Problem((), message, given=kind, file="--kind")])
    of_kind = _kinds()[kind]
    if strings is not None and strings not in there[kind]:
        have = ", ".join(map(str, there[kind]))
        message = f"there are sheets of kind {kind} for so many strings: {have}; take the nearest, and edit its set"
        raise SpecError([Problem((), message, given=str(strings), file="--strings")])
    return of_kind, of_kind["sets"][str(strings or of_kind["strings"])]


def _laid_over(below: JsonTable, above: JsonTable) -> dict[str, Any]:
    return {**below, **{k: {**below.get(k, {}), **v} if isinstance(v, dict) else v for k, v in above.items()}}


def _posts(strings: int) -> list[list[Decimal]]:
    """Where so many strings may meet their posts, half of them on each side, the inner strings farther on; mm."""
    half = -(-strings // 2)
    places = [[Decimal(-45 - 30 * n), Decimal(22 - 2 * n), Decimal(-6 - 3 * n)] for n in range(half)]
    return places + [[x, -y, z] for x, y, z in reversed(places[: strings - half])]


def _strings(rows: list[list[str]], comment: str) -> str:
    """The set as it stands in the file; a wound string's core is left out where the row has an empty one."""
    lines = [f"set = [{comment.splitlines()[0]}"]
    for gauge, note, *core in rows:
        wound = ", wound = true" + (f', core_diameter = "{core[0]}"' if core[0] else "") if core else ""
        lines.append(f'  {{ gauge = "{gauge}", note = "{note}"{wound} }},')
    return "\n".join([*lines, "]"])


# ------------------------------------------------------------------------------------------------- lines of the sheet


def _sheet(text: str, root: JsonTable, unit: units.Unit, values: JsonTable, usual: Mapping[Key, Sides]) -> str:
    text = _EITHER.sub(lambda m: m[1] if unit == "mm" else m[2], text)
    return "".join(f"{line}\n" for line in _lines(text, root, unit, {**values, "units": unit}, usual))


def _lines(
    text: str, root: JsonTable, unit: units.Unit, values: JsonTable, usual: Mapping[Key, Sides]
) -> Iterator[str]:
    table: Key = ()
    for line in text.splitlines():
        head, found = _HEAD.match(line), _LINE.fullmatch(line)
        if head is not None:
            table = tuple(head[1].split("."))
        if found is None or head is not None or (*table, found["key"]) == ("strings", "set"):
            yield line
            continue
        key: Key = (*table, found["key"])
        place = places(found["rest"])[(found["key"],)]
        assert place.text is not None
        value = tomllib.loads(found["rest"], parse_float=Decimal)[found["key"]]
        given, mark = _at(values, key), found["mark"]
        if mark == "# or: ":
            if given is not None and _alike(given, value):
                value = given
            elif isinstance(value, dict) and "strings" in value:
                value = {**value, "strings": _between(given or value, len(values["headstock"]["posts"]))}
        elif given is not None:
            value, mark = given, ""
        shown = _shown(value, _alternatives(root, root, key), root, unit, bare=mark == "")
        comment = found["rest"].partition(place.text)[2].strip()
        if key in usual and mark == "":
            comment = f"{comment or '#'}; usual {_usual(usual[key], unit)}"
        begun = f"{mark}{found['key']} = {shown}"
        yield f"{begun.ljust(_COMMENT_AT - 2)}  {comment}" if comment else begun


def _usual(of: Sides, unit: units.Unit) -> str:
    bass, treble = (
        " to ".join(_number(Decimal(str(end)), unit) for end in ends) + f" {unit}" for ends in (of[:2], of[2:])
    )
    return bass if bass == treble else f"{bass} bass, {treble} treble"


def _between(sides: JsonTable, strings: int) -> list[Decimal]:
    """From the treble side to the bass side, to 0.05 mm; the example itself where it names no sides."""
    if not {"bass", "treble"} <= sides.keys():
        return list(sides["strings"])
    treble, bass = float(sides["treble"]), float(sides["bass"])
    steps = (treble + (bass - treble) * n / (strings - 1) for n in range(strings))
    return [Decimal(f"{round(step * 20) / 20:.2f}") for step in steps]


def _alike(one: Any, other: Any) -> bool:
    """Of one kind, and of one way of saying it."""
    return type(one) is type(other) and (not isinstance(one, dict) or one.keys() == other.keys())


def _at(values: Any, key: Key) -> Any:
    for step in key:
        values = values.get(step) if isinstance(values, dict) else None
    return values


def _alternatives(root: JsonTable, node: JsonTable, key: Key) -> list[JsonTable]:
    """What the schema allows at a key path: every alternative, references followed."""
    found = list(_resolved(root, node))
    for step in key:
        inner = (each.get("properties", {}).get(step) for each in found)
        inner_of_list = (each["items"]["$ref"] for each in found if "items" in each and "$ref" in each["items"])
        of_rows = (_definition(root, ref).get("properties", {}).get(step) for ref in inner_of_list)
        found = [each for one in (*inner, *of_rows) if one is not None for each in _resolved(root, one)]
    return found


def _resolved(root: JsonTable, node: JsonTable) -> Iterator[JsonTable]:
    if "$ref" in node:
        yield from _resolved(root, _definition(root, node["$ref"]))
    for each in node.get("anyOf", ()):
        yield from _resolved(root, each)
    yield node


def _definition(root: JsonTable, ref: str) -> JsonTable:
    definition: JsonTable = root["$defs"][ref.rpartition("/")[2]]
    return definition


def _shown(value: Any, allowed: list[JsonTable], root: JsonTable, unit: units.Unit, bare: bool) -> str:
    """A value as it stands in the sheet. bare: in the file's unit; else a length carries its own."""
    if isinstance(value, dict):
        inner = {k: [e for a in allowed for e in _alternatives(root, a, (k,))] for k in value}
        return "{ " + ", ".join(f"{k} = {_shown(v, inner[k], root, unit, bare)}" for k, v in value.items()) + " }"
    if isinstance(value, list):
        items = [_items(root, allowed, place) for place in range(len(value))]
        return "[" + ", ".join(_shown(v, at, root, unit, bare) for v, at in zip(value, items, strict=True)) + "]"
    is_length = any(each.get("pattern") == LENGTH_TEXT for each in allowed)
    if is_length and isinstance(value, str) and (mm := _thick(value)) is not None and unit == "mm":
        value = mm
    if is_length and not isinstance(value, str | bool) and value:
        number = _number(Decimal(value), unit)
        return number if bare else f'"{number} {unit}"'
    return json.dumps(value, ensure_ascii=False) if isinstance(value, str | bool) else str(value)


def _items(root: JsonTable, allowed: list[JsonTable], place: int) -> list[JsonTable]:
    """What the schema allows at a place of a list."""
    of_tuples = [a["prefixItems"][place] for a in allowed if place < len(a.get("prefixItems", ()))]
    of_lists = [a["items"] for a in allowed if isinstance(a.get("items"), dict)]
    return [each for node in (*of_tuples, *of_lists) for each in _resolved(root, node)]


def _thick(text: str) -> Decimal | None:
    """mm, to the tenth, of a length as text that nobody says in thousandths of an inch."""
    try:
        mm = units.parse_length(text, "mm")
    except ValueError:
        return None
    return Decimal(f"{mm:.1f}") if mm > THIN else None


def _number(mm: Decimal, unit: units.Unit) -> str:
    if unit == "mm":
        return str(mm)
    thin = abs(mm) < Decimal(THIN)
    return units.inch_text(float(mm), 4 if thin else 3).rstrip("0").rstrip(".")
