"""The page to print first: rulers as long as the paper allows, and what to write into the shop file."""

from __future__ import annotations

from templategen.drawing.layout import TEXT_HEIGHT, ruler
from templategen.drawing.lettering import wrapped
from templategen.drawing.model import Box, Drawing, Outline, Sketch, Text
from templategen.drawing.paper import furniture as kit
from templategen.drawing.paper.sizes import LONGEST_PAGE, MARGIN, Page, PaperError, PaperSize
from templategen.units import inches

TITLE = "Printer check"
LONGEST_ROLL_PAGE = 420.0
SHOP_LINE = "ruler_measured = { across = __________, along = __________ }"
STEPS = (
    "Print this page at 100 %, never fit to page, on the paper that the templates will be printed on. "
    "Let it lie for an hour: paper moves with damp and with the heat of the printer.",
    "Measure both rulers from the middle of the first tick to the middle of the last: with a steel rule to 0.5 mm, "
    "with long calipers to 0.1 mm. Write the lengths into the boxes and work out what 100 mm came out as.",
    "If either is more than 1 mm off, the print was scaled: look for that setting before anything else.",
    "Write both numbers into the shop file, as below. Every page printed from then on is corrected by them "
    "and says so. This page never is, so that it can be printed again at any time.",
)


def calibration_page(paper: PaperSize) -> Page:
    """One page for ``paper``, as it is fed, never corrected.

    Raises PaperError for paper too small for rulers of 100 mm.
    """
    width, height = paper.width, min(paper.height, LONGEST_ROLL_PAGE if paper.is_roll else LONGEST_PAGE)
    across = _ruler_length(width - 2 * MARGIN - kit.UPRIGHT_WIDTH - 12.0)
    along = _ruler_length(height - 2 * MARGIN - 24.0)
    sketch = Sketch(kit.PENS)
    left, top = MARGIN, height - MARGIN
    sketch.add("TEXT", Text((left, top - 5.0), TITLE, 5.0, bold=True))
    corner_y = top - 22.0
    column = left + kit.UPRIGHT_WIDTH
    sketch.add("CHECK_RULER", *ruler((column + 3.0, corner_y), "across", mm=across, inch=int(inches(across))))
    upright_y = MARGIN + 2.0
    sketch.add("CHECK_RULER", *ruler((left + 11.0, upright_y), "up", mm=along, inch=int(inches(along))))

    room = width - MARGIN - column - 6.0
    y = corner_y - 24.0
    for number, step in enumerate(STEPS, 1):
        sketch.add("TEXT", Text((column + 6.0, y), f"{number}", TEXT_HEIGHT, bold=True))
        for line in wrapped(step, TEXT_HEIGHT, min(room - 8.0, kit.WORDS_WIDEST)):
            sketch.add("TEXT", Text((column + 12.0, y), line, TEXT_HEIGHT))
            y -= kit.LINE
        y -= 0.6 * kit.LINE
    y -= 4.0
    for name, length in (("across", across), ("along", along)):
        words = (f"{name}: {length} mm measure", f"mm; {name} = 100 × that / {length} =")
        _write_in(sketch, column + 12.0, y, words)
        y -= 15.0
    y -= 2.0
    sketch.add("TEXT", Text((column + 12.0, y), SHOP_LINE, TEXT_HEIGHT, bold=True))
    furniture = Drawing("calibration", TITLE, sketch.layers())
    return Page(width, height, (), furniture)


def _ruler_length(room: float) -> int:
    length = int(room // 10) * 10
    if length < 100:
        raise PaperError(f"paper leaves {room:.0f} mm for a ruler of 100 mm")
    return min(length, 300)


def _write_in(sketch: Sketch, left: float, base: float, words: tuple[str, str]) -> None:
    first, second = words
    sketch.add("TEXT", Text((left, base), first, TEXT_HEIGHT))
    x = left + 43.0
    sketch.add("TEXT", Outline.rectangle(Box(x, base - 2.2, x + 18.0, base + 4.8)))
    sketch.add("TEXT", Text((x + 20.0, base), second, TEXT_HEIGHT))
    x += 73.0
    sketch.add("TEXT", Outline.rectangle(Box(x, base - 2.2, x + 18.0, base + 4.8)))
