"""Specs for tests: a plain board in TOML, changed key by key, and read the way every spec is read.

>>> board = instrument({"scale.length": 650, "fingerboard.radius": "flat"})
>>> board.frets.from_nut[11]
325.0

A change to ``None`` takes the key out; a dotted key that is not there yet is added with its tables. Changes to the shop
file go into ``shop``; ``shop=None`` means that the spec names no shop.
"""

from __future__ import annotations

import os
import tempfile
import tomllib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from types import MappingProxyType
from typing import Any

from templategen import job
from templategen.errors import Finding
from templategen.instrument.model import Instrument
from templategen.parts.common.work import Work
from templategen.spec.load import Loaded

Changes = Mapping[str, Any]
UNCHANGED: Changes = MappingProxyType({})

SPEC = """
title = "Loan fleet: test board"

[scale]
length = 640
fret_count = 21

[fingerboard]
width_at_nut = 43
width_at_last_fret = 55
beyond_last_fret = 8
thickness = 6.2
radius = 300

[fret_wire]
crown_width = 2.4
crown_height = 1.1
tang_depth = 1.6
tang_thickness = 0.51
barb_width = 0.8
slot_width = 0.58
markers = [3, 5, 7, 9, 15, 17, 19, 21]
doubled_markers = [12]

[strings]
set = [
  { gauge = 0.26, note = "E4" },
  { gauge = 0.34, note = "B3" },
  { gauge = 0.44, note = "G3" },
  { gauge = 0.66, note = "D3", wound = true, core_diameter = 0.32 },
  { gauge = 0.90, note = "A2", wound = true, core_diameter = 0.40 },
  { gauge = 1.15, note = "E2", wound = true, core_diameter = 0.43 },
]

[bridge]
string_spread = 52

[nut]
thickness = 3.4
seat_depth = 2
edge_margin = { bass = 3.4, treble = 3.2 }

[setup]
first_fret_clearance = { bass = 0.45, treble = 0.30 }
action = { fret = 12, bass = 2.0, treble = 1.6 }
relief = 0.2
"""

SHOP = """
saw_kerfs = [0.56, 0.58]
end_mills = [
  { diameter = 0.58, shape = "flat" },
  { diameter = 1.0, shape = "ball" },
  { diameter = 3.0, shape = "flat" },
  { shape = "vee", angle = 60 },
]
nut_file_widths = [0.3, 0.38, 0.5, 0.7, 0.95, 1.2]
beam_kerf = 0.12
wire_stock_length = 610
spare_frets = 2
"""

SURVEY = """
title = "Loan fleet: test board as found"

[scale]
fret_count = 21
"""

# A multi-scale board as changes to the one above.
FAN: dict[str, Any] = {
    "scale.length": None,
    "scale.bass": 670,
    "scale.treble": 640,
    "scale.square_fret": 6.5,
}


def changed(text: str, changes: Changes) -> str:
    """``text`` (TOML) with every dotted key of ``changes`` set, or taken out where the value is None."""
    whole = tomllib.loads(text)
    for dotted, value in changes.items():
        *tables, key = dotted.split(".")
        table = whole
        for name in tables:
            table = table.setdefault(name, {})
        if value is None:
            table.pop(key, None)
        else:
            table[key] = value
    return "".join(_tables(whole))


@contextmanager
def spec_file(
    changes: Changes = UNCHANGED, shop: Changes | None = UNCHANGED, name: str = "made", spec: str = SPEC
) -> Iterator[str]:
    """The path of a spec file (with its shop file beside it) that is there while the context lasts.

    ``survey`` and ``as_left`` given as dotted readings are written to files of their own, which the spec names.
    """
    with tempfile.TemporaryDirectory() as folder:
        named = {} if shop is None else {"shop": "shop.toml"}
        path = os.path.join(folder, f"{name}.toml")
        for key in ("survey", "as_left"):
            if isinstance(changes.get(key), Mapping):
                _write(os.path.join(folder, f"{key}.toml"), changed(SURVEY, changes[key]))
                changes = {**changes, key: f"{key}.toml"}
        _write(path, changed(spec, {**named, **changes}))
        if shop is not None:
            _write(os.path.join(folder, "shop.toml"), changed(SHOP, shop))
        yield path


def instrument(
    changes: Changes = UNCHANGED, shop: Changes | None = UNCHANGED, name: str = "made", spec: str = SPEC
) -> Instrument:
    """The computed instrument. Raises SpecError as the spec and the instrument room do."""
    with spec_file(changes, shop, name, spec) as path:
        return job.compute(path)[1].instrument


def work(changes: Changes = UNCHANGED, shop: Changes | None = UNCHANGED, name: str = "made") -> Work:
    """The whole job, surveys included."""
    with spec_file(changes, shop, name) as path:
        return job.compute(path)[1]


def loaded(
    changes: Changes = UNCHANGED, shop: Changes | None = UNCHANGED, name: str = "made", spec: str = SPEC
) -> Loaded:
    with spec_file(changes, shop, name, spec) as path:
        return job.compute(path)[0]


def found(made: Instrument, code: str) -> list[Finding]:
    """The findings of one code, those of the parts included."""
    return [finding for finding in work_of(made).findings if finding.code == code]


def work_of(made: Instrument) -> Work:
    """The job that an instrument makes: on the bench, with everything that somebody should know."""
    from templategen.parts import register
    from templategen.repair.model import on_the_bench

    return register.work(on_the_bench(made))


def _write(path: str, text: str) -> None:
    with open(path, "w", encoding="utf-8") as file:
        file.write(text)


def _tables(whole: Mapping[str, Any]) -> Iterator[str]:
    """Bare keys first; a table of tables stays inline, so that one level of headings is enough."""
    for key, value in whole.items():
        if not isinstance(value, dict):
            yield f"{key} = {_toml(value)}\n"
    for name, table in whole.items():
        if isinstance(table, dict):
            yield f"\n[{name}]\n"
            yield from (f"{key} = {_toml(value)}\n" for key, value in table.items())


def _toml(value: Any) -> str:
    match value:
        case bool():
            return "true" if value else "false"
        case str():
            return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'
        case int() | float():
            return repr(value)
        case dict():
            return "{ " + ", ".join(f"{key} = {_toml(item)}" for key, item in value.items()) + " }"
        case _:
            return "[" + ", ".join(_toml(item) for item in value) + "]"
