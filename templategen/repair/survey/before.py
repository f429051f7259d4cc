"""[fingerboard.before] left out: the board as it was, from the survey where that was measured."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from templategen.repair.survey.board import Round, RoundFound
from templategen.repair.survey.found import AsFound
from templategen.repair.survey.rules import fractions
from templategen.spec.checks.law import FretLaw
from templategen.spec.models import Before, Fingerboard, Spec


def with_before(spec: Spec, found: AsFound) -> Spec:
    """The spec with what it leaves out of the board before. A board whose round as found agrees with the one wanted
    within its ± needs none."""
    if found.board is None:
        return spec
    board = spec.fingerboard
    measured: dict[str, Any] = {
        "slot_depth": min((each.value for each in found.board.slot_depth.values()), default=None),
        "thickness_at_edge": found.board.thickness[0].value if 0 in found.board.thickness else None,
        "wear_depth": max((each.value for each in found.board.wear_depth.values()), default=None),
        "crown_height": _crowns(found),
    }
    if board.before is not None:
        missing = {key: value for key, value in measured.items() if getattr(board.before, key) is None}
        before = board.before.model_copy(update=missing)
    elif found.board.round is not None and differs(board, found.board.round, found.survey.scale):
        before = Before.model_construct(**_radii(found.board.round), **measured)
    else:
        return spec
    return spec.model_copy(update={"fingerboard": board.model_copy(update={"before": before})})


def differs(board: Fingerboard, found: RoundFound, law: FretLaw) -> bool:
    """Whether the round that is wanted lies beyond the ± of what was read, at any station."""
    last = float(fractions(law, np.array([float(law.fret_count)]))[0])
    one = board.radius if isinstance(board.radius, float) else math.inf
    start, end = board.radius_at_nut or one, board.radius_at_last_fret or one

    def wanted(share: float) -> float:
        return start if start == end else start + (end - start) * share / last

    return not all(station.round.within(wanted(station.share)) for station in found.stations)


def ends(round_: RoundFound) -> tuple[Round, Round]:
    """The round at the nut and at the last fret: of a cone its own, else the one of all stations."""
    if round_.shape == "cone" and round_.at_nut is not None and round_.at_last is not None:
        return round_.at_nut, round_.at_last
    return round_.all, round_.all


def _crowns(found: AsFound) -> float | None:
    """The mean of all heights that were read."""
    heights = None if found.crowns is None else found.crowns.height
    return None if heights is None or not np.isfinite(heights).any() else float(np.nanmean(heights))


def _radii(round_: RoundFound) -> dict[str, Any]:
    at_nut, at_last = ends(round_)
    if at_nut is at_last:
        return {"radius": "flat" if math.isinf(at_nut.radius) else at_nut.radius}
    return {"radius_at_nut": at_nut.radius, "radius_at_last_fret": at_last.radius}
