"""A spec begun from a survey: the values found, rounded to what their ± warrants; common practice for the targets.

What was not measured stands in it too where a spec cannot do without, and says so on its line.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from templategen.findings.limits import practice
from templategen.instrument.board.scale import cents_of
from templategen.repair.survey.board import RoundFound
from templategen.repair.survey.found import AsFound
from templategen.repair.survey.tools import Reading
from templategen.spec.models import StringSpec
from templategen.units import mm_text

NOT_MEASURED = "# not measured"
FINE = 0.05  # mm: a value known better than this is written to the hundredth

Set = Sequence[tuple[float, str, float | None]]
"""Gauge, note, and the core's diameter of a wound string; mm, treble side first (common practice, no source)."""
SETS: dict[str, Set] = {
    "electric": ((0.25, "E4", None), (0.33, "B3", None), (0.45, "G3", None), (0.68, "D3", 0.36), (0.92, "A2", 0.40),
                 (1.17, "E2", 0.43), (1.50, "B1", 0.48)),
    "steel_acoustic": ((0.30, "E4", None), (0.41, "B3", None), (0.61, "G3", 0.36), (0.81, "D3", 0.38),
                       (1.07, "A2", 0.41), (1.35, "E2", 0.46)),
    "classical": ((0.72, "E4", None), (0.83, "B3", None), (1.04, "G3", None), (0.76, "D3", 0.45), (0.91, "A2", 0.5),
                  (1.12, "E2", 0.55)),
    "bass": ((1.14, "G2", 0.45), (1.65, "D2", 0.5), (2.16, "A1", 0.6), (2.67, "E1", 0.7), (3.30, "B0", 0.8)),
    "ukulele": ((0.55, "A4", None), (0.71, "E4", None), (0.86, "C4", None), (0.61, "G4", None)),
    "mandolin": ((0.28, "E5", None), (0.28, "E5", None), (0.38, "A4", None), (0.38, "A4", None), (0.61, "D4", 0.36),
                 (0.61, "D4", 0.36), (0.97, "G3", 0.42), (0.97, "G3", 0.42)),
}  # fmt: skip
NYLON = ("classical", "ukulele")
SPREADS = {"electric": 52.0, "steel_acoustic": 54.0, "classical": 58.0, "bass": 57.0, "ukulele": 41.0, "mandolin": 40.0}
WIDTHS = {"electric": (43.0, 55.5), "steel_acoustic": (44.0, 56.0), "classical": (52.0, 62.0), "bass": (42.0, 62.0),
          "ukulele": (36.0, 45.0), "mandolin": (29.0, 40.0)}  # fmt: skip


def draft(found: AsFound, survey: str) -> str:
    """The spec as text, in mm; it loads as it is. survey: path of the survey from where the spec will lie."""
    return "\n".join([*_head(found, survey), *_scale(found), *_board(found), *_wire(found), *_strings(found),
                      *_ends(found), *_setup(found), ""])  # fmt: skip


def _head(found: AsFound, survey: str) -> Iterator[str]:
    s = found.survey
    yield "# Begun from a survey. Look at every line marked `not measured` before anything is cut."
    yield f"title = {_text(s.title or 'as found')}"
    yield 'units = "mm"'
    if s.handedness != "right":
        yield f'handedness = "{s.handedness}"'
    yield f'kind = "{_kind(found)}"' + ("" if s.kind else f"  {NOT_MEASURED}")
    yield f"survey = {_text(survey)}"


def _text(value: str) -> str:
    return json.dumps(value, ensure_ascii=False)


def _kind(found: AsFound) -> str:
    return found.survey.kind or "electric"


def _value(key: str, reading: Reading | None, default: float | None = None, note: str = "") -> str:
    """One line: the value to what its ± warrants, or the default and that it is one."""
    if reading is None:
        assert default is not None
        return f"{key} = {mm_text(default)}  {NOT_MEASURED}"
    return f"{key} = {_rounded(reading)}  # ± {mm_text(reading.pm)}{note}"


def _rounded(reading: Reading) -> str:
    return mm_text(reading.value, 2 if reading.pm < FINE else 1)


def _scale(found: AsFound) -> Iterator[str]:
    law = found.survey.scale
    yield "\n[scale]"
    frets = found.frets
    if frets is None:
        yield f"length = 640  {NOT_MEASURED}"
    for line in frets.lines if frets is not None else ():
        shift = ""
        if line.shift is not None:
            way = "behind" if line.shift.value > 0 else "before"
            shift = f"; nut's front edge {mm_text(abs(line.shift.value))} ± {mm_text(line.shift.pm)} {way} its place"
        yield _value("length" if line.line == "centre" else line.line, line.scale, note=shift)
    if frets is not None and frets.multi_scale:
        square = frets.square_fret
        if square is not None:
            at = min(max(square.value, 0.0), float(law.fret_count))
            yield f"square_fret = {at:.1f}  # ± {square.pm:.1f}"
        else:
            yield f"square_fret = 7  {NOT_MEASURED}"
    yield f"fret_count = {law.fret_count}"
    if law.fret_cents is not None:
        yield f"fret_cents = [{', '.join(f'{c:g}' for c in law.fret_cents)}]"
        if law.repeat_at is not None:
            yield f"repeat_at = {law.repeat_at:g}"
    elif law.steps_per_octave != 12:
        yield f"steps_per_octave = {law.steps_per_octave}"
    if law.zero_fret:
        yield "zero_fret = true"


def _board(found: AsFound) -> Iterator[str]:
    last, board = found.survey.scale.fret_count, found.board
    widths = board.width if board is not None else {}
    at_nut, at_last = WIDTHS[_kind(found)]
    yield "\n[fingerboard]"
    yield _value("width_at_nut", widths.get(0), at_nut)
    elsewhere = [fret for fret in widths if fret not in (0, last)]
    if last not in widths and elsewhere:
        fret = max(elsewhere)
        yield f"width_at = {{ fret = {fret}, width = {_rounded(widths[fret])} }}  # ± {mm_text(widths[fret].pm)}"
    else:
        yield _value("width_at_last_fret", widths.get(last), at_last)
    thickness = board.thickness.get(0) if board is not None else None
    yield _value("thickness_at_edge", thickness, 5.0)
    yield from _radius(board.round if board is not None else None)


def _radius(found: RoundFound | None) -> Iterator[str]:
    if found is None:
        yield f"radius = 300  {NOT_MEASURED}"
    elif found.shape == "cone" and found.at_nut is not None and found.at_last is not None:
        for key, end in (("radius_at_nut", found.at_nut), ("radius_at_last_fret", found.at_last)):
            yield f"{key} = {end.radius:.0f}  # from {_far(end.low)} to {_far(end.high)}"
    elif math.isinf(found.all.radius):
        yield 'radius = "flat"'
    else:
        shape = "" if found.shape == "cylinder" else "; a cone is not ruled out"
        yield f"radius = {found.all.radius:.0f}  # from {_far(found.all.low)} to {_far(found.all.high)}{shape}"


def _far(radius: float) -> str:
    return "flat" if math.isinf(radius) else f"{radius:.0f}"


def _wire(found: AsFound) -> Iterator[str]:
    crowns = found.crowns
    yield f"\n[fret_wire]  {NOT_MEASURED} but for what stands here"
    if crowns is not None and np.isfinite(crowns.width).any():
        yield f"crown_width = {np.nanmedian(crowns.width):.2f}  # median of what was read"
    if crowns is not None and np.isfinite(crowns.height).any():
        yield f"crown_height = {np.nanmax(crowns.height):.2f}  # highest that was read"


# ----------------------------------------------------------------------------------------------------------- strings


def _set(found: AsFound) -> tuple[list[dict[str, Any]], bool]:
    """The set, and whether the survey gave it."""
    strings = found.survey.strings
    if strings is not None and strings.set is not None:
        return [_given(each) for each in strings.set], True
    usual = SETS[_kind(found)]
    count = (found.strings.count if found.strings is not None else 0) or min(
        len(usual), 6 if usual[0][1] == "E4" else 8
    )
    if _kind(found) == "bass" and not (found.strings is not None and found.strings.count):
        count = 4
    chosen = [usual[min(n, len(usual) - 1)] for n in range(max(count, 3))]
    return [
        {"gauge": gauge, "note": note} | ({} if core is None else {"wound": True, "core_diameter": core})
        for gauge, note, core in chosen
    ], False


def _given(string: StringSpec) -> dict[str, Any]:
    values = {name: getattr(string, name) for name in StringSpec.model_fields if name in string.model_fields_set}
    return values | {"note": string.note.hz if string.note.hz is not None else string.note.text}


def _inline(values: dict[str, Any]) -> str:
    def plain(value: Any) -> str:
        if isinstance(value, bool):
            return "true" if value else "false"
        return f"{round(value, 4):g}" if isinstance(value, float | int) else _text(str(value))

    return "{ " + ", ".join(f"{key} = {plain(value)}" for key, value in values.items()) + " }"


def _strings(found: AsFound) -> Iterator[str]:
    chosen, given = _set(found)
    read = found.survey.strings
    yield "\n[strings]" + ("" if given else f"  {NOT_MEASURED}")
    yield "set = ["
    yield from (f"  {_inline(each)}," for each in chosen)
    yield "]"
    if given and read is not None:
        yield f'material = "{read.material}"'
        if any(each.get("wound") for each in chosen):
            yield f'wrap = "{read.wrap}"'
        if read.courses:
            yield f"courses = {[list(course) for course in read.courses]}"
    elif _kind(found) in NYLON:
        yield 'material = "nylon"'


def _ends(found: AsFound) -> Iterator[str]:
    bridge, strings = found.survey.bridge, found.strings
    yield "\n[bridge]"
    spread = bridge.string_spread if bridge is not None else None
    yield _value("string_spread", None if spread is None else Reading(spread, 0.02), SPREADS[_kind(found)])
    yield "\n[nut]"
    thickness = found.survey.strings.nut_thickness if found.survey.strings is not None else None
    yield _value("thickness", None if thickness is None else Reading(thickness, 0.02), 3.4)
    yield f"seat_depth = 2.00  {NOT_MEASURED}"
    width = found.board.width.get(0) if found.board is not None else None
    outer = (strings.at_nut[0], strings.at_nut[-1]) if strings is not None and strings.at_nut else (None, None)
    if width is None or outer[0] is None or outer[1] is None:
        yield f"edge_margin = 3.3  {NOT_MEASURED}"
        return
    chosen, _ = _set(found)
    treble = width.value - outer[0].value - chosen[0]["gauge"] / 2
    bass = outer[1].value - chosen[-1]["gauge"] / 2
    yield f"edge_margin = {{ bass = {bass:.2f}, treble = {treble:.2f} }}  # ± {mm_text(outer[0].pm)}"


def _setup(found: AsFound) -> Iterator[str]:
    kind = _kind(found)
    yield "\n[setup]  # targets: common practice for the kind, none of them measured"

    def middle(what: str) -> tuple[float, float]:
        usual = practice(kind, what)
        assert usual is not None
        return (usual.bass_low + usual.bass_high) / 2, (usual.treble_low + usual.treble_high) / 2

    bass, treble = middle("first_fret_clearance")
    if not found.survey.scale.zero_fret:
        yield f"first_fret_clearance = {{ bass = {bass:.2f}, treble = {treble:.2f} }}"
    bass, treble = middle("action_at_octave")
    yield f"action = {{ fret = {_octave(found)}, bass = {bass:.2f}, treble = {treble:.2f} }}"
    yield f"relief = {middle('relief')[0]:.2f}"


def _octave(found: AsFound) -> int:
    """The fret at the octave; the last one of a shorter board."""
    law = found.survey.scale
    cents = cents_of(law, np.arange(1.0, law.fret_count + 1))
    return max(int(np.abs(cents - 1200).argmin()) + 1, 2)
