"""The instrument as it stood: the spec with what was measured in the place of what is wanted, to be drawn beside it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from templategen.repair.survey.before import ends
from templategen.repair.survey.found import AsFound
from templategen.repair.survey.tools import Reading
from templategen.spec.models import Fingerboard, Scale, Setup, Spec
from templategen.spec.models.setup import Relief
from templategen.spec.values import OverStrings


def as_it_stood(spec: Spec, found: AsFound) -> Spec:
    """What was not measured stays as the spec has it: a line drawn apart is one that was measured apart."""
    return spec.model_copy(
        update={
            "scale": _scale(spec.scale, found),
            "fingerboard": _board(spec.fingerboard, found),
            "setup": _setup(spec.setup, found),
        }
    )


def _scale(scale: Scale, found: AsFound) -> Scale:
    lines = {} if found.frets is None else found.frets.by_name
    read = {name: line.scale.value for name, line in lines.items() if line.scale is not None}
    if scale.multi_scale and {"bass", "treble"} <= read.keys():
        return scale.model_copy(update={"bass": read["bass"], "treble": read["treble"]})
    if not scale.multi_scale and "centre" in read:
        return scale.model_copy(update={"length": read["centre"]})
    return scale


def _board(board: Fingerboard, found: AsFound) -> Fingerboard:
    if found.board is None:
        return board
    new: dict[str, Any] = {"before": None}
    widths, last = found.board.width, found.survey.scale.fret_count
    if 0 in widths:
        new["width_at_nut"] = widths[0].value
    if last in widths:
        new |= {"width_at_last_fret": widths[last].value, "width_at": None}
    if found.board.round is not None:
        at_nut, at_last = ends(found.board.round)
        new |= {"radius": None, "radius_at_nut": None, "radius_at_last_fret": None}
        if at_nut is at_last:
            new["radius"] = "flat" if math.isinf(at_nut.radius) else at_nut.radius
        else:
            new |= {"radius_at_nut": at_nut.radius, "radius_at_last_fret": at_last.radius}
    if 0 in found.board.thickness:
        new |= {"thickness_at_edge": found.board.thickness[0].value, "thickness": None}
    return board.model_copy(update=new)


def _setup(setup: Setup, found: AsFound) -> Setup:
    new: dict[str, Any] = {}
    if found.relief is not None:
        depth = found.relief.depth.value
        relief = setup.relief
        new["relief"] = relief.model_copy(update={"depth": depth}) if isinstance(relief, Relief) else depth
    read = found.strings
    if read is None:
        return setup.model_copy(update=new)
    if (heights := _every(read.first_fret)) is not None:
        new |= {
            "first_fret_clearance": OverStrings(heights[-1], heights[0], heights),
            "pressed_gap": None,
            "nut_over_crowns": None,
        }
    if read.action_fret is not None and (heights := _every(read.action)) is not None:
        sides: dict[str, Any] = {"bass": None, "treble": None, "strings": heights}
        new["action"] = setup.action.model_copy(update={"fret": read.action_fret, "capo": read.capo, **sides})
    return setup.model_copy(update=new)


def _every(readings: Sequence[Reading | None] | None) -> tuple[float, ...] | None:
    """A value for every string, or None: a row with a gap in it is none."""
    if not readings or any(each is None for each in readings):
        return None
    return tuple(each.value for each in readings if each is not None)
