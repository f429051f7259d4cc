"""The shop file."""

from __future__ import annotations

from collections.abc import Callable

from templategen.errors import Problem
from templategen.spec.checks.common import Found, given, wire_in_itself
from templategen.spec.models import Shop, Wire
from templategen.spec.table import toml


def _end_mills(shop: Shop) -> Found:
    for place, mill in enumerate(shop.end_mills):
        key = ("end_mills", place)
        if mill.shape == "vee":
            if not given(mill, "angle"):
                yield Problem((*key, "angle"), "missing; a vee needs its full angle, for example: angle = 60")
        else:
            if not given(mill, "diameter"):
                yield Problem(
                    (*key, "diameter"), f"missing; a {mill.shape} cutter needs it, for example: diameter = 1.0"
                )
            if given(mill, "angle"):
                yield Problem((*key, "angle"), f"is of a vee; leave it out for a {mill.shape} cutter")


def _wires(shop: Shop) -> Found:
    names = [vars(wire).get("name") for wire in shop.wire]
    for place, name in enumerate(names):
        if name is not None and name in names[:place]:
            message = f"is the name of two wires; call one of them something else than {toml(name)}"
            yield Problem(("wire", place, "name"), message)


def _wires_in_themselves(shop: Shop) -> Found:
    for place, wire in enumerate(shop.wire):
        if set(Wire.model_fields) <= vars(wire).keys():
            yield from wire_in_itself(("wire", place), wire)


CHECKS: tuple[Callable[[Shop], Found], ...] = (_end_mills, _wires, _wires_in_themselves)
