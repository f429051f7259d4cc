"""Booleans, and the checks that stand behind them."""

from __future__ import annotations

import subprocess
import sys

import pytest
from probing import cylinder_tool, faces

from templategen.errors import OurBug
from templategen.solids.combine import cut, fuse, intersect
from templategen.solids.make import box


def test_tools_may_cross_each_other() -> None:
    body = box((0, 0, 0), (10, 10, 10), "body")
    slots = [box((4, -1, 8), (6, 11, 11)), box((-1, 4, 8), (11, 6, 11))]
    crossed = cut(body, slots, expected_volume=1000 - (2 * 2 * 20 - 2 * 2 * 2) * 2 / 2)
    assert crossed.name == "body"
    assert crossed.volume == pytest.approx(1000 - (40 + 40 - 8), rel=1e-9)


def test_joined_bodies_are_one_without_the_seam() -> None:
    halves = [box((0, 0, 0), (4, 5, 6)), box((4, 0, 0), (9, 5, 6))]
    whole = fuse(halves, "whole")
    assert (whole.name, len(faces(whole))) == ("whole", 6)
    assert whole.volume == pytest.approx(9 * 5 * 6, rel=1e-9)
    with pytest.raises(OurBug, match=r"^joining apart left 2 pieces; one was expected$"):
        fuse([box((0, 0, 0), (1, 1, 1)), box((2, 0, 0), (3, 1, 1))], "apart")


def test_a_cut_in_two_is_our_bug() -> None:
    with pytest.raises(OurBug, match=r"^cutting beam left 2 pieces; one was expected$"):
        cut(box((0, 0, 0), (10, 10, 10), "beam"), [box((4, -1, -1), (6, 11, 11))])


def test_a_cut_that_leaves_nothing_is_our_bug() -> None:
    with pytest.raises(OurBug, match=r"^cutting beam left no pieces; one was expected$"):
        cut(box((0, 0, 0), (1, 1, 1), "beam"), [box((-1, -1, -1), (2, 2, 2))])


def test_a_tool_that_misses_is_told_by_the_volume() -> None:
    body = box((0, 0, 0), (10, 10, 10), "beam")
    with pytest.raises(OurBug, match=r"^cutting beam left 1000\.0000 mm³; 900\.0000 mm³ was expected$"):
        cut(body, [box((20, 0, 0), (30, 10, 1))], expected_volume=900)


def test_intersect_of_two_bars_of_equal_radius() -> None:
    # Steinmetz's solid, 16·r³/3 (any handbook of solids).
    bars = cylinder_tool((-5, 0, 0), (1, 0, 0), 2, 10), cylinder_tool((0, -5, 0), (0, 1, 0), 2, 10)
    assert intersect(*bars).volume == pytest.approx(16 * 8 / 3, rel=1e-6)


def test_the_room_is_light_to_import_and_never_loads_cadquery() -> None:
    code = (
        "import sys\n"
        "import templategen.solids.board, templategen.writers.step, templategen.writers.stl\n"
        "print(any(m.split('.')[0] in ('OCP', 'cadquery', 'vtkmodules') for m in sys.modules))\n"
        "from templategen.solids.make import box\n"
        "templategen.writers.step.encode(box((0, 0, 0), (1, 1, 1), 'box'))\n"
        "print('OCP' in sys.modules, any(m.split('.')[0] in ('cadquery', 'vtkmodules') for m in sys.modules))\n"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.split() == ["False", "True", "False"]
    assert out.stderr == ""
