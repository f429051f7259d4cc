"""Part of a job in a copy of the process: the same files, and nothing left behind whatever happens there."""

from __future__ import annotations

import os
import signal
import threading
from pathlib import Path

import pytest
from places import SPECS

from templategen.job import hands
from templategen.job.make import make

SPLITS = pytest.mark.skipif(
    not hasattr(os, "fork") or not hands._can_split(), reason="no second processor, or not Linux"
)


def processes() -> set[str]:
    """Of this one's children."""
    return set(Path(f"/proc/self/task/{threading.get_native_id()}/children").read_text().split())


@SPLITS
def test_the_other_hand_is_another_process() -> None:
    before = processes()
    there, here = hands.beside(os.getpid, os.getpid)
    assert here == os.getpid() != there
    assert processes() == before


@SPLITS
@pytest.mark.parametrize("end", [lambda: os._exit(3), lambda: os.kill(os.getpid(), signal.SIGKILL), lambda: 1 / 0])
def test_what_is_lost_there_is_done_here(end: object) -> None:
    """A copy that is killed, leaves or fails brings nothing: the work is done by the process that asked."""
    own = os.getpid()

    def there() -> int:
        if os.getpid() != own:
            end()  # type: ignore[operator]
        return os.getpid()

    assert hands.beside(there, lambda: 7) == (own, 7)


@SPLITS
def test_what_fails_there_fails_here() -> None:
    def there() -> None:
        raise ValueError("as told")

    with pytest.raises(ValueError, match="as told"):
        hands.beside(there, lambda: None)


@SPLITS
def test_what_fails_here_ends_the_other() -> None:
    before = processes()

    def here() -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        hands.beside(lambda: signal.pause(), here)
    assert processes() == before


def test_beside_other_threads_nothing_is_split() -> None:
    done = threading.Event()
    other = threading.Thread(target=done.wait)
    other.start()
    try:
        assert hands.beside(os.getpid, os.getpid) == (os.getpid(), os.getpid())
    finally:
        done.set()
        other.join()


@pytest.mark.parametrize("formats", [("svg", "pdf"), ("dxf", "step", "csv")])
def test_two_hands_make_the_same_files(tmp_path: Path, formats: tuple[str, ...]) -> None:
    spec = str(SPECS / "fleet-12.toml")
    only = ("nut", "saddle", "tables")
    one, two = (make(spec, tmp_path / str(n), only, formats, hands=n) for n in (1, 2))
    assert one.files == two.files
    for name in (*(name for name, _ in one.files), "manifest.json"):
        assert (one.folder / name).read_bytes() == (two.folder / name).read_bytes(), name
