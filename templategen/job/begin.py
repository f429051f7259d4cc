"""New files to fill in. Nothing is ever written over."""

from __future__ import annotations

import os
from pathlib import Path

from templategen.errors import Problem, SpecError
from templategen.job.store import machine_errors


def new_spec(path: str, title: str, shop: str | None = None) -> None:
    """Write an annotated spec to fill in, and an annotated shop file that it names.

    shop: path of the shop file, or None for a spec alone. Raises SpecError where a file is already there.
    """
    from templategen.spec import template

    files, name = {Path(path): ""}, None
    if shop is not None:
        name = os.path.relpath(shop, Path(path).parent).replace(os.sep, "/")
        files[Path(shop)] = template.new_shop()
    files[Path(path)] = template.new_spec(title, name)
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
