"""What to measure next: every reading tried, the fit made again with it, and the one that leaves least is told."""

from __future__ import annotations

import json

import numpy as np
import pytest

from templategen.repair.survey.board import RoundFound, round_found
from templategen.repair.survey.found import AsFound, as_found
from templategen.repair.survey.next import NextReading, next_readings
from templategen.spec.survey.load import load_survey

FRETS = 21
SHARE = 1 - 2 ** (-np.arange(FRETS + 1) / 12)


def found(tables: str) -> AsFound:
    return as_found(load_survey("made.toml", f"[scale]\nfret_count = {FRETS}\n{tables}".encode()).survey)


def steps(tables: str) -> dict[str, NextReading]:
    return {each.what: each for each in next_readings(found(tables))}


@pytest.mark.parametrize("read", [(1, 5, 12), (5, 7, 9, 12, 15), (12, 15, 17, 21), tuple(range(1, 22))])
def test_the_fret_that_tells_most_about_the_nut(read: tuple[int, ...]) -> None:
    """By the covariance (XᵀX)⁻¹·u² of the readings with each fret added in turn, numpy's own inverse."""
    places = {str(n): round(640 * SHARE[n] * 2) / 2 for n in read}
    step = steps(f"[frets]\ncentre = {{ {json.dumps(places)[1:-1].replace(':', ' =')} }}").get("shift")
    u = 0.5 / np.sqrt(12)
    rows = np.stack([SHARE[list(read)], np.ones(len(read))], 1)

    def pm(rows: np.ndarray) -> float:
        return float(2 * u * np.sqrt(np.linalg.inv(rows.T @ rows)[1, 1]))

    tried = {n: pm(np.vstack([rows, [SHARE[n], 1.0]])) for n in range(1, FRETS + 1)}
    best = min(tried, key=tried.__getitem__)
    if step is None:
        assert tried[best] > 0.9 * pm(rows)
        return
    assert step.where == str(best)
    assert step.then / step.now == pytest.approx(tried[best] / pm(rows), rel=1e-6)


def test_a_better_rule_where_the_rule_is_most_of_it() -> None:
    places = ", ".join(f'"{n}" = {640 * SHARE[n]:.1f}' for n in range(1, 22))
    rough = steps(f'[tools]\nrule = {{ graduation = 0.1, class = "III" }}\n[frets]\ncentre = {{ {places} }}')
    assert rough["scale"].where == "rule"
    fine = found(f'[tools]\nrule = {{ graduation = 0.1, class = "I" }}\n[frets]\ncentre = {{ {places} }}')
    assert fine.frets is not None
    assert fine.frets.lines[0].scale.pm < rough["scale"].now
    assert rough["scale"].then < fine.frets.lines[0].scale.pm, "no less than with no error of the rule at all"


def radius(stations: dict[int, float]) -> str:
    return "[board]\nradius = { " + ", ".join(f'"{n}" = [{r}, {r + 50.8}]' for n, r in stations.items()) + " }"


@pytest.mark.parametrize("stations", [{3: 254.0, 9: 254.0, 15: 254.0}, {9: 254.0, 12: 254.0, 15: 254.0}])
def test_the_rise_that_tells_a_cone_from_a_cylinder(stations: dict[int, float]) -> None:
    """The reading itself is taken at every fret in turn, as it would be, and the fit of both ends made again."""
    step = steps(radius(stations))["round"]

    def ends_apart(at: str) -> float:
        """u of the difference of both ends' curvature with one more station, by hand from all stations' u."""
        made = with_rise(stations, at)
        t = np.array([s.share for s in made.stations]) / SHARE[-1]
        u = np.array([s.round.u for s in made.stations])
        x = np.stack([1 - t, t], 1) / u[:, None]
        return float(2 * 50.0**2 / 8 * np.sqrt(np.array([-1, 1]) @ np.linalg.inv(x.T @ x) @ np.array([-1, 1])))

    tried = {at: ends_apart(at) for at in ("nut", *map(str, range(1, FRETS)), "last")}
    assert step.where == min(tried, key=tried.__getitem__)
    assert step.then == pytest.approx(tried[step.where], rel=0.03)  # the rise it would read is rounded
    assert step.then < step.now


def with_rise(stations: dict[int, float], at: str) -> RoundFound:
    """The same, and a rise over 40 mm of the round that lies between the gauges."""
    curvature = np.mean([(1 / r + 1 / (r + 50.8)) / 2 for r in stations.values()])
    height = 40**2 * curvature / 8
    text = f'{radius(stations)}\nrise = {{ "{at}" = {{ chord = 40, height = {height:.3f} }} }}'
    made = round_found(load_survey("made.toml", f"[scale]\nfret_count = {FRETS}\n{text}".encode()).survey)
    assert made is not None
    return made


def test_one_place_alone_asks_for_another() -> None:
    step = steps(radius({9: 254.0}))["round_first"]
    assert step.where == "nut"
    assert steps(radius({1: 254.0}))["round_first"].where == "last"
    assert "round" not in steps('[board]\nradius = { "1" = [254, 257], "12" = [254, 257], "21" = [254, 257] }')
