"""The instrument on the bench: what it is, with what was found of it and what is to be done to it.

>>> bench = on_the_bench(instrument)    # doctest: +SKIP
>>> bench.reradius.parallel.largest     # doctest: +SKIP
"""

from __future__ import annotations

from dataclasses import dataclass

from templategen.instrument.model import Instrument
from templategen.repair.remedy import Remedy
from templategen.repair.reradius import Reradius, reradius


@dataclass(frozen=True)
class Bench:
    """What findings, parts and tables read.

    reradius: what sanding to this board takes away, where the spec tells what it was before. remedy: what follows from
    what was measured of it, where it was.
    """

    instrument: Instrument
    reradius: Reradius | None
    remedy: Remedy | None = None


def on_the_bench(instrument: Instrument) -> Bench:
    """Everything that repair adds to an instrument."""
    return Bench(instrument, reradius(instrument))
