"""The saddle as solids: every string touches the top at its own witness and nowhere else; no steps."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pytest
from calls import SADDLE
from making import instrument, work
from places import SPECS
from probing import faces, ray_z
from reading import needs_freecad, of_size, second_cad

from templategen import job
from templategen.instrument.model import Instrument
from templategen.parts.saddle import piece_shape as shape
from templategen.parts.saddle import piece_solid as solids
from templategen.parts.saddle.profile import make
from templategen.solids.shape import Solid
from templategen.writers import step

JOBS: dict[str, dict[str, Any]] = {
    "leant, left, short of room": {"handedness": "left", "saddle.lean": 9, "saddle.thickness": 2.2},
    "curved seat, round ends": {"saddle.seat_radius": 320, "saddle.ends": "round"},
}


@pytest.fixture(scope="module", params=[*JOBS, "fleet-21"])
def made(request: pytest.FixtureRequest) -> tuple[Instrument, Solid]:
    if request.param.startswith("fleet"):
        i = job.compute(str(SPECS / f"{request.param}.toml"))[1].instrument
    else:
        i = instrument({**SADDLE, **JOBS[request.param]})
    assert i.saddle_piece is not None
    return i, solids.finished(i.saddle_piece, "saddle")


def test_every_string_touches_at_its_witness_and_nowhere_else(made: tuple[Instrument, Solid]) -> None:
    """The open string's underside as a straight line in plan, led through the frame: on the solid at one place."""
    i, solid = made
    piece = i.saddle_piece
    assert piece is not None
    for n in range(len(piece.along)):
        at = np.array([piece.along[n], piece.across[n], piece.height[n]])
        assert ray_z(solid, at[0], at[1])[-1] == pytest.approx(at[2], abs=1e-6)
        start, end = i.plan.string_nut[n], i.plan.string_saddle[n]
        way = piece.axes @ np.array([1.0, (end[1] - start[1]) / (end[0] - start[0]), i.line.slope[n]])
        for off in (-0.9, -0.2, 0.2, 0.9):
            share = (off * 0.3) / way[1]
            x, y, z = at + share * way
            if 0 < y < piece.thickness:
                gap = z - ray_z(solid, x, y)[-1]
                # a string over a round of radius r: the distance along it squared, over 2r, seen upright
                tilt = math.cos(math.radians(piece.tilt_deg[n]))
                assert gap == pytest.approx((off * 0.3) ** 2 / (2 * piece.radius * tilt**3), rel=0.03, abs=2e-6)


def test_the_top_has_no_step(made: tuple[Instrument, Solid]) -> None:
    """Along the saddle at several places across: no jump, and nothing steeper than a file follows."""
    i, solid = made
    piece = i.saddle_piece
    assert piece is not None
    x = np.arange(piece.low + 2.0, piece.high - 2.0, 0.6)
    for y in (0.35, piece.thickness - 0.35):
        z = np.array([ray_z(solid, float(at), y)[-1] for at in x])
        assert np.abs(np.diff(z)).max() < 0.6 * math.tan(math.radians(60))
        ours = shape.top_z(piece, x, np.full(len(x), y))
        assert z == pytest.approx(ours, abs=1e-6)


def test_faces_a_machinist_knows(made: tuple[Instrument, Solid]) -> None:
    i, solid = made
    piece = i.saddle_piece
    assert piece is not None
    kinds = faces(solid)
    assert {face.kind for face in kinds} <= {"plane", "cylinder"}
    rounds = [face.radius for face in kinds if face.kind == "cylinder"]
    tops = [radius for radius in rounds if math.isclose(radius, piece.radius, abs_tol=1e-7)]
    assert len(tops) == 2 * len(piece.along) - 1, "a land for each string, a ramp between"
    box = solid.extent
    assert (box.low[0], box.high[0]) == pytest.approx((piece.low, piece.high), abs=1e-5)
    assert (box.low[1], box.high[1]) == pytest.approx((0.0, piece.thickness), abs=1e-5)
    if not math.isinf(piece.seat_radius):
        assert any(math.isclose(radius, 320, rel_tol=1e-9) for radius in rounds)
        drop = 320 - math.sqrt(320**2 - piece.along[0] ** 2)
        assert ray_z(solid, float(piece.along[0]), piece.thickness / 2)[0] == pytest.approx(-drop, abs=1e-6)


def test_the_bar_holds_the_saddle(made: tuple[Instrument, Solid]) -> None:
    i, solid = made
    piece = i.saddle_piece
    assert piece is not None
    bar = solids.blank(piece, "bar").extent
    for axis, (below, above) in enumerate(((2.0, 2.0), (0.3, 0.3), (0.0, 0.8))):
        assert bar.low[axis] <= solid.extent.low[axis] - below + 1e-5
        assert bar.high[axis] >= solid.extent.high[axis] + above - 1e-3


@needs_freecad
def test_a_second_cad_opens_it(made: tuple[Instrument, Solid], tmp_path: Path) -> None:
    path = tmp_path / "saddle.step"
    path.write_bytes(step.encode(made[1]))
    seen = second_cad(path)
    assert seen["solids"] == 1
    assert seen["valid"]
    assert seen["volume"] == pytest.approx(made[1].volume, rel=1e-6)


def test_the_front_outline_holds_every_string() -> None:
    job_made = work({**SADDLE, "saddle.seat_radius": 320})
    piece = job_made.instrument.saddle_piece
    assert piece is not None
    products = make(job_made)
    assert [p.stem for p in products] == [
        "saddle",
        "saddle-piece",
        "saddle-blank",
        "saddle-finished",
        "saddle-cut",
        "saddle-cut-beam",
    ]
    for kerf, more in ((0.0, 0.0), (0.12, 0.06)):
        (sheet,) = of_size(products, kerf)
        (outline,) = sheet.drawing.layer("OUTLINE").shapes
        path = list(ezdxf.path.make_path(_entity(sheet.drawing)).flattening(1e-4))
        points = np.array([(p.x, p.y) for p in path])
        assert points[:, 0].min() == pytest.approx(piece.low - more, abs=1e-6)
        assert points[:, 0].max() == pytest.approx(piece.high + more, abs=1e-6)
        top = points[points[:, 1] > 2.0]
        top = top[np.argsort(top[:, 0])]
        over = np.interp(piece.along, top[:, 0], top[:, 1]) - piece.height
        assert over.min() >= more - 1e-3
        assert over.max() <= more + 0.03
        assert outline.bulges[0] < 0, "the underside follows the curved seat"


def _entity(drawing: Any) -> Any:
    from reading import modelspace

    (entity,) = modelspace(drawing)
    return entity
