"""Where each value of a TOML file stands: a pass over text that a TOML parser has already accepted.

Nothing is judged here, so the pass only has to find its way: strings, arrays, inline tables, comments, dotted keys,
table headers. What a value means is the parser's business.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable
from dataclasses import dataclass

from templategen.errors import Key

DEEPEST = 30
"""Tables and lists inside each other: more is none of ours."""


@dataclass(frozen=True)
class WhereWritten:
    """``line`` counts from 1. ``text`` is the value as it is written, None for a table with a header of its own.
    ``comment`` is what stands behind a # on the same line, empty where there is none."""

    line: int
    text: str | None = None
    comment: str = ""


def places(text: str) -> dict[Key, WhereWritten]:
    """Key path to place, for every table and value of ``text``; a list's items by their zero-based number.

    The empty path is the file itself, at line 1. A table that exists only by dotted keys or longer headers is placed
    where it is first mentioned.
    """
    return _Pass(text).run()


def refuse_long_keys(text: str) -> None:
    """Raise RecursionError where a line begins with a key of more parts than any of ours; to be asked before a parser
    is, which takes the square of their number in time."""
    for line in text.splitlines():
        if line.count(".") > DEEPEST and line.split("=", 1)[0].split("#", 1)[0].count(".") > DEEPEST:
            raise RecursionError


_BLANK = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_BLANK_IN_LINE = re.compile(r"[ \t]*")
_KEY_PART = re.compile(r'"(?:[^"\\\n]|\\.)*"|\'[^\'\n]*\'|[A-Za-z0-9_-]+')
_STRING = re.compile(
    r'''"""(?:[^\\]|\\.)*?"""(?:"{0,2})'''  # up to two quotes may stand right before the closing three
    r"""|\'\'\'.*?\'\'\'(?:'{0,2})"""
    r'''|"(?:[^"\\\n]|\\.)*"'''
    r"""|'[^'\n]*'""",
    re.DOTALL,
)
_SCALAR = re.compile(r"[^,\]}#\r\n]+")
_COMMENT = re.compile(r"[ \t,]*#[ \t]*([^\r\n]*)")


class _Pass:
    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.found: dict[Key, WhereWritten] = {(): WhereWritten(1)}
        self.items: dict[Key, int] = {}  # arrays of tables: how many so far
        self._line, self._counted_to = 1, 0

    def run(self) -> dict[Key, WhereWritten]:
        table: Key = ()
        self._skip(_BLANK)
        while self.at < len(self.text):
            if self.text[self.at] == "[":
                table = self._header()
            else:
                self._pair(table)
            self._skip(_BLANK)
        return self.found

    def _line_here(self) -> int:
        self._line += self.text.count("\n", self._counted_to, self.at)
        self._counted_to = self.at
        return self._line

    def _skip(self, pattern: re.Pattern[str]) -> None:
        match = pattern.match(self.text, self.at)
        assert match is not None
        self.at = match.end()

    def _take(self, pattern: re.Pattern[str]) -> str:
        start = self.at
        self._skip(pattern)
        return self.text[start : self.at]

    def _header(self) -> Key:
        line = self._line_here()
        many = self.text.startswith("[[", self.at)
        self.at += 2 if many else 1
        parts = self._key()
        self.at += 2 if many else 1
        key: Key = ()
        for depth, part in enumerate(parts, 1):
            key = (*key, part)
            if many and depth == len(parts):
                self.found.setdefault(key, WhereWritten(line))
                self.items[key] = self.items.get(key, 0) + 1
            if key in self.items:
                key = (*key, self.items[key] - 1)
            self.found.setdefault(key, WhereWritten(line))
        self.found[key] = WhereWritten(line, comment=self._comment())
        return key

    def _key(self) -> list[str]:
        parts: list[str] = []
        while True:
            self._skip(_BLANK_IN_LINE)
            part = self._take(_KEY_PART)
            parts.append(_plain(part) if part[0] in "\"'" else part)
            self._skip(_BLANK_IN_LINE)
            if self.text[self.at] != ".":
                return parts
            self.at += 1

    def _pair(self, table: Key) -> None:
        line = self._line_here()
        key = table
        for part in self._key():
            key = (*key, part)
            self.found.setdefault(key, WhereWritten(line))
        self.at += 1  # the equals sign
        self._skip(_BLANK_IN_LINE)
        self._value(key)

    def _value(self, key: Key) -> None:
        line, start = self._line_here(), self.at
        opening = self.text[self.at]
        if opening in "\"'":
            self._skip(_STRING)
        elif opening == "[":
            self._inside("]", lambda count: self._value((*key, count)))
        elif opening == "{":
            self._inside("}", lambda count: self._pair(key))
        else:
            self._skip(_SCALAR)
        self.found[key] = WhereWritten(line, self.text[start : self.at].rstrip(), self._comment())

    def _comment(self) -> str:
        match = _COMMENT.match(self.text, self.at)
        return match[1].rstrip() if match else ""

    def _inside(self, closing: str, read: Callable[[int], None]) -> None:
        self.at += 1
        count = 0
        while True:
            self._skip(_BLANK)
            if self.text[self.at] == closing:
                self.at += 1
                return
            if self.text[self.at] == ",":
                self.at += 1
                continue
            read(count)
            count += 1


def _plain(quoted: str) -> str:
    (key,) = tomllib.loads(f"{quoted} = 0")
    return key
