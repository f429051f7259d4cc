"""From found to wanted, step by step: what to turn, file, lower or leave, by how much and in which order."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

from templategen.document.model import BenchPage, Document, Heading, Kept, Paragraphs, Passage
from templategen.errors import Caution
from templategen.parts.common import cautions
from templategen.parts.common.product import Product, Writing
from templategen.parts.common.reading import document as read_at_the_bench
from templategen.parts.common.reading import headroom_text, listing, warned
from templategen.parts.common.work import Work
from templategen.repair.changes import Change
from templategen.repair.remedy import Remedy
from templategen.tables.changes import place, steps

NAME = "setup-plan"
HEADINGS = {
    "relief": "Relief",
    "refret": "Frets",
    "fret": "New frets",
    "crown": "Crowns",
    "slot_depth": "Slots: depth at the edge",
    "slot_width": "Slots: width",
    "strings": "Strings",
    "nut_floor": "Nut: floors of the slots",
    "zero_fret": "Zero fret",
    "saddle": "Saddle",
    "relief_again": "Relief again",
    "neck": "Neck",
    "saddle_offset": "Saddle: where the strings leave it",
}
CAUTIONS: dict[str, tuple[Caution, ...]] = {
    "relief": (cautions.ROD,),
    "strings": (cautions.EYES,),
    "relief_again": (cautions.ROD,),
    "crown": (cautions.CROWNS,),
    "fret": (cautions.PRESSING, cautions.CROWNS),
    "refret": (cautions.PRESSING, cautions.CROWNS),
    "zero_fret": (cautions.CROWNS,),
    "slot_depth": (cautions.SAWING,),
    "slot_width": (cautions.SAWING,),
    "nut_floor": (cautions.NUT_FILING, cautions.NUT_DUST),
    "saddle": (cautions.NUT_DUST,),
}


def make(work: Work) -> tuple[Product, ...]:
    remedy = work.bench.remedy
    if remedy is None or not remedy.changes.steps:
        return ()
    return (Writing(NAME, lambda: document(work, remedy), ("pdf",)),)


def document(work: Work, remedy: Remedy) -> Document:
    """What it comes to in words, then every step with its numbers, in the order in which one works."""
    said = map(Paragraphs, summary(remedy))
    return read_at_the_bench(
        work, NAME, "setup plan", BenchPage("From found to wanted", (*said, *_steps(work, remedy)))
    )


def summary(remedy: Remedy) -> tuple[str, ...]:
    """How it was found and how it will be left, and what filing cannot do."""
    c = remedy.changes
    said = ["Each step counts with those before it made; do them in this order and measure after each."]
    if remedy.estimated:
        said.append(f"Not measured, and taken as wanted (est.): {', '.join(remedy.estimated)}.")
    now, then = remedy.clearance.least_fretted, None if remedy.left is None else remedy.left.least_fretted
    if now is not None and then is not None:
        said.append(f"Least headroom of a fretted note: found {headroom_text(now)}, as left {headroom_text(then)}.")
    if c.new_nut:
        said.append(f"Too low at the nut, under {_strings(c.new_nut)}: no file helps.")
    if c.new_saddle:
        said.append(f"Too low at the saddle, under {_strings(c.new_saddle)}.")
    if c.neck_deg is not None:
        way = "back" if c.neck_deg > 0 else "forward"
        said.append(f"The neck wants setting {way} by about {abs(c.neck_deg):.2f} degrees: settle that first.")
    return tuple(said)


def _strings(numbers: tuple[int, ...]) -> str:
    listed = [str(n) for n in numbers]
    return f"string {listed[0]}" if len(listed) == 1 else f"strings {', '.join(listed[:-1])} and {listed[-1]}"


def _steps(work: Work, remedy: Remedy) -> Iterator[Passage]:
    groups = groupby(remedy.changes.steps, key=lambda step: step.what)
    for number, (what, listed) in enumerate(groups, 1):
        yield Kept(tuple(_step(work, f"{number}  {HEADINGS[what]}", list(listed))))


def _step(work: Work, heading: str, listed: list[Change]) -> Iterator[Passage]:
    table = steps(work.instrument, listed)
    yield Heading(heading)
    for how in dict.fromkeys(step.how for step in listed):
        line = f"{_where_all(listed, how, table is None)}{how}."
        yield Paragraphs(f"{line[0].upper()}{line[1:]}")
    if table is not None:
        yield listing(table, writes=True)
    if not all(step.left for step in listed):
        yield from warned(*CAUTIONS.get(listed[0].what, ()))


def _where_all(listed: list[Change], how: str, alone: bool) -> str:
    """Which rows an instruction is for, where there are several, or no table (alone) says it."""
    if all(step.how == how and (not alone or place(step) == "neck") for step in listed):
        return ""
    return f"{', '.join(place(step) for step in listed if step.how == how)}: "
