"""The instrument as found: every number that its survey gives, computed once and frozen.

>>> from templategen.spec.survey.load import load_survey
>>> scale = as_found(load_survey("specs/surveys/fleet-07-survey.toml").survey).frets.lines[0].scale
>>> round(scale.value, 2), round(scale.u, 2), scale.count
(639.67, 0.44, 20)
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

from templategen.repair.survey.board import BoardFound, board_found
from templategen.repair.survey.crowns import CrownsFound, crowns_found
from templategen.repair.survey.frets import FretsFound, frets_found
from templategen.repair.survey.relief import ReliefFound, relief_found
from templategen.repair.survey.strings import StringsFound, strings_found
from templategen.spec.survey.models import Survey


@dataclass(frozen=True)
class AsFound:
    """Each part is None where nothing of it was read."""

    survey: Survey
    frets: FretsFound | None
    board: BoardFound | None
    relief: ReliefFound | None
    crowns: CrownsFound | None
    strings: StringsFound | None


def as_found(survey: Survey, new_height: float | None = None) -> AsFound:
    """new_height: of a crown without wear, if a spec names the wire; else the highest that was read."""
    for one, height, known in _KNOWN:
        if one is survey and height == new_height:
            return known
    frets = frets_found(survey)
    found = AsFound(
        survey=survey,
        frets=frets,
        board=board_found(survey),
        relief=relief_found(survey, frets),
        crowns=crowns_found(survey, new_height),
        strings=strings_found(survey),
    )
    _KNOWN.append((survey, new_height, found))
    return found


_KNOWN: deque[tuple[Survey, float | None, AsFound]] = deque(maxlen=4)
"""The last ones: a job that is typed anew on the live page names the same survey each time."""
