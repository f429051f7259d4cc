"""The demo fleet loads, and a spec in inches is the spec in mm."""

from __future__ import annotations

import re
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from places import SPECS

from templategen.spec.load import load
from templategen.spec.models import Spec

FLEET = sorted(SPECS.glob("fleet-*.toml"))


@pytest.mark.parametrize("path", FLEET, ids=lambda path: path.stem)
def test_it_loads(path: Path) -> None:
    found = load(path)
    assert found.spec.title.startswith(f"Loan fleet {path.stem.removeprefix('fleet-')}: ")
    assert found.shop_source is not None
    assert found.idle == ()


def test_the_fleet_shows_every_kind() -> None:
    fleet = [load(path).spec for path in FLEET]
    assert len(fleet) >= 14
    assert {spec.kind for spec in fleet} >= {
        "electric", "steel_acoustic", "classical", "bass", "ukulele", "mandolin", None,
    }  # fmt: skip
    assert {spec.units for spec in fleet} == {"mm", "in"}
    assert {spec.nut.seat for spec in fleet} == {"groove", "shelf"}
    for has in (
        lambda spec: spec.scale.multi_scale,
        lambda spec: spec.scale.fret_cents,
        lambda spec: spec.scale.zero_fret,
        lambda spec: spec.handedness == "left",
        lambda spec: spec.strings.courses,
        lambda spec: len(spec.strings.set) == 12,
        lambda spec: spec.fingerboard.radius == "flat",
        lambda spec: spec.fingerboard.radius_at_nut,
        lambda spec: spec.fingerboard.blind_slot_inset,
        lambda spec: spec.fingerboard.before,
        lambda spec: spec.headstock.posts,
        lambda spec: spec.setup.pressed_gap,
        lambda spec: spec.setup.nut_over_crowns,
        lambda spec: spec.setup.action.capo,
        lambda spec: spec.setup.action.strings,
        lambda spec: spec.setup.fall_away,
    ):
        assert any(has(spec) for spec in fleet)


LENGTH_KEYS = {
    "length": (300, 1500), "width_at_nut": (30, 60), "width_at_last_fret": (60, 80), "thickness": (3, 9),
    "radius": (100, 600), "string_spread": (40, 60), "beyond_last_fret": (1, 20),
}  # fmt: skip


@st.composite
def lengths(draw: st.DrawFn) -> dict[str, Fraction]:
    """Lengths, mm, that a decimal number says exactly in mm and in inches."""
    return {
        key: Fraction(draw(st.integers(low * 1000 // 127 + 1, high * 1000 // 127)), 1000) * 127
        for key, (low, high) in LENGTH_KEYS.items()
    }


def decimal(value: Fraction) -> str:
    text = f"{value.numerator * 10**12 // value.denominator:013d}"
    assert value.numerator * 10**12 % value.denominator == 0
    return f"{text[:-12]}.{text[-12:]}".rstrip("0") + "0"


def spec_text(mm: dict[str, Fraction], unit: str, own_unit: bool) -> str:
    per = {"mm": Fraction(1), "in": Fraction(254, 10), "cm": Fraction(10), "thou": Fraction(254, 10_000)}[unit]

    def shown(key: str) -> str:
        number = decimal(mm[key] / per)
        return f'"{number} {unit}"' if own_unit else number

    return f"""
title = "law"
{f'units = "{unit}"' if not own_unit else ""}
scale = {{ length = {shown("length")}, fret_count = 12 }}
strings.set = [{", ".join('{ gauge = "10 thou", note = "A3" }' for _ in range(4))}]
bridge = {{ string_spread = {shown("string_spread")} }}
nut = {{ thickness = "3 mm", seat = "shelf", edge_margin = "1/8 in" }}
setup = {{ first_fret_clearance = "0.3 mm", action = {{ fret = 12, bass = "2 mm", treble = "2 mm" }} }}
[fingerboard]
{chr(10).join(f"{key} = {shown(key)}" for key in list(LENGTH_KEYS)[1:5])}
beyond_last_fret = {shown("beyond_last_fret")}
"""


@settings(max_examples=60, deadline=None)
@given(lengths(), st.sampled_from(["mm", "cm", "in", "thou"]))
def test_one_length_is_one_float_however_it_is_written(
    tmp_path_factory: pytest.TempPathFactory, mm: dict[str, Fraction], unit: str
) -> None:
    path = tmp_path_factory.getbasetemp() / "law.toml"

    def read(unit: str, own_unit: bool) -> Spec:
        path.write_text(spec_text(mm, unit, own_unit), encoding="utf-8")
        return load(path).spec

    plain = read("mm", own_unit=False)
    assert plain.scale.length == float(mm["length"])
    assert read(unit, own_unit=True) == plain
    inches = read("in", own_unit=False)
    assert inches.units == "in"
    assert inches.model_copy(update={"units": "mm"}) == plain


def test_the_fleet_names_nobody() -> None:
    """The demo world is the school's own: no trade marks, no web addresses."""
    for path in SPECS.glob("*.toml"):
        assert not re.search(r"[®™©]|https?://", path.read_text(encoding="utf-8"))
