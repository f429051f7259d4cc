"""What a person should know about loads on the strings and about the fit of their offsets."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from templategen.errors import Finding, key_text
from templategen.instrument.strings.loads import (
    CORE_SHARE,
    STRESS_TO_DECIDE,
    StringBody,
    StringLoad,
    remedy,
    stress_text,
)
from templategen.instrument.strings.sounding import LEAST_FITTED, USUAL_FIT, USUAL_NUT, USUAL_SADDLE, Intonation
from templategen.spec.models import Spec
from templategen.units import mm_text


def load_findings(loads: Sequence[StringLoad]) -> tuple[Finding, ...]:
    """Stress near the wire's strength, and what of the physics rests on an estimate."""
    findings = []
    for place, load in enumerate(loads):
        share = load.stress_share
        if share is None or share <= STRESS_TO_DECIDE or (share > 1 and not load.body.core_estimated):
            continue
        key = key_text(("strings", "set", place, "gauge"))
        level: Literal["note", "decide"] = "decide"
        message = f"String {place + 1} is near breaking: {stress_text(load)}. {remedy(load)}."
        if load.body.core_estimated and share * CORE_SHARE**2 > 1:
            message = (
                f"String {place + 1} will break: {stress_text(load)}, and a core as thick as the whole string would "
                f"not hold either. {remedy(load)}; are gauge, note and scale right?"
            )
        elif load.body.core_estimated:
            level, would = "note", "would break" if share > 1 else "is near breaking"
            message = (
                f"String {place + 1} {would} if its core is as thin as estimated: {stress_text(load)}. Measure the "
                "core and give core_diameter."
            )
        findings.append(Finding("string-stress", level, key, message))
    cores = [place + 1 for place, load in enumerate(loads) if load.body.core_estimated]
    if cores:
        findings.append(
            Finding(
                "core-estimated",
                "note",
                "strings.set",
                f"The core of {_named(cores)} is estimated as {CORE_SHARE:g} of the gauge; tension, stress and offsets "
                "of a wound string depend on it. Measure it and give core_diameter.",
            )
        )
    soft = [place + 1 for place, load in enumerate(loads) if _stretch_is_a_guess(load.body)]
    if soft:
        findings.append(
            Finding(
                "stretch-estimated",
                "note",
                "strings.set",
                f"The stiffness of {_named(soft)} is a mean of a material that varies by half from string to string, "
                "and the offsets with it. Retune a marked string, watch how far the mark moves, and give "
                "stretch_sensitivity.",
            )
        )
    return tuple(findings)


def intonation_findings(spec: Spec, tuning: Intonation) -> tuple[Finding, ...]:
    """Offsets at the search's limit, offsets beyond what is usual, and a fit to fewer frets or less of the string."""
    findings = []
    stopped = [row for row, fit in enumerate(tuning.fits) if fit.at_limit]
    if stopped:
        said = "; ".join(
            f"string {row + 1} ({spec.strings.set[row].note.text}) "
            f"saddle {mm_text(tuning.fits[row].saddle_offset)} mm, nut {mm_text(tuning.fits[row].nut_offset)} mm"
            for row in stopped
        )
        findings.append(
            Finding(
                "offset-at-limit",
                "decide",
                "setup",
                "No sane offset puts the frets of these strings in tune; what is written is where the search was "
                f"stopped: {said}. Correct the strings' heights, gauges or pitches first.",
            )
        )
    for end, offsets, (low, high), key in (
        ("saddle", tuning.saddle_offset, USUAL_SADDLE, "intonation.saddle"),
        ("nut", tuning.nut_offset, USUAL_NUT, "nut.compensation"),
    ):
        odd = [row for row, offset in enumerate(offsets) if not low <= offset <= high and row not in stopped]
        if odd:
            given = ", ".join(f"string {row + 1} {mm_text(float(offsets[row]))} mm" for row in odd)
            cores = (
                " A wound string's core is reckoned as one round rod held fast at the crown; a thin, six-sided or "
                "stranded one bends more easily and asks for less, so measure the core and try the note at the octave "
                "before cutting."
            )
            wound = any(spec.strings.set[row].wound for row in odd)
            findings.append(
                Finding(
                    f"unusual-{end}-offset",
                    "decide",
                    key,
                    f"{end.capitalize()} offset of {given}; {low:g} to {high:g} mm is common practice. Look at the "
                    f"heights in [setup], at gauges and pitches.{cores if wound else ''}",
                )
            )
    if tuning.fit_to_fret == spec.scale.fret_count < USUAL_FIT:
        findings.append(
            Finding(
                "fit-shortened",
                "note",
                "intonation.fit_to_fret",
                f"The offsets are fitted to frets 1 to {tuning.fit_to_fret}: there are no more.",
            )
        )
    elif tuning.fitted_cents < LEAST_FITTED and tuning.fit_to_fret < spec.scale.fret_count:
        findings.append(
            Finding(
                "fit-covers-little",
                "decide",
                "intonation.fit_to_fret",
                f"The offsets are fitted to frets 1 to {tuning.fit_to_fret}, only the lowest {tuning.fitted_cents:.0f} "
                "cents, and the higher frets pay for it. Give the fret an octave up, or the last one.",
            )
        )
    return tuple(findings)


def _stretch_is_a_guess(body: StringBody) -> bool:
    return body.material != "steel" and body.stretch_sensitivity is None and not body.modulus_given


def _named(numbers: list[int]) -> str:
    if len(numbers) == 1:
        return f"string {numbers[0]}"
    return f"strings {', '.join(map(str, numbers[:-1]))} and {numbers[-1]}"
