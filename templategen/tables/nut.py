"""The nut's slots: where they stand, how wide and how deep they are, and with what they are filed."""

from __future__ import annotations

from templategen.instrument.model import Instrument
from templategen.tables import strings
from templategen.tables.model import Column, Table, column
from templategen.units import both_units

SLANTED = 0.01  # degrees: less is square
TURNED = 2.0  # degrees in plan: slots that are turned less need no figure


def bass_end(i: Instrument) -> float:
    """Nut-frame x of the bass end of the front edge: the datum of every place."""
    at = i.nut.front_ends[0 if i.side > 0 else 1]
    return float(at)


def slanted(i: Instrument) -> bool:
    return abs(i.plan.nut_slant_deg) > SLANTED


def turned(i: Instrument) -> bool:
    return bool((abs(i.nut.direction_deg) > TURNED).any())


def places(i: Instrument) -> Table:
    """Where each slot stands along the front edge, its width, and the file for it."""
    nut, whole = i.nut, strings.facts(i)
    columns: list[Column] = [
        strings.name_column(i),
        column("from_bass_end", "from bass end", abs(nut.along - bass_end(i)), "length"),
    ]
    notes = ["From bass end: the slot's centre along the front edge."]
    if slanted(i):
        columns.append(column("across", "across", i.side * nut.across, "length", signed=True))
        notes.append("Across: the string square to the centreline from it, + on the treble side.")
        across, along = both_units(i.plan.taper.at_nut), both_units(i.plan.width_along_nut)
        notes.append(f"Board at the nut: {across} wide square to the centreline, {along} along the front edge.")
    columns += whole.pick("gauge", "slot_width", "file")
    columns.append(
        column("slotted", "slotted nut", ("full width" if slot.full_width else "pilot" for slot in nut.slots))
    )
    notes.append("Slotted nut: which slots it has milled to full width, and where a pilot groove starts saw and file.")
    title = f"Nut slots: places and widths; the nut is {both_units(nut.thickness)} thick"
    return Table("nut-slots", title, tuple(columns), (" ".join(notes),))


def heights(i: Instrument) -> Table:
    """Floors and depths where the string leaves its slot, and how the floor falls."""
    whole = strings.facts(i)
    keys = ("floor_above_seat", "floor_above_board_here", "slot_depth", "share_in_slot", "back_angle_deg")
    columns = [strings.name_column(i), *whole.pick(*keys)]
    notes = [
        "Floor over seat: at the centreline. Over board here: over the wood at the string's own place, as a feeler "
        "measures it. Of gauge: how much of the string lies in its slot. Back angle: the floor's fall toward the "
        "tuners."
    ]
    if turned(i):
        columns.append(column("turn", "turn", i.side * i.nut.direction_deg, "angle", signed=True))
        notes.append("Turn: the slot in plan against square to the front edge, + to the treble side at the back.")
    title = "Nut slots: heights where the string leaves its slot"
    return Table("nut-heights", title, tuple(columns), (" ".join(notes),))
