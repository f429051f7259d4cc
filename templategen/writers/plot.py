"""Charts as SVG or PDF, drawn by matplotlib.

Values are dots on stems from zero, so that sign and size read in grey and at a glance. Line widths as on the drawings:
0.35 mm for what counts, 0.18 mm for the rest. Everything is placed in page mm on a bare figure: axes and their ticks,
made for looking round in, would take most of the time.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import Any, Literal

from templategen.drawing.chart import Chart, Group, Panel
from templategen.drawing.lettering import CAPITAL
from templategen.units import inches
from templategen.writers.plain import clean, one_line

WIDTH, HEIGHT = 281.0, 190.0  # mm: A4 across, with margins
LEFT, RIGHT, TOP, BOTTOM = 15.0, 4.0, 15.0, 14.0
OVER, UNDER = 15.0, 11.0  # a panel's words above and below its values
GROUP_GAP = 5.0
TICK_ROOM = 6.0  # from one place's number to the next
FAMILY = "Helvetica, Arial, sans-serif"

POINTS = 72 * inches(1.0)  # per mm
INK, SOFT, FAINT = "0.0", "0.45", "0.85"
THICK, THIN = 0.35, 0.18
TITLE, WORDS, SMALL = 3.5, 2.5, 2.0  # heights of capitals

Run = tuple[tuple[float, float], tuple[float, float]]


def encode(chart: Chart, file_format: Literal["svg", "pdf"]) -> bytes:
    """The chart as one file; the same chart gives the same bytes."""
    from matplotlib import rc_context
    from matplotlib.backends.backend_pdf import FigureCanvasPdf
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    title = one_line(chart.title)
    core = file_format == "pdf" and _in_core_font(chart)
    # DejaVu comes with matplotlib and so is the same everywhere; in the SVG it serves for measuring only
    face = {"font.family": "Helvetica", "font.weight": "medium"} if core else {"font.family": "DejaVu Sans"}
    settings: dict[Any, Any] = {
        **face,
        "svg.hashsalt": "templategen",
        "svg.fonttype": "none",
        "pdf.use14corefonts": core,
        "pdf.fonttype": 42,
        "text.parse_math": False,
    }
    stream = io.BytesIO()
    unit = POINTS if file_format == "pdf" else 1.0
    with rc_context(settings):
        figure = Figure(figsize=(WIDTH * unit / 72, HEIGHT * unit / 72))
        _Page(figure, unit).draw(chart)
        if file_format == "svg":
            svg: Any = FigureCanvasSVG(figure)
            svg.print_svg(stream, metadata={"Title": title, "Date": None, "Creator": None})
            # its numbers are mm already; the library calls them points
            in_mm = f'width="{WIDTH:g}mm" height="{HEIGHT:g}mm"'.encode()
            named = stream.getvalue().replace(f'width="{WIDTH:g}pt" height="{HEIGHT:g}pt"'.encode(), in_mm, 1)
            return named.replace(b"'DejaVu Sans'", FAMILY.encode())
        metadata = {"Title": title, "Creator": "templategen", "Producer": "templategen", "CreationDate": None}
        pdf: Any = FigureCanvasPdf(figure)
        pdf.print_pdf(stream, metadata=metadata)
        return stream.getvalue()


def _in_core_font(chart: Chart) -> bool:
    """Whether the face that every reader carries has all signs (WinAnsi)."""
    texts = [chart.title, chart.place_name, chart.trace, *chart.legend]
    for panel in chart.panels:
        texts += [panel.title, panel.unit, *(word for group in panel.groups for word in (group.name, group.note))]
    try:
        "".join(texts).encode("cp1252")
    except UnicodeEncodeError:
        return False
    return True


class _Page:
    """A figure that is drawn on in mm from its lower left corner. unit: what a mm is in its points."""

    def __init__(self, figure: Any, unit: float) -> None:
        from matplotlib.transforms import Affine2D

        self._figure = figure
        self._unit = unit
        self._mm = Affine2D().scale(unit / 72) + figure.dpi_scale_trans

    def text(self, x: float, y: float, text: str, height: float, colour: str = INK, anchor: str = "left") -> None:
        size = height / CAPITAL * self._unit
        self._figure.text(x, y, one_line(text), fontsize=size, color=colour, ha=anchor, transform=self._mm)

    def runs(self, runs: Iterable[Run], colour: str, width: float) -> None:
        from matplotlib.patches import PathPatch
        from matplotlib.path import Path

        points = [point for run in runs for point in run]
        if points:
            path = Path(points, [Path.MOVETO, Path.LINETO] * (len(points) // 2))
            pen: dict[str, Any] = {
                "edgecolor": colour,
                "linewidth": width * self._unit,
                "capstyle": "butt",
                "fill": False,
            }
            self._figure.add_artist(PathPatch(path, transform=self._mm, **pen))

    def dots(self, points: Sequence[tuple[float, float]], diameter: float, full: bool) -> None:
        from matplotlib.lines import Line2D

        if points:
            mark: dict[str, Any] = {
                "marker": "o",
                "markersize": diameter * self._unit,
                "markeredgewidth": THIN * self._unit,
            }
            colours: dict[str, Any] = {"markeredgecolor": INK, "markerfacecolor": INK if full else "1.0"}
            x, y = zip(*points, strict=True)
            self._figure.add_artist(Line2D(x, y, linestyle="none", transform=self._mm, **mark, **colours))

    def draw(self, chart: Chart) -> None:
        self.text(LEFT, HEIGHT - 7, chart.title, min(TITLE, _height_that_fits(chart.title, WIDTH - LEFT - RIGHT)))
        for row, line in enumerate(reversed(chart.legend)):
            self.text(LEFT, 8 + 5 * row, line, WORDS)
        self.text(WIDTH - RIGHT, 2.5, chart.trace, SMALL, SOFT, "right")
        foot = BOTTOM + 5 * (len(chart.legend) - 1)
        room = HEIGHT - TOP - foot - (OVER + UNDER) * len(chart.panels)
        whole = sum(panel.share for panel in chart.panels)
        top = HEIGHT - TOP
        for panel in chart.panels:
            height = room * panel.share / whole
            self._panel(chart, panel, top - OVER - height, height)
            top -= OVER + height + UNDER

    def _panel(self, chart: Chart, panel: Panel, bottom: float, height: float) -> None:
        low, high, levels, digits = _levels([value for group in panel.groups for value in group.values])
        unit = height / (high - low)

        def at(value: float) -> float:
            return bottom + (value - low) * unit

        top = bottom + height
        self.text(LEFT, top + OVER - 3, panel.title, WORDS)
        self.text(LEFT - 2, top + 2, panel.unit, SMALL, SOFT, "right")
        self.text(LEFT - 2, bottom - 4.5, chart.place_name, SMALL, SOFT, "right")
        for level in levels:
            self.text(LEFT - 2, at(level) - SMALL / 2, f"{level:.{digits}f}", SMALL, anchor="right")

        pitch = (WIDTH - LEFT - RIGHT + GROUP_GAP) / len(panel.groups)
        stems: list[Run] = []
        grid: list[Run] = []
        zero: list[Run] = []
        full: list[tuple[float, float]] = []
        hollow: list[tuple[float, float]] = []
        closest = pitch
        for row, group in enumerate(panel.groups):
            start = LEFT + row * pitch
            end = start + pitch - GROUP_GAP
            along = _along(group, start, end)
            closest = min(closest, *(b - a for a, b in pairwise(along)), end - start)
            grid += [((start, at(level)), (end, at(level))) for level in levels if level]
            zero.append(((start, at(0)), (end, at(0))))
            for x, value, firm in zip(along, group.values, group.firm, strict=True):
                stems.append(((x, at(0)), (x, at(value))))
                (full if firm else hollow).append((x, at(value)))
            for place, x in _named(group, along, chart.ticks):
                self.text(x, bottom - 4.5, str(place), SMALL, anchor="center")
            self.text(start, top + 6, group.name, WORDS)
            self.text(start, top + 2, group.note, SMALL, SOFT)

        self.runs(grid, FAINT, THIN)
        self.runs(stems, SOFT, THIN)
        self.runs(zero, INK, THICK)
        size = min(max(0.75 * closest, 0.4), 1.4)
        self.dots(full, size, full=True)
        self.dots(hollow, size, full=False)


def _height_that_fits(text: str, width: float) -> float:
    """Height of capitals at which ``text`` is no wider than that, measured in the widest face it may be set in."""
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import TextPath

    face = FontProperties(family="DejaVu Sans", weight="normal")
    wide = TextPath((0, 0), one_line(text), size=1.0, prop=face).get_extents().width
    return float(CAPITAL * width / wide) if wide > 0 else math.inf


def _along(group: Group, start: float, end: float) -> list[float]:
    """x of every place, evenly by its number, a half step from the group's ends."""
    first, last = group.places[0], group.places[-1]
    step = (end - start) / (last - first + 1)
    return [start + (place - first + 0.5) * step for place in group.places]


def _named(group: Group, along: Sequence[float], wanted: Sequence[int]) -> list[tuple[int, float]]:
    """Places that get their number, in order: the most wanted first, as long as there is room between them."""
    places = dict(zip(group.places, along, strict=True))
    chosen: dict[int, float] = {}
    for place in wanted:
        if place in places and all(abs(places[place] - x) >= TICK_ROOM for x in chosen.values()):
            chosen[place] = places[place]
    return sorted(chosen.items())


def _levels(values: Sequence[float]) -> tuple[float, float, list[float], int]:
    """(lowest, highest, round levels, their decimals): room for the values and zero, two units at least."""
    low, high = min(0.0, *values), max(0.0, *values)
    lack = max(2.0 - (high - low), 0.0) / 2
    low, high = low - lack, high + lack
    rough = (high - low) / 5
    power = math.floor(math.log10(rough))
    step = next(factor * 10.0**power for factor in (1, 2, 5, 10) if factor * 10.0**power >= rough)
    first, last = math.floor(low / step + 0.2), math.ceil(high / step - 0.2)
    levels = [clean(place * step) for place in range(first, last + 1)]
    return (
        min(low, levels[0]) - 0.1 * step,
        max(high, levels[-1]) + 0.1 * step,
        levels,
        max(0, -math.floor(math.log10(step) + 1e-9)),
    )
