"""What was measured, on paper: every judgement with its number, frets, round, crowns and strings with their ±."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

from templategen.document.model import BenchPage, Document, Heading, Listing, Passage, Told
from templategen.findings.asfound import compared, judged
from templategen.parts.common import product
from templategen.parts.common.paper import stacked
from templategen.parts.common.work import Work
from templategen.parts.repair import as_found_sheet
from templategen.repair.survey.found import AsFound
from templategen.repair.survey.strings import ReadPerString
from templategen.repair.survey.tools import K
from templategen.tables import asfound
from templategen.tables.model import Table, column
from templategen.units import both_units, mm_text

NAME = "as-found"


def make(work: Work) -> tuple[product.Product, ...]:
    found = work.bench.found
    if found is None:
        return ()
    i = work.instrument
    drawn = cache(lambda: as_found_sheet.leaves(work.bench, found))
    return (
        product.Sheet(NAME, lambda: stacked(i, "as found", drawn()), ("svg", "pdf"), drawn),
        product.Writing(NAME, lambda: document(work, found), ("html",)),
        product.Data(NAME, lambda: asfound.file(found)),
    )


def document(work: Work, found: AsFound) -> Document:
    """Judgements first, the readings behind them after."""
    i = work.instrument
    told: tuple[Passage, ...] = tuple(
        Told(each.level, each.message) for each in (*judged(found, i.spec.units), *compared(work.bench))
    )
    pages = [BenchPage("What was found", told), BenchPage("What it rests on", tuple(_listings(found)))]
    return Document(i.spec.title, "as found", i.trace, tuple(page for page in pages if page.blocks))


def _listings(found: AsFound) -> Iterator[Passage]:
    for line in found.frets.lines if found.frets is not None else ():
        frets = line.frets
        yield Listing(
            Table(
                f"frets_{line.line}",
                f"Frets from the nut's front edge, {line.line} line: off + toward the bridge, cents + sharp",
                (
                    column("fret", "fret", tuple(f.fret for f in frets), "count"),
                    column("read", "read", tuple(f.read for f in frets), "length"),
                    column("fitted", "fitted", tuple(f.fitted for f in frets), "length"),
                    column("off", "off", tuple(f.off for f in frets), "length", signed=True),
                    column("pm", "±", tuple(K * f.u_off for f in frets), "length"),
                    column("cents", "off", tuple(f.off_cents for f in frets), "cents"),
                    *(
                        [column("outlier", "", tuple("out of place" if f.outlier else "" for f in frets))]
                        if line.outliers
                        else []
                    ),
                ),
            )
        )
    round_ = found.board.round if found.board is not None else None
    if round_ is not None:
        yield Listing(
            Table(
                "round",
                "Radius at each place",
                (
                    column("at", "fret", tuple("nut" if s.fret == 0 else str(s.fret) for s in round_.stations)),
                    column("how", "by", tuple(s.how for s in round_.stations)),
                    column(
                        "radius", "radius", tuple(s.round.radius for s in round_.stations), "length", missing="flat"
                    ),
                    column("low", "from", tuple(s.round.low for s in round_.stations), "length", missing="flat"),
                    column("high", "to", tuple(s.round.high for s in round_.stations), "length", missing="flat"),
                ),
            )
        )
    crowns = found.crowns
    if crowns is not None:
        yield Heading("Crowns, neck straight: heights up to a straight line along each")
        for n, name in enumerate(crowns.names):
            yield Listing(
                Table(
                    f"crowns_{name}",
                    f"Line {name}",
                    (
                        column("fret", "fret", tuple(int(f) for f in crowns.frets), "count"),
                        column("z", "stands at", tuple(map(float, crowns.z[:, n])), "fine", signed=True),
                        column("pm", "±", tuple(map(float, crowns.z_pm[:, n])), "fine"),
                        column("height", "over the wood", tuple(map(float, crowns.height[:, n])), "length"),
                        column("wear", "worn", tuple(map(float, crowns.wear[:, n])), "length"),
                    ),
                )
            )
    yield from _strings(found)


def _strings(found: AsFound) -> Iterator[Passage]:
    strings = found.strings
    if strings is None or not strings.count:
        return

    def read(values: ReadPerString | None) -> tuple[str, ...]:
        given = values or (None,) * strings.count
        return tuple("" if each is None else f"{both_units(each.value)} ± {mm_text(each.pm, 3)}" for each in given)

    columns = [column("string", "string", tuple(range(1, strings.count + 1)), "count")]
    for key, head, values in (
        ("first_fret", "over fret 1", strings.first_fret),
        ("pressed", "over fret 1, held at 3", strings.pressed),
        ("action", f"over fret {strings.action_fret}", strings.action),
        ("at_nut", "from the bass edge at the nut", strings.at_nut),
    ):
        if values is not None:
            columns.append(column(key, head, read(values)))
    yield Listing(Table("strings", "Strings", tuple(columns)))
