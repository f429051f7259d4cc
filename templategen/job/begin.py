"""New files to fill in. Nothing is ever written over."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path

from templategen.errors import Key, Problem, SpecError
from templategen.job.store import machine_errors
from templategen.units import Unit

PRACTICE: dict[str, Key] = {
    "first_fret_clearance": ("setup", "first_fret_clearance"),
    "action_at_octave": ("setup", "action"),
    "relief": ("setup", "relief"),
}
"""What is common practice, and the key that it is said beside."""


def new_spec(
    path: str,
    title: str,
    shop: str | None = None,
    unit: Unit = "mm",
    kind: str = "electric",
    strings: int | None = None,
) -> None:
    """Write an annotated spec to fill in, and an annotated shop file that it names.

    shop: path of the shop file, or None for a spec alone. unit: of bare lengths. kind, strings: of the instrument that
    the examples are of. Raises SpecError where a file is already there, and where there is no sheet of such a kind.
    """
    from templategen.findings.limits import practice
    from templategen.spec import template

    files, name = {Path(path): ""}, None
    if shop is not None:
        name = os.path.relpath(shop, Path(path).parent).replace(os.sep, "/")
        files[Path(shop)] = template.new_shop(unit=unit)
    known = {key: practice(kind, what) for what, key in PRACTICE.items()}
    usual = {
        key: (of.bass_low, of.bass_high, of.treble_low, of.treble_high) for key, of in known.items() if of is not None
    }
    files[Path(path)] = template.new_spec(title, name, unit, kind, strings, usual)
    write_new(files)


def new_survey(path: str, title: str, frets: int = 21, strings: int = 6, paper: str = "A4") -> tuple[str, str]:
    """Write a survey to fill in, and beside it the sheet to print and measure with, FILE.pdf; both paths.

    paper: by its name. Raises SpecError where a file is already there.
    """
    from templategen.drawing.paper.sizes import PAPERS
    from templategen.parts.sheet.measuring import document
    from templategen.spec import template
    from templategen.writers import document as on_paper

    survey = Path(path)
    sheet = survey.with_suffix(".pdf")
    if sheet == survey:
        raise SpecError([Problem((), "is the name of the sheet to print; name the survey .toml", file=path)])
    printed = on_paper.encode(document(title, frets, strings), PAPERS[paper])
    write_new({survey: template.new_survey(title, frets, strings), sheet: printed})
    return str(survey), str(sheet)


def write_new(files: Mapping[Path, str | bytes]) -> None:
    """Write texts where nothing is yet; SpecError with every place that is taken, and then nothing is written."""
    problems = [Problem((), reason, file=str(target)) for target in files if (reason := _why_not_new(target))]
    if problems:
        raise SpecError(problems)
    for target, text in files.items():
        _write(target, text)


def _why_not_new(target: Path) -> str:
    """Why a file cannot be started there; empty where it can."""
    if target.exists() or target.is_symlink():
        return "is already there; choose another name or move it away first"
    return "" if target.parent.is_dir() else f"there is no folder {target.parent}; make it first"


def _write(target: Path, text: str | bytes) -> None:
    with machine_errors(target):
        beside = target.with_name(f".{target.name}.new-{os.getpid()}")
        try:
            beside.write_bytes(text.encode() if isinstance(text, str) else text)
            beside.rename(target)
        finally:
            beside.unlink(missing_ok=True)
