"""What of the readings bears on playing, in the terms of what follows from it: clearance, levelling, changes."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from templategen.instrument.arrays import Array, fixed
from templategen.instrument.model import Instrument
from templategen.repair import remedy
from templategen.repair.changes import OnePieceBridge, Slots
from templategen.repair.crowns import CrownsRead
from templategen.repair.standing import Readings
from templategen.repair.survey.found import AsFound
from templategen.repair.survey.sounding import tuned
from templategen.repair.survey.strings import ReadPerString
from templategen.repair.survey.tools import K, Reading


def bearing_on_playing(i: Instrument, found: AsFound) -> remedy.FoundInPlay | None:
    """None where nothing was read of the neck's bow, crowns, strings or slots."""
    crowns, strings, bow = found.crowns, found.strings, found.relief
    profiled = crowns is not None and crowns.profiled
    strung = strings is not None and any((strings.first_fret, strings.pressed, strings.action))
    slots, by_tuner = _slots(found), tuned(i, found)
    if not profiled and not strung and bow is None and slots is None and by_tuner is None:
        return None
    count = len(i.spec.strings.set)
    first, first_pm = _values(strings.first_fret if strings is not None else None, count)
    pressed, pressed_pm = _values(strings.pressed if strings is not None else None, count)
    action, action_pm = _values(strings.action if strings is not None else None, count)
    depth = None if bow is None else bow.over(i.strung.x_from / i.plan.saddle_x, i.strung.x_to / i.plan.saddle_x)
    readings = Readings(
        relief=None if depth is None else depth.value,
        relief_pm=0.0 if depth is None else depth.pm,
        first_fret=first,
        first_fret_pm=first_pm,
        action=action,
        action_pm=action_pm,
        action_fret=(strings.action_fret if strings is not None else None) or i.spec.setup.action.fret,
        pressed=pressed,
        pressed_pm=pressed_pm,
        capo=strings.capo if strings is not None else 0,
    )
    measured = None
    if crowns is not None and profiled:
        measured = CrownsRead(crowns.names, crowns.z, crowns.z_pm, crowns.height, crowns.width)
    return remedy.FoundInPlay(readings, measured, _bridge(found), slots, by_tuner)


def _values(readings: ReadPerString | None, count: int) -> tuple[Array, Array]:
    """Values and their pm, NaN where a string was not read; (strings,) each."""
    if readings is None:
        return fixed(np.full(count, np.nan)), fixed(np.full(count, np.nan))
    return (
        fixed([np.nan if each is None else each.value for each in readings]),
        fixed([np.nan if each is None else each.pm for each in readings]),
    )


def _slots(found: AsFound) -> Slots | None:
    board = found.board
    if board is None or not (board.slot_depth or board.slot_width):
        return None
    return Slots(
        {fret: each.value for fret, each in board.slot_depth.items()},
        {fret: each.value for fret, each in board.slot_width.items()},
        _largest(board.slot_depth.values()),
        _largest(board.slot_width.values()),
    )


def _largest(readings: Iterable[Reading]) -> float:
    return K * max((each.u for each in readings), default=0.0)


def _bridge(found: AsFound) -> OnePieceBridge | None:
    bridge = found.survey.bridge
    if bridge is None or (bridge.saddle_showing is None and bridge.top_under_plane is None):
        return None
    return OnePieceBridge(bridge.saddle_showing, bridge.top_under_plane, bridge.body_joint)
