"""All parts, in the order their files are listed. A new part is one new room and one line here.

Rooms are imported when they are made, so that a 2D job never pays for the CAD kernel.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from importlib import import_module

from templategen.errors import Finding
from templategen.instrument.model import Instrument
from templategen.parts.product import Product


@dataclass(frozen=True)
class Part:
    """name: what ``--only`` takes. room: its module."""

    name: str
    room: str

    @property
    def make(self) -> Callable[[Instrument], tuple[Product, ...]]:
        made: Callable[[Instrument], tuple[Product, ...]] = import_module(f"templategen.parts.{self.room}").make
        return made


PARTS: tuple[Part, ...] = (
    Part("print-check", "print_check"),
    Part("fret-template", "fret_template"),
    Part("slot-outline", "slot_outline"),
    Part("slot-path", "slot_path"),
    Part("notched-strip", "notched_strip"),
    Part("fingerboard", "fingerboard"),
    Part("nut", "nut"),
    Part("nut-spacing-strip", "nut_spacing_strip"),
    Part("saddle", "saddle"),
    Part("radius-block", "radius_block"),
    Part("radius-gauge", "radius_gauge"),
    Part("press-caul", "press_caul"),
    Part("reradius", "reradius"),
    Part("cents-plot", "cents_plot"),
    Part("tables", "tables"),
)


def findings(instrument: Instrument) -> tuple[Finding, ...]:
    """The instrument's findings and every part's own, in that order."""
    return instrument.findings


def part_names() -> tuple[str, ...]:
    return tuple(part.name for part in PARTS)
