"""The catalogue: for every code its level, the parts it touches and its sentence (``catalogue.toml``).

A rule yields facts; a fact is a code, the key it is about, and named values, numbers kept as numbers. Here a fact
becomes the finding that a person reads, in the job's own unit.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cache
from importlib import resources
from typing import Any, Literal

import numpy as np

from templategen.errors import Finding, Harm, Level, OurBug
from templategen.findings.severity import share_past
from templategen.findings.wording import Words, sentence
from templategen.units import Unit

JOIN = "; "


@dataclass(frozen=True)
class Fact:
    """What a rule found. level: only of a code whose level the catalogue leaves to its rule. parts: fewer than those
    that the catalogue names, where the others are not touched."""

    code: str
    key: str
    values: dict[str, Any]
    level: Level | None = None
    parts: tuple[str, ...] | None = None


def fact(code: str, key: str, level: Level | None = None, /, **values: Any) -> Fact:
    """A fact with its named values: lengths in mm, numbers, words, ``OfString``, lists of them, lists of cases."""
    return Fact(code, key, {name: _plain(value) for name, value in values.items()}, level)


def without(found: Fact, *parts: str) -> Fact:
    """The same, these parts not being touched by it."""
    return replace(found, parts=tuple(part for part in catalogue()[found.code].parts if part not in parts))


def _plain(value: Any) -> Any:
    """Numbers of numpy as numbers of Python."""
    if isinstance(value, np.ndarray | np.generic):
        return value.tolist()
    if isinstance(value, dict):
        return {name: _plain(item) for name, item in value.items()}
    return [_plain(item) for item in value] if isinstance(value, list) else value


@dataclass(frozen=True)
class Entry:
    """One code of the catalogue. level: "rule" where it depends on the values. parts: whose sheets print it. est: what
    the files of these parts rest on that nobody measured, empty where they do not. do, harm, past: of what may be to
    decide, as the file itself explains."""

    level: Level | Literal["rule"]
    parts: tuple[str, ...]
    says: str
    words: Words
    est: str = ""
    do: str = ""
    harm: Harm | None = None
    past: str = ""


@cache
def catalogue(name: str = "catalogue") -> dict[str, Entry]:
    """Every code, in the order of the file; name: its stem, "judgements" for those of a survey."""
    text = resources.files("templategen.findings").joinpath(f"{name}.toml").read_text(encoding="utf-8")
    return {
        code: Entry(
            level=entry["level"],
            parts=tuple(entry["parts"]),
            says=entry["says"],
            est=entry.get("est", ""),
            words=Words(entry.get("each", {}), entry.get("join", JOIN), entry.get("words", {})),
            do=entry.get("do", ""),
            harm=entry.get("harm"),
            past=entry.get("past", ""),
        )
        for code, entry in tomllib.loads(text).items()
    }


def told(facts: Iterable[Fact], unit: Unit, name: str = "catalogue") -> tuple[Finding, ...]:
    """The facts as findings, in the same order. Raises OurBug for a fact that the catalogue does not fit."""
    return tuple(_finding(each, unit, name) for each in facts)


def _finding(found: Fact, unit: Unit, name: str) -> Finding:
    entry = catalogue(name).get(found.code)
    if entry is None:
        raise OurBug(f"no finding is called {found.code}")
    if (level := _level(entry, found)) is None:
        raise OurBug(f"the level of {found.code} has two owners, or none")
    parts = entry.parts if found.parts is None else found.parts
    says = sentence(entry.says, found.values, entry.words, unit)
    do = sentence(entry.do, found.values, entry.words, unit)
    message = f"{says} {do}".rstrip()
    past = share_past(entry.past, found.values)
    return Finding(found.code, level, found.key, message, parts, found.values, entry.est, says, do, entry.harm, past)


def _level(entry: Entry, found: Fact) -> Level | None:
    if entry.level == "rule":
        return found.level
    return entry.level if found.level is None else None
