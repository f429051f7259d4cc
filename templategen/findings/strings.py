"""What a person should know about loads on the strings and about the fit of their offsets."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from templategen.errors import key_text
from templategen.findings.catalogue import Fact, fact
from templategen.findings.limits import limit
from templategen.findings.naming import numbers
from templategen.findings.wording import OfString
from templategen.instrument.strings.loads import CORE_SHARE, StringBody, StringLoad
from templategen.instrument.strings.sounding import USUAL_FIT, Intonation
from templategen.spec.models import Spec


def load_facts(loads: Sequence[StringLoad]) -> Iterator[Fact]:
    """Stress near the wire's strength, and what of the physics rests on an estimate."""
    for place, load in enumerate(loads):
        yield from _stress(place, load)
    cores = numbers(n for n, load in enumerate(loads) if load.body.core_estimated)
    if cores:
        yield fact("core-estimated", "strings.set", strings=cores, share=CORE_SHARE)
    soft = numbers(n for n, load in enumerate(loads) if _stretch_is_a_guess(load.body))
    if soft:
        yield fact("stretch-estimated", "strings.set", strings=soft)


def _stress(place: int, load: StringLoad) -> Iterator[Fact]:
    share, body = load.stress_share, load.body
    if share is None or share <= limit("string_stress") or (share > 1 and not body.core_estimated):
        return
    case = "near"
    if body.core_estimated:
        hopeless = share * CORE_SHARE**2 > 1
        case = "hopeless" if hopeless else "estimate" if share > 1 else "near_estimate"
    yield fact(
        "string-stress",
        key_text(("strings", "set", place, "gauge")),
        "note" if case in ("estimate", "near_estimate") else "decide",
        number=place + 1,
        case=case,
        tension=load.tension_n,
        diameter=body.core_diameter,
        material=body.material,
        load="wound" if body.wound else "plain",
        remedy="wound" if body.wound else "plain",
        stress=load.stress_mpa,
        share=share,
        strength=body.strength_mpa,
    )


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


def _stretch_is_a_guess(body: StringBody) -> bool:
    return body.material != "steel" and body.stretch_sensitivity is None and not body.modulus_given
