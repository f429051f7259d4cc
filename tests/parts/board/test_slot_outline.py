"""Slots as outlines, read back: a template in one piece, slots for the board itself, ends, widths, and nothing else."""

from __future__ import annotations

import io
import math
from typing import Any

import ezdxf
import numpy as np
import pytest
from making import FAN, instrument
from shapely import LineString, Polygon, affinity

from templategen.drawing.model import Drawing, Line
from templategen.instrument.model import Instrument
from templategen.parts.board import slot_outline
from templategen.writers import dxf

FANNED: dict[str, Any] = {**FAN, "fingerboard.beyond_last_fret": 12}
BOARD: dict[str, Any] = {"slot_outline.use": "board"}
BOARDS: dict[str, dict[str, Any]] = {
    "through": {},
    "fanned": FANNED,
    "left-handed": {**FANNED, "handedness": "left"},
    "through, round": {**FANNED, "fret_wire.slot_ends": "round"},
    "blind": {**FANNED, "fingerboard.blind_slot_inset": 1.5},
    "blind, round": {**FANNED, "fingerboard.blind_slot_inset": 1.5, "fret_wire.slot_ends": "round"},
}


def drawings(made: Instrument) -> list[Drawing]:
    return [sheet.drawing for sheet in slot_outline.sheets(made)]


def read(drawing: Drawing) -> tuple[list[Polygon], list[Polygon]]:
    """Outlines and slots from the DXF, arcs followed in fine chords, by ezdxf's own flattening."""
    document = ezdxf.read(io.StringIO(dxf.encode(drawing).decode()))
    assert document.audit().errors == []
    assert document.units == 4
    space = document.modelspace()
    assert {e.dxf.layer for e in space} <= {"OUTLINE", "SLOT_OUTLINE", "SLOT_CENTRE"}

    def polygons(layer: str) -> list[Polygon]:
        found = []
        for line in space.query(f'LWPOLYLINE[layer=="{layer}"]'):
            assert line.closed
            found.append(Polygon([(p.x, p.y) for p in ezdxf.path.make_path(line).flattening(1e-6)]))
        return found

    return polygons("OUTLINE"), polygons("SLOT_OUTLINE")


@pytest.mark.parametrize("name", BOARDS)
@pytest.mark.parametrize("kerf", [0.0, 0.12, 0.3])
@pytest.mark.parametrize("use", ["template", "board"])
def test_width_in_the_file_and_kerf_make_the_slot(name: str, kerf: float, use: str) -> None:
    made = instrument({**BOARDS[name], "slot_outline.use": use}, {"beam_kerf": kerf})
    found = drawings(made)
    assert len(found) == (2 if kerf else 1)
    outer, slots = read(found[-1])
    assert len(outer) == (use == "template")
    assert len(slots) == 21
    for slot, a, b in zip(slots, made.plan.slot_bass_ends, made.plan.slot_treble_ends, strict=True):
        across = affinity.rotate(slot, -math.degrees(math.atan2(*(b - a)[::-1])), origin=tuple(a))
        _, low, _, high = across.bounds
        assert high - low + kerf == pytest.approx(0.58, abs=1e-5)
        assert (low + high) / 2 == pytest.approx(a[1], abs=1e-5)


@pytest.mark.parametrize("name", BOARDS)
@pytest.mark.parametrize("bridge", [3.0, 1.0])
def test_a_templates_slots_stop_inside_both_edges(name: str, bridge: float) -> None:
    """``bridge`` mm square to the edge, in finished size and after the beam; never nearer than a blind slot's end."""
    made = instrument({**BOARDS[name], "slot_outline.bridge": bridge}, {"beam_kerf": 0.12})
    finished, beam = drawings(made)
    (outer,), slots = read(finished)
    assert outer.symmetric_difference(Polygon(made.board_outline)).area < 1e-3
    want = max(bridge, 1.5) if "blind" in name else bridge
    for slot in slots:
        assert want - 1e-5 <= outer.exterior.distance(slot) <= want + (0.15 if "round" in name else 1e-5)
    (wide,), narrow = read(beam)
    assert wide.buffer(-0.06, join_style="mitre").symmetric_difference(outer).area < 1e-3
    for slot, thin in zip(slots, narrow, strict=True):
        assert thin.buffer(0.06, join_style="mitre", quad_segs=64).symmetric_difference(slot).area < 2e-4


@pytest.mark.parametrize("name", ["through", "fanned", "left-handed"])
def test_slots_for_the_board_run_past_its_edges(name: str) -> None:
    made = instrument({**BOARDS[name], **BOARD}, {"beam_kerf": 0})
    _, slots = read(drawings(made)[0])
    board = Polygon(made.board_outline)
    for slot, a, b in zip(slots, made.plan.bass_ends, made.plan.treble_ends, strict=True):
        beyond = (b - a) / np.hypot(*(b - a)) * 5
        asked = LineString([a - beyond, b + beyond]).buffer(0.29, cap_style="flat")
        assert slot.buffer(1e-5).contains(asked.intersection(board.buffer(1.4)))
        assert slot.difference(board.buffer(1.6, join_style="mitre")).area < 1e-6


def test_slots_for_a_bound_board_end_at_the_binding() -> None:
    made = instrument({**BOARDS["blind"], **BOARD}, {"beam_kerf": 0})
    for slot, a, b in zip(
        read(drawings(made)[0])[1], made.plan.slot_bass_ends, made.plan.slot_treble_ends, strict=True
    ):
        assert slot.area == pytest.approx(0.58 * np.hypot(*(b - a)), abs=1e-4)


def test_depth_is_told() -> None:
    def notes(changes: dict[str, Any]) -> str:
        return " ".join(drawings(instrument(changes))[0].notes)

    assert "Depth: all cuts go through" in notes({})
    assert "Depth: not through: 1.90 mm square below the board's surface" in notes(BOARD)
    level = notes({**BOARD, "fret_wire.slot_floor": "flat"})
    assert "Depth: not through: per fret 2." in level
    assert "below the crown line of a flat blank" in level


def test_the_kerf_is_stated_and_a_wide_beam_cuts_centre_lines() -> None:
    finished, beam = drawings(instrument({}, {"beam_kerf": 0.12}))
    assert "no kerf taken off" in finished.notes[0]
    assert "kerf 0.120 mm (0.005 in) taken off" in beam.notes[0]
    (only,) = drawings(instrument({}, {"beam_kerf": 0}))
    assert "no kerf taken off" in only.notes[0]
    made = instrument({}, {"beam_kerf": 0.6})
    wide = drawings(made)[1]
    assert [layer.name for layer in wide.layers] == ["SLOT_CENTRE", "OUTLINE"]
    lines = wide.layer("SLOT_CENTRE").shapes
    assert len(lines) == 21
    board = Polygon(made.board_outline)
    for line in lines:
        assert isinstance(line, Line)
        assert board.exterior.distance(LineString([line.start, line.end]).buffer(0.3)) >= 2.97
    assert any("one pass on its centre" in note for note in wide.notes)
