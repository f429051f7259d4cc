"""The nut's cut file, read back: closed outline and slots, equal gaps, true arcs, slot lines in space, nothing else."""

from __future__ import annotations

import csv
import io
import itertools
import math
from typing import Any

import ezdxf
import numpy as np
import pytest
from ezdxf.math import bulge_center, bulge_radius
from ezdxf.path import make_path
from making import FAN, instrument, work_of
from places import SPECS
from shapely.geometry import Polygon

from templategen import job
from templategen.instrument.model import Instrument
from templategen.parts.nut import files as nut
from templategen.parts.sheet import tables
from templategen.writers import dxf

MOVED = {"nut.compensation": [0.6, 0.3, 0.9, 0.2, 0.3, 0.1]}
FLEET = ("07", "12", "23", "26", "38", "41", "44", "47", "52")


def fleet(number: str) -> Instrument:
    return job.compute(str(SPECS / f"fleet-{number}.toml"))[1].instrument


def read(made: Instrument) -> Any:
    return ezdxf.read(io.StringIO(dxf.encode(nut.draw_cut(made)).decode())).modelspace()


def floors(space: Any) -> list[tuple[float, float, float]]:
    """Per slot, treble side of a right-handed nut last: centre x, floor z and radius, from the floor's arc."""
    found = []
    for slot in space.query("LWPOLYLINE[layer=='NUT_SLOT']"):
        points = slot.get_points("xyb")
        (x0, y0, bulge), (x1, y1, _) = points[0], points[1]
        assert bulge > 0, "the floor comes first and hangs down"
        centre, radius = bulge_center((x0, y0), (x1, y1), bulge), bulge_radius((x0, y0), (x1, y1), bulge)
        found.append((centre.x, centre.y - radius, radius))
    return sorted(found)


@pytest.fixture(scope="module", params=FLEET)
def made(request: pytest.FixtureRequest) -> Instrument:
    return fleet(request.param)


def test_holds_the_outline_slots_and_slot_lines_and_nothing_else(made: Instrument) -> None:
    space = read(made)
    kinds = sorted((e.dxf.layer, e.dxftype()) for e in space)
    count = len(made.plan.gauges)
    want = [("NUT_SLOT", "LWPOLYLINE")] * count + [("OUTLINE", "LWPOLYLINE")] + [("SLOT_PATH", "POLYLINE")] * count
    assert kinds == want
    assert all(e.closed for e in space.query("LWPOLYLINE"))


def test_clear_gaps_between_strings(made: Instrument) -> None:
    """equal_gap: gaps between string sides, square to the centreline, are one; in courses, those between them."""
    if made.spec.nut.spacing not in ("equal_gap", "equal_centre"):
        pytest.skip("a mix of the laws")
    slant = math.cos(math.radians(made.plan.nut_slant_deg))
    x = np.array([centre for centre, _, _ in floors(read(made))]) * slant
    gauges = np.array([s.gauge for s in made.spec.strings.set])[:: -1 if made.side > 0 else 1]
    gaps = np.diff(x) - (gauges[1:] + gauges[:-1]) / 2
    if made.nut.shift.any() or made.spec.scale.zero_fret:  # these edges stand where the strings have come together
        assert np.ptp(gaps) < 0.02
        return
    numbers = list(range(len(gauges)))[:: -1 if made.side > 0 else 1]
    course = {s: n for n, strings in enumerate(made.plan.courses) for s in strings}
    inner = [g for g, (a, b) in zip(gaps, itertools.pairwise(numbers), strict=True) if course[a] == course[b]]
    between = [g for g, (a, b) in zip(gaps, itertools.pairwise(numbers), strict=True) if course[a] != course[b]]
    assert between == pytest.approx([between[0]] * len(between), abs=1e-6)
    assert inner == pytest.approx([made.spec.nut.course_gap] * len(inner), abs=1e-6)


def test_slots_by_the_numbers(made: Instrument) -> None:
    """Each where its line, from where the string leaves it, passes the outline's plane, y = 0."""
    rows = sorted(tables.strings(made), key=lambda row: row["along_nut"])
    for (x, z, radius), row in zip(floors(read(made)), rows, strict=True):
        (x0, y0, z0), (x1, y1, z1) = row["slot_line_start"], row["slot_line_end"]
        share = -y0 / (y1 - y0)
        assert (x0, z0) == pytest.approx((row["along_nut"], row["floor_above_seat"]), abs=1e-6)
        assert x == pytest.approx(x0 + share * (x1 - x0), abs=1e-6)
        assert z == pytest.approx(z0 + share * (z1 - z0), abs=1e-6)
        assert 2 * radius == pytest.approx(row["slot_width"], abs=1e-6)


def test_slot_lines_in_space_are_those_of_strings_csv(made: Instrument) -> None:
    text = next(p for p in tables.make(work_of(made)) if p.stem == "strings").text()
    listed = [
        tuple(float(row[f"slot_line_{end}_{axis}"]) for end in ("start", "end") for axis in "xyz")
        for row in csv.DictReader(io.StringIO(text))
    ]
    drawn = []
    for line in read(made).query("POLYLINE"):  # drawn x along the nut, y up, z toward the viewer at the bridge
        a, b = line.points()
        drawn.append((a.x, -a.z, a.y, b.x, -b.z, b.y))
    for have, want in zip(sorted(drawn), sorted(listed), strict=True):
        assert have == pytest.approx(want, abs=1e-6)
    for x0, y0, z0, x1, y1, z1 in listed:
        back = next(row for row in tables.strings(made) if abs(row["along_nut"] - x0) < 1e-6)
        assert math.degrees(math.atan2(z0 - z1, math.hypot(x1 - x0, y1 - y0))) == pytest.approx(back["back_angle_deg"])
        assert y1 == pytest.approx(made.spec.nut.thickness, abs=1e-9)


def test_the_outline_is_arcs_and_lines_of_the_stated_sizes(made: Instrument) -> None:
    (outline,) = read(made).query("LWPOLYLINE[layer=='OUTLINE']")
    points = outline.get_points("xyb")
    arcs = []
    for (x0, y0, bulge), (x1, y1, _) in zip(points, [*points[1:], points[0]], strict=True):
        if bulge:
            arcs.append((bulge_radius((x0, y0), (x1, y1), bulge), max(y0, y1)))
    eased = [radius for radius, _ in arcs if radius < 2]
    assert eased == pytest.approx([made.spec.nut.edge_rounding] * 2, abs=1e-6)
    large = [radius for radius, _ in sorted(arcs, key=lambda arc: arc[1]) if radius > 2]
    want = [] if math.isinf(made.nut.seat_radius) else [made.nut.seat_radius]
    want += [] if made.nut.top.straight else [made.nut.top.radius]
    assert large == pytest.approx(want, rel=1e-6)
    x = [point[0] for point in points]
    assert (min(x), max(x)) == pytest.approx(tuple(made.nut.front_ends), abs=1e-6)


def test_slots_open_at_the_top_and_lie_in_the_outline(made: Instrument) -> None:
    space = read(made)
    (outline,) = (flat(e) for e in space.query("LWPOLYLINE[layer=='OUTLINE']"))
    assert outline.is_valid
    for entity in space.query("LWPOLYLINE[layer=='NUT_SLOT']"):
        slot = flat(entity)
        assert slot.is_valid
        assert slot.difference(outline).area < 1e-3 * slot.area
        shared = slot.boundary.intersection(outline.boundary.buffer(2e-4)).length
        assert shared > 0.5 * (slot.bounds[2] - slot.bounds[0]), "the slot's upper side is the outline's"


def flat(entity: Any) -> Polygon:
    points = [(round(v.x, 6), round(v.y, 6)) for v in make_path(entity).flattening(1e-4)]
    return Polygon([a for a, b in itertools.pairwise([*points, points[0]]) if a != b])


@pytest.mark.parametrize("changes", [MOVED, {**FAN, **MOVED, "nut.compensation_by": "board"}])
def test_moved_front_edges_start_their_own_lines(changes: dict[str, Any]) -> None:
    made = instrument(changes)
    starts = sorted((line[0].dxf.location.x, line[0].dxf.location.z) for line in read(made).query("POLYLINE"))
    want = sorted(zip(made.nut.along.tolist(), made.nut.forward.tolist(), strict=True))
    assert np.array(starts) == pytest.approx(np.array(want), abs=1e-6)


def test_notes_say_what_is_shown() -> None:
    def note(changes: dict[str, Any]) -> str:
        return nut.draw_cut(instrument(changes)).notes[0]

    assert note({}) == "Finished sizes, ends eased R 0.50; no allowances, no kerf taken off; 3.40 mm thick."
    assert "run slanted through the nut" in note(FAN)
    assert "4.30 mm thick. Slots are drawn where they pass this outline's plane" in note(
        {**MOVED, "nut.compensation_by": "board"}
    )
