"""What a user is told.

Terms
-----
problem   the spec cannot be made. All problems of a file are collected and told at once.
finding   it can be made, but a person should know: ``note``, or ``decide`` when somebody must choose.
caution   what can hurt somebody; it stands beside the step that it belongs to.

Everything here is plain data plus the functions that turn it into sentences. Nothing here knows where a value came
from except by its key path; the spec room adds file and line.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Literal

Level = Literal["note", "decide"]
Harm = Literal["hurts", "fails", "poorer"]

Key = tuple[str | int, ...]
"""A path into a spec: table names and keys as text, places in a list as zero-based numbers."""


LONGEST_GIVEN = 70
"""Characters of a value that a message repeats."""
MOST_SHOWN = 50
"""Problems that a report shows; the rest are counted."""


def shortened(text: str | None) -> str | None:
    """A value as a message repeats it: on one line, its end left out where it is long."""
    if text is None:
        return None
    line = " ".join(text[: 2 * LONGEST_GIVEN].split())
    return line if len(line) <= LONGEST_GIVEN else line[: LONGEST_GIVEN - 1] + "…"


def harmless(text: str) -> str:
    """Text with nothing that would steer a terminal: what cannot be printed becomes a question mark."""
    return "".join(sign if sign.isprintable() or sign == "\n" else "?" for sign in text)


def key_text(key: Key) -> str:
    """Write a key path as a person would say it; a place in a list counts from 1.

    >>> key_text(("strings", "set", 0, "gauge"))
    'strings.set[1].gauge'
    """
    text = ""
    for step in key:
        text += f"[{step + 1}]" if isinstance(step, int) else f"{'.' if text else ''}{step}"
    return shortened(text) or ""


@dataclass(frozen=True)
class Problem:
    """One reason why a spec cannot be made.

    ``message`` says what is wrong, what is allowed and what to do; ``given`` is the value as it stands in the file.
    ``line`` counts from 1; ``file`` is the path as the user typed it. Both are None until the spec room adds them.
    """

    key: Key
    message: str
    given: str | None = None
    file: str | None = None
    line: int | None = None

    def located(self, file: str, line: int | None, given: str | None = None) -> Problem:
        return replace(self, file=file, line=line, given=self.given if given is None else given)

    def sentence(self) -> str:
        place = self.file or "spec"
        if self.line is not None:
            place += f":{self.line}"
        head = key_text(self.key)
        if self.given is not None:
            head += f" = {self.given}" if head else self.given
        first = f"{place}  {head}" if head else place
        return harmless(first + "".join(f"\n    {line}" for line in self.message.splitlines()))


@dataclass(frozen=True)
class Finding:
    """Something a person should know about a spec that can be made.

    ``code`` is a stable word for programs, ``key`` the dotted key path it is about, ``message`` holds the number and
    what to do about it: ``says`` and ``do``, the latter empty where nothing is to be decided. ``parts`` are those whose
    sheets print it. ``values`` are the message's own by name, numbers as numbers, lengths in mm. ``est``: what the
    files of these parts rest on that nobody measured, else empty. ``harm`` and ``past``: how bad it is, as
    ``findings.severity`` reckons it.
    """

    code: str
    level: Level
    key: str
    message: str
    parts: tuple[str, ...] = ()
    values: Mapping[str, Any] = field(default_factory=dict, hash=False)
    est: str = ""
    says: str = ""
    do: str = ""
    harm: Harm | None = None
    past: float = 0.0


@dataclass(frozen=True)
class Caution:
    """What can hurt somebody at one step, and the usual protection."""

    step: str
    text: str


class TemplategenError(Exception):
    """Root of everything this package raises on purpose."""


class SpecError(TemplategenError, ValueError):
    """The spec is wrong. Holds every problem found; the command line ends with exit code 2."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(p.sentence() for p in self.problems))

    def __reduce__(self) -> tuple[type[SpecError], tuple[tuple[Problem, ...]]]:
        return type(self), (self.problems,)  # so that it comes back whole from a worker process


class MachineError(TemplategenError, OSError):
    """The machine cannot do it (disk full, no permission); exit code 3."""


class OurBug(TemplategenError, AssertionError):  # noqa: N818  (the name says whose error it is)
    """A broken promise inside templategen; never the user's fault."""


def problem_report(problems: Iterable[Problem]) -> str:
    """All problems, one after another, and the closing line that says nothing was written."""
    listed = list(problems)
    count = "1 problem" if len(listed) == 1 else f"{len(listed)} problems"
    more = [f"… and {len(listed) - MOST_SHOWN} more"] if len(listed) > MOST_SHOWN else []
    return "\n".join([*(p.sentence() for p in listed[:MOST_SHOWN]), *more, f"{count}; nothing was written."])
