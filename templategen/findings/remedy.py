"""What an instrument that was measured needs: the note that buzzes first and why, and what filing cannot do."""

from __future__ import annotations

from collections.abc import Iterator

from templategen.findings.catalogue import Fact, fact
from templategen.findings.naming import of_string
from templategen.repair.model import Bench
from templategen.repair.remedy import Remedy

LEAST_SHORT = 5e-4  # mm of headroom less than asked for that is told, the least that is printed


def remedy_facts(bench: Bench) -> Iterator[Fact]:
    needs = bench.remedy
    yield from _not_measured(bench)
    if needs is None:
        return
    yield from _first_to_buzz(needs)
    if needs.chosen is not None and needs.verdicts[needs.chosen].words != "leave":
        chosen = needs.filings[needs.chosen]
        yield fact("crowns-to-level", "survey.crowns", verdict=needs.verdicts[needs.chosen].words, most=chosen.most)
    elif needs.filings and needs.chosen is None:
        yield fact("board-to-refret", "survey.crowns", least=needs.least_crown)
    for end, strings in (("nut", needs.changes.new_nut), ("saddle", needs.changes.new_saddle)):
        if strings:
            yield fact("end-too-low", "survey.strings", end=end, strings=list(strings))
    angle = needs.changes.neck_deg
    if angle is not None:
        yield fact("neck-angle", "survey.bridge", way="back" if angle > 0 else "forward", angle=abs(angle))


def _not_measured(bench: Bench) -> Iterator[Fact]:
    """Crowns of an instrument that was measured, or whose crowns are to be levelled: what to file cannot be told."""
    level = "level" in (bench.instrument.spec.work or ())
    if (bench.found is None and not level) or (bench.remedy is not None and bench.remedy.crowns is not None):
        return
    asked = "asked" if level else "measured"
    yield fact("crowns-not-measured", "survey.crowns", "decide" if level else "note", why=asked)


def _first_to_buzz(needs: Remedy) -> Iterator[Fact]:
    worst, cause = needs.clearance.worst_fretted, needs.cause
    if worst is None or worst.headroom is None:
        return
    short = worst.headroom < float(needs.asked[worst.string - 1]) - LEAST_SHORT
    blamed = {} if cause is None or cause.fret is None else {"blamed": cause.fret, "strings": list(cause.strings)}
    weighed = {} if cause is None else {"by": abs(cause.by), "gain": cause.gain, "next": cause.over_next}
    yield fact(
        "found-first-to-buzz",
        "survey",
        "decide" if short else "note",
        string=of_string(needs.instrument, worst.string - 1),
        fret=worst.fretted,
        rests="on" if worst.headroom < 0 else "clear",
        over=worst.touches,
        headroom=worst.headroom,
        cause="none" if cause is None else cause.what,
        **blamed,
        **weighed,
    )
