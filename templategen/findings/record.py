"""What is to be done where nobody said it, and what was left beyond its tolerance."""

from __future__ import annotations

from collections.abc import Iterator

from templategen.findings.catalogue import Fact, fact
from templategen.repair.model import Bench
from templategen.repair.record import record
from templategen.repair.work import asked, reason


def record_facts(bench: Bench) -> Iterator[Fact]:
    if bench.found is not None and (why := reason(bench)) != "said":
        needs = bench.remedy
        chosen = None if needs is None or needs.chosen is None else needs.verdicts[needs.chosen].words
        listed = ", ".join(sorted(asked(bench)))
        yield fact("work-not-said", "work", work=listed, why=why, verdict=chosen or "refret")
    if bench.left is None:
        return
    for each in record(bench):
        if each.beyond and each.left is not None:
            code = "left-off-in-cents" if each.kind == "cents" else "left-beyond-tolerance"
            yield fact(
                code, "as_left", what=each.label, left=each.left.value, pm=each.left.pm, wanted=each.wanted,
                tolerance=each.tolerance, off=abs(each.left.value - each.wanted),
            )  # fmt: skip
