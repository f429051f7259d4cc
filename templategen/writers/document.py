"""A document as PDF pages, laid out by reportlab's flowables: heads repeated, no row and no step cut by a page."""

from __future__ import annotations

import io
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import Any
from xml.sax.saxutils import escape

from templategen.document.model import BenchPage, Document, Step
from templategen.document.stacked import Cell, Stack
from templategen.document.walk import replay
from templategen.drawing.lettering import FONT, FONT_BOLD, runs
from templategen.drawing.model import Drawing
from templategen.drawing.paper.sizes import PaperSize
from templategen.tables.model import Table
from templategen.writers.pdf import POINTS, as_form
from templategen.writers.plain import one_line

MARGIN, GAP = 14.0, 2.0  # mm
BODY, SMALL, HEAD, PAGE_HEAD, TITLE, LARGE = 11, 9, 12.5, 15, 17, 14.5  # type sizes, pt
BOX = 26.0, 8.0  # mm
TALLEST = 1e5  # pt, of a page that is only measured
PAD = 8.0  # pt, of a cell
FEWEST = 6.5  # pt: the smallest type that a wide table is set in
SMALLEST = 0.5  # of its size that a page's type is set in, to stand on one sheet
HEADS = 13.0  # mm that titles take over a page's blocks
LEAST_ROOM = 34.0  # mm of a page under a heading
ONE_LINE = 16  # letters: a name that is not broken
INK, SOFT = "#1b1b1b", "#555555"


def encode(document: Document, paper: PaperSize) -> bytes:
    """The document on the shop's paper; the same one gives the same bytes."""
    from reportlab.platypus import BaseDocTemplate, Frame, PageTemplate

    width, height, margin = paper.width * POINTS, paper.height * POINTS, MARGIN * POINTS
    stream = io.BytesIO()
    foot = 8 * POINTS
    whole: Any = BaseDocTemplate(
        stream, pagesize=(width, height), invariant=1, pageCompression=1, lang="en",
        title=one_line(f"{document.title}: {document.what}"), author="", creator="templategen", subject="",
        producer="templategen", leftMargin=margin, rightMargin=margin, topMargin=margin, bottomMargin=margin + foot,
    )  # fmt: skip
    frame = Frame(margin, margin + foot, width - 2 * margin, height - 2 * margin - foot, 0, 0, 0, 0)

    def furniture(canvas: Any, template: Any) -> None:
        canvas.setViewerPreference("PrintScaling", "None")
        canvas.setFillColor(SOFT)
        line = one_line(f"{document.title} · {document.trace}")
        _line(canvas, margin, margin, line, SMALL, width - 3 * margin)
        canvas.setFont(FONT, SMALL)
        canvas.drawRightString(width - margin, margin, f"page {canvas.getPageNumber()}")

    whole.addPageTemplates([PageTemplate(id="page", frames=[frame], onPage=furniture)])
    whole.build(_story(document, width - 2 * margin, height - 2 * margin - foot))
    return stream.getvalue()


def _line(canvas: Any, x: float, y: float, text: str, size: float, room: float) -> None:
    """One line of lettering in every face it needs, its end left out where there is no room."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    for font, part in runs(text):
        while part and stringWidth(part, font, size) > room:
            part = part[:-1]
        canvas.setFont(font, size)
        canvas.drawString(x, y, part)
        step = stringWidth(part, font, size)
        x, room = x + step, room - step


def _marked(text: str, bold: bool = False) -> str:
    """Text as reportlab's paragraphs take it, stretches of another face marked."""
    own = FONT_BOLD if bold else FONT
    return "".join(
        escape(part) if font == own else f'<font name="{font}">{escape(part)}</font>'
        for font, part in runs(one_line(text), bold)
    )


def _story(document: Document, width: float, height: float) -> list[Any]:
    """Flowables for a frame of ``width`` and ``height`` points."""
    from reportlab.platypus import CondPageBreak, HRFlowable, PageBreak, Spacer

    found: list[Any] = [
        _words(document.title, TITLE, bold=True, lead=1.15),
        _words(f"{document.what} · {document.trace}", SMALL, colour=SOFT),
    ]
    for number, page in enumerate(document.pages, 1):
        head = [
            Spacer(1, GAP * POINTS),
            _words(page.title, PAGE_HEAD, bold=True),
            HRFlowable(width="100%", thickness=0.8, color=INK, spaceBefore=1, spaceAfter=GAP * POINTS),
        ]
        if page.whole:
            blocks = [_Whole(page, number, height - HEADS * POINTS * (2 if number == 1 else 1))]
        else:
            surface = _Column(width, GAP * POINTS)
            replay(page.blocks, surface, number)
            blocks = surface.story[:-1]  # a gap at the foot of a full page would begin another
        if page.follows:
            found.append(CondPageBreak(sum(each.wrap(width, TALLEST)[1] + 2 for each in (*head, *blocks))))
        elif number > 1:
            found.append(PageBreak())
        found += [*head, *blocks]
    return found


def _words(text: str, size: float, bold: bool = False, colour: str = INK, lead: float = 1.28) -> Any:
    return _set(_marked(text, bold), size, bold, colour, lead)


def _set(text: str, size: float, bold: bool = False, colour: str = INK, lead: float = 1.28) -> Any:
    """A paragraph of text that is already marked."""
    from reportlab.lib.styles import ParagraphStyle
    from reportlab.platypus import Paragraph

    face = FONT_BOLD if bold else FONT
    style = ParagraphStyle("words", fontName=face, fontSize=size, leading=lead * size, textColor=colour)
    return Paragraph(text, style)


def _framed(rows: list[list[Any]], lines: list[tuple[Any, ...]], widths: list[float]) -> Any:
    from reportlab.platypus import Table as Grid

    grid: Any = Grid(rows, colWidths=widths)
    grid.setStyle([*lines, ("VALIGN", (0, 0), (-1, -1), "TOP")])
    return grid


class _Column:
    """Flowables in a column of a width, with a gap after each block (points). whole: whether all of them stand together
    anyway: what keeps some together must not stand in what does."""

    def __init__(self, width: float, gap: float = 0.0, whole: bool = False) -> None:
        self.width, self.gap, self.whole = width, gap, whole
        self.story: list[Any] = []

    def add(self, *flowables: Any) -> None:
        from reportlab.platypus import Spacer

        self.story += [*flowables, *([Spacer(1, self.gap)] if self.gap else [])]

    def room(self) -> list[Any]:
        """Before what must not end a page: its head and the first rows."""
        from reportlab.platypus import CondPageBreak

        return [] if self.whole else [CondPageBreak(LEAST_ROOM * POINTS)]

    def words(self, text: str, strong: bool) -> None:
        self.add(_words(text, BODY, bold=strong))

    def heading(self, text: str) -> None:
        self.add(*self.room(), _words(text, HEAD, bold=True))

    def facts(self, rows: tuple[tuple[str, str], ...], large: bool) -> None:
        """Labels and values in as many pairs abreast as there is room for."""
        from reportlab.pdfbase.pdfmetrics import stringWidth

        size = LARGE if large else BODY
        widest = max(
            stringWidth(one_line(label), FONT, SMALL + 1) + stringWidth(one_line(value), FONT_BOLD, size) + 16
            for label, value in rows
        )
        abreast = max(1, min(len(rows), int(self.width / widest), 3))
        cells: list[Any] = [
            _set(
                f'<font size="{SMALL + 1}" color="{SOFT}">{_marked(label)}</font>&nbsp; <b>{_marked(value, True)}</b>',
                size,
            )
            for label, value in rows
        ]
        cells += [""] * (-len(cells) % abreast)
        lines = [cells[n : n + abreast] for n in range(0, len(cells), abreast)]
        self.add(_framed(lines, [("BOTTOMPADDING", (0, 0), (-1, -1), 2)], [self.width / abreast] * abreast))

    def table(self, table: Table, writes: bool) -> None:
        """The table in type as small as its width asks for, and its notes."""
        from reportlab.platypus import Table as Grid

        lines = table.lines()
        size, widths = _fitted(lines, self.width, writes, table.labels)
        right = [not any(part.isalpha() for part in "".join(row[n] for row in lines[1:])) for n in range(len(lines[0]))]
        head = [_words(text, size, bold=True) for text in lines[0]]
        rows = [
            [_words(text, size) if not right[n] else one_line(text) for n, text in enumerate(row)] for row in lines[1:]
        ]
        grid: Any = Grid([head, *rows], colWidths=widths, repeatRows=1)
        style: list[tuple[Any, ...]] = [
            ("FONT", (0, 0), (-1, -1), FONT, size),
            ("GRID", (0, 0), (-1, -1), 0.4, "#767676"),
            ("BACKGROUND", (0, 0), (-1, 0), "#f2f0eb"),
            ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
            ("LEFTPADDING", (0, 0), (-1, -1), 3),
            ("RIGHTPADDING", (0, 0), (-1, -1), 3),
            ("TOPPADDING", (0, 0), (-1, -1), 1.5),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 2.5 if not writes else 5.5),
        ]
        style += [("ALIGN", (n, 1), (n, -1), "RIGHT") for n, figures in enumerate(right) if figures]
        grid.setStyle(style)
        notes = [_words(note, SMALL, colour=SOFT) for note in table.notes]
        self.add(*self.room(), _words(table.title, BODY, bold=True), grid, *notes)

    def figures(self, table: Table, columns: tuple[Stack, ...]) -> None:
        """Figures large, the other unit small under them; a column without any is as wide as a box."""
        from reportlab.platypus import Spacer
        from reportlab.platypus import Table as Grid

        widths = [
            _wanted(column) if any(cell.large for cell in column.cells) else BOX[0] * POINTS for column in columns
        ]
        spare = max(self.width - sum(widths), 0.0) / len(columns)
        head = [_words(column.head, SMALL, bold=True, lead=1.1) for column in columns]
        rows = [[_cell(column.cells[n], column.words) for column in columns] for n in range(len(table))]
        grid: Any = Grid([head, *rows], colWidths=[wide + min(spare, 2 * PAD) for wide in widths], repeatRows=1)
        grid.hAlign = "LEFT"
        grid.setStyle([
            ("GRID", (0, 0), (-1, -1), 0.4, "#767676"),
            ("BACKGROUND", (0, 0), (-1, 0), "#f2f0eb"),
            ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
            ("LEFTPADDING", (0, 0), (-1, -1), PAD / 2),
            ("RIGHTPADDING", (0, 0), (-1, -1), PAD / 2),
            ("TOPPADDING", (0, 0), (-1, -1), 0),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 1.5),
        ])  # fmt: skip
        notes = [_words(note, SMALL, colour=SOFT) for note in table.notes]
        self.add(_words(table.title, BODY, bold=True), grid, *notes, Spacer(1, GAP * POINTS / 2))

    def boxes(self, labels: tuple[str, ...]) -> None:
        self.add(_Boxes(labels, self.width))

    def picture(self, drawing: Drawing, caption: str) -> None:
        from reportlab.platypus import KeepTogether

        both = [_Drawn(drawing, self.width), _words(caption, SMALL, colour=SOFT)]
        self.add(*(both if self.whole else [KeepTogether(both)]))

    def told(self, level: str, word: str, message: str, do: str) -> None:
        then = f"<br/><b>Do: </b>{_marked(do)}" if do else ""
        said = _set(f"<b>{word}: </b>{_marked(message)}{then}", BODY)
        bar = 3.0 if level == "decide" else 1.0
        self.add(_framed([[said]], [("LINEBEFORE", (0, 0), (0, 0), bar, INK)], [self.width]))

    def labelled(self, label: str, text: str) -> None:
        self.add(_set(f"<b>{label}:</b> {_marked(text)}", SMALL + 0.5))

    def caution(self, text: str) -> None:
        self.add(_set(f"<b>!</b>&nbsp; {_marked(text)}", SMALL + 0.5))

    @contextmanager
    def kept(self) -> Iterator[_Column]:
        from reportlab.platypus import KeepTogether

        inside = _Column(self.width, self.gap / 2, whole=True)
        yield inside
        self.add(KeepTogether(inside.story))

    @contextmanager
    def step(self, step: Step, place: str) -> Iterator[_Column]:
        """A framed step, whole on one page."""
        inside = _Column(self.width - 12, whole=True)
        inside.add(_words(step.title, HEAD, bold=True), _words(step.goal, BODY, bold=True))
        yield inside
        self.add(_framed([[inside.story]], [("BOX", (0, 0), (-1, -1), 0.8, INK)], [self.width]))


def _fitted(lines: list[list[str]], width: float, writes: bool, labels: int) -> tuple[float, list[float]]:
    """Type size and column widths: what the longest word or figure of each needs, the rest shared out by length.

    labels: columns at the start whose cells are kept in one line where they are short.
    """
    columns = range(len(lines[0]))
    empty = [writes and not any(row[n] for row in lines[1:]) for n in columns]
    size = float(SMALL + 1)
    while True:
        least = [_widest((word for row in lines for word in row[n].split()), FONT_BOLD, size) for n in columns]
        names = [_widest((row[n] for row in lines[1:] if len(row[n]) <= ONE_LINE), FONT, size) for n in range(labels)]
        least[:labels] = map(max, least, names)
        least = [max(wide, BOX[0] * POINTS) if empty[n] else wide for n, wide in enumerate(least)]
        if sum(least) <= width or size <= FEWEST:
            break
        size -= 0.25
    cells = [_widest((row[n] for row in lines[1:]), FONT, size) for n in columns]
    heads = [(_widest([lines[0][n]], FONT_BOLD, size) - PAD) / 2 + PAD for n in columns]  # on two lines
    want = [max(three) for three in zip(least, cells, heads, strict=True)]
    spare, more = width - sum(least), sum(want) - sum(least)
    share = max(min(1.0, spare / more), 0.0) if more > 0 else 0.0
    widths = [a + share * (b - a) for a, b in zip(least, want, strict=True)]
    rest = (width - sum(widths)) / max(sum(empty), 1)
    return size, [wide + rest if empty[n] else wide for n, wide in enumerate(widths)]


def _wanted(column: Stack) -> float:
    """What a column's figures and the longest word of its head need."""
    return max(
        _widest((cell.large for cell in column.cells), FONT, LARGE),
        _widest((cell.small for cell in column.cells), FONT, SMALL),
        _widest(column.head.split(), FONT_BOLD, SMALL),
    )


def _cell(cell: Cell, words: bool) -> list[Any]:
    """The figure, and what is small under it."""
    from reportlab.lib.styles import ParagraphStyle
    from reportlab.platypus import Paragraph

    side = 0 if words else 2
    style = ParagraphStyle("cell", fontName=FONT, fontSize=LARGE, leading=LARGE, alignment=side)
    small = ParagraphStyle("small", fontName=FONT, fontSize=SMALL, leading=SMALL, textColor=SOFT, alignment=side)
    under = [Paragraph(_marked(cell.small), small)] if cell.small else []
    return [Paragraph(_marked(cell.large), style), *under]


def _widest(texts: Iterable[str], font: str, size: float) -> float:
    from reportlab.pdfbase.pdfmetrics import stringWidth

    return float(max((stringWidth(text, font, size) for text in texts), default=0.0)) + PAD


def _Boxes(labels: tuple[str, ...], width: float) -> Any:  # noqa: N802  (a flowable's class, made where reportlab is there)
    from reportlab.pdfbase.pdfmetrics import stringWidth
    from reportlab.platypus import Flowable

    class Frames(Flowable):  # type: ignore[misc]
        def wrap(self, room: float, _: float) -> tuple[float, float]:
            self.rows: list[list[tuple[float, str]]] = [[]]
            x = 0.0
            for label in labels:
                wide = stringWidth(label, FONT, BODY) + 4 + BOX[0] * POINTS + 12
                if x + wide > width and self.rows[-1]:
                    self.rows.append([])
                    x = 0.0
                self.rows[-1].append((x, label))
                x += wide
            return width, len(self.rows) * (BOX[1] + 1.5) * POINTS + 3

        def draw(self) -> None:
            for n, row in enumerate(reversed(self.rows)):
                y = n * (BOX[1] + 1.5) * POINTS + 1
                for x, label in row:
                    self.canv.setFont(FONT, BODY)
                    self.canv.drawString(x, y + 7, label)
                    self.canv.rect(x + stringWidth(label, FONT, BODY) + 4, y, BOX[0] * POINTS, BOX[1] * POINTS)

    return Frames()


def _Drawn(drawing: Any, width: float) -> Any:  # noqa: N802  (as above)
    from reportlab.platypus import Flowable

    class Drawn(Flowable):  # type: ignore[misc]
        def wrap(self, room: float, _: float) -> tuple[float, float]:
            self.box = drawing.bounds().grown(1.0 / drawing.scale)
            self.share = min(1.0, width / (self.box.width * drawing.scale * POINTS))
            return width, self.box.height * drawing.scale * POINTS * self.share

        def draw(self) -> None:
            k = drawing.scale * POINTS * self.share
            self.canv.saveState()
            self.canv.translate(-self.box.x0 * k, -self.box.y0 * k)
            self.canv.scale(self.share, self.share)
            as_form(self.canv, drawing)
            self.canv.restoreState()

    return Drawn()


def _Whole(page: BenchPage, number: int, height: float) -> Any:  # noqa: N802  (as above)
    """A page's blocks on one sheet, as large as ``height`` points allow: as if on wider paper where they are many."""
    from reportlab.platypus import Flowable

    class Whole(Flowable):  # type: ignore[misc]
        def wrap(self, room: float, _: float) -> tuple[float, float]:
            self.share = 1.0
            while True:
                column = _Column(room / self.share, GAP * POINTS, whole=True)
                replay(page.blocks, column, number)
                self.placed = [(each, each.wrapOn(self.canv, column.width, 1e6)) for each in column.story]
                tall = sum(high for _, (_, high) in self.placed)
                if tall * self.share <= height or self.share <= SMALLEST:
                    break
                self.share *= min(0.99, (height / (tall * self.share)) ** 0.5)
            return room, min(tall * self.share, height)

        def draw(self) -> None:
            self.canv.saveState()
            y = sum(high for _, (_, high) in self.placed) * self.share
            self.canv.translate(0, y)
            self.canv.scale(self.share, self.share)
            below = 0.0
            for each, (_, high) in self.placed:
                below += high
                each.drawOn(self.canv, 0, -below)
            self.canv.restoreState()

    return Whole()
