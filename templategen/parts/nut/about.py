"""What has to be known of each of the nut's files."""

from __future__ import annotations

from templategen.findings.wording import listed
from templategen.instrument.model import Instrument
from templategen.parts.common.about import CUT_ORDER, THROUGH, About
from templategen.parts.nut.nut_shape import Stage
from templategen.tables import nut as nut_tables
from templategen.units import mm_text

LEAST_NOTCH = 0.03  # mm that a beam's notch must be wider than the beam
DATUM = (
    "x = 0 on the centreline, along the front edge, y = 0 on the front edge, toward the tuners positive, z = 0 on the "
    "seat in the middle"
)
MATERIAL = "bone or the like"


def solid(i: Instrument, stage: Stage) -> About:
    """Of nut-blank, nut-slotted and nut-finished."""
    nut = i.nut
    size = f"{mm_text(nut.blank.size[0])} x {mm_text(nut.blank.size[1])} x {mm_text(nut.blank.size[2])} mm"
    left = {
        "blank": f"top +{mm_text(nut.top_allowance)}, front and back +{mm_text(nut.stock_sides)}, each end "
        f"+{mm_text(nut.stock_ends)} mm; {nut.blank.form}, over all {size}",
        "slotted": f"top +{mm_text(nut.top_allowance)}, floors +{mm_text(nut.filing_allowance)} mm"
        + ("" if all(nut.full_width) else ", pilot grooves where no ball cutter fits"),
        "finished": f"none{_eased(i)}",
    }[stage]
    deep = {
        "blank": "not slotted",
        "slotted": "slots and pilots as modelled, open at both faces",
        "finished": "slots as modelled, open at both faces",
    }[stage]
    order = "slots before the top is dressed: dressing first takes the pilots' depth" if stage == "slotted" else None
    return About(
        part=f"nut, {stage}",
        job=f"{i.spec.title}; {i.trace}",
        material=MATERIAL,
        thickness=nut.thickness + nut.body_forward + (2 * nut.stock_sides if stage == "blank" else 0.0),
        side="top up, front toward -y",
        depth=deep,
        allowances=left,
        datum=DATUM,
        order=order or "blank, slots, then top, ends and floors by the drawing",
        size="finished" if stage == "finished" else "with allowances",
        more=_bench(i) if stage != "finished" else (),
    )


def front(i: Instrument) -> About:
    """Of the finished front outline to be cut flat."""
    nut, kerf = i.nut, i.shop.beam_kerf
    more = []
    narrow = [n + 1 for n, width in enumerate(nut.width) if kerf and width <= kerf + LEAST_NOTCH]
    if narrow:
        more.append(
            f"The beam is too wide for the slots of {listed('string', narrow)}: the beam's file leaves them to the saw."
        )
    if nut_tables.slanted(i):
        more.append("Slots are shown square to themselves; in the nut they run slanted, see the drawing.")
    if nut.shift.any():
        more.append("Slots are drawn where they pass this outline's plane, the nominal front edge.")
    more.append("Cut through, floors are level: file each down toward the tuners by its back angle (see the drawing).")
    return About(
        part="nut, finished front outline with its slots",
        job=f"{i.spec.title}; {i.trace}",
        material=MATERIAL,
        thickness=nut.thickness + nut.body_forward,
        side="its front face up, seen from the bridge",
        depth=f"{THROUGH}, square to the face",
        allowances=f"none{_eased(i)}",
        datum="x = 0 on the centreline, y = 0 on the seat",
        order=CUT_ORDER,
        more=tuple(more),
    )


def _eased(i: Instrument) -> str:
    return f"; ends eased R {mm_text(i.nut.rounding)}" if i.nut.rounding else ""


def _bench(i: Instrument) -> tuple[str, ...]:
    """What the blank and the slotted nut leave to the bench."""
    if i.nut.datum_z == 0:
        return ()
    return (f"The underside is flat at z = {mm_text(i.nut.datum_z)}: the seat's curve or slant is left to the bench.",)
