"""What is to be done, and the steps that it takes in the order in which one works.

What is asked for stands in the spec's ``work``. Where it says nothing, the instrument that was measured says it: the
crowns' verdict whether frets come out, are filed or are left alone, the changes whether nut and saddle are made anew.
Where no crowns were measured, it is everything that the spec is for.
"""

from __future__ import annotations

from typing import Literal

from templategen.repair.model import Bench
from templategen.spec.models import Asked

Reason = Literal["said", "crowns", "spec"]
STEPS: dict[str, str] = {
    "record": "Record it as found",
    "strings-off": "Slacken, take off",
    "frets-out": "Old frets out",
    "neck": "Neck straight",
    "radius": "Board to its radius",
    "slots": "Slots",
    "frets-in": "Frets in",
    "level": "Level, crown, polish",
    "nut": "Nut",
    "saddle": "Saddle",
    "strings-on": "Strings on, to pitch",
    "setup": "Relief, nut, saddle, relief again",
    "offsets": "Offsets",
    "check": "Play every note",
    "record-left": "Record it as left",
}
"""Every step with its title, in the order in which one works."""


def reason(bench: Bench) -> Reason:
    """Who says what is to be done: the spec, the crowns that were measured, or what the spec is for."""
    if bench.instrument.spec.work is not None:
        return "said"
    return "crowns" if bench.remedy is not None and bench.remedy.filings else "spec"


def asked(bench: Bench) -> frozenset[Asked]:
    """What is to be done."""
    spec, needs = bench.instrument.spec, bench.remedy
    if spec.work is not None:
        return frozenset(spec.work)
    found: set[Asked] = {"setup"}
    if spec.fingerboard.before is not None:
        found |= {"board", "frets"}
    if needs is None or not needs.filings:
        return frozenset(found | {"frets", "nut"})
    if needs.chosen is None:
        found.add("frets")
    elif needs.verdicts[needs.chosen].words != "leave":
        found.add("level")
    if (needs.changes.found is None and "frets" in found) or needs.changes.new_nut:
        found.add("nut")  # new crowns want a nut that is made to them, where nobody measured whether the old one does
    if needs.changes.new_saddle:
        found.add("saddle")
    return frozenset(found)


def steps(wanted: frozenset[Asked]) -> tuple[str, ...]:
    """The keys of the steps that a job takes, in order."""
    fretwork = bool(wanted & {"board", "frets"})
    crowns = fretwork or "level" in wanted
    parts = crowns or bool(wanted & {"nut", "saddle"})
    causes = {
        "strings-off": parts,
        "frets-out": fretwork,
        "neck": crowns,
        "radius": "board" in wanted,
        "slots": fretwork,
        "frets-in": fretwork,
        "level": crowns,
        "nut": "nut" in wanted,
        "saddle": "saddle" in wanted,
        "strings-on": parts,
        "setup": bool(wanted),
        "offsets": bool(wanted),
    }
    return tuple(key for key in STEPS if causes.get(key, True))
