"""From a survey file to a frozen Survey in mm, or to every problem of it with its line."""

from __future__ import annotations

import os
from dataclasses import dataclass, field, replace
from functools import lru_cache

from templategen.errors import Problem, SpecError
from templategen.spec.checks.law import OCTAVE
from templategen.spec.files import Source, contents, in_order, of_units, parsed, validate
from templategen.spec.models import Spec
from templategen.spec.survey.checks import of_survey
from templategen.spec.survey.models import Survey

TWICE = "a key stands twice", "this key has been given before"
AS_A_LIST = 'a fret that was read twice is written once, its readings in a list: "12" = [319.5, 319.6]'

OF_A_SPEC = Spec.entries().keys() & {"fingerboard", "nut", "setup"}


@dataclass(frozen=True)
class LoadedSurvey:
    """A survey that can be used. name: stem of the file; path: as typed."""

    survey: Survey
    name: str
    path: str
    source: Source = field(repr=False)

    def locate(self, problem: Problem) -> Problem:
        return self.source.locate(problem)


def load_survey(path: str | os.PathLike[str], data: bytes | None = None) -> LoadedSurvey:
    """Read a survey file.

    data: what to take for its bytes, which are then not read. Raises SpecError with every problem, in the order of the
    file; MachineError where it is there but may not be read.
    """
    typed = os.fspath(path)
    return _of_bytes(typed, contents(typed) if data is None else data)


@lru_cache(maxsize=4)
def _of_bytes(typed: str, data: bytes) -> LoadedSurvey:
    """Kept, since the live page reads a job again with every key that is typed; what raises is not kept."""
    try:
        source, raw = parsed(typed, data)
    except SpecError as error:
        raise SpecError(_as_a_list(problem) for problem in error.problems) from None
    if not raw:
        message = "is empty; `templategen new-survey FILE` writes one to fill in"
        raise SpecError([Problem((), message, file=typed)])
    if set(raw) & OF_A_SPEC:
        message = "is a spec; a survey is a file of its own, and `templategen new-survey FILE` begins one"
        raise SpecError([Problem((), message, file=typed)])
    survey, problems = validate(Survey, raw)
    if of_units(problems):
        raise SpecError(in_order(source, of_units(problems)))
    problems += of_survey(survey, whole=not problems)
    if problems:
        raise SpecError(in_order(source, problems))
    name = os.path.splitext(os.path.basename(typed))[0]
    return LoadedSurvey(_settled(survey), name, typed, source)


def _as_a_list(problem: Problem) -> Problem:
    return replace(problem, message=f"{problem.message}; {AS_A_LIST}") if problem.message.startswith(TWICE) else problem


def _settled(survey: Survey) -> Survey:
    """Defaults that depend on other keys, filled in."""
    scale = survey.scale
    if scale.fret_cents is not None and scale.repeat_at is None and scale.fret_count > len(scale.fret_cents):
        return survey.model_copy(update={"scale": scale.model_copy(update={"repeat_at": OCTAVE})})
    return survey
