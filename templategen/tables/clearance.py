"""Headroom of every note, and what relief, action and nut are worth."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from templategen.instrument.model import Instrument
from templategen.instrument.setup.best import BestSetup
from templategen.instrument.setup.clearance import Clearance
from templategen.tables import strings
from templategen.tables.model import Column, Kind, Table, column
from templategen.units import inches

STEPS = {"nut": "height at the nut"}


def notes(c: Clearance) -> Table:
    """Every string at every place, the open string (fretted 0) first; not known where no crown lies beyond."""

    def one(key: str, head: str, kind: Kind) -> Column:
        return column(key, head, (getattr(note, key) for note in c.notes), kind)

    columns = (
        one("string", "string", "count"),
        one("fretted", "fretted", "count"),
        one("headroom_away", "headroom, away", "fine"),
        one("touches_away", "touched, away", "count"),
        one("headroom_toward", "headroom, toward", "fine"),
        one("touches_toward", "touched, toward", "count"),
        one("force_n", "force", "force"),
        one("least_gap", "least gap", "fine"),
        one("least_gap_over", "over", "count"),
    )
    return Table("clearance", "Clearance", columns, labels=2)


def file(states: Mapping[str, Clearance]) -> Table:
    """clearance.csv: each setting named, lengths in both units."""
    tables = [notes(found) for found in states.values()]
    settings = [state for state, table in zip(states, tables, strict=True) for _ in range(len(table))]
    columns = [column("setting", "setting", settings)]
    for each in tables[0].columns:
        values = [value for table in tables for value in table[each.key].values]
        columns.append(replace(each, values=tuple(values)))
        if each.kind == "fine":
            in_inches = (None if value is None else inches(value) for value in values)  # type: ignore[arg-type]
            columns.append(column(f"{each.key}_in", f"{each.head}, in", in_inches, "number"))
    return Table("clearance", "Clearance", tuple(columns), labels=3)


def worth(best: BestSetup) -> Table:
    """What each step of relief, action and height at the nut adds to the least headroom."""
    steps = column("step", "step", (w.step for w in best.worth), "length", signed=True)
    names = (f"{STEPS.get(w.what, w.what)} {steps.text(n)}" for n, w in enumerate(best.worth))
    columns = (
        column("step", "one step alone", names),
        column("fretted", "fretted", (w.fretted for w in best.worth), "fine", signed=True),
        column("open", "open", (w.opened for w in best.worth), "fine", signed=True),
    )
    return Table("worth", "What relief, action and nut are worth: what is added to the least headroom", columns)


def actions(i: Instrument, best: BestSetup) -> Table:
    """The action of the spec, and the least that keeps the headroom asked for."""
    columns = (
        strings.name_column(i),
        column("action", f"action at {i.spec.setup.action.fret}", best.action, "length"),
        column("least_action", "least", best.least_action, "length"),
    )
    return Table("least-action", "The least action with the headroom asked for", columns)


def numbers(best: BestSetup | None) -> dict[str, Any] | None:
    """The section of numbers.json."""
    if best is None:
        return None
    return {
        "as_specified": {"relief": best.relief, "action": best.action, "headroom": best.headroom},
        "most_headroom": {"relief": best.most_headroom_relief, "headroom": best.most_headroom},
        "most_headroom_away": {"relief": best.away_relief, "headroom": best.away_headroom},
        "least_action": {"relief": best.least_action_relief, "action": best.least_action, "headroom": best.asked},
        "worth": [{"change": w.what, "step": w.step, "fretted": w.fretted, "open": w.opened} for w in best.worth],
    }
