"""What a part hands over: a file's stem and the thing to encode in it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from templategen.drawing.model import Drawing

if TYPE_CHECKING:
    from templategen.document.model import Document
    from templategen.drawing.paper.sizes import Page, PaperSize
    from templategen.solids.shape import Solid

Format = Literal["dxf", "svg", "pdf", "step", "stl", "csv", "json", "html"]


@dataclass(frozen=True)
class Sheet:
    """A drawing for some of the 2D formats. leaves: the same in pieces, each of which begins a page in PDF."""

    stem: str
    drawing: Drawing
    formats: tuple[Format, ...]
    leaves: tuple[Drawing, ...] = ()

    @property
    def on_paper(self) -> tuple[Drawing, ...]:
        return self.leaves or (self.drawing,)


@dataclass(frozen=True)
class Body:
    """A solid, built only when one of its formats is asked for: building loads the CAD kernel."""

    stem: str
    build: Callable[[], Solid]
    formats: tuple[Format, ...]


@dataclass(frozen=True)
class Table:
    """Text that is already in its format."""

    stem: str
    text: Callable[[], str]
    formats: tuple[Format, ...]


@dataclass(frozen=True)
class Pages:
    """Pages that are made for the shop's paper rather than from a drawing."""

    stem: str
    title: str
    pages: Callable[[PaperSize], tuple[Page, ...]]
    formats: tuple[Format, ...] = ("pdf",)


@dataclass(frozen=True)
class Writing:
    """A document to read, laid out only when one of its formats is asked for."""

    stem: str
    document: Callable[[], Document]
    formats: tuple[Format, ...] = ("html", "pdf")


Product = Sheet | Body | Table | Pages | Writing
