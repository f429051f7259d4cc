"""What is lettered on a sheet, read back out of its SVG, DXF or PDF, and the tables and labels that it makes.

A ``Mark`` is one line of lettering where it stands. A cell belongs to the head that it is lined up with, by the side
that its column is set to, and to the label that stands first in its line. The readers know nothing of what was meant:
only which heads to look for.
"""

from __future__ import annotations

import io
import math
import xml.etree.ElementTree as ET
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import ezdxf
from labelled import Cells, full_heads

from templategen.drawing.model import Drawing
from templategen.drawing.paper.sizes import PAPERS
from templategen.writers.register import Setting, encode

LINED_UP = 0.5  # mm of paper that a reader may be off
MOST_PITCH = 8.0  # mm of paper from one row to the next, more ends a table


@dataclass(frozen=True)
class Mark:
    """text: with plain signs. x0, x1: its left and right end, NaN where the file does not tell; y: its baseline, rising
    upward; mm of paper. angle_deg: 0 for lettering that lies."""

    text: str
    x0: float
    x1: float
    y: float
    page: int = 0
    angle_deg: float = 0.0

    @property
    def middle(self) -> float:
        return (self.x0 + self.x1) / 2


def of_svg(data: bytes, scale: float = 1.0) -> list[Mark]:
    """Of a drawing at its scale: the view box counts true mm."""
    found = []
    for element in ET.fromstring(data).iter("{http://www.w3.org/2000/svg}text"):
        x, y = float(element.get("x", "0")), -float(element.get("y", "0"))
        wide, anchor = float(element.get("textLength", "nan")), element.get("text-anchor")
        left = x - wide * {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor or "start"]
        turn = -float((element.get("transform") or "rotate(0").split("(")[1].split()[0].rstrip(")"))
        found.append(_mark(element.text or "", left * scale, (left + wide) * scale, y * scale, angle_deg=turn % 360))
    return found


def of_dxf(data: bytes, scale: float = 1.0) -> list[Mark]:
    """A DXF tells one side of each text."""
    found = []
    for entity in ezdxf.read(io.StringIO(data.decode("cp1252"))).modelspace().query("TEXT"):  # type: ignore[attr-defined]
        align, first, _ = entity.get_placement()
        x, side = first.x * scale, align.name.rpartition("_")[2]
        x0, x1 = (x if side == "LEFT" else math.nan), (x if side == "RIGHT" else math.nan)
        if side in ("CENTER", "MIDDLE"):
            x0 = x1 = x
        found.append(_mark(entity.plain_text(), x0, x1, first.y * scale, angle_deg=entity.dxf.rotation % 360))
    return found


def of_pdf(data: bytes) -> list[Mark]:
    """Words that follow each other as one; from pages as pdfplumber sees them."""
    import pdfplumber

    found = []
    with pdfplumber.open(io.BytesIO(data)) as document:
        for number, page in enumerate(document.pages):
            lines = page.extract_words(keep_blank_chars=True, x_tolerance=3.5, y_tolerance=0.5, use_text_flow=True)
            mm = 25.4 / 72
            found += [
                _mark(w["text"], w["x0"] * mm, w["x1"] * mm, (page.height - w["bottom"]) * mm, number)
                for w in lines
                if w["upright"]
            ]
    return found


def _mark(text: str, x0: float, x1: float, y: float, page: int = 0, angle_deg: float = 0.0) -> Mark:
    plain = text.strip().replace("−", "-").replace("\xa0", " ")
    return Mark(plain, x0, x1, y, page, angle_deg)


def readings(drawing: Drawing, forms: Sequence[str] = ("svg", "dxf", "pdf")) -> Iterator[tuple[str, list[Mark]]]:
    """The drawing written and read back, by format."""
    setting = Setting(PAPERS["A4"])
    for form in forms:
        match form:
            case "svg":
                yield form, of_svg(encode("drawing", form, drawing, setting), drawing.scale)
            case "dxf":
                yield form, of_dxf(encode("drawing", form, drawing, setting), drawing.scale)
            case _:
                yield form, of_pdf(encode("drawing", form, (drawing,), setting))


# ----------------------------------------------------------------------------------------------------------- tables


def table(marks: Iterable[Mark], heads: Sequence[str]) -> Cells:
    """The cells under a line of these heads, by (label, head with its quantity); blocks side by side put together.

    An empty head names a column that has none over it. Raises AssertionError where no such line is lettered, or a
    label stands twice.
    """
    lying = [mark for mark in marks if mark.angle_deg == 0]
    found: Cells = {}
    starts = _starts(lying, [head for head in heads if head])
    assert starts, f"no line of heads {heads}: {sorted({m.text for m in lying})}"
    names = full_heads(heads[1:])
    for start in starts:
        for row in _rows(lying, start):
            label, *cells = (_under(row, head) for head in start)
            for name, cell in zip(names, cells, strict=True):
                assert (label, name) not in found, f"{label} stands twice"
                found[label, name] = cell
    return found


def _starts(marks: Sequence[Mark], heads: Sequence[str]) -> list[list[Mark]]:
    """Every run of marks in one line that reads like the heads."""
    found = []
    for first in (mark for mark in marks if mark.text == heads[0]):
        line = sorted((m for m in marks if _in_line(m, first) and _left(m) >= _left(first) - LINED_UP), key=_left)
        if [mark.text for mark in line[: len(heads)]] == list(heads):
            found.append(line[: len(heads)])
    return found


def _rows(marks: Sequence[Mark], heads: Sequence[Mark]) -> Iterator[list[Mark]]:
    """The lines below the heads for as long as they go on at one pitch and have a label."""
    y, pitch = heads[0].y, MOST_PITCH
    while True:
        below = [m for m in marks if m.page == heads[0].page and y - pitch - LINED_UP < m.y < y - LINED_UP]
        labels = [m for m in below if _lined_up(m, heads[0])]
        if not labels:
            return
        label = max(labels, key=lambda m: m.y)
        pitch, y = min(pitch, (y - label.y) * 1.01), label.y
        yield [m for m in below if _in_line(m, label)]


def _under(row: Sequence[Mark], head: Mark) -> str:
    cells = [m.text for m in row if _lined_up(m, head)]
    assert len(cells) <= 1, f"{cells} under {head.text}"
    return cells[0] if cells else ""


def _lined_up(mark: Mark, head: Mark) -> bool:
    return abs(mark.x0 - head.x0) < LINED_UP or abs(mark.x1 - head.x1) < LINED_UP


def _in_line(one: Mark, other: Mark) -> bool:
    return one.page == other.page and abs(one.y - other.y) < LINED_UP


def _left(mark: Mark) -> float:
    return mark.x1 if math.isnan(mark.x0) else mark.x0


# ----------------------------------------------------------------------------------------------------------- labels


def nearest(marks: Iterable[Mark], to: tuple[float, float], angle_deg: float = 0.0) -> str:
    """The lettering that stands nearest to a point, by its start."""

    def away(mark: Mark) -> float:
        return math.hypot(_left(mark) - to[0], mark.y - to[1])

    return min((m for m in marks if m.angle_deg == angle_deg), key=away).text


def sentence(marks: Iterable[Mark], begins: str) -> str:
    """All lettering in the order of the file, run on, from where it ``begins`` so to the sentence's end."""
    whole = " ".join(mark.text for mark in marks)
    assert begins in whole, f"nothing begins with {begins!r}"
    rest = whole[whole.index(begins) :]
    return rest.partition(". ")[0]


def beside(marks: Iterable[Mark]) -> dict[str, str]:
    """What stands first in each line, and the next in that line: tables without a head."""
    lying = [mark for mark in marks if mark.angle_deg == 0]
    found = {}
    for mark in lying:
        right = [m for m in lying if _in_line(m, mark) and _left(m) > _left(mark) + LINED_UP]
        if right:
            found[mark.text] = min(right, key=_left).text
    return found
