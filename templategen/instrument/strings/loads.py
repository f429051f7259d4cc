"""Strings as bodies and under load: mass, tension, stress, stretch and bending.

Terms
-----
body            what lies on the bench: gauge, core, mass per length, stiffness of the material
load            the same string at a length and a pitch: tension, stress, and the two numbers intonation needs
kappa           relative rise of tension over relative stretch, E·A/T, A the area of the core
bending         B = √(E·I/(T·L²)), I = π·d⁴/64 of the core (see ``stiffness``)
sensitivity     R, relative pitch change over relative stretch as a marked string shows it when retuned; kappa = 2R + 1
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from templategen.errors import Key, Problem
from templategen.instrument.strings import materials
from templategen.instrument.strings.stiffness import bending_parameter
from templategen.spec.models import Strings, StringSpec

CORE_SHARE = 0.45
"""Core over gauge of a wound string whose core is not given (common practice, no source)."""


@dataclass(frozen=True)
class StringBody:
    """One string before it is strung.

    ``core_diameter`` is the gauge itself on a plain string. ``youngs_modulus_gpa`` is the spec's or the material's;
    where ``stretch_sensitivity`` is given it takes the place of the modulus for the stretch, and for the bending too
    unless ``modulus_given``. ``strength_mpa`` is None where no strength is published for this material and diameter.
    """

    gauge: float
    core_diameter: float
    core_estimated: bool
    wound: bool
    material: str
    wrap: str | None
    mass_g_per_m: float
    mass_source: Literal["plain", "round wrap", "given"]
    youngs_modulus_gpa: float
    modulus_given: bool
    stretch_sensitivity: float | None
    strength_mpa: float | None

    @property
    def core_area(self) -> float:
        """mm²."""
        return math.pi * self.core_diameter**2 / 4

    @property
    def core_inertia(self) -> float:
        """I = π·d⁴/64 of the core, mm⁴."""
        return math.pi * self.core_diameter**4 / 64


@dataclass(frozen=True)
class StringLoad:
    """One string at a length (mm) and a pitch. ``stress_share`` is stress over strength, None where it is not known."""

    body: StringBody
    length: float
    frequency_hz: float
    tension_n: float
    stress_mpa: float
    stress_share: float | None
    kappa: float
    bending: float


def string_body(spec: StringSpec, strings: Strings) -> StringBody:
    """The body of one string of a set; what it does not say itself, the set says, then the material tables.

    Mass per length: as given; plain ρ·π·d²/4; else round wrap on a round core, turns touching (``round_wrap_mass``).
    """
    material = materials.plain_material(spec.material or strings.material)
    density = material.density_g_cm3 if spec.density is None else spec.density
    wrap = materials.wrap_material(spec.wrap or strings.wrap) if spec.wound else None
    core = spec.gauge
    if spec.wound:
        core = CORE_SHARE * spec.gauge if spec.core_diameter is None else spec.core_diameter
    mass, mass_source = plain_mass(spec.gauge, density), "plain"
    if wrap is not None:
        mass, mass_source = round_wrap_mass(spec.gauge, core, density, wrap.density_g_cm3), "round wrap"
    if spec.mass_per_length is not None:
        mass, mass_source = spec.mass_per_length, "given"
    table = materials.strength_table(material.name)
    return StringBody(
        gauge=spec.gauge,
        core_diameter=core,
        core_estimated=spec.wound and spec.core_diameter is None,
        wound=spec.wound,
        material=material.name,
        wrap=None if wrap is None else wrap.name,
        mass_g_per_m=mass,
        mass_source=mass_source,  # type: ignore[arg-type]
        youngs_modulus_gpa=material.youngs_modulus_gpa if spec.youngs_modulus is None else spec.youngs_modulus,
        modulus_given=spec.youngs_modulus is not None,
        stretch_sensitivity=spec.stretch_sensitivity,
        strength_mpa=None if table is None else table.lowest_at(core),
    )


def plain_mass(gauge: float, density_g_cm3: float) -> float:
    """ρ·π·d²/4 in g/m (1 g/cm³ on 1 mm² is 1 g/m)."""
    return density_g_cm3 * math.pi * gauge**2 / 4


def round_wrap_mass(gauge: float, core: float, core_density_g_cm3: float, wrap_density_g_cm3: float) -> float:
    """Core plus one layer of round wire, turns touching, g/m.

    The wire, d_w = (gauge − core)/2 thick, makes 1/d_w turns per length, each π·(core + d_w) long and π·d_w²/4 in
    section: together ρ·π²·d_w·(core + d_w)/4.
    """
    wire = (gauge - core) / 2
    return plain_mass(core, core_density_g_cm3) + wrap_density_g_cm3 * math.pi**2 * wire * (core + wire) / 4


def tension(mass_g_per_m: float, length: float, frequency_hz: float) -> float:
    """T = μ·(2·L·f)² in N, L in mm (any textbook of acoustics)."""
    return mass_g_per_m * 1e-3 * (2 * length * 1e-3 * frequency_hz) ** 2


def strung(body: StringBody, length: float, frequency_hz: float) -> StringLoad:
    """A body brought to pitch over a length in mm.

    kappa = E·A/T, or 2R + 1 where the sensitivity R is given (Anderson & Beausoleil, JASA 156(1), 683, 2024); the
    modulus that R implies, kappa·T/A, then serves the bending too unless the spec gives one.
    """
    force = tension(body.mass_g_per_m, length, frequency_hz)
    area = body.core_area
    modulus_n_mm2 = body.youngs_modulus_gpa * 1e3
    if body.stretch_sensitivity is None:
        kappa = modulus_n_mm2 * area / force
    else:
        kappa = 2 * body.stretch_sensitivity + 1
        if not body.modulus_given:
            modulus_n_mm2 = kappa * force / area
    stress = force / area
    return StringLoad(
        body=body,
        length=length,
        frequency_hz=frequency_hz,
        tension_n=force,
        stress_mpa=stress,
        stress_share=None if body.strength_mpa is None else stress / body.strength_mpa,
        kappa=kappa,
        bending=float(bending_parameter(modulus_n_mm2 * body.core_inertia, force, length)),
    )


def total_load(loads: Sequence[StringLoad]) -> float:
    """What the strings together pull on the neck, N."""
    return math.fsum(load.tension_n for load in loads)


def set_problems(strings: Strings) -> tuple[Problem, ...]:
    """What makes a set impossible before any number is computed; to be asked before ``string_body``."""
    problems = []
    for place, spec in enumerate(strings.set):
        here: Key = ("strings", "set", place)
        if not spec.wound:
            for name in ("core_diameter", "wrap"):
                if getattr(spec, name) is not None:
                    problems.append(Problem((*here, name), "belongs to a wound string; add wound = true or remove it"))
        elif spec.core_diameter is not None and spec.core_diameter >= spec.gauge:
            problems.append(
                Problem(
                    (*here, "core_diameter"),
                    f"the core must be thinner than the whole string, which is {spec.gauge:.3f} mm",
                )
            )
    return tuple(problems)


def load_problems(loads: Sequence[StringLoad]) -> tuple[Problem, ...]:
    """Strings that would break: stress above the least strength of their wire. An estimated core condemns nobody."""
    return tuple(
        Problem(
            ("strings", "set", place, "gauge"),
            f"this string would break: {stress_text(load)}\n{remedy(load)}",
        )
        for place, load in enumerate(loads)
        if load.stress_share is not None and load.stress_share > 1 and not load.body.core_estimated
    )


def stress_text(load: StringLoad) -> str:
    share = load.stress_share or 0.0
    return (
        f"{load.tension_n:.1f} N on a {load.body.core_diameter:.3f} mm {load.body.material} "
        f"{'core' if load.body.wound else 'wire'} is {load.stress_mpa:.0f} N/mm2, {share:.0%} of the "
        f"{load.body.strength_mpa:.0f} N/mm2 that such wire is sure to hold"
    )


def remedy(load: StringLoad) -> str:
    if load.body.wound:
        return "Tune lower, shorten the scale, or take a thicker core or a lighter wrap"
    return "Tune lower or shorten the scale; the gauge hardly matters, since stress follows length and pitch"
