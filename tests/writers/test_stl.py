"""STL read back by an independent mesh library (trimesh)."""

from __future__ import annotations

import io
import math
from typing import Any

import numpy as np
import pytest
import trimesh
from probing import cylinder_tool

from templategen.solids.combine import cut
from templategen.solids.make import prism
from templategen.solids.shape import Contour, Frame, Solid
from templategen.writers import stl

WIDTH, HEIGHT, LENGTH, RADIUS = 62.0, 32.0, 150.0, 279.75
RISE = RADIUS - math.sqrt(RADIUS**2 - WIDTH**2 / 4)
FINGER = 9.0


def block() -> Solid:
    corners = ((-WIDTH / 2, 0.0), (WIDTH / 2, 0.0), (WIDTH / 2, HEIGHT), (-WIDTH / 2, HEIGHT))
    body = prism(Contour(corners, (0.0, 0.0, -2 * RISE / WIDTH, 0.0)), (0.0, LENGTH, 0.0), Frame.xz(), "block")
    return cut(body, [cylinder_tool((s * (WIDTH / 2 + 3), -1, 14), (0, 1, 0), FINGER, LENGTH + 2) for s in (-1, 1)])


@pytest.fixture(scope="module")
def made() -> Solid:
    return block()


@pytest.fixture(scope="module")
def mesh(made: Solid) -> Any:
    return trimesh.load(io.BytesIO(stl.encode(made)), file_type="stl")


def test_watertight_and_of_the_solids_volume(mesh: Any, made: Solid) -> None:
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert mesh.volume == pytest.approx(made.volume, rel=1e-4)
    assert mesh.bounds[1] == pytest.approx([WIDTH / 2, LENGTH, HEIGHT], abs=1e-4)


def departures(mesh: Any, centre: tuple[float, float], radius: float) -> np.ndarray:
    """How far facets stand off a cylinder along y, at the middles of their edges and at their centroids; facets with
    all three corners on the cylinder."""
    off = np.hypot(*(mesh.triangles[:, :, [0, 2]] - centre).transpose(2, 0, 1)) - radius
    on = mesh.triangles[(np.abs(off) < 1e-4).all(axis=1)]
    assert len(on) > 4
    middles = (on + np.roll(on, 1, axis=1)) / 2
    samples = np.concatenate([middles.reshape(-1, 3), on.mean(axis=1)])
    return np.abs(np.hypot(*(samples[:, [0, 2]] - centre).T) - radius)


@pytest.mark.parametrize(
    ("centre", "radius"),
    [((0.0, HEIGHT - RISE + RADIUS), RADIUS), ((WIDTH / 2 + 3, 14.0), FINGER), ((-WIDTH / 2 - 3, 14.0), FINGER)],
)
def test_chord_error(mesh: Any, centre: tuple[float, float], radius: float) -> None:
    worst = departures(mesh, centre, radius).max()
    assert worst < 0.01
    assert worst > 1e-5  # facets do stand off: the measurement sees something


def test_a_coarse_mesh_would_be_seen(made: Solid) -> None:
    coarse = trimesh.load(io.BytesIO(stl.encode(made, tolerance=0.1)), file_type="stl")
    assert departures(coarse, (0.0, HEIGHT - RISE + RADIUS), RADIUS).max() > 0.01


def test_an_earlier_finer_export_changes_nothing() -> None:
    alone = stl.encode(block())
    shared = block()
    fine = stl.encode(shared, tolerance=0.0005)
    assert len(fine) > len(alone)
    assert stl.encode(shared) == alone


def test_header_is_ours_and_the_count_is_right(made: Solid) -> None:
    content = stl.encode(made)
    assert content[:80].rstrip() == b"templategen, mm, block"
    assert len(content) == 84 + 50 * int.from_bytes(content[80:84], "little")
    assert not content.lower().startswith(b"solid")
