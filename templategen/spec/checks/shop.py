"""The shop file."""

from __future__ import annotations

from collections.abc import Callable

from templategen.errors import Problem
from templategen.spec.checks.common import Found, given, wire_in_itself
from templategen.spec.models import Shop, Wire
from templategen.spec.table import toml
from templategen.units import both_units


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


def _mill(shop: Shop) -> Found:
    """A tool that gave a problem lacks that key here."""
    tools = () if shop.mill is None else vars(shop.mill).get("tools", ())
    if shop.mill is not None and "tools" in vars(shop.mill) and not tools:
        yield Problem(("mill", "tools"), "is empty; give the mill's tools, or leave [mill] out: without it no program")
    numbers = [vars(tool).get("number") for tool in tools]
    for place, tool in enumerate(tools):
        key, has = ("mill", "tools", place), vars(tool)
        if numbers[place] is not None and numbers[place] in numbers[:place]:
            yield Problem((*key, "number"), "is the number of two tools; each place in the tool table holds one")
        if has.get("form") == "vee" and not given(tool, "tip_angle"):
            yield Problem((*key, "tip_angle"), "missing; a vee needs its full angle, for example: tip_angle = 60")
        if has.get("form") in {"flat", "ball"} and given(tool, "tip_angle"):
            yield Problem((*key, "tip_angle"), f"is of a vee; leave it out for a {tool.form} cutter")
        if {"step_down", "flute"} <= has.keys() and tool.step_down > tool.flute:
            limit = f"must be at most the length of its flutes, {both_units(tool.flute)}"
            yield Problem((*key, "step_down"), limit)


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


CHECKS: tuple[Callable[[Shop], Found], ...] = (_end_mills, _mill, _wires, _wires_in_themselves)
