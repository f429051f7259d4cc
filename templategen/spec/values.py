"""The kinds of value a spec is written with, as pydantic types.

Lengths arrive in the file's units or with their own and leave as float mm; the unit of bare numbers comes in through
the validation context (``{"unit": "mm"}``). Every message says what is allowed; the loading room adds file, line, key
and the value given. Every kind also says what it looks like in JSON Schema.
"""

from __future__ import annotations

import copy
import math
import re
import unicodedata
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Annotated, Any, Generic, TypeVar

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler, ValidationError, ValidationInfo
from pydantic_core import CoreSchema, core_schema

from templategen import units
from templategen.errors import Key
from templategen.spec.table import all_wrong, sentences, wrong

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

Json = dict[str, Any]


def unit_of(info: ValidationInfo) -> units.Unit:
    """The unit of bare lengths in the file being read."""
    unit: units.Unit = (info.context or {}).get("unit", "mm")
    return unit


@dataclass(frozen=True)
class Read:
    """Annotation: the raw value is read by ``function(value, unit of bare lengths)``; ``schema`` is for editors."""

    function: Callable[[Any, units.Unit], Any]
    schema: Json

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        def read(value: Any, info: ValidationInfo) -> Any:
            return self.function(value, unit_of(info))

        return core_schema.with_info_plain_validator_function(read)

    def __get_pydantic_json_schema__(self, core: CoreSchema, handler: GetJsonSchemaHandler) -> Json:
        return copy.deepcopy(self.schema)

    def __hash__(self) -> int:
        return hash(self.function)


@dataclass(frozen=True)
class ValueLimit:
    """Annotation: a check on a number already read, and the same for editors."""

    check: Callable[[Any], bool]
    message: str
    schema: tuple[tuple[str, float], ...]

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        def checked(value: Any) -> Any:
            if not self.check(value):
                raise wrong(self.message)
            return value

        return core_schema.no_info_after_validator_function(checked, handler(source))

    def __get_pydantic_json_schema__(self, core: CoreSchema, handler: GetJsonSchemaHandler) -> Json:
        found = handler(core)
        for choice in found.get("anyOf", [found]):
            if "number" in choice.get("type", ()) or choice.get("type") == "integer":
                choice.update(self.schema)
        return found


# ---------------------------------------------------------------------------------------------- numbers and lengths


def _number(value: Any, unit: units.Unit) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float, Decimal)):
        raise wrong("must be a number, without quotes")
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        raise wrong("must be a finite number")
    return number


def _whole(value: Any, unit: units.Unit) -> int:
    if isinstance(value, bool) or not isinstance(value, int):
        raise wrong("must be a whole number, without quotes or decimal point")
    return value


def length_of(value: Any, unit: units.Unit) -> float:
    try:
        return units.parse_length(value, unit)
    except ValueError:
        pass
    if isinstance(value, (int, Decimal, float)) and not isinstance(value, bool):
        raise wrong("must be a finite number")
    why = units.why_not_a_length(value) if isinstance(value, str) else None
    raise wrong(f"is not a length; {why or f'write {units.ACCEPTED_FORMS}'}")


_UNIT = r"\s*(mm|cm|in|thou)"
LENGTH_TEXT = rf"^\s*[+-]?\s*((\d+(\s+|\s*-\s*))?\d+\s*/\s*\d+({_UNIT})?|(\d+(\.\d*)?|\.\d+){_UNIT})\s*$"
"""Only a fraction may go without a unit; whether the file is in inches a pattern cannot tell."""
_LENGTH_SCHEMA: Json = {"type": ["number", "string"], "pattern": LENGTH_TEXT}


THIN = 10.0
"""mm: lengths up to this are often said in thousandths of an inch."""


def _short(number: float) -> str:
    """To three decimals, without the zeros at their end."""
    return f"{number:.3f}".rstrip("0").rstrip(".")


@dataclass(frozen=True)
class LengthWithin:
    """Annotation: a length from ``low`` to ``high`` mm, where anything else is likely a slip of units."""

    low: float
    high: float

    @property
    def schema(self) -> Json:
        return _LENGTH_SCHEMA

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        def read(value: Any, info: ValidationInfo) -> float:
            return self.function(value, unit_of(info))

        return core_schema.with_info_plain_validator_function(read)

    def __get_pydantic_json_schema__(self, core: CoreSchema, handler: GetJsonSchemaHandler) -> Json:
        return copy.deepcopy(self.schema)

    def function(self, value: Any, unit: units.Unit) -> float:
        mm = length_of(value, unit)
        if self.low <= mm <= self.high:
            return mm
        inch = float(units.MM_PER_INCH)
        in_inches = f"{_short(self.low / inch)} to {_short(self.high / inch)} in"
        allowed = f"must be from {self.low:g} to {self.high:g} mm ({in_inches})"
        if isinstance(value, str):
            raise wrong(allowed)
        if unit == "mm" and self.low <= mm * inch <= self.high:
            hint = f'a bare number in this file is in mm; for inches write "{value} in", or units = "in" at the top'
        elif unit == "in" and self.low <= mm / inch <= self.high:
            hint = f'a bare number in this file is in inches; for mm write "{value} mm", or units = "mm" at the top'
        else:
            hint = "a bare number in this file is in " + ("mm" if unit == "mm" else "inches")
            if self.high <= THIN and self.low <= float(value) * inch / 1000 <= self.high:
                hint += f'; for thousandths of an inch write "{value} thou"'
        raise wrong(f"{allowed}; {hint}" if len(str(value)) <= 30 else allowed)


def within(low: float, high: float) -> ValueLimit:
    """Both ends allowed."""
    return ValueLimit(
        lambda n: low <= n <= high, f"must be from {low:g} to {high:g}", (("minimum", low), ("maximum", high))
    )


@dataclass(frozen=True)
class NumberWithin:
    """Annotation: a number from ``low`` to ``high``, for places where a table may stand instead."""

    low: float
    high: float

    @property
    def schema(self) -> Json:
        return {"type": "number", "minimum": self.low, "maximum": self.high}

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        def read(value: Any, info: ValidationInfo) -> float:
            return self.function(value, unit_of(info))

        return core_schema.with_info_plain_validator_function(read)

    def __get_pydantic_json_schema__(self, core: CoreSchema, handler: GetJsonSchemaHandler) -> Json:
        return self.schema

    def function(self, value: Any, unit: units.Unit) -> float:
        number = _number(value, unit)
        if not self.low <= number <= self.high:
            raise wrong(f"must be from {self.low:g} to {self.high:g}")
        return number


_POSITIVE = ValueLimit(lambda n: n > 0, "must be more than 0", (("exclusiveMinimum", 0),))
_NOT_NEGATIVE = ValueLimit(lambda n: n >= 0, "must be 0 or more", (("minimum", 0),))

Number = Annotated[float, Read(_number, {"type": "number"})]
PositiveNumber = Annotated[Number, _POSITIVE]
Share = Annotated[Number, within(0, 1)]
Whole = Annotated[int, Read(_whole, {"type": "integer"})]
Length = Annotated[float, Read(length_of, _LENGTH_SCHEMA)]
PositiveLength = Annotated[Length, _POSITIVE]
LengthFromZero = Annotated[Length, _NOT_NEGATIVE]


LONGEST_TEXT = 160


def _text(value: Any, unit: units.Unit) -> str:
    if not isinstance(value, str):
        raise wrong("must be text in quotes")
    strange = next((c for c in value if not c.isprintable()), None)
    if strange is not None:
        name = unicodedata.name(strange, "") or "a control character"
        raise wrong(f"must be one line of text; take out U+{ord(strange):04X} ({name.lower()})")
    if not value.strip():
        raise wrong("must be one line of text that is not empty")
    if len(value) > LONGEST_TEXT:
        raise wrong(f"must be at most {LONGEST_TEXT} characters long, to fit its sheets; it has {len(value)}")
    return value


Text = Annotated[str, Read(_text, {"type": "string", "minLength": 1, "maxLength": LONGEST_TEXT})]


# ----------------------------------------------------------------------------------------------------------- pitch

_SEMITONE = {"C": -9, "D": -7, "E": -5, "F": -4, "G": -2, "A": 0, "B": 2}  # from the A of the same octave
_PITCH_TEXT = r"^([A-Ga-g])(##?|bb?)?(-?\d)$"
_PITCH = re.compile(_PITCH_TEXT)


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

    @classmethod
    def __get_pydantic_json_schema__(cls, core: CoreSchema, handler: GetJsonSchemaHandler) -> Json:
        return {"anyOf": [{"type": "number", "exclusiveMinimum": 0}, {"type": "string", "pattern": _PITCH_TEXT}]}


def read_pitch(value: Any) -> Pitch:
    if isinstance(value, Pitch):
        return value
    if isinstance(value, str):
        match = _PITCH.fullmatch(value)
        if match:
            letter, accidentals, octave = match.group(1), match.group(2) or "", match.group(3)
            step = _SEMITONE[letter.upper()] + accidentals.count("#") - accidentals.count("b")
            return Pitch(value, semitones=step + 12 * (int(octave) - 4))
    elif not isinstance(value, bool) and isinstance(value, (int, float, Decimal)):
        if not (math.isfinite(value) and 1 <= value <= 20_000):
            raise wrong("must be from 1 to 20000 Hz")
        return Pitch(f"{float(value):g} Hz", hz=float(value))
    raise wrong('is not a pitch; write a scientific pitch name such as "E4", "F#2" or "Bb3", or a number in Hz')


# ------------------------------------------------------------------------------------------------ over the strings

Item = TypeVar("Item")
SIDES = ("bass", "treble")


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
        import numpy as np

        share = np.asarray(toward_bass, dtype=float)
        if self.each is not None:
            return np.array(self.each)
        if self.bass == self.treble:
            return np.full(share.shape, self.bass)
        return self.treble + (self.bass - self.treble) * share


class PerString:
    """Annotation on ``OverStrings``: reads one ``item``, { bass, treble } of them, or a list of them."""

    def __init__(self, item: Any) -> None:
        self.item = item

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        # With the item's schema as the inner one, a wrap function can read every item by it and say where it stood.
        return core_schema.no_info_wrap_validator_function(_gather, handler.generate_schema(self.item))

    def __get_pydantic_json_schema__(self, core: CoreSchema, handler: GetJsonSchemaHandler) -> Json:
        one: Json = handler(core)
        sides = {side: copy.deepcopy(one) for side in SIDES}
        return {
            "anyOf": [
                *one.get("anyOf", [one]),
                {"type": "object", "properties": sides, "required": list(SIDES), "additionalProperties": False},
                {"type": "array", "items": copy.deepcopy(one), "minItems": 1},
            ]
        }


def _gather(value: Any, handler: core_schema.ValidatorFunctionWrapHandler) -> OverStrings[Any]:
    if isinstance(value, OverStrings):
        return value
    errors: list[tuple[Key, str]] = []

    def read(place: str | int, item: Any) -> float:
        try:
            return float(handler(item, place))
        except ValidationError as error:
            errors.extend(sentences(error))
            return math.nan

    if isinstance(value, dict):
        for side in value.keys() - set(SIDES):
            errors.append(((side,), "is not a side; the sides are bass and treble"))
        read_sides = {side: read(side, value[side]) for side in SIDES if side in value}
        if len(read_sides) == 1:
            (absent,) = set(SIDES) - set(read_sides)
            errors.append(((absent,), "missing; give both sides, bass and treble, or one value for all strings"))
        if not value:
            raise wrong("is empty; give one value, { bass = …, treble = … }, or a list, treble-side string first")
        if errors:
            raise all_wrong("sides", errors)
        return OverStrings(read_sides["bass"], read_sides["treble"])
    if isinstance(value, (list, tuple)):
        if not value:
            raise wrong("is empty; give one value for each string, treble-side string first")
        each = tuple(read(place, item) for place, item in enumerate(value))
        if errors:
            raise all_wrong("list", errors)
        return OverStrings(each[-1], each[0], each)
    one = float(handler(value))
    return OverStrings(one, one)
