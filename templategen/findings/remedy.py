"""What an instrument that was measured needs: the note that buzzes first and why, and what filing cannot do."""

from __future__ import annotations

from collections.abc import Iterator

from templategen.errors import Level
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
        words, said = needs.verdicts[needs.chosen].words, bench.instrument.spec.work is not None
        level: Level = "note" if said else "decide"
        yield fact(
            "crowns-to-level", "survey.crowns", level, verdict=words, most=chosen.most, then="said" if said else "open"
        )
    elif needs.filings and needs.chosen is None:
        level = "note" if needs.anew else "decide"
        yield fact("board-to-refret", "survey.crowns", level, least=needs.least_crown)
    for end, strings in (("nut", needs.changes.new_nut), ("saddle", needs.changes.new_saddle)):
        if strings:
            level = "note" if end in (bench.instrument.spec.work or ()) else "decide"  # it is made anew
            yield fact("end-too-low", "survey.strings", level, end=end, strings=list(strings))
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
    asked = float(needs.asked[worst.string - 1])
    short = worst.headroom < asked - LEAST_SHORT
    settled = needs.anew and cause is not None and cause.what == "crown"
    blamed = {} if cause is None or cause.fret is None else {"blamed": cause.fret, "strings": list(cause.strings)}
    weighed = {} if cause is None else {"by": abs(cause.by), "gain": cause.gain, "next": cause.over_next}
    yield fact(
        "found-first-to-buzz",
        "survey",
        "decide" if short and not settled else "note",
        string=of_string(needs.instrument, worst.string - 1),
        fret=worst.fretted,
        rests="on" if worst.headroom < 0 else "clear",
        over=worst.touches,
        headroom=worst.headroom,
        asked=asked,
        cause="none" if cause is None else cause.what,
        **blamed,
        **weighed,
    )
