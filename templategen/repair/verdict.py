"""What a levelling plan comes to, in words: leave, spot-level these, level all, replace these, refret.

Nothing is filed by less than its reading's own ±. A crown that would be lower than the least is to be replaced, and
where more of those than the spec would have replaced, the board is to be refretted.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from templategen.instrument.arrays import Array
from templategen.repair.levelling import Filing

SPOT = 1 / 3
"""Up to this share of the frets filing is spot-levelling (common practice, no source)."""


@dataclass(frozen=True)
class Verdict:
    """Fret numbers. filed: by more than the readings' ±. replaced: by the plan, or because they would be too low.
    refret: too many would. all_filed: more of them than are spot-levelled."""

    filed: tuple[int, ...]
    replaced: tuple[int, ...]
    too_low: tuple[int, ...]
    refret: bool
    all_filed: bool

    @property
    def words(self) -> str:
        """``"replace fret 12, spot-level frets 7 and 14"``."""
        if self.refret:
            return f"refret: {_frets(self.too_low)} would be too low"
        said = [f"replace {_frets(self.replaced)}"] if self.replaced else []
        if self.all_filed:
            said.append("level all")
        elif self.filed:
            said.append(f"spot-level {_frets(self.filed)}")
        return ", ".join(said) or "leave"


def verdict(f: Filing, least_crown: float, replace_up_to: int) -> Verdict:
    """least_crown: height over the board that every crown is to keep. Crowns whose height is unknown are taken to keep
    it; the sheet says that they were not measured."""
    frets = f.profile.frets
    low = np.nan_to_num(f.crown_left, nan=np.inf) < least_crown - 1e-9
    too_low = _numbers(frets, low)
    refret = len(too_low) + len(f.replaced) > max(replace_up_to, len(f.replaced))
    replaced = tuple(sorted({*f.replaced, *too_low}))
    filed = tuple(n for n in _numbers(frets, f.worth_filing) if n not in replaced)
    return Verdict(filed, replaced, too_low, refret, len(filed) > SPOT * len(frets))


def _numbers(frets: Array, on_lines: NDArray[np.bool_]) -> tuple[int, ...]:
    """Frets of which something holds on any line; (frets, lines)."""
    return tuple(int(n) for n, lines in zip(frets, on_lines, strict=True) if lines.any())


def _frets(numbers: Iterable[int]) -> str:
    listed = [str(n) for n in numbers]
    if len(listed) == 1:
        return f"fret {listed[0]}"
    return f"frets {', '.join(listed[:-1])} and {listed[-1]}"
