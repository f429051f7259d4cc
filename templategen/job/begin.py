"""New files to fill in. Nothing is ever written over."""

from __future__ import annotations

import os
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


def write_new(files: dict[Path, str]) -> None:
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


def _write(target: Path, text: str) -> None:
    with machine_errors(target):
        beside = target.with_name(f".{target.name}.new-{os.getpid()}")
        try:
            beside.write_text(text, encoding="utf-8")
            beside.rename(target)
        finally:
            beside.unlink(missing_ok=True)
