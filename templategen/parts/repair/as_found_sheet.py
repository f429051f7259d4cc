"""What was measured on one sheet: what it amounts to in words, and every kind of reading as a chart with its ±."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import replace

import numpy as np

from templategen.drawing.layout import HEADING_HEIGHT
from templategen.drawing.model import Drawing, Sketch, Text, moved
from templategen.findings.asfound import compared, judged
from templategen.instrument.arrays import Array
from templategen.instrument.model import Instrument
from templategen.parts.common.blocks import PAGE_WIDTH, words
from templategen.parts.common.layers import sketch
from templategen.parts.common.paper import flowed
from templategen.parts.common.sheetwork import put
from templategen.parts.repair.as_found_charts import ReadingChart, draw
from templategen.repair.against import spacing
from templategen.repair.model import Bench
from templategen.repair.survey.crowns import CrownsFound
from templategen.repair.survey.found import AsFound
from templategen.repair.survey.frets import FretLine
from templategen.repair.survey.strings import ReadPerString
from templategen.repair.survey.tools import K
from templategen.units import Unit, inches

NAME = "as-found"
Row = list[tuple[ReadingChart, float, float]]
BETWEEN, UNDER = 4.0, 3.0  # paper mm: panels beside and under each other
FRETS_TALL, CROWNS_TALL, ROUND_TALL = 36.0, 30.0, 36.0
ABREAST = 2  # crowns' lines beside each other
TIMES = 3.0  # of its widest limit, what the chart of frets holds
MOST = 212.0  # what a page without cautions holds
HOW_TO_READ = (
    "Frets: how far each stands toward the bridge (+) or the nut (−) of where the others put it; brackets: the ± of "
    "that, which one in twenty may pass; ringed: out of place. Off at nut: toward the treble side (+). Elsewhere: dot "
    "the reading, bar its ± (k = 2), broad dash what the spec wants."
)


def leaves(bench: Bench, found: AsFound) -> tuple[Drawing, ...]:
    """Everything on one page, where it holds it."""
    i = bench.instrument
    blocks = [_charts(i, row) for row in _rows(bench, found)]
    blocks.append(_words(bench, found))
    whole, low = sketch(), 0.0
    for block in blocks:
        box = block.bounds()
        for layer in block.layers:
            whole.add(layer.name, *(moved(shape, 0.0, low) for shape in layer.shapes))
        low += box.y0 - UNDER
    if -low <= MOST:
        return (_named(i, whole),)
    return tuple(replace(each, name=NAME, title=blocks[0].title) for each in flowed(blocks, MOST))


def _named(i: Instrument, s: Sketch) -> Drawing:
    return Drawing(NAME, f"{i.spec.title}: as found", s.layers())


def _charts(i: Instrument, row: Row) -> Drawing:
    s, x = sketch(), 0.0
    shares = sum(share for _, _, share in row)
    room = PAGE_WIDTH - BETWEEN * (len(row) - 1)
    for panel, tall, share in row:
        draw(s, _in_units(panel, i.spec.units), (x, 0.0), room * share / shares, tall)
        x += room * share / shares + BETWEEN
    return _named(i, s)


def _in_units(p: ReadingChart, unit: Unit) -> ReadingChart:
    """The panel in the job's own unit."""
    if unit == "mm":
        return p

    def told(values: tuple[float, ...]) -> tuple[float, ...]:
        return tuple(map(inches, values))

    return replace(
        p, unit="in", digits=3, values=told(p.values), low=told(p.low), high=told(p.high), targets=told(p.targets),
        also=told(p.also), most=inches(p.most),
    )  # fmt: skip


def _words(bench: Bench, found: AsFound) -> Drawing:
    s = sketch()
    low = put(s, words([HOW_TO_READ], (0.0, 0.0), PAGE_WIDTH)).box.y0 - UNDER
    s.add("TEXT", Text((0.0, low - HEADING_HEIGHT), "What it amounts to", HEADING_HEIGHT, bold=True))
    told = [*judged(found, bench.instrument.spec.units), *compared(bench)]
    said = [f"{'To decide: ' if each.level == 'decide' else ''}{each.message}" for each in told]
    put(s, words(said, (0.0, low - HEADING_HEIGHT - 2.0), PAGE_WIDTH))
    return _named(bench.instrument, s)


def _rows(bench: Bench, found: AsFound) -> Iterator[Row]:
    """Panels beside each other: each with its height and its share of the width."""
    i = bench.instrument
    if found.frets is not None:
        yield [(_frets(line), FRETS_TALL, 1.0) for line in found.frets.lines]
    if found.crowns is not None and found.crowns.profiled:
        lines = range(len(found.crowns.names))
        for first in range(0, len(lines), ABREAST):
            yield [(_crowns(found.crowns, n), CROWNS_TALL, 1.0) for n in lines[first : first + ABREAST]]
    row = [] if (round_ := _round(i, found)) is None else [(round_, ROUND_TALL, 1.4)]
    row += [(panel, ROUND_TALL, 1.0) for panel in (*_heights(i, found), *_spacing(bench))]
    if row:
        yield row


def _frets(line: FretLine) -> ReadingChart:
    limits = [K * fret.u_off for fret in line.frets]
    where = "" if line.line == "centre" else f", {line.line} line"
    kept = [limit for limit, fret in zip(limits, line.frets, strict=True) if not fret.outlier]
    return ReadingChart(
        f"Frets off their place{where}", "mm", tuple(str(fret.fret) for fret in line.frets),
        _evenly([fret.fret for fret in line.frets]), tuple(fret.off for fret in line.frets),
        tuple(-limit for limit in limits), tuple(limits), bars=True,
        ringed=tuple(fret.outlier for fret in line.frets), most=TIMES * max(kept, default=math.inf),
    )  # fmt: skip


def _crowns(crowns: CrownsFound, n: int) -> ReadingChart:
    z, pm = crowns.z[:, n], crowns.z_pm[:, n]
    read = np.isfinite(z)
    whole = _of(np.concatenate([(crowns.z - crowns.z_pm).ravel(), (crowns.z + crowns.z_pm).ravel()]))
    frets = [int(fret) for fret in crowns.frets[read]]
    return ReadingChart(
        f"Crowns along line {crowns.names[n]}", "mm", tuple(map(str, frets)), _evenly(frets), _of(z[read]),
        _of((z - pm)[read]), _of((z + pm)[read]), also=whole,
    )  # fmt: skip


def _round(i: Instrument, found: AsFound) -> ReadingChart | None:
    """Radius at each station, with what the spec wants there; a board that may be flat has no upper end."""
    if found.board is None or found.board.round is None:
        return None
    stations = found.board.round.stations
    frets = [station.fret for station in stations]
    x = [0.0 if fret == 0 else float(i.plan.crossing(fret)[:, 0].mean()) for fret in frets]
    rounds = [station.round for station in stations]
    finite = [v for r in rounds for v in (r.low, r.radius) if math.isfinite(v)]
    if not finite:
        return None  # flat, which the words say
    return ReadingChart(
        "Radius", "mm", tuple("nut" if fret == 0 else str(fret) for fret in frets), _evenly(frets),
        tuple(r.radius for r in rounds), tuple(r.low for r in rounds), tuple(r.high for r in rounds),
        tuple(float(i.board.law.radius(at)) for at in x), most=2 * max(finite),
    )  # fmt: skip


def _heights(i: Instrument, found: AsFound) -> Iterator[ReadingChart]:
    strings = found.strings
    if strings is None:
        return
    line, asked = i.line, i.spec.setup.action
    over = f"Action over {strings.action_fret}" + (", capo 1" if strings.capo else "")
    same = (strings.action_fret, strings.capo) == (asked.fret, asked.capo)
    for title, read, wanted in (
        ("Over fret 1", strings.first_fret, line.first_fret_clearance),
        ("Held, over 1", strings.pressed, line.pressed_gap),
        (over, strings.action, line.action if same else np.full(strings.count, np.nan)),
    ):
        if read is not None and any(read):
            yield _per_string(title, read, wanted)


def _spacing(bench: Bench) -> Iterator[ReadingChart]:
    """How far strings at the nut stand toward the treble side of the spec's places, the ± about nought."""
    at_nut = spacing(bench)
    if at_nut is None:
        return
    off, count = at_nut.read - at_nut.expected, len(at_nut.read)
    limits = np.nan_to_num(at_nut.pm)
    yield ReadingChart(
        "Off at nut", "mm", tuple(str(n + 1) for n in range(count)), _evenly(range(count)), _of(off), _of(-limits),
        _of(limits), bars=True,
    )  # fmt: skip


def _per_string(title: str, read: ReadPerString, wanted: Array) -> ReadingChart:
    value = [math.nan if each is None else each.value for each in read]
    pm = [0.0 if each is None else each.pm for each in read]
    return ReadingChart(
        title, "mm", tuple(str(n + 1) for n in range(len(read))), _evenly(range(len(read))), tuple(value),
        tuple(v - p for v, p in zip(value, pm, strict=True)), tuple(v + p for v, p in zip(value, pm, strict=True)),
        _of(wanted),
    )  # fmt: skip


def _of(values: Array) -> tuple[float, ...]:
    return tuple(float(v) for v in values)


def _evenly(numbers: Iterable[int]) -> tuple[float, ...]:
    """By number, the first at 0 and the last at 1; one alone in the middle."""
    at = np.array([float(n) for n in numbers])
    return _of((at - at[0]) / (at[-1] - at[0])) if len(at) > 1 and at[-1] != at[0] else (0.5,) * len(at)
