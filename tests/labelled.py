"""What stands in a table, by the labels it stands under: a test asks for the cell of a row and a column by name.

A cell's address is (what names its row, the head of its column): ``("6 E2", "action, mm")``. Heads are those of the
table model, each with its unit; a length has two columns. Where a file is read, the addresses come from where the
lettering stands in it, not from the model: a cell counts to the head it stands under and to the label it stands beside.
"""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Iterable, Sequence
from typing import Any

import html5lib

from templategen.document.model import Document
from templategen.drawing.paper.sizes import PAPERS
from templategen.parts.common.product import Format, Product
from templategen.parts.common.work import Work
from templategen.parts.sheet import tables
from templategen.tables.model import ESTIMATED, Printed, Table
from templategen.writers import html, terminal
from templategen.writers.register import Setting, encode

Cells = dict[tuple[str, str], str]
EVERY = "every row"


def of_table(table: Table) -> Cells:
    """The cells of the model itself."""
    if table.upright:
        return of_upright(table.lines(), bool(table.labels))
    strips = table.printed()
    names, rest = strips[: table.labels], strips[table.labels :]
    rows = [" ".join(cells) for cells in zip(*(strip.cells for strip in names), strict=True)]
    return {(row, _head(strip)): cell for strip in rest for row, cell in zip(rows, strip.cells, strict=True)}


def _head(strip: Printed) -> str:
    """What stands over a column, its units or, in a group, its own head last."""
    if strip.group:
        return f"{strip.group}, {strip.head}"
    under = strip.unit or ("" if strip.first else ESTIMATED)
    return f"{strip.head}, {under}" if under else strip.head


def of_upright(lines: Sequence[Sequence[str]], headed: bool) -> Cells:
    """Rows of text, of which the first heads the others, or of one thing without a head."""
    heads, rows = (lines[0][1:], lines[1:]) if headed else ([""], lines)
    return {(row[0], head): cell for row in rows for head, cell in zip(heads, row[1:], strict=True)}


def full_heads(heads: Iterable[str]) -> list[str]:
    """Heads in one line, each with what it measures: ``action, mm``, ``in`` is ``action, mm``, ``action, in``."""
    found: list[str] = []
    before = ""
    for head in heads:
        if head in ("in", "in³", "1/64 in", ""):
            found.append(f"{before}, {head or 'est.'}")
        else:
            before = head.rpartition(", ")[0] or head
            found.append(head)
    return found


# ---------------------------------------------------------------------------------------------------------- terminal


def of_terminal(text: str, labels: int = 1) -> Cells:
    """The cells of one table as it was printed, parts of a broken one put together.

    Under the heads a rule, broken between quantities and notched between the columns of one, says where columns are.
    What is told once for all rows has the row ``EVERY`` and its units written out.
    """
    lines = [re.sub(r"\x1b\[\d*m", "", line) for line in text.splitlines()]
    rules = [n for n, line in enumerate(lines) if line and not set(line) - set("─┬ ")]
    found: Cells = {}
    for n in rules:
        found |= _part(lines, n, labels)
    alike = re.search(r"The same in every row: ((?:.|\n      )*)\.\n", text + "\n")
    for said in alike[1].replace("\n      ", " ").split("; ") if alike else ():
        head, _, value = said.partition(" = ")
        found[EVERY, head] = value
    return found


def _part(lines: Sequence[str], at: int, labels: int) -> Cells:
    rule = lines[at]
    blocks = [match.span() for match in re.finditer("[─┬]+", rule)]
    low, high = lines[at - 1], lines[at - 2] if at > 1 else ""
    if high[: blocks[0][1]].strip():  # what names the rows stands low: this is no head, but the title over it
        high = ""
    columns: list[tuple[int, int, str]] = []
    for start, end in blocks:
        over, first = high[start:end].strip(), ""
        for part in re.finditer("─+", rule[start:end]):
            span = start + part.start(), start + part.end()
            own = low[slice(*span)].strip()
            under = own or (ESTIMATED if "┬" in rule[start:end] else "")
            named = over or ("" if own else first)  # what has no unit stands low, over the first of its columns
            first = first or own
            columns.append((*span, ", ".join(word for word in (named, under) if word)))
    found: Cells = {}
    for line in lines[at + 1 :]:
        if not line or _outside(line, rule):
            break
        cells = [line[start:end].strip() for start, end, _ in columns]
        for (_, _, head), cell in zip(columns[labels:], cells[labels:], strict=True):
            found[" ".join(cells[:labels]), head] = cell
    return found


def _outside(line: str, rule: str) -> bool:
    """Whether a line is none of the rows: words where no column is."""
    return any(sign != " " and (n >= len(rule) or rule[n] in " ┬") for n, sign in enumerate(line))


# ------------------------------------------------------------------------------------------------------------- files


def of_csv(products: Iterable[Product], stem: str) -> list[dict[str, str]]:
    """The rows of one of a part's CSV files, read back: by key."""
    return list(csv.DictReader(io.StringIO(_file(products, stem, "csv").decode())))


def numbers(work: Work) -> dict[str, Any]:
    """numbers.json, read back."""
    whole: dict[str, Any] = json.loads(_file(tables.make(work), "numbers", "json"))
    return whole


def of_document(document: Document) -> dict[str, Cells]:
    """The tables of a document, by their keys, from its HTML as a parser that follows the standard reads it."""
    tree = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parse(html.encode(document).decode())
    found = {}
    for table in tree.iter("table"):
        head, *rows = ([" ".join("".join(cell.itertext()).split()) for cell in row] for row in table.iter("tr"))
        labels = max(len(row.findall("th")) for row in table.findall("./tbody/tr"))
        heads = full_heads(head)[labels:]
        found[str(table.get("data-table"))] = {
            (" ".join(row[:labels]), name): cell for row in rows for name, cell in zip(heads, row[labels:], strict=True)
        }
    return found


def words_of(document: Document) -> str:
    """All that a document says, tables and pictures too, from its HTML."""
    tree = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parse(html.encode(document).decode())
    return " ".join(" ".join(tree.find("body").itertext()).split())


def _file(products: Iterable[Product], stem: str, form: Format) -> bytes:
    (found,) = [p for p in products if p.stem == stem and form in p.formats]
    return encode(found.kind, form, found.content(form), Setting(PAPERS["A4"]))


def printed(table: Table) -> Cells:
    """A table through the terminal and back."""
    return of_terminal(terminal.encode(table).decode(), table.labels)
