"""numbers.json of four specs says what it said; ``python tests/golden.py`` takes over what changed."""

from __future__ import annotations

import golden
import pytest


@pytest.mark.parametrize("name", golden.NAMES)
def test_numbers_are_what_they_were(name: str) -> None:
    assert (said := golden.report(name)) == "", said


def test_every_golden_file_has_its_spec() -> None:
    assert sorted(path.stem for path in golden.FOLDER.iterdir()) == sorted(golden.NAMES)


def test_a_difference_is_told_by_its_address() -> None:
    old = {"frets": [{"fret": 1, "from_nut": 36.5, "ends": [1.0, 2.0]}], "units": "mm", "block": None}
    new = {"frets": [{"fret": 1, "from_nut": 36.6, "ends": [1.0, 2.0000001]}, {"fret": 2}], "block": 1.0, "more": True}
    assert list(golden.differences(old, new)) == [
        "frets[0].from_nut: 36.5 -> 36.6",
        'frets[1]: {"fret": 2} is new',
        'units: "mm" is gone',
        "block: null -> 1.0",
        "more: true is new",
    ]
