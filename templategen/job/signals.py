"""Signals that would stop a run wait until a step is done that must not be left half-way."""

from __future__ import annotations

import contextlib
import signal
import threading
from collections.abc import Iterator


@contextlib.contextmanager
def held() -> Iterator[None]:
    """Signals wait until the block is done.

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
