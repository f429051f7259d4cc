"""Clearance and best setup as numbers: sections of numbers.json and the rows of clearance.csv."""

from __future__ import annotations

from typing import Any

from templategen.instrument.model import Instrument
from templategen.instrument.setup.best import BestSetup
from templategen.instrument.setup.clearance import Clearance
from templategen.units import inches


def notes(c: Clearance) -> list[dict[str, Any]]:
    """Every string at every place, the open string (fretted 0) first; mm and N, None where no crown lies beyond."""
    return [
        {
            "string": note.string,
            "fretted": note.fretted,
            "headroom_away": note.headroom_away,
            "touches_away": note.touches_away,
            "headroom_toward": note.headroom_toward,
            "touches_toward": note.touches_toward,
            "force_n": note.force_n,
            "least_gap": note.least_gap,
            "least_gap_over": note.least_gap_over,
        }
        for note in c.notes
    ]


def best(i: Instrument) -> dict[str, Any] | None:
    found = i.best_setup
    if found is None:
        return None
    return {
        "as_specified": {"relief": found.relief, "action": found.action, "headroom": found.headroom},
        "most_headroom": {"relief": found.most_headroom_relief, "headroom": found.most_headroom},
        "least_action": {
            "relief": found.least_action_relief,
            "action": found.least_action,
            "headroom": found.asked,
        },
        "worth": worth(found),
    }


def worth(found: BestSetup) -> list[dict[str, Any]]:
    """What each step of relief, action and height at the nut adds to the least headroom."""
    return [{"change": w.what, "step": w.step, "fretted": w.fretted, "open": w.opened} for w in found.worth]


def rows(states: dict[str, Clearance]) -> list[dict[str, Any]]:
    """clearance.csv: as numbers.json, each setting named, lengths in both units."""
    found = []
    for state, clearance in states.items():
        for note in notes(clearance):
            row: dict[str, Any] = {"setting": state}
            for key, value in note.items():
                row[key] = value
                if key in ("headroom_away", "headroom_toward", "least_gap"):
                    row[f"{key}_in"] = None if value is None else inches(value)
            found.append(row)
    return found
