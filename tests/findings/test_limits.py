"""Every limit and every range of practice: what is just inside is not told, what is just outside is.

The values themselves are common practice, no source, or this project's own rule, as their rows say; the ranges by kind
are those of the trade's common practice (from memory of the trade) and are written down here a second time.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, get_args

import numpy as np
import pytest
from calls import BEFORE, CONE, CROWDED, NO_MARKERS, SET
from hypothesis import given, settings
from hypothesis import strategies as st
from making import FAN, instrument, work_of

from templategen.errors import Finding
from templategen.findings.catalogue import Fact
from templategen.findings.limits import limits, practices
from templategen.findings.setup import setup_facts
from templategen.spec.models import Kind

Way = Callable[[float], dict[str, Any]]
POSTS = ((13, 6, -6, -13, -19), -60, -10)
NOTES = ("E4", "B3", "G3", "D3", "A2", "E2", "D2", "C2", "B1", "A1")
HZ = (329.63, 246.94, 196.00, 146.83, 110.00, 82.41, 73.42, 65.41, 61.74, 55.00)


def pulling(newtons: float, count: int) -> dict[str, Any]:
    """So many strings that pull so much together: T = μ·(2·L·f)²."""
    masses = [newtons / count / (2 * 0.640 * f) ** 2 * 1e3 for f in HZ[:count]]
    strings = [{"gauge": 0.9, "note": n, "mass_per_length": m} for n, m in zip(NOTES, masses, strict=False)]
    return {"strings.material": "nylon", "strings.set": strings, "nut.edge_margin": 3}


def posts(first: float) -> dict[str, Any]:
    others, x, z = POSTS
    return {"headstock.posts": [[x, y, z] for y in (first, *others)]}


def in_slots(value: float) -> dict[str, Any]:
    return {"fret_wire.slot_width": value}


SLANTED = {"scale.length": None, "scale.square_fret": 7, "bridge.spacing": "equal_centre", "nut.spacing": "equal_gap"}
FINE = {
    **NO_MARKERS, "scale.fret_count": 36, "scale.steps_per_octave": 36, "fret_wire.crown_width": 1.5,
}  # fmt: skip

# limit: (code, what is changed, a value just inside, a value just outside)
ROWS: dict[str, tuple[str, Way, float, float]] = {
    "outer_string_to_edge": ("string-near-edge", lambda v: {"nut.edge_margin": {"bass": v, "treble": 3.2}}, 2.31, 2.29),
    "strip_web": ("thin-web", lambda v: {**CROWDED, "notched_strip.pin": v}, 8.27, 8.30),
    "saw_off_slot": ("no-saw-for-slot", lambda v: {"shop": {"saw_kerfs": [v]}}, 0.5948, 0.5952),
    "mill_under_slot": (
        "end-mill-narrower-than-slot", lambda v: {"shop": {"end_mills": [{"diameter": v, "shape": "flat"}]}},
        0.5702, 0.5698,
    ),
    "barbs_over_slot": ("slot-too-wide-for-barbs", in_slots, 0.698, 0.702),
    "inner_string_cents": (
        "inner-string-off", lambda v: {**SLANTED, "scale.treble": 620, "scale.bass": 620 + v}, 55.9, 56.3,
    ),
    "nut_slant": (
        "nut-slant", lambda v: {**FAN, "scale.bass": 685, "scale.square_fret": v}, 10.58, 10.62,
    ),
    "string_stress": ("string-stress", lambda v: {"scale.pitch_of_a4": v}, 575, 577),
    "offset_of_core": (
        "core-estimated",
        lambda v: {"strings.set": [*SET[:3], {"gauge": v, "note": "D3", "wound": True}, *SET[4:]]},
        0.656, 0.651,
    ),
    "cone_under_string": (
        "cone-off-string-taper", lambda v: {**CONE, "fingerboard.radius_at_last_fret": v}, 392.5, 393.3,
    ),
    "wood_under_slot": ("little-wood-under-slot", lambda v: {"fingerboard.thickness": v}, 3.97, 3.95),
    "nut_end_wall": ("slot-near-end", lambda v: {"nut.edge_margin": {"bass": 3.4, "treble": v}}, 1.55, 1.52),
    "nut_wall": (
        "thin-wall", lambda v: {"strings.set": SET[:3], "bridge.string_spread": 20, "nut.edge_margin": v}, 20.37, 20.39,
    ),
    "nut_wall_gauges": (
        "thin-wall",
        lambda v: {
            "strings.set": SET[3:], "bridge.string_spread": 20, "fingerboard.radius": "flat", "nut.edge_margin": v
        },
        18.93, 18.96,
    ),
    "slot_depth_gauges": ("slot-too-deep", lambda v: {"nut.min_slot_depth": v}, 0.387, 0.393),
    "back_angle": ("back-angle-small", lambda v: {"nut.slot_back_angle": v}, 3.0, 2.97),
    "side_angle": ("side-angle", posts, 27.9, 28.1),
    "nut_thickness": ("thin-nut", lambda v: {"nut.thickness": v}, 2.0, 1.98),
    "crown_width": ("wide-crown", lambda v: {"fret_wire.crown_width": v}, 4.0, 4.02),
    "plain_steel": (
        "thick-plain-steel", lambda v: {"strings.set": [*SET[:5], {"gauge": v, "note": "E2"}]}, 0.70, 0.71,
    ),
    "string_tension": (
        "high-tension",
        lambda v: {"strings.set": [*SET[:5], {**SET[5], "core_diameter": 0.9, "mass_per_length": v}]}, 22.4, 22.6,
    ),
    "pull_together": ("high-total-tension", lambda v: pulling(v, 6), 995, 1005),
    "pull_of_many": ("high-total-tension", lambda v: pulling(v, 10), 1393, 1407),
    "many_strings": ("high-total-tension", lambda v: pulling(1200, int(v)), 10, 9),
    "thicker_first": (
        "strings-bass-first",
        lambda v: {"strings.set": [{"gauge": v, "note": "D4"}, *SET[1:5], {"gauge": 0.26, "note": "E4"}]}, 0.285, 0.287,
    ),
    "parallel_strings": ("strings-narrow-toward-bridge", lambda v: {"bridge.string_spread": v}, 34.71, 34.68),
    "block_misfit": (
        "block-off-cone",
        lambda v: {
            **CONE, "fingerboard.radius_at_last_fret": 420, "radius_block.at": 7, "radius_block.length": v
        },
        100, 101.5,
    ),
    "seat_lowered": (
        "reradius-nut-seat", lambda v: {"fingerboard.before": {"radius": v}}, 288.8, 288.6,
    ),
    "thickness_differs": (
        "reradius-thickness", lambda v: {"fingerboard.before": BEFORE, "fingerboard.thickness": v}, 5.950, 5.955,
    ),
    "saddle_offset_least": ("unusual-saddle-offset", lambda v: {"intonation.saddle": [v, 2, 2, 2, 2, 2]}, -0.99, -1.01),
    "saddle_offset_most": ("unusual-saddle-offset", lambda v: {"intonation.saddle": [v, 2, 2, 2, 2, 2]}, 7.95, 8.05),
    "nut_offset_least": ("unusual-nut-offset", lambda v: {"nut.compensation": [v, 0, 0, 0, 0, 0]}, -0.49, -0.51),
    "nut_offset_most": ("unusual-nut-offset", lambda v: {"nut.compensation": [v, 0, 0, 0, 0, 0]}, 1.49, 1.51),
    "fitted_cents": ("fit-covers-little", lambda v: {**FINE, "intonation.fit_to_fret": int(v)}, 21, 20),
}  # fmt: skip
TOLD_ONLY = {"barbs_least": "(common practice: barbs 0.15 to", "barbs_most": "to 0.35 mm over the slot)"}


def found(changes: dict[str, Any], code: str) -> list[Finding]:
    shop = changes.pop("shop", {})
    return [finding for finding in work_of(instrument(changes, shop)).findings if finding.code == code]


def test_every_limit_has_its_row_and_its_source() -> None:
    assert set(limits()) == set(ROWS) | set(TOLD_ONLY)
    assert all(row.source for row in [*limits().values(), *practices().values()])
    assert {row.unit for row in limits().values()} <= {
        "mm", "cents", "degrees", "gauges", "N", "strings", "ratio"
    }  # fmt: skip


@pytest.mark.parametrize("name", ROWS)
def test_a_limit_begins_where_it_says(name: str) -> None:
    code, way, inside, outside = ROWS[name]
    levels = ("decide",) if code in ("block-off-cone", "core-estimated") else ("decide", "note")
    assert [each for each in found(way(outside), code) if each.level in levels], "just outside is told"
    assert not [each for each in found(way(inside), code) if each.level in levels]


@pytest.mark.parametrize("name", TOLD_ONLY)
def test_what_is_told_as_usual(name: str) -> None:
    (told,) = found(in_slots(0.74), "slot-too-wide-for-barbs")
    assert TOLD_ONLY[name] in told.message


# ---------------------------------------------------------------------------------------------- by kind of instrument

# common practice, no source; from memory of the trade: bass low, bass high, treble low, treble high, mm
PRACTICE: dict[str, dict[str, tuple[float, float, float, float]]] = {
    "first_fret_clearance": {
        "electric": (0.25, 0.50, 0.15, 0.35), "steel_acoustic": (0.40, 0.65, 0.30, 0.50),
        "classical": (0.70, 1.0, 0.55, 0.80), "bass": (0.45, 0.75, 0.40, 0.60), "ukulele": (0.40, 0.65, 0.40, 0.65),
        "mandolin": (0.25, 0.45, 0.25, 0.45),
    },
    "pressed_gap": {
        "electric": (0.02, 0.13) * 2, "steel_acoustic": (0.05, 0.15) * 2, "classical": (0.10, 0.25) * 2,
        "bass": (0.08, 0.20) * 2, "ukulele": (0.05, 0.13) * 2,
    },
    "action_at_octave": {
        "electric": (1.6, 2.2, 1.2, 1.8), "steel_acoustic": (2.2, 2.8, 1.7, 2.3), "classical": (3.5, 4.2, 2.7, 3.3),
        "bass": (2.0, 3.0, 1.6, 2.4), "ukulele": (2.0, 3.0) * 2, "mandolin": (1.3, 2.0) * 2,
    },
    "relief": {
        "electric": (0.10, 0.30) * 2, "steel_acoustic": (0.10, 0.30) * 2, "bass": (0.20, 0.50) * 2,
        "classical": (0, 0.35) * 2, "mandolin": (0, 0.15) * 2, "ukulele": (0, 0.10) * 2,
    },
}  # fmt: skip
CODES = {
    "first_fret_clearance": "unusual-first-fret-clearance",
    "pressed_gap": "unusual-pressed-gap",
    "action_at_octave": "unusual-action-at-the-octave",
    "relief": "unusual-relief",
}
KINDS = [(what, kind) for what, rows in PRACTICE.items() for kind in rows]
INSIDE, OUTSIDE = 0.003, 0.02  # mm: a feeler tells 0.005


def test_the_rows_are_those_written_down_twice() -> None:
    assert set(practices()) == {(kind, what) for what, kind in KINDS}
    assert {kind for _, kind in KINDS} == set(get_args(Kind))


def at(what: str, kind: str, bass: float, treble: float) -> list[Fact]:
    """What is told of a height, given as the spec gives it."""
    heights: dict[str, Any] = {"bass": bass, "treble": treble}
    changes: dict[str, Any] = {"kind": kind}
    match what:
        case "action_at_octave":
            changes["setup.action"] = {"fret": 12, **heights}
        case "relief":
            changes["setup.relief"] = bass
        case _:
            changes |= {"setup.first_fret_clearance": None, f"setup.{what}": heights}
    return [fact for fact in setup_facts(instrument(changes)) if fact.code == CODES[what]]


@pytest.mark.parametrize(("what", "kind"), KINDS, ids=[f"{kind}-{what}" for what, kind in KINDS])
def test_a_range_begins_and_ends_where_it_says(what: str, kind: str) -> None:
    bass_low, bass_high, treble_low, treble_high = PRACTICE[what][kind]
    bass, treble = (bass_low + bass_high) / 2, (treble_low + treble_high) / 2
    assert not at(what, kind, bass_low - INSIDE, treble_low - INSIDE)
    assert not at(what, kind, bass_high + INSIDE, treble_high + INSIDE)
    for b, t, string in (
        (bass_low - OUTSIDE, treble, 6), (bass_high + OUTSIDE, treble, 6),
        (bass, treble_low - OUTSIDE, 1), (bass, treble_high + OUTSIDE, 1),
    ):  # fmt: skip
        if what == "relief":
            b = b if string == 6 else t
        (told,) = at(what, kind, b, t)
        if what != "relief":
            assert string in [case["string"].number for case in told.values["strings"]]


@given(data=st.data())
@settings(deadline=None, max_examples=40)
def test_the_ranges_do_not_contradict_each_other(data: st.DataObject) -> None:
    """Clearance, action and relief inside their ranges: nothing is told of a pressed gap that follows from them, but
    for strings that rest on the first crown."""
    kind = data.draw(st.sampled_from(sorted(get_args(Kind))))

    def inside(what: str) -> dict[str, float]:
        bass_low, bass_high, treble_low, treble_high = PRACTICE[what][kind]
        return {
            "bass": data.draw(st.floats(bass_low, bass_high)), "treble": data.draw(st.floats(treble_low, treble_high))
        }  # fmt: skip

    made = instrument({
        "kind": kind, "setup.first_fret_clearance": inside("first_fret_clearance"),
        "setup.action": {"fret": 12, **inside("action_at_octave")}, "setup.relief": inside("relief")["bass"],
    })  # fmt: skip
    told = {fact.code for fact in setup_facts(made)}
    assert told <= ({"negative-pressed-gap"} if np.any(made.line.pressed_gap < 0) else set())
