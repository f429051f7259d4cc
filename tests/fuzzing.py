"""Whole specs as hypothesis builds them, and what must hold of every one: tests and tests/bench/fuzz.py share them.

Terms
-----
plausible   within what instruments are
near        the same with one or two values at or past what can be made
wild        every value anywhere that a reader of numbers lets through, and some that it does not
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import ezdxf
import ezdxf.path
from hypothesis import strategies as st
from making import SPEC, changed, spec_file
from shapely import Polygon
from shapely.validation import explain_validity

from templategen import job
from templategen.errors import SpecError
from templategen.instrument.model import Instrument

NOTES = ["E4", "B3", "G3", "D3", "A2", "E2", "B1", "E1"]
GAUGES = [0.25, 0.33, 0.43, 0.66, 0.91, 1.17, 1.6, 2.4]
FLAT_DECIMALS = 3
LEAST_WOOD = 0.8  # mm under a slot: as the finding says it
LEAST_FELT = 0.0005  # mm: less of a gap is none
CROSSING_WITHIN = 5e-4  # mm: how far chords leave the arcs that they stand for


def between(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False).map(lambda x: round(x, FLAT_DECIMALS))


@st.composite
def plausible(draw: Callable[[Any], Any]) -> dict[str, Any]:
    """Changes to the plain board that make another sane instrument."""
    count = draw(st.integers(4, 8))
    frets = draw(st.integers(1, 27))
    length = draw(between(330, 870))
    width = draw(between(6.0, 8.5)) * count
    change: dict[str, Any] = {
        "handedness": draw(st.sampled_from(["right", "left"])),
        "scale.length": length,
        "scale.fret_count": frets,
        "fret_wire.markers": [],
        "fret_wire.doubled_markers": [],
        "fingerboard.width_at_nut": width,
        "fingerboard.width_at_last_fret": round(width + draw(between(0.0, 14.0)), 3),
        "fingerboard.beyond_last_fret": draw(between(0.0, 12.0)),
        "bridge.string_spread": round(width * draw(between(1.1, 1.4)), 3),
        "strings.set": [
            {"gauge": GAUGES[n], "note": NOTES[n], **({"wound": True} if n > 2 else {})} for n in range(count)
        ],
        "nut.edge_margin": draw(between(2.4, 4.0)),
        "nut.thickness": draw(between(3.0, 7.0)),
        "nut.edge_rounding": draw(st.sampled_from([0.0, 0.01, 0.3, 0.5, 1.0])),
        "setup.first_fret_clearance": {"bass": draw(between(0.3, 0.8)), "treble": draw(between(0.2, 0.5))},
        "setup.action": {
            "fret": max(2, min(12, frets)),
            "bass": draw(between(1.5, 2.8)),
            "treble": draw(between(1.2, 2.2)),
        },
        "setup.relief": None if frets < 3 else draw(between(0.0, 0.4)),
    }
    if draw(st.booleans()):
        change |= {
            "scale.length": None,
            "scale.bass": round(length + draw(between(5, 45)), 3),
            "scale.treble": length,
            "scale.square_fret": draw(between(0, min(12, frets))),
        }
    surface = draw(st.sampled_from(["round", "flat", "cone"]))
    if surface == "flat":
        change["fingerboard.radius"] = "flat"
    elif surface == "cone":
        first = draw(between(180, 320))
        change |= {
            "fingerboard.radius": None,
            "fingerboard.radius_at_nut": first,
            "fingerboard.radius_at_last_fret": round(first + draw(between(20, 200)), 3),
        }
    else:
        change["fingerboard.radius"] = draw(between(180, 510))
    if draw(st.booleans()):
        change["fingerboard.blind_slot_inset"] = draw(between(0.8, 2.5))
    change["fret_wire.slot_ends"] = draw(st.sampled_from(["square", "round"]))
    if draw(st.booleans()):
        change["nut.compensation"] = draw(st.one_of(between(0.0, 0.8), st.just("best_fit")))
        change["nut.compensation_by"] = draw(st.sampled_from(["shelf", "board"]))
    return change


EDGES: dict[str, st.SearchStrategy[Any]] = {
    "scale.fret_count": st.sampled_from([1, 2, 3, 36]),
    "fingerboard.width_at_last_fret": between(20, 120),
    "fingerboard.beyond_last_fret": between(-20, 60),
    "fingerboard.thickness": between(1.5, 12),
    "fret_wire.slot_width": between(0.2, 1.2),
    "fret_wire.tang_depth": between(0.5, 4.0),
    "bridge.string_spread": between(5, 120),
    "nut.seat_depth": between(0.2, 12),
    "nut.edge_rounding": between(0.0, 3.0),
    "nut.slot_back_angle": between(0, 30),
    "nut.seat_radius": st.sampled_from(["board", 60.0, 300.0]),
    "nut.seat_angle": between(-10, 10),
    "nut.string_depth": between(0.1, 1.5),
    "setup.action": st.builds(
        lambda fret, bass, treble: {"fret": fret, "bass": bass, "treble": treble},
        st.sampled_from([1, 2, 5, 12, 20]),
        between(0.05, 6),
        between(0.05, 6),
    ),
    "setup.first_fret_clearance": between(0.0, 2.0),
    "strings.courses": st.sampled_from([[[1, 2], [3, 4]], [[1, 2, 3]]]),
    "radius_gauge.string_arc_at": between(10, 700),
}


@st.composite
def near(draw: Callable[[Any], Any]) -> dict[str, Any]:
    change: dict[str, Any] = draw(plausible())
    for key in draw(st.lists(st.sampled_from(sorted(EDGES)), min_size=1, max_size=2, unique=True)):
        change[key] = draw(EDGES[key])
    return change


ANY = st.one_of(
    st.floats(width=32),
    st.integers(-(10**6), 10**6),
    st.text(st.characters(codec="ascii", exclude_characters='\\"', min_codepoint=32), max_size=8),
    st.booleans(),
    st.lists(st.floats(-10, 1000), max_size=8),
)


@st.composite
def wild(draw: Callable[[Any], Any]) -> dict[str, Any]:
    change: dict[str, Any] = draw(near())
    for key in draw(st.lists(st.sampled_from(sorted({*change, *EDGES})), min_size=1, max_size=5, unique=True)):
        change[key] = draw(ANY)
    return change


SPECS = st.one_of(plausible(), near(), wild())


def build(change: dict[str, Any]) -> bool:
    """Compute it; whether it can be made. Only a SpecError may come, and nothing may say that a number is none."""
    refused = ""
    with spec_file(change, name="fuzz") as path:
        try:
            _, work = job.compute(path)
        except SpecError as error:
            refused = str(error)
    if refused:
        assert not re.search(r"\bnan\b|\binf\b", _own_words(refused)), refused
        return False
    made = work.instrument
    for finding in work.findings:
        assert not re.search(r"\bnan\b|[-−]0\.0+°|[-−]0\.0+ mm", finding.message), finding.message
    codes = {finding.code for finding in work.findings}
    _agree(codes, work.instrument)
    for fret in made.frets:
        assert all(math.isfinite(value) for value in (fret.from_nut, fret.wire_cut, fret.wood_under_slot_at_edge))
    for string in made.strings:
        assert math.isfinite(string.slot.depth)
        assert math.isfinite(string.saddle_height)
    return True


def _agree(codes: set[str], made: Instrument) -> None:
    """Findings and the numbers they speak of: either both or none."""
    board, last = made.spec.fingerboard, made.plan.taper.width(made.plan.centre_x[-1])
    for code, holds in {
        "string-above-nut": any(slot.depth <= 0 for slot in made.nut.slots),
        "little-wood-under-slot": min(fret.wood_under_slot_at_edge for fret in made.frets) < LEAST_WOOD,
        "negative-pressed-gap": min(string.pressed_gap for string in made.strings) < -LEAST_FELT,
        "board-narrows": last < board.width_at_nut,
    }.items():
        assert (code in codes) == holds, f"{code}: {'told' if code in codes else 'not told'}"


def _own_words(text: str) -> str:
    """What is said apart from lines that quote the spec: its values may be anything."""
    return "\n".join(line for line in text.splitlines() if " = " not in line)


def make(change: dict[str, Any], folder: Path, solids: bool = False) -> bool:
    """Write it and read the cut files back; whether it was made. A failure writes nothing."""
    with spec_file(change, name="fuzz") as path:
        try:
            kinds = {"formats": ["step"]} if solids else {"formats": ["dxf", "svg", "csv", "json"]}
            made = job.make(path, folder, **kinds)  # type: ignore[arg-type]
        except SpecError:
            assert not (folder / "fuzz").exists()
            return False
    assert not made.missing, made.missing
    if not solids:
        json.loads((made.folder / "numbers.json").read_text(), parse_constant=lambda word: 1 / 0)
        for path in sorted(made.folder.glob("*-beam.dxf")):
            read_cut(path)
            read_cut(path.with_name(path.name.replace("-beam", "")))
    else:
        for path in sorted(made.folder.glob("*.step")):
            read_step(path)
    return True


def read_cut(path: Path) -> int:
    """Audit a cut file (ezdxf) and judge every contour (shapely): closed, simple; how many there are."""
    document = ezdxf.readfile(path)  # type: ignore[attr-defined]
    assert not document.audit().errors, path.name
    contours = [e for e in document.modelspace().query("LWPOLYLINE") if e.dxf.layer != "ENGRAVE"]
    for contour in contours:
        assert contour.closed, f"{path.name}: an open contour"
        points = [(p.x, p.y) for p in ezdxf.path.make_path(contour).flattening(CROSSING_WITHIN)]
        assert Polygon(points).is_valid, f"{path.name}: {explain_validity(Polygon(points))}"
    return len(contours)


def read_step(path: Path) -> None:
    """Read a solid back from its file: one, valid, in millimetres of an instrument's size."""
    import cadquery

    shape = cadquery.importers.importStep(str(path)).val()
    assert shape.isValid(), path.name
    assert len(shape.Solids()) == 1 or path.stem == "press-caul", path.name
    box = shape.BoundingBox()
    assert max(box.xlen, box.ylen, box.zlen) < 1200, path.name
    assert shape.Volume() > 1, path.name


def text_of(change: dict[str, Any]) -> str:
    """The spec as a file, to report it."""
    return changed(SPEC, change)
