"""Programs for the shop's mill; none, and no word about it, where the shop file describes none."""

from __future__ import annotations

from functools import partial

from templategen.drawing.program import Program
from templategen.instrument.model import Instrument
from templategen.instrument.tools.milling import Milling
from templategen.parts.common.product import Milled, Product
from templategen.parts.common.work import Work
from templategen.parts.mill import board_outline, fret_slots, nut_slots, sweep
from templategen.spec.models import MillTool


def make(work: Work) -> tuple[Product, ...]:
    return programs(work.instrument)


def programs(i: Instrument) -> tuple[Milled, ...]:
    """Those that the mill has tools for."""
    milling = i.milling
    if milling is None:
        return ()
    made = []
    if milling.slots is not None:
        made.append(Milled(fret_slots.NAME, partial(_slots, i, milling, milling.slots)))
    if any(tool is not None for tool in milling.nut):
        made.append(Milled(nut_slots.NAME, partial(_nut, i, milling)))
    if milling.outline is not None:
        made.append(Milled(board_outline.NAME, partial(_outline, i, milling, milling.outline)))
    return tuple(made)


def _slots(i: Instrument, milling: Milling, tool: MillTool) -> tuple[Program, str]:
    program, patches = fret_slots.program(i, milling, tool)
    return program, sweep.fault(program, patches)


def _nut(i: Instrument, milling: Milling) -> tuple[Program, str]:
    program, patches = nut_slots.program(i, milling)
    return program, sweep.fault(program, patches)


def _outline(i: Instrument, milling: Milling, tool: MillTool) -> tuple[Program, str]:
    program = board_outline.program(i, milling, tool)
    return program, board_outline.fault(i, program)
