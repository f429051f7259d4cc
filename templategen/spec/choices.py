"""Values that may be of more than one kind, each with one message where they are of none."""

from __future__ import annotations

import copy
import difflib
from decimal import Decimal
from typing import Any, Literal, get_args, get_origin

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler, ValidationError, ValidationInfo
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from templategen.spec.table import Table, sentences, toml, wrong
from templategen.spec.values import Json, LengthWithin, Read, unit_of


class OrWord:
    """Annotation on ``Literal[words] | other``: one message where neither is given.

    other: how the message calls what may stand instead of a word.
    """

    def __init__(self, *words: str, other: str) -> None:
        self.words = words
        self.other = other

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        (rest,) = (part for part in get_args(source) if get_origin(part) is not Literal)
        return core_schema.no_info_wrap_validator_function(self._read, handler.generate_schema(rest))

    def __get_pydantic_json_schema__(self, core: CoreSchema, handler: GetJsonSchemaHandler) -> Json:
        other: Json = handler(core)
        return {"anyOf": [{"type": "string", "enum": list(self.words)}, *other.get("anyOf", [other])]}

    def _read(self, value: Any, inner: core_schema.ValidatorFunctionWrapHandler) -> Any:
        if isinstance(value, str) and value in self.words:
            return value
        try:
            return inner(value)
        except ValidationError as error:
            if _has_figures(value) or any(key for key, _ in sentences(error)):
                raise
            raise wrong(self._message(value)) from None

    def _message(self, value: Any) -> str:
        close = difflib.get_close_matches(value, self.words, 1, 0.6) if isinstance(value, str) else []
        listed = ", ".join(toml(word) for word in self.words)
        return f"must be {listed} or {self.other}" + (f"; did you mean {toml(close[0])}?" if close else "")


class OrTable:
    """Annotation on ``Table | other``, or on a table that ``other`` makes too: one message where neither is given.

    other: reads what is not a table; message: says what may stand here. lists: whether ``other`` reads lists, and
    tells what is wrong with one better than the message.
    """

    def __init__(self, other: Read | LengthWithin, message: str, lists: bool = False) -> None:
        self.other = other
        self.message = message
        self.lists = lists

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        (table,) = (
            part for part in get_args(source) or (source,) if isinstance(part, type) and issubclass(part, Table)
        )
        return core_schema.with_info_wrap_validator_function(self._read, handler.generate_schema(table))

    def __get_pydantic_json_schema__(self, core: CoreSchema, handler: GetJsonSchemaHandler) -> Json:
        other = copy.deepcopy(self.other.schema)
        return {"anyOf": [*other.get("anyOf", [other]), handler(core)]}

    def _read(self, value: Any, inner: core_schema.ValidatorFunctionWrapHandler, info: ValidationInfo) -> Any:
        if isinstance(value, (dict, Table)):
            return inner(value)
        try:
            return self.other.function(value, unit_of(info))
        except PydanticCustomError:
            if _has_figures(value) or (self.lists and isinstance(value, tuple)):
                raise
            raise wrong(self.message) from None


def _has_figures(value: Any) -> bool:
    """A number, or text that was meant for one: the message of the number tells more than that of the choice."""
    if isinstance(value, str):
        return any(c.isdigit() for c in value)
    return isinstance(value, (int, float, Decimal)) and not isinstance(value, bool)


class ListOf:
    """Annotation on a tuple of ``count`` items: one message where it is anything else."""

    def __init__(self, count: int, message: str) -> None:
        self.count = count
        self.message = message

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_before_validator_function(self._check, handler(source))

    def _check(self, value: Any) -> Any:
        if not isinstance(value, (tuple, list)) or len(value) != self.count:
            raise wrong(self.message)
        return value
