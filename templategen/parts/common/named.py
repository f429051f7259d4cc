"""Names of solids as every program takes them: letters, digits, spaces and ``-_.`` alone."""

from __future__ import annotations

import re
import unicodedata

_WIDE = {"ß": "ss", "æ": "ae", "œ": "oe", "ø": "o", "Æ": "AE", "Œ": "OE", "Ø": "O"}


def product_name(title: str, *what: str) -> str:
    """A product's name: the job's title and what it is.

    >>> product_name("Loan fleet 07: refret & new nut", "nut", "blank")
    'Loan fleet 07 - refret new nut - nut - blank'
    """
    return " - ".join(cleaned for part in (*title.split(":"), *what) if (cleaned := _plain(part)))


def _plain(text: str) -> str:
    """Accents are dropped with their letters kept; any other sign becomes a space."""
    letters = "".join(_WIDE.get(sign, sign) for sign in text)
    plain = unicodedata.normalize("NFKD", letters).encode("ascii", "ignore").decode()
    return " ".join(re.sub(r"[^A-Za-z0-9 ._-]", " ", plain).split())
