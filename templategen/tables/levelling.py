"""What to file off which fret: the plans side by side, one line of a plan, and everything as numbers."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from templategen.repair.levelling import Filing
from templategen.repair.remedy import Remedy
from templategen.tables.model import Column, Kind, Table, column
from templategen.units import inches

PLAN_NAMES = {
    "touch_all": "touch all",
    "leave_low": "leave low ones",
    "replace": "replace",
    "every_note_clears": "every note clears",
}


def plan_name(f: Filing) -> str:
    """``"replace 7, 12"``, ``"touch all"``, ``"touch all, 2 replaced"``."""
    name, new = PLAN_NAMES[f.plan], ", ".join(map(str, f.replaced))
    if not new:
        return name
    return f"{name} {new}" if f.plan == "replace" else f"{name}, {new} replaced"


def plans(remedy: Remedy) -> Table:
    """The plans side by side."""

    def one(key: str, head: str, kind: Kind, get: Callable[[Filing], Any]) -> Column:
        return column(key, head, map(get, remedy.filings), kind)

    columns = (
        one("plan", "plan", "words", plan_name),
        one("most", "most", "fine", lambda f: f.most),
        one("total", "in all", "fine", lambda f: f.total),
        one("filed", "crowns filed", "count", lambda f: f.filed),
        one("least_crown_left", "least crown left", "length", lambda f: f.least_crown_left),
        column("verdict", "comes to", (judged.words for judged in remedy.verdicts)),
    )
    return Table("levelling", "Levelling: plans side by side", columns)


def line(f: Filing, k: int) -> Table:
    """Every fret of one line: what was read, what is filed, what is left."""
    p = f.profile
    read = np.isfinite(p.z[:, k])
    new = np.isin(p.frets, f.replaced)
    filed = read & ~new & f.worth_filing[:, k]
    does = np.select([~read, new, filed], ["not read", "new fret", "file"], "leave")
    cents = np.where(filed, f.cents[:, k], np.nan)
    columns = (
        column("fret", "fret", (int(fret) for fret in p.frets), "count"),
        column("read", "read", p.z[:, k], "fine"),
        column("pm", "±", np.where(read, p.pm[:, k], np.nan), "fine"),
        column("removed", "file", np.where(new, np.nan, f.removed[:, k]), "fine"),
        column("do", "do", does),
        column("crown_left", "crown left", np.where(new, np.nan, f.crown_left[:, k]), "length"),
        column("flat", "flat", np.where(filed, f.flat[:, k], np.nan), "length"),
        column("sharp", "sharp", cents, "cents", places=1, signed=False),
    )
    return Table(f"levelling-{p.lines[k]}", f"Levelling, line {p.lines[k]}: {plan_name(f)}", columns)


def file(remedy: Remedy) -> Table:
    """levelling.csv: every plan as it is carried out, line and fret; file: whether it is more than the reading's ±."""
    at = [
        (n, f, k, row)
        for n, f in enumerate(remedy.as_done)
        for k in range(len(f.profile.lines))
        for row in range(len(f.profile.frets))
    ]

    def one(key: str, head: str, kind: Kind, get: Callable[[Filing, int, int], Any]) -> Column:
        return column(key, head, (get(f, row, k) for _, f, k, row in at), kind)

    columns = (
        column("plan", "plan", (plan_name(remedy.filings[n]) for n, *_ in at)),
        column("chosen", "chosen", ("yes" if n == remedy.chosen else "no" for n, *_ in at)),
        one("line", "line", "words", lambda f, row, k: f.profile.lines[k]),
        one("fret", "fret", "count", lambda f, row, k: int(f.profile.frets[row])),
        one("found", "found", "fine", lambda f, row, k: f.profile.z[row, k]),
        one("pm", "±", "fine", lambda f, row, k: f.profile.pm[row, k]),
        one("level", "level", "fine", lambda f, row, k: f.level[row, k]),
        one("removed", "removed", "fine", lambda f, row, k: f.removed[row, k]),
        one("removed_in", "removed, in", "number", lambda f, row, k: inches(f.removed[row, k])),
        one("file", "file", "words", _does),
        one("crown_left", "crown left", "length", lambda f, row, k: f.crown_left[row, k]),
        one("flat", "flat", "length", lambda f, row, k: f.flat[row, k]),
        one("cents", "sharp", "cents", lambda f, row, k: f.cents[row, k]),
    )
    return Table("levelling", "Levelling", columns, labels=4)


def _does(f: Filing, row: int, k: int) -> str:
    if f.profile.frets[row] in f.replaced:
        return "new"
    return "yes" if f.worth_filing[row, k] else "no"


def changes(remedy: Remedy | None) -> Table | None:
    """A section of numbers.json, in the order in which one works; null where nothing was measured."""
    if remedy is None:
        return None
    keys = ("what", "string", "fret", "line", "found", "pm", "wanted", "change", "how", "reads_of", "reads_before",
            "reads_after", "estimated")  # fmt: skip
    columns = (column(key, key, (getattr(step, key) for step in remedy.changes.steps)) for key in keys)
    return Table("changes", "From found to wanted", tuple(columns))


def numbers(remedy: Remedy | None) -> list[dict[str, Any]] | None:
    """A section of numbers.json; null without crowns that were measured."""
    if remedy is None or not remedy.filings:
        return None
    return [
        {
            "plan": f.plan,
            "replaced": f.replaced,
            "lines": [
                {"line": name, "a": f.a[k], "b": f.b[k], "removed": f.removed[:, k]}
                for k, name in enumerate(f.profile.lines)
            ],
            "most": f.most,
            "total": f.total,
            "filed": f.filed,
            "least_crown_left": f.least_crown_left,
            "verdict": judged.words,
            "chosen": n == remedy.chosen,
        }
        for n, (f, judged) in enumerate(zip(remedy.filings, remedy.verdicts, strict=True))
    ]
