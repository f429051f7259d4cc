"""What a person should know about the fret wire, its slots, and the tools that cut them."""

from __future__ import annotations

from collections.abc import Iterator

from templategen.findings.catalogue import Fact, fact, without
from templategen.findings.limits import limit
from templategen.instrument.model import Instrument
from templategen.spec.models import NotchedStrip


def wire_facts(i: Instrument) -> Iterator[Fact]:
    yield from _measured(i)
    yield from _slot(i)
    yield from _stock(i)
    yield from _saws(i)
    yield from _cutters(i)
    yield from _strip(i)


def _measured(i: Instrument) -> Iterator[Fact]:
    wire = i.spec.fret_wire
    sizes = wire.unmeasured
    if not sizes:
        return
    cases = [{"name": f"fret_wire.{name}", "size": getattr(wire, name)} for name in sizes]
    found = fact("wire-unmeasured", "fret_wire", sizes=cases, rests="crown" if "crown_height" in sizes else "other")
    block = i.spec.radius_block
    on_crowns = "crown_height" in sizes and block is not None and block.rides_on == "crowns"
    yield found if on_crowns else without(found, "radius-block")


def _slot(i: Instrument) -> Iterator[Fact]:
    wire = i.spec.fret_wire
    if wire.slot_width < wire.tang_thickness:
        yield fact("slot-narrower-than-tang", "fret_wire.slot_width", slot=wire.slot_width, tang=wire.tang_thickness)
    if wire.slot_width > wire.barb_width - limit("barbs_over_slot"):
        yield fact(
            "slot-too-wide-for-barbs",
            "fret_wire.slot_width",
            slot=wire.slot_width,
            barbs=wire.barb_width,
            low=limit("barbs_least"),
            high=limit("barbs_most"),
        )


def _stock(i: Instrument) -> Iterator[Fact]:
    stick, longest = i.shop.wire_stock_length, float(i.frets.wire_cut.max())
    if stick is not None and longest > stick:
        yield fact("wire-longer-than-stick", "shop.wire_stock_length", longest=longest, stick=stick)


def _saws(i: Instrument) -> Iterator[Fact]:
    kerfs, slot = i.shop.saw_kerfs, i.spec.fret_wire.slot_width
    if not kerfs:
        return
    nearest = min(kerfs, key=lambda k: abs(k - slot))
    if abs(nearest - slot) > limit("saw_off_slot"):
        yield fact("no-saw-for-slot", "fret_wire.slot_width", slot=slot, nearest=nearest)


def _cutters(i: Instrument) -> Iterator[Fact]:
    width, kerf, cutter = i.spec.fret_wire.slot_width, i.shop.beam_kerf, i.slot_cutter
    if kerf >= width:
        yield fact("beam-wider-than-slot", "shop.beam_kerf", kerf=kerf, slot=width, wider=kerf - width)
    if i.shop.cutters and not cutter.owned:
        yield fact("no-end-mill-for-slot", "shop.end_mills", tang=i.spec.fret_wire.tang_thickness, slot=width)
    elif cutter.owned and width - cutter.diameter > limit("mill_under_slot"):
        yield fact(
            "end-mill-narrower-than-slot",
            "shop.end_mills",
            mill=cutter.diameter,
            narrower=width - cutter.diameter,
            slot=width,
        )


def _strip(i: Instrument) -> Iterator[Fact]:
    asked, least = i.spec.notched_strip, limit("strip_web")
    for side in i.notches:
        webs = side.webs(asked or NotchedStrip())
        if webs.min() >= least:
            continue
        row = int(webs.argmin())
        before, after = side.labels[row : row + 2]
        yield fact(
            "thin-web",
            "notched_strip.pin",
            "decide" if asked else "note",
            side=side.side,
            web=webs[row],
            before=before,
            after=after,
            least=least,
            strip="left" if webs[row] > 0 else "none",
        )
