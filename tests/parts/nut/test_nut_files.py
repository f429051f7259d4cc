"""The nut's files as bytes: one spec told in several ways makes the same ones, and so do inches."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest
from making import FAN, spec_file, work_of

from templategen import job
from templategen.instrument.model import Instrument
from templategen.parts.common.product import Body, Sheet
from templategen.parts.nut import files as nut
from templategen.parts.nut.nut_shape import STAGES
from templategen.tables import strings
from templategen.writers import dxf, step, svg
from templategen.writers.plain import plain

WAYS = ("first_fret_clearance", "pressed_gap", "nut_over_crowns")
CONE = {"fingerboard.radius": None, "fingerboard.radius_at_nut": 254, "fingerboard.radius_at_last_fret": 406}


def files(changes: dict[str, Any]) -> dict[str, str]:
    """Digest of every nut file, under one trace, since that names the spec's own bytes."""
    with spec_file(changes) as path:
        made = replace(job.compute(path)[1].instrument, digest="0" * 64)
    return dict(_encoded(made))


def _encoded(made: Instrument) -> Iterator[tuple[str, str]]:
    for product in nut.make(work_of(made)):
        match product:
            case Body():
                yield f"{product.stem}.step", hashlib.sha256(step.encode(product.build())).hexdigest()
            case Sheet(stem, drawing, formats):
                for suffix in sorted(set(formats) & {"dxf", "svg"}):
                    data = (dxf if suffix == "dxf" else svg).encode(drawing)
                    yield f"{stem}.{suffix}", hashlib.sha256(data).hexdigest()


CUT = [
    "nut-plan.dxf",
    *(f"nut-{what}{beam}.{kind}" for what in ("blank", "cut") for beam in ("", "-beam") for kind in ("dxf", "svg")),
]


@pytest.mark.parametrize("board", [{}, CONE, FAN], ids=("cylinder", "cone", "multi-scale"))
def test_given_again_by_the_reported_value(board: dict[str, Any]) -> None:
    """numbers.json has 9 decimals and heights are built from 6, so that solids, drawings and cut files are the same."""
    base = {**board, "setup.first_fret_clearance": None}
    with spec_file({**board}) as path:
        made = job.compute(path)[1].instrument
    reported = {row["string"]: row for row in plain(strings.records(made))}
    told = [{f"setup.{way}": [reported[n][way] for n in sorted(reported)]} for way in WAYS]
    first, *others = (files({**base, **way}) for way in told)
    assert set(first) == {*(f"nut-{stage}.step" for stage in STAGES), *CUT, "nut.dxf", "nut.svg"}
    for other in others:
        assert other == first


def test_the_same_spec_gives_the_same_bytes() -> None:
    assert files({"nut.compensation": [0.6, 0.3, 0.9, 0.2, 0.3, 0.1]}) == files(
        {"nut.compensation": [0.6, 0.3, 0.9, 0.2, 0.3, 0.1]}
    )


def test_inches_give_the_same_files() -> None:
    """The same lengths, each written in the other unit: every nut file is the same."""
    both = {
        "nut.thickness": (3.429, "0.135 in"),
        "nut.seat_depth": (2.032, "0.08 in"),
        "fingerboard.width_at_nut": (43.18, "1.7 in"),
        "fingerboard.radius": (304.8, "12 in"),
        "setup.first_fret_clearance": (0.381, "15 thou"),
        "scale.length": (639.7625, "25 3/16 in"),
    }
    mm, inch = ({key: pair[n] for key, pair in both.items()} for n in (0, 1))
    assert files(mm) == files(inch)
