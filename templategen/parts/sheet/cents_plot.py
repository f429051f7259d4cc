"""How far every fretted note will be off: a chart of cents per fret and string, before and after the offsets."""

from __future__ import annotations

from collections.abc import Iterator

from templategen.drawing.chart import LETTERS, Chart, Group, Panel
from templategen.drawing.chart import draw as draw_chart
from templategen.drawing.lettering import wrapped
from templategen.drawing.model import Drawing
from templategen.instrument.arrays import Array
from templategen.instrument.model import Instrument
from templategen.parts.common.layers import sketch
from templategen.parts.common.product import Product, Sheet
from templategen.parts.common.sheetwork import put, titled
from templategen.parts.common.work import Work
from templategen.units import mm_text

NAME = "cents-plot"
WIDTH, HEIGHT = 160.0, 150.0  # paper mm: what an office page leaves beside its rulers
ABREAST = 6  # strings beside each other


def make(work: Work) -> tuple[Product, ...]:
    return (Sheet("cents", lambda: draw(work.instrument), ("svg", "pdf")),)


def draw(i: Instrument) -> Drawing:
    """The chart over a title block."""
    s = sketch()
    draw_chart(s, chart(i), WIDTH, HEIGHT)
    put(s, titled(i, "cents that each fret is off, the open string in tune", (0.0, -5.0)))
    return Drawing("cents", f"{i.spec.title}: cents that each fret is off", s.layers())


def chart(i: Instrument) -> Chart:
    tuning = i.intonation
    frets = tuple(int(n) for n in tuning.frets)
    last = tuning.fit_to_fret
    firm = tuple(fret <= last for fret in frets)

    def groups(cents: Array, notes: list[str]) -> tuple[Group, ...]:
        return tuple(
            Group(f"{n + 1}: {string.note.text}", frets, tuple(float(c) for c in cents[n]), firm, notes[n])
            for n, string in enumerate(i.spec.strings.set)
        )

    def panels(title: str, cents: Array, notes: list[str]) -> Iterator[Panel]:
        whole, every = groups(cents, notes), tuple(float(value) for value in cents.ravel())
        for first in range(0, len(whole), ABREAST):
            yield Panel(title if first == 0 else f"{title}, on", "cents", whole[first : first + ABREAST], also=every)

    before = [f"rms {rms:.2f}" for rms in tuning.nominal_rms]
    after = [f"rms {fit.rms_cents:.2f}" for fit in tuning.fits]
    many = len(frets) - last
    octave = i.plan.octave
    rest = "" if many <= 0 else f"; hollow: beyond it, {frets[last]} to {frets[-1]}"
    return Chart(
        place_name="fret",
        ticks=(1, last, frets[-1], *(() if octave is None else (int(i.plan.numbers[octave]),)), 7, 5, 17, 3, 9, 15),
        panels=(
            *panels("Before: nut and saddle at their nominal places", tuning.cents_uncompensated, before),
            *panels(f"After: {_offsets(i)}", tuning.cents, after),
        ),
        legend=tuple(
            wrapped(
                f"Up is sharp; the open string is in tune. Full: frets of the fit, 1 to {last}{rest}. "
                "rms: root mean square over the frets of the fit.",
                LETTERS,
                WIDTH,
            )
        ),
    )


def _offsets(i: Instrument) -> str:
    tuning = i.intonation
    return f"saddle moved by {_span(tuning.saddle_offset)}, nut by {_span(tuning.nut_offset)}"


def _span(offsets: Array) -> str:
    low, high = float(offsets.min()), float(offsets.max())
    return f"{mm_text(low)} mm" if high - low < 0.005 else f"{mm_text(low)} to {mm_text(high)} mm"
