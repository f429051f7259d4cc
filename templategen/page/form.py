"""What can be filled in, in the order of the bench: read from the spec models' JSON Schema, so that there is no second
list of keys, units, defaults or sentences.

Terms
-----
entry   one key of the spec: what kind of value it takes, its default, its sentence, the tool that measures it
place   a position at the bench: a heading and the tables whose entries stand under it
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import asdict, dataclass, field
from functools import cache
from typing import Any, Literal

from templategen.spec.schema import schema
from templategen.spec.table import toml
from templategen.spec.template import new_spec
from templategen.spec.values import LENGTH_TEXT

FieldKind = Literal["length", "number", "whole", "text", "word", "yes-no", "pitch", "over", "table", "rows", "list"]

PLACES: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("What it is", ("", "scale")),
    ("Board", ("fingerboard",)),
    ("Fret wire", ("fret_wire",)),
    ("Strings", ("strings", "bridge", "headstock")),
    ("Nut", ("nut",)),
    ("Setup", ("setup", "playing", "intonation", "levelling")),
    ("Tools to make", ()),
)
"""Headings and their tables; "" is the top of the file. What no heading names stands under the last one."""


@dataclass(frozen=True)
class FormEntry:
    """One key. words: what may be chosen. default, example: as one would write them; empty where there is none.

    parts: the entries of a table, or of one row. item: what each string's or each item's value is.
    """

    key: str
    kind: FieldKind
    sentence: str
    default: str = ""
    example: str = ""
    tool: str = ""
    required: bool = False
    words: tuple[str, ...] = ()
    parts: tuple[FormEntry, ...] = ()
    item: FieldKind | None = None


@dataclass(frozen=True)
class FormTable:
    """One table of the file, its key path and entries."""

    path: tuple[str, ...]
    sentence: str
    required: bool
    entries: tuple[FormEntry, ...] = field(default=())


@dataclass(frozen=True)
class FormPart:
    """A heading with its tables."""

    heading: str
    tables: tuple[FormTable, ...]


@cache
def tools() -> dict[tuple[str, ...], str]:
    """What measures each value, by its key path, as the measuring sheet says it."""
    sheet = new_spec("form")
    names = {letter: name.strip() for letter, name in _LEGEND.findall(sheet.partition("\ntitle =")[0])}
    found: dict[tuple[str, ...], str] = {}
    table: tuple[str, ...] = ()
    for line in sheet.splitlines():
        if head := _HEADER.match(line):
            table = tuple(head[1].split("."))
        elif (entry := _VALUE.match(line)) and (letters := _LETTER.findall(entry[2])):
            found.setdefault((*table, entry[1]), ", ".join(names[letter] for letter in letters if letter in names))
    return found


_LEGEND = re.compile(r"\[([A-Z])\] ([a-z][^\[\n]*)")
_HEADER = re.compile(r"(?:#\s?(?:also: )?)?\[\[?([a-z_.]+)\]\]?(?:\s|$)")
_VALUE = re.compile(r"(?:#\s?(?:(?:or|also): )?)?([a-z_]+) = (.*)")
_LETTER = re.compile(r"\[([A-Z])\]")


@cache
def places() -> tuple[FormPart, ...]:
    """The whole form."""
    whole = schema()
    top = whole["properties"]
    needed = set(whole.get("required", ()))
    reader = _Reader(whole.get("$defs", {}))
    tables = {key: reader.table(key, value, key in needed) for key, value in top.items()}
    bare = tuple(reader.entry(key, top[key], key in needed) for key, table in tables.items() if table is None)
    found: dict[str, FormTable] = {"": FormTable((), "", True, bare)}
    found |= {key: table for key, table in tables.items() if table is not None}
    named = {key for _, keys in PLACES for key in keys}
    rest = tuple(key for key in found if key not in named)
    return tuple(
        FormPart(heading, tuple(found[key] for key in keys or rest if key in found)) for heading, keys in PLACES
    )


def as_data() -> list[dict[str, Any]]:
    """The form as plain lists and dicts, for the page."""
    return [asdict(place) for place in places()]


FieldRead = tuple[FieldKind, tuple[str, ...], tuple[FormEntry, ...], FieldKind | None]


class _Reader:
    """Entries from JSON Schema; references are looked up in ``named``."""

    def __init__(self, named: dict[str, Any]) -> None:
        self.named = named

    def plain(self, node: dict[str, Any]) -> dict[str, Any]:
        """A node with its reference followed; what stands beside the reference wins."""
        if "$ref" not in node:
            return node
        there = self.named[node["$ref"].rpartition("/")[2]]
        return {**there, **{key: value for key, value in node.items() if key != "$ref"}}

    def table(self, key: str, node: dict[str, Any], required: bool) -> FormTable | None:
        """A table of the file, or None for a bare key."""
        here = self.plain(node)
        if here.get("type") != "object":
            return None
        return FormTable((key,), here.get("description", ""), required, self.entries(here, (key,)))

    def entries(self, table: dict[str, Any], path: tuple[str, ...]) -> tuple[FormEntry, ...]:
        needed = set(table.get("required", ()))
        return tuple(self.entry(key, value, key in needed, path) for key, value in table["properties"].items())

    def entry(self, key: str, node: dict[str, Any], required: bool, path: tuple[str, ...] = ()) -> FormEntry:
        here = self.plain(node)
        kind, words, parts, item = self.kind(here, (*path, key))
        example = (here.get("examples") or [None])[0]
        return FormEntry(
            key=key,
            kind=kind,
            sentence=here.get("description", ""),
            default=toml(here["default"]).strip('"') if "default" in here else "",
            example="" if example is None else toml(example).strip('"'),
            tool=tools().get((*path, key), ""),
            required=required,
            words=words,
            parts=parts,
            item=item,
        )

    def kind(self, node: dict[str, Any], path: tuple[str, ...] = ()) -> FieldRead:
        """Kind, words to choose from, entries inside, kind of the items."""
        if "anyOf" in node:
            return self._any(node, [self.plain(each) for each in node["anyOf"]], path)
        if "enum" in node:
            numbers = all(isinstance(word, int) for word in node["enum"])
            return "whole" if numbers else "word", tuple(str(word) for word in node["enum"]), (), None
        match node.get("type"):
            case "object":
                return "table", (), self.entries(node, path), None
            case "array":
                inner = self.plain(node.get("items", {}))
                if inner.get("type") == "object":
                    return "rows", (), self.entries(inner, path), None
                return "list", (), (), self.kind(inner, path)[0]
            case "boolean":
                return "yes-no", (), (), None
            case "integer":
                return "whole", (), (), None
            case "number":
                return "number", (), (), None
            case _:
                return ("length" if node.get("pattern") == LENGTH_TEXT else "text"), (), (), None

    def _any(self, node: dict[str, Any], choices: list[dict[str, Any]], path: tuple[str, ...]) -> FieldRead:
        """A value of more than one kind: over the strings, a table or one value, a word or a value, a pitch."""
        words = tuple(str(word) for choice in choices for word in choice.get("enum", ()))
        simple = [c for c in choices if c.get("type") not in ("object", "array") and "enum" not in c]
        base: FieldKind = self.kind(simple[0], path)[0] if simple else "text"
        objects = [c for c in choices if c.get("type") == "object"]
        if any(set(c["properties"]) == {"bass", "treble"} for c in objects):
            return "over", words, (), base
        if objects:
            return "table", words, self.entries(objects[0], path), base
        patterns = [c.get("pattern", "") for c in simple]
        if any(pattern.startswith("^([A-G") for pattern in patterns):
            return "pitch", words, (), None
        return base, words, (), None


def entry_at(path: Sequence[str | int]) -> FormEntry | None:
    """The entry of a key path; numbers in it are places in a list. None where the spec has no such key."""
    steps = [step for step in path if isinstance(step, str)]
    tables = {table.path: table.entries for place in places() for table in place.tables}
    entries = tables.get((), ()) if len(steps) == 1 else tables.get(tuple(steps[:1]), ())
    found: FormEntry | None = None
    for step in steps if len(steps) == 1 else steps[1:]:
        if found is not None and found.kind == "over":
            return found  # one side's value is of the same kind
        found = next((entry for entry in entries if entry.key == step), None)
        if found is None:
            return None
        entries = found.parts
    return found
