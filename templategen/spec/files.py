"""The files that a user writes: read once, parsed, and turned into tables or into problems with their lines."""

from __future__ import annotations

import os
import stat
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, TypeVar

from pydantic import ValidationError

from templategen.errors import Key, MachineError, Problem, SpecError, shortened
from templategen.spec import syntax
from templategen.spec.lines import DEEPEST, WhereWritten, places, refuse_long_keys
from templategen.spec.table import Drafts, Table, sentences, table_in

LARGEST = 1_000_000
"""Bytes of a file: a larger one is no spec."""


@dataclass(frozen=True)
class Source:
    """A file as it was read: its path as the user typed it, its bytes, and where each value stands in it."""

    path: str
    data: bytes
    places: dict[Key, WhereWritten] = field(repr=False)

    def locate(self, problem: Problem) -> Problem:
        """``problem`` with this file, the line of its key or of the table around it, and the value as written."""
        key = problem.key
        if key in self.places:
            return problem.located(self.path, self.places[key].line, problem.given or shortened(self.places[key].text))
        while key not in self.places:
            key = key[:-1]
        return problem.located(self.path, self.places[key].line)


def read(path: str) -> tuple[Source, dict[str, Any]]:
    """The file's bytes, read once, and what the TOML parser makes of them. Raises as ``contents`` and ``parsed``."""
    return parsed(path, contents(path))


def contents(path: str) -> bytes:
    """The file's bytes. Raises SpecError where it is no file of ours, MachineError where it may not be read."""
    try:
        kind = os.stat(path).st_mode
        data = b""
        if stat.S_ISREG(kind) or stat.S_ISDIR(kind):  # a pipe would be waited for
            with open(path, "rb") as file:
                data = file.read(LARGEST + 1)
    except FileNotFoundError:
        raise SpecError([Problem((), "there is no such file; check the path", file=path)]) from None
    except IsADirectoryError:
        raise SpecError([Problem((), "is a folder; name a file in it", file=path)]) from None
    except (NotADirectoryError, ValueError):
        raise SpecError([Problem((), "cannot be the path of a file; check it", file=path)]) from None
    except OSError as error:
        raise MachineError(f"{path}: cannot be read: {error.strerror}") from None
    if not stat.S_ISREG(kind):
        raise SpecError([Problem((), "is a device or a pipe; name a file", file=path)])
    return data


def parsed(path: str, data: bytes) -> tuple[Source, dict[str, Any]]:
    """What the TOML parser makes of a file's bytes."""
    if len(data) > LARGEST:
        message = f"is larger than {LARGEST // 1_000_000} MB: no spec or shop file is; check the path"
        raise SpecError([Problem((), message, file=path)])
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        message = "is not UTF-8 text; save the file as UTF-8 in the editor"
        raise SpecError([Problem((), message, file=path, line=line)]) from None
    try:
        refuse_long_keys(text)
        raw = tomllib.loads(text, parse_float=Decimal)
        found, frozen = places(text), _frozen(raw)
    except (ValueError, RecursionError) as error:
        raise SpecError([syntax.problem(error, text, path)]) from None
    return Source(path, data, found), frozen


def _frozen(value: Any, depth: int = 0) -> Any:
    """Lists as tuples, since the models are strict and frozen. Raises RecursionError beyond any depth of ours."""
    if depth > DEEPEST:
        raise RecursionError
    if isinstance(value, dict):
        return {key: _frozen(each, depth + 1) for key, each in value.items()}
    return tuple(_frozen(each, depth + 1) for each in value) if isinstance(value, list) else value


WholeFile = TypeVar("WholeFile", bound=Table)


def validate(table: type[WholeFile], raw: dict[str, Any]) -> tuple[WholeFile, list[Problem]]:
    """The table in mm, or a draft of it together with the problems that keep it one."""
    drafts = Drafts()
    unit = "in" if raw.get("units") == "in" else "mm"
    problems = []
    try:
        table.model_validate(raw, context={"unit": unit, "drafts": drafts, "homes": _homes(table)})
    except ValidationError as error:
        problems = [Problem(key, message) for key, message in sentences(error)]
    assert isinstance(drafts.outermost, table)
    return drafts.outermost, problems


def of_units(problems: Iterable[Problem]) -> list[Problem]:
    """A unit that is not known makes every length after it wrong, and is told alone."""
    return [problem for problem in problems if problem.key == ("units",)]


def _homes(table: type[Table]) -> dict[str, list[str]]:
    """Key to the places in the file that have it."""
    homes = {key: ["the top of the file"] for key in table.entries()}
    for name, info in table.entries().items():
        inner = table_in(info.annotation)
        for key in inner.entries() if inner is not None else ():
            homes.setdefault(key, []).append(f"[{name}]")
    return homes


def not_to_be_read(spec: str, named: str, outside: bool) -> str:
    """Why a file that a spec names is not read; empty where it is. A spec from somebody else must not make this
    machine's other files show up in messages."""
    home = os.path.realpath(os.path.dirname(spec) or ".")
    if outside or os.path.realpath(named).startswith(os.path.join(home, "")):
        return ""
    return (
        "lies outside the spec's own folder, and is not read unbidden; move it there, or say --outside on the command "
        "line"
    )


def in_order(source: Source, problems: Iterable[Problem]) -> list[Problem]:
    """The problems located, in the order of the file."""
    order = {key: number for number, key in enumerate(source.places)}

    def place(problem: Problem) -> int:
        key = problem.key
        while key not in order:
            key = key[:-1]
        return order[key]

    return [source.locate(problem) for problem in sorted(problems, key=place)]
