"""Paper, and what a page is once it is laid out.

Terms
-----
page       what the PDF writer replays: placements of the drawing, each a window at a place, and furniture in page mm
across     the direction of the paper's width as it is fed; along is the direction of its height. On a page turned on
           its side the lying ruler runs along
stretch    what the writer multiplies page mm by, so that a printer known to print short or long prints true
"""

from __future__ import annotations

from dataclasses import dataclass

from templategen.drawing.model import Box, Drawing, Point
from templategen.units import from_inches

MARGIN = 10.0  # most office printers reach to within 6 mm of the edge; common practice, no source
ROLL_FROM = 1500.0  # paper longer than this is a roll
LONGEST_PAGE = 5000.0  # PDF: 14,400 units of 1/72 in (ISO 32000-1, annex C)
STRETCH_LIMIT = 0.1  # a printer that is further off than this is set to scale, not inaccurate


class PaperError(ValueError):
    """Paper that cannot hold what must be on it."""


@dataclass(frozen=True)
class PaperSize:
    """Paper as it is fed, mm: its width across, its height along; a roll's height is the longest page it can give."""

    width: float
    height: float

    @property
    def is_roll(self) -> bool:
        return self.height > ROLL_FROM


# A4 and A3: ISO 216. Letter and Tabloid: ASME Y14.1, sizes A and B. Legal: common practice, no source.
PAPERS = {
    "A4": PaperSize(210.0, 297.0),
    "A3": PaperSize(297.0, 420.0),
    "Letter": PaperSize(from_inches(8.5), from_inches(11)),
    "Tabloid": PaperSize(from_inches(11), from_inches(17)),
    "Legal": PaperSize(from_inches(8.5), from_inches(14)),
}


@dataclass(frozen=True)
class Placement:
    """A window of a drawing on a page.

    window: what shows, mm of the drawing; the writer clips to it. at: where its lower left corner lies, page mm.
    scale: paper mm per mm drawn. Where it is less than ``drawing.scale`` the whole picture is reduced, lettering too.
    """

    drawing: Drawing
    window: Box
    at: Point
    scale: float = 1.0

    def on_page(self, point: Point) -> Point:
        """A point of the drawing in page mm."""
        return (
            self.at[0] + (point[0] - self.window.x0) * self.scale,
            self.at[1] + (point[1] - self.window.y0) * self.scale,
        )

    @property
    def box(self) -> Box:
        """The window in page mm."""
        return Box(*self.at, *self.on_page((self.window.x1, self.window.y1)))


@dataclass(frozen=True)
class Page:
    """One page: width, height in mm of real paper; the rest in page mm before ``stretch``, origin at the low left."""

    width: float
    height: float
    placements: tuple[Placement, ...]
    furniture: Drawing
    stretch: tuple[float, float] = (1.0, 1.0)


@dataclass(frozen=True)
class Feed:
    """One way to use the paper: as it is fed, or turned on its side. width, height: the room on it in true mm."""

    width: float
    height: float
    turned: bool
    stretch: tuple[float, float]
    roll: bool = False

    @property
    def names(self) -> tuple[str, str]:
        """What the lying and the upright ruler measure."""
        return ("along", "across") if self.turned else ("across", "along")

    def page(self, width: float, height: float, placements: tuple[Placement, ...], furniture: Drawing) -> Page:
        return Page(width * self.stretch[0], height * self.stretch[1], placements, furniture, self.stretch)


def feeds(paper: PaperSize, ruler_measured: tuple[float, float] = (100.0, 100.0)) -> tuple[Feed, Feed]:
    """The paper as fed, and turned, less what the printer adds.

    ruler_measured: what 100 mm on paper came out as across and along (mm); the stretch is 100 over it.
    Raises ValueError for a ruler more than 10 % off.
    """
    if any(not abs(measured / 100 - 1) <= STRETCH_LIMIT for measured in ruler_measured):
        raise ValueError(f"rulers of 100 mm that measure {ruler_measured}: between 90 and 110 can be corrected")
    across, along = (100 / measured for measured in ruler_measured)
    width, height = paper.width / across, min(paper.height, LONGEST_PAGE) / along
    return (
        Feed(width, height, False, (across, along), paper.is_roll),
        Feed(height, width, True, (along, across), paper.is_roll),
    )
