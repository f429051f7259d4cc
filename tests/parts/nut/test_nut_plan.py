"""nut-plan.dxf and nut-blank.dxf, read back by ezdxf and held against the solids and numbers.json."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from labelled import numbers
from making import FAN, work
from reading import modelspace

from templategen.drawing.model import Drawing
from templategen.parts.nut import files
from templategen.parts.nut.nut_solid import build

SHELF = {**FAN, "nut.compensation": "best_fit"}


def drawn(job: Any) -> dict[str, Drawing]:
    return {p.stem: p.drawing for p in files.make(job) if p.kind == "drawing" and p.drawing.kind == "cut"}


@pytest.mark.parametrize("changes", [{}, SHELF], ids=["plain", "fan, stepped"])
def test_the_plan_lies_in_the_solids_own_frame(changes: dict[str, Any]) -> None:
    job = work(changes)
    i, told, (plan) = job.instrument, numbers(job), drawn(job)["nut-plan"]
    space = modelspace(plan)
    (stock,), (outline,) = (space.query(f'*[layer=="{name}"]') for name in ("STOCK", "OUTLINE"))
    assert stock.closed
    assert outline.closed
    for shape, stage in ((stock, "blank"), (outline, "finished")):
        corners = np.array([(x, y) for x, y, *_ in shape.get_points()])
        box = build(i, stage).extent
        assert (*corners.min(0), *corners.max(0)) == pytest.approx((*box.low[:2], *box.high[:2]), abs=1e-5)
    fronts = {round(y, 6) for _, y, *_ in outline.get_points() if y <= 0}
    assert fronts >= {round(-v, 6) + 0.0 for v in i.nut.forward}, "a compensated front edge is true"
    paths = list(space.query('POLYLINE[layer=="SLOT_PATH"]'))
    assert len(paths) == 2 * len(told["strings"])
    for n, string in enumerate(told["strings"]):
        for path, name in ((paths[2 * n], "slotted_line"), (paths[2 * n + 1], "slot_line")):
            assert path.is_3d_polyline
            start, end = (tuple(vertex.dxf.location) for vertex in path.vertices)
            assert start == pytest.approx(string[f"{name}_start"], abs=2e-6)
            assert end == pytest.approx(string[f"{name}_end"], abs=2e-6)


def test_what_each_slot_needs_stands_in_the_note() -> None:
    job = work()
    told, lines = numbers(job)["strings"], drawn(job)["nut-plan"].notes
    for n, string in enumerate(told, 1):
        (line,) = (line for line in lines if line.startswith(f"String {n} {string['note']}:"))
        assert f"slot {string['slot_width']:.3f} mm wide" in line
        slotted, finished = ((string[f"{k}_start"][2], string[f"{k}_end"][2]) for k in ("slotted_line", "slot_line"))
        assert f"slotted z {slotted[0]:.3f} to {slotted[1]:.3f}, " in line
        assert f"finished z {finished[0]:.3f} to {finished[1]:.3f}." in line
        if string["slotted_full_width"]:
            assert f"ball cutter {string['slotted_cutter']:.3f} mm" in line
        else:
            assert f"pilot {string['pilot_width']:.3f} mm wide, {string['pilot_angle_deg']:g} degree vee" in line
    assert any("slots first" in line for line in lines)


@pytest.mark.parametrize("form", ["shaped", "bar"])
def test_the_blanks_front_is_that_of_its_solid(form: str) -> None:
    job = work({"nut.stock_form": form, "nut.seat_radius": "board"})
    sheets, solid = drawn(job), build(job.instrument, "blank")
    for stem, more in (("nut-blank", 0.0), ("nut-blank-beam", 0.06)):
        (entity,) = modelspace(sheets[stem])
        assert (entity.dxf.layer, entity.closed) == ("OUTLINE", True)
        points = [(x, y) for x, y, *_ in entity.get_points()]
        assert (len(points), any(bulge for *_, bulge in entity.get_points())) == (4, form == "shaped")
        low, high = np.min(points, axis=0), np.max(points, axis=0)
        box = solid.extent
        assert (low[0], high[0]) == pytest.approx((box.low[0] - more, box.high[0] + more), abs=1e-5)
        assert low[1] == pytest.approx(box.low[2] - more, abs=1e-5)
        if form == "bar":
            assert high[1] == pytest.approx(box.high[2] + more, abs=1e-5)
