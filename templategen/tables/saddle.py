"""The strings' other end: where each one is held, how high, and how far it is moved."""

from __future__ import annotations

from templategen.instrument.model import Instrument
from templategen.tables import strings
from templategen.tables.model import Table, column


def saddle(i: Instrument) -> Table:
    """Across from the centreline, height over the plane of the board's centreline, offset, distances along it."""
    found, whole = i.saddle, strings.facts(i)
    columns = (
        strings.name_column(i),
        column("across", "across", i.side * found.y, "length", signed=True),
        *whole.pick("saddle_height", "saddle_offset"),
        column("saddle_from_nut", "from nut", found.from_nut, "length"),
        column("saddle_from_octave", "from octave fret", found.from_octave, "length", missing="no fret"),
    )
    notes = (
        "Across: from the centreline, + on the treble side. Saddle height: of the string's underside over the base "
        "line. Saddle offset: away from the nut. Both distances run along the centreline, from the nut's front edge "
        "and from the octave's crown.",
    )
    return Table("saddle", "Saddle", columns, notes)
