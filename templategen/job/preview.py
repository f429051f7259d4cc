"""What a text means before it is saved: its problems, its findings, the views of it; two jobs side by side, and one job
beside what was measured of the instrument before or after."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from templategen.errors import Finding, Problem, SpecError
from templategen.job import store
from templategen.job.make import compute

if TYPE_CHECKING:
    from templategen.parts.common.work import Work
    from templategen.repair.survey.tools import Reading

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
    """Two jobs, or a job and what was measured. drawings: one where they are laid over each other, two where each has
    its own scale or its own case. differences: what, here, there, difference, as text."""

    drawings: dict[str, list[str]]
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
    from templategen.tables.numbers import numbers
    from templategen.writers.plain import plain

    here, there = _work(path, data, outside), _work(other, None, outside)
    both = (plain(numbers(work.bench, work.findings)) for work in (here, there))
    return Both(_laid_over(here, there), list(_differences(*both)))


def compare_measured(path: str, data: bytes, when: Literal["found", "left"], outside: bool = False) -> Both:
    """The job as it is wanted, and the instrument as it was found or left: drawn over each other where it was measured,
    and the record's quantities that were read, each with its ±.

    Raises SpecError where the job cannot be made, or names no such survey.
    """
    from templategen.instrument.model import build
    from templategen.parts.register import work
    from templategen.repair.model import on_the_bench
    from templategen.repair.record import record
    from templategen.repair.survey.stood import as_it_stood

    loaded, here = compute(path, data, outside)
    read = here.bench.found if when == "found" else here.bench.left
    if read is None:
        key = {"found": "survey", "left": "as_left"}[when]
        raise SpecError([Problem((key,), f"names no readings to compare with: give {key}", file=path)])
    stood = build(as_it_stood(loaded.spec, read), loaded.shop, loaded.name, loaded.digest, loaded.idle)
    lines = [(each, each.found if when == "found" else each.left) for each in record(here.bench)]
    rows = [
        (each.label, _measure(each.wanted), _reading(was), _apart(each.wanted, was.value))
        for each, was in lines
        if was is not None
    ]
    return Both(_laid_over(here, work(on_the_bench(stood))), rows)


def _measure(value: float) -> str:
    return f"{value:.3f}" if math.isfinite(value) else "flat"


def _reading(read: Reading) -> str:
    return f"{_measure(read.value)} ± {read.pm:.3f}" if math.isfinite(read.pm) else _measure(read.value)


def _apart(one: float, two: float) -> str:
    apart = round(one - two, 3) + 0.0 if math.isfinite(one) and math.isfinite(two) else math.nan
    return "" if math.isnan(apart) else f"{apart:+.3f}"


def _laid_over(here: Work, there: Work) -> dict[str, list[str]]:
    from templategen.parts.sheet.views import TRUE_SIZE, VIEWS
    from templategen.writers import svg

    def drawn(name: str) -> list[str]:
        one, two = VIEWS[name](here), VIEWS[name](there)
        return [svg.encode(each).decode() for each in ([_over(one, two)] if name in TRUE_SIZE else [one, two])]

    return {name: drawn(name) for name in VIEWS}


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
