"""Masses, tensions, stresses and stretch against published sets, closed forms and the laws of strings."""

from __future__ import annotations

import csv
import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from mpmath import mp
from places import DATA

from templategen.findings.catalogue import told
from templategen.findings.strings import load_facts
from templategen.instrument.strings import materials
from templategen.instrument.strings.loads import (
    HEXAGON,
    StringLoad,
    load_problems,
    round_wrap_mass,
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


def load(length: float = 650.0, **asked: Any) -> StringLoad:
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
    assert string.stress_share == pytest.approx(1431.3 / 2668, rel=1e-3)
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
    guessed, given_core = (
        load(gauge=0.9144, note="A2", wound=True, **core) for core in ({}, {"core_diameter": 0.3937})
    )
    assert guessed.body.core_diameter == pytest.approx(0.3937), "0.0155 in at 0.036"
    assert guessed.body.core_estimated
    assert not given_core.body.core_estimated
    assert guessed.kappa == pytest.approx(given_core.kappa)


# A = √3/2·s², I = 5·√3/144·s⁴ across the flats (any handbook of sections); integrated here over the hexagon itself
def test_section_of_a_hexagon() -> None:
    mp.dps = 25
    side = 1 / mp.sqrt(3)  # of a hexagon one across its flats, which lie level at y = ±1/2

    def wide(y: Any) -> Any:
        return 2 * (side - abs(y) / mp.sqrt(3))

    area = mp.quad(wide, [-0.5, 0, 0.5])
    inertia = mp.quad(lambda y: y**2 * wide(y), [-0.5, 0, 0.5])
    assert float(area / (mp.pi / 4)) == pytest.approx(HEXAGON[0], rel=1e-12)
    assert float(inertia / (mp.pi / 64)) == pytest.approx(HEXAGON[1], rel=1e-12)
    assert HEXAGON[0] - 1 == pytest.approx(0.103, abs=5e-4), "across the flats A is 10.3 % more than a round core's"
    assert HEXAGON[1] - 1 == pytest.approx(0.225, abs=5e-4), "and I 22.5 %"
    assert HEXAGON[1] * (math.sqrt(3) / 2) ** 4 - 1 == pytest.approx(-0.31, abs=5e-3), "across the corners 31 % less"


def test_a_hexagonal_core_is_heavier_stronger_and_stiffer_as_calipers_measure_it() -> None:
    asked = {"gauge": 1.1, "note": "E2", "wound": True, "core_diameter": 0.42, "mass_per_length": 5.5}
    round_core, hexagon = (load(**asked, core_form=form) for form in ("round", "hexagonal"))
    assert hexagon.kappa / round_core.kappa == pytest.approx(HEXAGON[0])
    assert hexagon.bending / round_core.bending == pytest.approx(math.sqrt(HEXAGON[1]))
    assert hexagon.stress_mpa / round_core.stress_mpa == pytest.approx(1 / HEXAGON[0])
    free = {key: value for key, value in asked.items() if key != "mass_per_length"}
    masses = [load(**free, core_form=form).body.mass_g_per_m for form in ("round", "hexagonal")]
    # the wrap, thinner on the corners, against the larger section: both counted by hand
    corners = 0.42 * 2 / math.sqrt(3)
    wire = (1.1 - corners) / 2
    by_hand = 7.85 * (math.sqrt(3) / 2 * 0.42**2 + math.pi**2 / 4 * wire * (corners + wire))
    assert masses[1] == pytest.approx(by_hand, rel=1e-12)
    assert masses[1] != pytest.approx(masses[0], rel=1e-3)


@pytest.mark.parametrize(
    ("gauge", "core"),
    # common practice, no source; inches
    [
        (0.026, 0.0125),
        (0.036, 0.0155),
        (0.046, 0.0175),
        (0.054, 0.0185),
        (0.105, 0.0215),
        (0.020, 0.011),
        (0.13, 0.0225),
    ],
)
def test_usual_cores_of_steel(gauge: float, core: float) -> None:
    assert materials.usual_core("steel", 25.4 * gauge) == pytest.approx(25.4 * core, rel=1e-9)
    assert load(gauge=25.4 * gauge, note="E2", wound=True).body.core_diameter == pytest.approx(25.4 * core)


# common practice, no source; the masses that such sets are said to have, g/m, from memory
@pytest.mark.parametrize(("gauge", "core", "mass"), [(0.76, 0.51, 1.95), (0.91, 0.53, 3.25), (1.12, 0.56, 5.45)])
def test_usual_cores_of_floss_and_silk(gauge: float, core: float, mass: float) -> None:
    for material in ("nylon", "gut", "fluorocarbon"):
        assert materials.usual_core(material, gauge) == pytest.approx(core)
    string = load(gauge=gauge, note="A2", wound=True, material="nylon", wrap="silvered_copper")
    assert string.body.mass_g_per_m == pytest.approx(mass, rel=0.03)


@given(st.floats(0.3, 3.6), st.sampled_from(["steel", "nylon"]))
def test_usual_cores_rise_with_the_gauge_and_stay_inside(gauge: float, material: str) -> None:
    core, more = (materials.usual_core(material, d) for d in (gauge, gauge * 1.05))
    assert 0.1 * gauge < core < 0.7 * gauge
    assert more > core


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
    assert first.stretch_guessed
    assert second.guessed


def test_stress_findings_and_problems() -> None:
    """Silent where nobody frowns, a note near the least strength, to decide up to the greatest, a problem above it."""
    notes = ("E4", "G4", "A4", "A#4", "C5")
    fine, everyday, near, between, broken = (load(gauge=0.254, note=note) for note in notes)
    assert everyday.stress_share == pytest.approx(2039 / 2668, rel=1e-3)
    assert near.stress_share == pytest.approx(0.963, abs=1e-3)
    assert load_problems([fine, everyday, near, between]) == ()
    first, second = told(load_facts([fine, everyday, near, between, broken]), "mm")
    assert (first.code, first.level, first.key) == ("string-stress", "note", "strings.set[3].gauge")
    assert (second.code, second.level, second.key) == ("string-stress", "decide", "strings.set[4].gauge")
    assert first.message.startswith("String 3 is near breaking: 130.1 N on a 0.254 mm steel wire is 2568 N/mm2, 96%")
    assert second.message == (
        "String 4 may break: 146.1 N on a 0.254 mm steel wire is 2883 N/mm2, 108% of the 2668 N/mm2 that such wire is "
        "sure to hold, and 2951 N/mm2 is the most that it may hold. Tune lower or shorten the scale; the gauge hardly "
        "matters, since stress follows length and pitch."
    )
    (problem,) = load_problems([fine, near, between, broken])
    assert problem.key == ("strings", "set", 3, "gauge")
    assert problem.message == (
        "this string would break: 184.0 N on a 0.254 mm steel wire is 3632 N/mm2, and the strongest such wire holds "
        "2951 N/mm2\n"
        "Tune lower or shorten the scale; the gauge hardly matters, since stress follows length and pitch"
    )


def test_music_wire_of_seven_thousandths_holds_an_a() -> None:
    """A 0.007 in A4 at 25.5 in is under the least strength of a published table of tinned music wire, 2806 N/mm²."""
    string = load(647.7, gauge=0.1778, note="A4")
    assert string.stress_mpa == pytest.approx(2550, rel=2e-3)
    assert string.body.strength_mpa == (2806, 3096)
    assert load_problems([string]) == ()
    (note,) = load_facts([string])
    assert (note.level, note.values["case"]) == ("note", "near")


def test_an_everyday_wound_third_is_not_near_breaking() -> None:
    """0.024 in G3 at 25.4 in, its core measured or not."""
    for core in ({}, {"core_diameter": 0.0125 * 25.4}):
        assert list(load_facts([load(645, gauge=0.024 * 25.4, note="G3", wound=True, **core)])) == []


def test_an_estimated_core_is_never_a_problem() -> None:
    asked = {"gauge": 0.9, "note": "B3", "wound": True}
    guessed, measured = load(**asked), load(**asked, core_diameter=0.39)
    assert guessed.stress_share_of_most is not None
    assert guessed.stress_share_of_most > 1
    assert load_problems([guessed]) == ()
    (note,) = load_facts([guessed])
    assert (note.code, note.level, note.values["case"]) == ("string-stress", "note", "estimate")
    assert len(load_problems([measured])) == 1
    assert list(load_facts([measured])) == []


def test_strength_that_is_not_known_judges_nobody() -> None:
    assert load(gauge=0.7, note="E6", material="nylon", stretch_sensitivity=25).stress_share is None
    assert load(gauge=4.0, note="E6").stress_share is None


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
