"""What a TOML parser finds wrong, in plain words and at its line."""

from __future__ import annotations

import re
import tomllib

from templategen.errors import Problem, shortened

_PLAIN_WORDS = (
    # (what the parser says, what we say)
    ("Expected '='", "a key and its value need = between them, for example: width_at_nut = 43.2"),
    (
        "Invalid value",
        "the value cannot be read; text needs quotes, decimals a point and a figure on both sides of it, for example: "
        'radius = "11 in" or thickness = 6.2',
    ),
    (
        "Expected newline or end of document",
        "something follows the value; text and fractions need quotes around all of it, for example: "
        'length = "25 3/16 in"',
    ),
    ("Unclosed array", "a list is not closed, or an item before this line has no comma after it; it ends with ]"),
    ("Unclosed inline table", "a table in braces is not closed, or lacks a comma; it starts and ends on one line: { }"),
    ("Unterminated string", "text in quotes is not closed"),
    ("Illegal character '\\n'", "text in quotes is not closed on its line"),
    ("Cannot overwrite a value", "this key has been given before in the same table; keep one of the two"),
    ("Duplicate inline table key", "a key stands twice in the same braces; keep one of the two"),
    ("Cannot declare", "this table has been opened before; put the keys of both under one header"),
    ("Cannot redefine namespace", "this table has been opened before; put the keys of both under one header"),
    ("Cannot mutate immutable", "a table or list written in one line is complete; nothing can be added to it later"),
    ("Expected ']]'", "a header in double brackets ends with ]], for example: [[wire]]"),
    ("Expected ']'", "a table's header ends with ], for example: [fret_wire]"),
    ("Unescaped '\\'", "a backslash in double quotes starts an escape; put the text in single quotes instead"),
    ("Invalid hex value", "a backslash in double quotes starts an escape; put the text in single quotes instead"),
    ("Invalid initial character", "a key is made of letters, figures, _ and -"),
    ("Invalid statement", "a line is a key with its value, a table's header, or a comment after #"),
    ("Invalid date", "this date or time does not exist; text needs quotes"),
    ("Illegal character", "there is a character here that a TOML file may not hold; retype the line"),
    ("Found invalid character", "there is a character here that a TOML file may not hold; retype the line"),
)
_DECIMAL_COMMA = re.compile(r"=\s*\d+,\d+\s*(#.*)?$")
_HINTS = (
    # (what the parser says, what its line looks like, what we say)
    (
        "Expected '='",
        r"^\s*[A-Za-z]\w*(?:[ \t]+\w+)+\s*=",
        "a key has no spaces; write _ instead, as in fret_count = 19",
    ),
    ("", r"[=\[,{]\s*[“”„‟‘’«»]", 'quotes are straight ones, as in: radius = "11 in"'),
    ("Invalid value", r"[=\[,{]\s*[+-]?\.\d", "a decimal needs a figure before its point: write 0.25 instead of .25"),
    ("Invalid value", r"=\s*[A-Za-z]", 'the straight quotes are missing round the text, as in: radius = "flat"'),
)
_AT = re.compile(r" \(at (?:line (\d+), column \d+|end of document)\)$")


def problem(error: ValueError | RecursionError, text: str, path: str) -> Problem:
    """The problem that ``error``, raised by tomllib on ``text``, is to a user."""
    if isinstance(error, RecursionError):
        return Problem((), "lists or tables are nested too deeply to be read", file=path)
    if not isinstance(error, tomllib.TOMLDecodeError):
        return Problem((), "a number has too many figures to be read", file=path)
    said = str(error)
    lines = text.splitlines() or [""]
    at = _AT.search(said)
    number = int(at[1]) if at and at[1] else len(lines)
    number = min(number, len(lines))
    said = _AT.sub("", said)
    words = next((ours for theirs, ours in _PLAIN_WORDS if said.startswith(theirs)), f"is not TOML: {said}")
    for theirs, looks, ours in _HINTS:
        if said.startswith(theirs) and re.search(looks, lines[number - 1]):
            words = ours
            break
    if _DECIMAL_COMMA.search(lines[number - 1]):
        words = "decimals are written with a point, for example: thickness = 6.2"
    # A file that is not called TOML may be anything, somebody's secrets included: it is not repeated.
    given = lines[number - 1].strip() if path.lower().endswith(".toml") else ""
    return Problem((), words, shortened(given) or None, path, number)
