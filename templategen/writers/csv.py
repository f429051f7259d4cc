"""A table as CSV (RFC 4180, line ends LF): the columns' keys, then plain values; lengths in mm.

Points become a column for each axis, ``bass_end_x``; what is not known is empty. The marks of estimates follow what
they mark.
"""

from __future__ import annotations

import csv
import io

from templategen.tables.model import Column, Table, Value
from templategen.writers.plain import plain


def encode(table: Table) -> bytes:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    columns = [pair for each in table.columns for pair in _flat(each)]
    writer.writerow([key for key, _ in columns])
    writer.writerows(zip(*(values for _, values in columns), strict=True))
    return text.getvalue().encode()


def _flat(column: Column) -> list[tuple[str, list[Value]]]:
    if not column.axes:
        found = [(column.key, [plain(value) for value in column.values])]
    else:
        found = [(f"{column.key}_{axis}", [plain(value[n]) for value in column.values])  # type: ignore[index]
                 for n, axis in enumerate(column.axes)]  # fmt: skip
    if column.estimated:
        found.append((column.estimated_key, list(column.estimated)))
    return found
