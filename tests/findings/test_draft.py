"""A spec begun from a survey: every value found stands under its own key, its ± on the line, and the rest is marked."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from templategen import job

SURVEY = """
title = "Loan fleet 60 as found"
kind = "electric"
handedness = "left"
[scale]
fret_count = 21
[frets.centre]
PLACES
[board]
width = { nut = 42.6, last = 55.8 }
thickness_at_edge = { nut = 5.12 }
radius = { "1" = [300, 304], "12" = [300, 304], "21" = [300, 304] }
[crowns]
height = { "1" = [1.02, 0.98], "2" = [1.06, 1.05] }
width = { "1" = 2.4 }
[strings]
set = [
  { gauge = 0.25, note = "E4" }, { gauge = 0.35, note = "B3" }, { gauge = 0.45, note = "G3" },
  { gauge = 0.70, note = "D3", wound = true }, { gauge = 0.90, note = "A2", wound = true },
  { gauge = 1.20, note = "E2", wound = true },
]
at_nut = [39.0, 32.0, 25.0, 18.0, 11.0, 4.2]
nut_thickness = 3.52
[bridge]
string_spread = 51.6
"""


@pytest.fixture
def begun(tmp_path: Path) -> str:
    places = "\n".join(f'"{n}" = {638 * (1 - 2 ** (-n / 12)):.1f}' for n in range(1, 22))
    (tmp_path / "found.toml").write_text(SURVEY.replace("PLACES", places), encoding="utf-8")
    job.survey(str(tmp_path / "found.toml"), str(tmp_path / "draft.toml"))
    return (tmp_path / "draft.toml").read_text(encoding="utf-8")


def test_values_stand_under_their_own_keys(begun: str) -> None:
    draft = tomllib.loads(begun)
    assert draft["scale"]["length"] == pytest.approx(638, abs=0.3)
    assert draft["scale"]["fret_count"] == 21
    assert draft["handedness"] == "left"
    assert draft["kind"] == "electric"
    assert draft["survey"] == "found.toml"
    board = draft["fingerboard"]
    assert (board["width_at_nut"], board["width_at_last_fret"]) == pytest.approx((42.6, 55.8), abs=0.05)
    assert board["thickness_at_edge"] == pytest.approx(5.12, abs=0.05)
    assert board["radius"] == pytest.approx(302, abs=2)
    assert draft["fret_wire"]["crown_width"] == pytest.approx(2.4)
    assert draft["fret_wire"]["crown_height"] == pytest.approx(1.06), "the highest that was read"
    assert [string["gauge"] for string in draft["strings"]["set"]] == [0.25, 0.35, 0.45, 0.70, 0.90, 1.20]
    assert draft["bridge"]["string_spread"] == pytest.approx(51.6)
    nut = draft["nut"]
    assert nut["thickness"] == pytest.approx(3.52)
    # from the board's edge to the outside of the string: 42.6 − 39.0 − 0.25/2, and 4.2 − 1.20/2
    assert nut["edge_margin"] == {"bass": pytest.approx(3.6, abs=0.02), "treble": pytest.approx(3.475, abs=0.02)}


def test_what_was_measured_has_its_pm_and_the_rest_says_so(begun: str) -> None:
    marked = {line.split("=")[0].strip() for line in begun.splitlines() if "# not measured" in line and "=" in line}
    told = {line.split("=")[0].strip() for line in begun.splitlines() if re.search(r"# .*(±|from \d)", line)}
    assert {"seat_depth"} <= marked
    assert {"length", "width_at_nut", "width_at_last_fret", "thickness_at_edge", "radius", "edge_margin"} <= told
    assert not marked & told
