"""Does the ± hold? Simulated instruments, read with tools of the stated errors.

Run as a program for the whole simulation: python tests/survey_coverage.py 2000
"""

from __future__ import annotations

import sys

import numpy as np

from templategen.repair.survey.frets import FretLine, line_found
from templategen.spec.survey.models import Law, Rule
from templategen.spec.survey.values import ByFret

GRADUATION, LIMIT = 0.5, 0.5  # mm: a rule of class II up to a metre, MID 2014/32/EU, Annex X


def simulate(count: int, seed: int = 5) -> dict[str, float]:
    """Shares and ratios over ``count`` instruments of 21 frets."""
    random = np.random.default_rng(seed)
    law, rule = Law.model_validate({"fret_count": 21}), Rule.model_validate({})
    n = np.arange(1, 22)
    f = 1 - 2 ** (-n / 12)

    def read(x: np.ndarray) -> FretLine:
        values = np.round(x / GRADUATION) * GRADUATION
        places = ByFret(tuple((str(k), (float(v),)) for k, v in zip(n, values, strict=True)))
        return line_found("centre", law, places, rule)

    off: dict[str, list[tuple[float, float]]] = {"scale": [], "shift": []}
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
        error, pm = np.array(pairs).T
        shares[f"{name}_covered"] = float((error <= pm).mean())
        shares[f"{name}_width"] = float(pm.mean() / np.quantile(error, 0.95))
    return shares


if __name__ == "__main__":
    for name, value in simulate(int(sys.argv[1]) if len(sys.argv) > 1 else 2000).items():
        print(f"{name:15} {value:.4f}")
