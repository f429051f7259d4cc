"""Every program of six specs, run by an interpreter that is not ours and swept; and mistakes that must be caught.

The interpreter is LinuxCNC's rs274 (``tests/milling.py``); what it tells a machine is swept as tool shapes and compared
with the floors of the instrument model. Limits: 0.01 mm below a floor, 0.02 above, this project's own contract.
"""

from __future__ import annotations

import contextlib
import math
import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import milling
import numpy as np
import pytest
from calls import tool
from making import found, instrument, spec_file, work_of
from milling import RefusedError, Told, interpreted, needs_interpreter
from places import SPECS
from shapely import LineString, Polygon, unary_union

from templategen import job
from templategen.drawing.model import shape_bounds
from templategen.errors import SpecError
from templategen.instrument.model import Instrument
from templategen.parts.mill import board_outline, fret_slots, nut_slots, sweep
from templategen.parts.mill.toolpath import make, programs
from templategen.parts.nut.nut_shape import front_outline, plan_outline
from templategen.parts.register import PARTS
from templategen.writers import ngc

SIX = (
    "15",
    "23",
    "26",
    "31",
    "38",
    "41",
)  # small and flat, multi-scale, a cone, blind slots, twelve strings, left-handed
MILL: dict[str, Any] = {
    "safe_z": 5,
    "tools": [
        tool("flat", 0.58, 3, flute=4),
        tool("ball", 1.0, 4, flute=4),
        tool("vee", 3.0, 6, flute=2.6, tip_angle=60),
        tool("flat", 3.0, 2, flute=12, step_down=1.0, feed=600, plunge=150),
    ],
}
SMALL = {"scale.fret_count": 4, "fret_wire.markers": [3], "fret_wire.doubled_markers": []}


@cache
def fleet(number: str) -> Instrument:
    return job.compute(str(SPECS / f"fleet-{number}.toml"))[1].instrument


@cache
def small(changer: bool = False) -> Instrument:
    return instrument(SMALL, {"mill": {**MILL, "changer": changer}})


def written(i: Instrument) -> dict[str, bytes]:
    """The programs of an instrument that their own check lets pass."""
    made = programs(i)
    assert [product.fault for product in made] == [""] * len(made)
    return {product.stem: ngc.encode(product.program) for product in made}


@cache
def small_ones(changer: bool = False) -> dict[str, bytes]:
    return written(small(changer))


def box_of(i: Instrument, name: str) -> tuple[tuple[Any, Any], float, float]:
    """The stock's box, the overrun beside it and below it."""
    corners, thick = i.board_outline, i.board.thickness
    if name == "nut-slots":
        plan, front = shape_bounds(plan_outline(i.nut, "blank")), shape_bounds(front_outline(i.nut, "blank"))
        widest = max(t.diameter for t in i.milling.nut if t is not None) if i.milling else 0.0
        low = np.array([plan.x0, plan.y0, front.y0 - front.y1])
        return (low, np.array([plan.x1, plan.y1, 0.0])), widest / 2 + 0.5, 0.0
    grown, down = (i.milling.outline.diameter + 1, 0.2) if name == "board-outline" else (0.0, 0.0)  # type: ignore[union-attr]
    low, high = corners.min(0) - grown, corners.max(0) + grown
    open_ends = name == "fret-slots" and i.spec.fingerboard.blind_slot_inset is None
    return (np.array([*low, -thick]), np.array([*high, 0.0])), 1.5 if open_ends else 0.0, down


def faults(i: Instrument, name: str, program: bytes) -> Iterator[str]:
    """Everything that an outsider finds wrong with a program; RefusedError where the interpreter does not take it."""
    assert i.shop.mill is not None
    tools = {t.number: t for t in i.shop.mill.tools}
    told = interpreted(program, i.shop.mill.tools)
    yield from milling.state_faults(told, i.shop.mill.safe_z, *box_of(i, name))
    if name == "board-outline":
        yield from outline_faults(i, told)
    elif name == "fret-slots":
        yield from milling.slot_faults(told, tools, milling.fret_floors(i))
    else:
        top = shape_bounds(front_outline(i.nut, "blank")).y1
        floors = milling.nut_floors(i, top)
        yield from milling.slot_faults(told, tools, [floors[n] for n, t in enumerate(i.milling.nut) if t])  # type: ignore[union-attr]


def outline_faults(i: Instrument, told: Told) -> Iterator[str]:
    """The board stays whole and comes loose but for its tabs: what the cutter takes, as shapely has it."""
    tools = {t.number: t for t in i.shop.mill.tools}  # type: ignore[union-attr]
    board, asked, thick = Polygon(i.board_outline), i.spec.toolpath, i.board.thickness
    radius = tools[told.tools[0]].diameter / 2
    fed = [m.points for m in told.moves if not m.rapid]
    pieces = [(a, b) for points in fed for a, b in pairwise(points) if max(a[2], b[2]) <= 0.0]
    swept = unary_union([LineString([a[:2], b[:2]]).buffer(radius, 32) for a, b in pieces])
    if swept.intersection(board.buffer(-0.01)).area > 1e-6:
        yield "the board is cut into"
    edge = board.buffer(0.02, join_style="mitre").exterior
    low = [LineString([a[:2], b[:2]]).buffer(radius, 32) for a, b in pieces if max(a[2], b[2]) <= -thick - 0.19]
    standing = edge.difference(unary_union(low))
    tabs = [piece for piece in getattr(standing, "geoms", [standing]) if piece.length > 0.3]
    wanted = [asked.tab_width] * asked.tabs
    # the round tool stands back from an edge 0.02 mm outside by a little more than at the edge itself
    give = 2 * (radius - math.sqrt(radius**2 - (radius - 0.02) ** 2))
    if len(tabs) != len(wanted) or any(
        not asked.tab_width <= t.length <= asked.tab_width + 2 * radius + give for t in tabs
    ):
        yield f"tabs of {[round(t.length, 2) for t in tabs]} mm stay, {wanted} wanted"
    down = 0.0
    for _, b in pieces:
        if b[2] < down - tools[told.tools[0]].step_down - 1e-3:
            yield f"{down - b[2]:.3f} in one pass"
        down = min(down, float(b[2]))


@needs_interpreter
@pytest.mark.parametrize("number", SIX)
def test_every_program_leaves_the_floors(number: str) -> None:
    i = fleet(number)
    made = written(i)
    assert set(made) == {"fret-slots", "nut-slots", "board-outline"}
    for name, program in made.items():
        assert list(faults(i, name, program)) == []


@needs_interpreter
@pytest.mark.parametrize("name", ["fret-slots", "nut-slots", "board-outline"])
@pytest.mark.parametrize("changer", [False, True])
def test_head_tells_what_the_moves_are(name: str, changer: bool) -> None:
    i = small(changer)
    text = small_ones(changer)[name].decode("ascii")
    told = interpreted(text.encode(), i.shop.mill.tools)  # type: ignore[union-attr]
    assert list(faults(i, name, text.encode())) == []
    head = text[: text.index("G17")]
    said = re.search(r"Time at these feeds: (\d+) min", head)
    assert said is not None
    assert abs(int(said[1]) - milling.minutes(told)) <= 0.51
    deepest = re.search(r"Deepest Z: (-\d+\.\d+)", head)
    assert deepest is not None
    assert float(deepest[1]) == pytest.approx(min(m.points[:, 2].min() for m in told.moves if not m.rapid), abs=6e-4)
    assert [int(n) for n in re.findall(r"^\(T(\d+): ", head, re.MULTILINE)] == told.tools
    assert i.digest[:12] in head
    assert "Run it in the air first" in " ".join(re.findall(r"\((?:> )?(.*)\)", head))
    stops = len(told.tools) - 1
    assert told.stops == (0 if changer else stops)
    lengths = re.findall(r"^T(\d+) M6\nG43 H(\d+)$", text, re.MULTILINE)
    assert lengths == ([(str(n), str(n)) for n in told.tools] if changer else [])
    assert text.count("M6") == len(lengths)
    assert max(map(len, text.splitlines())) <= 80


# -------------------------------------------------------------------------------------------------- deliberate mistakes


def each(letter: str, change: Callable[[float], float]) -> Callable[[str], str]:
    """Every number of a letter changed, comments left alone."""

    def changed(text: str) -> str:
        lines = text.splitlines(keepends=True)
        new = re.compile(rf"{letter}(-?[\d.]+)")
        return "".join(
            line if line.startswith("(") else new.sub(lambda m: f"{letter}{change(float(m[1])):.4f}", line)
            for line in lines
        )

    return changed


def swap(old: str, new: str, count: int = 0) -> Callable[[str], str]:
    return lambda text: re.sub(old, new, text, count=count, flags=re.MULTILINE)


def without_tabs(text: str) -> str:
    return re.sub(r"^(G1 .*)Z-5\.2( .*)$", r"\1Z-6.4\2", text, flags=re.MULTILINE)


MISTAKES: dict[str, tuple[str, Callable[[str], str]]] = {
    "spindle left off": ("fret-slots", swap(r"^S\d+ M3\n", "")),
    "spindle backward": ("fret-slots", swap("M3$", "M4")),
    "spindle not waited for": ("nut-slots", swap(r"^G4 .*\n", "")),
    "spindle left on at the end": ("fret-slots", swap(r"^M5\n", "")),
    "spindle on while the tool is changed": ("nut-slots", swap(r"^M5\n", "", 1)),
    "a rapid through the stock": ("fret-slots", swap(r"^G1 Z0\.5 F\S+$", "G0 Z-1", 1)),
    "a rapid move across too low": ("fret-slots", swap(r"^(G0 X.*)Z5$", r"\1Z1", 2)),
    "depth doubled": ("fret-slots", each("Z", lambda z: 2 * z if z < 0 else z)),
    "nut's depth doubled": ("nut-slots", each("Z", lambda z: 2 * z if z < 0 else z)),
    "feed missing": ("fret-slots", swap(r" F\S+", "")),
    "feed of zero": ("fret-slots", swap(r" F\S+", " F0", 1)),
    "arc about the wrong centre": ("board-outline", each("I", lambda i: i + 0.5)),
    "arc the other way round": ("board-outline", swap("^G2", "G3")),
    "tools swapped": (
        "nut-slots",
        lambda text: text.replace("now T4", "now T9").replace("now T6", "now T4").replace("now T9", "now T6"),
    ),
    "another cutter in the spindle": ("fret-slots", swap("now T3", "now T4")),
    "Z0 0.05 too low": ("fret-slots", each("Z", lambda z: z - 0.05)),
    "Z0 0.05 too high": ("nut-slots", each("Z", lambda z: z + 0.05)),
    "Z0 on the underside": ("fret-slots", each("Z", lambda z: z + 6.2)),
    "in inches": ("fret-slots", swap("G21", "G20")),
    "incremental": ("fret-slots", swap("G90", "G91")),
    "corners rounded": ("board-outline", swap("^G61$", "G64")),
    "one slot left out": ("fret-slots", swap(r"^\(fret 2\)\n(?s:.*?)(?=^\(fret 3\))", "")),
    "slots 0.05 aside": ("fret-slots", each("X", lambda x: x + 0.05)),
    "nut mirrored": ("nut-slots", each("X", lambda x: -x)),
    "nut turned end for end": ("nut-slots", each("Y", lambda y: 3.4 - y)),
    "no overrun": ("fret-slots", each("Y", lambda y: y * 0.9)),
    "too long an overrun": ("fret-slots", each("Y", lambda y: y * 1.03)),
    "outline without tabs": ("board-outline", without_tabs),
    "outline not through": ("board-outline", each("Z", lambda z: z + 0.25)),
    "outline 0.1 into the board": ("board-outline", each("Y", lambda y: y * 0.995)),
    "no end": ("nut-slots", swap(r"^M2\n", "")),
}


@needs_interpreter
@pytest.mark.parametrize("name", MISTAKES)
def test_mistakes_are_caught(name: str) -> None:
    program, mistake = MISTAKES[name]
    right = small_ones()[program].decode()
    wrong = mistake(right)
    assert wrong != right, "the mistake was not made"
    with contextlib.suppress(RefusedError):
        assert list(faults(small(), program, wrong.encode())) != []


@needs_interpreter
def test_a_pass_deeper_than_the_tool_takes_is_caught() -> None:
    bolder = {**MILL, "tools": [{**t, "step_down": 2 * t["step_down"]} for t in MILL["tools"]]}
    for name, program in written(instrument(SMALL, {"mill": bolder})).items():
        assert any("one pass" in told for told in faults(small(), name, program)), name


# --------------------------------------------------------------------------------------------- what stops a program


def test_no_mill_no_program_and_no_word() -> None:
    work = work_of(instrument(SMALL))
    assert make(work) == ()
    assert not [finding for finding in work.findings if "mill" in finding.code.split("-")]
    assert not [finding for finding in work.findings if "program" in finding.message]


@pytest.mark.parametrize("key", ["feed", "plunge", "speed", "step_down", "flute", "number", "form", "diameter"])
def test_what_only_the_shop_knows_has_no_default(key: str) -> None:
    lacking = {**MILL, "tools": [{k: v for k, v in MILL["tools"][0].items() if k != key}]}
    with pytest.raises(SpecError) as caught:
        instrument(SMALL, {"mill": lacking})
    (problem,) = caught.value.problems
    assert problem.key == ("mill", "tools", 0, key)
    assert problem.message.startswith("missing")


@pytest.mark.parametrize(
    ("tools", "key", "begins"),
    [
        ([], ("mill", "tools"), "is empty"),
        ([tool("vee", 3.0)], ("mill", "tools", 0, "tip_angle"), "missing; a vee needs its full angle"),
        ([tool("flat", 3.0, tip_angle=60)], ("mill", "tools", 0, "tip_angle"), "is of a vee"),
        ([tool("flat", 3.0), tool("ball", 1.0)], ("mill", "tools", 1, "number"), "is the number of two tools"),
        (
            [tool("flat", 3.0, step_down=11)],
            ("mill", "tools", 0, "step_down"),
            "must be at most the length of its flutes",
        ),
    ],
)
def test_tools_in_themselves(tools: list[Any], key: tuple[str | int, ...], begins: str) -> None:
    with pytest.raises(SpecError) as caught:
        instrument(SMALL, {"mill": {"safe_z": 5, "tools": tools}})
    (problem,) = caught.value.problems
    assert problem.key == key
    assert problem.message.startswith(begins)


def test_what_the_mill_cannot_cut_is_told_and_left_out() -> None:
    i = instrument(
        SMALL, {"mill": {**MILL, "tools": [tool("flat", 0.58, 3, flute=1.5), tool("ball", 1.0, 4, flute=4)]}}
    )
    (told,) = found(i, "mill-lacks-tool")
    assert told.message.startswith("No program cuts the fret slots (flat, at most 0.58 mm, flutes 1.90 mm or longer), ")
    assert "the board's outline" in told.message
    assert "the pilot of string 1 (E4) (vee of 60°" in told.message
    assert "string 6" not in told.message
    assert {product.stem for product in programs(i)} == {"nut-slots"}


def spoilt(name: str, change: Callable[[tuple[float, float, float]], tuple[float, float, float]]) -> str:
    """What the part's own check says of a program with the places of its tool changed."""
    i = small()
    product = next(each for each in programs(i) if each.stem == name)
    cuts = tuple(replace(cut, points=tuple(change(p) for p in cut.points)) for cut in product.program.cuts)
    program = replace(product.program, cuts=cuts)
    assert i.milling is not None
    if name == "board-outline":
        return board_outline.fault(i, program)
    assert i.milling.slots is not None
    frets = name == "fret-slots"
    _, patches = fret_slots.program(i, i.milling, i.milling.slots) if frets else nut_slots.program(i, i.milling)
    return sweep.fault(program, patches)


@pytest.mark.parametrize(
    ("name", "change", "told"),
    [
        ("fret-slots", lambda p: (p[0], p[1], p[2] - 0.02), "too deep"),
        ("fret-slots", lambda p: (p[0], p[1], p[2] + 0.03), "too high"),
        ("fret-slots", lambda p: (p[0] + 0.02, p[1], p[2]), "beyond its walls"),
        ("fret-slots", lambda p: (p[0], p[1] * 1.05, p[2]), "leaves the stock by more than its overrun"),
        ("fret-slots", lambda p: (p[0], p[1] * 0.9, p[2]), "fret 1 would "),
        ("nut-slots", lambda p: (p[0], p[1], p[2] - 0.02), "too deep"),
        ("nut-slots", lambda p: (p[0], p[1], p[2] + 0.03), "too high"),
        ("nut-slots", lambda p: (p[0], p[1], p[2] - 9), "goes below the stock"),
        ("board-outline", lambda p: (p[0], p[1] * 0.999, p[2]), "off its place"),
        ("board-outline", lambda p: (p[0], p[1], max(p[2], -5.2)), "would stay standing"),
        ("board-outline", lambda p: (p[0], p[1], -6.4 if p[2] < -5 else p[2]), "0.0 mm of the outline would stay"),
    ],
)
def test_a_program_that_fails_its_own_check(name: str, change: Any, told: str) -> None:
    assert told in spoilt(name, change)
    assert spoilt(name, lambda p: p) == ""


def test_a_failed_check_keeps_the_program_from_being_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sweep, "HIGHER", -1.0)
    with spec_file(SMALL, {"mill": MILL}) as path:
        made = job.make(path, tmp_path, only=["toolpath"])
    assert [name for name, _ in made.files] == ["board-outline.ngc"]
    assert {name for name, _ in made.missing} == {"fret-slots.ngc", "nut-slots.ngc"}
    assert not (made.folder / "fret-slots.ngc").exists()


@needs_interpreter
def test_nut_slots_out_of_a_bar() -> None:
    i = instrument({**SMALL, "nut.stock_form": "bar"}, {"mill": MILL})
    program = written(i)["nut-slots"]
    assert b"a plain bar" in program
    assert list(faults(i, "nut-slots", program)) == []


@needs_interpreter
@pytest.mark.parametrize("radius", [184, 220, 1000])
def test_round_and_flat_boards(radius: float) -> None:
    """The rounder the board, the narrower the cutter that a floor takes; where none is left, no program and a word."""
    i = instrument({**SMALL, "fingerboard.radius": radius}, {"mill": MILL})
    assert i.milling is not None
    if i.milling.slots is None:
        assert radius == 184
        assert "fret-slots" not in written(i)
        assert "the fret slots (flat, at most" in found(i, "mill-lacks-tool")[0].message
    else:
        assert radius > 184
        assert list(faults(i, "fret-slots", written(i)["fret-slots"])) == []


@needs_interpreter
@pytest.mark.parametrize(
    "changes",
    [
        {"toolpath.board": "flat"},
        {"fret_wire.slot_floor": "flat", "toolpath.board": "radiused"},
        {"fingerboard.blind_slot_inset": 2.0},
        {"fingerboard.blind_slot_inset": 2.0, "fret_wire.slot_ends": "round", "fret_wire.slot_width": 0.62},
        {"fret_wire.slot_width": 0.62, "nut.slot_back_angle": 18},
        {"toolpath.tabs": 0, "fingerboard.radius": "flat"},
        {"nut.compensation": [0.6, 0.3, 0.0, 0.5, 0.2, 0.0], "nut.seat_radius": "board"},
        {"title": "Schüler (Nr. 3), Print, \u201eMSG\u201c 25° — neu"},
    ],
)
def test_other_boards_and_nuts(changes: dict[str, Any]) -> None:
    i = instrument({**SMALL, **changes}, {"mill": MILL})
    for name, program in written(i).items():
        assert list(faults(i, name, program)) == [], name


def test_a_program_says_what_it_rests_on_that_nobody_measured() -> None:
    part = next(part for part in PARTS if part.name == "toolpath")
    unmeasured = instrument({**SMALL, "fret_wire.tang_depth": None}, {"mill": MILL})
    for i, guessed in ((unmeasured, True), (small(), False)):
        (product, *_) = part.make(work_of(i))
        head = ngc.encode(product.content("ngc")).decode()
        assert ("est. Sizes here rest on what nobody measured: the fret wire" in head.replace("\n(> ", " ")) == guessed


def test_flutes_that_do_not_reach_are_not_used() -> None:
    """Of each kind of tool: 1.90 mm into the board, over 0.8 mm into the nut."""
    short = {**MILL, "tools": [{**t, "flute": 0.7, "step_down": 0.3} for t in MILL["tools"]]}
    i = instrument(SMALL, {"mill": short})
    assert programs(i) == ()
    (told,) = found(i, "mill-lacks-tool")
    assert "the slot of string 6 (E2) (ball" in told.message
    assert "the pilot of string 5 (A2) (vee" in told.message
