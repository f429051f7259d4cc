"""What calls up each finding: changes to the plain board of ``making``, and to its shop, by code.

Several calls where a finding has several words: together they make it say all of them.
"""

from __future__ import annotations

import tomllib
from typing import Any

from making import FAN, SPEC

from templategen.spec.models.wire import SIZES

Call = tuple[dict[str, Any], dict[str, Any]]
SET = tomllib.loads(SPEC)["strings"]["set"]
NO_CORES = [{key: value for key, value in string.items() if key != "core_diameter"} for string in SET]
CONE = {"fingerboard.radius": None, "fingerboard.radius_at_nut": 254, "fingerboard.radius_at_last_fret": 300}
CROWDED = {"scale.fret_count": 24, "fret_wire.crown_width": 2.0}
BEFORE = {"chord": 42.0, "height": 1.2, "thickness_at_edge": 5.4}
SANDED = {"fingerboard.before": BEFORE, "fingerboard.thickness": None, "fret_wire.depth_below_tang": 0.3}
FINE = {"scale.fret_count": 24, "scale.steps_per_octave": 24, "intonation.fit_to_fret": 12}
NO_WIRE = {f"fret_wire.{size}": None for size in SIZES}
NO_MARKERS = {"fret_wire.markers": [], "fret_wire.doubled_markers": []}


SADDLE: dict[str, Any] = {
    "bridge.top_height": -0.5, "saddle.thickness": 3.0, "saddle.edge_margin": 8.0, "saddle.seat_depth": 5.0,
}  # fmt: skip

AT_FIRST, AT_TWELVE = [0.30, 0.33, 0.36, 0.39, 0.42, 0.45], [1.6, 1.7, 1.8, 1.8, 1.9, 2.0]
HIGH: dict[str, Any] = {
    "crowns": {"lines": [1, 6], "under_straightedge": {str(n): [0.0 if n == 8 else 0.12] * 2 for n in range(1, 22)}}
}

WORN = {str(n): [0.5] for n in range(1, 22)}


def only(changes: dict[str, Any], shop: dict[str, Any] | None = None) -> list[Call]:
    return [(changes, shop or {})]


def tool(form: str, diameter: float, number: int = 1, flute: float = 10, **more: float) -> dict[str, Any]:
    """A tool of a mill."""
    rates = {"feed": 200, "plunge": 60, "speed": 18000, "step_down": 0.3}
    return {"number": number, "form": form, "diameter": diameter, "flute": flute, **rates, **more}


CALLS: dict[str, list[Call]] = {
    "saddle-offsets-not-held": [
        ({**SADDLE, "saddle.thickness": 1.2}, {}),
        ({**SADDLE, "saddle.thickness": 9.0, "intonation.saddle": [1.0, 6.5, 1.0, 6.5, 1.0, 6.5],
          "bridge.string_spread": 38}, {}),
    ],
    "saddle-shows": [({**SADDLE, "bridge.top_height": 1.2}, {}), ({**SADDLE, "bridge.top_height": -3.5}, {})],
    "saddle-seat-shallow": only({**SADDLE, "saddle.seat_depth": 1.5}),
    "key-changes-nothing": only({"nut.compensation_by": "board"}),
    "inner-string-off": only({
        "scale.bass": 720, "scale.treble": 620, "scale.length": None, "scale.square_fret": 7,
        "bridge.spacing": "equal_centre", "nut.spacing": "equal_gap",
    }),
    "nut-slant": only({**FAN, "scale.bass": 685, "scale.square_fret": 14}),
    "last-fret-beyond-end": [
        ({"fingerboard.beyond_last_fret": -2}, {}), ({"fingerboard.beyond_last_fret": 0.2}, {}),
    ],
    "string-near-edge": [
        ({"nut.edge_margin": {"bass": 2.0, "treble": 3.2}}, {}), ({"bridge.string_spread": 56.5}, {}),
    ],
    "frets-closer-than-crown": only({"scale.fret_count": 144, "scale.steps_per_octave": 72}),
    "little-wood-under-slot": only({"fingerboard.thickness": 3.8}),
    "radius-shrinks": only({**CONE, "fingerboard.radius_at_nut": 400}),
    "cone-off-string-taper": only({**CONE, "fingerboard.radius_at_last_fret": 420}),
    "slot-narrower-than-tang": only({"fret_wire.slot_width": 0.48}),
    "slot-too-wide-for-barbs": only({"fret_wire.slot_width": 0.74}),
    "wire-longer-than-stick": only({}, {"wire_stock_length": 58}),
    "no-saw-for-slot": only({}, {"saw_kerfs": [0.5, 0.64]}),
    "beam-wider-than-slot": only({}, {"beam_kerf": 0.65}),
    "no-end-mill-for-slot": only({}, {"end_mills": [{"diameter": 3.0, "shape": "flat"}]}),
    "mill-lacks-tool": [
        ({}, {"mill": {"safe_z": 5, "tools": [tool("flat", 2.0)]}}),
        ({"nut.slot_form": "full"}, {"mill": {"safe_z": 5, "tools": [tool("flat", 0.58, flute=4)]}}),
    ],
    "end-mill-narrower-than-slot": only({}, {"end_mills": [{"diameter": 0.52, "shape": "flat"}]}),
    "wire-unmeasured": [
        ({**NO_WIRE, "radius_block.rides_on": "crowns"}, {}),
        ({"fret_wire.tang_depth": None, "fret_wire.slot_width": None}, {}),
    ],
    "reradius-hollows": only(SANDED),
    "partial-courses": [
        ({"strings.courses": [[1, 2]]}, {}), ({"strings.courses": [[1, 2], [3, 4], [5]]}, {}),
    ],
    "block-narrower-than-board": only({"radius_block.width": 54}),
    "flute-too-short": only({}, {"end_mills": [
        {"diameter": 0.58, "shape": "flat", "flute": 1.5}, {"diameter": 1.0, "shape": "ball", "flute": 0.8},
    ]}),
    "pilots-lost-if-dressed": only({}),
    "thin-web": [
        ({**CROWDED, "notched_strip.pin": 8.5}, {}), ({**CROWDED, "notched_strip.pin": 10}, {}),
        ({"scale.zero_fret": True, "setup.first_fret_clearance": None, "nut.behind_zero_fret": 3}, {}),
    ],
    "strip-beyond-sheet": [
        ({"scale.length": 800, "scale.fret_count": 24}, {"sheet": {"width": 600, "height": 400}}),
        ({**FAN, "scale.bass": 800, "scale.treble": 780, "notched_strip.pin": 2},
         {"sheet": {"width": 600, "height": 400}}),
    ],
    "share-in-slot": only({"setup.first_fret_clearance": [0.3, 0.9, 0.3, 0.3, 0.3, 0.3]}),
    "string-above-nut": only({"setup.first_fret_clearance": [0.3, 1.9, 0.3, 0.3, 0.3, 0.3], "nut.top_allowance": 3}),
    "strings-overlap-at-saddle": only({"bridge.string_spread": 5.0}),
    "slot-too-deep": only({"nut.min_slot_depth": 0.5}),
    "thin-wall": only({"nut.edge_margin": 17.0}),
    "slot-near-end": only({"nut.edge_margin": {"bass": 3.4, "treble": 1.4}}),
    "floor-low-at-back": only({"nut.seat_depth": 1.0, "nut.slot_back_angle": 14}),
    "thin-shelf": only({"nut.compensation": 0.5, "setup.first_fret_clearance": -0.1}),
    "posts-above-nut": only({
        "headstock.posts": [[-60 - 25 * abs(y) / 10, y, 10] for y in (19, 12, 5, -5, -12, -19)]
    }),
    "back-angle-over-break": only({"headstock.break_angle": 6, "nut.slot_back_angle": 9}),
    "back-angle-small": only({"headstock.break_angle": 4}),
    "side-angle": only({"headstock.posts": [[-60, y, -10] for y in (40, 32, 22, -22, -32, -40)]}),
    "curved-seat": only({"nut.seat_radius": 250}),
    "slanted-seat": only({"nut.seat_angle": -4}),
    "seat-above-edge": only({"nut.seat_depth": 0.5}),
    "less-rounding": [({"nut.edge_rounding": 1.9}, {}), ({"nut.edge_rounding": 0.01}, {})],
    "no-nut-file": [({}, {"nut_file_widths": [0.25, 0.36]}), ({}, {"nut_file_widths": [0.35]})],
    "nut-file-tight": only({}, {"nut_file_widths": [0.265, 0.7]}),
    "nut-file-wide": only({}, {"nut_file_widths": [0.32]}),
    "no-ball-cutter": only({"nut.slot_form": "full"}),
    "pilot-slots": [({}, {}), ({}, {"end_mills": []})],
    "milled-slots": only({}, {"end_mills": [{"diameter": 0.3, "shape": "ball"}]}),
    "zero-fret-sets-height": only({"scale.zero_fret": True}),
    "strings-touch-crowns": only({"setup.action": {"fret": 12, "bass": 0.03, "treble": 0.03}}),
    "fretted-strings-touch": only({"setup.action": {"fret": 12, "bass": 0.4, "treble": 0.03}}),
    "first-to-buzz": [({}, {}), ({"setup.relief": 0.6}, {})],
    "found-first-to-buzz": [
        ({"survey": HIGH}, {}), ({"survey": {"relief": {"held": [1, 21], "gap": {"10": 0.0}}}}, {}),
        ({"survey": {"strings": {"first_fret": AT_FIRST, "action": {"fret": 12, "heights": [0.8] * 6}}}}, {}),
        ({"survey": {"strings": {"first_fret": [1.2] * 6, "action": {"fret": 12, "heights": AT_TWELVE}}}}, {}),
        ({"survey": {"relief": {"held": [1, 21], "gap": {"10": 0.26}}}}, {}),
        ({"survey": {"strings": {"first_fret": AT_FIRST, "action": {"fret": 12, "heights": [0.1] * 6}}}}, {}),
    ],
    "crowns-not-measured": [
        ({"work": ["level"]}, {}), ({"survey": {"relief": {"held": [1, 21], "gap": {"10": 0.0}}}}, {}),
    ],
    "crowns-to-level": [({"survey": HIGH}, {}), ({"survey": HIGH, "work": ["level"]}, {})],
    "board-to-refret": only({"survey": {"crowns": {**HIGH["crowns"], "height": WORN}}}),
    "end-too-low": only({
        "survey": {"strings": {"first_fret": [0.05] * 6, "action": {"fret": 12, "heights": [0.8] * 6}}}
    }),
    "neck-angle": [
        ({"survey": {"strings": {"first_fret": AT_FIRST, "action": {"fret": 12, "heights": [high] * 6}},
                     "bridge": {"saddle_showing": [3.0, 3.0], "body_joint": 14}}}, {})
        for high in (3.5, 0.3)
    ],
    "plucked-where": only({"playing.headroom": 0.3}),
    "less-headroom-than-asked": [
        ({"playing.headroom": 1.2}, {}), ({"playing.headroom": 1.2, "setup.relief": 0.6}, {}),
        ({"playing.headroom": 1.2, "setup.action": {"fret": 12, "bass": 0.4, "treble": 0.03}}, {}),
    ],
    "negative-pressed-gap": [
        ({"setup.first_fret_clearance": 0.05}, {}), ({"setup.first_fret_clearance": -0.05}, {}),
        ({"scale.zero_fret": {"crown_height": 0.9}, "setup.first_fret_clearance": None}, {}),
    ],
    "unusual-first-fret-clearance": only({"kind": "classical"}),
    "unusual-action-at-the-octave": only({"kind": "classical"}),
    "unusual-pressed-gap": only({
        "kind": "bass", "setup.first_fret_clearance": None, "setup.pressed_gap": 0.05,
    }),
    "unusual-relief": only({"kind": "mandolin"}),
    "strings-bass-first": only({"strings.set": SET[::-1]}),
    "strings-narrow-toward-bridge": only({"bridge.string_spread": 30}),
    "board-narrows": only({"fingerboard.width_at_last_fret": 42.8}),
    "groove-through-board": only({"nut.seat_depth": 6.2}),
    "thin-nut": only({"nut.thickness": 1.9}),
    "wide-crown": only({"fret_wire.crown_width": 4.1}),
    "marker-too-large": only({"fret_wire.marker_diameter": 11.5}),
    "high-tension": only({
        "strings.set": [*SET[:5], {"gauge": 1.8, "note": "A2", "wound": True, "core_diameter": 0.8}]
    }),
    "high-total-tension": only({
        "strings.set": [{k: v if isinstance(v, (str, bool)) else 1.7 * v for k, v in s.items()} for s in SET]
    }),
    "thick-plain-steel": only({"strings.set": [*SET[:5], {"gauge": 1.15, "note": "E2"}]}),
    "block-needs-station": only(CONE),
    "block-off-cone": [
        ({**CONE, "radius_block.at": 7, "radius_block.length": 120}, {}),
        ({**CONE, "radius_block.at": "nut", "radius_block.face": "convex"}, {}),
        ({**CONE, "radius_block.at": "last", "fingerboard.radius_at_last_fret": 254.02}, {}),
    ],
    "rib-beyond-sheet": only({"radius_block.rib_thickness": 6}, {"sheet": {"width": 60, "height": 60}}),
    "gauge-beyond-sheet": only({}, {"sheet": {"width": 300, "height": 200}}),
    "strings-arc-too-round": only({"setup.action": {"fret": 2, "strings": [0.6, 1.2, 3, 3, 1.2, 0.6]}}),
    "strings-in-line": [
        ({"fingerboard.radius": "flat", "radius_gauge.string_arc_at": 600}, {}),
        ({"fingerboard.radius": "flat", "setup.action": {"fret": 12, "strings": [1.6, 1.7, 1.8, 1.9, 2.0, 2.0]}}, {}),
    ],
    "reradius-measured": only(SANDED),
    "reradius-removal": only(SANDED),
    "reradius-thin-board": [
        ({**SANDED, "fingerboard.before": {**BEFORE, "thickness_at_edge": 3.4}}, {}),
        ({"fingerboard.before": {"radius": 184}, "fingerboard.thickness": 3.9}, {}),
    ],
    "reradius-recut-slots": [
        (SANDED, {}), ({**SANDED, "fingerboard.before": {**BEFORE, "slot_depth": 1.9}}, {}),
        ({**SANDED, "fret_wire.slot_floor": "flat"}, {}),
    ],
    "reradius-nut-seat": [(SANDED, {}), ({**SANDED, "nut.seat": "shelf", "nut.seat_depth": 4}, {})],
    "reradius-action": [
        (SANDED, {}), ({**SANDED, "fingerboard.before": {**BEFORE, "crown_height": 0.9, "wear_depth": 0}}, {}),
    ],
    "reradius-thickness": [
        ({"fingerboard.before": {"radius": 184}}, {}), ({"fingerboard.before": BEFORE}, {}),
        ({"fingerboard.before": BEFORE, "fingerboard.thickness": None, "fingerboard.thickness_at_edge": 5.2}, {}),
    ],
    "string-stress": [
        ({"strings.set": [{"gauge": 0.26, "note": "A4"}, *SET[1:]]}, {}),
        ({"strings.set": [{"gauge": 0.26, "note": "A#4"}, *SET[1:]]}, {}),
        ({"strings.set": [*SET[:4], {**SET[4], "note": "B2", "core_diameter": 0.24}, SET[5]]}, {}),
        ({"strings.set": [*SET[:5], {"gauge": 1.15, "note": "E5", "wound": True}]}, {}),
        ({"strings.set": [*SET[:5], {"gauge": 0.9, "note": "B3", "wound": True}]}, {}),
        ({"strings.set": [*SET[:5], {"gauge": 0.9, "note": "G3", "wound": True}]}, {}),
    ],
    "core-estimated": [
        ({"strings.set": NO_CORES}, {}), ({"strings.set": NO_CORES, "intonation.saddle": "none"}, {}),
        ({"strings.set": NO_CORES, "strings.material": "nylon"}, {}),
    ],
    "rest-left-out": only({"kind": "mandolin"}),
    "stretch-estimated": [
        ({"strings.material": "nylon"}, {}), ({"strings.material": "nylon", "intonation.saddle": "none"}, {}),
        ({"strings.set": NO_CORES, "strings.material": "nylon"}, {}),
    ],
    "offset-at-limit": only({
        "strings.set": [{"gauge": 1.2, "note": "E2", "mass_per_length": 2.5}] * 6,
        "setup.action": {"fret": 12, "bass": 9.0, "treble": 9.0},
    }),
    "unusual-saddle-offset": [
        ({"intonation.saddle": [2, 2, 2, 2, 2, 9]}, {}), ({"intonation.saddle": [9, 2, 2, 2, 2, 2]}, {}),
    ],
    "unusual-nut-offset": [
        ({"nut.compensation": [2, 0, 0, 0, 0, 0]}, {}), ({"nut.compensation": [0, 0, 0, 0, 0, 2]}, {}),
    ],
    "fit-shortened": only({
        **NO_MARKERS, "scale.fret_count": 9, "setup.action": {"fret": 9, "bass": 2, "treble": 2}
    }),
    "fit-covers-little": only({**NO_MARKERS, **FINE}),
    "work-not-said": [({"survey": {"relief": {"held": [1, 21], "gap": {"8": 0.3}}}}, {}), ({"survey": HIGH}, {})],
    "left-beyond-tolerance": only({"as_left": {"strings.action": {"fret": 12, "heights": [2.9] * 6}}}),
    "left-off-in-cents": only({"as_left": {"strings.cents": {"12": [9] * 6}}}),
}  # fmt: skip
