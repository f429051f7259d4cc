"""The bench sheet: what hangs over the bench while the job is done, and what the customer's file keeps afterwards."""

from __future__ import annotations

from collections.abc import Iterator

from templategen.document.model import (
    BenchPage,
    Boxes,
    Document,
    Facts,
    Heading,
    Listing,
    Paragraphs,
    Passage,
    Step,
    Told,
    Warned,
)
from templategen.findings.severity import worst_first
from templategen.parts.bench.files import Files
from templategen.parts.bench.order import MAKES_DUST, files, steps, tuning_text
from templategen.parts.common import cautions
from templategen.parts.common.product import Product, Writing
from templategen.parts.common.work import Work
from templategen.tables import bench as tables
from templategen.tables import orders, strings
from templategen.units import both_units

NAME = "bench-sheet"
PLACES: tuple[tuple[str, tuple[str, ...], bool], ...] = (
    ("At the door", ("record", "strings-off", "frets-out"), False),
    ("Neck and board", ("neck", "radius"), False),
    ("Frets", ("slots", "frets-in"), True),
    ("Crowns", ("level",), True),
    ("Nut", ("nut",), False),
    ("Saddle", ("saddle",), True),
    ("Strings on", ("strings-on",), False),
    ("Setup", ("setup",), True),
    ("Offsets", ("offsets",), True),
    ("Check", ("check", "record-left"), True),
)
"""Positions at the bench and their steps in the order of work; whether one may share the sheet of the one before, where
it lies at the same place."""
DUST = (
    "Dust: wood 1 mg/m³ (NIOSH) or 3 mg/m³ hardwood, 5 mg/m³ softwood (HSE EH40); bone and shell as any dust, 10 mg/m³ "
    "inhalable and 4 mg/m³ respirable (UK COSHH); nickel in filings 1 mg/m³ (OSHA). Extract at the source, never "
    "sweep dry."
)


def make(work: Work) -> tuple[Product, ...]:
    return (Writing(NAME, lambda: document(work)),)


def document(work: Work) -> Document:
    """The whole sheet."""
    i, of = work.instrument, files(work)
    found = {step.key: step for step in steps(work, of)}
    pages = [BenchPage("The job", tuple(_job(work)))]
    for title, keys, follows in PLACES:
        here = tuple(found[key] for key in keys if key in found)
        if here:
            pages.append(BenchPage(title, _cautioned(here), follows=follows))
    pages.append(BenchPage("To order, to quote, for the case", tuple(_after(work, of))))
    return Document(i.spec.title, "bench sheet", i.trace, tuple(pages))


def _job(work: Work) -> Iterator[Passage]:
    i, spec = work.instrument, work.instrument.spec
    kind = [("kind", spec.kind.replace("_", " "))] if spec.kind else []
    yield Facts((
        ("job", i.digest[:12]),
        ("spec", i.name),
        *kind,
        ("handedness", f"{spec.handedness}-handed"),
        ("bare lengths in the spec", spec.units),
        ("tuning", tuning_text(i)),
    ))  # fmt: skip
    yield Boxes(("date in", "date out", "for"))
    deciding = worst_first(finding for finding in work.findings if finding.level == "decide")
    if deciding:
        yield Heading("To decide before the work begins, worst first")
        yield from (Told("decide", finding.says, finding.do) for finding in deciding)
    yield Paragraphs(
        "Found and left are written in by hand. Lengths in mm, inches beside them. What was not measured is not "
        "invented."
    )
    yield Listing(tables.as_left(work.bench), writes=True)


def _cautioned(here: tuple[Step, ...]) -> tuple[Passage, ...]:
    said: list[Passage] = [Paragraphs(cautions.LOCAL, strong=True)]
    if any(step.key in MAKES_DUST for step in here):
        said.append(Warned(DUST))
    return (*said, *here)


def _after(work: Work, of: Files) -> Iterator[Passage]:
    i = work.instrument
    order, quote = orders.to_order(work.bench, of.paper()), orders.minutes(work.bench)
    if len(order):
        yield Listing(order)
    if quote is not None:
        yield Listing(quote)
        yield Boxes(("quoted on", "by"))
    yield Heading("Label for the case")
    gauges = "  ".join(
        f"{name} {both_units(each.gauge, 3)}" for name, each in zip(strings.names(i), i.strings, strict=True)
    )
    fret = i.spec.setup.action.fret
    yield Facts((
        ("instrument", i.spec.title),
        ("tuning", tuning_text(i)),
        ("gauges", gauges),
        ("relief", both_units(i.strung.relief)),
        (f"action over fret {fret}, bass", both_units(i.strings[-1].action)),
        (f"action over fret {fret}, treble", both_units(i.strings[0].action)),
        ("job", i.digest[:12]),
    ))  # fmt: skip
