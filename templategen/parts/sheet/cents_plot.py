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
from templategen.tables import tuning as tuning_tables
from templategen.tables.model import ESTIMATED
from templategen.units import mm_text

NAME = "cents-plot"
WIDTH, HEIGHT = 160.0, 150.0  # paper mm
TALL = 175.0  # with two rows of strings: what an office page leaves beside its rulers
ABREAST = 6  # strings beside each other


def make(work: Work) -> tuple[Product, ...]:
    return (Sheet("cents", lambda: draw(work.instrument), ("svg", "pdf")),)


def draw(i: Instrument) -> Drawing:
    """The chart over a title block."""
    s = sketch()
    draw_chart(s, chart(i), WIDTH, TALL if len(i.spec.strings.set) > ABREAST else HEIGHT)
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

    marks = [f" {ESTIMATED}" if guess else "" for guess in i.guessed.notes]
    before = [f"rms {rms:.2f}{mark}" for rms, mark in zip(tuning.nominal_rms, marks, strict=True)]
    after = [f"rms {fit.rms_cents:.2f}{mark}" for fit, mark in zip(tuning.fits, marks, strict=True)]
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
                f"rms: root mean square over the frets of the fit. {_pressed(i)}",
                LETTERS,
                WIDTH,
            )
        ),
    )


def _pressed(i: Instrument) -> str:
    """What pressing harder adds, string by string."""
    table = tuning_tables.pressed(i)
    adds = table["cents_of_0_2_mm_finger_depth"]
    each = ", ".join(f"{name} {adds.text(n)}" for n, name in enumerate(table["string"].values))
    return f"Pressed harder: {each.replace(' cents', '')} cents. {' '.join(table.notes)}"


def _offsets(i: Instrument) -> str:
    tuning = i.intonation
    saddle, nut = (f" {ESTIMATED}" if any(marks) else "" for marks in (i.guessed.saddle, i.guessed.nut))
    return f"saddle moved by {_span(tuning.saddle_offset)}{saddle}, nut by {_span(tuning.nut_offset)}{nut}"


def _span(offsets: Array) -> str:
    low, high = float(offsets.min()), float(offsets.max())
    return f"{mm_text(low)} mm" if high - low < 0.005 else f"{mm_text(low)} to {mm_text(high)} mm"
