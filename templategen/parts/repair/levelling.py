"""What to file off which fret: the plans side by side, the chosen one drawn and listed line by line."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

import numpy as np

from templategen.drawing.layout import HEADING_HEIGHT, table
from templategen.drawing.model import Drawing, Text
from templategen.instrument.model import Instrument
from templategen.parts.common import cautions
from templategen.parts.common.blocks import PAGE_WIDTH, numbered_words, words
from templategen.parts.common.layers import sketch
from templategen.parts.common.paper import flowed, stacked
from templategen.parts.common.product import Data, Product, Sheet
from templategen.parts.common.sheetwork import put
from templategen.parts.common.work import Work
from templategen.parts.repair import levelling_chart, levelling_strip
from templategen.repair.levelling import Filing
from templategen.repair.remedy import Remedy
from templategen.tables import levelling as tables
from templategen.tables.levelling import plan_name
from templategen.units import both_units, inch_text, mm_text

NAME = "levelling"
PAGE = 165.0  # paper mm: its cautions are long


def make(work: Work) -> tuple[Product, ...]:
    i, remedy = work.instrument, work.bench.remedy
    if remedy is None or not remedy.filings:
        return ()
    leaves = cache(lambda: flowed([_named(i, block) for block in blocks(i, remedy)], PAGE))
    products: list[Product] = [
        Sheet(NAME, lambda: stacked(i, "levelling: what to file, and what not", leaves()), ("svg", "pdf"), leaves),
        Data(NAME, lambda: tables.file(remedy)),
    ]
    if remedy.chosen is not None:
        products.append(Sheet(levelling_strip.NAME, lambda: levelling_strip.draw(i, remedy), ("svg", "pdf")))
    return tuple(products)


def _named(i: Instrument, block: Drawing) -> Drawing:
    return Drawing(NAME, f"{i.spec.title}: levelling", block.layers, cautions=cautions.lines(cautions.CROWNS))


def blocks(i: Instrument, remedy: Remedy) -> Iterator[Drawing]:
    """The plans and the order of work, then every line of the chosen plan: drawn, and in a table."""
    s = sketch()
    s.add("TEXT", Text((0.0, -HEADING_HEIGHT), "Plans side by side", HEADING_HEIGHT, bold=True))
    plans = put(s, table(plan_rows(remedy), (0.0, -HEADING_HEIGHT - 3.0)))
    put(s, words(verdict_lines(remedy), (0.0, plans.box.y0 - 3.0), PAGE_WIDTH))
    yield Drawing(NAME, NAME, s.layers())
    s = sketch()
    s.add("TEXT", Text((0.0, -HEADING_HEIGHT), "In this order", HEADING_HEIGHT, bold=True))
    put(s, numbered_words(order(remedy), (0.0, -HEADING_HEIGHT - 1.0), PAGE_WIDTH))
    yield Drawing(NAME, NAME, s.layers())
    f = shown(remedy)
    scale = levelling_chart.scales(f)
    for column, line in enumerate(f.profile.lines):
        title = f"Line {line}, plan: {plan_name(f)}. {scale.words}"
        yield levelling_chart.draw(f, column, title, scale)
        s = sketch()
        put(s, table(line_rows(f, column), (0.0, 0.0)))
        yield Drawing(NAME, NAME, s.layers())


def shown(remedy: Remedy) -> Filing:
    """The chosen plan, or the first where all come to a refret."""
    return remedy.filings[remedy.chosen or 0]


def plan_rows(remedy: Remedy) -> list[list[str]]:
    head = ["plan", "most, mm", "in", "in all, mm", "in", "crowns filed", "least crown left, mm", "in"]
    found = [head]
    for f in remedy.filings:
        left = f.least_crown_left
        lengths = [_two(f.most), _two(f.total), ["", ""] if left is None else _two(left)]
        found.append([plan_name(f), *lengths[0], *lengths[1], str(f.filed), *lengths[2]])
    return found


def _two(mm: float) -> list[str]:
    return [mm_text(mm, 3), inch_text(mm, 4)]


def verdict_lines(remedy: Remedy) -> tuple[str, ...]:
    """Every plan's verdict, then which one the rest of the sheet is for, and why."""
    said = [f"{plan_name(f).capitalize()}: {v.words}." for f, v in zip(remedy.filings, remedy.verdicts, strict=True)]
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


def line_rows(f: Filing, column: int) -> list[list[str]]:
    """Every fret of one line: what was read, what is filed, what is left."""
    p = f.profile
    found = [["fret", "read, mm", "±", "file, mm", "in", "do", "crown left, mm", "flat, mm", "sharp, cents"]]
    for row, fret in enumerate(p.frets):
        at = row, column
        if not np.isfinite(p.z[at]):
            found.append([f"{fret:.0f}", "", "", "", "", "not read", "", "", ""])
            continue
        new, file = int(fret) in f.replaced, bool(f.worth_filing[at])
        off = "" if new else mm_text(float(f.removed[at]), 3)
        left = "" if new or not np.isfinite(f.crown_left[at]) else mm_text(float(f.crown_left[at]))
        found.append([
            f"{fret:.0f}", mm_text(float(p.z[at]), 3), mm_text(float(p.pm[at]), 3), off,
            "" if new else inch_text(float(f.removed[at]), 4), "new fret" if new else "file" if file else "leave", left,
            mm_text(float(f.flat[at])) if file else "", f"{f.cents[at]:.1f}" if file else "",
        ])  # fmt: skip
    return found
