"""What the page asks and what it is answered: plain data in, plain data out; nothing here knows of requests.

A *view* is what one text means: its values as typed, problems, findings and drawings.
"""

from __future__ import annotations

import re
import threading
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import asdict
from functools import lru_cache
from pathlib import Path
from typing import Any

from templategen import __version__, job
from templategen.errors import Key, MachineError, Problem, SpecError, key_text
from templategen.page import document, form
from templategen.page.folder import Changed, Folder, NotHere
from templategen.page.making import Runs
from templategen.spec.lines import WhereWritten, places
from templategen.units import Unit

Posted = Mapping[str, Any]


class Refused(Exception):  # noqa: N818  (an answer, not a fault)
    """An answer that says no. status: as HTTP has it; more: what goes with it."""

    def __init__(self, status: int, why: str, **more: Any) -> None:
        super().__init__(why)
        self.status, self.more = status, more


class Desk:
    """One folder of specs with what is asked about it.

    spec: name of the file to begin with, or None; out: where results are written; outside: whether specs may name
    files outside their folder.
    """

    def __init__(self, folder: Path, spec: str | None, out: Path, outside: bool = False) -> None:
        self.folder, self.spec, self.out, self.outside = Folder(folder), spec, out, outside
        self.runs = Runs()
        self._saving = threading.Lock()
        self.questions: dict[str, Callable[[Posted], Any]] = {
            "form": self.form,
            "files": self.files,
            "begin": self.begin,
            "survey": self.survey,
            "draft": self.draft,
            "read": self.read,
            "view": self.view,
            "change": self.change,
            "save": self.save,
            "make": self.make,
            "progress": self.progress,
            "stop": self.stop,
            "results": self.results,
            "compare": self.compare,
        }

    def answer(self, question: Callable[[Posted], Any], given: Any) -> Any:
        """Raises Refused for whatever cannot be answered."""
        if not isinstance(given, dict):
            raise Refused(400, "the question is no table")
        try:
            return question(given)
        except (NotHere, document.NotAValue) as error:
            raise Refused(400, str(error)) from None
        except SpecError as error:
            raise Refused(400, "\n".join(_told(problem) for problem in error.problems)) from None
        except MachineError as error:
            raise Refused(507, str(error)) from None
        except OSError as error:
            raise Refused(507, f"the disk says: {error.strerror or error}") from None

    # ------------------------------------------------------------------------------------------------- the folder

    def form(self, given: Posted) -> Any:
        return {
            "places": form.as_data(),
            "parts": job.part_names(),
            "formats": job.FORMATS,
            "version": __version__,
            "spec": self.spec,
        }

    def files(self, given: Posted) -> Any:
        return {
            "folder": str(self.folder.path),
            "files": [asdict(each) for each in self.folder.listed()],
            "surveys": [asdict(each) for each in self.folder.surveys()],
        }

    def begin(self, given: Posted) -> Any:
        """A new spec from the measuring sheet; refused where the name is taken."""
        name, title = _text(given, "name"), _text(given, "title")
        path = self._free(name)
        strings = _text(given, "strings")
        if strings and not strings.isdecimal():
            raise Refused(400, f"{strings} is no number of strings")
        unit: Unit = "in" if given.get("units") == "in" else "mm"
        kind = _text(given, "kind") or "electric"
        title = title or "Loan fleet 00: measured at the bench"
        job.new_spec(str(path), title, unit=unit, kind=kind, strings=int(strings) if strings else None)
        return {"name": name}

    def survey(self, given: Posted) -> Any:
        """What a survey amounts to, as the command tells it."""
        return {"judged": [asdict(each) for each in job.survey(str(self.folder.survey(_text(given, "survey"))))]}

    def draft(self, given: Posted) -> Any:
        """A new spec from a survey, the same as the command's draft; refused where the name is taken."""
        name = _text(given, "name")
        survey, path = self.folder.survey(_text(given, "survey")), self._free(name)
        job.survey(str(survey), str(path))
        return {"name": name}

    def _free(self, name: str) -> Path:
        """The path of a file that is not there yet."""
        path = self.folder.new(name)
        if path.exists() or path.is_symlink():
            raise Refused(409, f"{name} is already there; choose another name")
        return path

    def read(self, given: Posted) -> Any:
        text, mark = self.folder.read(_text(given, "name"))
        return {"text": text, "mark": mark}

    def save(self, given: Posted) -> Any:
        name, text, mark = (_text(given, key) for key in ("name", "text", "mark"))
        with self._saving:
            try:
                return {"mark": self.folder.save(name, text, mark)}
            except Changed as error:
                raise Refused(409, str(error), text=error.text, mark=error.mark) from None

    # ------------------------------------------------------------------------------------------------ what it means

    def view(self, given: Posted) -> Any:
        return self._view(_text(given, "name"), _text(given, "text"))

    def change(self, given: Posted) -> Any:
        """One value changed, and what the text means then."""
        path = given.get("path")
        if not isinstance(path, list) or not path or not all(isinstance(step, str | int) for step in path):
            raise Refused(400, "the change has no key")
        text = document.change(_text(given, "text"), path, given.get("given"))
        return {"text": text, **self._view(_text(given, "name"), text)}

    def _view(self, name: str, text: str) -> dict[str, Any]:
        seen = job.preview(str(self.folder.new(name)), text.encode(), self.outside)
        return {
            "values": values(text),
            "comments": comments(text),
            "problems": [
                {
                    "path": list(p.key),
                    "line": p.line,
                    "given": p.given,
                    "message": p.message,
                    "file": Path(p.file).name if p.file else name,
                }
                for p in seen.problems
            ],
            "findings": [asdict(finding) for finding in seen.findings],
            "drawings": seen.drawings,
        }

    def compare(self, given: Posted) -> Any:
        """This text beside another file of the folder, or beside what was measured before or after (``measured``:
        "found", "left"): drawings laid over each other, numbers that differ."""
        path, text = str(self.folder.new(_text(given, "name"))), _text(given, "text").encode()
        match given.get("measured"):
            case "found" | "left" as when:
                both = job.compare_measured(path, text, when, self.outside)
            case _:
                both = job.compare(path, text, str(self.folder.at(_text(given, "other"))), self.outside)
        return {"drawings": both.drawings, "differences": both.differences}

    # --------------------------------------------------------------------------------------------------------- make

    def make(self, given: Posted) -> Any:
        path = self.folder.at(_text(given, "name"))
        parts, formats = (_words(given, key) for key in ("parts", "formats"))
        if set(parts) - set(job.part_names()) or set(formats) - set(job.FORMATS):
            raise Refused(400, "there is no such part or format")
        return {"run": self.runs.start(str(path), str(self.out), parts, formats, self.outside)}

    def progress(self, given: Posted) -> Any:
        run = self.runs.get(_text(given, "run"))
        if run is None:
            raise Refused(404, "there is no such run")
        return asdict(run)

    def stop(self, given: Posted) -> Any:
        self.runs.stop(_text(given, "run"))
        return self.progress(given)

    def results(self, given: Posted) -> Any:
        """The files of a job's last make, as its manifest lists them."""
        stem = self.folder.new(_text(given, "name")).stem
        return {"job": stem, "files": job.manifest_files(self.out / stem)}

    def result(self, stem: str, file: str) -> Path | None:
        """The path of one listed result; None for anything else."""
        try:
            folder = self.out / self.folder.new(f"{stem}.toml").stem
        except NotHere:
            return None
        listed = {each["path"] for each in job.manifest_files(folder)}
        path = folder / file
        return path if file in listed and path.is_file() and not path.is_symlink() else None


def values(text: str) -> dict[str, Any] | None:
    """Every value as it is written, text without its quotes; None where the text is no TOML."""
    raw, written = _parsed(text)
    if raw is None:
        return None

    def typed(value: Any, key: Key) -> Any:
        match value:
            case dict():
                return {name: typed(each, (*key, name)) for name, each in value.items()}
            case list():
                return [typed(each, (*key, place)) for place, each in enumerate(value)]
            case bool():
                return value
            case str():
                return value
            case _:
                return written[key].text if key in written else str(value)

    return {name: typed(value, (name,)) for name, value in raw.items()}


def comments(text: str) -> dict[str, str]:
    """What stands behind a # on a value's line, by its key; the measuring sheet's letters of tools are left out."""
    found = {key: _LETTERS.sub("", place.comment) for key, place in _parsed(text)[1].items() if place.comment}
    return {".".join(str(step) for step in key): comment for key, comment in found.items() if comment}


@lru_cache(maxsize=2)
def _parsed(text: str) -> tuple[dict[str, Any] | None, dict[Key, WhereWritten]]:
    try:
        return tomllib.loads(text), places(text)
    except (ValueError, RecursionError):
        return None, {}


_LETTERS = re.compile(r"^(\[[A-Z]\][ ,]*)+")


def _told(problem: Problem) -> str:
    where = f"{Path(problem.file).name} line {problem.line}: " if problem.file and problem.line else ""
    return f"{where}{key_text(problem.key)} {problem.message}" if where else problem.message


def _text(given: Posted, key: str) -> str:
    value = given.get(key, "")
    if not isinstance(value, str):
        raise Refused(400, f"{key} is no text")
    return value


def _words(given: Posted, key: str) -> list[str]:
    value = given.get(key, [])
    if not isinstance(value, list) or not all(isinstance(each, str) for each in value):
        raise Refused(400, f"{key} is no list of words")
    return value
