"""The kinds of value a spec is written with, as pydantic types.

Lengths arrive in the file's units or with their own and leave as float mm; the unit of bare numbers comes in through
the validation context (``{"unit": "mm"}``). Every message says what is allowed; the loading room adds file, line, key
and the value given.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Any, Generic, TypeVar

import numpy as np
from numpy.typing import NDArray
from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, GetCoreSchemaHandler, ValidationInfo
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from templategen import units


class Table(BaseModel):
    """Base of every table of a spec: strict, frozen, no unknown keys."""

    model_config = ConfigDict(strict=True, frozen=True, extra="forbid", arbitrary_types_allowed=True)


def wrong(message: str, code: str = "value") -> PydanticCustomError:
    """An error whose text is the message; braces in it are taken literally."""
    return PydanticCustomError(code, "{text}", {"text": message})  # type: ignore[arg-type]


# ---------------------------------------------------------------------------------------------- numbers and lengths


def _number(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float, Decimal)):
        raise wrong("is not a number")
    number = float(value)
    if not np.isfinite(number):
        raise wrong("must be a finite number")
    return number


def _length(value: Any, info: ValidationInfo) -> float:
    unit: units.Unit = (info.context or {}).get("unit", "mm")
    try:
        return units.parse_length(value, unit)
    except ValueError:
        raise wrong(f"is not a length; write {units.ACCEPTED_FORMS}") from None


def _positive(value: float) -> float:
    if value <= 0:
        raise wrong("must be more than 0")
    return value


def _not_negative(value: float) -> float:
    if value < 0:
        raise wrong("must be 0 or more")
    return value


def within(low: float, high: float) -> AfterValidator:
    """Both ends allowed."""

    def check(value: float) -> float:
        if not low <= value <= high:
            raise wrong(f"must be from {low:g} to {high:g}")
        return value

    return AfterValidator(check)


def _whole(value: Any) -> int:
    if isinstance(value, bool) or not isinstance(value, int):
        raise wrong("is not a whole number")
    return value


Number = Annotated[float, BeforeValidator(_number)]
Share = Annotated[Number, within(0, 1)]
Angle = Annotated[Number, within(-90, 90)]
Whole = Annotated[int, BeforeValidator(_whole)]
Length = Annotated[float, BeforeValidator(_length)]
PositiveLength = Annotated[Length, AfterValidator(_positive)]
LengthFromZero = Annotated[Length, AfterValidator(_not_negative)]
PositiveNumber = Annotated[Number, AfterValidator(_positive)]


# ----------------------------------------------------------------------------------------------------------- pitch

_SEMITONE = {"C": -9, "D": -7, "E": -5, "F": -4, "G": -2, "A": 0, "B": 2}  # from the A of the same octave
_PITCH = re.compile(r"^([A-Ga-g])([#b]{0,2})(-?\d{1,2})$")


@dataclass(frozen=True)
class Pitch:
    """A pitch by scientific pitch name (ISO 16: A4 is 440 Hz unless the spec says otherwise) or in Hz.

    ``semitones`` counts from A4 and is None where the pitch was given in Hz.
    """

    text: str
    semitones: int | None = None
    hz: float | None = None

    def frequency_hz(self, a4_hz: float) -> float:
        if self.semitones is not None:
            return float(a4_hz * 2.0 ** (self.semitones / 12))
        assert self.hz is not None
        return self.hz

    @classmethod
    def __get_pydantic_core_schema__(cls, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(read_pitch)


def read_pitch(value: Any) -> Pitch:
    if isinstance(value, Pitch):
        return value
    if isinstance(value, str):
        match = _PITCH.match(value.strip())
        if match:
            letter, accidentals, octave = match.groups()
            step = _SEMITONE[letter.upper()] + accidentals.count("#") - accidentals.count("b")
            return Pitch(value.strip(), semitones=step + 12 * (int(octave) - 4))
    elif not isinstance(value, bool) and isinstance(value, (int, float, Decimal)) and 0 < value < 100_000:
        return Pitch(f"{float(value):g} Hz", hz=float(value))
    raise wrong('is not a pitch; write a scientific pitch name such as "E4", "F#2" or "Bb3", or a number in Hz')


# ------------------------------------------------------------------------------------------------ over the strings

Item = TypeVar("Item")


@dataclass(frozen=True)
class OverStrings(Generic[Item]):
    """One value for all strings, one for each side, or a list with the treble-side string first.

    ``bass`` and ``treble`` are equal where one value was given; ``each`` is the list where one was given.
    """

    bass: float
    treble: float
    each: tuple[float, ...] | None = None

    def spread(self, toward_bass: Sequence[float] | NDArray[np.float64]) -> NDArray[np.float64]:
        """The value for every string.

        toward_bass: per string, 0 at the treble-side course and 1 at the bass-side course; shape (strings,), treble
        side first. Returns shape (strings,).
        """
        share = np.asarray(toward_bass, dtype=float)
        if self.each is not None:
            return np.array(self.each)
        if self.bass == self.treble:
            return np.full(share.shape, self.bass)
        return self.treble + (self.bass - self.treble) * share

    @property
    def all_values(self) -> tuple[float, ...]:
        return self.each if self.each is not None else (self.bass, self.treble)

    @classmethod
    def same(cls, value: float) -> OverStrings[Any]:
        return cls(value, value)

    @classmethod
    def __get_pydantic_core_schema__(cls, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        (item,) = source.__args__
        one = handler.generate_schema(item)
        sides = core_schema.typed_dict_schema(
            {
                "bass": core_schema.typed_dict_field(one, required=True),
                "treble": core_schema.typed_dict_field(one, required=True),
            },
            extra_behavior="forbid",
        )
        each = core_schema.list_schema(one, min_length=1)
        choice = core_schema.tagged_union_schema(
            {"one": one, "sides": sides, "each": each, "done": core_schema.is_instance_schema(OverStrings)},
            discriminator=_shape_of,
        )
        return core_schema.no_info_after_validator_function(_gather, choice)


def _shape_of(value: Any) -> str:
    if isinstance(value, OverStrings):
        return "done"
    if isinstance(value, dict):
        return "sides"
    return "each" if isinstance(value, list) else "one"


def _gather(value: Any) -> OverStrings[Any]:
    if isinstance(value, OverStrings):
        return value
    if isinstance(value, dict):
        return OverStrings(value["bass"], value["treble"])
    if isinstance(value, list):
        return OverStrings(value[-1], value[0], tuple(value))
    return OverStrings(value, value)
