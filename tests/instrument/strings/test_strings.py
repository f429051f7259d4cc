"""Masses, tensions, stresses and stretch against published sets, closed forms and the laws of strings."""

from __future__ import annotations

import csv
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from places import DATA

from templategen.findings.catalogue import told
from templategen.findings.strings import load_facts
from templategen.instrument.strings.loads import (
    StringLoad,
    load_problems,
    round_wrap_mass,
    set_problems,
    string_body,
    strung,
    tension,
    total_load,
)
from templategen.spec.models import Strings
from templategen.spec.values import read_pitch

# Anderson & Beausoleil, JASA 156(1), 683 (2024)
NYLON_FILE = DATA / "nylon-set.csv"
NYLON_SET = list(csv.DictReader(line for line in NYLON_FILE.read_text().splitlines() if not line.startswith("#")))


def load(length: float = 650.0, **asked: object) -> StringLoad:
    strings = Strings.model_validate({"set": (asked,)})
    body = string_body(strings.set[0], strings)
    return strung(body, length, strings.set[0].note.frequency_hz(440.0))


def nylon(row: dict[str, str]) -> StringLoad:
    return load(
        gauge=2 * float(row["radius_mm"]),
        note=row["note"],
        mass_per_length=float(row["mass_g_per_m"]),
        stretch_sensitivity=float(row["R"]),
    )


@pytest.mark.parametrize("row", NYLON_SET, ids=[row["string"] for row in NYLON_SET])
def test_nylon_set(row: dict[str, str]) -> None:
    string = nylon(row)
    assert string.tension_n == pytest.approx(float(row["tension_n"]), abs=0.15)
    assert string.kappa == pytest.approx(float(row["kappa"]), abs=0.15)  # R is printed to 0.1, and doubled
    assert string.bending == pytest.approx(float(row["B0"]), abs=1.0e-5)
    assert string.body.mass_source == "given"


@pytest.mark.parametrize("row", NYLON_SET, ids=[row["string"] for row in NYLON_SET])
def test_kappa_from_the_effective_modulus_is_the_one_from_stretch(row: dict[str, str]) -> None:
    string = load(
        gauge=2 * float(row["radius_mm"]),
        note=row["note"],
        mass_per_length=float(row["mass_g_per_m"]),
        youngs_modulus=float(row["effective_E_gpa"]),
    )
    assert string.kappa == pytest.approx(nylon(row).kappa, rel=0.05)


# ρ(2Lf)² for steel of 7850 kg/m³ at E4 over 650 mm: 1441.5 MPa whatever the gauge
@pytest.mark.parametrize("gauge", [0.2, 0.254, 0.5])
def test_stress_of_plain_steel_does_not_know_the_gauge(gauge: float) -> None:
    assert load(gauge=gauge, note="E4", density=7.85).stress_mpa == pytest.approx(1441.5, abs=0.05)


def test_plain_steel_ten() -> None:
    # computed: 0.254 mm, 647.7 mm, E4, density 7850
    string = load(647.7, gauge=0.254, note="E4", density=7.85)
    assert string.body.mass_g_per_m == pytest.approx(0.39777, abs=5e-6)
    assert string.tension_n == pytest.approx(72.52, abs=0.005)
    assert string.stress_share == pytest.approx(1431.3 / 2370, rel=1e-3)
    assert string.kappa == pytest.approx(198e3 * math.pi * 0.254**2 / 4 / 72.52, rel=0.05)


def test_ten_to_forty_six_total() -> None:
    # common practice, no source: a ten-to-forty-six steel set with plated wraps over 647.7 mm pulls about 460 N
    inches = [(0.010, "E4"), (0.013, "B3"), (0.017, "G3"), (0.026, "D3"), (0.036, "A2"), (0.046, "E2")]
    loads = [load(647.7, gauge=25.4 * d, note=note, wound=d > 0.02) for d, note in inches]
    assert total_load(loads) == pytest.approx(460, rel=0.04)


def test_wrap_mass_is_the_torus_count() -> None:
    # a ring of wire of section πd²/4 on a circle of diameter core + d (Pappus), one ring per wire thickness
    core, wire, density = 0.4, 0.3, 8.86
    ring = math.pi * wire**2 / 4 * math.pi * (core + wire) * density
    solid_core = 7.85 * math.pi * core**2 / 4
    assert round_wrap_mass(core + 2 * wire, core, 7.85, density) == pytest.approx(solid_core + ring / wire, rel=1e-14)


def test_nickel_wrap_is_about_a_tenth_heavier_than_plated_steel() -> None:
    nickel, plated = (
        load(gauge=1.0, note="E2", wound=True, wrap=wrap, core_diameter=0.43) for wrap in ("nickel", "plated_steel")
    )
    assert nickel.body.mass_g_per_m / plated.body.mass_g_per_m == pytest.approx(1.11, abs=0.02)


def test_core_is_estimated_and_says_so() -> None:
    guessed, given_core = (load(gauge=0.9, note="A2", wound=True, **extra) for extra in ({}, {"core_diameter": 0.405}))
    assert guessed.body.core_diameter == pytest.approx(0.405)
    assert guessed.body.core_estimated
    assert not given_core.body.core_estimated
    assert guessed.kappa == pytest.approx(given_core.kappa)
    (note,) = told(load_facts([given_core, guessed, guessed]), "mm")
    assert (note.code, note.level, note.key) == ("core-estimated", "note", "strings.set")
    assert note.message.startswith("The core of strings 2 and 3 is estimated as 0.45 of the gauge")
    assert told(load_facts([given_core]), "mm") == ()


def test_wound_strings_bend_and_stretch_by_their_core() -> None:
    wound = load(gauge=1.0, note="E2", wound=True, core_diameter=0.43)
    area, inertia = math.pi * 0.43**2 / 4, math.pi * 0.43**4 / 64
    stiff = wound.body.youngs_modulus_gpa * 1e3
    assert wound.kappa == pytest.approx(stiff * area / wound.tension_n)
    assert wound.bending == pytest.approx(math.sqrt(stiff * inertia / wound.tension_n) / 650)


def test_a_given_modulus_keeps_the_bending_when_stretch_is_measured() -> None:
    both = load(gauge=0.8, note="G3", material="nylon", stretch_sensitivity=25, youngs_modulus=3.0)
    only = load(gauge=0.8, note="G3", material="nylon", youngs_modulus=3.0)
    assert both.kappa == 51
    assert both.bending == only.bending


def test_the_set_and_the_string_say_what_it_is_made_of() -> None:
    strings = Strings.model_validate(
        {
            "set": ({"gauge": 0.7, "note": "E4"}, {"gauge": 0.7, "note": "E4", "material": "gut", "density": 1.25}),
            "material": "fluorocarbon",
        }
    )
    first, second = (string_body(spec, strings) for spec in strings.set)
    assert (first.material, second.material) == ("fluorocarbon", "gut")
    assert second.mass_g_per_m == pytest.approx(1.25 * math.pi * 0.7**2 / 4)
    (note,) = told(load_facts([strung(body, 650, 329.63) for body in (first, second)]), "mm")
    assert note.code == "stretch-estimated"


def test_stress_findings_and_problems() -> None:
    fine, near, broken = (load(gauge=0.254, note=note) for note in ("E4", "G4", "B4"))
    assert load_problems([fine, near]) == ()
    (finding,) = told(load_facts([fine, near, broken]), "mm")
    assert (finding.code, finding.level, finding.key) == ("string-stress", "decide", "strings.set[2].gauge")
    assert finding.message == (
        "String 2 is near breaking: 103.3 N on a 0.254 mm steel wire is 2039 N/mm2, 86% of the 2370 N/mm2 that such "
        "wire is sure to hold. Tune lower or shorten the scale; the gauge hardly matters, since stress follows length "
        "and pitch."
    )
    (problem,) = load_problems([fine, near, broken])
    assert problem.key == ("strings", "set", 2, "gauge")
    assert problem.message == (
        "this string would break: 164.0 N on a 0.254 mm steel wire is 3236 N/mm2, 137% of the 2370 N/mm2 that such "
        "wire is sure to hold\n"
        "Tune lower or shorten the scale; the gauge hardly matters, since stress follows length and pitch"
    )


def test_an_estimated_core_is_never_a_problem() -> None:
    asked = {"gauge": 0.9, "note": "A3", "wound": True}
    guessed, measured = load(**asked), load(**asked, core_diameter=0.405)
    assert guessed.stress_share is not None
    assert guessed.stress_share > 1
    assert load_problems([guessed]) == ()
    assert {f.code for f in told(load_facts([guessed]), "mm")} == {"string-stress", "core-estimated"}
    assert len(load_problems([measured])) == 1
    assert told(load_facts([measured]), "mm") == ()


def test_strength_that_is_not_known_judges_nobody() -> None:
    assert load(gauge=0.7, note="E6", material="nylon", stretch_sensitivity=25).stress_share is None
    assert load(gauge=4.0, note="E6").stress_share is None


def test_impossible_sets() -> None:
    strings = Strings.model_validate(
        {
            "set": (
                {"gauge": 0.3, "note": "E4", "core_diameter": 0.2},
                {"gauge": 0.3, "note": "E4", "wrap": "nickel"},
                {"gauge": 0.9, "note": "E2", "wound": True, "core_diameter": 0.9},
                {"gauge": 0.9, "note": "E2", "wound": True, "core_diameter": 0.4},
            )
        }
    )
    assert [(p.key, p.message) for p in set_problems(strings)] == [
        (("strings", "set", 0, "core_diameter"), "belongs to a wound string; add wound = true or remove it"),
        (("strings", "set", 1, "wrap"), "belongs to a wound string; add wound = true or remove it"),
        (
            ("strings", "set", 2, "core_diameter"),
            "the core must be thinner than the whole string, which is 0.900 mm",
        ),
    ]


@given(st.floats(0.1, 30), st.floats(200, 1000), st.floats(20, 1500), st.floats(1.01, 3))
def test_mersenne(mass: float, length: float, frequency: float, more: float) -> None:
    base = tension(mass, length, frequency)
    assert tension(mass * more, length, frequency) == pytest.approx(base * more)
    assert tension(mass, length * more, frequency) == pytest.approx(base * more**2)
    assert tension(mass, length, frequency * more) == pytest.approx(base * more**2)


@given(st.floats(0.3, 2.5), st.floats(0.2, 0.8), st.floats(0.01, 0.19))
def test_a_wound_string_weighs_less_than_a_bar_and_more_with_a_thicker_core(
    gauge: float, share: float, more: float
) -> None:
    # a layer of touching round wire fills π/4 of its space
    thin, thick = (round_wrap_mass(gauge, gauge * s, 7.85, 7.85) for s in (share, share + more))
    bar = 7.85 * math.pi * gauge**2 / 4
    assert math.pi / 4 * bar < thin < thick < bar


def test_pitch_reference_moves_tension_by_its_square() -> None:
    pitch = read_pitch("A2")
    assert tension(3.3, 650, pitch.frequency_hz(415)) / tension(3.3, 650, pitch.frequency_hz(440)) == pytest.approx(
        (415 / 440) ** 2
    )
