"""The press caul: one solid for each station of a cone, each with its own face, read back from one STEP file."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from making import instrument, work
from probing import faces
from reading import needs_freecad, second_cad

from templategen.parts.radius import press_caul
from templategen.writers import step

CONE = {"fingerboard.radius": None, "fingerboard.radius_at_nut": 254, "fingerboard.radius_at_last_fret": 406}


def test_one_for_each_station() -> None:
    made = instrument({**CONE, "press_caul.radius_share": 0.9})
    stations, solids = press_caul.cauls(made), press_caul.solids(made)
    assert len(solids) == len(stations) == 4
    for n, (station, solid) in enumerate(zip(stations, solids, strict=True)):
        assert station is not None
        (face,) = (f for f in faces(solid) if f.kind == "cylinder")
        assert face.radius == pytest.approx(0.9 * station.radius, rel=1e-9)
        assert f"R {face.radius:.2f}" in solid.name
        assert solid.name.endswith(f"for {station.name}")
        low, high = solid.extent.low, solid.extent.high
        assert (low[1], high[1]) == pytest.approx((26.0 * n, 26.0 * n + 14.0), abs=1e-5), "none touches the next"
    assert len({solid.name for solid in solids}) == 4


def test_a_cylinder_and_a_flat_board_have_one() -> None:
    (solid,) = press_caul.solids(instrument())
    assert [f.radius for f in faces(solid) if f.kind == "cylinder"] == [pytest.approx(0.95 * 300)]
    (flat,) = press_caul.solids(instrument({"fingerboard.radius": "flat"}))
    assert not [f for f in faces(flat) if f.kind == "cylinder"]
    assert "flat" in flat.name


@needs_freecad
def test_a_second_cad_sees_all_of_them(tmp_path: Path) -> None:
    (body,) = (p for p in press_caul.make(work(CONE)) if p.stem == "press-caul" and p.kind == "solid")
    solids = body.content("step")
    path = tmp_path / "cauls.step"
    path.write_bytes(step.encode(solids))
    seen = second_cad(path)
    assert (seen["solids"], seen["valid"]) == (4, True)
    assert sorted(seen["cylinders"]) == pytest.approx(
        sorted(0.95 * s.radius for s in press_caul.cauls(instrument(CONE)) if s is not None), rel=1e-6
    )
    assert seen["volume"] == pytest.approx(math.fsum(solid.volume for solid in solids), rel=1e-6)
