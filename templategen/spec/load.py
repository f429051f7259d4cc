"""From files to a frozen Spec in mm, or to every problem of the files with its line."""

from __future__ import annotations

import hashlib
import os
import stat
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, TypeVar

from pydantic import ValidationError

from templategen.errors import Key, MachineError, Problem, SpecError, shortened
from templategen.spec import checks, syntax
from templategen.spec.checks.common import OCTAVE
from templategen.spec.idle import idle
from templategen.spec.lines import DEEPEST, Place, places, refuse_long_keys
from templategen.spec.models import FretWire, Shop, Spec, Wire
from templategen.spec.table import Drafts, Table, nearest, sentences, table_in, toml, without

LARGEST = 1_000_000
"""Bytes of a file: a larger one is no spec."""


@dataclass(frozen=True)
class Source:
    """A file as it was read: its path as the user typed it, its bytes, and where each value stands in it."""

    path: str
    data: bytes
    places: dict[Key, Place] = field(repr=False)

    def locate(self, problem: Problem) -> Problem:
        """``problem`` with this file, the line of its key or of the table around it, and the value as written."""
        key = problem.key
        if key in self.places:
            return problem.located(self.path, self.places[key].line, problem.given or shortened(self.places[key].text))
        while key not in self.places:
            key = key[:-1]
        return problem.located(self.path, self.places[key].line)


@dataclass(frozen=True)
class Loaded:
    """A spec that can be made, with its shop.

    name: stem of the file. path: as typed. digest: sha256 (hex) over the bytes of the spec and of its shop file.
    idle: keys that are given but change nothing in this spec, each with the reason.
    """

    spec: Spec
    shop: Shop
    name: str
    path: str
    digest: str
    idle: tuple[tuple[Key, str], ...]
    source: Source = field(repr=False)
    shop_source: Source | None = field(repr=False)

    @property
    def inputs(self) -> tuple[str, ...]:
        """The paths of all files that were read."""
        return (self.path, *(source.path for source in (self.shop_source,) if source is not None))

    def locate(self, problem: Problem) -> Problem:
        """``problem`` with its file, line and value as written.

        A key path that goes on below ``shop`` is one of the shop file, and so is a number of the wire that
        ``fret_wire.wire`` names.
        """
        key = problem.key
        if self.shop_source is None:
            return self.source.locate(problem)
        if key[:1] == ("shop",) and len(key) > 1:
            return self.shop_source.locate(Problem(key[1:], problem.message, problem.given))
        if key[:1] == ("fret_wire",) and key not in self.source.places:
            for number, wire in enumerate(self.shop.wire):
                there: Key = ("wire", number, *key[1:])
                if wire.name == self.spec.fret_wire.wire and there in self.shop_source.places:
                    return self.shop_source.locate(Problem(there, problem.message, problem.given))
        return self.source.locate(problem)


def load(path: str | os.PathLike[str], data: bytes | None = None, outside: bool = False) -> Loaded:
    """Read a spec file and the shop file it names.

    data: what to take for the spec file's bytes, which is then not read. outside: whether it may name files that lie
    outside its own folder.
    Raises SpecError with every problem of both files, those of the spec first, each in the order of its file; and
    MachineError where a file is there but may not be read.
    """
    typed = os.fspath(path)
    source, raw = _read(typed) if data is None else _parsed(typed, data)
    if not raw:
        message = "is empty; `templategen new-spec FILE` writes one to fill in"
        raise SpecError([Problem((), message, file=typed)])
    if set(raw) <= Shop.entries().keys() - Spec.entries().keys() | {"units"}:
        message = 'is a shop file; name a spec, which names this file by shop = "…"'
        raise SpecError([Problem((), message, file=typed)])
    spec, problems = _validate(Spec, raw)
    if _of_units(problems):
        raise SpecError(_in_order(source, _of_units(problems)))
    whole = not problems
    shop, shop_source, shop_problems = Shop.model_construct(), None, list[Problem]()
    if vars(spec).get("shop") is not None:
        shop_path = os.path.join(os.path.dirname(typed), raw["shop"])
        why = _not_to_be_read(typed, shop_path, outside)
        if why:
            problems.append(Problem(("shop",), why))
        elif os.path.exists(shop_path):
            shop, shop_source, shop_problems = _shop(shop_path)
        else:
            problems.append(Problem(("shop",), f"there is no such shop file: {shop_path}"))
    if "fret_wire" in vars(spec) and getattr(spec.fret_wire, "wire", "unread") is not None:
        wire, found = _wire(spec, shop, shop_source)
        problems += found
        if wire is None or shop_problems:
            whole, spec = False, without(spec, "fret_wire")
        else:
            spec = spec.model_copy(update={"fret_wire": _resolved(spec.fret_wire, wire)})
    problems += checks.of_spec(spec, whole=whole)
    if problems or shop_problems:
        raise SpecError([*_in_order(source, problems), *shop_problems])
    spec = _settled(spec)
    digest = hashlib.sha256(source.data + (shop_source.data if shop_source else b"")).hexdigest()
    name = os.path.splitext(os.path.basename(typed))[0]
    return Loaded(spec, shop, name, typed, digest, idle(spec), source, shop_source)


def _not_to_be_read(spec: str, named: str, outside: bool) -> str:
    """Why a file that a spec names is not read; empty where it is. A spec from somebody else must not make this
    machine's other files show up in messages."""
    home = os.path.realpath(os.path.dirname(spec) or ".")
    if outside or os.path.realpath(named).startswith(os.path.join(home, "")):
        return ""
    return (
        "lies outside the spec's own folder, and is not read unbidden; move it there, or say --outside on the command "
        "line"
    )


def _shop(path: str) -> tuple[Shop, Source | None, list[Problem]]:
    """The shop, or a draft of it, and its problems with their lines."""
    try:
        source, raw = _read(path)
    except SpecError as error:
        return Shop.model_construct(), None, list(error.problems)
    shop, problems = _validate(Shop, raw)
    if _of_units(problems):
        return without(shop, "wire"), source, _in_order(source, _of_units(problems))
    problems += checks.of_shop(shop, whole=not problems)
    return shop, source, _in_order(source, problems)


def _read(path: str) -> tuple[Source, dict[str, Any]]:
    """The file's bytes, read once, and what the TOML parser makes of them."""
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
    return _parsed(path, data)


def _parsed(path: str, data: bytes) -> tuple[Source, dict[str, Any]]:
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


Whole = TypeVar("Whole", bound=Table)


def _validate(table: type[Whole], raw: dict[str, Any]) -> tuple[Whole, list[Problem]]:
    """The table, or a draft of it together with the problems that keep it one."""
    drafts = Drafts()
    unit = "in" if raw.get("units") == "in" else "mm"
    problems = []
    try:
        table.model_validate(raw, context={"unit": unit, "drafts": drafts, "homes": _homes(table)})
    except ValidationError as error:
        problems = [Problem(key, message) for key, message in sentences(error)]
    assert isinstance(drafts.outermost, table)
    return drafts.outermost, problems


def _of_units(problems: Iterable[Problem]) -> list[Problem]:
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


def _wire(spec: Spec, shop: Shop, shop_source: Source | None) -> tuple[Wire | None, list[Problem]]:
    """The wire of the shop that the spec names; None with a problem, or without one where that is told already."""
    key = ("fret_wire", "wire")
    if "wire" not in vars(spec.fret_wire):
        return None, []
    if shop_source is None:
        message = 'names a wire of the shop, but no shop file is given; add shop = "shop.toml" at the top of the file'
        return None, [Problem(key, message)] if "shop" in vars(spec) and spec.shop is None else []
    named = [wire for wire in getattr(shop, "wire", ()) if getattr(wire, "name", None) == spec.fret_wire.wire]
    if named:
        return (named[0] if set(Wire.model_fields) <= vars(named[0]).keys() else None), []
    if "wire" not in vars(shop):
        return None, []
    names = [wire.name for wire in shop.wire if "name" in vars(wire)]
    if not names:
        return None, [Problem(key, f"is not a wire of the shop: {shop_source.path} lists no [[wire]]")]
    assert spec.fret_wire.wire is not None
    offer = nearest(toml(spec.fret_wire.wire), map(toml, names), f"wires of {shop_source.path}")
    return None, [Problem(key, f"is not a wire of the shop; {offer}")]


def _resolved(asked: FretWire, wire: Wire) -> FretWire:
    """The named wire's numbers, but for those given beside the name."""
    shared = FretWire.model_fields.keys() & Wire.model_fields.keys()
    return asked.model_copy(update={name: getattr(wire, name) for name in shared - asked.model_fields_set})


def _settled(spec: Spec) -> Spec:
    """Defaults that depend on other keys, filled in."""
    scale, intonation = spec.scale, spec.intonation
    if scale.fret_cents is not None and scale.repeat_at is None and scale.fret_count > len(scale.fret_cents):
        scale = scale.model_copy(update={"repeat_at": OCTAVE})
    if intonation.fit_to_fret > scale.fret_count:
        intonation = intonation.model_copy(update={"fit_to_fret": scale.fret_count})
    return spec.model_copy(update={"scale": scale, "intonation": intonation})


def _in_order(source: Source, problems: Iterable[Problem]) -> list[Problem]:
    order = {key: number for number, key in enumerate(source.places)}

    def place(problem: Problem) -> int:
        key = problem.key
        while key not in order:
            key = key[:-1]
        return order[key]

    return [source.locate(problem) for problem in sorted(problems, key=place)]
