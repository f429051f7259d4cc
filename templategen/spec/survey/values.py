"""How readings are written: one or several of one thing, by fret, by line across the board.

A place in a list where nothing was read holds ``"-"`` in the file and NaN here.
"""

from __future__ import annotations

import copy
import datetime
import math
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Annotated, Any, Generic, TypeVar

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler, ValidationError
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from templategen import units
from templategen.errors import Key
from templategen.spec.table import all_wrong, sentences, wrong
from templategen.spec.values import Json, LengthWithin, Read, length_of

NOT_READ = "-"
UNIT_TOLD = "at the top"  # the other unit was found to fit, and no further slip is guessed
Reads = tuple[float, ...]
"""What was read of one thing, once or more often."""


@dataclass(frozen=True)
class ReadingWithin(LengthWithin):
    """Annotation: a length read off a tool. Of one that cannot be, the likely slip is guessed.

    below: what is told of a negative one, where none can be.
    """

    below: str = "a reading cannot be negative here"

    def function(self, value: Any, unit: units.Unit) -> float:
        try:
            return super().function(value, unit)
        except PydanticCustomError as error:
            said = str(error)
            mm = _or_nan(value, unit)
            if self.low >= 0 > mm:
                raise wrong(self.below) from None
            for times in (0.1, 10.0) if UNIT_TOLD not in said else ():
                if self.low <= mm * times <= self.high and not math.isclose(mm, 0.0):
                    raise wrong(f"{said}; a slip of ten? {_plain(value, times)} would do") from None
            raise


def _or_nan(value: Any, unit: units.Unit) -> float:
    try:
        return length_of(value, unit)
    except PydanticCustomError:
        return math.nan


def _plain(value: Any, times: float) -> str:
    """The value's figures ten times more or less, with its unit as it was written."""
    if isinstance(value, str):
        head = re.match(r"\s*[+-]?[\d.]+", value)
        return f'"{float(head[0]) * times:g}{value[head.end() :]}"' if head and "/" not in value else "ten times that"
    return f"{float(value) * times:g}"


# ---------------------------------------------------------------------------------------------------- one or several

ReadItem = TypeVar("ReadItem")


class Repeated:
    """Annotation on ``Reads``: one ``item``, or a list of them where a thing was read more than once."""

    def __init__(self, item: Any) -> None:
        self.item = item

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_wrap_validator_function(self._read, handler.generate_schema(self.item))

    def __get_pydantic_json_schema__(self, core: CoreSchema, handler: GetJsonSchemaHandler) -> Json:
        one: Json = handler(core)
        several = {"type": "array", "items": copy.deepcopy(one), "minItems": 1}
        return {"anyOf": [*one.get("anyOf", [one]), several]}

    def _read(self, value: Any, handler: core_schema.ValidatorFunctionWrapHandler) -> Reads:
        if not isinstance(value, (list, tuple)):
            return (handler(value),)
        if not value:
            raise wrong("is empty; write what was read, or leave the key out")
        return _all(value, handler, "readings")


class PerPlace:
    """Annotation on ``tuple[Item, ...]``: a list with an ``item``, or ``"-"``, for each line or string.

    missing: what is kept for ``"-"``, where none was read. one_for_all: whether a bare item may stand for all places.
    """

    def __init__(self, item: Any, missing: Any, message: str, one_for_all: bool = False) -> None:
        self.item = item
        self.missing = missing
        self.message = message
        self.one_for_all = one_for_all

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_wrap_validator_function(self._read, handler.generate_schema(self.item))

    def __get_pydantic_json_schema__(self, core: CoreSchema, handler: GetJsonSchemaHandler) -> Json:
        one: Json = handler(core)
        kinds = one.get("anyOf", [one])
        listed = {"type": "array", "items": {"anyOf": [*copy.deepcopy(kinds), {"const": NOT_READ}]}, "minItems": 1}
        return {"anyOf": [*kinds, listed]} if self.one_for_all else listed

    def _read(self, value: Any, handler: core_schema.ValidatorFunctionWrapHandler) -> tuple[Any, ...]:
        if not isinstance(value, (list, tuple)):
            if not self.one_for_all:
                raise wrong(self.message)
            return (handler(value),)
        if not value:
            raise wrong(self.message)
        return _all(value, lambda item, *at: self.missing if item == NOT_READ else handler(item, *at), "places")


def _all(values: Any, read: Callable[..., Any], title: str) -> tuple[Any, ...]:
    errors: list[tuple[Key, str]] = []
    found = []
    for place, item in enumerate(values):
        try:
            found.append(read(item, place))
        except ValidationError as error:
            errors.extend(sentences(error))
    if errors:
        raise all_wrong(title, errors)
    return tuple(found)


# ------------------------------------------------------------------------------------------------------------ by fret

NUT, LAST = "nut", "last"
_FRET_KEY = re.compile(r"[0-9]{1,3}", re.ASCII)


@dataclass(frozen=True)
class ByFret(Generic[ReadItem]):
    """Readings by fret, in the order of the file; keys as they are written there: "nut", "1" …, "last"."""

    items: tuple[tuple[str, ReadItem], ...]

    def on(self, last: int) -> Iterator[tuple[str, int, ReadItem]]:
        """(key, fret, reading) on a board whose last fret is ``last``; the nut is fret 0."""
        for key, item in self.items:
            yield key, number_of(key, last), item

    def by_number(self, last: int) -> dict[int, ReadItem]:
        """Fret to reading, in the order of the board."""
        return dict(sorted((fret, item) for _, fret, item in self.on(last)))


def number_of(key: str, last: int) -> int:
    """The fret that a key names; the nut is 0."""
    return {NUT: 0, LAST: last}.get(key) if key in (NUT, LAST) else int(key)  # type: ignore[return-value]


class AtFrets:
    """Annotation on ``ByFret``: a table that has an ``item`` for each of its frets. nut: whether it may stand there."""

    def __init__(self, item: Any, nut: bool = False) -> None:
        self.item = item
        self.nut = nut

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_wrap_validator_function(self._read, handler.generate_schema(self.item))

    def __get_pydantic_json_schema__(self, core: CoreSchema, handler: GetJsonSchemaHandler) -> Json:
        keys = "^(nut|last|[1-9][0-9]{0,2})$" if self.nut else "^(last|[1-9][0-9]{0,2})$"
        return {"type": "object", "patternProperties": {keys: handler(core)}, "additionalProperties": False}

    def _read(self, value: Any, handler: core_schema.ValidatorFunctionWrapHandler) -> ByFret[Any]:
        if not isinstance(value, dict):
            raise wrong('must be a table by fret, for example: { "1" = …, "12" = …, "last" = … }')
        errors: list[tuple[Key, str]] = []
        entries = []
        for key, item in value.items():
            if why := self._strange(key):
                errors.append(((key,), why))
                continue
            try:
                entries.append((key, handler(item, key)))
            except ValidationError as error:
                errors.extend(sentences(error))
        if errors:
            raise all_wrong("frets", errors)
        return ByFret(tuple(entries))

    def _strange(self, key: str) -> str:
        if key == LAST or (_FRET_KEY.fullmatch(key) and int(key) > 0):
            return ""
        if key == NUT or (_FRET_KEY.fullmatch(key) and int(key) == 0):
            if self.nut:
                return "" if key == NUT else 'is no fret; the nut is called "nut"'
            return "is read from the nut or between frets; nothing is read at the nut itself"
        return f'is no fret; keys here are {"nut, " if self.nut else ""}1, 2 … and last, for example: "7" = …'


# --------------------------------------------------------------------------------------------------------- small kinds


def _date(value: Any, unit: object) -> datetime.date:
    if isinstance(value, datetime.date) and not isinstance(value, datetime.datetime):
        return value
    raise wrong("must be a date without quotes, for example: 2026-11-20")


Date = Annotated[datetime.date, Read(_date, {"type": "string", "format": "date"})]
