"""Text and numbers to millimetres and back: the only room that knows inches.

A length is read as an exact fraction and turned into millimetres once, at the end, so that ``"25 1/2 in"``,
``"25.5 in"`` and ``647.7`` name the same float to the last bit.
"""

from __future__ import annotations

import math
import re
from decimal import Decimal
from fractions import Fraction
from typing import Literal

Unit = Literal["mm", "in"]

MM_PER_INCH = Fraction(254, 10)  # exact since 1959 (international inch; ISO 80000-3, ASME Y14.5 use it)
_MM_PER = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "in": MM_PER_INCH,
    "thou": MM_PER_INCH / 1000,
}

_LARGEST_EXPONENT = 400  # beyond what a float holds, so that nothing is turned away that could be used

ACCEPTED_FORMS = 'a number in the file\'s units, or text such as "25.5 in", "25 1/2 in", "10 thou", "648 mm", "64.8 cm"'

_NUMBER = r"(?:\d+(?:\.\d*)?|\.\d+)"
_LENGTH = re.compile(
    rf"""\s*(?P<sign>[+-]?)\s*
    (?:(?:(?P<whole>\d+)(?:\s+|\s*-\s*))?(?P<over>\d+)\s*/\s*(?P<under>\d+)   # 1 11/16, 1-11/16, 11/16
      |(?P<number>{_NUMBER}))                                                 # 25.5
    \s*(?P<unit>mm|cm|in|thou)?\s*""",
    re.VERBOSE | re.ASCII,
)


_UNIT_WORDS = ", ".join(f'"{word}"' for word in ("mm", "cm", "in", "thou"))
_FIGURES = r"[+-]?\s*[\d./\s,-]*\d\.?"


def why_not_a_length(text: str) -> str | None:
    """What is likely wrong with text that ``parse_length`` did not read; None where nobody can tell."""
    text = text.strip()
    comma = re.fullmatch(r"([+-]?\d+),(\d+)\s*(mm|cm|in|thou)?", text)
    if comma is not None:
        return f'decimals are written with a point, not a comma: "{comma[1]}.{comma[2]} {comma[3] or "mm"}"'
    head = re.match(_FIGURES, text, re.ASCII)
    if head is None:
        return None
    number, rest = head[0].strip(), text[head.end() :].strip()
    if not rest:
        more = ', or units = "in" at the top' if "/" in number else ""
        return f'the unit is missing inside the text; write "{number} in" or "{number} mm"{more}'
    if rest in {'"', "''", "\u2033", "\u201d"}:
        return f'the double-prime for inches is not read; write "{number} in"'
    if rest not in _MM_PER and re.fullmatch(r"[^\W\d]+\.?", rest):
        return f"{rest} is not a unit here; the units are {_UNIT_WORDS}"
    return None


def parse_length(value: object, unit: Unit) -> float:
    """Turn one spec value into mm.

    value: a bare int, float or Decimal in ``unit``, or text with its own unit; a fraction, which TOML knows only as
    text, may go without where ``unit`` is inches. In mm nobody measures in fractions: there it must name its unit.
    Raises ValueError (no message worth showing: the caller names the accepted forms) for anything else.
    """
    exact = _exact(value, unit)
    try:
        return float(exact)
    except OverflowError:
        raise ValueError("too long for a number of mm") from None


def _exact(value: object, unit: Unit) -> Fraction:
    if isinstance(value, bool):
        raise ValueError("a length is not true or false")
    if isinstance(value, (int, Decimal, float)):
        if not _within_reach(value):
            raise ValueError("a length is a finite number")
        return Fraction(value) * _MM_PER[unit]
    match = _LENGTH.fullmatch(value) if isinstance(value, str) else None
    if match is None or (match["unit"] is None and (match["over"] is None or unit != "in")):
        raise ValueError("not a length")
    if match["number"] is not None:
        exact = Fraction(match["number"])
    else:
        if int(match["under"]) == 0:
            raise ValueError("a fraction with nothing under the line")
        exact = Fraction(int(match["whole"] or 0)) + Fraction(int(match["over"]), int(match["under"]))
    return (-exact if match["sign"] == "-" else exact) * _MM_PER[match["unit"] or unit]


def _within_reach(value: int | float | Decimal) -> bool:
    """Finite, and not of an exponent whose exact fraction would fill the memory."""
    if isinstance(value, Decimal):
        return value.is_finite() and (not value or abs(value.adjusted()) < _LARGEST_EXPONENT)
    return not isinstance(value, float) or math.isfinite(value)


def mm_text(mm: float, places: int = 2) -> str:
    """A length as printed in mm, without a unit and never as minus zero."""
    text = f"{mm:.{places}f}"
    return text[1:] if text.startswith("-") and float(text) == 0 else text


def inch_text(mm: float, places: int = 4) -> str:
    """A length as printed in inches, without a unit."""
    return mm_text(mm / float(MM_PER_INCH), places)


def both_units(mm: float, places: int = 2, inch_places: int = 3, *, first: Unit = "mm") -> str:
    """``"279.40 mm (11.000 in)"``; the other way round for a job in inches."""
    said = f"{mm_text(mm, places)} mm", f"{inch_text(mm, inch_places)} in"
    return f"{said[1]} ({said[0]})" if first == "in" else f"{said[0]} ({said[1]})"


SIXTY_FOURTHS = 64


def rule_text(mm: float) -> str:
    """A length as a steel rule in 64ths of an inch reads it, to the nearest: ``"12 19/32"``, ``"0"``, ``"-1/64"``."""
    parts = round(abs(mm) / float(MM_PER_INCH) * SIXTY_FOURTHS)
    whole, rest = divmod(parts, SIXTY_FOURTHS)
    share = str(Fraction(rest, SIXTY_FOURTHS)) if rest else ""
    text = " ".join(part for part in (str(whole) if whole or not rest else "", share) if part)
    return f"-{text}" if mm < 0 and parts else text


def inches(mm: float) -> float:
    """mm as a number of inches (for rulers and tables)."""
    return mm / float(MM_PER_INCH)


def cubic_inches(mm3: float) -> float:
    """mm³ as a number of cubic inches."""
    return mm3 / float(MM_PER_INCH**3)


def from_inches(number: float) -> float:
    """Inches to mm (for rulers and paper sizes defined in inches)."""
    return float(Fraction(number) * MM_PER_INCH)
