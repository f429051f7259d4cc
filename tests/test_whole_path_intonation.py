"""Intonation through the whole path: a spec file, ``make``, and numbers.json read back.

Published figures: M. B. Anderson, R. G. Beausoleil, "Classical guitar intonation and compensation: The well-tempered
guitar", JASA 156(1), 683 (2024). Their guitar is a plane of crowns with the nut b over it and the saddle c over the
nut: a flat board without relief, first_fret_clearance = b + c·f(1) and an action at the octave of b + c/2. Their ΔS is
saddle_offset, their ΔN nut_offset with the sign turned.

Values marked *computed* follow from the paper's formulas and were worked out apart from this project in arbitrary
precision. They take the stiffness from the series to second order, the files from the exact root; the next term of the
series is some 10·B³, at the octave 1.5 thousandths of a cent.
"""

from __future__ import annotations

import csv
import json
import math
from pathlib import Path
from typing import Any

import making
import numpy as np
import pytest
from places import DATA

from templategen import job

NYLON_FILE = DATA / "nylon-set.csv"
NYLON_SET = list(csv.DictReader(line for line in NYLON_FILE.read_text().splitlines() if not line.startswith("#")))

SCALE, B, C = 650.0, 1.0, 4.0
FIRST = 1 - 2 ** (-1 / 12)

PLANE: dict[str, Any] = {
    "scale.length": SCALE,
    "scale.fret_count": 19,
    "fingerboard.radius": "flat",
    "fret_wire.markers": [],
    "fret_wire.doubled_markers": [],
    "fingerboard.width_at_nut": 52,
    "fingerboard.width_at_last_fret": 62,
    "nut.edge_margin": {"bass": 5, "treble": 5},
    "setup.first_fret_clearance": B + C * FIRST,
    "setup.action": {"fret": 12, "bass": B + C / 2, "treble": B + C / 2},
    "setup.relief": 0,
}

# the paper's prototype string: R 25 and so kappa 51; its radius, 0.43 in print, here such that B0 = √κ·ρ/(2·X0) is the
# 0.00236 that the computed values start from. Its mass changes nothing
PROTOTYPE = {
    "gauge": 4 * SCALE * 0.00236 / math.sqrt(51),
    "note": "E4",
    "stretch_sensitivity": 25.0,
    "mass_per_length": 0.374,
}


def numbers(changes: dict[str, Any], folder: Path) -> dict[str, Any]:
    with making.spec_file({**PLANE, **changes}) as path:
        made = job.make(path, folder, only=["tables"])
    read: dict[str, Any] = json.loads((made.folder / "numbers.json").read_text(encoding="utf-8"))
    return read


def nylon_string(row: dict[str, str]) -> dict[str, Any]:
    return {
        "gauge": 2 * float(row["radius_mm"]),
        "note": row["note"],
        "material": "nylon",
        "mass_per_length": float(row["mass_g_per_m"]),
        "stretch_sensitivity": float(row["R"]),
    }


@pytest.fixture(scope="module")
def nylon(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    fit = {"strings.set": [nylon_string(row) for row in NYLON_SET], "nut.compensation": "best_fit"}
    return numbers({**fit, "intonation.finger_distance": 0}, tmp_path_factory.mktemp("nylon"))


@pytest.fixture(scope="module")
def prototype(tmp_path_factory: pytest.TempPathFactory) -> dict[int, dict[str, Any]]:
    """By finger distance."""
    return {
        distance: numbers(
            {"strings.set": [PROTOTYPE] * 3, "intonation.finger_distance": distance, "nut.compensation": "best_fit"},
            tmp_path_factory.mktemp(f"finger{distance}"),
        )
        for distance in (0, 10)
    }


@pytest.mark.parametrize("place", range(6), ids=[row["string"] for row in NYLON_SET])
def test_the_nylon_set(nylon: dict[str, Any], place: int) -> None:
    published, string = NYLON_SET[place], nylon["strings"][place]
    assert string["saddle_offset"] == pytest.approx(float(published["saddle_setback_mm"]), abs=0.03)
    assert -string["nut_offset"] == pytest.approx(float(published["nut_setback_mm"]), abs=0.01)
    assert string["rms_cents"] == pytest.approx(float(published["rms_cents"]), abs=0.01)
    assert math.sqrt(np.mean(np.square(string["cents"][:12]))) == pytest.approx(string["rms_cents"], abs=1e-8)
    assert string["tension_n"] == pytest.approx(float(published["tension_n"]), abs=0.15)
    # the paper works R out to one digit more than it prints, so kappa = 2R + 1 agrees to 0.1
    assert string["kappa"] == pytest.approx(float(published["kappa"]), abs=0.11)
    # its B0 has three digits
    assert string["bending"] == pytest.approx(float(published["B0"]), rel=0.005)
    assert string["inharmonicity"] == pytest.approx(math.pi**2 * float(published["B0"]) ** 2, rel=0.01)


def test_the_line_is_the_papers(nylon: dict[str, Any]) -> None:
    """The nut stands b over the crowns; the saddle c over the nut at the nominal scale, a little more at its offset."""
    crown = 1.1
    for string in nylon["strings"]:
        slope = C / SCALE
        assert string["nut_over_crowns"] == pytest.approx(B + slope * string["nut_offset"], abs=1e-6)
        assert string["saddle_height"] == pytest.approx(crown + B + C + slope * string["saddle_offset"], abs=1e-6)


@pytest.mark.parametrize(
    ("distance", "cents"),
    [  # frets 1 to 12, computed
        (0, (1.727, 1.609, 1.817, 2.124, 2.483, 2.883, 3.316, 3.782, 4.280, 4.810, 5.375, 5.975)),
        (10, (2.327, 1.817, 1.953, 2.233, 2.582, 2.977, 3.410, 3.878, 4.380, 4.916, 5.488, 6.096)),
    ],
)
def test_the_prototype_uncompensated(prototype: dict[int, dict[str, Any]], distance: int, cents: Any) -> None:
    for string in prototype[distance]["strings"]:
        assert string["kappa"] == pytest.approx(51, abs=1e-9)
        assert string["bending"] == pytest.approx(0.00236, abs=1e-9)
        assert string["cents_uncompensated"][:12] == pytest.approx(cents, abs=2e-3)


def test_why_the_prototype_is_sharp_at_the_octave(prototype: dict[int, dict[str, Any]]) -> None:
    terms = prototype[0]["strings"][0]["cents_terms_uncompensated"]
    at_octave = {name: values[11] for name, values in terms.items()}
    # computed; the paper says −0.17 for the length
    assert at_octave["length"] == pytest.approx(-0.172, abs=6e-4)
    assert at_octave["density"] == pytest.approx(0.037, abs=6e-4)
    assert at_octave["tension"] == pytest.approx(1.879, abs=6e-4)
    assert at_octave["stiffness"] == pytest.approx(4.232, abs=2e-3)


def test_the_terms_add_up(prototype: dict[int, dict[str, Any]]) -> None:
    for string in prototype[10]["strings"]:
        for terms, total in (("cents_terms", "cents"), ("cents_terms_uncompensated", "cents_uncompensated")):
            assert np.sum(list(string[terms].values()), axis=0) == pytest.approx(string[total], abs=1e-8)


def test_a_fingertip_ten_behind_asks_for_a_quarter_more_of_the_nut(prototype: dict[int, dict[str, Any]]) -> None:
    # the paper finds about 1.27
    near, far = (prototype[distance]["strings"][0]["nut_offset"] for distance in (0, 10))
    assert far / near == pytest.approx(1.27, abs=0.01)


def test_a_steel_e_string(tmp_path: Path) -> None:
    """Plain steel of 7850 kg/m³ at 650 mm and E4: ρ(2Lf)² = 1441.5 N/mm² whatever the gauge (computed)."""
    steel = [{"gauge": gauge, "note": "E4", "density": 7.85} for gauge in (0.2, 0.25, 0.3)]
    read = numbers({"strings.set": steel, "strings.material": "steel"}, tmp_path)
    assert [string["stress_mpa"] for string in read["strings"]] == pytest.approx([1441.5] * 3, abs=0.05)
    assert read["setup"]["total_load_n"] == pytest.approx(sum(s["tension_n"] for s in read["strings"]), abs=1e-7)


def test_held_offsets_are_what_is_written(tmp_path: Path) -> None:
    """And the paper's setbacks, held, leave the error that it prints."""
    held = {
        "strings.set": [nylon_string(row) for row in NYLON_SET],
        "nut.compensation": [-float(row["nut_setback_mm"]) for row in NYLON_SET],
        "intonation.saddle": [float(row["saddle_setback_mm"]) for row in NYLON_SET],
        "intonation.finger_distance": 0,
    }
    for string, row in zip(numbers(held, tmp_path)["strings"], NYLON_SET, strict=True):
        assert string["saddle_offset"] == float(row["saddle_setback_mm"])
        assert string["nut_offset"] == -float(row["nut_setback_mm"])
        assert string["rms_cents"] == pytest.approx(float(row["rms_cents"]), abs=0.01)


def test_an_ideal_string_asks_for_nothing_but_its_length(tmp_path: Path) -> None:
    """Neither stiff nor stretching, over a straight line of crowns that the string nearly touches: no offsets."""
    limp = [{"gauge": 0.5, "note": "E4", "mass_per_length": 0.5, "stretch_sensitivity": 1e-9}] * 3
    low = {"setup.first_fret_clearance": 0.001 * FIRST, "setup.action": {"fret": 12, "bass": 5e-4, "treble": 5e-4}}
    for string in numbers({"strings.set": limp, "intonation.string_ends": "ideal", **low}, tmp_path)["strings"]:
        assert string["saddle_offset"] == pytest.approx(0, abs=1e-4)
        assert np.abs(string["cents_uncompensated"]).max() < 1e-3


def test_the_frequency_reference_leaves_positions_alone(nylon: dict[str, Any], tmp_path: Path) -> None:
    """With kappa given, pitch changes tension and stiffness alike, and nothing that is cut."""
    changes = {"strings.set": [nylon_string(row) for row in NYLON_SET], "nut.compensation": "best_fit"}
    low = numbers({**changes, "intonation.finger_distance": 0, "scale.pitch_of_a4": 415}, tmp_path)
    for here, there in zip(low["strings"], nylon["strings"], strict=True):
        assert here["tension_n"] == pytest.approx(there["tension_n"] * (415 / 440) ** 2, rel=1e-9)
        for name in ("saddle_offset", "nut_offset", "nut_y", "saddle_y", "slot_depth"):
            assert here[name] == pytest.approx(there[name], abs=1e-6)
    assert low["frets"] == nylon["frets"]


def test_what_holds_for_all_strings(nylon: dict[str, Any]) -> None:
    whole = nylon["intonation"]
    offsets = [string["saddle_offset"] for string in nylon["strings"]]
    assert (whole["finger_distance"], whole["fit_to_fret"]) == (0, 12)
    assert whole["saddle_range"]["nearest"] == pytest.approx(min(offsets) - whole["saddle_range"]["margin"])
    assert whole["saddle_range"]["farthest"] == pytest.approx(max(offsets) + whole["saddle_range"]["margin"])
    line = whole["straight_saddle"]
    places = [string["saddle_y"] for string in nylon["strings"]]
    # saddle_y is where the string is held, which its own offset moves along the slanting string by a hair
    assert line["offsets"] == pytest.approx(
        [line["offset_on_centreline"] + line["slope"] * y for y in places], abs=0.01
    )
    assert min(offsets) < line["offset_on_centreline"] < max(offsets)
    assert [case["extra"] for case in whole["nut_too_high"]] == [0.1, 0.3]
    for case in whole["nut_too_high"]:
        added = np.array(case["cents_added"])
        assert added.shape == (6, 3)
        assert (np.diff(added, axis=1) < 0).all()
        assert (added > 0).all()
