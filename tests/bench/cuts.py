"""Every cut file of every fleet spec, followed by a beam in shapely at the stated kerf and 5 % more; a line a spec.

The tests do the same for four specs; this is the whole, with its figures: python tests/bench/cuts.py
"""

from __future__ import annotations

import itertools
import sys
import time
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parent.parent), str(Path(__file__).parent.parent / "parts")]

import test_cut_files as checks  # noqa: E402
from places import FLEET  # noqa: E402
from shapely import unary_union  # noqa: E402

from templategen import job  # noqa: E402
from templategen.parts.common.product import Sheet  # noqa: E402
from templategen.parts.register import PARTS  # noqa: E402

STEPS = (
    checks.test_finished_and_beam_size_are_two_files_of_the_same_contours,
    checks.test_contours_are_simple_and_no_line_is_there_twice,
    checks.test_engraving_then_what_is_inside_then_the_outline,
    checks.test_a_cutter_as_wide_as_the_pin_enters_the_notches,
    checks.test_one_contour_a_nut_with_every_slot_in_it,
    checks.test_lines_for_a_beam_are_hairlines_of_two_pure_colours,
    checks.test_what_is_said_travels_in_the_file,
)


def main() -> int:
    failed = 0
    for path in FLEET:
        begun = time.perf_counter()
        work = job.compute(str(path))[1]
        products = [p for part in PARTS if part.name in checks.ROOMS for p in part.make(work)]
        sheets = (p for p in products if isinstance(p, Sheet) and p.drawing.kind == "cut")
        cut = {p.stem: p.drawing for p in sheets if p.stem != "nut-plan"}
        told = []
        for step in STEPS:
            try:
                step(cut)
            except AssertionError as error:
                failed += 1
                told.append(f"{step.__name__}: {str(error).splitlines()[0] if str(error) else 'failed'}")
        for share in (1.0, 1.05):
            try:
                checks.test_the_template_stays_in_one_piece(cut, share)
            except AssertionError as error:
                failed += 1
                told.append(f"one piece at {share:g}: {error}")
        print(f"{path.stem}: {figures(cut)}; {time.perf_counter() - begun:.0f} s", *told, sep="\n  ", flush=True)
    print(f"{failed} failed")
    return 1 if failed else 0


def figures(cut: dict[str, checks.Drawing]) -> str:
    """Files, contours, the template's pieces at the kerf and 5 % more, the narrowest notch."""
    spaces = checks.flat(cut)
    contours = sum(len(checks.closed(space, "OUTLINE", *checks.INNER)) for space in spaces.values())
    pieces = []
    space = spaces["slot-outline-beam"]
    (outer,) = checks.closed(space, "OUTLINE")
    slots = checks.closed(space, "SLOT_OUTLINE")
    for share in (1.0, 1.05):
        lines = itertools.chain((outer,), slots)
        left = outer.difference(unary_union([shape.exterior.buffer(share * 0.06) for shape in lines]))
        areas = sorted((piece.area for piece in left.geoms), reverse=True)
        pieces.append(f"{len(areas)} pieces, the sheet {areas[0]:.0f} and slivers to {areas[1]:.1f} mm²")
    return f"{len(spaces)} files, {contours} contours, {len(slots)} slots; {pieces[0]}; 5 % more: {pieces[1]}"


if __name__ == "__main__":
    sys.exit(main())
