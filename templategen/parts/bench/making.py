"""A step of the work begun: its title, the shop's own tools or those of the trade, and the files that it uses."""

from __future__ import annotations

from dataclasses import dataclass

from templategen.document.model import Figures, Step
from templategen.errors import Caution
from templategen.instrument.model import Instrument
from templategen.parts.bench.files import Files
from templategen.parts.common import cautions as c
from templategen.parts.common.work import Work
from templategen.repair.work import STEPS
from templategen.spec.models import Asked
from templategen.tables.model import Table
from templategen.units import both_units, mm_text

PRACTICE = "(common practice, no source)"
Numbers = tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Workplace:
    """What every step is made from. asked: what is to be done."""

    work: Work
    asked: frozenset[Asked]
    files: Files

    @property
    def instrument(self) -> Instrument:
        return self.work.instrument

    def step(
        self,
        key: str,
        goal: str,
        *how: str,
        numbers: Numbers = (),
        table: Table | None = None,
        tools: str,
        cautions: tuple[Caution, ...],
        boxes: tuple[str, ...],
    ) -> Step:
        """The step with everything that is told of each alike; tools: where the shop does not name its own."""
        own = self.instrument.shop.hand_tools
        named: str | None = None if own is None else getattr(own, key.replace("-", "_"))
        figures = None if table is None else Figures(table, self.instrument.spec.units)
        return Step(
            key, STEPS[key], goal, numbers, figures, how, named or tools, self.files.of(key), c.lines(*cautions)[:-1],
            (*boxes, "initials"),
        )  # fmt: skip


def within(tolerance: float) -> str:
    """``"± 0.03 mm (0.001 in)"``."""
    return f"± {both_units(tolerance)}"


def spanned(low: float, high: float, places: int = 2) -> str:
    """One length where the two print alike, else from the lesser to the larger."""
    low, high = sorted((low, high))
    if mm_text(low, places) == mm_text(high, places):
        return both_units(high, places)
    return f"{both_units(low, places)} to {both_units(high, places)}"
