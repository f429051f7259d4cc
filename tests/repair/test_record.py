"""As found, as wanted, as left: each reading beside its quantity, and what was left beyond its tolerance is told."""

from __future__ import annotations

from typing import Any

import html5lib
import pytest
from making import work

from templategen.parts.bench.bench_sheet import document
from templategen.parts.common.work import Work
from templategen.repair.record import record
from templategen.writers import html

READ: dict[str, Any] = {
    "frets.centre": {"1": 36.0, "2": 69.5, "5": 160.5, "12": 320.0, "17": 400.5, "21": 450.0},
    "relief": {"held": [1, 21], "gap": {"8": 0.35}},
    "board.radius": {"1": "11 1/2 in", "12": "12 in"},
    "board.slot_depth": {"3": [1.95, 1.91], "9": 2.1},
    "crowns": {"lines": ["bass", "treble"], "height": {"1": [1.02, 0.95], "2": [0.97, 0.88]}},
    "strings.at_nut": [39.4, 32.3, 25.1, 18.0, 10.9, 3.9],
    "strings.first_fret": [0.41, 0.42, 0.43, 0.44, 0.45, 0.56],
    "strings.pressed": [0.11, 0.11, 0.12, 0.12, 0.13, 0.14],
    "strings.action": {"fret": 12, "heights": [2.1, 2.2, 2.3, 2.4, 2.5, 2.6]},
    "strings.cents": {"12": [5, 4, 3, 2, 1, 0]},
}
LEFT: dict[str, Any] = {
    **READ,
    "relief": {"held": [1, 21], "gap": {"8": 0.2}},
    "strings.first_fret": [0.31, 0.34, 0.37, 0.40, 0.42, 0.45],
    "strings.action": {"fret": 12, "heights": [1.6, 1.7, 1.8, 1.9, 2.0, 2.4]},
}


def measured(found: dict[str, Any], left: dict[str, Any] | None = None, **more: Any) -> Work:
    return work({"survey": found, **({} if left is None else {"as_left": left}), **more})


def cells(job: Work) -> dict[str, tuple[str, str, str]]:
    """The record as the HTML has it: quantity to (found, wanted, left)."""
    tree = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parse(html.encode(document(job)).decode())
    rows = tree.findall(".//table[@data-table='record']/tbody/tr")
    told = [["".join(cell.itertext()).strip() for cell in row] for row in rows]
    return {what: (found, wanted, left) for what, found, wanted, _, left in told}


def test_every_reading_stands_beside_its_quantity() -> None:
    job = measured(READ)
    told = cells(job)
    expected = {
        "first-fret clearance, bass": 0.565,  # a feeler's reading g means a gap in [g, g + 0.01): JCGM 100, bench rule
        "first-fret clearance, treble": 0.415,
        "gap at the first fret, string held at 3, bass": 0.145,
        "gap at the first fret, string held at 3, treble": 0.115,
        "action over fret 12, bass": 2.6,
        "action over fret 12, treble": 2.1,
        "outer strings at the nut, centres": 35.5,
        "least crown height": 0.88,
        "slot depth, least": 1.93,
    }
    for label, value in expected.items():
        assert float(told[label][0].split()[0]) == pytest.approx(value, abs=0.011), label
    assert told["board radius"][0].startswith("298.")  # 11.75 in, between the two gauges
    assert told["cents at the octave, string 1 E4"][0].startswith("+5.0")
    assert told["cents at the octave, string 6 E2"][0].startswith("+0.0")
    assert "±" in told["scale"][0]
    assert all(left == "" for _, _, left in told.values())
    relief = told["relief"]
    assert float(relief[0].split()[0]) > 0.3
    assert relief[1].startswith("0.20 mm")


def test_what_was_not_measured_is_empty() -> None:
    told = cells(measured({"relief": READ["relief"]}))
    assert {what for what, (found, _, _) in told.items() if found} == {"relief"}


def test_an_action_read_otherwise_is_not_compared() -> None:
    other = {**READ, "strings.action": {"fret": 14, "heights": [2.1, 2.2, 2.3, 2.4, 2.5, 2.6]}}
    assert cells(measured(other))["action over fret 12, bass"][0] == ""


def test_left_beyond_tolerance_is_told_and_marked() -> None:
    job = measured(READ, LEFT)
    beyond = {each.key for each in record(job.bench) if each.beyond}
    assert "action_bass" in beyond
    assert not beyond & {"relief", "action_treble", "first_fret_clearance_bass"}
    assert cells(job)["action over fret 12, bass"][2].endswith("BEYOND")
    assert not cells(job)["action over fret 12, treble"][2].endswith("BEYOND")
    told = [f for f in job.findings if f.code == "left-beyond-tolerance" and "action over fret 12, bass" in f.message]
    assert len(told) == 1
    assert told[0].level == "decide"
    assert told[0].message.startswith("As left, action over fret 12, bass: 2.40 mm (± ")
    assert "wanted 2.00 mm within 0.10 mm" in told[0].message


def test_work_that_is_not_said_is_asked_for() -> None:
    assert [f.code for f in measured(READ).findings].count("work-not-said") == 1
    assert "work-not-said" not in [f.code for f in measured(READ, work=["nut"]).findings]
