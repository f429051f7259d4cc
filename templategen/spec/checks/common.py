"""What the checks share."""

from __future__ import annotations

from collections.abc import Iterator

from templategen.errors import Key, Problem
from templategen.spec.models import FretWire, Wire
from templategen.spec.table import Table
from templategen.units import both_units

Found = Iterator[Problem]


def given(table: Table, name: str) -> bool:
    """Whether the file gives this key, be it with its default."""
    return name in table.model_fields_set


def one_way(key: Key, ways: dict[str, bool], example: str, what: str) -> Found:
    """Exactly one of ``ways`` (key to whether it is given) must be taken."""
    taken = [name for name, is_given in ways.items() if is_given]
    if not taken:
        yield Problem(key, f"gives no {what}; {example}")
    for name in taken[1:]:
        yield Problem((*key, name), f"stands beside {taken[0]}: both give the {what}; keep one of the two")


def wire_in_itself(key: Key, wire: FretWire | Wire) -> Found:
    """Of a wire of the shop, or of the spec's."""
    if wire.barb_width < wire.tang_thickness:
        limit = f"must be at least the bare tang's thickness, {both_units(wire.tang_thickness)}"
        yield Problem((*key, "barb_width"), f"is measured over the barbs and {limit}")
    if wire.slot_width >= wire.crown_width:
        limit = f"must be less than the crown's width, {both_units(wire.crown_width)}"
        yield Problem((*key, "slot_width"), f"is not covered by the crown; {limit}")
