"""What the job takes of the shop's own minutes, and what is to be ordered. No figure of ours where it gave none."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from templategen.instrument.model import Instrument
from templategen.parts.bench.order import keys
from templategen.spec.models import StepMinutes
from templategen.units import both_units


@dataclass(frozen=True)
class Taken:
    """Minutes of one step."""

    key: str
    minutes: float


def taken(i: Instrument) -> tuple[Taken, ...]:
    """The steps of this job for which the shop gave minutes."""
    given = i.shop.minutes
    if given is None:
        return ()
    found = []
    for key in keys(i.spec):
        minutes: StepMinutes | None = getattr(given, key.replace("-", "_"))
        if minutes is not None:
            total = minutes.job + minutes.fret * i.spec.scale.fret_count + minutes.string * len(i.spec.strings.set)
            found.append(Taken(key, total))
    return tuple(found)


def price(i: Instrument, minutes: float) -> str:
    """At the shop's own rate; empty where it gave none."""
    if i.shop.rate is None:
        return ""
    return f"{i.shop.rate * minutes / 60:.2f} {i.shop.currency or ''}".rstrip()


def to_order(i: Instrument) -> Iterator[tuple[str, str]]:
    """What has to lie ready: wire, blank, strings, and tools that the shop does not own."""
    work = keys(i.spec)
    if "frets-in" in work:
        cuts, wire = i.wire_cuts, i.spec.fret_wire
        size = f"{both_units(wire.crown_width)} by {both_units(wire.crown_height)}, tang {both_units(wire.tang_depth)}"
        if cuts is not None:
            spares = f", {i.shop.spare_frets} spare" if i.shop.spare_frets else ""
            nips = f", {both_units(cuts.loss)} lost at each nip" if cuts.loss else ""
            sticks = f"{cuts.sticks} sticks of {both_units(cuts.stock, 0)}"
            yield "fret wire", f"{sticks}: {len(cuts.lengths)} pieces{spares}{nips}; {size}"
        else:
            yield "fret wire", f"{both_units(float(i.frets.wire_cut.sum()), 0)} in all; {size}"
    if "nut" in work:
        nut = i.nut
        long, thick, tall = nut.blank.size
        yield (
            "nut blank, at least",
            f"{both_units(long, 1)} long, {both_units(tall, 1)} high, {both_units(thick)} thick",
        )
        if i.shop.nut_file_widths:
            lacking = [n + 1 for n, file in enumerate(nut.file) if file is None]
            if lacking:
                widths = ", ".join(both_units(float(nut.width[n - 1])) for n in lacking)
                yield "nut files not owned", f"for string {', '.join(map(str, lacking))}: slots {widths}"
    if "strings-on" in work:
        gauges = ", ".join(both_units(string.gauge, 3) for string in i.spec.strings.set)
        yield "strings, treble side first", gauges
    kerfs, slot = i.shop.saw_kerfs, i.spec.fret_wire.slot_width
    if "slots" in work and kerfs and min(abs(kerf - slot) for kerf in kerfs) > 0.015:
        yield "saw not owned", f"kerf {both_units(slot)}"
