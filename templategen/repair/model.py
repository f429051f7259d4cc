"""The instrument on the bench: what it is, with what was found of it and what is to be done to it.

>>> from templategen.instrument.model import build
>>> from templategen.spec.load import load
>>> loaded = load("specs/fleet-55.toml")
>>> on_the_bench(build(loaded.spec, loaded.shop)).reradius.wanted.flat
False
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from templategen.errors import Problem, SpecError
from templategen.instrument.model import Instrument
from templategen.repair.remedy import Remedy
from templategen.repair.reradius import Reradius, reradius
from templategen.spec.models import Spec

if TYPE_CHECKING:
    from templategen.repair.survey.found import AsFound
    from templategen.spec.survey.models import Survey


@dataclass(frozen=True)
class Bench:
    """What findings, parts and tables read.

    reradius: what sanding to this board takes away, where the spec tells what it was before. found, left: what was
    measured before the work and after it, where the spec names the surveys. remedy: what follows from what was found.
    """

    instrument: Instrument
    reradius: Reradius | None
    found: AsFound | None = None
    left: AsFound | None = None
    remedy: Remedy | None = None


def on_the_bench(instrument: Instrument, found: AsFound | None = None, left: AsFound | None = None) -> Bench:
    """Everything that repair adds to an instrument."""
    found, remedy = _heard(instrument, found)
    left, _ = _heard(instrument, left)
    return Bench(instrument, reradius(instrument), found, left, remedy)


def _heard(instrument: Instrument, read: AsFound | None) -> tuple[AsFound | None, Remedy | None]:
    """What was measured with its cents by the instrument's own model, and what follows from it."""
    if read is None:
        return None, None
    from templategen.repair.standing import as_wanted
    from templategen.repair.survey.bearing import bearing_on_playing
    from templategen.repair.survey.sounding import by_the_model

    playing = bearing_on_playing(instrument, read)
    remedy = None if playing is None else Remedy(instrument, playing)
    if remedy is not None:
        stands = remedy.standing
    else:
        strung = instrument.strung
        stands = as_wanted(instrument, instrument.crowns + strung.sag(instrument.plan.crossings[..., 0]), strung.relief)
    return by_the_model(instrument, read, stands), remedy


def measured(spec: Spec, survey: Survey, key: str = "survey") -> AsFound:
    """What the readings amount to; crowns are worn from the height of the wire that the spec gives.

    Raises SpecError where they are of another instrument: with other frets, or more or fewer strings.
    """
    from templategen.repair.survey.found import as_found

    _raise_where_other(spec, survey, key)
    given = spec.fret_wire.model_fields_set & {"wire", "crown_height"}
    return as_found(survey, spec.fret_wire.crown_height if given else None)


def before_work(spec: Spec, found: AsFound | None) -> Spec:
    """The spec, with the board before re-radiusing from what was measured where it leaves that out."""
    if found is None:
        return spec
    from templategen.repair.survey.before import with_before

    return with_before(spec, found)


def _raise_where_other(spec: Spec, survey: Survey, key: str) -> None:
    from templategen.repair.survey.strings import strings_found

    problems = []
    if survey.scale.fret_count != spec.scale.fret_count:
        problems.append(
            Problem(
                (key, "scale", "fret_count"),
                f"must be {spec.scale.fret_count}, as in the spec that names this survey: scale.fret_count",
            )
        )
    strings, count = strings_found(survey), len(spec.strings.set)
    if strings is not None and strings.count not in (0, count):
        problems.append(
            Problem((key, "strings"), f"lists {strings.count} strings; the spec that names this survey has {count}")
        )
    if problems:
        raise SpecError(problems)
