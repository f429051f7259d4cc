"""What a job takes: what has to lie ready or is to be ordered, and the shop's own minutes, no figure of ours."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from templategen.findings.limits import limit
from templategen.instrument.model import Instrument
from templategen.repair.model import Bench
from templategen.repair.work import STEPS, asked, steps
from templategen.spec.models import StepMinutes
from templategen.tables.model import Table, column
from templategen.units import both_units

Need = tuple[str, str, str]
"""What it is, how much of it or how large, and whether the shop has it: empty where it did not say what it owns."""
OWNED, LACKING = "owned", "to order"


def to_order(bench: Bench, paper: str = "") -> Table:
    """Everything that must lie ready before the work begins; paper: how much, where somebody counted the pages."""
    i, work = bench.instrument, steps(asked(bench))
    needs = [*_wire(i, work), *_nut(i, work), *_saddle(i, work), *_strings(i, work), *_tools(i, work)]
    if paper:
        needs.append(("paper", paper, ""))
    whats, sizes, has = zip(*needs, strict=True) if needs else ((), (), ())
    return Table(
        "to-order",
        "To lay ready or to order",
        (
            column("what", "what", whats, "words"),
            column("size", "how much, how large", sizes, "words"),
            column("owned", "in the shop", has, "words"),
        ),
    )


def _wire(i: Instrument, work: Iterable[str]) -> Iterator[Need]:
    if "frets-in" not in work:
        return
    cuts, wire = i.wire_cuts, i.spec.fret_wire
    size = (
        f"crown {both_units(wire.crown_width)} by {both_units(wire.crown_height)}, tang {both_units(wire.tang_depth)} "
        f"deep and {both_units(wire.tang_thickness)} thick"
    )
    spares = f" and {i.shop.spare_frets} spare" if i.shop.spare_frets else ""
    if cuts is not None:
        nips = f", {both_units(cuts.loss)} lost at each nip" if cuts.loss else ""
        much = f"{cuts.sticks} sticks of {both_units(cuts.stock, 0)} for {i.spec.scale.fret_count} pieces{spares}{nips}"
    else:
        longest = float(i.frets.wire_cut.max())
        much = f"{both_units(float(i.frets.wire_cut.sum()) + i.shop.spare_frets * longest, 0)} in all{spares}"
    yield "fret wire" + (f", {wire.wire}" if wire.wire else ""), f"{much}; {size}", "kept" if wire.wire else ""


def _nut(i: Instrument, work: Iterable[str]) -> Iterator[Need]:
    if "nut" not in work:
        return
    long, thick, tall = i.nut.blank.size
    size = f"at least {both_units(long, 1)} long, {both_units(tall, 1)} high, {both_units(thick)} thick"
    yield "nut blank", size, ""


def _saddle(i: Instrument, work: Iterable[str]) -> Iterator[Need]:
    if "saddle" not in work:
        return
    if i.saddle_piece is not None:
        low, high = i.saddle_piece.blank
        long, thick, tall = (b - a for a, b in zip(low, high, strict=True))
        size = f"at least {both_units(long, 1)} long, {both_units(tall, 1)} high, {both_units(thick)} thick"
    else:
        spread = abs(float(i.saddle.y[0]) - float(i.saddle.y[-1]))
        size = f"longer than the strings' {both_units(spread, 1)}; height and thickness by the bridge"
    yield "saddle blank", size, ""


def _strings(i: Instrument, work: Iterable[str]) -> Iterator[Need]:
    if "strings-on" in work:
        said = (
            f"{both_units(string.gauge, 3, 4)}{' wound' if string.wound else ''} ({string.note.text})"
            for string in i.spec.strings.set
        )
        yield f"{len(i.spec.strings.set)} strings, treble side first", ", ".join(said), ""


def _tools(i: Instrument, work: Iterable[str]) -> Iterator[Need]:
    slot, shop = i.spec.fret_wire.slot_width, i.shop
    if "slots" in work:
        if shop.saw_kerfs:
            nearest = min(shop.saw_kerfs, key=lambda kerf: abs(kerf - slot))
            yield (
                "fret saw",
                f"kerf {both_units(slot)}",
                OWNED if abs(nearest - slot) <= limit("saw_off_slot") else LACKING,
            )
        if shop.end_mills and not i.slot_cutter.owned:
            yield "flat end mill, where slots are milled", both_units(i.slot_cutter.diameter), LACKING
    if "nut" in work and shop.nut_file_widths:
        nut = i.nut
        owned = sorted({float(file) for file in nut.file if file is not None})
        lacking = [n for n, file in enumerate(nut.file) if file is None]
        if owned:
            yield "nut files", ", ".join(both_units(file, 3, 4) for file in owned), OWNED
        if lacking:
            said = (f"string {n + 1} {both_units(float(nut.width[n]), 3, 4)}" for n in lacking)
            yield "nut files", ", ".join(said), LACKING
    if "nut" in work and shop.end_mills:
        for n, slot_ in enumerate(i.nut.slots):
            if slot_.full_width and slot_.cutter is None:
                yield "ball cutter, where the nut is milled", f"string {n + 1} {both_units(slot_.width, 3, 4)}", LACKING
    if "radius" in work and (block := i.block) is not None:
        yield "abrasive for the block", f"{both_units(block.length, 0)} by {both_units(block.width, 0)}, each grit", ""


def minutes(bench: Bench) -> Table | None:
    """The shop's own minutes for the steps of this job, with the price where it gave a rate; None where it gave none.

    A step's minutes are those for the job, for every fret and for every string together.
    """
    i = bench.instrument
    given = i.shop.minutes
    if given is None:
        return None
    took: dict[str, float] = {}
    for key in steps(asked(bench)):
        each: StepMinutes | None = getattr(given, key.replace("-", "_"))
        if each is not None:
            took[STEPS[key]] = each.job + each.fret * i.spec.scale.fret_count + each.string * len(i.spec.strings.set)
    if not took:
        return None
    names, times = (*took, "together"), (*took.values(), sum(took.values()))
    columns = [column("step", "step", names), column("minutes", "minutes", times, "number", places=0)]
    if i.shop.rate is not None:
        prices = (f"{i.shop.rate * each / 60:.2f} {i.shop.currency or ''}".rstrip() for each in times)
        columns.append(column("price", "price", prices))
    return Table("quote", "What it takes, by the shop's own minutes", tuple(columns))
