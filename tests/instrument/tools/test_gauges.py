"""Gauges: what they clear and what they touch, judged on the instrument's own strings, crowns and wood."""

from __future__ import annotations

import math
import re
from typing import Any

import labelled
import numpy as np
import pytest
from making import FAN, found, instrument, work_of

from templategen.errors import SpecError
from templategen.instrument.tools.gauges import merged, stations, straightedge, string_arc, string_notches
from templategen.parts.radius.radius_gauge import gauges

CONE: dict[str, Any] = {
    "fingerboard.radius": None,
    "fingerboard.radius_at_nut": 254,
    "fingerboard.radius_at_last_fret": 406.4,
}


def test_stations_of_a_cone() -> None:
    places = stations(instrument(CONE))
    assert [station.name for station in places] == ["nut", "fret 5", "fret 12", "fret 21"]
    last = 640 * (1 - 2 ** (-21 / 12))
    for station, fret in zip(places, (0, 5, 12, 21), strict=True):
        x = 640 * (1 - 2 ** (-fret / 12))
        assert station.x == pytest.approx(x, abs=1e-9)
        assert station.radius == pytest.approx(254 + 152.4 * x / last, abs=1e-9)
        assert station.width == pytest.approx(43 + 12 * x / last, abs=1e-9)


def test_stations_elsewhere() -> None:
    assert [s.radius for s in stations(instrument({}))] == [300]
    assert stations(instrument({"fingerboard.radius": "flat"})) == ()
    short = instrument(CONE | {"scale.fret_count": 4, "fret_wire.markers": [3], "fret_wire.doubled_markers": [],
                               "setup.action": {"fret": 4, "bass": 1.2, "treble": 1.0}})  # fmt: skip
    assert [s.name for s in stations(short)] == ["nut", "fret 2", "fret 4"]


def test_string_notches_clear_every_string() -> None:
    made = instrument(CONE)
    for station in stations(made):
        notches = string_notches(made, station)
        y = made.plan.string_at(station.x)
        for centre, gauge in zip(y, made.plan.gauges, strict=True):
            assert any(
                low <= centre - gauge / 2 - 0.9 and centre + gauge / 2 + 0.9 <= high for low, high in notches.spans
            )
        over = made.line.z(station.x) + made.strung.sag(station.x) + made.plan.gauges
        assert notches.top > over.max()
        assert notches.spans[0][0] < -station.width / 2
        assert notches.spans[-1][1] > station.width / 2


def test_merged() -> None:
    assert merged([(0, 2), (5, 6), (1, 3), (7, 8)], 1.5) == ((0, 3), (5, 8))


def test_string_arc_runs_under_the_strings() -> None:
    made = instrument({})
    arc = string_arc(made)
    assert arc.worst < 0.05
    (y0, z0), (y1, z1) = arc.start, arc.end
    # second way: the circle through the arc's ends and its crest
    middle = (y0 + y1) / 2 - (z1 - z0) / math.dist(arc.start, arc.end) * arc.rise
    crest = (z0 + z1) / 2 + (y1 - y0) / math.dist(arc.start, arc.end) * arc.rise
    points = np.array([(y0, z0), (middle, crest), (y1, z1)])
    system = np.column_stack([2 * points, np.ones(3)])
    cy, cz, rest = np.linalg.solve(system, (points**2).sum(1))
    radius = math.sqrt(rest + cy**2 + cz**2)
    assert arc.radius == pytest.approx(radius, rel=1e-9)
    off = np.hypot(arc.y - cy, arc.z - cz) - radius
    assert np.abs(off).max() == pytest.approx(arc.worst, abs=1e-4)


def test_string_arc_at_a_given_place() -> None:
    made = instrument({})
    for x, over_the_board in ((300.0, True), (500.0, False)):
        arc = string_arc(made, x)
        assert arc.x == x
        assert arc.tops is over_the_board
        order = np.argsort(made.plan.string_at(x))
        assert arc.y == pytest.approx(made.plan.string_at(x)[order])
        heights = made.line.z(x)[order]
        if over_the_board:
            heights = heights + np.array([0.26, 0.34, 0.44, 0.66, 0.90, 1.15])[order]
        assert np.diff(arc.z) == pytest.approx(np.diff(heights))


def test_string_arc_where_the_spec_wants_it() -> None:
    assert string_arc(instrument({})).x == pytest.approx(instrument({}).saddle.x.min() - 12)
    made = instrument({"radius_gauge.string_arc_at": "12 in"})
    arc = string_arc(made)
    assert arc.x == pytest.approx(304.8)
    assert arc.radius == string_arc(instrument({}), 304.8).radius
    told = labelled.numbers(work_of(made))["gauges"]["string_arc"]
    assert told["from_nut"] == pytest.approx(304.8)
    assert told["of"] == "tops"
    assert told["radius"] == pytest.approx(arc.radius)


@pytest.mark.parametrize("changes", [{}, FAN, {"intonation.saddle": -0.8}])
def test_string_arc_lies_between_nut_and_saddle(changes: dict[str, Any]) -> None:
    """The limits that the message tells are the first that hold."""
    with pytest.raises(SpecError) as caught:
        instrument(changes | {"radius_gauge.string_arc_at": 700})
    (problem,) = caught.value.problems
    assert problem.given == "700"
    assert problem.line is not None
    low, high = (float(text) for text in re.findall(r"\d+\.\d", problem.message))
    for at in (low, high):
        assert string_arc(instrument(changes | {"radius_gauge.string_arc_at": at})).x == at
    for at in (low - 0.1, high + 0.1):
        with pytest.raises(SpecError):
            instrument(changes | {"radius_gauge.string_arc_at": at})


def test_string_arc_past_the_saddle_in_words() -> None:
    with pytest.raises(SpecError) as caught:
        instrument({"intonation.saddle": "none", "radius_gauge.string_arc_at": 640})
    assert [p.message for p in caught.value.problems] == [
        "must lie where every string runs between nut and saddle, from 0.1 to 639.9 mm; leave it out for 12 mm in "
        "front of the saddle"
    ]


def test_strings_in_a_line_have_no_arc() -> None:
    flat = instrument({"fingerboard.radius": "flat"})
    assert math.isinf(string_arc(flat).radius)
    assert not found(flat, "strings-in-line")
    (told,) = found(instrument({"fingerboard.radius": "flat", "radius_gauge.string_arc_at": 600}), "strings-in-line")
    assert told.level == "note"
    assert "600.00 mm (23.622 in) from the nut" in told.message


@pytest.mark.parametrize("changes", [{}, FAN, {"scale.zero_fret": True}, {"scale.fret_count": 36}])
def test_straightedge_stands_on_wood_and_clears_every_crown(changes: dict[str, Any]) -> None:
    made = instrument(changes)
    edge = straightedge(made)
    half = made.spec.fret_wire.crown_width / 2
    lean = made.plan.treble_ends - made.plan.bass_ends
    for x, (dx, dy) in zip(made.plan.centre_x, lean, strict=True):
        reach = half * math.hypot(dx, dy) / abs(dy)
        assert any(low <= max(x - reach - 0.9, edge.start) and x + reach + 0.9 <= high for low, high in edge.notches)
    assert edge.depth > made.spec.fret_wire.crown_height
    teeth = [(a[1], b[0]) for a, b in zip(edge.notches, edge.notches[1:], strict=False)]
    assert all(high - low >= 1.5 - 1e-9 for low, high in teeth)
    assert edge.end > edge.notches[-1][1]
    assert len(teeth) >= 10


def test_an_arc_narrower_than_its_gauge_is_told_and_not_cut() -> None:
    """Over fret 2 the middle strings 2.4 mm above the outer ones make a semicircle at the saddle: its gauge used to end
    in a math domain error, or in a contour that crosses itself."""
    made = instrument({"setup.action": {"fret": 2, "strings": [0.6, 1.2, 3, 3, 1.2, 0.6]}})
    arc = string_arc(made)
    assert arc.too_round
    assert arc.radius < (arc.end[0] - arc.start[0]) / 2 + 6
    assert "29.32 mm" in found(made, "strings-arc-too-round")[0].message
    assert not [piece for piece in gauges(made) if "arc" in piece.name]
    assert not found(instrument({}), "strings-arc-too-round")


def test_an_arc_that_shows_nothing_is_left_out_and_said() -> None:
    """Strings all but in a line, R 2980 with one of them 0.06 mm off it: no gauge would tell that from a line."""
    heights = {"fret": 12, "strings": [1.6, 1.7, 1.8, 1.9, 2.0, 2.0]}
    made = instrument({"fingerboard.radius": "flat", "setup.action": heights})
    arc = string_arc(made)
    assert math.isfinite(arc.radius)
    assert arc.worst > abs(arc.rise) / 4
    assert not arc.shows
    (told,) = found(made, "strings-in-line")
    assert f"rises only {abs(arc.rise):.2f} mm, and a string lies {arc.worst:.2f} mm off it" in told.message
    names = [piece.name for piece in gauges(made)]
    assert not [name for name in names if "string" in name]
    assert [piece.name for piece in gauges(instrument()) if "string" in piece.name]
    assert string_arc(instrument()).shows
    scattered = {"fret": 12, "strings": [1.6, 2.4, 1.8, 1.9, 2.6, 2.0]}
    assert not string_arc(instrument({"setup.action": scattered})).shows, "strings that form no arc at all"
