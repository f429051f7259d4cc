"""Everything computed, as files that programs and spreadsheets read: numbers.json, frets.csv, strings.csv, wire.csv.

All lengths in mm and plan-frame y where no suffix says otherwise; rounded to 1e-9 so that the text is stable.
"""

from __future__ import annotations

import csv
import io
import json
import math
from collections.abc import Iterable, Sequence
from dataclasses import astuple
from typing import Any

from templategen.instrument.board.wire import BEND_SHARE
from templategen.instrument.model import Instrument
from templategen.instrument.strings.fretting import Cents
from templategen.instrument.strings.sounding import HEARD_AT, NUT_TOO_HIGH, Spread
from templategen.instrument.strings.stiffness import inharmonicity
from templategen.instrument.tools.block import facets
from templategen.instrument.tools.gauges import stations, string_arc
from templategen.parts.common.product import Product, Table
from templategen.parts.common.work import Work
from templategen.parts.nut import nut_shape
from templategen.parts.repair import as_found_numbers, clearance_table, levelling_table, reradius_table
from templategen.units import inches

NAME = "tables"
PLACES = 9


def make(work: Work) -> tuple[Product, ...]:
    instrument = work.instrument
    return (
        Table("numbers", lambda: numbers_json(work), ("json",)),
        Table("frets", lambda: csv_text(fret_rows(instrument)), ("csv",)),
        Table("strings", lambda: csv_text(string_rows(instrument)), ("csv",)),
        Table("wire", lambda: csv_text(wire_rows(instrument)), ("csv",)),
    )


def numbers_json(work: Work) -> str:
    return json.dumps(numbers(work), indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def numbers(work: Work) -> dict[str, Any]:
    """All numbers as plain lists and dicts; what is infinite or unknown is null."""
    i = work.instrument
    whole: dict[str, Any] = plain(
        {
            "title": i.spec.title,
            "digest": i.digest,
            "units": "mm",
            "handedness": i.spec.handedness,
            "frets": frets(i),
            "strings": strings(i),
            "nut": nut(i),
            "setup": {
                "relief": i.strung.relief,
                "action_fret": i.spec.setup.action.fret,
                "capo": i.spec.setup.action.capo,
                "total_load_n": i.total_load_n,
            },
            "board": {
                "radius_at_nut": i.board.law.at_nut,
                "radius_at_last_fret": i.board.radius(i.plan.centre_x[-1]),
                "thickness_at_centreline": i.board.thickness,
                "width_at_nut": i.plan.taper.at_nut,
                "width_at_last_fret": i.frets.width[-1],
                "outline": i.plan.outline,
                "nut_slant_deg": i.plan.nut_slant_deg,
            },
            "intonation": intonation(i),
            "wire": wire(i),
            "radius_block": radius_block(i),
            "facets": radius_facets(i),
            "gauges": gauges(i),
            "clearance": clearance_table.notes(i.clearance),
            "best_setup": clearance_table.best(i),
            "clearance_found": None
            if work.bench.remedy is None
            else clearance_table.notes(work.bench.remedy.clearance),
            "changes": levelling_table.changes(work.bench.remedy),
            "levelling": levelling_table.numbers(work.bench.remedy),
            "reradius": reradius_table.numbers(work.bench.reradius),
            "as_found": as_found_numbers.numbers(work.bench.found),
            "as_left": as_found_numbers.numbers(work.bench.left),
            "findings": [{"code": f.code, "level": f.level, "key": f.key, "message": f.message} for f in work.findings],
        }
    )
    return whole


def frets(i: Instrument) -> list[dict[str, Any]]:
    f, plan = i.frets, i.plan
    return [
        {
            "fret": int(f.numbers[n]),
            "from_nut": f.from_nut[n],
            "from_previous": f.from_previous[n],
            "bass_end": plan.bass_ends[n],
            "treble_end": plan.treble_ends[n],
            "slot_bass_end": plan.slot_bass_ends[n],
            "slot_treble_end": plan.slot_treble_ends[n],
            "width": f.width[n],
            "radius": f.radius[n],
            "wire_cut": f.wire_cut[n],
            "tang_length": f.tang_length[n],
            "nip_each_end": f.nip_each_end[n],
            "bend_radius": f.bend_radius[n],
            "slot_depth": f.slot_depth[n],
            "depth_stop_flat": f.depth_stop_flat[n],
            "wood_under_slot_at_edge": f.wood_under_slot_at_edge[n],
            "length_of_one_cent": f.length_of_one_cent[n],
            "cents_of_0_1_mm": f.cents_of_tenth[n],
            "cents_off_per_string": plan.crossing_cents[n],
        }
        for n in range(len(f.numbers))
    ]


def strings(i: Instrument) -> list[dict[str, Any]]:
    line, cut, tuning = i.line, i.nut, i.intonation
    nut_first, saddle_first = i.lever(1, "nut"), i.lever(1, "saddle")
    at = i.spec.setup.action.fret
    nut_action, saddle_action = i.lever(at, "nut"), i.lever(at, "saddle")
    slots = nut_shape.slots_of(cut, "finished")
    deeper = tuning.pressed_deeper()
    rows = []
    for n, (string, load) in enumerate(zip(i.spec.strings.set, i.loads, strict=True)):
        rows.append(
            {
                "string": n + 1,
                "note": string.note.text,
                "gauge": string.gauge,
                "wound": string.wound,
                "frequency_hz": load.frequency_hz,
                "mass_g_per_m": load.body.mass_g_per_m,
                "tension_n": load.tension_n,
                "stress_mpa": load.stress_mpa,
                "stress_share": load.stress_share,
                "core_diameter": load.body.core_diameter,
                "core_estimated": load.body.core_estimated,
                "kappa": load.kappa,
                "bending": load.bending,
                "inharmonicity": inharmonicity(load.bending),
                "nut_y": cut.across[n],
                "saddle_y": i.saddle.y[n],
                "along_nut": cut.along[n],
                "slot_width": cut.width[n],
                "floor_above_seat": cut.floor[n],
                "floor_above_board": cut.floor_above_board[n],
                "floor_above_board_here": cut.floor_above_board_here[n],
                "slot_depth": cut.depth[n],
                "share_in_slot": cut.share[n],
                "back_angle_deg": cut.back_angle_deg[n],
                "slot_turn_deg": cut.direction_deg[n],
                "break_angle_deg": cut.break_angle_deg[n],
                "side_angle_deg": cut.side_angle_deg[n],
                "slot_line_start": slots[n].start,
                "slot_line_end": slots[n].end,
                "slotted_full_width": cut.full_width[n],
                "first_fret_clearance": line.first_fret_clearance[n],
                "pressed_gap": line.pressed_gap[n],
                "nut_over_crowns": line.nut_over_crowns[n],
                "action": line.action[n],
                "saddle_height": i.saddle.height[n],
                "saddle_offset": i.saddle.offset[n],
                "nut_offset": cut.shift[n],
                **_spread(tuning.spread[n]),
                "cents_of_0_2_mm_finger_depth": deeper[n],
                "rms_cents": tuning.fits[n].rms_cents,
                "rms_cents_uncompensated": tuning.nominal_rms[n],
                "file": cut.file[n],
                "nut_0_1_mm_at_first_fret": 0.1 * nut_first[n],
                "nut_0_1_mm_at_action_fret": 0.1 * nut_action[n],
                "saddle_0_1_mm_at_first_fret": 0.1 * saddle_first[n],
                "saddle_0_1_mm_at_action_fret": 0.1 * saddle_action[n],
                "cents": tuning.cents[n],
                "cents_uncompensated": tuning.cents_uncompensated[n],
                "cents_terms": _terms(tuning.fits[n].cents),
                "cents_terms_uncompensated": _terms(tuning.nominal[n]),
            }
        )
    return rows


def _spread(spread: Spread | None) -> dict[str, Any]:
    """Between what the offsets lie where the core is an estimate; null where it was measured."""
    keys = ("saddle_offset_low", "saddle_offset_high", "nut_offset_low", "nut_offset_high")
    values = (None,) * 4 if spread is None else astuple(spread)
    return dict(zip(keys, values, strict=True))


def _terms(cents: Cents) -> dict[str, Any]:
    """The causes of an error apart; they add up to it."""
    return {
        "length": cents.length,
        "density": cents.density,
        "tension": cents.tension,
        "stiffness": cents.stiffness,
    }


def intonation(i: Instrument) -> dict[str, Any]:
    """What holds for all strings: how the offsets were found, other saddles, and a nut that is too high."""
    tuning, wanted = i.intonation, i.spec.intonation
    straight, room = tuning.straight_saddle, tuning.saddle_range
    return {
        "finger_distance": wanted.finger_distance,
        "finger_depth": wanted.finger_depth,
        "behind": None if wanted.behind is None else {"nut": wanted.behind.nut, "saddle": wanted.behind.saddle},
        "string_ends": wanted.string_ends,
        "fit_to_fret": tuning.fit_to_fret,
        "straight_saddle": {
            "offset_at_treble_string": straight.fits[0].saddle_offset,
            "offset_at_bass_string": straight.fits[-1].saddle_offset,
            "offset_on_centreline": straight.intercept,
            "slope": straight.slope,
            "rms_cents": straight.rms_cents,
            "offsets": [fit.saddle_offset for fit in straight.fits],
        },
        "saddle_range": {
            "nearest": room.nearest,
            "farthest": room.farthest,
            "travel": room.travel,
            "margin": room.margin,
        },
        "nut_too_high": [
            {"extra": extra, "cents_added": tuning.nut_too_high(extra)[:, :HEARD_AT]} for extra in NUT_TOO_HIGH
        ],
    }


def nut(i: Instrument) -> dict[str, Any]:
    cut = i.nut
    return {
        "thickness": cut.thickness,
        "seat_depth": cut.seat_depth,
        "seat_radius": cut.seat_radius,
        "seat_angle_deg": cut.seat_angle_deg,
        "body_forward": cut.body_forward,
        "front_ends": cut.front_ends,
        "back_ends": cut.back_ends,
        "top_radius": cut.top.radius,
        "top_fall_deg": cut.top_fall_deg,
        "top_allowance": cut.top_allowance,
        "filing_allowance": cut.filing_allowance,
        "edge_rounding": cut.rounding,
    }


def wire(i: Instrument) -> dict[str, Any]:
    """What to buy and to bend; the sticks are null where the shop file does not give their length."""
    cuts = i.wire_cuts
    return {
        "total_length": i.frets.wire_cut.sum(),
        "spares": i.shop.spare_frets,
        "bend_share": BEND_SHARE,
        "stick_length": i.shop.wire_stock_length,
        "sticks": cuts.sticks if cuts else None,
        "offcuts": cuts.offcuts if cuts else None,
        "waste": cuts.waste if cuts else None,
    }


def radius_block(i: Instrument) -> dict[str, Any] | None:
    if i.block is None:
        return None
    b = i.block
    return {
        "at": b.at,
        "board_radius": b.board_radius,
        "block_radius": b.radius,
        "profile_depth": b.profile_depth,
        "rides_on": b.rides_on,
        "face": "convex" if b.convex else "flat" if b.flat else "concave",
        "abrasive_thickness": b.abrasive_thickness,
        "ends_from_nut": b.ends_x,
        "mismatch_at_ends": b.mismatch,
        "ribs": None
        if b.ribs is None
        else {"thickness": b.ribs.thickness, "count": b.ribs.count, "stack_length": b.ribs.stack_length},
    }


def radius_facets(i: Instrument) -> list[dict[str, Any]] | None:
    """A cone by hand, one strip a string: pairs are at the nut and at the last fret."""
    if not i.board.law.conical:
        return None
    f = facets(i.plan, i.board)
    return [
        {
            "string": n + 1,
            "drop": f.drop[n],
            "width": f.width[n],
            "tilt_deg": f.tilt_deg[n],
            "ridge": f.ridge[n],
        }
        for n in range(len(f.drop))
    ]


def gauges(i: Instrument) -> dict[str, Any]:
    arc = string_arc(i)
    return {
        "stations": [{"name": s.name, "from_nut": s.x, "radius": s.radius} for s in stations(i)],
        "string_arc": {
            "from_nut": arc.x,
            "of": "tops" if arc.tops else "undersides",
            "radius": arc.radius,
            "farthest_string_off": arc.worst,
        },
    }


def fret_rows(i: Instrument) -> list[dict[str, Any]]:
    """frets.csv: points as two columns each, distances in mm and in inches."""
    rows = []
    for row in frets(i):
        off = row.pop("cents_off_per_string")
        flat = {"fret": row["fret"], "from_nut": row["from_nut"], "from_nut_in": inches(row["from_nut"])}
        flat |= _flat({k: v for k, v in row.items() if k not in flat})
        rows.append(flat | {"cents_off_largest": max(off, key=abs)})
    return rows


def string_rows(i: Instrument) -> list[dict[str, Any]]:
    """strings.csv: as numbers.json without the terms, cents per fret, and the file to use in both units."""
    rows = []
    for row in strings(i):
        row.pop("cents_terms")
        row.pop("cents_terms_uncompensated")
        file = row["file"]
        rows.append(_flat(row) | {"file_in": None if file is None else inches(file)})
    return rows


def wire_rows(i: Instrument) -> list[dict[str, Any]]:
    """wire.csv: every piece in the order it goes in, then the spares, with the stick that it comes from."""
    keys = ("wire_cut", "tang_length", "nip_each_end", "bend_radius")
    cuts = i.wire_cuts
    rows: list[dict[str, Any]] = []
    for n, row in enumerate(frets(i)):
        rows.append({"fret": row["fret"], "stick": cuts.stick[n] if cuts else None} | {key: row[key] for key in keys})
    longest = rows[int(i.frets.wire_cut.argmax())]
    for n in range(i.shop.spare_frets):
        rows.append(longest | {"fret": "spare", "stick": cuts.stick[len(i.frets.numbers) + n] if cuts else None})
    return rows


# ---------------------------------------------------------------------------------------------------------- helpers


def plain(value: Any) -> Any:
    """Arrays and tuples to lists, numbers rounded, what is not finite to None."""
    if isinstance(value, dict):
        return {key: plain(item) for key, item in value.items()}
    if isinstance(value, bool | str) or value is None:
        return value
    if isinstance(value, int):
        return value
    if hasattr(value, "tolist"):
        return plain(value.tolist())
    if isinstance(value, Sequence):
        return [plain(item) for item in value]
    number = float(value)
    return round(number, PLACES) + 0.0 if math.isfinite(number) else None


def _flat(row: dict[str, Any]) -> dict[str, Any]:
    """Points become columns of their own, and so do the frets of a string."""
    flat: dict[str, Any] = {}
    for key, value in plain(row).items():
        if isinstance(value, list):
            axes = range(1, len(value) + 1) if key.startswith("cents") else "xyz"
            flat |= {f"{key}_{axis}": item for axis, item in zip(axes, value, strict=False)}
        else:
            flat[key] = value
    return flat


def csv_text(rows: Iterable[dict[str, Any]]) -> str:
    """Rows as CSV under the keys of the first."""
    listed = [plain(row) for row in rows]
    text = io.StringIO()
    writer = csv.DictWriter(text, list(listed[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(listed)
    return text.getvalue()
