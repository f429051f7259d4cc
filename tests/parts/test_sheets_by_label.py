"""Every table and check distance of the drawings, read out of the files by its labels, against numbers.json."""

from __future__ import annotations

import math
from functools import cache
from typing import Any, NamedTuple

import labelled
import lettered
import pytest
from making import FAN, work

from templategen.drawing.model import Drawing
from templategen.parts.board import fret_template, notched_strip
from templategen.parts.common.work import Work
from templategen.parts.nut import nut_drawing, nut_spacing_strip
from templategen.parts.radius import radius_block_drawing
from templategen.parts.saddle import profile
from templategen.tables import frets

LEFT = {"handedness": "left"}
BOARDS: dict[str, dict[str, Any]] = {
    "plain": {"nut.stock": {"sides": 0.7, "ends": 2.2}, "nut.top_allowance": 0.9},
    "left": LEFT,
    "fan, left": {**FAN, **LEFT},
    "level": {"fret_wire.slot_floor": "flat"},
    "zero fret": {"scale.zero_fret": {"crown_height": 1.2}, "setup.first_fret_clearance": None},
}


@cache
def job(board: str) -> Work:
    return work(BOARDS[board])


def numbers(board: str) -> dict[str, Any]:
    return labelled.numbers(job(board))


class Figure(NamedTuple):
    """A number as it should be printed: nearer to the value than half of the last place."""

    value: float
    places: int
    sign: str = ""

    def is_said(self, cell: str) -> bool:
        if self.sign and self.value > 0 and not cell.startswith(self.sign):
            return False
        figures = len(cell.partition(".")[2])
        return figures == self.places and abs(float(cell) - self.value) <= 0.5 * 10**-self.places + 1e-7


Wanted = dict[str, str | Figure]


def lengths(value: float, name: str, places: int, inch_places: int, sign: str = "") -> Wanted:
    """A length in both units: 25.4 mm to the inch (ISO 80000-3)."""
    return {f"{name}, mm": Figure(value, places, sign), f"{name}, in": Figure(value / 25.4, inch_places, sign)}


def both(value: float) -> str:
    return f"{value:.2f} mm ({value / 25.4:.3f} in)"


def forms_of(board: str) -> tuple[str, ...]:
    """All three for one board, the quickest for the others."""
    return ("svg", "dxf", "pdf") if board == "plain" else ("svg",)


def check(drawing: Drawing, heads: str, wanted: dict[str, Wanted], forms: tuple[str, ...]) -> None:
    """In every format each wanted cell stands under its head and beside its label, and no row is left out."""
    for form, marks in lettered.readings(drawing, forms):
        cells = lettered.table(marks, heads.split(" | "))
        assert {row for row, _ in cells} == set(wanted), form
        for row, columns in wanted.items():
            for head, want in columns.items():
                cell = cells[row, head]
                assert want.is_said(cell) if isinstance(want, Figure) else cell == want, (form, row, head, cell, want)


# ----------------------------------------------------------------------------------------------------------- saddle


@pytest.mark.parametrize("board", BOARDS)
def test_saddle(board: str) -> None:
    """Across is + on the treble side, whichever hand plays."""
    said = numbers(board)
    hand = -1 if said["handedness"] == "left" else 1
    octave = next(f["from_nut"] for f in said["frets"] if f["fret"] == 12) if board != "fan, left" else None
    wanted: dict[str, Wanted] = {}
    for string in said["strings"]:
        length = 640.0 + string["saddle_offset"] - string["nut_offset"]
        wanted[f"{string['string']} {string['note']}"] = {
            **lengths(hand * string["saddle_y"], "across", 2, 3, "+"),
            **lengths(string["saddle_height"], "saddle height", 2, 3),
            **lengths(string["saddle_offset"], "saddle offset", 2, 3),
            **({} if octave is None else lengths(length, "from nut", 2, 3)),
            **({} if octave is None else lengths(640 + string["saddle_offset"] - octave, "from octave fret", 2, 3)),
        }
    assert hand * said["strings"][0]["saddle_y"] > 20 > -20 > hand * said["strings"][-1]["saddle_y"]
    heads = "string | across, mm | in | saddle height, mm | in | saddle offset, mm | in | from nut, mm | in"
    check(profile.draw(job(board).instrument), f"{heads} | from octave fret, mm | in", wanted, forms_of(board))


# -------------------------------------------------------------------------------------------------------------- nut


@pytest.mark.parametrize("board", BOARDS)
def test_nut(board: str) -> None:
    """Places count from the bass end of the front edge, along it."""
    said = numbers(board)
    hand = -1 if said["handedness"] == "left" else 1
    fan = "fan" in board
    end = said["nut"]["front_ends"][0 if hand > 0 else 1]
    places: dict[str, Wanted] = {}
    heights: dict[str, Wanted] = {}
    for string in said["strings"]:
        name, file = f"{string['string']} {string['note']}", string["file"]
        places[name] = {
            **lengths(abs(string["along_nut"] - end), "from bass end", 2, 3),
            **(lengths(hand * string["nut_y"], "across", 2, 3, "+") if fan else {}),
            **lengths(string["gauge"], "gauge", 3, 4),
            **lengths(string["slot_width"], "slot width", 3, 4),
            **({"file to use, mm": "no file of the shop"} if file is None else lengths(file, "file to use", 3, 4)),
        }
        heights[name] = {
            **lengths(string["floor_above_seat"], "floor over seat", 3, 4),
            **lengths(string["slot_depth"], "depth from top", 3, 4),
        }
    at = [abs(string["along_nut"] - end) for string in said["strings"]]
    assert at == sorted(at, reverse=True), "the bass string is the nearest to the bass end"
    whole = nut_drawing.draw(job(board).instrument)
    across = "across, mm | in | " if fan else ""
    heads = f"string | from bass end, mm | in | {across}gauge, mm | in | slot width, mm | in | file to use, mm | in"
    check(whole, heads, places, ("svg", "dxf") if board == "plain" else ("svg",))
    heads = "string | floor over seat, mm | in | over board here, mm | in | depth from top, mm | in"
    check(whole, heads, heights, ("svg", "dxf") if board == "plain" else ("svg",))


def test_what_is_left_on_the_blank() -> None:
    for form, marks in lettered.readings(nut_drawing.draw(job("plain").instrument)):
        said = lettered.sentence(marks, "Blank: ")
        assert said.startswith("Blank: top +0.90 mm (0.035 in), front and back +0.70 mm (0.028 in), each end +2.20"), (
            form
        )


# -------------------------------------------------------------------------------------------------------- the board


@pytest.mark.parametrize("board", BOARDS)
def test_distances_along_the_centreline(board: str) -> None:
    said = numbers(board)
    start = "zero fret" if board == "zero fret" else "nut"
    wanted = {str(f["fret"]): lengths(f["from_nut"], f"from {start}", 2, 3) for f in said["frets"]}
    drawing = fret_template.draw(job(board).instrument)
    check(drawing, f"fret | from {start}, mm | in", wanted, forms_of(board))


def test_distances_along_the_edges() -> None:
    """From the nut's corner on the same edge, along it: Pythagoras on the ends of the slots."""
    said = numbers("fan, left")
    bass, _, _, treble = said["board"]["outline"]
    wanted: dict[str, Wanted] = {}
    for fret in said["frets"]:
        cells: Wanted = {}
        for side, corner in (("bass", bass), ("treble", treble)):
            cells |= lengths(math.dist(fret[f"{side}_end"], corner), f"from {side} corner", 2, 3)
        wanted[str(fret["fret"])] = cells
    heads = "fret | from bass corner, mm | in | from treble corner, mm | in"
    check(fret_template.draw(job("fan, left").instrument), heads, wanted, ("svg",))


@pytest.mark.parametrize("board", ["plain", "left", "level"])
def test_depth_stops(board: str) -> None:
    """Before radiusing the stop allows for the round that is still to come: less at the narrow end than at the wide."""
    said = numbers(board)
    first, last = said["frets"][0], said["frets"][-1]
    half = said["board"]["width_at_nut"] / 2
    at_nut = first["slot_depth"] + first["radius"] - math.sqrt(first["radius"] ** 2 - half**2)
    near, away, way = first["slot_depth"], last["slot_depth"], "sawn after radiusing, the stop riding on the board"
    if board == "level":
        near, away, way = at_nut, last["depth_stop_flat"], "sawn before radiusing, on the flat blank"
    far = f"fret {last['fret']}"
    wanted = {way: {**lengths(near, "at the nut", 2, 3), **lengths(away, far, 2, 3)}}
    drawing = fret_template.draw(job(board).instrument)
    check(drawing, f"depth stop | at the nut, mm | in | {far}, mm | in", wanted, forms_of(board))
    left = min(fret["wood_under_slot_at_edge"] for fret in said["frets"])
    for form, marks in lettered.readings(drawing, forms_of(board)):
        assert lettered.sentence(marks, "Least wood left").endswith(f"floor: {both(left)}"), form


@pytest.mark.parametrize("board", ["plain", "zero fret"])
def test_check_distances_across_the_tiles(board: str) -> None:
    """What to measure with a steel rule, out of the PDF: each distance beside what it goes to."""
    said = numbers(board)
    drawing = fret_template.draw(job(board).instrument)
    ((_, marks),) = lettered.readings(drawing, ("pdf",))
    start = "zero fret" if board == "zero fret" else "nut"
    text = " ".join(mark.text for mark in marks)
    by_fret = {fret["fret"]: fret["from_nut"] for fret in said["frets"]}
    assert f"from the {start} along the centreline to fret" in text
    wanted = {f"to fret {fret}": x for fret, x in by_fret.items() if f"to fret {fret}:" in text}
    assert len(wanted) >= 2
    wanted["to the board's end"] = by_fret[21] + 8
    for what, x in wanted.items():
        place = f"{what}: {both(x)}"
        assert place in text, place


@pytest.mark.parametrize(("board", "side"), [("plain", "centreline"), ("fan, left", "bass"), ("fan, left", "treble")])
def test_notches(board: str, side: str) -> None:
    said, i = numbers(board), job(board).instrument
    (strip,) = [s for s in notched_strip.strips(i) if s.notches.side == side]
    corners = dict(zip(("bass", "treble"), said["board"]["outline"][::3], strict=True))
    wanted: dict[str, Wanted] = {"nut": lengths(0.0, "from nut end", 2, 3)}
    for fret in said["frets"]:
        at = fret["from_nut"] if side == "centreline" else math.dist(fret[f"{side}_end"], corners[side])
        wanted[f"fret {fret['fret']}"] = lengths(at, "from nut end", 2, 3)
    turned = " | off square, °" if side != "centreline" else ""
    check(notched_strip.draw(i, strip), f"notch | from nut end, mm | in{turned}", wanted, forms_of(board))


# ----------------------------------------------------------------------------------------------------- radius block


def test_radius_block() -> None:
    said = numbers("plain")["radius_block"]

    drawing = radius_block_drawing.draw(job("plain").instrument, job("plain").instrument.block)
    for form, marks in lettered.readings(drawing):
        rows = lettered.beside(marks)
        assert rows["block's radius"] == both(said["block_radius"]), form
        assert rows["board's radius"] == both(said["board_radius"]), form
        assert rows["height of the arc over the width"] == f"{said['profile_depth']:.3f} mm", form


# ------------------------------------------------------------------------------------------------------------ words


def said_on(drawing: Drawing, begins: str) -> str:
    ((_, marks),) = lettered.readings(drawing, ("svg",))
    return lettered.sentence(marks, begins)


def test_words_of_the_saddle() -> None:
    said, drawing = numbers("plain")["intonation"], profile.draw(job("plain").instrument)
    line, room = said["straight_saddle"], said["saddle_range"]
    treble, bass = both(line["offset_at_treble_string"]), both(line["offset_at_bass_string"])
    straight = said_on(drawing, "One straight saddle: ")
    assert f"offset {treble} at the treble outer string, {bass} at the bass outer string" in straight
    assert line["offset_at_treble_string"] < line["offset_at_bass_string"] - 0.1
    moved = said_on(drawing, "An adjustable saddle: ")
    assert f"from {both(room['nearest'])} to {both(room['farthest'])}, {both(room['travel'])} of travel" in moved
    assert f"{both(room['margin'])} beyond this set's offsets" in moved


@pytest.mark.parametrize(("angle", "way"), [(2.0, "toward the tuners"), (-2.0, "toward the bridge")])
def test_words_of_the_nut(angle: float, way: str) -> None:
    moves = [0.2, 0.0, 0.0, 0.3, 0.0, 0.6]
    nut = {"nut.seat_angle": angle, "nut.compensation": moves, "nut.seat_depth": 2.4, "nut.thickness": 3.9}
    made = work(nut)
    said, drawing = labelled.numbers(made)["nut"], nut_drawing.draw(made.instrument)
    assert said_on(drawing, "Top one arc R ").startswith(f"Top one arc R {said['top_radius']:.1f} mm (")
    assert f"Seat {both(said['seat_depth'])} below the board's surface" in said_on(drawing, "Seat ")
    assert f"falling 2.0° {way}" in said_on(drawing, "Seat ")
    listed = ", ".join(f"{n}: {both(move)}" for n, move in enumerate(moves, 1))
    assert f"per string: {listed}" in said_on(drawing, "Front edge moved ")


def test_words_of_the_slots() -> None:
    """What saws and what pins are wanted, and which way the blade stands off its pin."""
    made = work({"fret_wire.slot_width": 0.61, "notched_strip": {"pin": 2.3, "pin_clearance": 0.1, "saw_offset": -1.5}})
    ((_, marks),) = lettered.readings(fret_template.draw(made.instrument), ("pdf",))
    assert lettered.sentence(marks, "Slot centres").startswith("Slot centres; saw or cut 0.61 mm (0.024 in) wide")
    (strip,) = notched_strip.strips(made.instrument)
    drawing = notched_strip.draw(made.instrument, strip)
    assert f"Notches {both(2.4)} wide for a pin of {both(2.3)}" in said_on(drawing, "Notches ")
    blade = f"The blade's middle stands {both(1.5)} from the pin's, toward the nut"
    assert blade in " ".join(drawing.notes)


@pytest.mark.parametrize("board", ["plain", "left"])
def test_numbers_of_the_spacing_strip_stand_over_their_strings(board: str) -> None:
    said = numbers(board)
    drawing = nut_spacing_strip.draw(job(board).instrument)
    ((_, marks),) = lettered.readings(drawing, ("svg",))
    row = max(mark.y for mark in marks if mark.text == "6")  # of the first copy; no ruler goes so far
    found = {mark.text: mark.middle for mark in marks if mark.y == row and mark.text.isdigit()}
    places = {str(string["string"]): string["along_nut"] for string in said["strings"]}
    order = sorted(places, key=lambda n: places[n])
    assert sorted(found, key=lambda n: found[n]) == order
    ends = {mark.text: mark.middle for mark in marks if mark.text in ("bass", "treble")}
    assert (ends["treble"] > ends["bass"]) == (places["1"] > places["6"])


# ------------------------------------------------------------------------------------------------------ frets, wire


def test_wire_of_blind_slots() -> None:
    """The tang stops short of the binding on both sides by as much as is nipped off; the wire runs over the edges."""
    made = work({"fingerboard.blind_slot_inset": 2.0, "fret_wire.tang_clearance": 0.4, "fret_wire.overhang": 1.5})
    said = labelled.numbers(made)
    for fret in said["frets"]:
        radius, half = 300.0, fret["width"] / 2
        over = 2 * radius * math.asin(half / radius)  # arc over a chord (any handbook)
        assert fret["wire_cut"] == pytest.approx(over + 2 * 1.5, abs=1e-3)
        blind = 2 * radius * math.asin((half - 2.0) / radius)
        assert fret["tang_length"] == pytest.approx(blind - 2 * 0.4, abs=2e-3)  # the inset is square to the edge
        assert fret["nip_each_end"] == pytest.approx((fret["wire_cut"] - fret["tang_length"]) / 2, abs=1e-8)


def test_the_least_wood_is_the_least() -> None:
    made = work({"fingerboard.radius": 180, "fingerboard.thickness": 6.5})
    least = min(fret["wood_under_slot_at_edge"] for fret in labelled.numbers(made)["frets"])
    most = max(fret["wood_under_slot_at_edge"] for fret in labelled.numbers(made)["frets"])
    assert most - least > 0.5
    (note,) = frets.depth_stops(made.instrument).notes
    assert both(least) in note
