"""``show``: every table of every spec of the fleet, printed and read back by its labels."""

from __future__ import annotations

from pathlib import Path

import labelled
import pytest
from places import FLEET

from templategen import job
from templategen.cli import SHOW_WIDTH, main
from templategen.parts.common.work import Work
from templategen.tables import register
from templategen.units import from_inches
from templategen.writers import terminal

WORK: dict[Path, Work] = {}


def work(spec: Path) -> Work:
    if spec not in WORK:
        WORK[spec] = job.compute(str(spec))[1]
    return WORK[spec]


@pytest.mark.parametrize("spec", FLEET, ids=lambda path: path.stem)
def test_what_is_printed_is_what_the_tables_hold(spec: Path) -> None:
    """Through the terminal and back: each cell under its head and beside its label, none left out."""
    seen = 0
    for table in register.shown(work(spec).bench, register.keys()):
        if table.upright:
            continue
        said = labelled.printed(table)
        narrow, alike = table.gathered()
        every = {head: value for (row, head), value in said.items() if row == labelled.EVERY}
        assert bool(every) == bool(alike)
        assert {at: cell for at, cell in said.items() if at[0] != labelled.EVERY} == labelled.of_table(narrow) or not (
            len(narrow.columns) > narrow.labels
        ), table.key
        seen += len(said)
    assert seen > 500


@pytest.mark.parametrize("spec", FLEET, ids=lambda path: path.stem)
def test_every_length_in_both_units(spec: Path) -> None:
    """Beside each column of mm stands the same in inches: 25.4 mm to one, exactly (ISO 80000-3)."""
    seen = 0
    for table in register.shown(work(spec).bench, register.keys()):
        cells = labelled.of_table(table)
        for (row, head), mm in cells.items():
            if head.endswith(", mm") and mm and not mm.strip("+-.0123456789"):
                step = 0.5 * 10 ** -len(mm.partition(".")[2])
                inch = from_inches(float(cells[row, head.removesuffix("mm") + "in"]))
                assert float(mm) == pytest.approx(inch, abs=step + 25.4 * step / 10), table.key
                seen += 1
    assert seen > 100


@pytest.mark.parametrize("spec", FLEET, ids=lambda path: path.stem)
def test_no_line_is_wider_than_a_hundred_and_no_head_a_tower(spec: Path) -> None:
    """Over each rule stand two lines of head at most, and over these the title."""
    said = job.show(str(spec)).splitlines()
    assert max(map(len, said)) <= SHOW_WIDTH
    assert said[-1].startswith("caution: ")
    for table in register.shown(work(spec).bench):
        lines = list(terminal.lines(table))
        rules = [n for n, line in enumerate(lines) if not set(line) - set("─┬ ")]
        if rules:
            assert rules[0] - len(terminal.wrapped(table.title)) <= 2
    assert len(said) < 300


def test_only_some_tables(capsys: pytest.CaptureFixture[str]) -> None:
    spec = str(FLEET[0])
    assert main(["show", spec, "--only", "levers", "frets"]) == 0
    said = capsys.readouterr().out
    assert said.startswith("Frets: from the nut")
    assert "What 0.1 mm" in said
    assert "caution" not in said
    assert main(["show", spec, "--only", "frats"]) == 2
    told = capsys.readouterr().err
    assert all(key in told for key in job.table_names())
    assert main(["show", spec, "--only", "reradius"]) == 2
    assert "this spec has no reradius table" in capsys.readouterr().err


def test_keys_are_those_of_the_tables() -> None:
    keys = register.keys()
    assert len(set(keys)) == len(keys)
    for spec in FLEET:
        for table in register.shown(work(spec).bench, keys):
            assert table.key in keys
            texts = sum(len(strip.cells) for strip in table.printed()[table.labels :])
            if not table.upright and table.key != "wire":  # one spare is like the other
                assert len(labelled.of_table(table)) == texts, f"{table.key}: two columns or rows of one name"


@pytest.mark.parametrize("width", [40, 72, 100])
def test_a_narrow_terminal_breaks_tables_and_no_figure(width: int) -> None:
    said = job.show(str(FLEET[-1]), width=width)
    assert "…" not in said
    for table in register.shown(work(FLEET[-1]).bench):
        for row in table.lines():
            for cell in row:
                assert all(word in said for word in cell.split(", ")[0].split()), (table.key, cell)
