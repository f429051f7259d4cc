"""The numbers as tables in the terminal, mm and inch side by side."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterator
from typing import TYPE_CHECKING

from templategen.instrument.model import Instrument
from templategen.parts.common import cautions
from templategen.parts.common.work import Work
from templategen.sheet import reradius, tuning
from templategen.sheet.lengths import lengths, pairs
from templategen.units import both_units, mm_text

if TYPE_CHECKING:
    from rich.table import Table


def print_tables(work: Work) -> None:
    """Print every table to the terminal, in the order a job is done."""
    instrument = work.instrument
    from rich.console import Console

    console = Console(highlight=False)
    if not console.is_terminal:
        console = Console(highlight=False, width=160)
    console.print(f"[bold]{_plain(instrument.spec.title)}[/bold]   {instrument.trace}", soft_wrap=True)
    for table in tables(work):
        _settle(table)
        console.print()
        console.print(table, width=max(console.width, _least_width(table)), crop=False)
    if work.findings:
        console.print()
    for finding in work.findings:
        console.print(f"{finding.level}: {_plain(finding.message)}", soft_wrap=True)
    console.print()
    for line in _cautions(work):
        console.print(f"caution: {_plain(line)}", soft_wrap=True)


def _cautions(work: Work) -> tuple[str, ...]:
    """What can hurt somebody at the steps that the tables are for."""
    steps = [cautions.SAWING, cautions.WOOD_DUST, cautions.PRESSING, cautions.NUT_DUST, cautions.NUT_FILING]
    if work.bench.reradius is not None:
        steps.append(cautions.STEEL_DUST)
    return cautions.lines(*steps)


def _plain(text: str) -> str:
    """User text with nothing that the console would take for markup."""
    from rich.markup import escape

    return escape(text)


def _settle(table: Table) -> None:
    """Break the heads to their columns' figures, and let no figure be cut or broken however narrow the terminal is."""
    for column in table.columns:
        head, cells = str(column.header), [str(cell) for cell in column.cells]
        widest = max(map(len, [*head.split(), *cells]), default=0) or 1
        column.header = textwrap.fill(head, widest)
        column.min_width = widest
        column.no_wrap = True


def _least_width(table: Table) -> int:
    return sum((column.min_width or 0) + 2 for column in table.columns)


def tables(work: Work) -> Iterator[Table]:
    i = work.instrument
    yield _frets(i)
    yield _slots(i)
    yield _strings(i)
    yield _setup(i)
    yield _nut_places(i)
    yield _nut_heights(i)
    yield _levers(i)
    yield from tuning.tables(i, _table)
    if i.block is not None and not math.isinf(i.block.radius):
        yield _block(i)
    yield from reradius.tables(work.bench, _table)


def _table(title: str, *columns: str, words: tuple[str, ...] = ()) -> Table:
    from rich import box
    from rich.table import Table

    table = Table(title=title, box=box.SIMPLE_HEAD, title_justify="left", title_style="bold", pad_edge=False)
    for column in columns:
        table.add_column(column, justify="left" if column in words else "right")
    return table


def _frets(i: Instrument) -> Table:
    f = i.frets
    table = _table(
        "Frets: from the nut along the centreline", "fret", *pairs("", "width", "radius"), "0.1 mm is, cents"
    )
    for n in range(len(f.numbers)):
        radius = float(f.radius[n])
        table.add_row(
            f"{f.numbers[n]:.0f}",
            *lengths(f.from_nut[n], places=3),
            *lengths(f.width[n]),
            *(("flat", "") if math.isinf(radius) else lengths(radius, places=1)),
            mm_text(float(f.cents_of_tenth[n])),
        )
    return table


def _slots(i: Instrument) -> Table:
    f = i.frets
    columns = {
        "wire cut": f.wire_cut,
        "tang": f.tang_length,
        "slot depth": f.slot_depth,
        "depth stop, flat": f.depth_stop_flat,
        "wood under slot at edge": f.wood_under_slot_at_edge,
    }
    table = _table("Frets: wire and slots", "fret", *pairs(*columns))
    for n in range(len(f.numbers)):
        table.add_row(f"{f.numbers[n]:.0f}", *lengths(*(column[n] for column in columns.values())))
    return table


def _strings(i: Instrument) -> Table:
    table = _table(
        f"Strings: {i.total_load_n:.0f} N in all",
        "string", "note", "Hz", *pairs("gauge"), "g/m", "N",
        words=("note",),
    )  # fmt: skip
    for n, (string, load) in enumerate(zip(i.spec.strings.set, i.loads, strict=True)):
        table.add_row(
            str(n + 1),
            _plain(string.note.text),
            f"{load.frequency_hz:.2f}",
            *lengths(string.gauge, places=3),
            f"{load.body.mass_g_per_m:.3f}",
            f"{load.tension_n:.1f}",
        )
    return table


def _setup(i: Instrument) -> Table:
    action = i.spec.setup.action
    capo = " with a capo on the first" if action.capo else ""
    heads = "first fret", "pressed gap", "nut over crowns", "action", "saddle height", "saddle offset"
    table = _table(
        f"String line: heights of the undersides; action at fret {action.fret}{capo}", "string", *pairs(*heads)
    )
    line = i.line
    for n in range(len(i.plan.gauges)):
        heights = (line.first_fret_clearance[n], line.pressed_gap[n], line.nut_over_crowns[n])
        far = (line.action[n], i.saddle.height[n], i.saddle.offset[n])
        table.add_row(str(n + 1), *lengths(*heights, places=3), *lengths(*far))
    return table


def _nut_places(i: Instrument) -> Table:
    nut = i.nut
    bass = float(nut.front_ends[0] if i.side > 0 else nut.front_ends[1])
    slanted = abs(i.plan.nut_slant_deg) > 0.01
    across = pairs("across from centre") if slanted else ()
    table = _table(
        f"Nut slots: centres from the bass end along the front edge; the nut is {both_units(nut.thickness)} thick",
        "string", *pairs("from bass end"), *across, *pairs("slot width", "file to use"), "slotted nut has",
        words=("slotted nut has",),
    )  # fmt: skip
    for n in range(len(nut.along)):
        place, file = abs(float(nut.along[n]) - bass), nut.file[n]
        table.add_row(
            str(n + 1),
            *lengths(place),
            *(lengths(i.side * float(nut.across[n])) if slanted else ()),
            *lengths(nut.width[n], places=3),
            *(("none", "fits") if file is None else lengths(file, places=3)),
            "full width" if nut.full_width[n] else "pilot groove",
        )
    return table


def _nut_heights(i: Instrument) -> Table:
    nut = i.nut
    table = _table(
        "Nut slots: heights where the string leaves its slot",
        "string", *pairs("floor over seat", "floor over board here", "depth from top"), "of gauge", "back angle",
    )  # fmt: skip
    for n in range(len(nut.along)):
        heights = (nut.floor[n], nut.floor_above_board_here[n], nut.depth[n])
        table.add_row(str(n + 1), *lengths(*heights, places=3), f"{nut.share[n]:.2f}", f"{nut.back_angle_deg[n]:.1f}°")
    return table


def _levers(i: Instrument) -> Table:
    at = i.spec.setup.action.fret
    table = _table(
        f"Levers: what 0.1 mm (0.004 in) at one end does over the first fret and fret {at}, the other end held",
        "string", *pairs("nut, first fret", f"nut, fret {at}", "saddle, first fret", f"saddle, fret {at}"),
    )  # fmt: skip
    columns = [i.lever(fret, end) for end in ("nut", "saddle") for fret in (1, at)]
    for n in range(len(i.plan.gauges)):
        table.add_row(str(n + 1), *lengths(*(0.1 * float(column[n]) for column in columns), places=3))
    return table


def _block(i: Instrument) -> Table:
    block = i.block
    assert block is not None
    table = _table(
        "Radius block", "at", "rides on", *pairs("board radius", "block radius", "profile depth"), words=("at",)
    )
    table.add_row(
        str(block.at),
        "hollows" if block.convex else block.rides_on,
        *lengths(block.board_radius, block.radius),
        *lengths(block.profile_depth, places=3),
    )
    return table
