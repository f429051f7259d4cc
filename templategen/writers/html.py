"""A document as one HTML file: no network, no script, drawings inline, made to be printed.

The tree is built as XML and written as HTML, so that text stays text whatever it holds.
"""

from __future__ import annotations

import re
from importlib import resources
from xml.etree.ElementTree import Element, SubElement, fromstring, tostring

from templategen.document.model import (
    Block,
    Boxes,
    Document,
    Facts,
    Heading,
    Listing,
    Page,
    Picture,
    Step,
    Told,
    Words,
)
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
    SubElement(header, "p", {"class": "trace"}).text = one_line(f"{document.what}   {document.trace}")
    main = SubElement(body, "main")
    for number, page in enumerate(document.pages, 1):
        _page(main, page, number)
    text = tostring(root, encoding="unicode", method="html")
    return ("<!DOCTYPE html>\n" + text + "\n").encode()


def _page(main: Element, page: Page, number: int) -> None:
    section = SubElement(main, "section", {"class": "page", "aria-labelledby": f"page-{number}"})
    SubElement(section, "h2", id=f"page-{number}").text = page.title
    for count, block in enumerate(page.blocks, 1):
        _block(section, block, f"{number}-{count}")


def _block(home: Element, block: Block, name: str) -> None:
    match block:
        case Words(text, strong):
            paragraph = SubElement(home, "p")
            if strong:
                SubElement(paragraph, "strong").text = one_line(text)
            else:
                paragraph.text = one_line(text)
        case Heading(text):
            SubElement(home, "h3").text = one_line(text)
        case Facts(rows, large):
            _facts(home, rows, large)
        case Listing(table, writes):
            _table(home, table, writes)
        case Boxes(labels):
            _boxes(home, labels)
        case Picture(drawing, caption):
            from templategen.writers import svg

            figure = SubElement(home, "figure")
            picture = fromstring(svg.encode(drawing))
            picture.set("role", "img")
            picture.set("aria-label", one_line(caption))
            _unnamed(picture)
            figure.append(picture)
            SubElement(figure, "figcaption").text = one_line(caption)
        case Told(level, message):
            paragraph = SubElement(home, "p", {"class": f"told {level}"})
            SubElement(paragraph, "strong").text = "To decide: " if level == "decide" else "Note: "
            paragraph[-1].tail = one_line(message)
        case Step():
            _step(home, block, name)


def _step(home: Element, step: Step, name: str) -> None:
    article = SubElement(home, "article", {"class": "step", "data-step": step.key, "aria-labelledby": f"step-{name}"})
    SubElement(article, "h3", id=f"step-{name}").text = one_line(step.title)
    SubElement(article, "p", {"class": "goal"}).text = one_line(step.goal)
    if step.numbers:
        _facts(article, step.numbers, large=True)
    if step.table is not None:
        _table(article, step.table, writes=False)
    for line in step.how:
        SubElement(article, "p").text = one_line(line)
    for label, said in (("Tools", step.tools), ("Files", ", ".join(step.files))):
        if said:
            paragraph = SubElement(article, "p", {"class": "small"})
            SubElement(paragraph, "strong").text = f"{label}: "
            paragraph[-1].tail = one_line(said)
    for line in step.cautions:
        SubElement(article, "p", {"class": "caution"}).text = one_line(line)
    _boxes(article, step.boxes)


def _facts(home: Element, rows: tuple[tuple[str, str], ...], large: bool) -> None:
    listed = SubElement(home, "dl", {"class": "large"} if large else {})
    for label, value in rows:
        pair = SubElement(listed, "div")
        SubElement(pair, "dt").text = one_line(label)
        SubElement(pair, "dd").text = one_line(value)


def _table(home: Element, table: Table, writes: bool) -> None:
    box = SubElement(home, "div", {"class": "scroll", "tabindex": "0", "role": "region", "aria-label": table.title})
    whole = SubElement(box, "table", {"data-table": table.key})
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
        SubElement(home, "p", {"class": "small"}).text = one_line(note)


def _boxes(home: Element, labels: tuple[str, ...]) -> None:
    row = SubElement(home, "p", {"class": "boxes"})
    for label in labels:
        pair = SubElement(row, "span")
        SubElement(pair, "span").text = one_line(f"{label} ")
        SubElement(pair, "span", {"class": "box", "aria-hidden": "true"}).text = "\u00a0"


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
