"""What the fleet's surveys were measured of: made-up truths, and somebody at the bench who measures them.

Run this file as a program to write specs/surveys/ anew. The tests ask whether what is found lies within its ± of these.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

import numpy as np
from places import SPECS

FOLDER = SPECS / "surveys"


@dataclass(frozen=True)
class Truth:
    """One instrument.

    scales, shifts: by line; misplaced: fret to mm; slips: of the rule, fret to mm; radius: at the nut and at the last
    fret, None for a flat board; rule_error: of the rule over its whole length read, mm."""

    stem: str
    title: str
    kind: str
    fret_count: int
    scales: dict[str, float]
    shifts: dict[str, float]
    radius: tuple[float, float] | None
    relief: float
    widths: tuple[float, float]
    rule_error: float
    seed: int
    divisor: float | None = None
    misplaced: dict[int, float] = field(default_factory=dict)
    slips: dict[int, float] = field(default_factory=dict)
    not_read: tuple[int, ...] = ()
    gauge_step: float = 12.7
    gauges_at: tuple[int, ...] = (1, 5, 9, 12, 16)
    square_fret: float | None = None
    at_y: tuple[float, float] | None = None
    worn: dict[int, tuple[float, float]] = field(default_factory=dict)
    crowns: bool = True
    new_height: float = 1.1
    strings: int = 6
    first_fret: tuple[float, float] = (0.5, 0.35)
    action: tuple[float, float] = (2.4, 1.9)
    half: float = 0.5

    def fractions(self) -> np.ndarray:
        n = np.arange(1, self.fret_count + 1)
        return 1 - (1 - 1 / self.divisor) ** n if self.divisor else 1 - 2 ** (-n / 12)


FLEET = (
    Truth("fleet-07", "Loan fleet 07 as found: worn student electric", "electric", 21, {"centre": 639.76},
          {"centre": 0.42}, (279.4, 279.4), 0.38, (43.2, 55.4), -0.21, 8, not_read=(4, 13),
          worn={1: (0.12, 0.30), 2: (0.16, 0.38), 3: (0.10, 0.31), 5: (0.04, 0.12), 7: (0.02, 0.07)}),
    Truth("fleet-23", "Loan fleet 23 as found: multi-scale bass", "bass", 24, {"bass": 873.1, "treble": 841.4},
          {"bass": 0.0, "treble": 0.1}, (368.3, 368.3), 0.33, (41.66, 65.53), 0.31, 23, square_fret=6.5,
          at_y=(-17.5, 17.5), crowns=False, strings=4, action=(2.5, 2.1), first_fret=(0.6, 0.5)),
    Truth("fleet-52", "Loan fleet 52 as found: classical, slots by an old rule", "classical", 19, {"centre": 642.0},
          {"centre": 0.0}, None, 0.22, (51.6, 64.66), 0.12, 52, divisor=18.0, crowns=False, first_fret=(0.9, 0.7),
          action=(4.1, 3.3)),
    Truth("fleet-31", "Loan fleet 31 as found: archtop, a fret out of place", "steel_acoustic", 20,
          {"centre": 636.59}, {"centre": 0.1}, (311.15, 311.15), 0.25, (43.6, 55.0), 0.18, 31,
          misplaced={7: 1.4}, slips={14: 5.0}, crowns=False),
    Truth("fleet-26", "Loan fleet 26 as found: board that may be a cone", "electric", 22, {"centre": 633.4},
          {"centre": -0.1}, (247.65, 342.9), 0.17, (42.4, 57.0), -0.1, 26, gauge_step=50.8, gauges_at=(3, 9, 15),
          not_read=(2, 8, 16, 20), worn={1: (0.05, 0.05)}),
)  # fmt: skip


class Bench:
    """Somebody who measures: every tool with its own error."""

    def __init__(self, truth: Truth) -> None:
        self.truth = truth
        self.random = np.random.default_rng(truth.seed)

    def rule(self, x: float, farthest: float) -> float:
        """Read to the graduation; the rule is off in proportion to the length."""
        off = x * (1 + self.truth.rule_error / farthest) + self.random.uniform(-0.02, 0.02)
        return round(off / self.truth.half) * self.truth.half

    def calipers(self, x: float) -> float:
        return round((x + self.random.uniform(-0.03, 0.03)) / 0.02) * 0.02

    def feelers(self, gap: float) -> float:
        return float(np.floor(max(gap, 0.0) / 0.01 + 1e-9) * 0.01)

    def height(self, x: float) -> float:
        return round(x / 0.1) * 0.1

    def gauge(self, radius: float) -> list[float]:
        """The two gauges between which the board lies."""
        low = float(np.floor(radius / self.truth.gauge_step) * self.truth.gauge_step)
        return [round(low, 2), round(low + self.truth.gauge_step, 2)]


def places_of(t: Truth, line: str) -> np.ndarray:
    x = t.shifts[line] + t.scales[line] * t.fractions()
    for fret, off in t.misplaced.items():
        x[fret - 1] += off
    return x


def text(t: Truth) -> str:
    """The survey file as that somebody writes it."""
    bench, f, last = Bench(t), t.fractions(), t.fret_count
    lines = [
        "# Made up for the tests and the demo: measured of a truth kept in tests/survey_truths.py",
        f'title = "{t.title}"', 'units = "mm"', "date = 2026-11-20", f'kind = "{t.kind}"', "",
        "[tools]", f'rule = {{ graduation = {t.half}, class = "II" }}', f"gauges = {{ step = {t.gauge_step} }}", "",
        "[scale]", f"fret_count = {last}", "", "[frets]",
    ]  # fmt: skip
    if t.at_y is not None and t.square_fret is not None:
        between = (t.scales["bass"] - t.scales["treble"]) * (1 - 2 ** (-t.square_fret / 12))
        slant = bench.rule(between * t.widths[0] / (t.at_y[1] - t.at_y[0]), 100.0)
        lines += [f"nut_slant = {slant:.1f}", f"at_y = {{ bass = {t.at_y[0]}, treble = {t.at_y[1]} }}"]
    for line in t.scales:
        x = places_of(t, line)
        lines.append(f"[frets.{line}]")
        for n in range(1, last + 1):
            if n in t.not_read:
                continue
            read = bench.rule(float(x[n - 1]), float(x[-1])) + t.slips.get(n, 0.0)
            again = bench.rule(float(x[n - 1]), float(x[-1])) if n == 12 else None
            lines.append(f'"{n}" = {read:.1f}' if again is None else f'"{n}" = [{read:.1f}, {again:.1f}]')
    width = [bench.calipers(w) for w in t.widths]
    lines += ["", "[board]", f"width = {{ nut = {width[0]:.2f}, last = {width[1]:.2f} }}"]
    lines.append(f"thickness_at_edge = {{ nut = {bench.calipers(5.2):.2f} }}")
    lines += ["[board.radius]", *_gauges(t, bench, f)]
    lines += ["", "[relief]", f"held = [1, {last}]", "[relief.gap]"]
    share = (f - f[0]) / (f[-1] - f[0])
    for n in (7, 9):
        gap = 4 * t.relief * share[n - 1] * (1 - share[n - 1])
        lines.append(f'"{n}" = {bench.feelers(float(gap)):.2f}')
    lines += _crowns(t, bench)
    lines += ["", "[strings]", f"first_fret = {_listed(t.first_fret, t.strings, bench.feelers, 2)}"]
    lines.append(f"action = {{ fret = 12, heights = {_listed(t.action, t.strings, bench.height, 1)} }}")
    lines += ["", "[condition]", "humidity = 46", "temperature = 21", 'notes = ["made up"]', ""]
    return "\n".join(lines)


def _gauges(t: Truth, bench: Bench, f: np.ndarray) -> Iterable[str]:
    for n in t.gauges_at:
        if t.radius is None:
            yield f'"{n}" = "flat"'
        else:
            low, high = bench.gauge(t.radius[0] + (t.radius[1] - t.radius[0]) * f[n - 1] / f[-1])
            yield f'"{n}" = [{low}, {high}]'


def _crowns(t: Truth, bench: Bench) -> Iterable[str]:
    if not t.crowns:
        return
    yield from ("", "[crowns]", 'lines = ["bass", "treble"]', "[crowns.under_straightedge]")
    gaps = {n: [bench.feelers(w) for w in t.worn.get(n, (0.0, 0.0))] for n in range(1, t.fret_count + 1)}
    yield from (f'"{n}" = [{bass:.2f}, {treble:.2f}]' for n, (bass, treble) in gaps.items())
    yield "[crowns.height]"
    for n in (1, 2, 3, 5, 7, 12):
        bass, treble = (bench.calipers(t.new_height - w) for w in t.worn.get(n, (0.0, 0.0)))
        yield f'"{n}" = [{bass:.2f}, {treble:.2f}]'


def _listed(sides: tuple[float, float], count: int, read: Callable[[float], float], places: int) -> str:
    """Bass and treble value, over the strings, treble side first."""
    values = np.linspace(sides[1], sides[0], count)
    return "[" + ", ".join(f"{read(float(v)):.{places}f}" for v in values) + "]"


if __name__ == "__main__":
    FOLDER.mkdir(exist_ok=True)
    for truth in FLEET:
        (FOLDER / f"{truth.stem}-survey.toml").write_text(text(truth), encoding="utf-8")
