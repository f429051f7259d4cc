"""The piece that a nut begins as, and what a mill has to know of its slots, in the instrument and in numbers.json."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from making import FAN, instrument, work
from probing import faces

from templategen.parts.nut.nut_shape import STAGES
from templategen.parts.nut.nut_solid import build
from templategen.tables.numbers import numbers

FORWARD = {**FAN, "nut.compensation": "best_fit"}


@pytest.mark.parametrize("changes", [{}, FORWARD], ids=["plain", "fan, stepped"])
def test_a_bar_is_a_box_that_holds_what_is_made_of_it(changes: dict[str, Any]) -> None:
    made = instrument({**changes, "nut.stock_form": "bar", "nut.seat_radius": "board"})
    blank = build(made, "blank")
    (low, high), size = (blank.extent.low, blank.extent.high), made.nut.blank.size
    assert {face.kind for face in faces(blank)} == {"plane"}
    assert len(faces(blank)) == 6
    assert blank.volume == pytest.approx(math.prod(size), rel=1e-9)
    assert (*low, *high) == pytest.approx((*made.nut.blank.low, *made.nut.blank.high), abs=1e-6)
    for stage in STAGES[1:]:
        box = build(made, stage).extent
        for axis, more in enumerate((2.0, 0.5, 0.0)):
            assert low[axis] <= box.low[axis] - more + 1e-5
            assert high[axis] >= box.high[axis] + more - 1e-5


@pytest.mark.parametrize("form", ["shaped", "bar"])
def test_the_box_told_is_the_box_of_the_solid(form: str) -> None:
    made = instrument({"nut.stock_form": form, "nut.stock": {"sides": 0.7, "ends": 3.0}})
    blank = build(made, "blank").extent
    assert (*blank.low, *blank.high) == pytest.approx((*made.nut.blank.low, *made.nut.blank.high), abs=1e-5)


def test_numbers_for_whoever_mills_it() -> None:
    job = work({"nut.stock_form": "bar", "nut.filing_allowance": 0.2})
    nut, told = job.instrument.nut, numbers(job.bench, job.findings)
    assert told["nut"]["blank"]["size"] == nut.blank.size
    assert told["nut"]["stock"] == {"sides": 0.5, "ends": 2.0, "form": "bar"}
    for n, string in enumerate(told["strings"]):
        start, end = (np.array(string[f"slotted_line_{key}"]) for key in ("start", "end"))
        finished = np.array(string["slot_line_start"])
        top = (
            float(nut.top.z(nut.along[n])) + nut.top_allowance + math.tan(math.radians(nut.top_fall_deg)) * (-start[1])
        )
        if string["slotted_full_width"]:
            assert start - finished == pytest.approx([0.0, 0.0, 0.2], abs=1e-9)
            assert string["slotted_cutter"] == 1.0
            assert string["pilot_depth"] is None
        else:
            assert string["slotted_cutter"] is None
            assert top - start[2] == pytest.approx(string["pilot_depth"], abs=1e-5)
            # a vee: w = 2·d·tan(angle/2)
            half = math.tan(math.radians(string["pilot_angle_deg"] / 2))
            assert string["pilot_width"] == pytest.approx(2 * string["pilot_depth"] * half, rel=1e-9)
        fall = math.degrees(math.atan2(start[2] - end[2], float(np.hypot(*(end - start)[:2]))))
        assert fall == pytest.approx(string["back_angle_deg"], abs=1e-9)
        assert end[1] == pytest.approx(nut.thickness)
