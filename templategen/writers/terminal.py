"""Tables as plain text, for a terminal of any width: figures to the right, heads in two lines over a rule.

The rule is broken between quantities and only notched between the columns of one, so that mm and in of a length are
seen to belong together. A table that is wider than wanted is broken into parts that repeat the columns naming its rows.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from templategen.tables.model import Printed, Table

WIDTH = 100
APART = 2  # signs between quantities; one between the columns of a quantity
HANG = "      "
BOLD, LIGHT = "\x1b[1m", "\x1b[0m"


def encode(tables: Table | Iterable[Table], bold: bool = False, width: int = WIDTH) -> bytes:
    """The tables one after another, an empty line between. bold: titles marked for a terminal that can show it."""
    listed = [tables] if isinstance(tables, Table) else tables
    return ("\n\n".join("\n".join(lines(table, bold, width)) for table in listed) + "\n").encode()


def lines(table: Table, bold: bool = False, width: int = WIDTH) -> Iterator[str]:
    """Title, heads, rule and rows, then the notes; what every row has in common is told under it."""
    for line in wrapped(table.title, width):
        yield f"{BOLD}{line}{LIGHT}" if bold else line
    narrow, alike = table.gathered()
    if table.upright:
        yield from _upright(table)
    elif len(narrow.columns) > narrow.labels or not alike:
        yield from _rows(narrow, width)
    for note in (*alike, *table.notes):
        yield from wrapped(note, width)


def _rows(narrow: Table, width: int) -> Iterator[str]:
    blocks = [_block(group) for group in _quantities(narrow)]
    names, rest = blocks[: narrow.labels], blocks[narrow.labels :]
    for part in _parts(names, rest, width):
        yield from _set([*names, *part])


def _upright(table: Table) -> Iterator[str]:
    """A line per quantity, a rule under what heads them or, where nothing does, over them."""
    set_ = table.lines()
    widths = [max(map(len, cells)) for cells in zip(*set_, strict=True)]
    rule = (" " * APART).join("─" * width for width in widths)
    rows = [(" " * APART).join(map(str.ljust, row, widths)).rstrip() for row in set_]
    yield from [*rows[: table.labels], rule, *rows[table.labels :]]


def wrapped(text: str, width: int = WIDTH) -> list[str]:
    """A paragraph with a hanging indent."""
    return textwrap.wrap(text, width, subsequent_indent=HANG, break_long_words=False, break_on_hyphens=False)


# ----------------------------------------------------------------------------------------------------------- layout


@dataclass(frozen=True)
class _Block:
    """The columns of one quantity: two lines of head and the rule, each as wide as the block, and its rows."""

    head: tuple[str, str, str]
    rows: tuple[str, ...]

    @property
    def width(self) -> int:
        return len(self.head[0])


def _quantities(table: Table) -> list[list[Printed]]:
    """Neighbours that stand under one head: the columns of a quantity, or of a group."""
    found: list[list[Printed]] = []
    for _, strips in groupby(table.printed(), lambda strip: strip.group or strip.key):
        found.append(list(strips))
    return found


def _block(strips: Sequence[Printed]) -> _Block:
    """Over each other the head and the units, or the group and the heads; a head without either stands low."""
    first = strips[0]
    unders = [strip.head if strip.group else strip.unit for strip in strips]
    over = first.group or first.head
    if not any(unders):
        over, unders[0] = "", first.head
    widths = [max(map(len, (under, *strip.cells))) for under, strip in zip(unders, strips, strict=True)]
    spare = max(0, len(over) - sum(widths) - (len(widths) - 1))
    widths[-1 if strips[0].words else 0] += spare

    def set_in(cells: Iterable[str]) -> str:
        return " ".join(
            cell.ljust(width) if strip.words else cell.rjust(width)
            for cell, width, strip in zip(cells, widths, strips, strict=True)
        )

    rows = tuple(set_in(row) for row in zip(*(strip.cells for strip in strips), strict=True))
    low = set_in(unders)
    high = over.center(len(low)) if len(strips) > 1 else over.rjust(len(low))
    return _Block((high, low, "┬".join("─" * width for width in widths)), rows)


def _parts(names: Sequence[_Block], rest: Sequence[_Block], width: int) -> Iterator[list[_Block]]:
    """Blocks as many as stand beside the names, one at least."""
    taken = sum(block.width + APART for block in names)
    part: list[_Block] = []
    used = taken
    for block in rest:
        if part and used + block.width > width:
            yield part
            part, used = [], taken
        part.append(block)
        used += block.width + APART
    if part or not rest:
        yield part


def _set(blocks: Sequence[_Block]) -> Iterator[str]:
    gap = " " * APART
    heads = (gap.join(block.head[n] for block in blocks).rstrip() for n in (0, 1, 2))
    yield from (head for head in heads if head)
    for row in zip(*(block.rows for block in blocks), strict=True):
        yield gap.join(row).rstrip()
