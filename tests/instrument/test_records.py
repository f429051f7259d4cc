"""Records of frets and strings say what the arrays say, name by name, in plain numbers."""

from __future__ import annotations

import math
from dataclasses import fields
from typing import Any

import numpy as np
import pytest
from making import FAN, instrument

from templategen.instrument.board.frets import Fret
from templategen.instrument.model import Instrument
from templategen.instrument.nut.nut import NutSlot

LEFT_FAN = {**FAN, "handedness": "left", "headstock": {"break_angle": 12}}
SPECS: tuple[dict[str, Any], ...] = (
    {},
    LEFT_FAN,
    {"scale.fret_count": 5, "fret_wire.markers": [], "fret_wire.doubled_markers": []},
)


@pytest.fixture(params=SPECS, ids=("plain", "left fan", "no octave"), scope="module")
def made(request: pytest.FixtureRequest) -> Instrument:
    return instrument(request.param)


def is_plain(value: object) -> bool:
    if isinstance(value, tuple):
        return all(is_plain(one) for one in value)
    return value is None or type(value) in (int, float, bool, str) or type(value).__module__.startswith("templategen")


def same(record: float | None, array: float) -> bool:
    return math.isnan(array) if record is None else record == array


def test_frets(made: Instrument) -> None:
    assert len(made.frets) == len(made.plan.numbers)
    in_plan = {"bass_end": "bass_ends", "treble_end": "treble_ends", "string_cents": "crossing_cents"}
    in_plan |= {f"slot_{end}": f"slot_{ends}" for end, ends in list(in_plan.items())[:2]}
    for n, fret in enumerate(made.frets):
        assert fret.number == made.frets.numbers[n]
        for name in (field.name for field in fields(Fret)):
            assert is_plain(getattr(fret, name)), name
            if name in in_plan:
                assert getattr(fret, name) == tuple(getattr(made.plan, in_plan[name])[n])
            elif name not in ("number", "off_square_deg"):
                assert getattr(fret, name) == getattr(made.frets, name)[n], name
        (xb, yb), (xt, yt) = fret.bass_end, fret.treble_end
        assert math.tan(math.radians(fret.off_square_deg)) == pytest.approx((xt - xb) / abs(yt - yb), abs=1e-12)
    assert [fret.number for fret in made.frets] == sorted(fret.number for fret in made.frets)


def test_slots_of_the_nut(made: Instrument) -> None:
    renamed = {"pilot": "pilots"}
    for n, slot in enumerate(made.nut.slots):
        for name in (field.name for field in fields(NutSlot)):
            value, array = getattr(slot, name), getattr(made.nut, renamed.get(name, name))
            assert is_plain(value), name
            assert same(value, array[n]) if isinstance(array, np.ndarray) else value == array[n], name


def test_strings(made: Instrument) -> None:
    assert [string.number for string in made.strings] == list(range(1, 7))
    action = made.spec.setup.action.fret
    for n, string in enumerate(made.strings):
        asked = made.spec.strings.set[n]
        assert (string.note, string.gauge, string.wound) == (asked.note.text, asked.gauge, asked.wound)
        assert all(is_plain(getattr(string, field.name)) for field in fields(string))
        assert string.load is made.loads[n]
        assert string.slot is made.nut.slots[n]
        assert string.fit is made.intonation.fits[n]
        assert string.nominal is made.intonation.nominal[n]
        assert string.nominal_rms == made.intonation.nominal_rms[n]
        assert string.at_nut == tuple(made.plan.string_nut[n])
        assert string.at_saddle == tuple(made.plan.string_saddle[n])
        for name in ("first_fret_clearance", "nut_over_crowns", "pressed_gap", "action"):
            assert getattr(string, name) == getattr(made.line, name)[n], name
        for name, there in (
            ("saddle_x", "x"),
            ("saddle_y", "y"),
            ("saddle_height", "height"),
            ("saddle_offset", "offset"),
        ):
            assert getattr(string, name) == getattr(made.saddle, there)[n], name
        assert string.from_nut == made.saddle.from_nut[n]
        assert same(string.from_octave, made.saddle.from_octave[n])
        octave = made.action_at_octave
        assert string.action_at_octave == (None if octave is None else octave[n])
        lever = string.lever
        assert (lever.nut_at_first_fret, lever.nut_at_action) == (made.lever(1, "nut")[n], made.lever(action, "nut")[n])
        assert lever.saddle_at_first_fret == made.lever(1, "saddle")[n]
        assert lever.saddle_at_action == made.lever(action, "saddle")[n]
