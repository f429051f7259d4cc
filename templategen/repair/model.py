"""The instrument on the bench: what it is, with what was found of it and what is to be done to it.

>>> bench = on_the_bench(instrument)    # doctest: +SKIP
>>> bench.reradius.parallel.largest     # doctest: +SKIP
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

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
    return Bench(instrument, reradius(instrument), found, left)


def measured(spec: Spec, survey: Survey) -> AsFound:
    """What the readings amount to; crowns are worn from the height of the wire that the spec gives."""
    from templategen.repair.survey.found import as_found

    given = spec.fret_wire.model_fields_set & {"wire", "crown_height"}
    return as_found(survey, spec.fret_wire.crown_height if given else None)


def before_work(spec: Spec, found: AsFound | None) -> Spec:
    """The spec, with the board before re-radiusing from what was measured where it leaves that out."""
    if found is None:
        return spec
    from templategen.repair.survey.before import with_before

    return with_before(spec, found)
