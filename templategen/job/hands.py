"""Two hands for one job: part of the work in a process beside this one, where the system can split a process in two."""

from __future__ import annotations

import contextlib
import os
import pickle
import signal
import sys
import threading
from collections.abc import Callable
from typing import Any, NoReturn, TypeVar

Result = TypeVar("Result")


def beside(there: Callable[[], Result], here: Callable[[], Result]) -> tuple[Result, Result]:
    """What both give, ``there`` worked out in a copy of this process while ``here`` runs in it.

    Where the copy cannot be made or does not come back whole, ``there`` runs here afterwards: what it raises is raised
    by it in this process, and nothing is lost but time.
    """
    hand = _Hand(there) if _can_split() else None
    try:
        mine = here()
        brought = hand.result() if hand else None
    finally:
        if hand:
            hand.let_go()
    return (brought[0] if brought else there()), mine


def _can_split() -> bool:
    """A copy holds this thread alone: no other may be at work. Elsewhere than on Linux a copy may not use what its
    system gave the first."""
    if sys.platform != "linux" or threading.active_count() > 1:
        return False
    return len(os.sched_getaffinity(0)) > 1


class _Hand:
    """A copy of this process that works something out, sends it and ends."""

    def __init__(self, work: Callable[[], object]) -> None:
        self._pid = 0
        end, into = os.pipe()
        self._pipe = os.fdopen(end, "rb")
        if sys.platform != "win32":  # nobody makes one there: _can_split
            try:
                self._pid = os.fork()
            except OSError:
                pass
            else:
                if self._pid == 0:
                    _work_and_end(work, into)
        os.close(into)

    def result(self) -> tuple[Any] | None:
        """What it brought, in a tuple; None where it brought nothing."""
        data = self._pipe.read()
        if not self._pid or self._ended() != 0:
            return None
        return (pickle.loads(data),)

    def let_go(self) -> None:
        """Nobody waits for it any longer: it holds nothing, and may be ended wherever it is."""
        if self._pid and sys.platform != "win32":
            os.kill(self._pid, signal.SIGKILL)
            self._ended()
        self._pipe.close()

    def _ended(self) -> int:
        pid, self._pid = self._pid, 0
        return os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1])


def _work_and_end(work: Callable[[], object], end: int) -> NoReturn:
    code = 1
    with contextlib.suppress(BaseException), open(end, "wb") as pipe:
        pickle.dump(work(), pipe, pickle.HIGHEST_PROTOCOL)
        code = 0
    os._exit(code)
