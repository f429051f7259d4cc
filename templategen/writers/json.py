"""Numbers as JSON: a table as the list of its rows, or anything made of dicts, sequences, arrays and tables."""

from __future__ import annotations

import json
from typing import Any

from templategen.writers.plain import plain


def encode(whole: Any) -> bytes:
    """Lengths stay mm; what is infinite or unknown is null."""
    return (json.dumps(plain(whole), indent=1, ensure_ascii=False, allow_nan=False) + "\n").encode()
