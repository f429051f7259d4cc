"""What a part is made from: the instrument on the bench and everything that somebody should know about it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from templategen.errors import Finding
from templategen.instrument.model import Instrument
from templategen.repair.model import Bench


@dataclass(frozen=True)
class Work:
    """One job. findings: of the rules and of the parts, in that order. files: of every file that somebody may get
    alone, what has to be known of it, in the order they are made."""

    bench: Bench
    findings: tuple[Finding, ...]
    files: Callable[[], list[dict[str, Any]]] = list

    @property
    def instrument(self) -> Instrument:
        return self.bench.instrument

    def findings_for(self, part: str) -> tuple[Finding, ...]:
        """What somebody should know who works with a part's files; part: as in the register."""
        return tuple(finding for finding in self.findings if part in finding.parts)
