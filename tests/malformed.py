"""Files that are wrong, and what is said of them: a folder of NN-name.toml, each with its whole report, NN-name.txt.

Specs and surveys are tried in the same ways. ``python tests/malformed.py`` writes all reports anew.
"""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from hypothesis import strategies as st
from places import DATA, ROOT

sys.path.insert(0, str(ROOT))

from templategen.errors import SpecError, problem_report
from templategen.spec.load import load
from templategen.spec.survey.load import load_survey

JUNK = (
    "", "0", "-1", "1e9", "nan", "true", '"x"', '"1/3 in"', "[]", "[1]", "[[]]", "{}", "1979-05-27", '"nut"', "7",
)  # fmt: skip
"""Values that fit hardly any key; each kind of file adds its own."""


@dataclass(frozen=True)
class Malformed:
    """The cases of a folder. load: reads a file by its path, or raises SpecError."""

    folder: Path
    load: Callable[[str], Any]

    @property
    def cases(self) -> list[str]:
        return sorted(path.stem for path in self.folder.glob("[0-9]*.toml"))

    def kept(self, case: str) -> str:
        return (self.folder / f"{case}.txt").read_text(encoding="utf-8")

    def report(self, case: str) -> str:
        """What is said of a case; its folder is where we are."""
        with pytest.raises(SpecError) as caught:
            self.load(f"{case}.toml")
        return problem_report(caught.value.problems) + "\n"

    def orphans(self) -> set[str]:
        """Reports without a file and files without a report."""
        return {path.stem for path in self.folder.glob("*.txt")} ^ set(self.cases)

    def write_anew(self) -> None:
        os.chdir(self.folder)
        for case in self.cases:
            (self.folder / f"{case}.txt").write_text(self.report(case), encoding="utf-8")


SPEC = Malformed(DATA / "malformed", load)
SURVEY = Malformed(DATA / "malformed-surveys", load_survey)


def changed_lines(data: st.DataObject, good: Sequence[str], junk: Sequence[str]) -> list[str]:
    """A good file's lines, one to three of them dropped, doubled, moved, or given another value."""
    lines = list(good)
    for _ in range(data.draw(st.integers(1, 3))):
        at = data.draw(st.integers(0, len(lines) - 1))
        match data.draw(st.sampled_from(["drop", "double", "move", "value", "value", "value"])):
            case "drop":
                del lines[at]
            case "double":
                lines.insert(at, lines[at])
            case "move":
                lines.append(lines.pop(at))
            case _:
                head, equals, _ = lines[at].partition("=")
                lines[at] = head + (equals and "= " + data.draw(st.sampled_from([*JUNK, *junk])))
    return lines


def is_read_or_told(lines: Sequence[str], load: Callable[[str], Any], beside: Sequence[Path] = ()) -> None:
    """Nothing but sentences of ours, each with a line of the file. beside: files that lie in the same folder."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "changed.toml"
        path.write_text("\n".join(lines), encoding="utf-8")
        for other in beside:
            (Path(folder) / other.name).write_bytes(other.read_bytes())
        try:
            load(str(path))
        except SpecError as error:
            problems = error.problems
        else:
            return
    assert problems
    for problem in problems:
        assert problem.line is not None
        assert 1 <= problem.line <= len(lines)
        assert not problem.message.startswith(("cannot be used", "is not TOML"))


if __name__ == "__main__":
    SPEC.write_anew()
    SURVEY.write_anew()
