"""The string line: how high the undersides run, and what moving one end does."""

from __future__ import annotations

from templategen.instrument.model import Instrument
from templategen.tables import strings
from templategen.tables.model import Table


def line(i: Instrument) -> Table:
    """Heights of the open strings' undersides, by all three ways of giving the one at the nut."""
    action = i.spec.setup.action
    capo = " with a capo on the first" if action.capo else ""
    keys = ("first_fret_clearance", "pressed_gap", "nut_over_crowns", "action", "saddle_height", "saddle_offset")
    columns = (strings.name_column(i), *strings.facts(i).pick(*keys))
    notes = (
        "First fret: underside over its crown. Pressed gap: the same with the string on its floor and on the second "
        "crown. Nut over crowns: its floor over the straight line of the first two. Saddle height: over the plane of "
        "the board's centreline.",
    )
    title = f"String line: heights of the undersides; action at fret {action.fret}{capo}"
    return Table("string-line", title, columns, notes)


def levers(i: Instrument) -> Table:
    """What 0.1 mm at nut and saddle does over the first fret and over that of the action."""
    at = i.spec.setup.action.fret
    keys = (f"{end}_0_1_mm_at_{fret}_fret" for end in ("nut", "saddle") for fret in ("first", "action"))
    title = f"What 0.1 mm (0.004 in) at nut or saddle does over fret 1 and fret {at}, the other end held"
    return Table("levers", title, (strings.name_column(i), *strings.facts(i).pick(*keys)))
