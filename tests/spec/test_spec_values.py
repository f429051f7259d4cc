"""Kinds of value: pitches against published tables, values over the strings, one clean message for each kind."""

from __future__ import annotations

import tomllib
from decimal import Decimal
from typing import Annotated, Any, Literal, get_args, get_origin

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter, ValidationError

from templategen.errors import Key
from templategen.spec.choices import OrWord
from templategen.spec.models import EndMill, Nut, Radius, Shop, Spacing, StationName, Strings
from templategen.spec.table import Table, sentences
from templategen.spec.values import (
    Length,
    LengthFromZero,
    LengthWithin,
    Number,
    OverStrings,
    PerString,
    PositiveLength,
    Share,
    Whole,
    read_pitch,
    within,
)


def told(kind: Any, value: Any, unit: str = "mm") -> list[tuple[Key, str]]:
    with pytest.raises(ValidationError) as caught:
        TypeAdapter(kind).validate_python(value, context={"unit": unit})
    return list(sentences(caught.value))


def read(kind: Any, value: Any, unit: str = "mm") -> Any:
    return TypeAdapter(kind).validate_python(value, context={"unit": unit})


# CRC Handbook of Chemistry and Physics, section "Musical scales" (E2 to E6), and Suits, Michigan Tech (E1 to B3):
# equal temperament at A4 = 440 Hz (ISO 16:1975), printed to two or three places.
@pytest.mark.parametrize(
    ("note", "hz", "places"),
    [
        ("E2", 82.407, 3), ("F2", 87.307, 3), ("C4", 261.63, 2), ("E4", 329.63, 2), ("C6", 1046.50, 2),
        ("E6", 1318.51, 2), ("E1", 41.20, 2), ("A1", 55.00, 2), ("B1", 61.74, 2), ("D2", 73.42, 2), ("G2", 98.00, 2),
        ("A2", 110.00, 2), ("D3", 146.83, 2), ("G3", 196.00, 2), ("B3", 246.94, 2), ("A4", 440, 9),
    ],
)  # fmt: skip
def test_pitch_against_the_tables(note: str, hz: float, places: int) -> None:
    assert read_pitch(note).frequency_hz(440) == pytest.approx(hz, abs=0.5 * 10**-places)


def test_pitch_names() -> None:
    # OEIS A329211 gives E4 to ten figures
    assert read_pitch("E4").frequency_hz(440) == pytest.approx(329.6275569128, abs=1e-9)
    assert read_pitch("Bb3").semitones == read_pitch("A#3").semitones == -11
    assert read_pitch("Cb4").semitones == read_pitch("B3").semitones
    assert read_pitch("B#3").semitones == read_pitch("C4").semitones
    assert read_pitch("C-1").semitones == -69
    with pytest.raises(ValueError, match="is not a pitch"):
        read_pitch("E4\n")
    assert read_pitch("e4").frequency_hz(432) == pytest.approx(432 * 2 ** (-5 / 12))


def test_pitch_in_hz_ignores_the_reference() -> None:
    for value in (110, 110.0, Decimal("110")):
        assert read_pitch(value).frequency_hz(415) == 110.0


MARGIN = Annotated[OverStrings[float], PerString(LengthFromZero)]


def test_over_the_strings() -> None:
    assert read(MARGIN, 3) == OverStrings(3, 3)
    assert read(MARGIN, "1/8 in") == OverStrings(3.175, 3.175)
    assert read(MARGIN, {"bass": Decimal("0.1"), "treble": "3 mm"}, "in") == OverStrings(2.54, 3)
    for sequence in ([1, Decimal("1.5"), "2 mm"], (1, Decimal("1.5"), "2 mm")):
        assert read(MARGIN, sequence) == OverStrings(2, 1, (1, 1.5, 2))


@pytest.mark.parametrize(
    ("value", "problems"),
    [
        (-1, [((), "must be 0 or more")]),
        ({"bass": -1, "treble": -2}, [(("bass",), "must be 0 or more"), (("treble",), "must be 0 or more")]),
        ({"treble": 1}, [(("bass",), "missing; give both sides, bass and treble, or one value for all strings")]),
        ({}, [((), "is empty; give one value, { bass = …, treble = … }, or a list, treble-side string first")]),
        ([], [((), "is empty; give one value for each string, treble-side string first")]),
        ([1, -1, 1, -2], [((1,), "must be 0 or more"), ((3,), "must be 0 or more")]),
    ],
)
def test_over_the_strings_goes_wrong(value: object, problems: list[tuple[Key, str]]) -> None:
    assert told(MARGIN, value) == problems


def test_spread_over_the_strings() -> None:
    shares = [0.0, 0.25, 1.0]
    np.testing.assert_array_equal(OverStrings(2.0, 1.0).spread(shares), [1.0, 1.25, 2.0])
    np.testing.assert_array_equal(OverStrings(0.1, 0.1).spread(shares), [0.1, 0.1, 0.1])
    np.testing.assert_array_equal(OverStrings(3.0, 1.0, (1.0, 5.0, 3.0)).spread(shares), [1.0, 5.0, 3.0])


@pytest.mark.parametrize("kind", [Length, PositiveLength, Number, Share, Spacing, Radius])
@pytest.mark.parametrize("value", [True, None, {}, [], (), {"a": 1}, "x", "", b"1", 1j, float("nan"), Decimal("inf")])
def test_junk_gets_one_sentence(kind: Any, value: object) -> None:
    ((key, message),) = told(kind, value)
    assert key == ()
    assert message.startswith(("must be ", "is not a length; write a number in the file's units, or text such as "))


@pytest.mark.parametrize("number", [1, 1.0, Decimal("1"), Decimal("1.0")])
def test_every_kind_of_number_is_a_number(number: object) -> None:
    assert read(Number, number) == read(Length, number) == read(Share, number) == 1.0
    assert type(read(Length, number)) is type(read(Number, number)) is float


def test_limits() -> None:
    assert told(PositiveLength, 0) == [((), "must be more than 0")]
    assert told(Share, 1.01) == [((), "must be from 0 to 1")]
    assert told(Annotated[Whole, within(1, 36)], 37) == [((), "must be from 1 to 36")]
    assert told(Whole, 3.0) == [((), "must be a whole number, without quotes or decimal point")]


def test_a_slip_of_units_is_seen_from_both_sides() -> None:
    scale = Annotated[float, LengthWithin(100, 2000)]
    (inches,) = told(scale, Decimal("25.5"), "mm")
    assert inches[1].endswith(
        '; a bare number in this file is in mm; for inches write "25.5 in", or units = "in" at the top'
    )
    (mm,) = told(scale, 648, "in")
    assert mm[1].endswith(
        '; a bare number in this file is in inches; for mm write "648 mm", or units = "mm" at the top'
    )
    assert told(scale, "25.5 mm") == [((), "must be from 100 to 2000 mm (3.937 to 78.74 in)")]
    assert told(scale, 3, "mm")[0][1].endswith("a bare number in this file is in mm")


def test_a_word_or_something() -> None:
    station = Annotated[StationName | Annotated[Whole, within(1, 36)], OrWord("nut", "last", other="a fret")]
    assert (read(station, "nut"), read(station, 5)) == ("nut", 5)
    assert told(station, "lst") == [((), 'must be "nut", "last" or a fret; did you mean "last"?')]
    assert told(station, 40) == [((), "must be from 1 to 36")]


def test_words_of_the_annotation_are_those_of_the_type() -> None:
    """OrWord lists its words a second time; they must agree with the Literal beside it."""

    seen = set()
    for table in all_tables(Table):
        for name, info in table.model_fields.items():
            for mark, annotation in marked(info.annotation, info.metadata):
                assert set(mark.words) == literals(annotation), (table, name)
                seen.add(name)
    assert seen >= {"radius", "seat_radius", "spacing", "slot_aim", "compensation", "saddle", "at"}


def marked(annotation: Any, metadata: Any = ()) -> list[tuple[OrWord, Any]]:
    """Every OrWord in an annotation, with what it annotates."""
    here = [(mark, annotation) for mark in metadata if isinstance(mark, OrWord)]
    if hasattr(annotation, "__metadata__"):
        return here + marked(annotation.__origin__, annotation.__metadata__)
    return here + [found for part in get_args(annotation) for found in marked(part)]


def literals(annotation: Any) -> set[str]:
    if get_origin(annotation) is Literal:
        return set(get_args(annotation))
    return {word for part in get_args(annotation) for word in literals(part)}


def all_tables(base: type[Table]) -> list[type[Table]]:
    return [table for child in base.__subclasses__() for table in (child, *all_tables(child))]


def test_lists_of_the_toml_parser_arrive_as_tuples() -> None:
    raw = tomllib.loads('set = [{ gauge = "0.010 in", note = "E4" }]\ncourses = [[1, 2]]')
    with pytest.raises(ValidationError):
        Strings.model_validate(raw)  # strict: lists become tuples in the loading room, and only there
    assert Strings.model_validate({"set": tuple(raw["set"]), "courses": ((1, 2),)}).courses == ((1, 2),)


def test_tables_are_frozen_and_built_by_hand_too() -> None:
    nut = Nut(thickness=3.4)
    with pytest.raises(ValidationError):
        nut.thickness = 3.5  # type: ignore[misc]
    assert EndMill(shape="ball", diameter=1.0).diameter == 1.0
    assert Shop().paper == "A4"


@given(st.recursive(st.none() | st.booleans() | st.integers() | st.floats() | st.text(), st.lists, max_leaves=5))
def test_whatever_is_given_the_answer_is_a_nut_or_sentences(value: object) -> None:
    """No value of any key makes anything but sentences of ours."""
    messages = []
    for key in Nut.entries():
        try:
            Nut.model_validate({"thickness": 3.4, key: value})
        except ValidationError as error:
            messages += [message for _, message in sentences(error)]
    assert not [message for message in messages if message.startswith("cannot be used")]
