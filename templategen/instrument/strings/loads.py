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
from dataclasses import dataclass, replace
from typing import Literal

from templategen.errors import Problem
from templategen.instrument.strings import materials
from templategen.instrument.strings.stiffness import bending_parameter
from templategen.spec.models import Strings, StringSpec

CORE_SPREAD = 0.2
"""How far the core of a wound string may be off its estimate, as a share of it (common practice, no source)."""

MODULUS_SPREAD = 0.45
"""How far the stiffness of a string that is not of steel may be off its material's mean, as a share of it: the plain
nylon strings of Anderson & Beausoleil, JASA 156(1), 683 (2024), have 3.87 to 8.33 GPa about 5.7."""

MOST_CORE = 0.95
"""Share of the gauge that no core goes beyond."""

Ratio = tuple[float, float]
"""Area and second moment of a section over those of a circle as wide."""
ROUND: Ratio = (1.0, 1.0)
HEXAGON: Ratio = (2 * math.sqrt(3) / math.pi, 20 * math.sqrt(3) / (9 * math.pi))
"""A = √3/2·s² and I = 5·√3/144·s⁴ of a regular hexagon, s across its flats (any handbook of sections), over π/4·s² and
π/64·s⁴: 1.103 and 1.225."""


@dataclass(frozen=True)
class StringBody:
    """One string before it is strung.

    ``core_diameter`` is the gauge itself on a plain string; of a hexagonal core it is measured across the flats, and
    ``section`` tells the core's area and second moment over those of a round one. ``youngs_modulus_gpa`` is the spec's
    or the material's; where ``stretch_sensitivity`` is given it takes the place of the modulus for the stretch, and for
    the bending too unless ``modulus_given``. ``strength_mpa``: what such wire is sure to hold, and the most that it
    may; None where nothing is published for this material and diameter.
    """

    gauge: float
    core_diameter: float
    section: Ratio
    core_estimated: bool
    wound: bool
    material: str
    wrap: str | None
    mass_g_per_m: float
    mass_source: Literal["plain", "round wrap", "given"]
    youngs_modulus_gpa: float
    modulus_given: bool
    stretch_sensitivity: float | None
    strength_mpa: tuple[float, float] | None

    @property
    def stretch_guessed(self) -> bool:
        """The stiffness is a mean of a material that differs from string to string."""
        return self.material != "steel" and self.stretch_sensitivity is None and not self.modulus_given

    @property
    def guessed(self) -> bool:
        """Tension or stiffness rests on what nobody measured."""
        return self.core_estimated or self.stretch_guessed

    @property
    def core_area(self) -> float:
        """π·d²/4 of a round core, mm²."""
        return self.section[0] * math.pi * self.core_diameter**2 / 4

    @property
    def core_inertia(self) -> float:
        """I = π·d⁴/64 of a round core, mm⁴."""
        return self.section[1] * math.pi * self.core_diameter**4 / 64


@dataclass(frozen=True)
class StringLoad:
    """One string at a length (mm) and a pitch. ``stress_share`` is stress over what the wire is sure to hold,
    ``stress_share_of_most`` over the most it may; None where that is not known."""

    body: StringBody
    length: float
    frequency_hz: float
    tension_n: float
    stress_mpa: float
    stress_share: float | None
    stress_share_of_most: float | None
    kappa: float
    bending: float


@dataclass(frozen=True)
class Loads:
    """All strings as they are taken, and again with what is guessed of them less and more: cores that are estimates
    thinner and thicker by CORE_SPREAD, stiffness that is a material's mean lower and higher by MODULUS_SPREAD."""

    strings: tuple[StringLoad, ...]
    thin: tuple[StringLoad, ...]
    thick: tuple[StringLoad, ...]


def loads_of(strings: Strings, lengths: Sequence[float], frequencies_hz: Sequence[float]) -> Loads:
    """Every string of a set at its own length (mm) and pitch."""

    def loaded(way: int) -> tuple[StringLoad, ...]:
        core, modulus = 1.0 + way * CORE_SPREAD, 1.0 + way * MODULUS_SPREAD
        return tuple(
            strung(string_body(string, strings, core, modulus), length, frequency)
            for string, length, frequency in zip(strings.set, lengths, frequencies_hz, strict=True)
        )

    return Loads(loaded(0), loaded(-1), loaded(1))


def string_body(spec: StringSpec, strings: Strings, core_share: float = 1.0, modulus_share: float = 1.0) -> StringBody:
    """The body of one string of a set; what it does not say itself, the set says, then the material tables.

    core_share: of an estimated core, how thick it is over its estimate; modulus_share: of a stiffness that is guessed,
    how high it is over its material's mean.
    Mass per length: as given; plain ρ·π·d²/4; else round wrap on a core, turns touching (``round_wrap_mass``).
    """
    material = materials.plain_material(spec.material or strings.material)
    density = material.density_g_cm3 if spec.density is None else spec.density
    wrap = materials.wrap_material(spec.wrap or strings.wrap) if spec.wound else None
    estimated = spec.wound and spec.core_diameter is None
    core = spec.gauge
    if spec.wound:
        core = spec.core_diameter or min(
            core_share * materials.usual_core(material.name, spec.gauge), MOST_CORE * spec.gauge
        )
    section = HEXAGON if spec.wound and spec.core_form == "hexagonal" else ROUND
    mass, mass_source = plain_mass(spec.gauge, density), "plain"
    if wrap is not None:
        mass, mass_source = round_wrap_mass(spec.gauge, core, density, wrap.density_g_cm3), "round wrap"
        if section is HEXAGON:
            mass = hexagonal_core_mass(spec.gauge, core, density, wrap.density_g_cm3)
    if spec.mass_per_length is not None:
        mass, mass_source = spec.mass_per_length, "given"
    table = materials.strength_table(material.name, "core" if spec.wound else "plain")
    body = StringBody(
        gauge=spec.gauge,
        core_diameter=core,
        section=section,
        core_estimated=estimated,
        wound=spec.wound,
        material=material.name,
        wrap=None if wrap is None else wrap.name,
        mass_g_per_m=mass,
        mass_source=mass_source,  # type: ignore[arg-type]
        youngs_modulus_gpa=material.youngs_modulus_gpa if spec.youngs_modulus is None else spec.youngs_modulus,
        modulus_given=spec.youngs_modulus is not None,
        stretch_sensitivity=spec.stretch_sensitivity,
        strength_mpa=None if table is None else table.at(core),
    )
    return replace(body, youngs_modulus_gpa=body.youngs_modulus_gpa * modulus_share) if body.stretch_guessed else body


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


def hexagonal_core_mass(gauge: float, flats: float, core_density_g_cm3: float, wrap_density_g_cm3: float) -> float:
    """The same on a six-sided core, ``flats`` mm across its flats, g/m.

    The wrap rests on the corners, 2/√3 of that across, and is taken to run round them in circles.
    """
    corners = 2 / math.sqrt(3) * flats
    if corners >= gauge:
        return plain_mass(gauge, core_density_g_cm3)
    wrap = round_wrap_mass(gauge, corners, 0.0, wrap_density_g_cm3)
    return HEXAGON[0] * plain_mass(flats, core_density_g_cm3) + wrap


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
        stress_share=None if body.strength_mpa is None else stress / body.strength_mpa[0],
        stress_share_of_most=None if body.strength_mpa is None else stress / body.strength_mpa[1],
        kappa=kappa,
        bending=float(bending_parameter(modulus_n_mm2 * body.core_inertia, force, length)),
    )


def total_load(loads: Sequence[StringLoad]) -> float:
    """What the strings together pull on the neck, N."""
    return math.fsum(load.tension_n for load in loads)


def load_problems(loads: Sequence[StringLoad]) -> tuple[Problem, ...]:
    """Strings that would break: stress above the greatest strength of their wire. An estimated core condemns nobody."""
    return tuple(
        Problem(
            ("strings", "set", place, "gauge"),
            f"this string would break: {_stress_text(load)}\n{_remedy(load)}",
        )
        for place, load in enumerate(loads)
        if load.stress_share_of_most is not None and load.stress_share_of_most > 1 and not load.body.core_estimated
    )


def _stress_text(load: StringLoad) -> str:
    assert load.body.strength_mpa is not None
    return (
        f"{load.tension_n:.1f} N on a {load.body.core_diameter:.3f} mm {load.body.material} "
        f"{'core' if load.body.wound else 'wire'} is {load.stress_mpa:.0f} N/mm2, and the strongest such wire holds "
        f"{load.body.strength_mpa[1]:.0f} N/mm2"
    )


def _remedy(load: StringLoad) -> str:
    if load.body.wound:
        return "Tune lower, shorten the scale, or take a thicker core or a lighter wrap"
    return "Tune lower or shorten the scale; the gauge hardly matters, since stress follows length and pitch"
