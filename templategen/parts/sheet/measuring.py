"""The printed sheet of a survey: one page per position at the bench, in the order in which one measures.

The instrument is turned over once at most: in playing position first, then on its back with the strings on, with the
strings off, and with the frets out.
"""

from __future__ import annotations

from templategen.document.model import BenchPage, Boxes, Document, Heading, Listing, Paragraphs, Passage
from templategen.tables.model import Table, column

EYES = "Wear eye protection whenever strings are tightened, loosened or cut."


def document(title: str, frets: int, strings: int) -> Document:
    """To print and write on."""
    return Document(
        title,
        "measuring sheet",
        f"{frets} frets, {strings} strings",
        (
            BenchPage("1. In playing position, strings on, tuned to pitch", _playing(strings)),
            BenchPage("2. On its back, strings on", _on_its_back(frets)),
            BenchPage("3. On its back, strings off, neck straightened", _strings_off(frets)),
            BenchPage("4. Frets out", _frets_out(frets)),
        ),
    )


def _rows(key: str, title: str, head: str, labels: list[str], *heads: str) -> Listing:
    blank = tuple(None for _ in labels)
    columns = [column(key, head, tuple(labels))]
    columns += [column(f"{key}_{n}", each, blank) for n, each in enumerate(heads)]
    return Listing(Table(key, title, tuple(columns)), writes=True)


def _in_halves(key: str, title: str, head: str, count: int, *heads: str) -> Listing:
    """Rows for 1 to count, the second half of them beside the first."""
    half = -(-count // 2)
    columns = []
    for part, first in enumerate((1, half + 1)):
        labels = tuple(str(n) if n <= count else "" for n in range(first, first + half))
        columns.append(column(f"{key}_{part}", head, labels))
        columns += [column(f"{key}_{part}_{n}", each, (None,) * half) for n, each in enumerate(heads)]
    return Listing(Table(key, title, tuple(columns)), writes=True)


def _playing(strings: int) -> tuple[Passage, ...]:
    numbers = [str(n + 1) for n in range(strings)]
    return (
        Paragraphs(EYES, strong=True),
        Boxes(("date", "measured by", "mm or in")),
        Boxes(("humidity, %", "temperature, °C", "left- or right-handed")),
        Heading("Relief: straightedge on the first and the last crown, thickest feeler that enters"),
        Boxes(("at fret 5", "at fret 7", "at fret 9", "at fret 12")),
        Boxes(("held at other frets", "feelers, from leaf to leaf", "rod turns")),
        Heading("Strings: feelers, height gauge, tuner (open string 0), calipers from the bass edge"),
        _rows("heights", "String 1 on the treble side; write - where one was not read", "string", numbers, "gauge",
              "over 1", "over 1, held at 3", "over 12", "cents, 12", "at nut"),
        Boxes(("not over 12 but", "capo on 1?", "cents not at 12 but")),
        Heading("One-piece bridge: saddle over its top; its top under a straightedge on the crowns"),
        Boxes(("bass", "treble", "top under", "body at fret")),
    )  # fmt: skip


def _on_its_back(frets: int) -> tuple[Passage, ...]:
    return (
        Paragraphs(
            "Rule: its class stands on it in an oval. Keep its zero line at the nut's front edge for all frets."
        ),
        Boxes(("rule class", "graduation", "from its end?")),
        Boxes(("multi-scale: nut slant", "bass line at", "treble line at")),
        _in_halves("places", "Frets from the nut's front edge to the middle of the crown", "fret", frets,
                   "centre or bass line", "treble line"),
        Heading("Calipers"),
        Boxes(("width at nut", "width at last fret", "board at edge, nut", "nut thickness", "spread at saddle")),
    )  # fmt: skip


def _strings_off(frets: int) -> tuple[Passage, ...]:
    labels = [str(n) for n in range(1, frets + 1)]
    return (
        Paragraphs(f"{EYES} Slacken the strings before the rod is turned, a quarter turn at a time.", strong=True),
        Heading("Radius gauges between frets: the one that shows no light, or the two between"),
        Boxes(("at fret 1", "at fret 5", "at fret 9", "at fret 12", "at the last")),
        Boxes(("gauges, from one to the next", "crown width")),
        _rows("crowns", "Crowns: gap under the straightedge, height over the wood, hollow before", "fret", labels,
              "gap, bass", "gap, treble", "height, bass", "height, treble", "hollow"),
    )  # fmt: skip


def _frets_out(frets: int) -> tuple[Passage, ...]:
    return (
        Paragraphs("Dust from slots harms lungs: extract it, do not blow. Your workshop's own rules come first.", True),
        Heading("Rise of the board over a chord across it"),
        Boxes(("chord", "rise at fret 1", "rise at fret 12", "rise at the last")),
        _rows("slots", "Empty slots at the edge", "fret", [str(n) for n in range(1, frets + 1)], "depth",
              "thickest feeler that enters"),
    )  # fmt: skip
