"""Fingerboards as solids: volumes by closed forms and by integration, surfaces and slots measured on the STEP file."""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from making import FAN, instrument, work_of
from probing import faces, ray_z
from scipy.integrate import dblquad, quad
from shapely import Polygon

from templategen.errors import OurBug
from templategen.instrument.model import Instrument
from templategen.parts.board import fingerboard, slot_outline
from templategen.solids.combine import cut
from templategen.solids.shape import Solid
from templategen.writers import step

CONE: dict[str, Any] = {
    "fingerboard.radius": None,
    "fingerboard.radius_at_nut": 254,
    "fingerboard.radius_at_last_fret": 254 * 52 / 35,
}
FANNED: dict[str, Any] = {**FAN, **CONE, "fingerboard.beyond_last_fret": 12, "handedness": "left"}


def reread(solid: Solid, folder: Path) -> Solid:
    """The solid as a STEP reader sees it."""
    from OCP.STEPControl import STEPControl_Reader
    from OCP.TopoDS import TopoDS

    path = folder / "board.step"
    path.write_bytes(step.encode(solid))
    reader = STEPControl_Reader()
    assert reader.ReadFile(str(path)) == 1
    reader.TransferRoots()
    return Solid(TopoDS.Solid_s(reader.OneShape()))


Made = tuple[Instrument, Solid]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Callable[..., Made]:
    """Boards, each built and read back once."""
    kept: dict[str, Made] = {}

    def build(name: str, changes: dict[str, Any], flat_top: bool = False) -> Made:
        if name not in kept:
            i = instrument(changes)
            solid = fingerboard.solid(i, flat_top)
            read = reread(solid, tmp_path_factory.mktemp("step"))
            assert read.valid
            assert read.volume == pytest.approx(solid.volume, rel=1e-9)
            kept[name] = i, read
        return kept[name]

    return build


def half_width(x: float, last: float) -> float:
    return (43 + 12 * x / last) / 2


def test_flat_board_in_closed_form(made: Callable[..., Made]) -> None:
    i, solid = made("flat", {"fingerboard.radius": "flat"})
    last = float(i.plan.centre_x[-1])
    length = last + 8
    area = (43 + 2 * half_width(length, last)) / 2 * length
    slots = sum(0.58 * 2 * half_width(float(x), last) for x in i.plan.centre_x)
    assert solid.volume == pytest.approx(area * 6.2 - slots * 1.9, rel=1e-9)
    assert {face.kind for face in faces(solid)} == {"plane"}


def segment(radius: float, half: float) -> float:
    """Area between a chord's tangent at the crown and the arc: ∫(R − √(R² − y²))dy over ±half."""
    return 2 * half * radius - half * math.sqrt(radius**2 - half**2) - radius**2 * math.asin(half / radius)


def test_cylinder_board_in_closed_form(made: Callable[..., Made]) -> None:
    """A concentric slot takes the sector between R and R − d: closed form for square slots on a cylinder."""
    i, solid = made("cylinder", {})
    last = float(i.plan.centre_x[-1])
    whole, _ = quad(lambda x: 2 * half_width(x, last) * 6.2 - segment(300, half_width(x, last)), 0, last + 8)

    def floor(half: float) -> float:
        return 2 * half * 1.9 + segment(298.1, half) - segment(300, half)

    slots = sum(quad(lambda x: floor(half_width(x, last)), at - 0.29, at + 0.29)[0] for at in i.plan.centre_x)
    assert solid.volume == pytest.approx(whole - slots, rel=1e-8)
    assert {round(f.radius, 6) for f in faces(solid) if f.kind == "cylinder"} == {300.0, 298.1}


def test_cone_board_by_integration(made: Callable[..., Made]) -> None:
    """dblquad over circles of radius R(x) inside the plan outline, which is slanted here; 0.01 %."""
    i, solid = made("cone", FANNED)
    last = float(i.plan.centre_x[-1])

    def radius(x: float) -> float:
        return 254 + (254 * 52 / 35 - 254) * x / last

    def volume_over(outline: Polygon, height: Callable[[float, float], float]) -> float:
        x0, _, x1, _ = outline.bounds

        def side(x: float, which: int) -> float:
            line = outline.intersection(Polygon([(x, -99), (x + 1e-9, -99), (x + 1e-9, 99), (x, 99)]))
            return float(line.bounds[which]) if not line.is_empty else 0.0

        xs = sorted({x0, x1, *(p[0] for p in outline.exterior.coords)})
        total = 0.0
        for a, b in pairwise(xs):
            if b - a > 1e-6:
                low, high = (lambda x: side(x, 1)), (lambda x: side(x, 3))
                total += dblquad(lambda y, x: height(x, y), a, b, low, high, epsabs=1e-4, epsrel=1e-6)[0]
        return total

    def top(x: float, y: float) -> float:
        return 6.2 + math.sqrt(radius(x) ** 2 - y * y) - radius(x)

    whole = volume_over(Polygon(i.plan.outline), top)
    slots = sum(Polygon(o.points).area * 1.9 for o in slot_outline.outlines(i))
    assert solid.volume == pytest.approx(whole - slots, rel=1e-4)


def test_sections_of_the_cone_are_the_intended_circles(made: Callable[..., Made]) -> None:
    i, solid = made("cone", FANNED)
    last = float(i.plan.centre_x[-1])
    (cone,) = {round(f.half_angle_deg, 9) for f in faces(solid) if f.kind == "cone"}
    assert cone == pytest.approx(math.degrees(math.atan((254 * 52 / 35 - 254) / last)), abs=1e-8)
    slots = [Polygon(o.points).buffer(0.1) for o in slot_outline.outlines(i)]
    checked = 0
    for x in (3.0, 60.0, 170.0, 301.0, 420.0):
        radius = 254 + (254 * 52 / 35 - 254) * x / last
        for y in np.linspace(-0.99, 0.99, 9) * half_width(x, last):
            spot = Polygon([(x - 0.01, y - 0.01), (x + 0.01, y - 0.01), (x, y + 0.01)])
            if any(slot.intersects(spot) for slot in slots) or not Polygon(i.plan.outline).contains(spot):
                continue
            assert ray_z(solid, x, float(y))[-1] == pytest.approx(math.sqrt(radius**2 - y * y) - radius, abs=1e-3)
            checked += 1
    assert checked > 35


@pytest.mark.parametrize(
    ("name", "changes", "flat_top"),
    [
        ("cylinder", {}, False),
        ("cone", FANNED, False),
        ("level floors", {"fret_wire.slot_floor": "flat"}, False),
        ("flat top", FANNED, True),
    ],
)
def test_floors_of_the_slots(made: Callable[..., Made], name: str, changes: dict[str, Any], flat_top: bool) -> None:
    i, solid = made(name, changes, flat_top)
    for row in (0, 10, 20):
        start, end = i.plan.bass_ends[row], i.plan.treble_ends[row]
        for share in (0.02, 0.3, 0.5, 0.9):
            x, y = (start + share * (end - start)).tolist()
            radius = float(i.board.radius(x))
            want = math.sqrt((radius - 1.9) ** 2 - y * y) - radius
            if flat_top or i.frets.flat_floor:
                want = -float(i.frets.depth_stop_flat[row])
            assert ray_z(solid, x, y)[-1] == pytest.approx(want, abs=1e-3)
        outward = (end - start) / np.hypot(*(end - start)) * 0.02
        assert len(ray_z(solid, *(start + outward).tolist())) == 2
        assert ray_z(solid, *(start - outward).tolist()) == ()


@pytest.mark.parametrize("ends", ["square", "round"])
def test_blind_slots_end_where_they_should(made: Callable[..., Made], ends: str) -> None:
    changes = {"fingerboard.blind_slot_inset": 1.5, "fret_wire.slot_ends": ends, "fingerboard.radius": "flat"}
    i, solid = made(f"blind {ends}", changes)
    for row in (0, 20):
        a, b = i.plan.slot_bass_ends[row], i.plan.slot_treble_ends[row]
        inward = (b - a) / np.hypot(*(b - a)) * 0.01
        for point, sign in ((a, 1), (b, -1)):
            assert ray_z(solid, *(point + sign * inward).tolist())[-1] == pytest.approx(-1.9)
            assert ray_z(solid, *(point - sign * inward).tolist())[-1] == pytest.approx(0, abs=1e-9)
            beside = point + sign * inward + np.array([0.25, 0.0])
            assert ray_z(solid, *beside.tolist())[-1] == pytest.approx(-1.9 if ends == "square" else 0, abs=1e-9)


def test_flat_top_variant_has_level_everything(made: Callable[..., Made]) -> None:
    i, solid = made("flat top", FANNED, True)
    assert {face.kind for face in faces(solid)} == {"plane"}
    assert solid.extent.high[2] == pytest.approx(0, abs=1e-9)
    assert solid.extent.low[2] == pytest.approx(-i.board.thickness, abs=1e-9)


def test_names_and_files() -> None:
    i = instrument({"title": "Loan fleet 99: test"})
    assert [(p.stem, p.formats) for p in fingerboard.make(work_of(i))] == [
        ("fingerboard", ("step",)),
        ("fingerboard-flat", ("step",)),
    ]
    flat = instrument({"fingerboard.radius": "flat"})
    assert [p.stem for p in fingerboard.make(work_of(flat))] == ["fingerboard"]
    solid = fingerboard.solid(flat)
    assert solid.name == "Loan fleet - test board - fingerboard"
    assert b"Loan fleet - test board - fingerboard" in step.encode(solid)


def test_relief_changes_no_solid() -> None:
    one = step.encode(fingerboard.solid(instrument({"fingerboard.radius": "flat", "setup.relief": 0})))
    other = step.encode(fingerboard.solid(instrument({"fingerboard.radius": "flat", "setup.relief": 0.4})))
    assert one == other


def test_a_cut_that_took_nothing_would_be_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    """One slot of 21 left out is ten times what the volume check lets pass."""
    i = instrument({"fingerboard.radius": "flat"})
    volume = fingerboard.expected_volume(i)
    assert volume is not None
    monkeypatch.setattr(
        "templategen.solids.board.cut",
        lambda body, tools, expected, within, gone: cut(body, tuple(tools)[:-1], expected, within, gone),
    )
    with pytest.raises(OurBug, match="was expected"):
        fingerboard.solid(i)


def test_slots_off_the_board_leave_the_volume_unsaid() -> None:
    assert fingerboard.expected_volume(instrument({"fingerboard.beyond_last_fret": 0})) is None
    assert fingerboard.solid(instrument({"fingerboard.beyond_last_fret": -2, "fingerboard.radius": "flat"})).valid
