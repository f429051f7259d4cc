"""How a finding becomes a sentence: its values, and the ways that a template may write them.

A template is text with ``{name}`` or ``{name:way}``. The ways, besides those of Python's own formats:

``len`` ``len.3`` ``len.3.4``  a length in the job's unit, places in mm and in inches: ``0.31 mm``, ``0.012 in``
``bare``                       the same without its unit, for the second of two lengths
``both``                       a length in both units, the job's first: ``279.40 mm (11.000 in)``
``signed``                     a length with its sign
``size``                       width and height, in both units: ``600.0 x 400.0 mm, 23.62 x 15.75 in``
``string``                     one string: ``string 6 (E2)``
``strings`` ``frets``          several, by number: ``strings 1, 2 and 5``
``each``                       a list of cases, one after another, each in the words of the entry's ``each``
``does``                       the verb to a list: ``does`` for one, ``do`` for several
``word``                       a choice: the words that the entry keeps for this value, or for ``*``, any other

A way that begins with a capital begins the sentence: ``String 6 (E2)``.
"""

from __future__ import annotations

import string
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from templategen.errors import OurBug
from templategen.units import Unit, both_units, inch_text, mm_text

LEAST_INCH_PLACES = 2


class OfString(NamedTuple):
    """A string as findings name it: its number, from 1, and its pitch."""

    number: int
    note: str


def capital(text: str) -> str:
    """The first letter alone made large: a pitch name keeps its own."""
    return text[:1].upper() + text[1:]


def listed(what: str, numbers: Sequence[int]) -> str:
    """``"string 3"``, ``"strings 1, 2 and 5"``; what: in the singular."""
    if len(numbers) == 1:
        return f"{what} {numbers[0]}"
    return f"{what}s {', '.join(map(str, numbers[:-1]))} and {numbers[-1]}"


def length_text(mm: float, unit: Unit, places: int = 2, inch_places: int | None = None) -> str:
    """A length in one unit. places: of mm; inches have one more, and two at least, unless told otherwise."""
    if unit == "in":
        return f"{inch_text(mm, max(places + 1, LEAST_INCH_PLACES) if inch_places is None else inch_places)} in"
    return f"{mm_text(mm, places)} mm"


def size_text(sides: Sequence[float], unit: Unit) -> str:
    """Width and height, in both units, the job's first."""
    mm_said = " x ".join(mm_text(side, 1) for side in sides) + " mm"
    inch_said = " x ".join(inch_text(side, 2) for side in sides) + " in"
    return f"{inch_said}, {mm_said}" if unit == "in" else f"{mm_said}, {inch_said}"


@dataclass(frozen=True)
class Words:
    """What an entry of the catalogue keeps besides its sentence.

    each: templates by name of a list; join: what stands between its cases. choices: by name, then by value, templates.
    """

    each: Mapping[str, str]
    join: str
    choices: Mapping[str, Mapping[str, str]]


def sentence(template: str, values: Mapping[str, Any], words: Words, unit: Unit) -> str:
    """The template with its values. Raises OurBug where a name or a choice is missing."""
    try:
        return _Writer(words, unit).vformat(template, (), values)
    except KeyError as error:
        raise OurBug(f"a finding's sentence lacks {error}: {template}") from error


class _Writer(string.Formatter):
    def __init__(self, words: Words, unit: Unit) -> None:
        self.words, self.unit = words, unit
        self.values: Mapping[str, Any] = {}
        self.name = ""

    def vformat(self, format_string: str, args: Sequence[Any], kwargs: Mapping[str, Any]) -> str:
        outer, self.values = self.values, kwargs
        try:
            return super().vformat(format_string, args, kwargs)
        finally:
            self.values = outer

    def get_value(self, key: int | str, args: Sequence[Any], kwargs: Mapping[str, Any]) -> Any:
        self.name = str(key)
        return kwargs[self.name]

    def format_field(self, value: Any, format_spec: str) -> str:
        way, *places = format_spec.split(".")
        write = _WAYS.get(way.lower())
        if write is None:
            return str(super().format_field(value, format_spec))
        text = write(self, value, [int(place) for place in places])
        return capital(text) if way[0].isupper() else text

    def length(self, value: float, places: list[int]) -> str:
        return length_text(value, self.unit, *places)

    def bare(self, value: float, places: list[int]) -> str:
        return self.length(value, places).rpartition(" ")[0]

    def signed(self, value: float, places: list[int]) -> str:
        text = self.length(value, places)
        return text if text.startswith("-") else f"+{text}"

    def both(self, value: float, places: list[int]) -> str:
        return both_units(value, *places, first=self.unit)

    def size(self, value: Sequence[float], places: list[int]) -> str:
        return size_text(value, self.unit)

    def one_string(self, value: OfString, places: list[int]) -> str:
        return f"string {value.number} ({value.note})"

    def strings(self, value: Sequence[int], places: list[int]) -> str:
        return listed("string", value)

    def frets(self, value: Sequence[int], places: list[int]) -> str:
        return listed("fret", value)

    def each(self, value: Sequence[Mapping[str, Any]], places: list[int]) -> str:
        template = self.words.each[self.name]
        return self.words.join.join(sentence(template, case, self.words, self.unit) for case in value)

    def does(self, value: Sequence[Any], places: list[int]) -> str:
        return "does" if len(value) == 1 else "do"

    def word(self, value: str, places: list[int]) -> str:
        choices = self.words.choices[self.name]
        return self.vformat(choices[value] if value in choices else choices["*"], (), self.values)


_WAYS: dict[str, Callable[[_Writer, Any, list[int]], str]] = {
    "len": _Writer.length,
    "bare": _Writer.bare,
    "signed": _Writer.signed,
    "both": _Writer.both,
    "size": _Writer.size,
    "string": _Writer.one_string,
    "strings": _Writer.strings,
    "frets": _Writer.frets,
    "each": _Writer.each,
    "does": _Writer.does,
    "word": _Writer.word,
}
