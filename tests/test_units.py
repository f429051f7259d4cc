"""Lengths as text and numbers: exact to the last bit, and nothing else accepted."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from templategen import units

# The international inch is 25.4 mm exactly (ISO 80000-3; ASME Y14.1 for paper in inches).
FORMS = [
    ("25.5 in", Fraction(51, 2) * Fraction("25.4")),
    ("25 1/2 in", Fraction(51, 2) * Fraction("25.4")),
    ("1 11/16 in", Fraction(27, 16) * Fraction("25.4")),
    ("1-11/16 in", Fraction(27, 16) * Fraction("25.4")),
    ("1 - 11/16 in", Fraction(27, 16) * Fraction("25.4")),
    ("11/16in", Fraction(11, 16) * Fraction("25.4")),
    ("0.010 in", Fraction("0.254")),
    ("10 thou", Fraction("0.254")),
    ("648 mm", Fraction(648)),
    ("64.8 cm", Fraction(648)),
    (".5mm", Fraction(1, 2)),
    ("5. mm", Fraction(5)),
    ("-0.5 mm", Fraction(-1, 2)),
    ("- 1 1/2 mm", Fraction(-3, 2)),
    ("+2 mm", Fraction(2)),
    ("  2 mm ", Fraction(2)),
]


@pytest.mark.parametrize(("text", "mm"), FORMS)
def test_accepted_forms(text: str, mm: Fraction) -> None:
    assert units.parse_length(text, "mm") == units.parse_length(text, "in") == float(mm)


@pytest.mark.parametrize(
    ("value", "unit", "mm"),
    [
        (648, "mm", 648.0),
        (25.5, "in", 647.7),
        (Decimal("25.5"), "in", 647.7),
        (Decimal("0.1"), "mm", 0.1),
        (0, "in", 0.0),
        ("24 29/32", "in", 632.61875),
        ("1-11/16", "in", 42.8625),
        ("3/32", "in", 2.38125),
    ],
)
def test_bare_numbers_are_in_the_files_unit(value: object, unit: units.Unit, mm: float) -> None:
    assert units.parse_length(value, unit) == mm


JUNK = [
    "", " ", "mm", "in", "25.5", "25,5 in", "25.5 inch", '25.5"', "25.5 IN", "25 1/0 in", "25 1/0", "1/2/3 in",
    "1e2 mm", "0x10 mm", "--5 mm", "5 mm mm", "5 6 mm", "5 - 6 mm", "inf mm", "nan mm", "½ in", "٣ mm", "5 mm\n6",
    "1_000 mm", "5 m", True, False, None, [], {},
    float("nan"), float("inf"), -float("inf"), Decimal("nan"), Decimal("inf"),
    Decimal("1e400"), Decimal("1e999999999"), Decimal("-1e-999999999"), 10**400, "9" * 400 + " mm", "9" * 5000 + " mm",
]  # fmt: skip


@pytest.mark.parametrize("value", JUNK, ids=lambda value: repr(value)[:20])
@pytest.mark.parametrize("unit", ["mm", "in"])
def test_anything_else_is_turned_away(value: object, unit: units.Unit) -> None:
    with pytest.raises(ValueError, match=r"\S"):
        units.parse_length(value, unit)


def test_a_fraction_without_a_unit_is_not_taken_for_mm() -> None:
    """3/32 of an inch, written into a file in mm, must not become a string height of 0.094 mm."""
    with pytest.raises(ValueError, match="not a length"):
        units.parse_length("3/32", "mm")


@given(st.integers(0, 99), st.integers(0, 200), st.integers(1, 128), st.sampled_from(["in", "mm", "cm", "thou"]))
def test_fractions_are_exact_before_the_one_conversion(whole: int, over: int, under: int, unit: str) -> None:
    mm_per = {"mm": Fraction(1), "cm": Fraction(10), "in": Fraction(254, 10), "thou": Fraction(254, 10_000)}[unit]
    for join in (" ", "-", " - "):
        found = units.parse_length(f"{whole}{join}{over}/{under} {unit}", "mm")
        assert found == float((whole + Fraction(over, under)) * mm_per)


@given(st.decimals(-2000, 2000, allow_nan=False, places=4))
def test_a_decimal_reads_the_same_bare_and_as_text(number: Decimal) -> None:
    text = f"{number:f}"
    assert units.parse_length(number, "in") == units.parse_length(f"{text} in", "mm")
    assert units.parse_length(number, "mm") == units.parse_length(f"{text} mm", "in") == float(Fraction(text))


@given(st.text(max_size=12))
def test_text_is_a_length_or_a_value_error(text: str) -> None:
    try:
        found = units.parse_length(text, "mm")
    except ValueError:
        return
    assert found == found
    assert text.strip()[-2:] in ("mm", "cm", "in", "ou")


def test_printing() -> None:
    assert units.mm_text(279.4) == "279.40"
    assert units.mm_text(-0.001) == "0.00"
    assert units.mm_text(-0.006) == "-0.01"
    assert units.inch_text(279.4) == "11.0000"
    assert units.both_units(279.4) == "279.40 mm (11.000 in)"


@given(st.floats(-5000, 5000))
def test_inches_and_back(mm: float) -> None:
    assert units.from_inches(units.inches(mm)) == pytest.approx(mm, abs=1e-9)
