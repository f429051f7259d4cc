"""Flat parts to be cut: one file in finished size, one for the shop's beam, in the order in which they are cut.

Engraving comes first, then what is cut inside a part, its outer contour last, so that nothing loose is cut into.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial

from templategen.drawing.model import Drawing, Pen, Sketch
from templategen.parts.common import cautions
from templategen.parts.common.about import About
from templategen.parts.common.product import Format, Sheet
from templategen.spec.models import Shop

CUT, ENGRAVED = "#000000", "#0000ff"
HAIRLINE = 0.01  # mm; what many drivers take for a line to follow

_ORDER = ("ENGRAVE", "HOLE", "SLOT_CENTRE", "SLOT_OUTLINE", "SLOT_PATH", "OUTLINE", "STOCK")
PENS = {layer: Pen(HAIRLINE, (), ENGRAVED if layer == "ENGRAVE" else CUT) for layer in _ORDER}

COLOURS = (
    f"Lines are {HAIRLINE} mm wide; black ({CUT}) is cut, blue ({ENGRAVED}, layer ENGRAVE) engraved. Lengths are "
    "millimetres."
)


def sketch() -> Sketch:
    """An empty sketch with the layers of a cut file, in their order."""
    return Sketch(PENS)


def sheets(
    stem: str,
    title: str,
    draw: Callable[[float], Sketch],
    shop: Shop,
    about: About,
    formats: tuple[Format, ...] = ("dxf", "svg"),
    warned: tuple[str, ...] = (),
) -> tuple[Sheet, ...]:
    """``stem`` in finished size, and ``stem-beam`` where the shop file gives a beam's kerf.

    draw: of the kerf to take off, mm, to what is cut. about: of the finished size.
    """
    sizes = [(stem, about)]
    if shop.beam_kerf:
        sizes.append((f"{stem}-beam", replace(about, size="beam", kerf=shop.beam_kerf)))

    def drawing(name: str, told: About) -> Drawing:
        return Drawing(
            name,
            title if name == stem else f"{title}, for the beam",
            draw(told.kerf).layers(),
            "cut",
            notes=(*told.lines, COLOURS),
            cautions=warned or cautions.lines(cautions.ROUTING),
        )

    return tuple(Sheet(name, partial(drawing, name, told), formats, about=told) for name, told in sizes)
