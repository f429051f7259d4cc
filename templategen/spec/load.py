"""From files to a frozen Spec in mm, or to every problem of the files with its line."""

from __future__ import annotations

import hashlib
import os
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from templategen.errors import Key, Problem, SpecError
from templategen.spec import checks
from templategen.spec.checks.law import OCTAVE
from templategen.spec.files import Source, in_order, not_to_be_read, of_units, parsed, read, validate
from templategen.spec.idle import idle
from templategen.spec.models import FretWire, Shop, Spec, Wire
from templategen.spec.table import nearest, toml, without

if TYPE_CHECKING:
    from templategen.spec.survey.load import LoadedSurvey

SURVEYS = "survey", "as_left"


@dataclass(frozen=True)
class Loaded:
    """A spec that can be made, with its shop and its surveys.

    name: stem of the file. path: as typed. digest: sha256 (hex) over the bytes of the spec and of the files it names.
    idle: keys that are given but change nothing in this spec, each with the reason. survey, as_left: what was read of
    the instrument before the work and after it.
    """

    spec: Spec
    shop: Shop
    name: str
    path: str
    digest: str
    idle: tuple[tuple[Key, str], ...]
    source: Source = field(repr=False)
    shop_source: Source | None = field(repr=False)
    survey: LoadedSurvey | None = field(default=None, repr=False)
    as_left: LoadedSurvey | None = field(default=None, repr=False)

    @property
    def inputs(self) -> tuple[str, ...]:
        """The paths of all files that were read."""
        named = (self.shop_source, *(each.source for each in (self.survey, self.as_left) if each is not None))
        return (self.path, *(source.path for source in named if source is not None))

    def locate(self, problem: Problem) -> Problem:
        """``problem`` with its file, line and value as written.

        A key path that goes on below ``shop`` is one of the shop file, and so is a number of the wire that
        ``fret_wire.wire`` names; one below ``survey`` or ``as_left`` is one of that file.
        """
        key = problem.key
        for name, readings in zip(SURVEYS, (self.survey, self.as_left), strict=True):
            if key[:1] == (name,) and len(key) > 1 and readings is not None:
                return readings.locate(Problem(key[1:], problem.message, problem.given))
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
    source, raw = read(typed) if data is None else parsed(typed, data)
    if not raw:
        message = "is empty; `templategen new-spec FILE` writes one to fill in"
        raise SpecError([Problem((), message, file=typed)])
    if set(raw) <= Shop.entries().keys() - Spec.entries().keys() | {"units"}:
        message = 'is a shop file; name a spec, which names this file by shop = "…"'
        raise SpecError([Problem((), message, file=typed)])
    spec, problems = validate(Spec, raw)
    if of_units(problems):
        raise SpecError(in_order(source, of_units(problems)))
    whole = not problems
    shop, shop_source, shop_problems = Shop.model_construct(), None, list[Problem]()
    if vars(spec).get("shop") is not None:
        shop_path = os.path.join(os.path.dirname(typed), raw["shop"])
        why = not_to_be_read(typed, shop_path, outside)
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
    surveys, unnamed, unread = _surveys(spec, typed, outside)
    problems += unnamed
    if problems or shop_problems or unread:
        raise SpecError([*in_order(source, problems), *shop_problems, *unread])
    spec = _settled(spec)
    sources = [source, *([shop_source] if shop_source else []), *(each.source for each in surveys.values())]
    digest = hashlib.sha256(b"".join(each.data for each in sources)).hexdigest()
    name = os.path.splitext(os.path.basename(typed))[0]
    return Loaded(spec, shop, name, typed, digest, idle(spec), source, shop_source, **surveys)


def _surveys(spec: Spec, path: str, outside: bool) -> tuple[dict[str, LoadedSurvey], list[Problem], list[Problem]]:
    """The surveys that a spec names, by their keys; problems of their names, and problems in them."""
    found: dict[str, LoadedSurvey] = {}
    unnamed, unread = list[Problem](), list[Problem]()
    for key in SURVEYS:
        if vars(spec).get(key) is None:
            continue
        from templategen.spec.survey.load import load_survey

        there = os.path.join(os.path.dirname(path), getattr(spec, key))
        why = not_to_be_read(path, there, outside)
        if why or not os.path.exists(there):
            unnamed.append(Problem((key,), why or f"there is no such survey file: {there}"))
            continue
        try:
            found[key] = load_survey(there)
        except SpecError as error:
            unread += error.problems
    return found, unnamed, unread


def _shop(path: str) -> tuple[Shop, Source | None, list[Problem]]:
    """The shop, or a draft of it, and its problems with their lines."""
    try:
        source, raw = read(path)
    except SpecError as error:
        return Shop.model_construct(), None, list(error.problems)
    shop, problems = validate(Shop, raw)
    if of_units(problems):
        return without(shop, "wire"), source, in_order(source, of_units(problems))
    problems += checks.of_shop(shop, whole=not problems)
    return shop, source, in_order(source, problems)


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
