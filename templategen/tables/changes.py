"""From found to wanted: the steps of one kind, in the order in which one works, each with room for what is left."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from templategen.instrument.model import Instrument
from templategen.repair.changes import Change
from templategen.tables.model import Column, Kind, Table, column

FINE = ("relief", "relief_again", "crown", "nut_floor", "zero_fret", "slot_width")  # filed, or measured with feelers
HEIGHTS = {
    "relief": "the deepest gap under a straightedge",
    "relief_again": "the deepest gap under a straightedge",
    "crown": "height as read along the line",
    "slot_depth": "at the edge",
    "slot_width": "the thickest feeler that enters, to the wire's slot",
    "nut_floor": "the floor over the line of the first two crowns",
    "zero_fret": "its crown over the line of the first two",
    "saddle": "the string's underside at the saddle, over the plane of the board's centreline",
    "saddle_offset": "from the nominal scale, away from the nut, by tuner and model; read again when all is set",
    "neck": "what the saddle is left to show over the bridge, at the end named",
}
READS: dict[str, Kind] = {"first_fret_clearance": "fine", "action": "length"}


def place(step: Change) -> str:
    """``"string 3"``, ``"fret 7, bass"``."""
    named = [f"string {step.string}"] if step.string is not None else []
    named += [f"fret {step.fret}"] if step.fret is not None else []
    named += [step.line] if step.line is not None else []
    return ", ".join(named) or "neck"


def steps(i: Instrument, listed: Sequence[Change]) -> Table | None:
    """Steps of one kind; None where nothing of them is a length. The last column is empty, to be written in."""
    if all(step.found is None and step.wanted is None for step in listed):
        return None
    what, reads = listed[0].what, listed[0].reads_of
    kind: Kind = "fine" if what in FINE else "length"

    def one(key: str, head: str, get: Callable[[Change], Any], of: Kind = kind, **more: Any) -> Column:
        return column(key, head, map(get, listed), of, **more)

    columns = [
        one("place", "where", place, "words"),
        one("found", "found", lambda step: step.found),
        one("pm", "±", lambda step: step.pm),
        one("wanted", "wanted", lambda step: step.wanted),
        one(
            "change",
            "change",
            _change,
            signed=True,
            missing="leave" if listed[0].found is not None else "",
            estimated=(step.estimated and not step.left for step in listed),
        ),
    ]
    notes = []
    if reads is not None:
        over = f"over fret {i.spec.setup.action.fret if reads == 'action' else 1}"
        columns += [
            one("reads_before", f"{over} now", lambda step: step.reads_before, READS[reads]),
            one("reads_after", f"{over} then", lambda step: step.reads_after, READS[reads]),
        ]
        notes.append("Now, then: what a feeler reads over that crown before this step and after it.")
    columns.append(column("as_left", "as left", [""] * len(listed)))
    known = tuple(
        each for each in columns if each.key in ("place", "as_left") or any(v is not None for v in each.values)
    )
    return Table(f"setup-{what}", f"Found and wanted: {HEIGHTS.get(what, what)}", known, tuple(notes))


def _change(step: Change) -> float | None:
    return None if step.left else step.change
