"""Does the ± hold? Simulated instruments, read with tools of the stated errors.

Every reading is rounded to its tool's graduation; the rule's own error is drawn once for each rule, those of calipers
for each reading. ``covered``: how often the truth lies within the ±; ``width``: how many times as wide the ± is as it
would have to be to hold 95 % of the simulation's own errors. tests/bench/coverage.py runs the whole of it.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from templategen.repair.survey.board import Round, RoundFound, round_found
from templategen.repair.survey.frets import FretLine, line_found
from templategen.repair.survey.relief import relief_found
from templategen.spec.survey.load import load_survey
from templategen.spec.survey.models import Law, Rule, Survey
from templategen.spec.survey.values import ByFret

GRADUATION, LIMIT = 0.5, 0.5  # mm: a rule of class II up to a metre, MID 2014/32/EU, Annex X
FRETS = 21
SHARE = 1 - 2 ** (-np.arange(FRETS + 1) / 12)
STEP, FEELER, CALIPERS, OFF = 12.7, 0.01, 0.02, 0.03  # mm: gauges, leaves, graduation and limit of calipers

Random = np.random.Generator
Pairs = list[tuple[float, float]]


def shares_of(name: str, pairs: Pairs) -> dict[str, float]:
    """pairs: (error, ±)."""
    error, pm = np.array(pairs).T
    return {
        f"{name}_covered": float((error <= pm + 1e-12).mean()),
        f"{name}_width": float(1 / np.quantile(error / pm, 0.95)),
    }


# ------------------------------------------------------------------------------------------------------------- frets


def simulate(count: int, seed: int = 5) -> dict[str, float]:
    """Shares and ratios over ``count`` instruments of 21 frets."""
    random = np.random.default_rng(seed)
    law, rule = Law.model_validate({"fret_count": FRETS}), Rule.model_validate({})
    n, f = np.arange(1, FRETS + 1), SHARE[1:]

    def read(x: np.ndarray) -> FretLine:
        values = np.round(x / GRADUATION) * GRADUATION
        places = ByFret(tuple((str(k), (float(v),)) for k, v in zip(n, values, strict=True)))
        return line_found("centre", law, places, rule)

    off: dict[str, Pairs] = {"scale": [], "shift": []}
    false = found6 = found8 = 0
    for _ in range(count):
        scale, shift = random.uniform(560, 700), random.uniform(-0.6, 0.6)
        x = (shift + scale * f) * (1 + random.uniform(-LIMIT, LIMIT) / (scale * f[-1]))
        line = read(x)
        assert line.shift is not None
        off["scale"].append((abs(line.scale.value - scale), line.scale.pm))
        off["shift"].append((abs(line.shift.value - shift), line.shift.pm))
        false += bool(line.outliers)
        fret, sign = int(random.integers(0, 21)), float(random.choice([-1.0, 1.0]))
        for times in (6, 8):
            moved = x.copy()
            moved[fret] += sign * times * GRADUATION / 12**0.5
            hit = any(each.fret == fret + 1 for each in read(moved).outliers)
            found6, found8 = found6 + (hit and times == 6), found8 + (hit and times == 8)
    shares = {"false": false / count, "found6": found6 / count, "found8": found8 / count}
    for name, pairs in off.items():
        shares |= shares_of(name, pairs)
    return shares


# ---------------------------------------------------------------------------------------------------- radius, relief


def survey(tables: str) -> Survey:
    return load_survey("made.toml", f"[scale]\nfret_count = {FRETS}\n{tables}".encode()).survey


def by_calipers(value: float, random: Random) -> float:
    return float(np.round((value + random.uniform(-OFF, OFF)) / CALIPERS) * CALIPERS)


def between_gauges(radius: float, random: Random) -> str:
    low = np.floor(radius / STEP) * STEP
    return f"[{low:.1f}, {low + STEP:.1f}]"


def nearest_gauge(radius: float, random: Random) -> str:
    return f"{np.round(radius / STEP) * STEP:.1f}"


def rise(radius: float, random: Random) -> str:
    chord = 40.0
    height = radius - np.sqrt(radius**2 - chord**2 / 4)
    # the jaws are set to a chord; where it was set is what is uncertain
    set_to = chord + random.uniform(-OFF, OFF) + random.uniform(-CALIPERS / 2, CALIPERS / 2)
    height = radius - np.sqrt(radius**2 - set_to**2 / 4)
    return f"{{ chord = {chord}, height = {by_calipers(height, random):.2f} }}"


def depths(radius: float, random: Random) -> str:
    y = np.linspace(-20, 20, 7)
    z = 0.2 + 0.004 * (y + 20) + radius - np.sqrt(radius**2 - y**2)
    return str([[float(a), round(by_calipers(float(b), random), 3)] for a, b in zip(y, z, strict=True)])


WAYS: dict[str, tuple[str, Callable[[float, Random], str]]] = {
    "two gauges": ("radius", between_gauges),
    "one gauge": ("radius", nearest_gauge),
    "rise": ("rise", rise),
    "depths": ("rise", depths),
}
AT = (1, 5, 9, 12, 16)


def rounds(count: int, way: str, seed: int = 6) -> dict[str, float]:
    """Of ``count`` cylinders: the curvature, in which the interval is given; how often they are called cones."""
    random, (key, write) = np.random.default_rng(seed), WAYS[way]
    pairs, cones = [], 0
    for _ in range(count):
        radius = random.uniform(180, 420)
        found = _round(key, [write(radius, random) for _ in AT])
        pairs.append(_error(found.all, radius))
        cones += found.shape == "cone"
    return shares_of(way, pairs) | {f"{way}_cones": cones / count}


def cones(count: int, seed: int = 7) -> dict[str, float]:
    """Of ``count`` cones measured by depths at five places: both ends, and how often they are told from cylinders."""
    random = np.random.default_rng(seed)
    nut, last, told = [], [], 0
    for _ in range(count):
        start, end = random.uniform(180, 260), random.uniform(320, 420)
        radii = start + (end - start) * SHARE[list(AT)] / SHARE[-1]
        found = _round("rise", [depths(float(r), random) for r in radii])
        assert found.at_nut is not None
        assert found.at_last is not None
        nut.append(_error(found.at_nut, start))
        last.append(_error(found.at_last, end))
        told += found.shape == "cone"
    return shares_of("cone at nut", nut) | shares_of("cone at last", last) | {"cone_told": told / count}


def _round(key: str, written: list[str]) -> RoundFound:
    readings = ", ".join(f'"{fret}" = {text}' for fret, text in zip(AT, written, strict=True))
    found = round_found(survey(f"[board]\n{key} = {{ {readings} }}"))
    assert found is not None
    return found


def _error(found: Round, radius: float) -> tuple[float, float]:
    return abs(found.curvature - 1 / radius), 2 * found.u


def reliefs(count: int, at: tuple[int, ...], seed: int = 8) -> dict[str, float]:
    """Of ``count`` necks: the deepest gap, from the thickest leaves that enter over these frets."""
    random = np.random.default_rng(seed)
    t = (SHARE[list(at)] - SHARE[1]) / (SHARE[-1] - SHARE[1])
    pairs = []
    for _ in range(count):
        depth = random.uniform(0.05, 0.6)
        gaps = np.floor(4 * depth * t * (1 - t) / FEELER) * FEELER
        written = ", ".join(f'"{fret}" = {gap:.2f}' for fret, gap in zip(at, gaps, strict=True))
        found = relief_found(survey(f"[relief]\nheld = [1, {FRETS}]\ngap = {{ {written} }}"), None)
        assert found is not None
        pairs.append((abs(found.depth.value - depth), found.depth.pm))
    return shares_of(f"relief from {len(at)}", pairs)


def everything(count: int) -> dict[str, Any]:
    shares: dict[str, Any] = simulate(count)
    for way in WAYS:
        shares |= rounds(count, way)
    shares |= cones(count)
    for at in ((7,), (7, 9), (5, 7, 9, 12)):
        shares |= reliefs(count, at)
    return shares
