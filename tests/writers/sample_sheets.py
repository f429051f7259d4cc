"""Invented drawings that the writers' tests replay; plain enough to know every number."""

from __future__ import annotations

from templategen.drawing.model import (
    Arc,
    Box,
    Circle,
    Dimension,
    Drawing,
    Line,
    Outline,
    Pen,
    Polyline,
    Sketch,
    Text,
)
from templategen.geometry import bulge_through

PENS = {
    "OUTLINE": Pen(0.35),
    "SLOT_CENTRE": Pen(0.25),
    "CENTRELINE": Pen(0.25, (12.0, 2.5, 0.5, 2.5), "#3b6ea5"),
    "DIMENSION": Pen(0.18, (), "#555555"),
    "TEXT": Pen(0.18),
}


def strip(length: float = 480.0, slots: int = 24, pitch: float = 19.0, half: float = 22.0) -> Drawing:
    """A plain strip with square slots ``pitch`` apart, from x = 0."""
    sketch = Sketch(PENS)
    sketch.add("OUTLINE", Outline.rectangle(Box(-4.0, -half, length, half)))
    places = [i * pitch for i in range(slots + 1)]
    for i, x in enumerate(places):
        sketch.add("SLOT_CENTRE", Line((x, -half), (x, half)))
        sketch.add("TEXT", Text((x, -half - 5.5), str(i), 3.5, anchor="middle"))
    sketch.add("CENTRELINE", Line((-8.0, 0.0), (length + 4.0, 0.0)))
    return Drawing(
        "strip", "Strip of the loan fleet", sketch.layers(),
        whole=tuple(Box(x - 0.3, -half, x + 0.3, half) for x in places),
        joints=tuple((f"slot 0 to slot {i}", (0.0, 0.0), (places[i], 0.0)) for i in (slots // 2, slots)),
        notes=("Slots 0.58 mm wide.",),
        cautions=("Clamp the work before sawing.",),
    )  # fmt: skip


def shapes() -> Drawing:
    """One of every shape, at 5:1."""
    sketch = Sketch(PENS)
    top = bulge_through((40.0, 10.0), (0.0, 10.0), 2.0)
    sketch.add("OUTLINE", Outline(((0.0, 0.0), (40.0, 0.0), (40.0, 10.0), (0.0, 10.0)), (0.0, 0.0, top, 0.0)))
    sketch.add("OUTLINE", Circle((20.0, 5.0), 3.0), Arc((10.0, 5.0), 2.0, 30.0, 290.0))
    sketch.add("SLOT_CENTRE", Polyline.in_space(((5.0, 1.0, -2.0), (5.0, 9.0, -1.5))))
    sketch.add("SLOT_CENTRE", Line((-0.0000001, 1.0), (30.0, 9.0)))
    sketch.add("SLOT_CENTRE", Polyline(((2.0, 2.0), (6.0, 2.0), (6.0, 4.0)), (0.0, 0.5), (-1.0, -1.0, -1.0)))
    sketch.add("CENTRELINE", Line((-2.0, 5.0), (42.0, 5.0)))
    sketch.add("DIMENSION", Dimension((0.0, 0.0), (40.0, 0.0), (0.0, -3.0)))
    sketch.add("DIMENSION", Dimension((40.0, 0.0), (40.0, 10.0), (44.0, 0.0), 90.0))
    sketch.add("DIMENSION", Dimension((0.0, 0.0), (1.0, 0.0), (0.0, -6.0), text="about 1", text_at="end"))
    sketch.add("TEXT", Text((0.0, 16.0), "R 279.4 ±0.1, 90° − fleet", 3.5, bold=True))
    sketch.add("TEXT", Text((48.0, 0.0), "upright", 2.5, 90.0, "middle", "top"))
    return Drawing("shapes", "Every shape", sketch.layers(), scale=5.0)


def cut() -> Drawing:
    """A plate to cut, with lettering to engrave."""
    sketch = Sketch({"OUTLINE": Pen(0.1), "ENGRAVE": Pen(0.1, (), "#8a4b3c")})
    sketch.add("OUTLINE", Outline.rectangle(Box(0.0, 0.0, 60.0, 25.0)))
    sketch.add("ENGRAVE", Text((30.0, 10.0), "EDGE TO PIN 90° ±1 × 2", 3.5, anchor="middle"))
    return Drawing("plate", "Plate", sketch.layers(), "cut", notes=("Beam kerf 0.12 mm taken off.",))
