"""The base of every table, which turns what pydantic finds into our sentences.

Terms
-----
sentence  what a user reads about one key: what is wrong, what is allowed, what to do.
draft     a table of which some keys could not be read. It is a real instance of its class that lacks those attributes,
          so that checks over several keys can still run on the rest and every problem of a file is told at once.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any, ClassVar, Self, TypeVar, get_args

from pydantic import (
    BaseModel,
    ConfigDict,
    ModelWrapValidatorHandler,
    ValidationError,
    ValidationInfo,
    ValidatorFunctionWrapHandler,
    field_validator,
    model_validator,
)
from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails, InitErrorDetails, PydanticCustomError

from templategen.errors import Key

_OURS = "sentence"


def wrong(message: str) -> PydanticCustomError:
    """An error whose text is the message; braces in it are taken literally."""
    return PydanticCustomError(_OURS, "{text}", {"text": message})


def all_wrong(title: str, errors: Iterable[tuple[Key, str]]) -> ValidationError:
    """Several sentences at once, each with the path of its key below the value being read."""
    return ValidationError.from_exception_data(
        title, [InitErrorDetails(type=wrong(message), loc=key, input=None) for key, message in errors]
    )


def sentences(error: ValidationError) -> Iterator[tuple[Key, str]]:
    """Path and sentence of everything in ``error``."""
    for each in error.errors(include_url=False, include_input=False):
        yield each["loc"], each["msg"]


@dataclass
class _Draft:
    values: dict[str, Any] = field(default_factory=dict)
    inner: list[Table] = field(default_factory=list)  # tables met while reading the current key, in order


class Drafts:
    """Collects drafts during one validation; handed in as ``context["drafts"]``.

    ``outermost`` is the outermost table, whole or a draft, once the validation is over.
    """

    def __init__(self) -> None:
        self._open: list[_Draft] = []
        self.outermost: Table | None = None

    @contextmanager
    def table(self) -> Iterator[_Draft]:
        draft = _Draft()
        self._open.append(draft)
        try:
            yield draft
        finally:
            self._open.pop()

    def done(self, table: Table) -> None:
        if self._open:
            self._open[-1].inner.append(table)
        else:
            self.outermost = table

    def read(self, name: str, raw: Any, handler: ValidatorFunctionWrapHandler) -> Any:
        draft = self._open[-1]
        draft.inner = []
        try:
            draft.values[name] = handler(raw)
        except ValidationError:
            if isinstance(raw, dict) and len(draft.inner) == 1:
                draft.values[name] = draft.inner[0]
            elif isinstance(raw, tuple) and raw and len(draft.inner) == len(raw):
                draft.values[name] = tuple(draft.inner)
            raise
        return draft.values[name]


class Table(BaseModel):
    """Base of every table of a spec: strict, frozen, no unknown keys."""

    called: ClassVar[str] = "this table"
    model_config = ConfigDict(strict=True, frozen=True, extra="forbid", arbitrary_types_allowed=True, defer_build=True)

    @field_validator("*", mode="wrap", check_fields=False)
    @classmethod
    def _read_key(cls, raw: Any, handler: ValidatorFunctionWrapHandler, info: ValidationInfo) -> Any:
        drafts: Drafts | None = (info.context or {}).get("drafts")
        if drafts is None or info.field_name is None:
            return handler(raw)
        return drafts.read(info.field_name, raw, handler)

    @model_validator(mode="wrap")
    @classmethod
    def _read_table(cls, raw: Any, handler: ModelWrapValidatorHandler[Self], info: ValidationInfo) -> Self:
        drafts: Drafts = (info.context or {}).get("drafts") or Drafts()
        with drafts.table() as draft:
            error = None
            try:
                table = handler(raw)
            except ValidationError as found:
                homes = (info.context or {}).get("homes", {})
                table = cls._of_what_was_read(raw, draft, homes)
                meant = cls._meant(raw, homes).values()
                told = [
                    (each["loc"], cls._sentence(each, homes))
                    for each in found.errors(include_url=False)
                    if not (each["type"] == "missing" and each["loc"][0] in meant)
                ]
                error = all_wrong(cls.__name__, told)
        if error is None or isinstance(raw, dict):
            drafts.done(table)
        if error is not None:
            raise error
        return table

    @classmethod
    def _meant(cls, raw: Any, homes: Mapping[str, Sequence[str]]) -> dict[str, str]:
        """Keys that are none of the table's, and the absent one that each looks like."""
        if not isinstance(raw, dict):
            return {}
        known = cls.entries()
        strange = {key: _close(key, known) for key in raw if key not in known and key not in homes}
        return {key: near for key, near in strange.items() if near is not None and near not in raw}

    @classmethod
    def _of_what_was_read(cls, raw: Any, draft: _Draft, homes: Mapping[str, Sequence[str]]) -> Self:
        given = set(raw) | set(cls._meant(raw, homes).values()) if isinstance(raw, dict) else set()
        values = {
            name: info.get_default(call_default_factory=True, validated_data={})
            for name, info in cls.model_fields.items()
            if not info.is_required() and (info.alias or name) not in given
        }
        table = cls.__new__(cls)
        object.__setattr__(table, "__dict__", values | draft.values)
        object.__setattr__(
            table, "__pydantic_fields_set__", {n for n, i in cls.model_fields.items() if (i.alias or n) in given}
        )
        object.__setattr__(table, "__pydantic_extra__", None)
        object.__setattr__(table, "__pydantic_private__", None)
        return table

    @classmethod
    def entries(cls) -> dict[str, FieldInfo]:
        """The keys as they are written in the file, and what is known of each."""
        return {info.alias or name: info for name, info in cls.model_fields.items()}

    @classmethod
    def _sentence(cls, error: ErrorDetails, homes: Mapping[str, Sequence[str]]) -> str:
        """What to tell about one thing that pydantic found wrong. homes: key to the tables that have it."""
        kind = error["type"]
        if kind == _OURS:
            return error["msg"]
        key = str(error["loc"][-1]) if error["loc"] else ""
        info = cls.entries().get(str(error["loc"][0])) if error["loc"] else None
        if kind == "missing":
            return _missing(key, info)
        if kind == "extra_forbidden":
            offer = nearest(key, cls.entries(), homes=homes.get(key, ()))
            return f"is not a key of {cls.called}; {offer}"
        if kind == "literal_error":
            return _choices(error)
        if kind in ("model_type", "model_attributes_type"):
            return f"must be a table, for example: {toml(example(cls))}"
        return _TYPES.get(kind, f"cannot be used: {error['msg']}")


_TYPES = {
    "bool_type": "must be true or false, without quotes",
    "tuple_type": "must be a list in square brackets",
}


def example(table: type[Table]) -> dict[str, Any]:
    """The required keys of a table with what they may be; of a table that requires none, the first that says so."""
    shown = {key: (info.examples or [info.default])[0] for key, info in table.entries().items()}
    required = {key: shown[key] for key, info in table.entries().items() if info.is_required()}
    return required or dict([(key, value) for key, value in shown.items() if value is not None][:1])


def _missing(key: str, info: FieldInfo | None) -> str:
    value = info.examples[0] if info is not None and info.examples else "…"
    if isinstance(value, dict):
        inner = ", ".join(f"{name} = {toml(each)}" for name, each in value.items())
        return f"missing; add the table [{key}], for example with: {inner}"
    return f"missing; for example: {key} = {toml(value)}"


def table_in(annotation: Any) -> type[Table] | None:
    """The first table that an annotation speaks of."""
    if isinstance(annotation, type) and issubclass(annotation, Table):
        return annotation
    return next((found for part in get_args(annotation) if (found := table_in(part)) is not None), None)


def nearest(word: str, known: Iterable[str], what: str = "keys", homes: Sequence[str] = ()) -> str:
    """Offer the known word that looks most like ``word``, or say where it belongs, or list all known words."""
    known = list(known)
    close = _close(word, known)
    if homes:
        return f"it belongs in {' or '.join(homes)}" + (f", or did you mean {close}?" if close else "")
    return f"did you mean {close}?" if close else f"the {what} are: {', '.join(known)}"


def _close(word: str, known: Iterable[str]) -> str | None:
    return next(iter(difflib.get_close_matches(word, list(known), 1, 0.6)), None)


def _choices(error: ErrorDetails) -> str:
    expected = error["ctx"]["expected"].replace("'", '"')
    given = error["input"]
    words = [word.strip('"') for word in expected.replace(" or ", ", ").split(", ")]
    close = difflib.get_close_matches(given, words, 1, 0.6) if isinstance(given, str) else []
    return f"must be {expected}" + (f'; did you mean "{close[0]}"?' if close else "")


def toml(value: Any) -> str:
    """A value as one would write it in the file."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f'"{value}"'
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {toml(each)}" for key, each in value.items()) + " }"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(toml(each) for each in value) + "]"
    return f"{value:g}" if isinstance(value, float) else str(value)


AnyTable = TypeVar("AnyTable", bound=Table)


def without(table: AnyTable, name: str) -> AnyTable:
    """A draft of ``table`` that lacks one attribute, so that no check looks at it."""
    draft = table.model_copy()
    draft.__dict__.pop(name, None)
    return draft
