"""What has to be known of a file travels in it, in manifest.json and in numbers.json, complete in every part."""

from __future__ import annotations

import dataclasses
import json
import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from places import SPECS

from templategen import job
from templategen.parts.common.about import About
from templategen.parts.common.named import product_name
from templategen.parts.common.product import Product
from templategen.parts.register import PARTS

LABELS = ("Part", "Job", "Material", "Side", "Depth", "Allowances", "Datum", "Order of work")
KEYS = {
    "file", "of_part", "part", "job", "size", "kerf", "material", "thickness", "material_side", "depth", "allowances",
    "datum", "order_of_work", "more", "rests_on",
}  # fmt: skip


@pytest.fixture(scope="module")
def products() -> list[Product]:
    """Of a cone with a block, ribs and cauls, and of the acoustic with its saddle."""
    found: list[Product] = []
    for name in ("fleet-26", "fleet-21"):
        work = job.compute(str(SPECS / f"{name}.toml"))[1]
        found += [product for part in PARTS for product in part.make(work)]
    return found


def test_every_cut_file_path_and_solid_has_one(products: list[Product]) -> None:
    for product in products:
        cut = product.kind == "drawing" and product.drawing.kind == "cut"
        if cut or product.kind in ("solid",):
            assert product.about is not None, product.stem
            for field in dataclasses.fields(About):
                value = getattr(product.about, field.name)
                assert value != "", (product.stem, field.name)
                assert not str(value).endswith("."), (product.stem, field.name)
            if cut:
                assert product.drawing.notes[: len(product.about.lines)] == product.about.lines
                assert (product.about.size == "beam") == product.stem.endswith("-beam")
                assert product.about.kerf == (0.12 if product.stem.endswith("-beam") else 0.0)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("about")
    parts = ("slot-outline", "slot-path", "notched-strip", "nut", "saddle", "press-caul", "tables", "radius-block")
    job.make(str(SPECS / "fleet-21.toml"), out, only=parts, formats=("dxf", "svg", "step", "csv", "json"))
    return out / "fleet-21"


def said_in(path: Path) -> str:
    """What a file says of itself, as one line."""
    text = path.read_text(encoding="utf-8")
    if path.suffix == ".dxf":
        return " ".join(re.findall(r"^999\n(.*)$", text, re.MULTILINE))
    if path.suffix == ".svg":
        (found,) = re.findall(r"<desc>(.*?)</desc>", text, re.DOTALL)
        return " ".join(found.replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&").split("\n"))
    names = re.findall(r"PRODUCT\('((?:[^']|'')*)','(?:[^']|'')*','((?:[^']|'')*)'", text)
    for name, _ in names:
        assert re.fullmatch(r"[A-Za-z0-9 ._-]+", name), name
    (said,) = {said for _, said in names}
    return said.replace("''", "'")


def test_it_says_the_same_everywhere(made: Path) -> None:
    manifest = {f["path"]: f for f in json.loads((made / "manifest.json").read_text(encoding="utf-8"))["files"]}
    told = {f["file"]: f for f in json.loads((made / "numbers.json").read_text(encoding="utf-8"))["files"]}
    tried = 0
    for name, record in told.items():
        assert set(record) == KEYS
        if name not in manifest or name.endswith(".csv"):
            continue
        tried += 1
        said, note = said_in(made / name), manifest[name]["note"]
        assert " ".join(note.split()) in " ".join(said.split()), name
        at = 0
        for label in LABELS:
            place = note.find(f"{label}: ", at)
            assert place >= at, (name, label)
            at = place
        keys = ("part", "job", None, "material_side", "depth", "allowances", "datum", "order_of_work")
        for key, label in zip(keys, LABELS, strict=True):
            if key is None:
                continue
            assert f"{label}: {record[key]}." in note, (name, key)
        assert manifest[name]["cautions"], name
        if record["kerf"]:
            assert f"kerf {record['kerf']:.3f} mm" in note
    assert tried >= 25


def test_files_of_people_have_none(made: Path) -> None:
    told = {f["file"] for f in json.loads((made / "numbers.json").read_text(encoding="utf-8"))["files"]}
    assert not told & {"nut.dxf", "nut.svg", "saddle.svg", "frets.csv", "notched-strip.pdf"}


@given(st.lists(st.text(min_size=1), min_size=1, max_size=3))
def test_names_of_solids_hold_what_every_program_takes(parts: list[str]) -> None:
    assert re.fullmatch(r"[A-Za-z0-9 ._-]*", product_name(*parts))


def test_names_keep_what_can_be_kept() -> None:
    assert product_name("Übungsgitarre No. 3: neuer Sattel | groß", "nut", "blank") == (
        "Ubungsgitarre No. 3 - neuer Sattel gross - nut - blank"
    )
