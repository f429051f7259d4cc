"""Fret wire: every piece to cut, in the order it goes in, then the spares."""

from __future__ import annotations

from dataclasses import replace

from templategen.instrument.model import Instrument
from templategen.tables import frets
from templategen.tables.model import Table, column
from templategen.units import both_units


def pieces(i: Instrument) -> Table:
    """The cut list; the stick is not known where the shop file does not give sticks their length."""
    cuts, spares = i.wire_cuts, i.shop.spare_frets
    longest = int(i.frets.wire_cut.argmax())
    known = frets.facts(i).pick("fret", "wire_cut", "tang_length", "nip_each_end", "bend_radius")
    fret, *sizes = (replace(each, values=each.values + (each.values[longest],) * spares) for each in known)
    names = column("fret", "fret", (*known[0].values, *["spare"] * spares))
    sticks = column("stick", "stick", cuts.stick if cuts else [None] * len(fret.values), "count")
    loss = i.shop.nipper_loss
    notes = (f"Sticks: {both_units(loss)} lost at each nip.",) if cuts and loss else ()
    return Table("wire", "Fret wire: pieces to cut", (names, sticks, *sizes), notes)
