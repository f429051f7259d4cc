"""What somebody wants to see while a job is being filled in: small drawings without tables, rulers or title blocks."""

from __future__ import annotations

from collections.abc import Callable

from templategen.drawing.model import Drawing
from templategen.parts.board.fret_template import board_view
from templategen.parts.common.layers import sketch
from templategen.parts.common.work import Work
from templategen.parts.nut.nut_drawing import SCALE, front_view


def board(work: Work) -> Drawing:
    """The board from above."""
    s = sketch()
    board_view(s, work.instrument)
    return Drawing("board", f"{work.instrument.spec.title}: board", s.layers())


def nut(work: Work) -> Drawing:
    """The nut from the bridge, with the slots' places."""
    s = sketch()
    front_view(s, work.instrument, 1 / SCALE)
    return Drawing("nut", f"{work.instrument.spec.title}: nut", s.layers(), scale=SCALE)


VIEWS: dict[str, Callable[[Work], Drawing]] = {"board": board, "nut": nut}
"""By name, in the order of the bench."""
