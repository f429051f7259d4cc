"""``make`` in a process of its own: progress as it comes, a stop, and what came of it.

The process runs the same function as the command, so the folder is the same to the byte; this process never loads the
CAD kernel.
"""

from __future__ import annotations

import secrets
import threading
from collections.abc import Sequence
from dataclasses import dataclass, field
from multiprocessing import get_context
from multiprocessing.connection import Connection
from typing import Any, Literal

State = Literal["running", "done", "unchanged", "wrong", "stopped", "failed"]
KEPT = 20  # runs that are remembered


@dataclass
class Making:
    """One make. parts: names as they were begun. files: (name, note). said: what a user is told at the end."""

    state: State = "running"
    parts: list[str] = field(default_factory=list)
    files: list[tuple[str, str]] = field(default_factory=list)
    said: str = ""
    folder: str = ""


class Runs:
    """All makes of this page, each under a number that nobody guesses."""

    def __init__(self) -> None:
        self._runs: dict[str, tuple[Making, Any]] = {}
        self._lock = threading.Lock()

    def start(self, path: str, out: str, parts: Sequence[str], formats: Sequence[str], outside: bool) -> str:
        """Begin; the number to ask with."""
        context = get_context("spawn")
        here, there = context.Pipe(duplex=False)
        process = context.Process(
            target=_work, args=(path, out, tuple(parts), tuple(formats), outside, there), daemon=True
        )
        process.start()
        there.close()
        number, run = secrets.token_urlsafe(9), Making()
        with self._lock:
            while len(self._runs) >= KEPT:
                self._runs.pop(next(iter(self._runs)))
            self._runs[number] = run, process
        threading.Thread(target=_follow, args=(run, process, here), daemon=True).start()
        return number

    def get(self, number: str) -> Making | None:
        found = self._runs.get(number)
        return found[0] if found else None

    def stop(self, number: str) -> None:
        """End a run; the former result stays as it was."""
        found = self._runs.get(number)
        if found and found[0].state == "running":
            found[0].state, found[0].said = "stopped", "Stopped; the former result is as it was."
            found[1].terminate()

    def stop_all(self) -> None:
        for number in list(self._runs):
            self.stop(number)


def _follow(run: Making, process: Any, here: Connection) -> None:
    try:
        while run.state == "running":
            what, value = here.recv()
            if what == "part":
                run.parts.append(value)
            elif run.state == "running":
                run.state, run.said, run.folder, run.files = value
    except (EOFError, OSError):
        if run.state == "running":
            run.state, run.said = "failed", "The run ended before its time; the former result is as it was."
    process.join()


def _work(
    path: str, out: str, parts: tuple[str, ...], formats: tuple[str, ...], outside: bool, told: Connection
) -> None:
    from templategen import job
    from templategen.errors import MachineError, SpecError, problem_report

    def progress(spec: str, part: str) -> None:
        told.send(("part", part))

    end: tuple[State, str, str, list[tuple[str, str]]]
    try:
        made = job.make(path, out, parts, formats, progress, outside=outside)
        state: State = "unchanged" if made.unchanged else "done"
        said = [*made.told, *(f"MISSING: {name} could not be made: {why}" for name, why in made.missing)]
        end = state, "\n".join(said), str(made.folder), list(made.files)
    except SpecError as error:
        end = "wrong", problem_report(error.problems), "", []
    except MachineError as error:
        end = "failed", str(error), "", []
    except Exception as error:
        end = "failed", f"templategen is at fault, not your spec: {error}", "", []
    told.send(("end", end))
    told.close()
