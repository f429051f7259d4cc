"""Keys that a spec gives but that change nothing in it, so that nothing is ignored in silence."""

from __future__ import annotations

from collections.abc import Iterator

from templategen.errors import Key
from templategen.spec.models import Spec
from templategen.spec.table import Table

Idle = Iterator[tuple[Key, str]]


def idle(spec: Spec) -> tuple[tuple[Key, str], ...]:
    """Key path and reason of every such key of a spec that can be made, in the order of the tables."""
    return (*_scale(spec), *_strings(spec), *_ends(spec), *_nut(spec), *_block(spec))


def _given(table: Table, name: str) -> bool:
    return name in table.model_fields_set


def _scale(spec: Spec) -> Idle:
    cents, count = spec.scale.fret_cents or (), spec.scale.fret_count
    if len(cents) > count:
        yield (
            ("scale", "fret_cents"),
            f"{len(cents) - count} of its {len(cents)} frets lie beyond the last fret, {count}",
        )


def _strings(spec: Spec) -> Idle:
    strings = spec.strings
    if _given(strings, "wrap") and not any(string.wound for string in strings.set):
        yield ("strings", "wrap"), "no string of the set is wound"
    for place, string in enumerate(strings.set):
        key = ("strings", "set", place)
        if string.wrap is not None and not string.wound:
            yield (*key, "wrap"), "the string is plain"
        if string.mass_per_length is not None and string.density is not None:
            yield (*key, "density"), "mass_per_length is given and says it all"


def _ends(spec: Spec) -> Idle:
    for name, table in (("bridge", spec.bridge), ("nut", spec.nut)):
        if _given(table, "course_gap") and not any(len(course) > 1 for course in spec.strings.courses or ()):
            yield (name, "course_gap"), "the strings have no courses"


def _nut(spec: Spec) -> Idle:
    nut = spec.nut
    if spec.scale.zero_fret is None:
        for name in ("behind_zero_fret", "below_zero_crown"):
            if _given(nut, name):
                yield ("nut", name), "there is no zero fret"
    if _given(nut, "compensation_by") and nut.compensation == "none":
        yield ("nut", "compensation_by"), 'compensation is "none"'


def _block(spec: Spec) -> Idle:
    if spec.radius_block is not None and spec.radius_block.at is not None and spec.fingerboard.radius is not None:
        yield ("radius_block", "at"), "the board has one radius everywhere"
    if spec.radius_block is not None and _given(spec.radius_block, "face") and spec.fingerboard.radius == "flat":
        yield ("radius_block", "face"), "the board is flat, and so is its block"
