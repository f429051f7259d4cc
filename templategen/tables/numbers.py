"""numbers.json: everything computed, from the same facts as the tables.

All lengths in mm and plan-frame y where no suffix says otherwise.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from templategen.errors import Finding
from templategen.instrument.board.wire import BEND_SHARE
from templategen.instrument.model import Instrument
from templategen.instrument.strings.sounding import HEARD_AT, NUT_TOO_HIGH
from templategen.repair.model import Bench
from templategen.tables import asfound, clearance, frets, levelling, radius, reradius, saddle, strings


def numbers(bench: Bench, findings: Sequence[Finding]) -> dict[str, Any]:
    """What is infinite or unknown is written as null."""
    i = bench.instrument
    return {
        "title": i.spec.title,
        "digest": i.digest,
        "units": "mm",
        "handedness": i.spec.handedness,
        "frets": frets.facts(i),
        "strings": strings.records(i),
        "nut": nut(i),
        "saddle": saddle.numbers(i),
        "setup": {
            "relief": i.strung.relief,
            "action_fret": i.spec.setup.action.fret,
            "capo": i.spec.setup.action.capo,
            "total_load_n": i.total_load_n,
            "string_spread": i.plan.string_spread,
            "spread_at_saddle": i.saddle.spread,
        },
        "board": {
            "radius_at_nut": i.board.law.at_nut,
            "radius_at_last_fret": i.board.radius(i.plan.centre_x[-1]),
            "thickness_at_centreline": i.board.thickness,
            "width_at_nut": i.plan.taper.at_nut,
            "width_along_nut": i.plan.width_along_nut,
            "width_at_last_fret": i.frets.width[-1],
            "outline": i.plan.outline,
            "nut_slant_deg": i.plan.nut_slant_deg,
        },
        "intonation": intonation(i),
        "wire": wire(i),
        "radius_block": radius.numbers(i.block),
        "facets": radius.facet_numbers(i),
        "gauges": radius.gauge_numbers(i),
        "clearance": clearance.notes(i.clearance),
        "best_setup": clearance.numbers(i.best_setup),
        "clearance_found": None if bench.remedy is None else clearance.notes(bench.remedy.clearance),
        "changes": levelling.changes(bench.remedy),
        "levelling": levelling.numbers(bench.remedy),
        "reradius": reradius.numbers(bench.reradius),
        "as_found": asfound.numbers(bench.found),
        "as_left": asfound.numbers(bench.left),
        "findings": [
            {"code": f.code, "level": f.level, "key": f.key, "message": f.message, "harm": f.harm, "past": f.past}
            for f in findings
        ],
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
        "stock": {"sides": cut.stock_sides, "ends": cut.stock_ends, "form": cut.stock_form},
        "blank": {
            "form": cut.blank.form,
            "low": cut.blank.low,
            "high": cut.blank.high,
            "size": cut.blank.size,
            "top_radius": cut.blank.top.radius,
        },
    }


def wire(i: Instrument) -> dict[str, Any]:
    """What to buy and to bend; the sticks are null where the shop file does not give their length."""
    cuts = i.wire_cuts
    return {
        "total_length": i.frets.wire_cut.sum(),
        "spares": i.shop.spare_frets,
        "bend_share": BEND_SHARE,
        "stick_length": i.shop.wire_stock_length,
        "nipper_loss": i.shop.nipper_loss,
        "sticks": cuts.sticks if cuts else None,
        "offcuts": cuts.offcuts if cuts else None,
        "waste": cuts.waste if cuts else None,
    }
