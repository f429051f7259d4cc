"""The press caul: a hollow face, a little rounder than the board, that presses frets in; block frame.

The ends of a fret meet the caul first and are pressed down before its middle, so that they stay down: how much rounder
the face is, is ``press_caul.radius_share`` (common practice, no source; shops differ).
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from templategen.drawing.model import Outline, Shape, Sketch, moved
from templategen.geometry import arc_drop
from templategen.instrument.model import Instrument
from templategen.instrument.tools.gauges import Station, stations
from templategen.parts.common import cautions, cut
from templategen.parts.common.about import CUT_ORDER, THROUGH, About
from templategen.parts.common.engraving import lettering, radius_line
from templategen.parts.common.faces import back_bevels, mirrored, standing, under_back_bevels
from templategen.parts.common.named import product_name
from templategen.parts.common.product import Body, Product, Sheet
from templategen.parts.common.work import Work
from templategen.spec.models import PressCaul
from templategen.units import both_units, mm_text

if TYPE_CHECKING:
    from templategen.solids.shape import Solid

NAME = "press-caul"
PAST = 4.0  # the face past the longest fret, each side
BACK = 20.0  # from the flat back to the face's deepest point
THICKNESS = 14.0  # along the neck
EASE = 1.0  # every edge of the back, and the face's ends
APART = 12.0  # between profiles in the file


WARNED = cautions.lines(cautions.PRESSING, cautions.ROUTING)


def make(work: Work) -> tuple[Product, ...]:
    instrument = work.instrument
    return (
        *cut_sheets(instrument),
        Body(NAME, lambda: solids(instrument), ("step",), _about_solids(instrument), WARNED),
    )


def radius(i: Instrument, station: Station | None) -> float:
    """The face's radius: the board's times the share; infinite on a flat board."""
    share = (i.spec.press_caul or PressCaul()).radius_share
    return math.inf if station is None else share * station.radius


def width(i: Instrument) -> float:
    """Wide enough for the longest fret with its overhang."""
    return float(i.frets.width.max()) + 2 * (i.spec.fret_wire.overhang + PAST)


def profile(i: Instrument, station: Station | None, eased: float = 0.0) -> Outline:
    """The closed section, counterclockwise from the back; its face is the only arc, less a bevel of ``eased`` at each
    of its edges."""
    half, face = width(i) / 2, radius(i, station)
    high = BACK + float(arc_drop(face, half - eased))
    sides = [(half - EASE, 0.0), (half, EASE), *([(half, high - eased)] if eased else []), (half - eased, high)]
    return mirrored(sides, face)


def cauls(i: Instrument) -> tuple[Station | None, ...]:
    """The stations that cauls are for: one for a cylinder or a flat board, four along a cone."""
    return stations(i) or (None,)


def solids(i: Instrument) -> tuple[Solid, ...]:
    """A caul for each station, standing on their backs one behind another, each with one true cylinder for its face."""
    from templategen.solids import combine
    from templategen.solids.shape import moved

    found = []
    for n, station in enumerate(cauls(i)):
        face = radius(i, station)
        what = ["press caul", "flat" if math.isinf(face) else f"R {mm_text(face)}"]
        where = f"for {station.name}" if station is not None and i.board.law.conical else ""
        name = product_name(i.spec.title, " ".join(what), where)
        whole = standing(profile(i, station, EASE), THICKNESS, name)
        caul = combine.cut(whole, back_bevels(THICKNESS, EASE), gone=under_back_bevels(THICKNESS, EASE))
        found.append(moved(caul, (0.0, n * (THICKNESS + APART), 0.0)))
    return tuple(found)


def _about(i: Instrument) -> About:
    share, more = (i.spec.press_caul or PressCaul()).radius_share, []
    for station in cauls(i):
        if station is not None:
            where = f" for {station.name}" if i.board.law.conical else ""
            more.append(f"Face{where}: {both_units(radius(i, station))}, {share:g} of the board's.")
    return About(
        part="press caul" if len(cauls(i)) == 1 else "press cauls, one for each station of the cone",
        job=f"{i.spec.title}; {i.trace}",
        material="hardwood, brass or slices of sheet that make it up",
        thickness=THICKNESS,
        side="the end with the engraving up",
        depth=THROUGH,
        allowances="none",
        datum="x = 0 in the middle, y = 0 on the (first) back",
        order=CUT_ORDER,
        more=tuple(more),
    )


def _about_solids(i: Instrument) -> About:
    return replace(
        _about(i),
        side="standing on its back",
        depth="as modelled",
        datum="x = 0 in the middle, y = 0 at the first one's end, along the neck, z = 0 on the backs",
        order="back flat first: it is the datum; no two are one piece",
    )


def cut_sheets(i: Instrument) -> tuple[Sheet, ...]:
    """The profiles, one above the other where there is one for each station of a cone; finished size and beam size."""

    def sketched(kerf: float) -> Sketch:
        s, lift = cut.sketch(), 0.0
        for station in cauls(i):
            outline = profile(i, station)
            s.add("OUTLINE", moved(outline.offset(kerf / 2), 0.0, lift))
            s.add("ENGRAVE", *(moved(text, 0.0, lift) for text in _engraved(i, station)))
            lift += max(z for _, z in outline.points) + APART
        return s

    title = f"{i.spec.title}: press caul, profile to cut"
    return cut.sheets(NAME, title, sketched, i.shop, _about(i), warned=WARNED)


def label(i: Instrument, station: Station | None) -> tuple[str, ...]:
    """What stands on a caul: its radius, and of which board's radius it is what share."""
    if station is None:
        return ("caul, FLAT",)
    where = f"{station.name}, " if i.board.law.conical else ""
    share = (i.spec.press_caul or PressCaul()).radius_share
    return radius_line(radius(i, station)), f"caul, {where}{share:g} of {mm_text(station.radius)}"


def _engraved(i: Instrument, station: Station | None) -> tuple[Shape, ...]:
    return lettering(label(i, station), (0.0, BACK / 2), width(i) - 10.0)
