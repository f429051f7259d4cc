"""The nut's cut file, read back: one closed contour with its slots as notches, equal gaps, true arcs, nothing else."""

from __future__ import annotations

import io
import itertools
import math
from typing import Any

import ezdxf
import numpy as np
import pytest
from ezdxf.math import bulge_center, bulge_radius
from ezdxf.path import make_path
from making import FAN, instrument
from places import SPECS
from reading import polygon
from shapely.geometry import Polygon

from templategen import job
from templategen.instrument.model import Instrument
from templategen.parts.nut import files as nut
from templategen.parts.nut import nut_shape
from templategen.tables import strings
from templategen.writers import dxf

MOVED = {"nut.compensation": [0.6, 0.3, 0.9, 0.2, 0.3, 0.1]}
FLEET = ("07", "12", "23", "26", "38", "41", "44", "47", "52")


def fleet(number: str) -> Instrument:
    return job.compute(str(SPECS / f"fleet-{number}.toml"))[1].instrument


def read(made: Instrument) -> Any:
    return ezdxf.read(io.StringIO(dxf.encode(nut.cut_sheets(made)[0].drawing).decode())).modelspace()


def floors(space: Any) -> list[tuple[float, float, float]]:
    """Per slot, by rising x: centre x, floor z and radius, from the arcs that the contour runs clockwise."""
    (contour,) = space
    points, found = contour.get_points("xyb"), []
    for (x0, y0, bulge), (x1, y1, _) in zip(points, [*points[1:], points[0]], strict=True):
        radius = bulge_radius((x0, y0), (x1, y1), bulge) if bulge < 0 else math.inf
        if radius < 3:
            centre = bulge_center((x0, y0), (x1, y1), bulge)
            found.append((centre.x, centre.y - radius, radius))
    return sorted(found)


@pytest.fixture(scope="module", params=FLEET)
def made(request: pytest.FixtureRequest) -> Instrument:
    return fleet(request.param)


def test_is_one_closed_contour_and_nothing_else(made: Instrument) -> None:
    (contour,) = read(made)
    assert (contour.dxf.layer, contour.dxftype()) == ("OUTLINE", "LWPOLYLINE")
    assert contour.closed
    assert flat(contour).is_valid
    assert len(floors(read(made))) == len(made.plan.gauges)


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
    rows = sorted(strings.facts(made).records(), key=lambda row: row["along_nut"])
    for (x, z, radius), row in zip(floors(read(made)), rows, strict=True):
        (x0, y0, z0), (x1, y1, z1) = row["slot_line_start"], row["slot_line_end"]
        share = -y0 / (y1 - y0)
        assert (x0, z0) == pytest.approx((row["along_nut"], row["floor_above_seat"]), abs=1e-6)
        assert x == pytest.approx(x0 + share * (x1 - x0), abs=1e-6)
        assert z == pytest.approx(z0 + share * (z1 - z0), abs=1e-6)
        assert 2 * radius == pytest.approx(row["slot_width"], abs=1e-6)


def test_the_outline_is_arcs_and_lines_of_the_stated_sizes(made: Instrument) -> None:
    (outline,) = read(made).query("LWPOLYLINE[layer=='OUTLINE']")
    points = outline.get_points("xyb")
    arcs = []
    for (x0, y0, bulge), (x1, y1, _) in zip(points, [*points[1:], points[0]], strict=True):
        if bulge and (bulge > 0 or bulge_radius((x0, y0), (x1, y1), bulge) > 3):
            arcs.append((bulge_radius((x0, y0), (x1, y1), bulge), max(y0, y1)))
    eased = [radius for radius, _ in arcs if radius < 2]
    assert eased == pytest.approx([made.spec.nut.edge_rounding] * 2, abs=1e-6)
    large = [radius for radius, _ in sorted(arcs, key=lambda arc: arc[1]) if radius > 2]
    want = [] if math.isinf(made.nut.seat_radius) else [made.nut.seat_radius]
    want += [] if made.nut.top.straight else [made.nut.top.radius] * (len(made.nut.along) + 1)
    assert large == pytest.approx(want, rel=1e-6)
    x = [point[0] for point in points]
    assert (min(x), max(x)) == pytest.approx(tuple(made.nut.front_ends), abs=1e-6)


def test_notches_are_what_the_finished_outline_loses(made: Instrument) -> None:
    """Outline less notched contour: one piece a slot, as wide as the slot where it is open, up to the top."""
    (contour,) = read(made)
    whole = polygon(nut_shape.front_outline(made.nut, "finished"), 3000)
    lost = list(whole.buffer(-2e-3).difference(flat(contour).buffer(1e-3)).geoms)
    assert len(lost) == len(made.nut.along)
    order = np.argsort(made.nut.along)
    for piece, n, (_, floor, _) in zip(
        sorted(lost, key=lambda p: p.centroid.x), order, floors(read(made)), strict=True
    ):
        x0, z0, x1, _ = piece.bounds
        assert x1 - x0 <= made.nut.width[n] + 1e-3
        assert z0 == pytest.approx(floor, abs=2e-3)
        assert piece.distance(whole.exterior) < 3e-3


def flat(entity: Any) -> Polygon:
    points = [(round(v.x, 6), round(v.y, 6)) for v in make_path(entity).flattening(1e-4)]
    return Polygon([a for a, b in itertools.pairwise([*points, points[0]]) if a != b])


def test_a_slot_that_the_beam_cannot_enter_is_left_to_the_saw() -> None:
    made = instrument({}, {"beam_kerf": 0.3})
    finished, beam = nut.cut_sheets(made)
    narrow = [n + 1 for n, width in enumerate(made.nut.width) if width < 0.33]
    assert narrow == [1]
    assert any("too wide for the slots of string 1" in note for note in finished.drawing.notes)
    space = ezdxf.read(io.StringIO(dxf.encode(beam.drawing).decode())).modelspace()
    assert len(floors(space)) == 5


def test_notes_say_what_is_shown() -> None:
    def note(changes: dict[str, Any]) -> str:
        return " ".join(nut.cut_sheets(instrument(changes))[0].drawing.notes)

    plain = note({})
    assert "Material: bone or the like, 3.40 mm thick. Side: its front face up, seen from the bridge." in plain
    assert "Allowances: none; ends eased R 0.50." in plain
    assert "in the nut they run slanted" in note(FAN)
    moved = note({**MOVED, "nut.compensation_by": "board"})
    assert "Material: bone or the like, 4.30 mm thick" in moved
    assert "Slots are drawn where they pass this outline's plane" in moved
