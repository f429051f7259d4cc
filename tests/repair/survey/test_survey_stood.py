"""The instrument as it stood: measured again by the record, what was wanted of it is what was found."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest
from making import spec_file
from places import SPECS

from templategen import job
from templategen.instrument.model import build
from templategen.repair.model import on_the_bench
from templategen.repair.record import record
from templategen.repair.survey.stood import as_it_stood
from templategen.spec.models.setup import Relief

NAMES = sorted(path.name.removesuffix("-survey.toml") for path in (SPECS / "surveys").glob("*.toml"))
STOOD = ("scale_", "relief", "board_radius", "first_fret_clearance", "action")
"""What a spec can say; what is only read off (the nut's place, wear, cents) has no key to stand in."""


def bench_of(name: str) -> Any:
    return job.compute(str(SPECS / f"{name}.toml"))[1].bench


@pytest.mark.parametrize("name", NAMES)
def test_what_was_found_stands_where_the_target_stood(name: str) -> None:
    bench = bench_of(name)
    found = bench.found
    stood = build(as_it_stood(bench.instrument.spec, found), bench.instrument.shop, name, "", ())
    seen = 0
    for line in record(on_the_bench(stood, found)):
        if line.found is None or not line.key.startswith(STOOD):
            continue
        if line.key.startswith("board_radius_at") and found.board.round.shape != "cone":
            continue  # a cone that cannot be told from a cylinder is drawn as one
        assert line.wanted == pytest.approx(line.found.value, abs=2e-6), line.key
        seen += 1
    assert seen >= 5
    for key, read in ((0, stood.board), (1, stood.plan)):
        assert read is not None, key
    widths = found.board.width
    if 0 in widths:
        assert stood.plan.taper.at_nut == pytest.approx(widths[0].value)
    if stood.spec.scale.fret_count in widths:
        at_last = float(stood.plan.taper.width(stood.plan.centre_x[-1]))
        assert at_last == pytest.approx(widths[stood.spec.scale.fret_count].value)


def test_a_cone_that_was_wanted_does_not_stay_where_a_cylinder_was_found_and_the_other_way_round() -> None:
    bench = bench_of("fleet-26")
    found, spec = bench.found, bench.instrument.spec
    assert spec.fingerboard.radius is None
    (one, two) = (replace(found.board.round.all, curvature=1 / r) for r in (300.0, 400.0))
    cylinder = replace(found, board=replace(found.board, round=replace(found.board.round, shape="cylinder", all=one)))
    board = as_it_stood(spec, cylinder).fingerboard
    assert (board.radius, board.radius_at_nut, board.radius_at_last_fret) == (pytest.approx(300), None, None)
    cone = replace(found.board.round, shape="cone", at_nut=one, at_last=two)
    board = as_it_stood(spec, replace(found, board=replace(found.board, round=cone))).fingerboard
    assert board.radius is None
    assert (board.radius_at_nut, board.radius_at_last_fret) == (pytest.approx(300), pytest.approx(400))
    flat = replace(found.board.round.all, curvature=0.0)
    level = replace(found, board=replace(found.board, round=replace(found.board.round, shape="cylinder", all=flat)))
    assert as_it_stood(spec, level).fingerboard.radius == "flat"
    assert math.isinf(flat.radius)


def test_what_was_not_measured_stays() -> None:
    bench = bench_of("fleet-07")
    nothing = replace(bench.found, frets=None, board=None, relief=None, strings=None)
    assert as_it_stood(bench.instrument.spec, nothing) == bench.instrument.spec
    gap = (None, *bench.found.strings.first_fret[1:])
    some = replace(nothing, strings=replace(bench.found.strings, first_fret=gap, action=None))
    assert as_it_stood(bench.instrument.spec, some) == bench.instrument.spec, "a row with a gap in it is none"


def test_relief_keeps_its_place() -> None:
    with spec_file({"setup.relief": {"depth": 0.2, "from": 2, "to": 14}}) as path:
        spec = job.compute(path)[1].instrument.spec
    stood = as_it_stood(spec, bench_of("fleet-07").found)
    assert isinstance(stood.setup.relief, Relief)
    assert (stood.setup.relief.from_fret, stood.setup.relief.to_fret) == (2, 14)
    assert stood.setup.relief.depth == pytest.approx(0.38, abs=0.001)
