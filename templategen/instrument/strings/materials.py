"""What strings are made of: three small tables with a source beside every row.

``data/materials.csv``      density and Young's modulus of plain strings and of cores
``data/wraps.csv``          density of what is wound round a core
``data/wire_strength.csv``  tensile strength by wire diameter, for the materials that have a published table

Each table is read once, when first asked for.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib import resources

import numpy as np

from templategen.instrument.arrays import Array, fixed


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

    def lowest_at(self, diameter: float) -> float | None:
        """The least strength the standard asks of this diameter, N/mm².

        Linear in the logarithm of the diameter between rows. Thinner than the first row: the first row, which is on
        the safe side, since thinner wire is stronger. Thicker than the last row: None.
        """
        if diameter > self.diameter[-1]:
            return None
        return float(np.interp(np.log(diameter), np.log(self.diameter), self.lowest_mpa))


def plain_material(name: str) -> PlainMaterial:
    """One row of ``materials.csv``. Raises KeyError for a name that is not there."""
    return plain_materials()[name]


def wrap_material(name: str) -> WrapMaterial:
    """One row of ``wraps.csv``. Raises KeyError for a name that is not there."""
    return wrap_materials()[name]


def strength_table(material: str) -> StrengthTable | None:
    """The strength table of a plain material; None where none is published here."""
    return strength_tables().get(material)


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
def strength_tables() -> dict[str, StrengthTable]:
    by_material: dict[str, list[dict[str, str]]] = {}
    for row in _rows("wire_strength.csv"):
        by_material.setdefault(row["material"], []).append(row)
    return {
        material: StrengthTable(
            fixed([float(row["diameter_mm"]) for row in rows]),
            fixed([float(row["lowest_mpa"]) for row in rows]),
            fixed([float(row["highest_mpa"]) for row in rows]),
            tuple(row["source"] for row in rows),
        )
        for material, rows in by_material.items()
    }


def _rows(file: str) -> list[dict[str, str]]:
    text = resources.files("templategen.instrument.strings").joinpath("data", file).read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))
