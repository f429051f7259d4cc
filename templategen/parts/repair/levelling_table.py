"""Levelling plans as numbers: a section of numbers.json, the rows of levelling.csv and of the sheet."""

from __future__ import annotations

from typing import Any

from templategen.repair.levelling import Filing
from templategen.repair.remedy import Remedy
from templategen.units import inches

PLAN_NAMES = {
    "touch_all": "touch all",
    "leave_low": "leave low ones",
    "replace": "replace",
    "every_note_clears": "every note clears",
}


def numbers(remedy: Remedy | None) -> list[dict[str, Any]] | None:
    """The section of numbers.json; null without crowns that were measured."""
    if remedy is None or not remedy.filings:
        return None
    return [_plan(remedy, n) for n in range(len(remedy.filings))]


def changes(remedy: Remedy | None) -> list[dict[str, Any]] | None:
    """The section of numbers.json, in the order in which one works; null where nothing was measured."""
    if remedy is None:
        return None
    return [
        {
            "what": step.what,
            "string": step.string,
            "fret": step.fret,
            "line": step.line,
            "found": step.found,
            "pm": step.pm,
            "wanted": step.wanted,
            "change": step.change,
            "how": step.how,
            "reads_of": step.reads_of,
            "reads_before": step.reads_before,
            "reads_after": step.reads_after,
        }
        for step in remedy.changes.steps
    ]


def _plan(remedy: Remedy, n: int) -> dict[str, Any]:
    f = remedy.filings[n]
    return {
        "plan": f.plan,
        "replaced": list(f.replaced),
        "lines": [
            {"line": line, "a": f.a[k], "b": f.b[k], "removed": f.removed[:, k]}
            for k, line in enumerate(f.profile.lines)
        ],
        "most": f.most,
        "total": f.total,
        "filed": f.filed,
        "least_crown_left": f.least_crown_left,
        "verdict": remedy.verdicts[n].words,
        "chosen": n == remedy.chosen,
    }


def rows(remedy: Remedy) -> list[dict[str, Any]]:
    """levelling.csv: every plan, line and fret; file: whether it is more than the reading's own ±."""
    found = []
    for n, f in enumerate(remedy.filings):
        for k, line in enumerate(f.profile.lines):
            for row, fret in enumerate(f.profile.frets):
                found.append(_row(f, n == remedy.chosen, line, int(fret), row, k))
    return found


def _row(f: Filing, chosen: bool, line: str, fret: int, row: int, column: int) -> dict[str, Any]:
    at, p = (row, column), f.profile
    return {
        "plan": plan_name(f),
        "chosen": "yes" if chosen else "no",
        "line": line,
        "fret": fret,
        "found": p.z[at],
        "pm": p.pm[at],
        "level": f.level[at],
        "removed": f.removed[at],
        "removed_in": inches(f.removed[at]),
        "file": "new" if fret in f.replaced else "yes" if f.worth_filing[at] else "no",
        "crown_left": f.crown_left[at],
        "flat": f.flat[at],
        "cents": f.cents[at],
    }


def plan_name(f: Filing) -> str:
    """``"replace 7, 12"``, ``"touch all"``."""
    name = PLAN_NAMES[f.plan]
    return f"{name} {', '.join(map(str, f.replaced))}" if f.replaced else name
