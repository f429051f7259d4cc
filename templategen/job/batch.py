"""Many specs, several at a time; one spec's failure, or one worker's end, stops none of the others."""

from __future__ import annotations

import os
import threading
from collections.abc import Callable, Collection, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from templategen.errors import MachineError, Problem, SpecError
from templategen.job.make import Made, Progress, make

if TYPE_CHECKING:
    from concurrent.futures import ProcessPoolExecutor

Outcome = Made | SpecError | MachineError


def make_all(
    paths: Sequence[str],
    out: str,
    only: Collection[str],
    formats: Collection[str],
    jobs: int,
    progress: Progress = lambda spec, part: None,
    waits: Callable[[str], None] = lambda text: None,
    outside: bool = False,
) -> Iterator[Outcome]:
    """``make`` for many specs, ``jobs`` at a time, results in the order of the paths."""
    if jobs == 1 or len(paths) == 1:
        for path in paths:
            yield _attempt(path, out, only, formats, progress, waits, outside, hands=2 if len(paths) == 1 else 1)
        return
    from concurrent.futures import ThreadPoolExecutor

    hands = threading.local()
    workers: list[_Worker] = []

    def by_hand(path: str) -> Outcome:
        if not hasattr(hands, "worker"):
            hands.worker = _Worker()
            workers.append(hands.worker)
        return hands.worker.make(path, out, tuple(only), tuple(formats), outside)  # type: ignore[no-any-return]

    pool = ThreadPoolExecutor(min(jobs, len(paths)))
    try:
        yield from pool.map(by_hand, paths)
    finally:
        pool.shutdown(wait=False, cancel_futures=True)
        for worker in workers:
            worker.close()


class _Worker:
    """One process that makes one spec after another; a new one takes its place when it is ended from outside."""

    def __init__(self) -> None:
        self._pool: ProcessPoolExecutor | None = None

    def make(self, path: str, out: str, only: tuple[str, ...], formats: tuple[str, ...], outside: bool) -> Outcome:
        from concurrent.futures import ProcessPoolExecutor
        from concurrent.futures.process import BrokenProcessPool
        from multiprocessing import get_context

        if self._pool is None:
            self._pool = ProcessPoolExecutor(1, mp_context=get_context("spawn"), initializer=_end_with_parent)
        try:
            return self._pool.submit(_attempt, path, out, only, formats, outside=outside).result()
        except BrokenProcessPool:
            self.close()
            return MachineError(
                f"{path}  was not made: the process at work on it was ended from outside, or the machine's memory is "
                "full; the former result is as it was"
            )

    def close(self) -> None:
        if self._pool is not None:
            self._pool.shutdown(wait=False, cancel_futures=True)
            self._pool = None


def _end_with_parent() -> None:
    """A worker whose parent is gone ends too: nobody is left to take what it makes."""
    from multiprocessing import connection, parent_process

    parent = parent_process()
    assert parent is not None

    def watch() -> None:
        connection.wait([parent.sentinel])
        os._exit(1)

    threading.Thread(target=watch, daemon=True).start()


def _attempt(
    path: str,
    out: str,
    only: Collection[str],
    formats: Collection[str],
    progress: Progress = lambda spec, part: None,
    waits: Callable[[str], None] = lambda text: None,
    outside: bool = False,
    hands: int = 1,
) -> Outcome:
    try:
        return make(path, out, only, formats, progress, waits, outside, hands)
    except (SpecError, MachineError) as error:
        return error
    finally:
        progress("", "")


def duplicates(paths: Sequence[str]) -> list[Problem]:
    """Specs of one run that would write to the same folder."""
    seen: dict[str, str] = {}
    problems = []
    for path in paths:
        name = os.path.normcase(Path(path).stem)
        if name in seen and os.path.abspath(seen[name]) != os.path.abspath(path):
            problems.append(
                Problem((), f"would be written to the same folder as {seen[name]}; rename one of the files", file=path)
            )
        seen.setdefault(name, path)
    return problems
