"""A document as one HTML file: no network, no script, drawings inline, made to be printed.

The tree is built as XML and written as HTML, so that text stays text whatever it holds.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from importlib import resources
from xml.etree.ElementTree import Element, SubElement, fromstring, tostring

from templategen.document.model import BenchPage, Document, Step
from templategen.document.stacked import Stack
from templategen.document.walk import replay
from templategen.drawing.model import Drawing
from templategen.tables.model import Table
from templategen.writers.plain import one_line

_SVG = "{http://www.w3.org/2000/svg}"


def encode(document: Document) -> bytes:
    """The document; the same one gives the same bytes."""
    root = Element("html", lang="en")
    head = SubElement(root, "head")
    SubElement(head, "meta", charset="utf-8")
    SubElement(head, "meta", name="viewport", content="width=device-width, initial-scale=1")
    SubElement(head, "title").text = one_line(f"{document.title}: {document.what}")
    style = resources.files("templategen.writers").joinpath("data", "document.css").read_text(encoding="utf-8")
    SubElement(head, "style").text = style
    body = SubElement(root, "body")
    header = SubElement(body, "header")
    SubElement(header, "h1").text = one_line(document.title)
    SubElement(header, "p", {"class": "trace"}).text = one_line(f"{document.what} · {document.trace}")
    main = SubElement(body, "main")
    for number, page in enumerate(document.pages, 1):
        _page(main, page, number)
    text = tostring(root, encoding="unicode", method="html")
    return ("<!DOCTYPE html>\n" + text + "\n").encode()


def _page(main: Element, page: BenchPage, number: int) -> None:
    kind = "page follows" if page.follows else "page"
    section = SubElement(main, "section", {"class": kind, "aria-labelledby": f"page-{number}"})
    SubElement(section, "h2", id=f"page-{number}").text = page.title
    replay(page.blocks, _Home(section), number)


class _Home:
    """The element that blocks are added to."""

    def __init__(self, element: Element) -> None:
        self.element = element

    def words(self, text: str, strong: bool) -> None:
        paragraph = SubElement(self.element, "p")
        home = SubElement(paragraph, "strong") if strong else paragraph
        home.text = one_line(text)

    def heading(self, text: str) -> None:
        SubElement(self.element, "h3").text = one_line(text)

    def facts(self, rows: tuple[tuple[str, str], ...], large: bool) -> None:
        listed = SubElement(self.element, "dl", {"class": "large"} if large else {})
        for label, value in rows:
            pair = SubElement(listed, "div")
            SubElement(pair, "dt").text = one_line(label)
            SubElement(pair, "dd").text = one_line(value)

    def table(self, table: Table, writes: bool) -> None:
        named = {"class": "scroll", "tabindex": "0", "role": "region", "aria-label": table.title}
        whole = SubElement(SubElement(self.element, "div", named), "table", {"data-table": table.key})
        SubElement(whole, "caption").text = one_line(table.title)
        head, *rows = table.lines()
        row = SubElement(SubElement(whole, "thead"), "tr")
        for text in head:
            SubElement(row, "th", scope="col").text = one_line(text)
        body = SubElement(whole, "tbody")
        for cells in rows:
            row = SubElement(body, "tr")
            for place, text in enumerate(cells):
                if place < table.labels:
                    SubElement(row, "th", scope="row").text = one_line(text)
                else:
                    empty = writes and not text and place == len(cells) - 1
                    SubElement(row, "td", {"class": "write"} if empty else {}).text = one_line(text)
        for note in table.notes:
            SubElement(self.element, "p", {"class": "small"}).text = one_line(note)

    def figures(self, table: Table, columns: tuple[Stack, ...]) -> None:
        named = {"class": "scroll", "tabindex": "0", "role": "region", "aria-label": table.title}
        about = {"data-table": table.key, "class": "large"}
        whole = SubElement(SubElement(self.element, "div", named), "table", about)
        SubElement(whole, "caption").text = one_line(table.title)
        row = SubElement(SubElement(whole, "thead"), "tr")
        for column in columns:
            SubElement(row, "th", scope="col").text = one_line(column.head)
        body = SubElement(whole, "tbody")
        for n in range(len(table)):
            row = SubElement(body, "tr")
            for place, column in enumerate(columns):
                cell = column.cells[n]
                if place < table.labels:
                    home = SubElement(row, "th", scope="row")
                else:
                    empty = not cell.large and place == len(columns) - 1
                    home = SubElement(row, "td", {"class": "write"} if empty else {})
                home.text = one_line(cell.large)
                if cell.small:
                    SubElement(home, "small").text = f" {one_line(cell.small)}"
        for note in table.notes:
            SubElement(self.element, "p", {"class": "small"}).text = one_line(note)

    def boxes(self, labels: tuple[str, ...]) -> None:
        row = SubElement(self.element, "p", {"class": "boxes"})
        for label in labels:
            pair = SubElement(row, "span")
            SubElement(pair, "span").text = one_line(f"{label} ")
            SubElement(pair, "span", {"class": "box", "aria-hidden": "true"}).text = "\u00a0"

    def picture(self, drawing: Drawing, caption: str) -> None:
        from templategen.writers import svg

        figure = SubElement(self.element, "figure")
        picture = fromstring(svg.encode(drawing))
        picture.set("role", "img")
        picture.set("aria-label", one_line(caption))
        _unnamed(picture)
        figure.append(picture)
        SubElement(figure, "figcaption").text = one_line(caption)

    def told(self, level: str, word: str, message: str, do: str) -> None:
        paragraph = self._behind(f"{word}: ", message, f"told {level}")
        if do:
            SubElement(paragraph, "br")
            SubElement(paragraph, "strong").text = "Do: "
            SubElement(paragraph, "span", {"class": "do"}).text = one_line(do)

    def labelled(self, label: str, text: str) -> None:
        self._behind(f"{label}: ", text, "small")

    def caution(self, text: str) -> None:
        SubElement(self.element, "p", {"class": "caution"}).text = one_line(text)

    @contextmanager
    def kept(self) -> Iterator[_Home]:
        yield _Home(SubElement(self.element, "div", {"class": "kept"}))

    @contextmanager
    def step(self, step: Step, place: str) -> Iterator[_Home]:
        named = {"class": "step", "data-step": step.key, "aria-labelledby": f"step-{place}"}
        article = SubElement(self.element, "article", named)
        SubElement(article, "h3", id=f"step-{place}").text = one_line(step.title)
        SubElement(article, "p", {"class": "goal"}).text = one_line(step.goal)
        yield _Home(article)

    def _behind(self, word: str, text: str, kind: str) -> Element:
        paragraph = SubElement(self.element, "p", {"class": kind})
        SubElement(paragraph, "strong").text = word
        paragraph[-1].tail = one_line(text)
        return paragraph


def _unnamed(picture: Element) -> None:
    """A picture's groups by class instead of by id, which a page may hold once; tags without their prefix."""
    for element in picture.iter():
        element.tag = element.tag.replace(_SVG, "")
        if "id" in element.attrib:
            element.set("class", element.attrib.pop("id"))
    width = picture.get("width", "")
    if found := re.fullmatch(r"([\d.]+)mm", width):
        picture.set("style", f"max-width:{found[1]}mm")
        picture.attrib.pop("width")
        picture.attrib.pop("height", None)
