"""What a text means before it is saved: its problems, its findings, the views of it; and two jobs side by side."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from templategen.errors import Finding, Problem, SpecError
from templategen.job import store
from templategen.job.make import compute

if TYPE_CHECKING:
    from templategen.parts.common.work import Work

TOLD = 1e-6
"""mm, or whatever unit a number has: two numbers nearer to each other are the same."""


@dataclass(frozen=True)
class Seen:
    """problems: then there is neither finding nor drawing. drawings: SVG by the view's name."""

    problems: tuple[Problem, ...]
    findings: tuple[Finding, ...] = ()
    drawings: dict[str, str] | None = None


@dataclass(frozen=True)
class Both:
    """Two jobs. drawings: laid over each other. differences: what, here, there, difference, as text."""

    drawings: dict[str, str]
    differences: list[tuple[str, str, str, str]]


def preview(path: str, data: bytes, outside: bool = False) -> Seen:
    """The view of ``data`` as if it stood in the file at ``path``; nothing is read but the files that it names."""
    from templategen.parts.sheet.views import VIEWS
    from templategen.writers import svg

    try:
        work = _work(path, data, outside)
        drawings = {name: svg.encode(view(work)).decode() for name, view in VIEWS.items()}
    except SpecError as error:
        return Seen(error.problems)
    return Seen((), work.findings, drawings)


def _work(path: str, data: bytes | None, outside: bool) -> Work:
    return compute(path, data, outside)[1]


def compare(path: str, data: bytes, other: str, outside: bool = False) -> Both:
    """Raises SpecError where one of the two cannot be made."""
    from templategen.parts.sheet.views import VIEWS
    from templategen.tables.numbers import numbers
    from templategen.writers import svg
    from templategen.writers.plain import plain

    here, there = _work(path, data, outside), _work(other, None, outside)
    drawings = {name: svg.encode(_over(view(here), view(there))).decode() for name, view in VIEWS.items()}
    both = (plain(numbers(work.bench, work.findings)) for work in (here, there))
    return Both(drawings, list(_differences(*both)))


def _over(one: Any, two: Any) -> Any:
    """Two drawings on one sheet, the second one's lines dashed and brown; its lettering and dimensions are left out,
    since they would stand over the first one's."""
    from templategen.drawing.model import Pen, Text

    kept = [
        replace(
            layer,
            name=f"OTHER_{layer.name}",
            pen=Pen(max(layer.pen.width, 0.35), (2.4, 1.2), "#6d5a3a"),
            shapes=tuple(shape for shape in layer.shapes if not isinstance(shape, Text)),
        )
        for layer in two.layers
        if layer.name not in ("TEXT", "DIMENSION", "CENTRELINE")
    ]
    return replace(one, layers=(*one.layers, *kept))


def _differences(one: Any, two: Any, path: str = "") -> Iterator[tuple[str, str, str, str]]:
    """Numbers and words that differ, by the path that numbers.json has."""
    if isinstance(one, dict) and isinstance(two, dict):
        for key in dict.fromkeys([*one, *two]):
            if key not in ("digest", "findings", "cents", "cents_uncompensated"):
                yield from _differences(one.get(key), two.get(key), f"{path} {key}".strip())
    elif isinstance(one, list) and isinstance(two, list):
        for place, (a, b) in enumerate(zip(one, two, strict=False)):
            yield from _differences(a, b, f"{path} {place + 1}")
        if len(one) != len(two):
            yield f"{path}: how many", str(len(one)), str(len(two)), f"{len(one) - len(two):+d}"
    elif isinstance(one, int | float) and isinstance(two, int | float) and not isinstance(one, bool):
        if abs(one - two) > TOLD:
            yield path, f"{one:.3f}", f"{two:.3f}", f"{one - two:+.3f}"
    elif one != two:
        yield path, _said(one), _said(two), ""


def _said(value: Any) -> str:
    return "–" if value is None else value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)[:60]


def manifest_files(folder: Path) -> list[dict[str, Any]]:
    """The files that a result's manifest lists; none where there is no result of ours."""
    return list(store.manifest(folder).get("files", []))
