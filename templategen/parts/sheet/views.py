"""What somebody wants to see while a job is being filled in: small drawings without tables, rulers or title blocks."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from templategen.drawing.chart import draw as draw_chart
from templategen.drawing.model import Drawing
from templategen.instrument.setup.clearance import setting
from templategen.parts.board.fret_template import board_view
from templategen.parts.common.layers import sketch
from templategen.parts.common.work import Work
from templategen.parts.nut.nut_drawing import SCALE, front_view
from templategen.parts.repair import clearance_map, clearance_profile
from templategen.parts.repair.clearance import asked_of
from templategen.parts.repair.clearance_map import Map
from templategen.parts.repair.clearance_profile import GapProfile
from templategen.parts.sheet import cents_plot


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


def string_line(work: Work) -> Drawing:
    """The string that will touch first, over the crowns, heights exaggerated."""
    s, i = sketch(), work.instrument
    worst = i.clearance.worst_fretted or i.clearance.worst_open
    held = f"held at {worst.fretted}" if worst.fretted else "open"
    title = f"The first to touch: string {worst.string} {held}, over fret {worst.touches}"
    clearance_profile.draw(s, GapProfile(title, setting(i), worst), (0.0, 0.0))
    return Drawing("line", f"{i.spec.title}: string line", s.layers())


def clearance(work: Work) -> Drawing:
    """Headroom of every string at every place."""
    s, i = sketch(), work.instrument
    names = tuple(f"{n + 1} {string.note.text}" for n, string in enumerate(i.spec.strings.set))
    most = float(np.nanmax(i.clearance.headroom))
    clearance_map.draw(s, Map("Headroom, mm", i.clearance, names, asked_of(i), most), (0.0, 0.0))
    return Drawing("clearance", f"{i.spec.title}: clearance", s.layers())


def cents(work: Work) -> Drawing:
    """How far every fretted note will be off."""
    s, i = sketch(), work.instrument
    draw_chart(s, cents_plot.chart(i), cents_plot.WIDTH, cents_plot.HEIGHT)
    return Drawing("cents", f"{i.spec.title}: cents", s.layers())


VIEWS: dict[str, Callable[[Work], Drawing]] = {
    "board": board,
    "nut": nut,
    "line": string_line,
    "clearance": clearance,
    "cents": cents,
}
"""By name, in the order of the bench."""

TRUE_SIZE = ("board", "nut")
"""Those of one scale and origin, whatever the job: two of them may be laid over each other."""
