"""What a part hands over: a file's stem, its formats, and the thing to encode in them.

Every product has a ``kind``, under which the writers' register knows it, and gives the ``content`` to be written in a
format, which is computed when it is asked for and once.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any, ClassVar

from templategen.drawing.model import Drawing, crossed
from templategen.tables.model import ESTIMATED

if TYPE_CHECKING:
    from templategen.document.model import Document
    from templategen.drawing.paper.sizes import Page, PaperSize
    from templategen.drawing.program import Program
    from templategen.drawing.toolpath import Toolpath
    from templategen.parts.common.about import About
    from templategen.solids.shape import Solid
    from templategen.tables.model import Table

Format = str
"""One that the writers' register has for the kind of the product: ``"dxf"``."""


class _Product:
    """What products have unless they say otherwise.

    about: what has to be known of a file that somebody gets alone; None of drawings for people, tables and pages.
    needs: a module to import before the content is made, with interrupts waiting. may_fail: whether a failure costs
    this product alone. fault: why it must not be written, empty where it may. rests: what its figures rest on that
    nobody measured.
    """

    kind: ClassVar[str]
    needs: ClassVar[str] = ""
    may_fail: ClassVar[bool] = False
    fault = ""
    about: About | None = None
    cautions: tuple[str, ...] = ()
    rests: tuple[str, ...]

    @property
    def note(self) -> str:
        """What the file list says of it."""
        return self.estimate

    @property
    def estimate(self) -> str:
        """What its figures rest on that nobody measured, as a sentence; empty where nothing."""
        if not self.rests:
            return ""
        return f"{ESTIMATED} Sizes here rest on what nobody measured: {', '.join(self.rests)}."


@dataclass(frozen=True)
class Sheet(_Product):
    """A drawing for some of the 2D formats, or what lays it out.

    pieces: the same in ``leaves``, each of which begins a page in PDF. told: what is to decide, printed beside the
    drawing and its first leaf.
    """

    stem: str
    source: Drawing | Callable[[], Drawing]
    formats: tuple[Format, ...]
    pieces: Callable[[], tuple[Drawing, ...]] | None = None
    told: tuple[str, ...] = ()
    rests: tuple[str, ...] = ()
    about: About | None = None
    kind: ClassVar[str] = "drawing"
    __match_args__ = ("stem", "drawing", "formats")

    @cached_property
    def drawing(self) -> Drawing:
        drawing = self.source if isinstance(self.source, Drawing) else self.source()
        if self.rests:
            drawing = replace(drawing, notes=(*drawing.notes, self.estimate))
        return replace(drawing, to_decide=self.told) if self.told else drawing

    @cached_property
    def leaves(self) -> tuple[Drawing, ...]:
        leaves = self.pieces() if self.pieces else ()
        if leaves and self.rests:
            leaves = (replace(leaves[0], notes=(*leaves[0].notes, self.estimate)), *leaves[1:])
        return (replace(leaves[0], to_decide=self.told), *leaves[1:]) if leaves and self.told else leaves

    @property
    def on_paper(self) -> tuple[Drawing, ...]:
        return self.leaves or (self.drawing,)

    @property
    def note(self) -> str:
        return " ".join(self.drawing.notes)

    @property
    def cautions(self) -> tuple[str, ...]:  # type: ignore[override]
        return self.drawing.cautions

    @property
    def fault(self) -> str:  # type: ignore[override]
        place = crossed(self.drawing) if self.drawing.kind == "cut" else None
        if place is None:
            return ""
        return "a contour touches itself at ({:.3f}, {:.3f}) mm".format(*place)  # a machine would cut into the part

    def content(self, form: str) -> Any:
        return self.on_paper if form == "pdf" else self.drawing


@dataclass(frozen=True)
class Body(_Product):
    """A solid, or several in one file, built only when one of its formats is asked for: building loads the CAD
    kernel."""

    stem: str
    build: Callable[[], Solid | tuple[Solid, ...]]
    formats: tuple[Format, ...]
    about: About
    cautions: tuple[str, ...] = ()
    rests: tuple[str, ...] = ()
    kind: ClassVar[str] = "solid"
    needs: ClassVar[str] = "templategen.solids.kernel"
    may_fail: ClassVar[bool] = True

    def content(self, form: str) -> Any:
        return self._built

    @property
    def note(self) -> str:
        return " ".join((*self.about.lines, *filter(None, (self.estimate,))))

    @cached_property
    def _built(self) -> Solid | tuple[Solid, ...]:
        built = self.build()
        if isinstance(built, tuple):
            return tuple(replace(solid, note=self.note) for solid in built)
        return replace(built, note=self.note)


@dataclass(frozen=True)
class Data(_Product):
    """A table, or for JSON numbers of any shape; made only when one of its formats is asked for."""

    stem: str
    source: Callable[[], Table | Mapping[str, Any]]
    formats: tuple[Format, ...] = ("csv",)
    rests: tuple[str, ...] = ()
    kind: ClassVar[str] = "table"

    def content(self, form: str) -> Any:
        return self.source()


@dataclass(frozen=True)
class Run(_Product):
    """A toolpath, drawn and listed from the same points."""

    stem: str
    source: Callable[[], Toolpath]
    formats: tuple[Format, ...] = ("dxf", "csv")
    rests: tuple[str, ...] = ()
    about: About | None = None
    kind: ClassVar[str] = "toolpath"

    @cached_property
    def path(self) -> Toolpath:
        return self.source()

    @property
    def note(self) -> str:
        return " ".join((*self.path.notes, *filter(None, (self.estimate,))))

    @property
    def cautions(self) -> tuple[str, ...]:  # type: ignore[override]
        return self.path.cautions

    def content(self, form: str) -> Any:
        return self.path


@dataclass(frozen=True)
class Milled(_Product):
    """A mill's program, written only where its check finds nothing wrong. source: gives the program and what is."""

    stem: str
    source: Callable[[], tuple[Program, str]]
    formats: tuple[Format, ...] = ("ngc",)
    rests: tuple[str, ...] = ()
    kind: ClassVar[str] = "program"

    @cached_property
    def _checked(self) -> tuple[Program, str]:
        return self.source()

    @property
    def program(self) -> Program:
        return self._checked[0]

    @property
    def fault(self) -> str:  # type: ignore[override]
        return self._checked[1]

    @property
    def note(self) -> str:
        return " ".join((*self.program.notes, *filter(None, (self.estimate,))))

    @property
    def cautions(self) -> tuple[str, ...]:  # type: ignore[override]
        return self.program.cautions

    def content(self, form: str) -> Any:
        said = filter(None, (self.estimate,))
        return replace(self.program, head=(*self.program.head, *said))


@dataclass(frozen=True)
class Pages(_Product):
    """Pages that are made for the shop's paper rather than from a drawing."""

    stem: str
    title: str
    pages: Callable[[PaperSize], tuple[Page, ...]]
    formats: tuple[Format, ...] = ("pdf",)
    rests: tuple[str, ...] = ()
    kind: ClassVar[str] = "pages"

    def content(self, form: str) -> Any:
        return self.title, self.pages


@dataclass(frozen=True)
class Writing(_Product):
    """A document to read, laid out only when one of its formats is asked for."""

    stem: str
    document: Callable[[], Document]
    formats: tuple[Format, ...] = ("html", "pdf")
    rests: tuple[str, ...] = ()
    kind: ClassVar[str] = "document"

    def content(self, form: str) -> Any:
        return self._written

    @cached_property
    def _written(self) -> Document:
        return self.document()


Product = Sheet | Body | Data | Run | Milled | Pages | Writing
