"""The terminal's tables: both units side by side, no wider than a page, and the cautions at the end."""

from __future__ import annotations

from pathlib import Path

import pytest
from places import FLEET

from templategen import job
from templategen.sheet import terminal


@pytest.mark.parametrize("spec", FLEET, ids=lambda path: path.stem)
def test_every_length_in_both_units(spec: Path) -> None:
    """Beside each column of mm stands the same in inches: 25.4 mm to one, exactly (ISO 80000-3)."""
    work = job.compute(str(spec))[1]
    seen = 0
    for table in terminal.tables(work):
        for column, beside in zip(table.columns, [*table.columns[1:], None], strict=True):
            if not str(column.header).endswith("mm"):
                continue
            assert beside is not None
            assert beside.header == "in", f"{table.title}: {column.header}"
            for mm, inch in zip(column.cells, beside.cells, strict=True):
                if str(mm).strip("-.0123456789"):
                    continue  # a word, such as "flat"
                if mm:
                    step = 0.5 * 10 ** -len(str(mm).partition(".")[2])
                    assert float(str(mm)) == pytest.approx(25.4 * float(str(inch)), abs=step + 25.4 * step / 10)
                    seen += 1
    assert seen > 100


@pytest.mark.parametrize("columns", ["40", "200"])
def test_tables_keep_their_figures_and_end_with_cautions(
    columns: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    work = job.compute(str(FLEET[-1]))[1]
    terminal.print_tables(work)
    said = capsys.readouterr().out.splitlines()
    assert f"{work.instrument.frets.from_nut[-1]:.3f}" in " ".join(said)
    told = [line for line in said if line.startswith("caution: ")]
    assert len(told) > 4
    assert said[-1] == told[-1]
    assert "…" not in " ".join(said)
    tabled = [line.rstrip() for line in said if not line.startswith(("caution:", "note:", "decide:", "problem:"))]
    assert max(map(len, tabled)) <= 150
