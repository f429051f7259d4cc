"""How far every fretted note will be off: a chart of cents per fret and string, before and after the offsets."""

from __future__ import annotations

from templategen.drawing.chart import Chart, Group, Panel
from templategen.instrument.arrays import Array
from templategen.instrument.model import Instrument
from templategen.parts.common.product import Plot, Product
from templategen.parts.common.work import Work
from templategen.units import mm_text

NAME = "cents-plot"


def make(work: Work) -> tuple[Product, ...]:
    instrument = work.instrument
    return (Plot("cents", lambda: chart(instrument), ("svg", "pdf")),)


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

    before = [f"rms {rms:.2f}" for rms in tuning.nominal_rms]
    after = [f"rms {fit.rms_cents:.2f}" for fit in tuning.fits]
    many = len(frets) - last
    octave = i.plan.octave
    rest = "" if many <= 0 else f"; hollow: beyond it, {frets[last]} to {frets[-1]}"
    return Chart(
        title=f"{i.spec.title}: cents that each fret is off",
        place_name="fret",
        ticks=(1, last, frets[-1], *(() if octave is None else (int(i.plan.numbers[octave]),)), 7, 5, 17, 3, 9, 15),
        panels=(
            Panel(
                "Before: nut and saddle at their nominal places", "cents", groups(tuning.cents_uncompensated, before)
            ),
            Panel(f"After: {_offsets(i)}", "cents", groups(tuning.cents, after)),
        ),
        legend=(
            f"Up is sharp; the open string is in tune. Full: frets of the fit, 1 to {last}{rest}. "
            "rms: root mean square over the frets of the fit.",
        ),
        trace=i.trace,
    )


def _offsets(i: Instrument) -> str:
    tuning = i.intonation
    return f"saddle moved by {_span(tuning.saddle_offset)}, nut by {_span(tuning.nut_offset)}"


def _span(offsets: Array) -> str:
    low, high = float(offsets.min()), float(offsets.max())
    return f"{mm_text(low)} mm" if high - low < 0.005 else f"{mm_text(low)} to {mm_text(high)} mm"
