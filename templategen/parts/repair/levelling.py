"""What to file off which fret: the plans side by side, the chosen one drawn and listed line by line."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from templategen.document.model import BenchPage, Document, Heading, Kept, Listing, Paragraphs, Passage, Picture
from templategen.drawing.model import Drawing
from templategen.instrument.model import Instrument
from templategen.parts.common import cautions
from templategen.parts.common.paper import stacked
from templategen.parts.common.product import Data, Product, Sheet, Writing
from templategen.parts.common.reading import document as read_at_the_bench
from templategen.parts.common.reading import listing, numbered, warned
from templategen.parts.common.work import Work
from templategen.parts.repair import levelling_chart, levelling_strip
from templategen.repair.levelling import Filing
from templategen.repair.remedy import Remedy
from templategen.tables import levelling as tables
from templategen.tables.levelling import plan_name
from templategen.units import both_units

NAME = "levelling"
CHART = (
    "A bar is a crown as it is left; crossed through, what is filed off it; thin, a fret that is replaced. Dashed: the "
    "level of the plan."
)


def make(work: Work) -> tuple[Product, ...]:
    i, remedy = work.instrument, work.bench.remedy
    if remedy is None or not remedy.filings:
        return ()
    products: list[Product] = [
        Sheet(NAME, lambda: drawn(i, remedy), ("svg",)),
        Writing(NAME, lambda: document(work, remedy), ("pdf",)),
        Data(NAME, lambda: tables.file(remedy)),
    ]
    if remedy.chosen is not None:
        products.append(Sheet(levelling_strip.NAME, lambda: levelling_strip.draw(i, remedy), ("svg", "pdf")))
    return tuple(products)


def charts(remedy: Remedy) -> tuple[Drawing, ...]:
    """Every line of the plan shown, drawn to one scale."""
    f = shown(remedy)
    scale = levelling_chart.scales(f)
    return tuple(
        levelling_chart.draw(f, column, f"Line {line}, plan: {plan_name(f)}. {scale.words}", scale)
        for column, line in enumerate(f.profile.lines)
    )


def drawn(i: Instrument, remedy: Remedy) -> Drawing:
    """The lines under each other."""
    whole = stacked(i, "levelling: what to file, and what not", charts(remedy))
    title = f"{i.spec.title}: levelling"
    return replace(whole, title=title, cautions=cautions.lines(cautions.CROWNS))


def document(work: Work, remedy: Remedy) -> Document:
    """The plans and the order of work, then every line of the chosen plan: drawn, and in a table."""
    f = shown(remedy)
    first: tuple[Passage, ...] = (
        Listing(tables.plans(remedy)),
        *map(Paragraphs, verdict_lines(remedy)),
        Heading("In this order"),
        *numbered(order(remedy)),
        *warned(cautions.CROWNS),
    )
    listed = (Kept((Picture(chart, CHART), listing(tables.line(f, n)))) for n, chart in enumerate(charts(remedy)))
    return read_at_the_bench(work, NAME, "levelling", BenchPage("What to file, and what not", (*first, *listed)))


def shown(remedy: Remedy) -> Filing:
    """The chosen plan, or the first where all come to a refret."""
    return remedy.as_done[remedy.chosen or 0]


def verdict_lines(remedy: Remedy) -> tuple[str, ...]:
    """Which plan the rest of the sheet is for, and why."""
    said = []
    if remedy.chosen is None:
        said.append(f"Every plan leaves crowns under {both_units(remedy.least_crown)}: refret.")
    else:
        f = remedy.filings[remedy.chosen]
        said.append(
            f"Chosen: {plan_name(f)}, which files least of the plans that replace fewest frets and leave every crown "
            f"at least {both_units(remedy.least_crown)} high."
        )
    if f_low := [f for f in remedy.filings if f.plan == "every_note_clears"]:
        asked = remedy.asked
        low, high = float(asked.min()), float(asked.max())
        least = both_units(low) if high - low < 5e-4 else f"{both_units(low)} to {both_units(high)}"
        said.append(
            f"{plan_name(f_low[0]).capitalize()}: pulled {least} aside, no fretted string touches a crown, with the "
            "relief and the action of the spec, nut and saddle held."
        )
    return tuple(said)


def order(remedy: Remedy) -> tuple[str, ...]:
    """How it is done, step by step."""
    f = shown(remedy)
    p, v = f.profile, remedy.verdicts[remedy.chosen or 0]
    lines = ", ".join(p.lines)
    steps = [
        "Seat or glue loose frets, and measure again: what a loose fret shows is not its height.",
        "Strings off, neck as straight as when the crowns were measured. Mask board, body and pickups.",
    ]
    if v.replaced:
        steps.append(
            f"Replace {_frets(v.replaced)}; file the new crowns down to the line of their neighbours, never the "
            "neighbours down to them."
        )
    steps += [
        f"File along the measured lines ({lines}) by the amounts listed, on the strip as well; between two lines in "
        "proportion. What is marked leave is less than its reading's own ±: nothing is filed there.",
        _recrown(f),
        "String up, set the relief, and measure again before anything else is changed.",
    ]
    if not np.isfinite(p.height).any():
        steps.insert(0, "Measure how high the crowns stand over the wood: without it nobody knows what filing leaves.")
    return tuple(steps)


def _recrown(f: Filing) -> str:
    if not f.worth_filing.any():
        return "Polish; no crown is filed flat."
    cents = np.where(f.worth_filing, np.nan_to_num(f.cents), 0.0)
    row, column = np.unravel_index(int(cents.argmax()), cents.shape)
    return (
        f"Crown the flats round again and polish. Until then notes are sharp, by {cents[row, column]:.1f} cents at "
        f"fret {f.profile.frets[row]:.0f} where the flat is {both_units(float(f.flat[row, column]))} wide."
    )


def _frets(numbers: tuple[int, ...]) -> str:
    listed = [str(n) for n in numbers]
    return f"fret {listed[0]}" if len(listed) == 1 else f"frets {', '.join(listed[:-1])} and {listed[-1]}"
