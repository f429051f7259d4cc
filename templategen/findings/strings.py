"""What a person should know about loads on the strings and about the fit of their offsets."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from templategen.errors import Level, key_text
from templategen.findings.catalogue import Fact, fact
from templategen.findings.limits import limit
from templategen.findings.naming import of_string
from templategen.findings.wording import OfString
from templategen.instrument.model import Instrument
from templategen.instrument.strings.loads import CORE_SPREAD, MODULUS_SPREAD, StringLoad
from templategen.instrument.strings.sounding import LONGER, USUAL_FIT, Intonation
from templategen.spec.models import Spec


def load_facts(loads: Sequence[StringLoad]) -> Iterator[Fact]:
    """Stress near the wire's strength."""
    for place, load in enumerate(loads):
        yield from _stress(place, load)


def _stress(place: int, load: StringLoad) -> Iterator[Fact]:
    share, body = load.stress_share, load.body
    case = _stress_case(load)
    if case is None or share is None or body.strength_mpa is None:
        return
    yield fact(
        "string-stress",
        key_text(("strings", "set", place, "gauge")),
        "decide" if case in ("between", "hopeless") else "note",
        number=place + 1,
        case=case,
        tension=load.tension_n,
        diameter=body.core_diameter,
        material=body.material,
        load="wound" if body.wound else "plain",
        remedy="estimate" if "estimate" in case else "wound" if body.wound else "plain",
        stress=load.stress_mpa,
        share=share,
        strength=body.strength_mpa[0],
        most=body.strength_mpa[1],
    )


def _stress_case(load: StringLoad) -> str | None:
    """A measured string over what its wire is sure to hold is to be decided (over the most, it is a problem); one whose
    core is an estimate only where no core that fits it would do."""
    share, body = load.stress_share, load.body
    if share is None or share <= limit("string_stress"):
        return None
    if not body.core_estimated:
        over = load.stress_share_of_most is not None and load.stress_share_of_most > 1
        return None if over else "between" if share > 1 else "near"
    if share * (body.core_diameter / body.gauge) ** 2 > 1:
        return "hopeless"
    return "estimate" if share > 1 else "near_estimate"


def core_facts(i: Instrument) -> Iterator[Fact]:
    """Cores that nobody measured and stiffness that is a guess, and what may come of it: the offsets with less and with
    more of it."""
    cores = [n for n, load in enumerate(i.loads) if load.body.core_estimated]
    if cores:
        cases, level = _offsets_of(i, cores)
        yield fact("core-estimated", "strings.set", level, strings=cases, **_how_far(i, cores))
    soft = [n for n, load in enumerate(i.loads) if load.body.stretch_guessed]
    if soft:
        cases, level = _offsets_of(i, soft)
        for case in cases:
            del case["core"]
        yield fact("stretch-estimated", "strings.set", level, strings=cases, **_how_far(i, soft))


def _how_far(i: Instrument, rows: Sequence[int]) -> dict[str, Any]:
    """What of these strings is guessed, and how far each may be off."""
    bodies = [i.loads[n].body for n in rows]
    both = any(body.core_estimated and body.stretch_guessed for body in bodies)
    return {
        "spread": CORE_SPREAD,
        "modulus": MODULUS_SPREAD,
        "too": "both" if both else "one",
        "saddle": "free" if i.intonation.saddle_free else "held",
    }


def _offsets_of(i: Instrument, rows: Sequence[int]) -> tuple[list[dict[str, Any]], Level]:
    """Case by case; to decide where one moves an offset farther than is tolerated."""
    tuning, most = i.intonation, limit("offset_of_core")
    cases, farthest = [], 0.0
    for n in rows:
        spread, fit = tuning.spread[n], tuning.fits[n]
        assert spread is not None
        off = (
            spread.saddle_high - fit.saddle_offset,
            fit.saddle_offset - spread.saddle_low,
            spread.nut_high - fit.nut_offset,
            fit.nut_offset - spread.nut_low,
        )
        farthest = max(farthest, *off)
        cases.append(
            {
                "string": of_string(i, n),
                "core": i.loads[n].body.core_diameter,
                "offset": fit.saddle_offset,
                "low": spread.saddle_low,
                "high": spread.saddle_high,
                "range": "free" if tuning.saddle_free else "held",
            }
        )
    return cases, "decide" if farthest > most else "note"


def rest_facts(i: Instrument) -> Iterator[Fact]:
    """Mandolins end on tailpieces as a rule, and the string beyond the saddle gives way when it is pressed."""
    if i.spec.kind == "mandolin" and i.spec.intonation.behind is None:
        added = i.intonation.longer_rest()
        yield fact("rest-left-out", "intonation.behind", rest=LONGER, least=added.max(), most=added.min())


def intonation_facts(spec: Spec, tuning: Intonation) -> Iterator[Fact]:
    """Offsets at the search's limit, offsets beyond what is usual, and a fit to fewer frets or less of the string."""
    stopped = [row for row, fit in enumerate(tuning.fits) if fit.at_limit]
    if stopped:
        fits = [
            {
                "string": OfString(row + 1, spec.strings.set[row].note.text),
                "saddle": tuning.fits[row].saddle_offset,
                "nut": tuning.fits[row].nut_offset,
            }
            for row in stopped
        ]
        yield fact("offset-at-limit", "setup", strings=fits)
    for code, end, offsets, key in (
        ("unusual-saddle-offset", "saddle", tuning.saddle_offset, "intonation.saddle"),
        ("unusual-nut-offset", "nut", tuning.nut_offset, "nut.compensation"),
    ):
        low, high = limit(f"{end}_offset_least"), limit(f"{end}_offset_most")
        odd = [row for row, offset in enumerate(offsets) if not low <= offset <= high and row not in stopped]
        if odd:
            wound = any(spec.strings.set[row].wound for row in odd)
            yield fact(
                code,
                key,
                strings=[{"number": row + 1, "offset": offsets[row]} for row in odd],
                low=low,
                high=high,
                cores="wound" if wound else "plain",
            )
    yield from _fit(spec, tuning)


def _fit(spec: Spec, tuning: Intonation) -> Iterator[Fact]:
    key, last, cents = "intonation.fit_to_fret", tuning.fit_to_fret, tuning.fitted_cents
    if last == spec.scale.fret_count < USUAL_FIT:
        yield fact("fit-shortened", key, fret=last)
    elif cents < limit("fitted_cents") and last < spec.scale.fret_count:
        yield fact("fit-covers-little", key, fret=last, cents=cents)
