"""The whole way for one spec: load, compute, draw, encode, write; all or nothing.

Files are written into a new folder beside the target, manifest.json last, and the finished folder then takes the
target's place; whatever fails or is interrupted before leaves the former result whole. A folder moved aside in that
last step by a run that died is put back by the next run.
"""

from __future__ import annotations

import contextlib
import hashlib
import importlib
import json
import os
import shutil
import signal
import threading
from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

from templategen import __version__
from templategen.errors import Finding, MachineError, Problem, SpecError

if TYPE_CHECKING:
    from templategen.instrument.model import Instrument
    from templategen.parts.common.product import Format, Product
    from templategen.parts.common.work import Work
    from templategen.spec.load import Loaded

FORMATS = ("dxf", "svg", "pdf", "step", "stl", "csv", "json")
MANIFEST = "manifest.json"
Progress = Callable[[str, str], None]


@dataclass(frozen=True)
class Made:
    """What ``make`` did.

    files: (name, note) in manifest order. cautions: of all steps that the files lead to, each once. unchanged: nothing
    had to be written.
    """

    folder: Path
    files: tuple[tuple[str, str], ...]
    cautions: tuple[str, ...]
    findings: tuple[Finding, ...]
    unchanged: bool


@dataclass(frozen=True)
class File:
    """One encoded file."""

    path: str
    part: str
    format: str
    data: bytes
    note: str = ""
    cautions: tuple[str, ...] = ()


def compute(path: str) -> tuple[Loaded, Work]:
    """A spec file as a job to be made. Raises SpecError with every problem at its file and line."""
    from templategen.instrument.model import build
    from templategen.parts.register import work
    from templategen.repair.model import on_the_bench
    from templategen.spec.load import load

    loaded = load(path)
    try:
        instrument = build(loaded.spec, loaded.shop, loaded.name, loaded.digest, loaded.idle)
        return loaded, work(on_the_bench(instrument))
    except SpecError as error:
        raise SpecError(loaded.locate(problem) for problem in error.problems) from None


def part_names() -> tuple[str, ...]:
    """What ``only`` takes."""
    from templategen.parts.register import part_names as names

    return names()


def check(path: str) -> tuple[Finding, ...]:
    """The findings of a spec; writes nothing."""
    return compute(path)[1].findings


def make(
    path: str,
    out: str | os.PathLike[str] = "out",
    only: Collection[str] = (),
    formats: Collection[str] = (),
    progress: Progress = lambda spec, part: None,
) -> Made:
    """Write a spec's files to ``out/<name of the spec file>/``.

    only: part names, formats: file formats, both empty for all. progress: told the spec's name and each part's as it
    is made, and an empty part at the end.
    Raises SpecError for a wrong spec, MachineError where the machine cannot write.
    """
    loaded, work = compute(path)
    found = work.findings
    target = Path(out) / loaded.name
    with _machine_errors(target):
        _recover(target)
        wanted = _selection(only, formats)
        known = _manifest(target)
        if known.get("digest") == _digest(loaded) and known.get("selection") == wanted and _whole(target, known):
            files = tuple((f["path"], f.get("note", "")) for f in known["files"])
            return Made(target, files, tuple(known.get("cautions", ())), found, unchanged=True)
        try:
            made = list(_encoded(work, only, formats, progress))
        except SpecError as error:
            raise SpecError(loaded.locate(problem) for problem in error.problems) from None
        if not made:
            raise SpecError([_nothing_to_make(only, formats)])
        kept = _kept(target, known, loaded, made) if only or formats else []
        files_out = sorted([*made, *kept], key=lambda f: f.path)
        cautions = tuple(dict.fromkeys(line for file in files_out for line in file.cautions))
        _write(target, files_out, cautions, loaded, wanted)
    return Made(target, tuple((f.path, f.note) for f in files_out), cautions, found, unchanged=False)


def _nothing_to_make(only: Collection[str], formats: Collection[str]) -> Problem:
    parts = ", ".join(only) or "no part of this spec"
    return Problem(
        (), f"{parts}: there is no file of {' or '.join(formats) or 'any format'} to make from this spec", file="make"
    )


def make_all(
    paths: Sequence[str],
    out: str,
    only: Collection[str],
    formats: Collection[str],
    jobs: int,
    progress: Progress = lambda spec, part: None,
) -> Iterator[Made | SpecError | MachineError]:
    """``make`` for many specs, ``jobs`` at a time, results in the order of the paths; one spec's failure stops none."""
    if jobs == 1 or len(paths) == 1:
        for path in paths:
            yield _attempt(path, out, only, formats, progress)
        return
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context

    with ProcessPoolExecutor(min(jobs, len(paths)), mp_context=get_context("spawn")) as pool:
        yield from pool.map(_attempt, paths, *([value] * len(paths) for value in (out, only, formats)))


def _attempt(
    path: str,
    out: str,
    only: Collection[str],
    formats: Collection[str],
    progress: Progress = lambda spec, part: None,
) -> Made | SpecError | MachineError:
    try:
        return make(path, out, only, formats, progress)
    except (SpecError, MachineError) as error:
        return error
    finally:
        progress("", "")


def show(path: str) -> None:
    """Print a spec's numbers as tables."""
    from templategen.sheet.terminal import print_tables

    print_tables(compute(path)[1])


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
    problems = [Problem((), reason, file=str(target)) for target in files if (reason := _why_not_new(target))]
    if problems:
        raise SpecError(problems)
    for target, text in files.items():
        _write_new(target, text)


def _why_not_new(target: Path) -> str:
    """Why a file cannot be started there; empty where it can."""
    if target.exists():
        return "is already there; choose another name or move it away first"
    return "" if target.parent.is_dir() else f"there is no folder {target.parent}; make it first"


def _write_new(target: Path, text: str) -> None:
    with _machine_errors(target):
        beside = target.with_name(f".{target.name}.new-{os.getpid()}")
        try:
            beside.write_text(text, encoding="utf-8")
            beside.rename(target)
        finally:
            beside.unlink(missing_ok=True)


def schema() -> str:
    """The JSON Schema of the spec file, as text."""
    from templategen.spec.schema import schema as of_spec

    return json.dumps(of_spec(), indent=1, ensure_ascii=False)


# --------------------------------------------------------------------------------------------------------- encoding


def _encoded(work: Work, only: Collection[str], formats: Collection[str], progress: Progress) -> Iterator[File]:
    from templategen.parts.register import PARTS

    for part in PARTS:
        if only and part.name not in only:
            continue
        progress(work.instrument.name, part.name)
        for product in part.make(work):
            asked = [f for f in product.formats if not formats or f in formats]
            if asked:
                yield from _files(work.instrument, part.name, product, asked)


def _files(instrument: Instrument, part: str, product: Product, formats: Sequence[Format]) -> Iterator[File]:
    from templategen.parts.common.product import Body, Pages, Plot, Sheet, Table

    match product:
        case Table(stem, text):
            for name in formats:
                yield File(f"{stem}.{name}", part, name, text().encode())
        case Sheet(stem, drawing):
            note = " ".join(drawing.notes)
            for name in formats:
                yield File(f"{stem}.{name}", part, name, _drawn(instrument, drawing, name), note, drawing.cautions)
        case Pages(stem, title, pages):
            from templategen.parts.common.paper import paper_of
            from templategen.writers import pdf

            yield File(f"{stem}.pdf", part, "pdf", pdf.encode(pages(paper_of(instrument.shop)), title))
        case Plot(stem, chart):
            from templategen.writers import plot

            for name in formats:
                yield File(f"{stem}.{name}", part, name, plot.encode(chart(), "svg" if name == "svg" else "pdf"))
        case Body(stem, build):
            _load_kernel()
            from templategen.writers import step, stl

            solid = build()
            for name in formats:
                data = step.encode(solid) if name == "step" else stl.encode(solid)
                yield File(f"{stem}.{name}", part, name, data)


def _load_kernel() -> None:
    """Import the CAD kernel with interrupts waiting: inside its own start-up they would surface as import errors."""
    with _signals_held():
        importlib.import_module("templategen.solids.kernel")


def _drawn(instrument: Instrument, drawing: Any, name: str) -> bytes:
    if name == "dxf":
        from templategen.writers import dxf

        return dxf.encode(drawing)
    if name == "svg":
        from templategen.writers import svg

        return svg.encode(drawing)
    from templategen.drawing.paper.pages import paginate
    from templategen.parts.common.paper import measured_of, paper_of
    from templategen.writers import pdf

    shop = instrument.shop
    try:
        pages = paginate(drawing, paper_of(shop), measured_of(shop), instrument.trace)
    except ValueError as error:
        raise SpecError([Problem(("shop", "paper"), f"{error}; name a larger paper")]) from error
    return pdf.encode(pages, drawing.title)


# ---------------------------------------------------------------------------------------------------------- writing


def _write(
    target: Path,
    files: Sequence[File],
    cautions: Sequence[str],
    loaded: Loaded,
    selection: dict[str, list[str]],
) -> None:
    target.parent.mkdir(parents=True, exist_ok=True)
    fresh = target.with_name(f".{target.name}.new-{os.getpid()}")
    shutil.rmtree(fresh, ignore_errors=True)
    fresh.mkdir()
    try:
        for file in files:
            (fresh / file.path).write_bytes(file.data)
        entries = []
        for file in files:
            entry = {
                "path": file.path,
                "part": file.part,
                "format": file.format,
                "sha256": hashlib.sha256(file.data).hexdigest(),
            }
            said = {"note": file.note, "cautions": list(file.cautions)}
            entries.append(entry | {key: value for key, value in said.items() if value})
        manifest = {
            "spec": loaded.name,
            "version": __version__,
            "digest": _digest(loaded),
            "selection": selection,
            "cautions": list(cautions),
            "files": entries,
        }
        (fresh / MANIFEST).write_text(json.dumps(manifest, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
        _swap(fresh, target)
    finally:
        shutil.rmtree(fresh, ignore_errors=True)


def _aside(target: Path) -> Path:
    return target.with_name(f".{target.name}.former")


def _swap(fresh: Path, target: Path) -> None:
    """Put the new folder in the target's place; signals wait until both renames are done."""
    aside = _aside(target)
    with _signals_held():
        if target.exists():
            target.rename(aside)
        fresh.rename(target)
    shutil.rmtree(aside, ignore_errors=True)


def _recover(target: Path) -> None:
    """Put back a result that a run moved aside and could not replace."""
    aside = _aside(target)
    if aside.exists():
        if target.exists():
            shutil.rmtree(aside)
        else:
            aside.rename(target)


@contextlib.contextmanager
def _signals_held() -> Iterator[None]:
    """Signals that would stop the run wait until the block is done.

    Handlers rather than a signal mask: a mask holds for one thread, and libraries start threads of their own.
    """
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    waiting: list[int] = []
    names = [name for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name)]
    before = {number: signal.getsignal(number) for number in (getattr(signal, name) for name in names)}
    for number in before:
        signal.signal(number, lambda got, frame: waiting.append(got))
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, signal.SIG_DFL if handler is None else handler)
        if waiting:
            signal.raise_signal(waiting[0])


@contextlib.contextmanager
def _machine_errors(target: Path) -> Iterator[None]:
    try:
        yield
    except MachineError:
        raise
    except OSError as error:
        reason = error.strerror or str(error)
        raise MachineError(
            f"{error.filename or target}  cannot be written: {reason}; the former result is as it was"
        ) from error


# --------------------------------------------------------------------------------------------------------- manifest


def _selection(only: Collection[str], formats: Collection[str]) -> dict[str, list[str]]:
    return {"parts": sorted(only), "formats": sorted(formats)}


def _digest(loaded: Loaded) -> str:
    """Of the spec, its shop file and this package's own code: what the files depend on."""
    return hashlib.sha256(f"{loaded.digest} {_code_digest()}".encode()).hexdigest()


@cache
def _code_digest() -> str:
    root = Path(__file__).parent
    total = hashlib.sha256()
    for source in sorted(p for p in root.rglob("*") if p.suffix in {".py", ".csv", ".toml", ".css"}):
        total.update(source.relative_to(root).as_posix().encode() + b"\0" + source.read_bytes())
    return total.hexdigest()


def _manifest(target: Path) -> dict[str, Any]:
    try:
        known = json.loads((target / MANIFEST).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return cast("dict[str, Any]", known) if isinstance(known, dict) and isinstance(known.get("files"), list) else {}


def _whole(target: Path, manifest: dict[str, Any]) -> bool:
    """Whether every file of a manifest is there as it was written, and none besides."""
    listed = {entry["path"]: entry["sha256"] for entry in manifest["files"]}
    if {p.name for p in target.iterdir()} != {*listed, MANIFEST}:
        return False
    return all(hashlib.sha256((target / name).read_bytes()).hexdigest() == digest for name, digest in listed.items())


def _kept(target: Path, known: dict[str, Any], loaded: Loaded, made: Sequence[File]) -> list[File]:
    """Files of an earlier run over the same spec that a run for some parts leaves standing; older ones are dropped,
    because their numbers would no longer hang together with the new ones."""
    if known.get("digest") != _digest(loaded):
        return []
    new = {file.path for file in made}
    kept = []
    for entry in known["files"]:
        path = target / entry["path"]
        if entry["path"] in new or not path.is_file():
            continue
        data = path.read_bytes()
        if hashlib.sha256(data).hexdigest() == entry["sha256"]:
            said = entry.get("note", ""), tuple(entry.get("cautions", ()))
            kept.append(File(entry["path"], entry["part"], entry["format"], data, *said))
    return kept


def duplicates(paths: Sequence[str]) -> list[Problem]:
    """Specs of one run that would write to the same folder."""
    seen: dict[str, str] = {}
    problems = []
    for path in paths:
        name = Path(path).stem
        if name in seen and os.path.abspath(seen[name]) != os.path.abspath(path):
            problems.append(
                Problem((), f"would be written to the same folder as {seen[name]}; rename one of the files", file=path)
            )
        seen.setdefault(name, path)
    return problems
