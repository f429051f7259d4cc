"""Flat parts to be cut: one file in finished size, one for the shop's beam, in the order in which they are cut.

Engraving comes first, then what is cut inside a part, its outer contour last, so that nothing loose is cut into.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

from templategen.drawing.model import Drawing, Pen, Sketch
from templategen.parts.common import cautions
from templategen.parts.common.product import Format, Sheet
from templategen.spec.models import Shop
from templategen.units import both_units

CUT, ENGRAVED = "#000000", "#0000ff"
HAIRLINE = 0.01  # mm; what many drivers take for a line to follow

_ORDER = ("ENGRAVE", "HOLE", "SLOT_CENTRE", "SLOT_OUTLINE", "SLOT_PATH", "OUTLINE", "STOCK")
PENS = {layer: Pen(HAIRLINE, (), ENGRAVED if layer == "ENGRAVE" else CUT) for layer in _ORDER}

COLOURS = (
    f"Lines are {HAIRLINE} mm wide; black ({CUT}) is cut, blue ({ENGRAVED}, layer ENGRAVE) engraved. Lengths are "
    "millimetres."
)
ORDER = "Order of work, and of this file: ENGRAVE, then what is cut inside, OUTLINE last."
THROUGH = "Depth: all cuts go through; ENGRAVE as shallow as it can be read."


def sketch() -> Sketch:
    """An empty sketch with the layers of a cut file, in their order."""
    return Sketch(PENS)


def size_note(kerf: float) -> str:
    """What was done about the kerf, for the file's start and the file list."""
    if kerf == 0:
        return "Finished size, no kerf taken off: let the machine allow for its own cutter or beam."
    return (
        f"Beam size: kerf {both_units(kerf, 3)} taken off, lines run half of it to the waste side of each finished "
        "edge: run the beam on the line, with no allowance of the machine's own."
    )


def sheets(
    stem: str,
    title: str,
    draw: Callable[[float], Sketch],
    shop: Shop,
    notes: Sequence[str],
    formats: tuple[Format, ...] = ("dxf", "svg"),
    warned: tuple[str, ...] = (),
) -> tuple[Sheet, ...]:
    """``stem`` in finished size, and ``stem-beam`` where the shop file gives a beam's kerf.

    draw: of the kerf to take off, mm, to what is cut. notes: what is to be said besides size, order and colours.
    """
    sizes = [(stem, 0.0), *([(f"{stem}-beam", shop.beam_kerf)] if shop.beam_kerf else [])]

    def drawing(name: str, kerf: float) -> Drawing:
        return Drawing(
            name,
            title if name == stem else f"{title}, for the beam",
            draw(kerf).layers(),
            "cut",
            notes=(size_note(kerf), *notes, ORDER, COLOURS),
            cautions=warned or cautions.lines(cautions.ROUTING),
        )

    return tuple(Sheet(name, partial(drawing, name, kerf), formats) for name, kerf in sizes)
