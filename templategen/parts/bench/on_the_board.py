"""The steps with the strings off that are done to frets and board."""

from __future__ import annotations

import math

from templategen.document.model import Step
from templategen.parts.bench.making import PRACTICE, Workplace, spanned, within
from templategen.parts.common import cautions as c
from templategen.repair import tolerances as t
from templategen.units import both_units


def record(m: Workplace) -> Step:
    return m.step(
        "record",
        "Every value of the first page read twice, strings on and at pitch, before anything is changed; two readings "
        "within their tool's own ±",
        "In playing position. Photograph joints, finish and what is loose. A new-survey file takes the readings, and "
        "its printed sheet says which tool each one wants.",
        tools="rule, calipers, feelers, straightedge, radius gauges, tuner", cautions=(c.EYES,),
        boxes=("read on", "temperature, humidity"),
    )  # fmt: skip


def strings_off(m: Workplace) -> Step:
    i, nut = m.instrument, "nut" in m.asked
    how = ["Slacken all strings evenly, a turn each in rotation, until none pulls; then take them off."]
    if nut:
        how.append(
            "Only then the nut: score the finish along its edges with a blade away from the holding hand, and tap it "
            "out lengthways through a block of wood."
        )
    out = ", the old nut out and its slot clean" if nut else ""
    return m.step(
        "strings-off", f"0 N on the neck of about {i.total_load_n:.0f} N at pitch, all {len(i.loads)} strings off{out}",
        *how, tools="winder, blade, small hammer and wooden block" if nut else "winder", cautions=(c.EYES, c.BLADES),
        boxes=("nut seat as found",) if nut else ("strings off",),
    )  # fmt: skip


def frets_out(m: Workplace) -> Step:
    i = m.instrument
    return m.step(
        "frets-out",
        f"{len(i.frets.wire_cut)} frets out, no chip left standing, slots clean to {_stop(m)} {within(t.SLOT_DEPTH)}",
        f"Warm each fret and lift it from one end along its length; support the wood beside it {PRACTICE}. Glue chips "
        "back at once. A bound board: take the binding's edge into account before lifting.",
        tools="fret puller, heat, slot cleaner", cautions=(c.HOT_IRON, c.EYES, c.WOOD_DUST, c.GLUE),
        boxes=("chips glued at", "slot width found"),
    )  # fmt: skip


def neck(m: Workplace) -> Step:
    return m.step(
        "neck",
        f"Straight within {both_units(t.LEVEL)}: no feeler of that under a straightedge along the centreline, rod "
        "without strain",
        "Set it straight with the strings slack; what the rod cannot take out is the board's to be sanded out.",
        tools="straightedge, rod key", cautions=(c.ROD,), boxes=("gap left",),
    )  # fmt: skip


def radius(m: Workplace) -> Step:
    i, law = m.instrument, m.instrument.board.law
    if law.flat:
        wanted, off = "flat", within(t.OTHER)
    else:
        last = float(law.radius(i.plan.centre_x[-1])) if law.conical else law.at_nut
        wanted, off = spanned(law.at_nut, last, 1), f"± {t.RADIUS_SHARE:.0%}"
        if law.conical:
            wanted = f"{both_units(law.at_nut, 1)} at the nut to {both_units(last, 1)} at the last fret"
    numbers = [("board radius", wanted)]
    how = f"80 grit to shape, 120, then 240 to finish, full strokes along the centreline {PRACTICE}."
    tools = "straight beam with abrasive, gauges"
    if i.block is not None and math.isfinite(i.block.radius):
        numbers.append(("block radius", both_units(i.block.radius)))
        tools = f"block {both_units(i.block.length, 0)} long with its abrasive, gauges"
    plan = m.work.bench.reradius
    if plan is not None:
        numbers.append(("taken at most", both_units(plan.parallel.largest)))
    return m.step(
        "radius", f"{wanted} {off}: the gauge shows no light at nut, middle and last fret", how,
        numbers=tuple(numbers), tools=tools, cautions=(c.WOOD_DUST, c.STEEL_DUST),
        boxes=("gauge at the nut", "middle", "last fret"),
    )  # fmt: skip


def slots(m: Workplace) -> Step:
    i, wire, kerfs = m.instrument, m.instrument.spec.fret_wire, m.instrument.shop.saw_kerfs
    saw = "fret saw"
    if kerfs:
        saw = f"saw of {both_units(min(kerfs, key=lambda kerf: abs(kerf - wire.slot_width)))} kerf"
    how = ["Depth for the whole tang and what is left below it; a slot too tight bows the neck back."]
    plan = m.work.bench.reradius
    if plan is not None and float(plan.parallel.recut.max()) > 0:
        how.append(f"After sanding the shallowest slot lacks {both_units(float(plan.parallel.recut.max()))}.")
    if i.frets.flat_floor:
        how.append("Floors are level across: the stop counts from the crown line, before the board is rounded.")
    return m.step(
        "slots",
        f"{both_units(wire.slot_width)} wide, {_stop(m)} deep at the stop {within(t.SLOT_DEPTH)}; places "
        f"{within(t.FRET_SLOT)}",
        *how, numbers=(("slot width", both_units(wire.slot_width)), ("depth stop", _stop(m))),
        tools=f"{saw}, depth stop, feelers", cautions=(c.SAWING, c.WOOD_DUST),
        boxes=("trial cut width", "depth reached"),
    )  # fmt: skip


def _stop(m: Workplace) -> str:
    """What the saw's depth stop is set to: one value, or over the board."""
    frets = m.instrument.frets
    return spanned(float(frets.depth_stop.min()), float(frets.depth_stop.max()))


def frets_in(m: Workplace) -> Step:
    i, wire = m.instrument, m.instrument.spec.fret_wire
    cut = i.frets.wire_cut
    numbers = [
        ("crown", f"{both_units(wire.crown_width)} by {both_units(wire.crown_height)}"),
        ("pieces", f"{len(cut)}, {spanned(float(cut.min()), float(cut.max()), 1)}"),
    ]
    bend = float(i.frets.bend_radius[0])
    if math.isfinite(bend):
        numbers.append(("wire bent to", both_units(bend, 1)))
    how = [
        "Middle first, then both ends; every tang down on its floor before the next. wire.csv lists every piece.",
        "Where barbs hold badly: fish or hide glue, or thin cyanoacrylate drawn in at the ends, wiped off at once "
        f"{PRACTICE}.",
    ]
    if float(i.frets.nip_each_end.max()) > 0.05:
        how.append(f"Tangs nipped by {both_units(float(i.frets.nip_each_end.max()))} at each end at most.")
    return m.step(
        "frets-in",
        f"All {len(cut)} seated along their whole length: no feeler of {both_units(t.SEATED)} under any end",
        *how, numbers=tuple(numbers), tools="caul, press or hammer, nippers, clamps",
        cautions=(c.PRESSING, c.GLUE, c.CLAMPS), boxes=("all seated", "ends filed flush"),
    )  # fmt: skip


def level(m: Workplace) -> Step:
    i, needs = m.instrument, m.work.bench.remedy
    fall = i.spec.levelling.fall_away or i.spec.setup.fall_away
    goal = (
        f"Crowns in one straight line, neck straight and strings off: no feeler of {both_units(t.LEVEL)} under a "
        "straightedge"
    )
    if fall is not None:
        goal += f"; from fret {fall.from_fret} falling to {both_units(fall.drop)} at the last"
    numbers: list[tuple[str, str]] = []
    anew = bool(m.asked & {"board", "frets"})
    if needs is not None and needs.chosen is not None and not anew:
        numbers.append(("crowns as found", needs.verdicts[needs.chosen].words))
        numbers.append(("filed at most", both_units(needs.filings[needs.chosen].most, 3)))
    least = i.spec.fret_wire.crown_height - t.CROWN if anew or needs is None else needs.least_crown
    numbers.append(("no crown under", both_units(least)))
    first = "" if anew else "Glue or seat what is loose and measure again before anything is filed. "
    return m.step(
        "level", goal,
        f"{first}Mark every crown, file until the marks just go, crown each to a thin line along its top, then polish: "
        f"400, 800, 1200 and cloth {PRACTICE}. Ends eased, no edge to be felt along the board.",
        numbers=tuple(numbers), tools="levelling beam, crowning file, rocker", cautions=(c.CROWNS,),
        boxes=("least crown left",),
    )  # fmt: skip
