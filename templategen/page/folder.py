"""The files of the chosen folder: what is there, reading, beginning and saving.

A name is that of a file in the folder, never a path. A save tells which text it was made from; where the file on disk
is another by now nothing is written and the caller is given what is there.
"""

from __future__ import annotations

import hashlib
import os
import re
import tomllib
from dataclasses import dataclass, replace
from pathlib import Path

from templategen.job.store import not_everywhere

LARGEST = 1_000_000
"""Bytes of a spec: more is none."""

_NAME = re.compile(r"[^\W_][\w .()-]{0,98}\.toml", re.UNICODE)


class NotHere(ValueError):  # noqa: N818  (says what it is)
    """The name is none of a file in the folder, or there is no such file."""


class Changed(Exception):  # noqa: N818  (says what happened)
    """The file on disk is not the one that the save was made from."""

    def __init__(self, text: str, mark: str) -> None:
        super().__init__("the file changed on disk")
        self.text, self.mark = text, mark


@dataclass(frozen=True)
class Listed:
    """One TOML file of the folder. kind: "spec", "survey", "shop" or "unreadable"; title: of a spec or survey."""

    name: str
    kind: str
    title: str


class Folder:
    """A folder of specs."""

    def __init__(self, path: Path) -> None:
        self.path = path.resolve()

    def listed(self) -> list[Listed]:
        """Every TOML file, by name."""
        return [_listed(path) for path in sorted(self.path.glob("*.toml")) if self._fits(path.name) and _plain(path)]

    def surveys(self) -> list[Listed]:
        """Every survey of the folder and of the folders right in it: a spec may name either."""
        below = sorted(path for path in self.path.glob("*/*.toml") if _plain(path) and not path.parent.is_symlink())
        found = [
            replace(_listed(path), name=f"{path.parent.name}/{path.name}")
            for path in below
            if self._fits(path.name) and not path.parent.name.startswith(".")
        ]
        return [each for each in [*self.listed(), *found] if each.kind == "survey"]

    def survey(self, name: str) -> Path:
        """The path of a listed survey. Raises NotHere for anything else."""
        if name not in {each.name for each in self.surveys()}:
            raise NotHere(f"{name or 'no name'} is not a survey of this folder")
        return self.path / name

    def at(self, name: str) -> Path:
        """The path of a file by its name. Raises NotHere for anything but the name of a plain file of the folder."""
        path = self.new(name)
        if not _plain(path):
            raise NotHere(f"{name} is not a file of this folder")
        return path

    def new(self, name: str) -> Path:
        """The path that a file of that name has or would have."""
        if not self._fits(name):
            raise NotHere("a name is made of letters, figures, spaces, - and _, and ends with .toml")
        return self.path / name

    @staticmethod
    def _fits(name: str) -> bool:
        return bool(_NAME.fullmatch(name)) and not not_everywhere(name.removesuffix(".toml"))

    def read(self, name: str) -> tuple[str, str]:
        """Text and mark."""
        data = self.at(name).read_bytes()
        if len(data) > LARGEST:
            raise NotHere(f"{name} is larger than a spec can be")
        try:
            return data.decode("utf-8-sig"), mark(data)
        except UnicodeDecodeError:
            raise NotHere(f"{name} is not UTF-8 text") from None

    def save(self, name: str, text: str, made_from: str) -> str:
        """Write ``text``, all or nothing, and give its mark. made_from: mark of the text that was read, "" for a new
        file. Raises Changed where the disk holds another."""
        path = self.new(name)
        if path.is_symlink() or (path.exists() and not path.is_file()):
            raise NotHere(f"{name} is not a plain file")
        there = path.read_bytes() if path.exists() else b""
        if (mark(there) if path.exists() else "") != made_from:
            raise Changed(there.decode("utf-8", "replace"), mark(there) if path.exists() else "")
        data = text.encode()
        if data == there:
            return mark(data)
        beside = path.with_name(f".{path.name}.new-{os.getpid()}")
        try:
            beside.write_bytes(data)
            if path.exists():
                beside.chmod(path.stat().st_mode & 0o777)
            beside.replace(path)
        finally:
            beside.unlink(missing_ok=True)
        return mark(data)


def mark(data: bytes) -> str:
    """What tells one state of a file from another."""
    return hashlib.sha256(data).hexdigest()


def _plain(path: Path) -> bool:
    return path.is_file() and not path.is_symlink()


def _listed(path: Path) -> Listed:
    try:
        if path.stat().st_size > LARGEST:
            raise ValueError
        raw = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except (OSError, ValueError, RecursionError):
        return Listed(path.name, "unreadable", "")
    title = raw.get("title")
    kind = "spec" if "fingerboard" in raw or "nut" in raw else "survey" if "title" in raw or "frets" in raw else "shop"
    return Listed(path.name, kind, title if isinstance(title, str) else "")
