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
)
from templategen.parts.bench.order import MAKES_DUST, STEPS, steps, tuning_text
from templategen.parts.bench.quote import price, taken, to_order
from templategen.parts.bench.rows import names, record_table
from templategen.parts.common import cautions
from templategen.parts.common.product import Product, Writing
from templategen.parts.common.work import Work
from templategen.tables.model import Table, column
from templategen.units import both_units

NAME = "bench-sheet"
PLACES: tuple[tuple[str, tuple[str, ...]], ...] = (
    (
        "Strings off, frets and board",
        ("record", "strings-off", "frets-out", "neck", "radius", "slots", "frets-in", "level"),
    ),
    ("Nut and saddle", ("nut", "saddle")),
    ("Strings on and setup", ("strings-on", "setup", "offsets", "check", "record-left")),
)
"""Positions at the bench and their steps, in the order of work."""
DUST = (
    "Dust: wood 1 mg/m³ (NIOSH) or 3 mg/m³ hardwood, 5 mg/m³ softwood (HSE EH40); bone and shell as any dust, 10 mg/m³ "
    "inhalable and 4 mg/m³ respirable (UK COSHH); nickel in filings 1 mg/m³ (OSHA). Extract at the source, never "
    "sweep dry."
)


def make(work: Work) -> tuple[Product, ...]:
    return (Writing(NAME, lambda: document(work)),)


def document(work: Work) -> Document:
    """The whole sheet."""
    i = work.instrument
    found = {step.key: step for step in steps(work)}
    pages = [BenchPage("The job", tuple(_job(work)))]
    for title, keys in PLACES:
        here = tuple(found[key] for key in keys if key in found)
        if here:
            pages.append(BenchPage(title, _cautioned(here)))
    last = tuple(_after(work))
    pages.append(BenchPage("To order, to quote, for the case", last))
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
    deciding = [finding for finding in work.findings if finding.level == "decide"]
    if deciding:
        yield Heading("To decide before the work begins")
        yield from (Told("decide", finding.message) for finding in deciding)
    yield Paragraphs(
        "Found and left are written in by hand. Lengths in mm, inches beside them. What was not measured is not "
        "invented."
    )
    yield Listing(record_table(work.bench), writes=True)


def _cautioned(here: tuple[Step, ...]) -> tuple[Passage, ...]:
    said: list[Passage] = [Paragraphs(cautions.LOCAL, strong=True)]
    if any(step.key in MAKES_DUST for step in here):
        said.append(Paragraphs(DUST))
    return (*said, *here)


def _after(work: Work) -> Iterator[Passage]:
    i = work.instrument
    order = tuple(to_order(i))
    if order:
        yield Heading("To lay ready or to order")
        yield Facts(order)
    minutes = taken(i)
    if minutes:
        total = sum(each.minutes for each in minutes)
        titles = {key: STEPS[key](work).title for key in STEPS}
        yield Heading("What it takes, by the shop's own minutes")
        yield Listing(
            Table(
                "quote",
                "Minutes",
                (
                    column("step", "step", (*(titles[each.key] for each in minutes), "together"), "words"),
                    column("minutes", "minutes", (*(each.minutes for each in minutes), total), "number", places=0),
                    column("price", "price", (*(price(i, each.minutes) for each in minutes), price(i, total)), "words"),
                )[: 3 if i.shop.rate is not None else 2],
            )
        )
        yield Boxes(("quoted on", "by"))
    yield Heading("Label for the case")
    gauges = "  ".join(
        f"{name} {both_units(string.gauge, 3)}" for name, string in zip(names(i), i.spec.strings.set, strict=True)
    )
    fret = i.spec.setup.action.fret
    yield Facts((
        ("instrument", i.spec.title),
        ("tuning", tuning_text(i)),
        ("gauges", gauges),
        ("relief", both_units(i.strung.relief)),
        (f"action over fret {fret}, bass", both_units(float(i.line.action[-1]))),
        (f"action over fret {fret}, treble", both_units(float(i.line.action[0]))),
        ("job", i.digest[:12]),
    ))  # fmt: skip
