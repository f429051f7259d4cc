"""What strings are made of: small tables with a source beside every row.

``data/materials.csv``      density and Young's modulus of plain strings and of cores
``data/wraps.csv``          density of what is wound round a core
``data/wire_strength.csv``  tensile strength by wire diameter, for the materials that have a published table
``data/cores.csv``          the core that is usual in a wound string of a gauge

Each table is read once, when first asked for.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Literal

import numpy as np

from templategen.instrument.arrays import Array, fixed
from templategen.units import parse_length

Use = Literal["plain", "core"]


@dataclass(frozen=True)
class PlainMaterial:
    """A material that plain strings or cores are made of."""

    name: str
    density_g_cm3: float
    youngs_modulus_gpa: float
    source: str


@dataclass(frozen=True)
class WrapMaterial:
    """A material that is wound round a core."""

    name: str
    density_g_cm3: float
    source: str


@dataclass(frozen=True)
class StrengthTable:
    """Tensile strength of wire by diameter: the range a standard allows. Arrays of shape (rows,), diameters rising."""

    diameter: Array
    lowest_mpa: Array
    highest_mpa: Array
    sources: tuple[str, ...]

    def at(self, diameter: float) -> tuple[float, float] | None:
        """The least and the greatest strength of this diameter, N/mm².

        Linear in the logarithm of the diameter between rows. Thinner than the first row: the first row, which is on
        the safe side, since thinner wire is stronger. Thicker than the last row: None.
        """
        if diameter > self.diameter[-1]:
            return None
        rows = (self.lowest_mpa, self.highest_mpa)
        lowest, highest = (float(np.interp(np.log(diameter), np.log(self.diameter), row)) for row in rows)
        return lowest, highest


def plain_material(name: str) -> PlainMaterial:
    """One row of ``materials.csv``. Raises KeyError for a name that is not there."""
    return plain_materials()[name]


def wrap_material(name: str) -> WrapMaterial:
    """One row of ``wraps.csv``. Raises KeyError for a name that is not there."""
    return wrap_materials()[name]


def strength_table(material: str, use: Use) -> StrengthTable | None:
    """The strength table of a material, drawn for plain strings (music wire) or for cores; None where none is
    published here."""
    return strength_tables().get((material, use))


def usual_core(material: str, gauge: float) -> float:
    """The core that is usual in a wound string of this gauge, mm; an estimate.

    material: of the core; all but steel are taken as fibre, a bundle of which fills more of the string. Linear between
    rows and on beyond the last; thinner than the first row, its share of the gauge.
    """
    gauges, cores = usual_cores()["steel" if material == "steel" else "fibre"]
    if gauge <= gauges[0]:
        return float(gauge * cores[0] / gauges[0])
    slope = (cores[-1] - cores[-2]) / (gauges[-1] - gauges[-2])
    return float(np.interp(gauge, gauges, cores) + slope * max(gauge - gauges[-1], 0.0))


@cache
def plain_materials() -> dict[str, PlainMaterial]:
    return {
        row["material"]: PlainMaterial(
            row["material"], float(row["density_g_cm3"]), float(row["youngs_modulus_gpa"]), row["source"]
        )
        for row in _rows("materials.csv")
    }


@cache
def wrap_materials() -> dict[str, WrapMaterial]:
    return {
        row["wrap"]: WrapMaterial(row["wrap"], float(row["density_g_cm3"]), row["source"]) for row in _rows("wraps.csv")
    }


@cache
def strength_tables() -> dict[tuple[str, str], StrengthTable]:
    by_use: dict[tuple[str, str], list[dict[str, str]]] = {}
    for row in _rows("wire_strength.csv"):
        by_use.setdefault((row["material"], row["use"]), []).append(row)
    return {
        use: StrengthTable(
            fixed([float(row["diameter_mm"]) for row in rows]),
            fixed([float(row["lowest_mpa"]) for row in rows]),
            fixed([float(row["highest_mpa"]) for row in rows]),
            tuple(row["source"] for row in rows),
        )
        for use, rows in by_use.items()
    }


@cache
def usual_cores() -> dict[str, tuple[Array, Array]]:
    """By what the core is of: gauges, rising, and cores, mm."""
    by_core: dict[str, list[tuple[float, float]]] = {}
    for row in _rows("cores.csv"):
        by_core.setdefault(row["core"], []).append(
            (parse_length(row["gauge"], "mm"), parse_length(row["diameter"], "mm"))
        )
    return {core: (fixed([g for g, _ in rows]), fixed([d for _, d in rows])) for core, rows in by_core.items()}


def _rows(file: str) -> list[dict[str, str]]:
    text = resources.files("templategen.instrument.strings").joinpath("data", file).read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))
