"""The strings' other end: where each one is held, how high, and how far it is moved."""

from __future__ import annotations

from typing import Any

from templategen.instrument.model import Instrument
from templategen.tables import strings
from templategen.tables.model import Column, Table, column


def saddle(i: Instrument) -> Table:
    """Across from the centreline, height over the plane of the board's centreline, offset, distances along it."""
    found, whole, guess = i.saddle, strings.facts(i), i.guessed.saddle
    columns = (
        strings.name_column(i),
        column("across", "across", i.side * found.y, "length", signed=True),
        *whole.pick("saddle_height", "saddle_offset"),
        *_spread(i),
        column("saddle_from_nut", "from nut", found.from_nut, "length", estimated=guess),
        column(
            "saddle_from_octave",
            "from octave fret",
            found.from_octave,
            "length",
            missing="no fret",
            estimated=guess,
        ),
    )
    notes = (
        "Across: from the centreline, + on the treble side. Saddle height: of the string's underside over the base "
        "line. Saddle offset: away from the nut. Both distances run along the centreline, from the nut's front edge "
        "and from the octave's crown.",
    )
    return Table("saddle", "Saddle", columns, notes)


def _spread(i: Instrument) -> tuple[Column, ...]:
    """Between what the offsets lie, where any rests on a guess."""
    if not any(i.guessed.saddle):
        return ()
    return strings.facts(i).pick("saddle_offset_low", "saddle_offset_high")


def piece(i: Instrument) -> Table | None:
    """The saddle of one piece: where it holds each string, and what the string does to it."""
    made = i.saddle_piece
    if made is None:
        return None
    crowns = [i.guessed.crown] * len(i.strings)
    columns = [
        strings.name_column(i),
        column("along", "along", i.side * made.along, "length", signed=True),
        column("from_front", "from front", made.thickness - made.across, "length"),
        column("height", "over seat", made.height, "length", estimated=crowns),
        column("over_bridge", "over bridge", made.over_bridge, "length", estimated=crowns),
        column("offset", "offset", made.offset, "length", estimated=i.guessed.saddle),
        column("worst_cents", "worst", _worst(i), "cents", signed=False, estimated=i.guessed.notes),
    ]
    notes = (
        "Along: from the centreline, + on the treble side. From front: of the saddle, its face toward the nut, "
        "to where the string last touches. Over seat: along the saddle's faces. Over bridge: the string's underside "
        "over its top, upright. Offset: as held. Worst: fret of the fit, with the string as it is held.",
    )
    return Table("saddle-piece", "Saddle of one piece", tuple(columns), notes)


def forces(i: Instrument) -> Table | None:
    """What the strings do to the saddle; None where the spec does not tell how they fall behind it."""
    made = i.saddle_piece
    if made is None or made.forces is None:
        return None
    pull = i.guessed.mass
    columns = (
        strings.name_column(i),
        *strings.facts(i).pick("tension_n"),
        column("force_n", "on the saddle", (force.whole for force in made.forces), "force", estimated=pull),
        column("down_n", "down", (force.down for force in made.forces), "force", estimated=pull),
        column("toward_nut_n", "toward the nut", (force.toward_nut for force in made.forces), "force", estimated=pull),
        column("lean_deg", "lean without tipping", (force.lean_deg for force in made.forces), "angle"),
    )
    notes = (
        "Lean without tipping: a saddle that leans its top away from the nut by so much stands along the string's "
        "force.",
    )
    return Table("saddle-forces", "What the strings do to the saddle", columns, notes)


def _worst(i: Instrument) -> list[float]:
    made, last = i.saddle_piece, i.intonation.fit_to_fret
    assert made is not None
    return [float(abs(fit.cents.total[:last]).max()) if last else 0.0 for fit in made.fits]


def numbers(i: Instrument) -> dict[str, Any] | None:
    """Of the saddle of one piece, None without one; mm in its own frame, by string where a list."""
    made = i.saddle_piece
    if made is None:
        return None
    told = forces(i)
    low, high = made.blank
    return {
        "thickness": made.thickness,
        "length": made.length,
        "ends_x": (made.low, made.high),
        "round_ends": made.round_ends,
        "seat_depth": made.seat_depth,
        "seat_radius": made.seat_radius,
        "slant_deg": made.slant_deg,
        "lean_deg": made.lean_deg,
        "from_nut": made.from_nut,
        "origin_in_plan": made.origin,
        "axes_in_plan": made.axes,
        "top_radius": made.top.radius,
        "round_radius": made.radius,
        "needs_thickness": made.needs,
        "along": made.along,
        "across": made.across,
        "across_wanted": made.wanted,
        "height": made.height,
        "over_bridge": made.over_bridge,
        "offset": made.offset,
        "worst_cents": _worst(i),
        "forces": None if told is None else list(told.records()),
        "blank": {
            "low": low,
            "high": high,
            "size": tuple(b - a for a, b in zip(low, high, strict=True)),
            "top_allowance": made.top_allowance,
            "stock": {"sides": made.stock_sides, "ends": made.stock_ends},
        },
    }
