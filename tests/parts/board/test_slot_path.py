"""The cutter's way: ends, depth along it, and how far straight moves stray from the floor."""

from __future__ import annotations

import io
from itertools import pairwise
from typing import Any

import ezdxf
import labelled
import numpy as np
import pytest
from making import FAN, instrument, work_of

from templategen.instrument.model import Instrument
from templategen.parts.board import slot_path
from templategen.writers import toolpath as writer

CONE = {"fingerboard.radius": None, "fingerboard.radius_at_nut": 184, "fingerboard.radius_at_last_fret": 400}
BOARDS: dict[str, dict[str, Any]] = {
    "cylinder": {},
    "tight": {"fingerboard.radius": 120, "fingerboard.thickness": 8},
    "fanned cone": {**FAN, **CONE},
    "blind": {**FAN, "fingerboard.blind_slot_inset": 1.5},
}


def points(made: Instrument) -> dict[int, np.ndarray]:
    rows = labelled.of_csv(slot_path.make(work_of(made)), "slot-path")
    found: dict[int, list[list[float]]] = {}
    for row in rows:
        path = found.setdefault(int(row["fret"]), [])
        path.append([float(row[axis]) for axis in "xyz"])
        assert int(row["point"]) == len(path)
    return {fret: np.array(path) for fret, path in found.items()}


@pytest.mark.parametrize("name", BOARDS)
def test_straight_moves_stay_within_the_stated_distance(name: str) -> None:
    """Against a surface slot_depth below the board, square to it: √((R − d)² − y²) − R at R of that place."""
    made = instrument(BOARDS[name])
    worst = 0.0
    for path in points(made).values():
        share = np.linspace(0, 1, 21)[:, None]
        for a, b in pairwise(path):
            x, y, z = (a + share * (b - a)).T
            radius = made.board.radius(x)
            worst = max(worst, np.abs(z - (np.sqrt((radius - 1.9) ** 2 - y**2) - radius)).max())
    assert 0.001 < worst < 0.005


def test_through_slots_run_past_the_edge() -> None:
    made = instrument(FAN)
    for fret, path in points(made).items():
        a, b = made.plan.bass_ends[fret - 1], made.plan.treble_ends[fret - 1]
        along = (b - a) / np.hypot(*(b - a))
        assert path[0, :2] == pytest.approx(a - 1.5 * along, abs=1e-6)
        assert path[-1, :2] == pytest.approx(b + 1.5 * along, abs=1e-6)


def test_blind_ends_are_short_by_the_cutters_radius() -> None:
    made = instrument({"fingerboard.blind_slot_inset": 1.5}, {"end_mills": [{"diameter": 0.54, "shape": "flat"}]})
    for fret, path in points(made).items():
        a, b = made.plan.slot_bass_ends[fret - 1], made.plan.slot_treble_ends[fret - 1]
        assert path[0, 1] - 0.27 == pytest.approx(min(a[1], b[1]), abs=1e-6)
        assert path[-1, 1] + 0.27 == pytest.approx(max(a[1], b[1]), abs=1e-6)


@pytest.mark.parametrize(
    ("changes", "level"),
    [({"fingerboard.radius": "flat"}, None), ({"fret_wire.slot_floor": "flat"}, "stop")],
)
def test_level_floors_need_two_points(changes: dict[str, Any], level: str | None) -> None:
    made = instrument(changes)
    for fret, path in points(made).items():
        want = made.frets.depth_stop_flat[fret - 1] if level else 1.9
        assert path[:, 2] == pytest.approx([-want, -want], abs=1e-6)


def test_lines_in_the_file_are_the_same_paths() -> None:
    made = instrument({**FAN, **CONE})
    document = ezdxf.read(io.StringIO(writer.drawn(slot_path.toolpath(made)).decode()))
    assert not document.audit().errors
    space = document.modelspace()
    assert {(e.dxf.layer, e.dxftype()) for e in space} == {("SLOT_PATH", "POLYLINE"), ("SLOT_CENTRE", "LINE")}
    for way, path in zip(space.query("POLYLINE"), points(made).values(), strict=True):
        assert way.is_3d_polyline
        assert not way.is_closed
        assert np.array([tuple(spot) for spot in way.points()]) == pytest.approx(path, abs=1e-6)
    lines = list(space.query("LINE"))
    for line, path in zip(lines, points(made).values(), strict=True):
        assert (line.dxf.start.x, line.dxf.start.y) == pytest.approx(path[0, :2].tolist(), abs=1e-6)
        assert (line.dxf.end.x, line.dxf.end.y) == pytest.approx(path[-1, :2].tolist(), abs=1e-6)


def test_the_cutter_is_stated() -> None:
    assert "the shop's flat end mill of 0.580 mm" in " ".join(slot_path.toolpath(instrument()).notes)
    none = " ".join(slot_path.toolpath(instrument({}, {"end_mills": [{"diameter": 3, "shape": "flat"}]})).notes)
    assert "a flat end mill of 0.580 mm, the slot's width, which the shop lacks" in none
    assert "within 0.005 mm" in none
