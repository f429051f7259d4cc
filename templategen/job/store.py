"""Results on the disk: all or nothing, and nothing of anybody else's is lost.

Terms
-----
target  the folder of one spec's results, ``out/<name>``
ours    a folder with a manifest.json that this package wrote; only such a folder is ever replaced
listed  a file that the manifest lists; everything else in the folder is somebody's own and is carried along
fresh   the new folder, filled beside the target and marked as in the making
former  the target while the fresh one takes its place

Whoever holds the lock of a target is the only one at work on it, so what a run that died left beside it can be told
from a living run's. A fresh folder of a dead run is swept; a former one is put back, or what somebody had put into it
is carried on.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import shutil
import tempfile
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from templategen.errors import MachineError, Problem, SpecError
from templategen.job import signals

MANIFEST = "manifest.json"
MAKING = ".templategen-making"
_KEYS = {"spec", "version", "files"}
_SHOWN = 3  # names in a message
DEVICES = {"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(1, 10))}
"""Names that Windows keeps for devices, whatever follows a dot (Microsoft: Naming Files, Paths, and Namespaces)."""


@dataclass(frozen=True)
class File:
    """One encoded file."""

    path: str
    part: str
    format: str
    data: bytes
    note: str = ""
    cautions: tuple[str, ...] = ()

    @property
    def entry(self) -> dict[str, Any]:
        """Its line of the manifest."""
        said = {"note": self.note, "cautions": list(self.cautions)}
        return {
            "path": self.path,
            "part": self.part,
            "format": self.format,
            "sha256": hashlib.sha256(self.data).hexdigest(),
        } | {key: value for key, value in said.items() if value}


@contextlib.contextmanager
def at_work(target: Path, waits: Callable[[str], None]) -> Iterator[None]:
    """Be the only one at work on a target of this machine; ``waits`` is told once when somebody else is."""
    from filelock import FileLock, Timeout

    who = f"{os.path.abspath(target)} {os.environ.get('USERNAME') or os.environ.get('USER') or ''}"
    name = f"templategen-{hashlib.sha256(os.path.normcase(who).encode()).hexdigest()[:24]}.lock"
    lock = FileLock(Path(tempfile.gettempdir()) / name)
    try:
        lock.acquire(timeout=0)
    except Timeout:
        waits(f"{target}: another make is at work there; waiting for it")
        lock.acquire()
    try:
        yield
    finally:
        lock.release()


def not_everywhere(name: str) -> str:
    """Why a name cannot be kept on every system; empty where it can (source as for the devices)."""
    if held := sorted({sign for sign in name if sign in '<>:"/\\|?*' or ord(sign) < 32}):
        return f"holds {', '.join(repr(sign) for sign in held)}"
    if name.endswith((".", " ")):
        return "ends with a dot or a space"
    if name.partition(".")[0].strip().lower() in DEVICES:
        return "is a device's name on Windows"
    return ""


def refuse(target: Path, inputs: Sequence[str]) -> None:
    """Raise SpecError where making would cost somebody a file: a file or a link in the target's place, a folder that
    is not ours, or one of the inputs inside it; and where its name would be lost on another system."""
    if strange := not_everywhere(target.name):
        why = f"{strange}, which not every system can keep, and the results take the spec's name; rename the spec"
        raise SpecError([Problem((), why, file=str(target))])
    here = os.path.realpath(target)
    inside = [path for path in inputs if os.path.realpath(path).startswith(here + os.sep)]
    if target.is_symlink():
        why = "is a link, and results go into a plain folder; move the link away or choose another --out"
    elif target.exists() and not target.is_dir():
        why = "is a file, and the results need a folder of that name; move it away or choose another --out"
    elif inside:
        why = f"would be replaced by the results, and {inside[0]} lies in it; choose another --out"
    elif target.is_dir() and not manifest(target) and (held := sorted(p.name for p in target.iterdir())):
        more = f" and {len(held) - _SHOWN} more" if len(held) > _SHOWN else ""
        why = (
            f"holds {', '.join(held[:_SHOWN])}{more} and no {MANIFEST} of templategen: it is not a result, and is left "
            "alone; move it away or choose another --out"
        )
    else:
        return
    raise SpecError([Problem((), why, file=str(target))])


def manifest(folder: Path) -> dict[str, Any]:
    """The manifest of a folder that is ours; empty for any other."""
    try:
        known = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return {}
    if not isinstance(known, dict) or not known.keys() >= _KEYS or not isinstance(known["files"], list):
        return {}
    good = all(
        isinstance(each, dict) and isinstance(each.get("path"), str) and isinstance(each.get("sha256"), str)
        for each in known["files"]
    )
    return known if good else {}


def whole(target: Path, known: Mapping[str, Any]) -> bool:
    """Whether every file of a manifest is there as it was written."""
    return all(_as_written(target, entry) for entry in known["files"])


def _as_written(folder: Path, entry: Mapping[str, Any]) -> bool:
    path = folder / entry["path"]
    try:
        return not path.is_symlink() and hashlib.sha256(path.read_bytes()).hexdigest() == entry["sha256"]
    except OSError:
        return False


def recover(target: Path) -> list[str]:
    """Clear up after runs that died: sweep what they left in the making, put a former result back, carry on what
    somebody had put into it. To be called by whoever holds the lock. Returns what a user should be told."""
    told: list[str] = []
    if not target.parent.is_dir():
        return told
    for litter in target.parent.glob(f".{target.name}.new-*"):
        if not litter.is_symlink():
            _sweep(litter)
    for former in sorted(target.parent.glob(f".{target.name}.former*")):
        if former.is_symlink():
            continue
        if not manifest(former):
            if former.name.rpartition("-")[2].isdecimal():
                with contextlib.suppress(OSError):
                    former.rmdir()  # emptied by a run that died before its last step; anything else stays
            continue
        if target.exists():
            told += _settle(former, target)
        else:
            former.rename(target)
    if target.is_dir() and not target.is_symlink():
        (target / MAKING).unlink(missing_ok=True)
    return told


def write(target: Path, files: Sequence[File], more: Mapping[str, Any]) -> list[str]:
    """Write the files and their manifest beside the target, then let the new folder take its place.

    more: of the manifest besides the files. Returns what a user should be told: files that were somebody's own or were
    edited, and where they are. Raises OSError, the former result being as it was.
    """
    target.parent.mkdir(parents=True, exist_ok=True)
    fresh = target.with_name(f".{target.name}.new-{os.getpid()}")
    _sweep(fresh)
    fresh.mkdir()
    try:
        (fresh / MAKING).touch()
        for file in files:
            (fresh / file.path).write_bytes(file.data)
        listed = {**more, "files": [file.entry for file in files]}
        text = json.dumps(listed, indent=1, ensure_ascii=False) + "\n"
        (fresh / MANIFEST).write_text(text, encoding="utf-8")
        with signals.held():
            return _swap(fresh, target)
    finally:
        _sweep(fresh)


def _sweep(fresh: Path) -> None:
    """Remove a folder that is marked as in the making, its mark last, so that a sweep that is cut off can be gone on
    with; and one that is empty because the run died before it marked it."""
    if (fresh / MAKING).is_file():
        for path in fresh.iterdir():
            if path.name != MAKING:
                with contextlib.suppress(OSError):
                    shutil.rmtree(path) if path.is_dir() and not path.is_symlink() else path.unlink()
        if {path.name for path in fresh.iterdir()} == {MAKING}:
            (fresh / MAKING).unlink(missing_ok=True)
    with contextlib.suppress(OSError):
        fresh.rmdir()


def _swap(fresh: Path, target: Path) -> list[str]:
    """Put the new folder in the target's place; what somebody had put into the old one is carried over."""
    former = target.with_name(f".{target.name}.former-{os.getpid()}")
    was_there = target.exists()
    if was_there:
        target.rename(former)
    try:
        fresh.rename(target)
    except OSError:
        if was_there:
            former.rename(target)
        raise
    (target / MAKING).unlink(missing_ok=True)
    return _settle(former, target) if was_there else []


def _settle(former: Path, target: Path) -> list[str]:
    """Carry somebody's own files from a former result to the new one, keep edited ones aside, remove the rest."""
    told = []
    ours = {entry["path"]: entry for entry in manifest(former).get("files", [])}
    for path in sorted(former.iterdir(), key=lambda path: (path.name in ours, path.name)):
        if path.name in (MANIFEST, MAKING):
            continue
        if path.name not in ours:
            there = _free(target, path.name)
            path.rename(there)
            if there.name != path.name:
                told.append(f"{target / path.name} was your own; it is now {there.name}: a result has its name")
        elif _as_written(former, ours[path.name]):
            path.unlink()
        else:
            there = _free(target, f"{path.stem}.edited{path.suffix}")
            path.rename(there)
            told.append(f"{target / path.name} had been edited since it was made; your version is kept as {there.name}")
    for name in (MAKING, MANIFEST):
        (former / name).unlink(missing_ok=True)
    with contextlib.suppress(OSError):
        former.rmdir()
    return told


def _free(folder: Path, name: str) -> Path:
    """A path in the folder that nothing has yet: the name itself, or with a number before its suffix."""
    path, number = folder / name, 1
    while path.exists() or path.is_symlink():
        number += 1
        path = folder / f"{Path(name).stem}-{number}{Path(name).suffix}"
    return path


def kept(target: Path, known: Mapping[str, Any], made: Sequence[File]) -> list[File]:
    """Files of an earlier run over the same spec that a run for some parts leaves standing."""
    new = {file.path for file in made}
    found = []
    for entry in known["files"]:
        if entry["path"] not in new and _as_written(target, entry):
            data = (target / entry["path"]).read_bytes()
            said = entry.get("note", ""), tuple(entry.get("cautions", ()))
            found.append(File(entry["path"], entry["part"], entry["format"], data, *said))
    return found


@contextlib.contextmanager
def machine_errors(target: Path) -> Iterator[None]:
    """What the machine cannot do, as one sentence."""
    try:
        yield
    except MachineError:
        raise
    except MemoryError as error:
        raise MachineError(f"{target}  cannot be made: the machine's memory is full; nothing was written") from error
    except OSError as error:
        reason = error.strerror or str(error)
        former = "the former result is as it was" if manifest(target) else "nothing was written"
        raise MachineError(f"{error.filename or target}  cannot be written: {reason}; {former}") from error
