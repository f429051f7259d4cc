"""Slots for a beam, read back from the files: width in the file + kerf is what is asked, ends, and nothing else."""

from __future__ import annotations

import io
import math
from typing import Any
from xml.etree import ElementTree

import ezdxf
import numpy as np
import pytest
from making import FAN, instrument
from shapely import LineString, Polygon, affinity

from templategen.drawing.model import Outline
from templategen.instrument.model import Instrument
from templategen.parts.board import slot_outline
from templategen.writers import dxf, svg

FANNED: dict[str, Any] = {**FAN, "fingerboard.beyond_last_fret": 12}
BOARDS: dict[str, dict[str, Any]] = {
    "through": {},
    "fanned": FANNED,
    "left-handed": {**FANNED, "handedness": "left"},
    "through, round": {**FANNED, "fret_wire.slot_ends": "round"},
    "blind": {**FANNED, "fingerboard.blind_slot_inset": 1.5},
    "blind, round": {**FANNED, "fingerboard.blind_slot_inset": 1.5, "fret_wire.slot_ends": "round"},
}


def read(made: Instrument) -> tuple[Polygon, list[Polygon]]:
    """Board and slots from the DXF, arcs followed in fine chords, by ezdxf's own flattening."""
    document = ezdxf.read(io.StringIO(dxf.encode(slot_outline.draw(made)).decode()))
    assert document.audit().errors == []
    assert document.units == 4
    space = document.modelspace()
    assert {e.dxf.layer for e in space} <= {"OUTLINE", "SLOT_OUTLINE", "SLOT_CENTRE"}

    def polygons(layer: str) -> list[Polygon]:
        found = []
        for line in space.query(f'LWPOLYLINE[layer=="{layer}"]'):
            assert line.closed
            path = ezdxf.path.make_path(line)
            found.append(Polygon([(p.x, p.y) for p in path.flattening(1e-6)]))
        return found

    (board,) = polygons("OUTLINE")
    return board, polygons("SLOT_OUTLINE")


@pytest.mark.parametrize("name", BOARDS)
@pytest.mark.parametrize("kerf", [0.0, 0.12, 0.3])
def test_width_in_the_file_and_kerf_make_the_slot(name: str, kerf: float) -> None:
    made = instrument(BOARDS[name], {"beam_kerf": kerf})
    _, slots = read(made)
    assert len(slots) == 21
    for slot, a, b in zip(slots, made.plan.slot_bass_ends, made.plan.slot_treble_ends, strict=True):
        across = affinity.rotate(slot, -math.degrees(math.atan2(*(b - a)[::-1])), origin=tuple(a))
        _, low, _, high = across.bounds
        assert high - low + kerf == pytest.approx(0.58, abs=1e-5)
        assert (low + high) / 2 == pytest.approx(a[1], abs=1e-5)


@pytest.mark.parametrize("name", ["through", "fanned", "left-handed"])
def test_a_beam_run_on_the_lines_leaves_board_and_through_slots(name: str) -> None:
    """The cut is the line grown by half the kerf: inside a slot it takes the slot as asked, from edge to edge, and
    outside the board it leaves the board as asked."""
    made = instrument(BOARDS[name], {"beam_kerf": 0.12})
    board, slots = read(made)
    want = Polygon(made.board_outline)
    assert board.buffer(-0.06, join_style="mitre").symmetric_difference(want).area < 1e-3
    for slot, a, b in zip(slots, made.plan.bass_ends, made.plan.treble_ends, strict=True):
        beyond = (b - a) / np.hypot(*(b - a)) * 5
        asked = LineString([a - beyond, b + beyond]).buffer(0.29, cap_style="flat").intersection(want)
        taken = slot.buffer(0.06, join_style="mitre")
        assert taken.symmetric_difference(asked).area < 1e-4


def test_round_ends_of_through_slots_open_the_edge_at_full_width() -> None:
    made = instrument(BOARDS["through, round"], {"beam_kerf": 0})
    want = Polygon(made.plan.outline)
    for slot, a, b in zip(read(made)[1], made.plan.bass_ends, made.plan.treble_ends, strict=True):
        beyond = (b - a) / np.hypot(*(b - a)) * 5
        asked = LineString([a - beyond, b + beyond]).buffer(0.29, cap_style="flat").intersection(want)
        assert slot.buffer(1e-5).contains(asked)
        assert slot.difference(want).area > 0.1


@pytest.mark.parametrize("name", ["blind", "blind, round"])
def test_blind_slots_are_as_long_as_asked(name: str) -> None:
    made = instrument(BOARDS[name], {"beam_kerf": 0.12})
    board, slots = read(made)
    for slot, a, b in zip(slots, made.plan.slot_bass_ends, made.plan.slot_treble_ends, strict=True):
        grown = slot.buffer(0.06, join_style="mitre", quad_segs=64)
        along = affinity.rotate(grown, -math.degrees(math.atan2(*(b - a)[::-1])), origin=tuple(a))
        assert along.bounds[2] - along.bounds[0] == pytest.approx(np.hypot(*(b - a)), abs=1e-4)
        assert board.contains(slot)
        corner = 0.58**2 * (1 - math.pi / 4)  # what two half circles leave of two squares
        want = 0.58 * np.hypot(*(b - a)) - (corner if "round" in name else 0)
        assert grown.area == pytest.approx(want, abs=2e-3)


def test_round_ends_are_arcs_in_both_files() -> None:
    made = instrument(BOARDS["blind, round"])
    document = ezdxf.read(io.StringIO(dxf.encode(slot_outline.draw(made)).decode()))
    for line in document.modelspace().query('LWPOLYLINE[layer=="SLOT_OUTLINE"]'):
        assert [round(b, 9) for *_, b in line.get_points("xyb")] == [0, 1, 0, 1]
    root = ElementTree.fromstring(svg.encode(slot_outline.draw(made)))
    group = next(g for g in root.iter("{http://www.w3.org/2000/svg}g") if g.get("id") == "SLOT_OUTLINE")
    paths = [p.get("d", "") for p in group]
    assert len(paths) == 21
    assert all(d.count("A 0.23 0.23") == 2 for d in paths)


def test_the_kerf_is_stated_and_a_wide_beam_cuts_centre_lines() -> None:
    drawing = slot_outline.draw(instrument({}, {"beam_kerf": 0.12}))
    assert "Beam kerf 0.120 mm (0.005 in) taken off" in drawing.notes[0]
    assert "No beam_kerf" in slot_outline.draw(instrument({}, {"beam_kerf": 0})).notes[0]
    made = instrument({}, {"beam_kerf": 0.6})
    wide = slot_outline.draw(made)
    assert {layer.name for layer in wide.layers} == {"OUTLINE", "SLOT_CENTRE"}
    assert len(wide.layer("SLOT_CENTRE").shapes) == 21
    assert "one pass on its centre" in wide.notes[0]


def test_a_cut_file_holds_outlines_and_nothing_else() -> None:
    drawing = slot_outline.draw(instrument(FANNED))
    assert drawing.kind == "cut"
    assert {layer.name: {type(s) for s in layer.shapes} for layer in drawing.layers} == {
        "OUTLINE": {Outline},
        "SLOT_OUTLINE": {Outline},
    }
