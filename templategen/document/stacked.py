"""A table for arm's length: one column a quantity, the job's own unit large and the other small under it."""

from __future__ import annotations

from dataclasses import dataclass

from templategen.tables.model import Printed, Table
from templategen.units import Unit


@dataclass(frozen=True)
class Cell:
    """large: the figure; small: the same in the other unit, ``est.`` besides."""

    large: str
    small: str = ""


@dataclass(frozen=True)
class Stack:
    """One column: its head with the unit of the large figures."""

    key: str
    head: str
    cells: tuple[Cell, ...]
    words: bool


def stacked(table: Table, lead: Unit) -> tuple[Stack, ...]:
    """The columns of a table; lead: the unit that is set large where a length stands in two."""
    groups: list[list[Printed]] = []
    for strip in table.printed():
        if strip.first:
            groups.append([])
        groups[-1].append(strip)
    return tuple(_stack(group, lead) for group in groups)


def _stack(strips: list[Printed], lead: Unit) -> Stack:
    first = next((strip for strip in strips if strip.unit == lead), strips[0])
    rest = [strip for strip in strips if strip is not first]
    cells = []
    for row, large in enumerate(first.cells):
        small = (f"{strip.cells[row]} {strip.unit}".strip() for strip in rest if strip.cells[row])
        cells.append(Cell(large or strips[0].cells[row], " ".join(small) if large else ""))
    return Stack(first.key, first.name, tuple(cells), first.words)
