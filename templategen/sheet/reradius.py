"""Terminal tables of the re-radius plan: what each of the two ways takes, station by station and string by string."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from templategen.instrument.model import Instrument
from templategen.repair.model import Bench
from templategen.repair.reradius import Removal, Reradius
from templategen.sheet.lengths import lengths, pairs
from templategen.sheet.tuning import NewTable

if TYPE_CHECKING:
    from rich.table import Table

WAYS = {
    "parallel": "the crown line stays parallel to what it was",
    "tilted": "the crown line tilts along the neck, the way that takes the least wood",
}


def tables(bench: Bench, new: NewTable) -> Iterator[Table]:
    """None where the spec has no [fingerboard.before]."""
    if bench.reradius is None:
        return
    for way in bench.reradius.ways:
        yield _stations(bench.reradius, way, new)
    yield _strings(bench.instrument, bench.reradius, new)


def _stations(plan: Reradius, way: Removal, new: NewTable) -> Table:
    table = new(
        f"Re-radius, {way.way}: {WAYS[way.way]}; edge: the one that loses more",
        "fret", *pairs("from nut", "taken at centre", "taken at edge", "thickness left at edge", "slot to re-cut by"),
    )  # fmt: skip
    for n in range(len(plan.x)):
        values = (plan.x[n], way.centre[n], way.edge[n], way.thickness_edge[n])
        recut = lengths(way.recut[n - 1]) if n else ("", "")
        table.add_row(f"{plan.numbers[n]:.0f}" if n else "nut", *lengths(*values), *recut)
    return table


def _strings(i: Instrument, plan: Reradius, new: NewTable) -> Table:
    at = i.spec.setup.action.fret
    heads = [f"{way.way} {what}" for way in plan.ways for what in (f"fret {at}", "nut", "saddle")]
    table = new(
        "Re-radius: how far crowns go down under each string, nut and saddle after them", "string", *pairs(*heads)
    )
    for n in range(len(plan.ways[0].at_action)):
        values = [x[n] for way in plan.ways for x in (way.at_action, way.lower_nut, way.lower_saddle)]
        table.add_row(str(n + 1), *lengths(*values))
    return table
