"""Strings: what each one is and where it runs; every fact of a string, by its key."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from functools import partial
from typing import Any

from templategen.instrument.guessed import Guessed
from templategen.instrument.model import Instrument
from templategen.instrument.strings.facts import String
from templategen.instrument.strings.fretting import Cents
from templategen.instrument.strings.stiffness import inharmonicity
from templategen.tables.model import Column, Kind, Table, column
from templategen.units import inches

IN_SPACE = ("x", "y", "z")
Get = Callable[[String], Any]


def names(i: Instrument) -> tuple[str, ...]:
    """``"6 E2"``: how a string heads its row or its column."""
    return tuple(f"{string.number} {string.note}" for string in i.strings)


def name_column(i: Instrument) -> Column:
    return column("string", "string", names(i))


def facts(i: Instrument) -> Table:
    """Everything that is known of each string but its cents at every fret."""

    def one(key: str, head: str, kind: Kind, get: Get, **more: Any) -> Column:
        return column(key, head, map(get, i.strings), kind, **more)

    crowns = [i.guessed.crown] * len(i.strings)
    columns = (
        one("string", "string", "count", lambda s: s.number),
        one("note", "note", "words", lambda s: s.note),
        one("gauge", "gauge", "fine", lambda s: s.gauge),
        one("wound", "wound", "flag", lambda s: s.wound),
        *_loads(i.guessed, one),
        *_nut(i, one, crowns),
        *_line(i.guessed, one, crowns),
        *_tuning(i, one),
        one("file", "file to use", "fine", lambda s: s.slot.file, missing="no file of the shop"),
        *_levers(i, one),
    )
    return Table("strings", "Strings", columns)


def _loads(guessed: Guessed, one: Callable[..., Column]) -> Iterable[Column]:
    mass, core, stiff = (partial(one, estimated=of) for of in (guessed.mass, guessed.core, guessed.stiffness))
    return (
        one("frequency_hz", "pitch", "frequency", lambda s: s.load.frequency_hz),
        mass("mass_g_per_m", "mass", "mass", lambda s: s.load.body.mass_g_per_m),
        mass("tension_n", "tension", "force", lambda s: s.load.tension_n),
        core("stress_mpa", "stress", "stress", lambda s: s.load.stress_mpa),
        core("stress_share", "of limit", "percent", lambda s: s.load.stress_share, missing="unknown"),
        core("core_diameter", "core", "fine", lambda s: s.load.body.core_diameter),
        one("core_estimated", "core is an estimate", "flag", lambda s: s.load.body.core_estimated),
        stiff("kappa", "kappa", "number", lambda s: s.load.kappa, places=0),
        stiff("bending", "stiffness B", "number", lambda s: s.load.bending, places=5),
        stiff("inharmonicity", "inharmonicity", "number", lambda s: inharmonicity(s.load.bending), places=6),
    )


def _nut(i: Instrument, one: Callable[..., Column], crowns: Sequence[bool]) -> Iterable[Column]:
    """crowns: whether what rests on the crown's height is an estimate."""
    on_crown = partial(one, estimated=crowns)
    starts, ends = i.nut.floor_lines
    cut_starts, cut_ends = i.nut.slotted_lines
    return (
        one("nut_y", "across at nut", "length", lambda s: s.slot.across),
        one("saddle_y", "across at saddle", "length", lambda s: s.saddle_y),
        one("along_nut", "along the nut", "length", lambda s: s.slot.along),
        one("slot_width", "slot width", "fine", lambda s: s.slot.width),
        on_crown("floor_above_seat", "floor over seat", "fine", lambda s: s.slot.floor),
        on_crown("floor_above_board", "over board", "fine", lambda s: s.slot.floor_above_board),
        on_crown("floor_above_board_here", "over board here", "fine", lambda s: s.slot.floor_above_board_here),
        one("slot_depth", "depth from top", "fine", lambda s: s.slot.depth),
        one("share_in_slot", "of gauge", "number", lambda s: s.slot.share),
        one("back_angle_deg", "back angle", "angle", lambda s: s.slot.back_angle_deg),
        one("slot_turn_deg", "slot turn", "angle", lambda s: s.slot.direction_deg),
        one("break_angle_deg", "break angle", "angle", lambda s: s.slot.break_angle_deg),
        one("side_angle_deg", "side angle", "angle", lambda s: s.slot.side_angle_deg),
        column("slot_line_start", "floor, front", starts, "points", axes=IN_SPACE),
        column("slot_line_end", "floor, back", ends, "points", axes=IN_SPACE),
        one("slotted_full_width", "milled", "flag", lambda s: s.slot.full_width),
        one("slotted_cutter", "ball cutter", "fine", lambda s: s.slot.cutter if s.slot.full_width else None),
        column("slotted_line_start", "slotted floor, front", cut_starts, "points", axes=IN_SPACE),
        column("slotted_line_end", "slotted floor, back", cut_ends, "points", axes=IN_SPACE),
        one("pilot_width", "pilot", "fine", lambda s: None if s.slot.full_width else s.slot.pilot.width),
        one("pilot_depth", "pilot depth", "fine", lambda s: None if s.slot.full_width else s.slot.pilot.depth),
        one("pilot_angle_deg", "pilot angle", "angle", lambda s: None if s.slot.full_width else s.slot.pilot.angle_deg),
    )


def _line(guessed: Guessed, one: Callable[..., Column], crowns: Sequence[bool]) -> Iterable[Column]:
    return (
        one("first_fret_clearance", "first fret", "fine", lambda s: s.first_fret_clearance),
        one("pressed_gap", "pressed gap", "fine", lambda s: s.pressed_gap),
        one("nut_over_crowns", "nut over crowns", "fine", lambda s: s.nut_over_crowns),
        one("action", "action", "length", lambda s: s.action),
        one("saddle_height", "saddle height", "length", lambda s: s.saddle_height, estimated=crowns),
        one("saddle_offset", "saddle offset", "length", lambda s: s.saddle_offset, estimated=guessed.saddle),
        one("nut_offset", "nut offset", "length", lambda s: s.slot.shift, estimated=guessed.nut),
    )


def _tuning(i: Instrument, one: Callable[..., Column]) -> Iterable[Column]:
    """Between what the offsets lie where a core is an estimate, what pressing harder does, and what is left."""
    spread, notes = i.intonation.spread, i.guessed.notes

    def end(key: str, head: str, name: str) -> Column:
        return column(key, head, (None if each is None else getattr(each, name) for each in spread), "length")

    return (
        end("saddle_offset_low", "saddle, least", "saddle_low"),
        end("saddle_offset_high", "saddle, most", "saddle_high"),
        end("nut_offset_low", "nut, least", "nut_low"),
        end("nut_offset_high", "nut, most", "nut_high"),
        column(
            "cents_of_0_2_mm_finger_depth", "0.2 mm deeper", i.intonation.pressed_deeper(), "cents", estimated=notes
        ),
        one("rms_cents", "rms with", "cents", lambda s: s.fit.rms_cents, signed=False, estimated=notes),
        one(
            "rms_cents_uncompensated",
            "rms without",
            "cents",
            lambda s: s.nominal_rms,
            signed=False,
            estimated=notes,
        ),
    )


def _levers(i: Instrument, one: Callable[..., Column]) -> Iterable[Column]:
    """What 0.1 mm at one end does, the other held."""
    at = i.spec.setup.action.fret
    return (
        one("nut_0_1_mm_at_first_fret", "nut, fret 1", "fine", lambda s: 0.1 * s.lever.nut_at_first_fret),
        one("nut_0_1_mm_at_action_fret", f"nut, fret {at}", "fine", lambda s: 0.1 * s.lever.nut_at_action),
        one("saddle_0_1_mm_at_first_fret", "saddle, fret 1", "fine", lambda s: 0.1 * s.lever.saddle_at_first_fret),
        one("saddle_0_1_mm_at_action_fret", f"saddle, fret {at}", "fine", lambda s: 0.1 * s.lever.saddle_at_action),
    )


def records(i: Instrument) -> list[dict[str, Any]]:
    """The strings of numbers.json: the facts, and the cents at every fret with their causes apart."""
    return [
        row
        | {
            "cents": string.fit.cents.total,
            "cents_uncompensated": string.nominal.total,
            "cents_terms": _terms(string.fit.cents),
            "cents_terms_uncompensated": _terms(string.nominal),
        }
        for row, string in zip(facts(i).records(), i.strings, strict=True)
    ]


def _terms(cents: Cents) -> dict[str, Any]:
    """The causes of an error apart; they add up to it."""
    return {
        "length": cents.length,
        "density": cents.density,
        "tension": cents.tension,
        "stiffness": cents.stiffness,
    }


def file(i: Instrument) -> Table:
    """strings.csv: the facts, the cents at every fret, and the file to use in inches besides."""
    frets = tuple(str(n) for n in range(1, len(i.intonation.frets) + 1))
    more = (
        column("cents", "cents", i.intonation.cents, "points", axes=frets),
        column("cents_uncompensated", "cents without", i.intonation.cents_uncompensated, "points", axes=frets),
        column("file_in", "file, in", (None if file is None else inches(file) for file in i.nut.file), "number"),
    )
    whole = facts(i)
    return Table("strings", whole.title, (*whole.columns, *more))


def loads(i: Instrument) -> Table:
    """For the terminal: what each string is and how hard it pulls."""
    bodies = [string.load.body for string in i.strings]
    core = column(
        "core_diameter", "core", (s.load.body.core_diameter if s.wound else None for s in i.strings), "fine",
        estimated=(body.core_estimated for body in bodies),
    )  # fmt: skip
    whole = facts(i)
    keys = ("frequency_hz", "mass_g_per_m", "tension_n", "stress_mpa", "stress_share", "kappa")
    source = column("mass_source", "mass from", (body.mass_source for body in bodies))
    columns = (name_column(i), *whole.pick("gauge"), core, *whole.pick(*keys), source)
    notes = (
        "Of limit: of the stress at which the wire breaks. Kappa: relative rise of the tension over the relative "
        "stretch that makes it.",
    )
    return Table("strings", f"Strings: {i.total_load_n:.0f} N on the neck", columns, notes)
