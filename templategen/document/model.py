"""What a document is made of.

Terms
-----
page   a position at the bench: begins a sheet of its own on paper
step   one thing to do: its goal, the numbers needed there, tools, files, cautions, boxes to write in
kept   blocks that no page break parts: a heading and what it heads
box    an empty frame with a label: the value reached, a date, initials
"""

from __future__ import annotations

from dataclasses import dataclass

from templategen.drawing.model import Drawing
from templategen.tables.model import Table
from templategen.units import Unit


@dataclass(frozen=True)
class Paragraphs:
    """A paragraph. strong: what must not be overlooked."""

    text: str
    strong: bool = False


@dataclass(frozen=True)
class Heading:
    """Of a part of a page."""

    text: str


@dataclass(frozen=True)
class Facts:
    """Labels with their values. large: read at arm's length while working."""

    rows: tuple[tuple[str, str], ...]
    large: bool = False


@dataclass(frozen=True)
class Listing:
    """A table; empty cells of its last column are boxes where ``writes`` is true."""

    table: Table
    writes: bool = False


@dataclass(frozen=True)
class Figures:
    """A table to be read at arm's length while working: lead, the unit that is set large where a length stands in two;
    the other small under it. Empty cells of its last column are boxes."""

    table: Table
    lead: Unit


@dataclass(frozen=True)
class Boxes:
    """Frames to write in, by their labels."""

    labels: tuple[str, ...]


@dataclass(frozen=True)
class Picture:
    """A drawing at its own scale where the page is wide enough, else reduced; never enlarged."""

    drawing: Drawing
    caption: str


@dataclass(frozen=True)
class Told:
    """Something to decide or to know: the level's word, then the message, and what to do about it."""

    level: str
    message: str
    do: str = ""


@dataclass(frozen=True)
class Labelled:
    """A line in small type behind a bold word."""

    label: str
    text: str


@dataclass(frozen=True)
class Warned:
    """A caution, beside what it is about."""

    text: str


@dataclass(frozen=True)
class Kept:
    """Blocks that stand together on one sheet."""

    blocks: tuple[Passage, ...]


@dataclass(frozen=True)
class Step:
    """One step of the work.

    numbers: label and value, large. files: of the job, after what is done with them: ("print", "nut.pdf, saddle.pdf").
    """

    key: str
    title: str
    goal: str
    numbers: tuple[tuple[str, str], ...] = ()
    table: Figures | None = None
    how: tuple[str, ...] = ()
    tools: str = ""
    files: tuple[tuple[str, str], ...] = ()
    cautions: tuple[str, ...] = ()
    boxes: tuple[str, ...] = ("reached", "initials")

    @property
    def blocks(self) -> tuple[Passage, ...]:
        """What stands under its title and its goal, in the order in which it is read."""
        small = ("Tools", self.tools), *((use.capitalize(), names) for use, names in self.files)
        return (
            *([Facts(self.numbers, large=True)] if self.numbers else []),
            *([self.table] if self.table is not None else []),
            *map(Paragraphs, self.how),
            *(Labelled(label, said) for label, said in small if said),
            *map(Warned, self.cautions),
            Boxes(self.boxes),
        )


Passage = Paragraphs | Heading | Facts | Listing | Figures | Boxes | Picture | Told | Labelled | Warned | Kept | Step


@dataclass(frozen=True)
class BenchPage:
    """One position at the bench. whole: on one sheet of paper, set smaller where it would take two. follows: where
    there is room for all of it, it shares the sheet of the one before."""

    title: str
    blocks: tuple[Passage, ...]
    whole: bool = False
    follows: bool = False


@dataclass(frozen=True)
class Document:
    """title: the instrument's. what: the kind of document. trace: what it was made from, on every sheet."""

    title: str
    what: str
    trace: str
    pages: tuple[BenchPage, ...]
