"""The whole way for one spec: load, compute, draw, encode; ``store`` writes it, all or nothing."""

from __future__ import annotations

import hashlib
import importlib
import json
import os
from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from templategen import __version__
from templategen.errors import Finding, Problem, SpecError
from templategen.job import signals, store
from templategen.job.hands import beside
from templategen.job.store import File

if TYPE_CHECKING:
    from templategen.instrument.model import Instrument
    from templategen.parts.common.product import Format, Product
    from templategen.parts.common.work import Work
    from templategen.spec.load import Loaded
    from templategen.writers.register import Setting

Progress = Callable[[str, str], None]


@dataclass(frozen=True)
class Made:
    """What ``make`` did.

    files: (name, note) in manifest order. cautions: of all steps that the files lead to, each once. unchanged: nothing
    had to be written. missing: (name, why) of files that could not be made, though the spec asks for them. told: what
    happened to files of somebody else's in the folder.
    """

    folder: Path
    files: tuple[tuple[str, str], ...]
    cautions: tuple[str, ...]
    findings: tuple[Finding, ...]
    unchanged: bool
    missing: tuple[tuple[str, str], ...] = ()
    told: tuple[str, ...] = ()


def compute(path: str, data: bytes | None = None, outside: bool = False) -> tuple[Loaded, Work]:
    """A spec file as a job to be made; data: what to take for the file's bytes, outside: whether it may name files
    outside its own folder.

    Raises SpecError with every problem at its file and line."""
    from templategen.instrument.model import build
    from templategen.parts.register import work
    from templategen.repair.model import before_work, measured, on_the_bench
    from templategen.spec.load import load

    loaded = load(path, data, outside)
    try:
        found, left = (
            None if each is None else measured(loaded.spec, each.survey, key)
            for key, each in (("survey", loaded.survey), ("as_left", loaded.as_left))
        )
        spec = before_work(loaded.spec, found)
        instrument = build(spec, loaded.shop, loaded.name, loaded.digest, loaded.idle)
        return loaded, work(on_the_bench(instrument, found, left))
    except SpecError as error:
        raise SpecError(loaded.locate(problem) for problem in error.problems) from None


def part_names() -> tuple[str, ...]:
    """What ``only`` takes."""
    from templategen.parts.register import part_names as names

    return names()


def check(path: str, outside: bool = False) -> tuple[Finding, ...]:
    """The findings of a spec; writes nothing."""
    return compute(path, outside=outside)[1].findings


def make(
    path: str,
    out: str | os.PathLike[str] = "out",
    only: Collection[str] = (),
    formats: Collection[str] = (),
    progress: Progress = lambda spec, part: None,
    waits: Callable[[str], None] = lambda text: None,
    outside: bool = False,
    hands: int = 1,
) -> Made:
    """Write a spec's files to ``out/<name of the spec file>/``.

    only: part names, formats: file formats, both empty for all. progress: told the spec's name and each part's as it
    is made, and an empty part at the end. waits: told when another make is at work on the same folder.
    outside: whether the spec may name files outside its own folder. hands: 2 where a second processor may help.
    Raises SpecError for a wrong spec or a place where somebody's files would be lost, MachineError where the machine
    cannot write. A solid that fails costs no other file.
    """
    loaded, work = compute(path, outside=outside)
    found = work.findings
    target = Path(out) / loaded.name
    with store.machine_errors(target), store.at_work(target, waits):
        told = store.recover(target)
        store.refuse(target, loaded.inputs)
        wanted = _selection(only, formats)
        known = store.manifest(target)
        same = known.get("digest") == loaded.digest and known.get("made_by") == _code_digest()
        if same and known.get("selection") == wanted and not known.get("missing") and store.whole(target, known):
            files = tuple((f["path"], f.get("note", "")) for f in known["files"])
            return Made(target, files, tuple(known.get("cautions", ())), found, unchanged=True, told=tuple(told))
        try:
            made, missing = _encoded(work, only, formats, progress, hands)
        except SpecError as error:
            raise SpecError(loaded.locate(problem) for problem in error.problems) from None
        if not made and not missing:
            raise SpecError([_nothing_to_make(only, formats)])
        # Parts made earlier are kept only beside parts of the same spec: their numbers would not hang together else.
        kept = store.kept(target, known, made) if same and (only or formats) else []
        files_out = sorted([*made, *kept], key=lambda f: f.path)
        cautions = tuple(dict.fromkeys(line for file in files_out for line in file.cautions))
        about = {
            "spec": loaded.name,
            "version": __version__,
            "digest": loaded.digest,
            "made_by": _code_digest(),
            "selection": wanted,
            "cautions": list(cautions),
            **({"missing": [{"path": name, "why": why} for name, why in missing]} if missing else {}),
        }
        told += store.write(target, files_out, about)
    listed = tuple((f.path, f.note) for f in files_out)
    return Made(target, listed, cautions, found, unchanged=False, missing=tuple(missing), told=tuple(told))


def _nothing_to_make(only: Collection[str], formats: Collection[str]) -> Problem:
    from templategen.parts.register import wanted_by

    parts = ", ".join(only) or "no part of this spec"
    said = f"{parts}: there is no file of {' or '.join(formats) or 'any format'} to make from this spec"
    wants = [f"{name} wants measuring: {wanted_by(name)}" for name in only if wanted_by(name)]
    return Problem((), "\n".join([said, *wants]), file="make")


def table_names() -> tuple[str, ...]:
    """What ``only`` of ``show`` takes."""
    from templategen.tables.register import keys

    return keys()


def show(path: str, only: Collection[str] = (), bold: bool = False, width: int = 100, outside: bool = False) -> str:
    """A spec's numbers as tables, then findings and cautions; of some tables alone without these.

    bold: titles marked for a terminal that can show it; width: of that, signs. Raises SpecError, and where the job has
    none of the tables.
    """
    from templategen.parts.common import cautions
    from templategen.tables.register import shown
    from templategen.writers import terminal

    work = compute(path, outside=outside)[1]
    tables = tuple(shown(work.bench, only))
    if not tables:
        raise SpecError([Problem((), f"this spec has no {' or '.join(only)} table", file=path)])
    said = terminal.encode(tables, bold, width).decode()
    if only:
        return said
    head = f"{work.instrument.spec.title}   {work.instrument.trace}"
    found = (f"{finding.level}: {finding.message}  [{finding.key}]" for finding in work.findings)
    warned = (f"caution: {line}" for line in cautions.at_the_bench(work.bench.reradius is not None))
    words = [line for text in (*found, *warned) for line in terminal.wrapped(text, width)]
    return "\n".join([*terminal.wrapped(head, width), "", said, *words]) + "\n"


def survey(path: str, spec: str | None = None) -> tuple[Finding, ...]:
    """What a survey file amounts to, judgement by judgement.

    spec: where a spec begun from it is written, which must not be there yet; None writes nothing.
    """
    from templategen.findings.asfound import judged
    from templategen.repair.survey.found import as_found
    from templategen.spec.survey.load import load_survey

    found = as_found(load_survey(path).survey)
    if spec is not None:
        from templategen.findings.draft import draft
        from templategen.job.begin import write_new

        named = os.path.relpath(path, Path(spec).parent).replace(os.sep, "/")
        write_new({Path(spec): draft(found, named)})
    return judged(found)


def schema(of: str = "spec") -> str:
    """The JSON Schema of the spec, the shop or the survey file, as text."""
    from templategen.spec.schema import SCHEMAS

    return json.dumps(SCHEMAS[of](), indent=1, ensure_ascii=False)


# --------------------------------------------------------------------------------------------------------- encoding


Missing = list[tuple[str, str]]


def _encoded(
    work: Work, only: Collection[str], formats: Collection[str], progress: Progress, hands: int
) -> tuple[list[File], Missing]:
    """All files asked for, and what could not be made, as (name, why).

    With two hands, what is laid out goes to the other while the kernel makes the solids; where there are none, what is
    printed goes there.
    """
    from templategen.parts.register import PARTS

    parts = [(part.name, part.make(work)) for part in PARTS if not only or part.name in only]
    forms = {(p.kind, f) for _, products in parts for p in products for f in p.formats if not formats or f in formats}
    mine = {each for each in forms if each[0] == "solid"} or {each for each in forms if each[1] != "pdf"}
    setting = _setting(work.instrument)

    def made(share: Collection[tuple[str, str]], progress: Progress) -> tuple[list[File], Missing]:
        files: list[File] = []
        missing: Missing = []
        for name, products in parts:
            progress(work.instrument.name, name)
            for product in products:
                if asked := [form for form in product.formats if (product.kind, form) in share]:
                    files += _files(setting, name, product, asked, missing)
        return files, missing

    if hands == 1 or mine == forms:
        return made(forms, progress)
    theirs, ours = beside(lambda: made(forms - mine, lambda spec, part: None), lambda: made(mine, progress))
    return theirs[0] + ours[0], theirs[1] + ours[1]


def _files(
    setting: Setting,
    part: str,
    product: Product,
    formats: Sequence[Format],
    missing: Missing,
) -> Iterator[File]:
    from templategen.drawing.paper.sizes import PaperError
    from templategen.writers.register import encode

    if product.needs:
        _load(product.needs)
    if product.fault:
        missing.extend((f"{product.stem}.{name}", product.fault) for name in formats)
        return
    for name in formats:
        path = f"{product.stem}.{name}"
        try:
            data = encode(product.kind, name, product.content(name), setting)
        except PaperError as error:
            raise SpecError([Problem(("shop", "paper"), f"{error}; name a larger paper")]) from error
        except (SpecError, OSError, MemoryError):
            raise
        except Exception as error:  # of the kernel, or a solid that is not what it should be: it costs no other
            if not product.may_fail:
                raise
            missing.append((path, str(error) or type(error).__name__))
            continue
        yield File(path, part, name, data, product.note, product.cautions)


def _load(module: str) -> None:
    """Import the CAD kernel with interrupts waiting: inside its own start-up they would surface as import errors."""
    with signals.held():
        importlib.import_module(module)


def _setting(instrument: Instrument) -> Setting:
    from templategen.parts.common.paper import measured_of, paper_of
    from templategen.writers.register import Setting

    return Setting(paper_of(instrument.shop), measured_of(instrument.shop), instrument.trace)


# --------------------------------------------------------------------------------------------------------- manifest


def _selection(only: Collection[str], formats: Collection[str]) -> dict[str, list[str]]:
    return {"parts": sorted(only), "formats": sorted(formats)}


@cache
def _code_digest() -> str:
    """Of this package's own files: a result of other code is made again."""
    root = Path(__file__).parent.parent
    total = hashlib.sha256()
    for source in sorted(p for p in root.rglob("*") if p.suffix in {".py", ".csv", ".toml", ".css"}):
        total.update(source.relative_to(root).as_posix().encode() + b"\0" + source.read_bytes())
    return total.hexdigest()
