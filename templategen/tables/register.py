"""The tables that ``show`` prints, in the order that a job is done. A new table is one line here."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass

from templategen.instrument.model import Instrument
from templategen.repair.model import Bench
from templategen.repair.reradius import Reradius
from templategen.tables import clearance, frets, nut, radius, reradius, saddle, setup, strings, tuning, wire
from templategen.tables.model import Table


@dataclass(frozen=True)
class ShownTable:
    """key: of its table, and what ``--only`` takes. build: None where the job has no such table. always: whether it is
    printed without being asked for by name; others say again what one of these says."""

    key: str
    build: Callable[[Bench], Table | None]
    always: bool = True


def _of(table: Callable[[Instrument], Table | None]) -> Callable[[Bench], Table | None]:
    return lambda bench: table(bench.instrument)


def _planned(table: Callable[[Instrument, Reradius], Table]) -> Callable[[Bench], Table | None]:
    """Of the re-radius plan, where there is one."""
    return lambda bench: None if bench.reradius is None else table(bench.instrument, bench.reradius)


def _edges(i: Instrument) -> Table | None:
    return frets.edge_distances(i) if i.spec.scale.multi_scale else None


def _clearance(i: Instrument) -> Table:
    return clearance.notes(i.clearance)


def _worth(i: Instrument) -> Table | None:
    return None if i.best_setup is None else clearance.worth(i.best_setup)


def _actions(i: Instrument) -> Table | None:
    return None if i.best_setup is None else clearance.actions(i, i.best_setup)


def _block(i: Instrument) -> Table | None:
    return None if i.block is None else radius.block(i.block)


def _facets(i: Instrument) -> Table | None:
    return radius.strips(i) if i.board.law.conical else None


TABLES: tuple[ShownTable, ...] = (
    ShownTable("frets", _of(frets.places)),
    ShownTable("distances", _of(frets.distances), always=False),
    ShownTable("edges", _of(_edges)),
    ShownTable("depth-stops", _of(frets.depth_stops), always=False),
    ShownTable("wire", _of(wire.pieces), always=False),
    ShownTable("strings", _of(strings.loads)),
    ShownTable("string-line", _of(setup.line)),
    ShownTable("levers", _of(setup.levers)),
    ShownTable("nut-slots", _of(nut.places)),
    ShownTable("nut-heights", _of(nut.heights)),
    ShownTable("saddle", _of(saddle.saddle), always=False),
    ShownTable("saddle-piece", _of(saddle.piece)),
    ShownTable("saddle-forces", _of(saddle.forces)),
    ShownTable("offsets", _of(tuning.offsets)),
    ShownTable("offset-spread", _of(tuning.spread)),
    ShownTable("pressed", _of(tuning.pressed)),
    ShownTable("cents", _of(tuning.cents)),
    ShownTable("causes", _of(tuning.causes)),
    ShownTable("nut-too-high", _of(tuning.nut_too_high)),
    ShownTable("clearance", _of(_clearance), always=False),
    ShownTable("worth", _of(_worth), always=False),
    ShownTable("least-action", _of(_actions), always=False),
    ShownTable("radius-block", _of(_block)),
    ShownTable("facets", _of(_facets), always=False),
    ShownTable("reradius", _planned(reradius.ways)),
    ShownTable("reradius-parallel", _planned(lambda _, plan: reradius.of_way(plan, plan.parallel))),
    ShownTable("reradius-tilted", _planned(lambda _, plan: reradius.of_way(plan, plan.tilted)), always=False),
    ShownTable("reradius-strings", _planned(reradius.under_strings)),
)


def keys() -> tuple[str, ...]:
    return tuple(each.key for each in TABLES)


def shown(bench: Bench, only: Collection[str] = ()) -> Iterator[Table]:
    """These tables of a job, or the usual ones; those that it does not have are left out."""
    for each in TABLES:
        if (each.key in only) if only else each.always:
            table = each.build(bench)
            if table is not None:
                yield table
