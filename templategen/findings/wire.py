"""What a person should know about the fret wire, its slots, and the tools that cut them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

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
    yield from _flutes(i)
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


def _flutes(i: Instrument) -> Iterator[Fact]:
    """Cutters of the shop that are in use and whose flutes are known to be too short for their deepest cut."""
    cuts: list[dict[str, Any]] = []

    def tried(what: str, shape: str, cutter: float, deep: float, **more: Any) -> None:
        known = [mill.flute for mill in i.shop.cutters if mill.shape == shape and mill.diameter == cutter]
        flutes = [flute for flute in known if flute is not None]
        if flutes and len(flutes) == len(known) and max(flutes) < deep:
            cuts.append({"what": what, "cutter": cutter, "deep": deep, "flute": max(flutes), **more})

    if i.slot_cutter.owned:
        depths = i.frets.depth_stop_flat if i.frets.flat_floor else i.frets.slot_depth
        tried("frets", "flat", i.slot_cutter.diameter, float(depths.max()))
    used = sorted({slot.cutter for slot in i.nut.slots if slot.full_width and slot.cutter is not None})
    for cutter in used:
        rows = [n for n, slot in enumerate(i.nut.slots) if slot.full_width and slot.cutter == cutter]
        tried("nut", "ball", cutter, float(i.nut.slotted_depth[rows].max()), strings=[n + 1 for n in rows])
    if cuts:
        yield fact("flute-too-short", "shop.end_mills", cuts=cuts)


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
