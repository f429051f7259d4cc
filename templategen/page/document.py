r"""A spec's text and single changes to it: comments, order and forms of writing stay as they are.

>>> change('width = 43 # across\n', ("width",), "43.5", "length")
'width = 43.5 # across\n'
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from templategen.page.form import FieldKind, FormEntry, entry_at

Path = Sequence[str | int]
Given = str | bool | None | list["Given"] | dict[str, "Given"]
"""A value as typed: text for what is typed, nested for tables and lists; None takes the key out."""

_NUMBER = re.compile(r"[+-]?(\d+(\.\d+)?|\.\d+)")
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")


class NotAValue(ValueError):  # noqa: N818  (says what it is)
    """What was typed cannot stand in the file at all."""


def change(text: str, path: Path, given: Given, kind: FieldKind | None = None) -> str:
    """``text`` with the value at ``path`` set to what was typed, or taken out where ``given`` is None.

    kind: of the value, where it is not a key of the spec. A key that stands in the text as an example behind a # is
    opened where it stands. Raises NotAValue where the text is no TOML or the path leads into a value.
    """
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    try:
        document = tomlkit.parse(text)
    except TOMLKitError as error:
        raise NotAValue(f"the file cannot be read: {error}") from None
    *tables, last = path
    if given is None:
        return _without(document, tables, last, text)
    entry = None if kind else entry_at(path)
    item = _item(given, kind or (entry.kind if entry else "length"), entry)
    home = _home(document, tables)
    if isinstance(last, str) and (home is None or last not in home):
        opened = _opened(text, tables, last, item.as_string())
        if opened is not None:
            return opened
    _put(document, tables, last, item)
    return tomlkit.dumps(document)


def _home(document: Any, tables: Path) -> Any:
    """The table or list that a path's last step is looked up in, None where it is not there."""
    here = document
    for step in tables:
        try:
            here = here[step]
        except (KeyError, IndexError, TypeError):
            return None
    return here


def _put(document: Any, tables: Path, last: str | int, item: Any) -> None:
    import tomlkit

    here = document
    for depth, step in enumerate(tables):
        if isinstance(step, str) and isinstance(here, dict) and step not in here:
            whole = depth == 0 or isinstance(here, tomlkit.items.Table)
            if whole and depth == 0:
                document.add(tomlkit.nl())
            here[step] = tomlkit.table() if whole else tomlkit.inline_table()
        here = here[step]
    if isinstance(here, list):
        assert isinstance(last, int)
        if last == len(here):
            _grow(here, item)
            return
    elif not isinstance(here, dict):
        raise NotAValue("the path leads into a value")
    here[last] = item


def _grow(array: Any, item: Any) -> None:
    """One more item, on a line of its own where the others are."""
    if "\n" in array.as_string():
        array.add_line(item, indent="  ")
    else:
        array.append(item)


def _without(document: Any, tables: Path, last: str | int, text: str) -> str:
    import tomlkit

    home = _home(document, tables)
    if home is None or (isinstance(home, dict) and last not in home):
        return text
    if isinstance(home, list):
        home.pop(int(last))
    else:
        del home[last]
    return tomlkit.dumps(document)


def _opened(text: str, tables: Path, key: str, value: str) -> str | None:
    """The line ``#key = example  # comment`` of the table with the example replaced and the # taken away, that of the
    table's header too; None where the text has no such line."""
    header = re.compile(
        r"^(?P<shut>#\s?(?:also: )?)?\[\s*" + r"\s*\.\s*".join(re.escape(str(step)) for step in tables) + r"\s*\]"
    )
    any_header = re.compile(r"^(?:#\s?(?:also: )?)?\[[^\]=]+\]\s*(#.*)?$")
    example = re.compile(
        r"^#\s?(?:(?:or|also): )?(" + re.escape(key) + r")\s*=\s*(?P<value>[^#]*?)(?P<tail>\s*(#.*)?)$"
    )
    inside, lines, opened = not tables, text.splitlines(keepends=True), None
    for number, line in enumerate(lines):
        if any_header.match(line):
            if opened is not None:
                break
            found = header.match(line) if tables else None
            inside = found is not None
            if found and found.group("shut"):
                opened, lines[number] = number, line[found.end("shut") :]
        elif inside and (found := example.match(line.rstrip("\r\n"))):
            end = line[len(line.rstrip("\r\n")) :]
            lines[number] = f"{key} = {value}{found.group('tail')}{end}"
            return "".join(lines)
    return None


# ----------------------------------------------------------------------------------------------------------- values


def _item(given: Given, kind: FieldKind, entry: FormEntry | None) -> Any:
    """What was typed as a TOML item."""
    import tomlkit

    match given:
        case bool():
            return tomlkit.item(given)
        case dict():
            inner = {part.key: part for part in entry.parts} if entry else {}
            written = []
            for key, value in given.items():
                if not _BARE_KEY.fullmatch(key):
                    raise NotAValue(f"{key!r} is no key")
                if value is not None and value != "":
                    part = inner.get(key)
                    fallback: FieldKind = (entry.item if entry and entry.item else None) or "length"
                    written.append(f"{key} = {_item(value, part.kind if part else fallback, part).as_string()}")
            return tomlkit.value("{ " + ", ".join(written) + " }")
        case list():
            array = tomlkit.array()
            rows = bool(entry and entry.kind == "rows")
            for value in given:
                inner_kind: FieldKind = entry.item if entry and entry.item and entry.item != "list" else "length"
                each: FieldKind = "table" if rows else inner_kind
                array.append(_item(value, each, entry if rows else None))
            return array.multiline(True) if rows else array
        case str():
            return _written(given.strip(), kind)
        case _:
            raise NotAValue("there is nothing to write")


def _written(typed: str, kind: FieldKind) -> Any:
    """One typed value: a number stays as it was typed, everything else is text; a list may be typed with commas."""
    import tomlkit

    if kind in ("text", "word"):
        return tomlkit.string(typed)
    if kind == "list" or typed[:1] in ("[", "{"):
        source = typed if typed[:1] in ("[", "{") else f"[{typed}]"
        try:
            return tomlkit.value(source)
        except Exception:
            raise NotAValue(f"{typed} is no list: write numbers with commas between them") from None
    if typed in ("true", "false"):
        return tomlkit.item(typed == "true")
    if _NUMBER.fullmatch(typed):
        plain = f"0{typed}" if typed.startswith(".") else typed
        try:
            return tomlkit.value(plain)
        except Exception:  # 007: text, and the spec room says what is wrong with it
            return tomlkit.string(typed)
    return tomlkit.string(typed)
