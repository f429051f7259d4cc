"""What was left beyond its tolerance, where the finished instrument was measured."""

from __future__ import annotations

from collections.abc import Iterator

from templategen.findings.catalogue import Fact, fact
from templategen.repair.model import Bench
from templategen.repair.record import record


def record_facts(bench: Bench) -> Iterator[Fact]:
    if bench.found is not None and bench.instrument.spec.work is None:
        yield fact("work-not-said", "work")
    if bench.left is None:
        return
    for each in record(bench):
        if each.beyond and each.left is not None:
            code = "left-off-in-cents" if each.kind == "cents" else "left-beyond-tolerance"
            yield fact(
                code, "as_left", what=each.label, left=each.left.value, pm=each.left.pm, wanted=each.wanted,
                tolerance=each.tolerance,
            )  # fmt: skip
