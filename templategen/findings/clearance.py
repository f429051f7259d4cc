"""Where it buzzes, as the spec has it: strings that lie on crowns when fretted, and the first note to touch."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from templategen.findings.catalogue import Fact, fact
from templategen.findings.naming import cases, of_string
from templategen.findings.setup import LEAST_FELT
from templategen.instrument.model import Instrument
from templategen.instrument.setup.best import BestSetup

LEAST_WORTH = 5e-4  # mm of headroom that a step must give to be told, the least that is printed


def clearance_facts(i: Instrument) -> Iterator[Fact]:
    yield from _on_crowns(i)
    worst, best = i.clearance.worst_fretted, i.best_setup
    if worst is None or worst.headroom is None or best is None:
        return
    steps = _steps(best)
    if worst.headroom > 0:
        yield fact(
            "first-to-buzz",
            "playing",
            string=of_string(i, worst.string - 1),
            fret=worst.fretted,
            over=worst.touches,
            headroom=worst.headroom,
            steps=steps,
        )
    yield from _short(i, steps)


def _on_crowns(i: Instrument) -> Iterator[Fact]:
    """Fretted strings that lie on a crown beyond the finger; the open ones have a finding of their own."""
    gap, over = i.clearance.least_gap[1:], i.clearance.least_gap_over[1:]
    filled = np.where(np.isnan(gap), np.inf, gap)
    least = filled.min(0)
    rows = np.flatnonzero(least < LEAST_FELT)
    if not len(rows):
        return
    at = filled.argmin(0)
    frets = i.clearance.numbers[1:][at].astype(int)
    crowns = over[at, np.arange(len(at))]
    yield fact(
        "fretted-strings-touch",
        "setup.action",
        strings=cases(i, rows, fret=frets, over=np.nan_to_num(crowns).astype(int), gap=least),
    )


def _short(i: Instrument, steps: list[dict[str, Any]]) -> Iterator[Fact]:
    """Strings with less headroom than asked for."""
    given = i.spec.playing.headroom
    if given is None:
        return
    if "plucked_at" not in i.spec.playing.model_fields_set:
        yield fact("plucked-where", "playing.plucked_at", share=i.spec.playing.plucked_at.treble)
    asked = given.spread(i.plan.toward_bass)
    held = i.clearance.headroom[1:]
    least, at = np.nanmin(held, 0), np.nanargmin(held, 0)
    rows = np.flatnonzero(least < asked - LEAST_FELT)
    if len(rows):
        frets = i.clearance.numbers[1:][at].astype(int)
        yield fact(
            "less-headroom-than-asked",
            "playing.headroom",
            strings=cases(i, rows, headroom=least, room=np.where(least > 0, "some", "none"), fret=frets, asked=asked),
            steps=steps,
        )


def _steps(best: BestSetup) -> list[dict[str, Any]]:
    """Every step that gives the worst note more, tried one by one, the most first."""
    found = sorted((w for w in best.worth if w.fretted > LEAST_WORTH), key=lambda w: -w.fretted)
    return [
        {"way": f"{'more' if w.step > 0 else 'less'}-{w.what}", "step": abs(w.step), "gain": w.fretted} for w in found
    ]
