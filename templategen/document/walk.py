"""One walk through a document for all its formats: every block handed to what sets it, in order.

Terms
-----
surface   what a format puts blocks on: a page, or what is inside of a step
place     of a step in the document, ``"2-5"``: the page and the block on it
"""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import AbstractContextManager
from typing import Protocol, Self

from templategen.document.model import (
    Boxes,
    Facts,
    Figures,
    Heading,
    Kept,
    Labelled,
    Listing,
    Paragraphs,
    Passage,
    Picture,
    Step,
    Told,
    Warned,
)
from templategen.document.stacked import Stack, stacked
from templategen.drawing.model import Drawing
from templategen.tables.model import Table

LEVELS = {"decide": "To decide"}  # a finding's level, as it is printed; all others are notes


class BlockReplay(Protocol):
    """What every format does with each kind of block."""

    def words(self, text: str, strong: bool) -> None: ...

    def heading(self, text: str) -> None: ...

    def facts(self, rows: tuple[tuple[str, str], ...], large: bool) -> None: ...

    def table(self, table: Table, writes: bool) -> None: ...

    def figures(self, table: Table, columns: tuple[Stack, ...]) -> None: ...

    def boxes(self, labels: tuple[str, ...]) -> None: ...

    def picture(self, drawing: Drawing, caption: str) -> None: ...

    def told(self, level: str, word: str, message: str, do: str) -> None: ...

    def labelled(self, label: str, text: str) -> None: ...

    def caution(self, text: str) -> None: ...

    def kept(self) -> AbstractContextManager[Self]:
        """A surface for blocks that stand together."""

    def step(self, step: Step, place: str) -> AbstractContextManager[Self]:
        """A surface inside the step, its title and goal set."""


def replay(blocks: Iterable[Passage], surface: BlockReplay, page: int) -> None:
    """Set the blocks of a page, whose number names its steps."""
    for number, block in enumerate(blocks, 1):
        _set(block, surface, f"{page}-{number}")


def _set(block: Passage, surface: BlockReplay, place: str) -> None:
    match block:
        case Paragraphs(text, strong):
            surface.words(text, strong)
        case Heading(text):
            surface.heading(text)
        case Facts(rows, large):
            surface.facts(rows, large)
        case Listing(table, writes):
            surface.table(table, writes)
        case Figures(table, lead):
            surface.figures(table, stacked(table, lead))
        case Boxes(labels):
            surface.boxes(labels)
        case Picture(drawing, caption):
            surface.picture(drawing, caption)
        case Told(level, message, do):
            surface.told(level, LEVELS.get(level, "Note"), message, do)
        case Labelled(label, text):
            surface.labelled(label, text)
        case Warned(text):
            surface.caution(text)
        case Kept(blocks):
            with surface.kept() as together:
                for number, each in enumerate(blocks, 1):
                    _set(each, together, f"{place}-{number}")
        case Step():
            with surface.step(block, place) as inside:
                for each in block.blocks:
                    _set(each, inside, place)
