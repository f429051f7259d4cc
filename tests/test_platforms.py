"""Windows and macOS: no call that only POSIX has without a guard, names that every system keeps.

Only Linux runs these tests. What is POSIX's alone is taken from the Python documentation's notes "Availability: Unix";
``mypy --platform win32`` and ``--platform darwin``, which judge by typeshed, are part of .ci/run.
"""

from __future__ import annotations

import ast
import os
import sys
from pathlib import Path

import pytest
from making import SPEC
from places import ROOT

from templategen import job
from templategen.errors import SpecError
from templategen.job.store import not_everywhere

PACKAGE = ROOT / "templategen"
MODULES = {"fcntl", "grp", "posix", "pty", "pwd", "resource", "syslog", "termios", "tty", "crypt", "nis", "spwd"}
ALONE = {
    "os": {
        "chown", "chroot", "ctermid", "fchdir", "fchmod", "fchown", "fdatasync", "fork", "forkpty", "fpathconf",
        "getegid", "geteuid", "getgid", "getgroups", "getloadavg", "getpgid", "getpgrp", "getpriority", "getresuid",
        "getsid", "getuid", "initgroups", "killpg", "lchmod", "lchown", "lockf", "mkfifo", "mknod", "nice", "openpty",
        "pathconf", "posix_fallocate", "posix_spawn", "pread", "preadv", "pwrite", "register_at_fork",
        "sched_getaffinity", "sendfile", "setegid", "seteuid", "setgid", "setpgid", "setpriority", "setsid", "setuid",
        "statvfs", "sync", "sysconf", "tcgetpgrp", "uname", "wait", "wait3", "wait4", "WIFEXITED", "WNOHANG",
        "O_CLOEXEC", "O_DIRECTORY", "O_NOCTTY", "O_NOFOLLOW", "O_NONBLOCK", "O_SYNC",
    },
    "signal": {
        "SIGALRM", "SIGCHLD", "SIGCONT", "SIGHUP", "SIGKILL", "SIGPIPE", "SIGQUIT", "SIGSTOP", "SIGTSTP", "SIGUSR1",
        "SIGUSR2", "SIGWINCH", "SIGXCPU", "SIGXFSZ", "alarm", "getitimer", "pause", "pthread_kill", "pthread_sigmask",
        "setitimer", "siginterrupt", "sigpending", "sigtimedwait", "sigwait", "sigwaitinfo",
    },
    "socket": {"AF_UNIX", "socketpair", "SO_REUSEPORT"},
    "time": {"tzset", "clock_gettime", "pthread_getcpuclockid"},
    "select": {"poll", "epoll", "kqueue"},
}  # fmt: skip
"""By module; os.kill is left out here because it means something else on Windows: it is never allowed."""


def unguarded(text: str) -> list[str]:
    """What a module uses that only POSIX has, where no test of the attribute or the system stands around it."""
    found: list[str] = []

    def asks(test: ast.AST) -> bool:
        said = ast.unparse(test)
        return "hasattr(" in said or "sys.platform" in said or "os.name" in said

    def leaves(step: ast.stmt) -> bool:
        """Whether nobody comes past a step on a system that lacks something."""
        if isinstance(step, ast.Assert):
            return asks(step.test)
        return isinstance(step, ast.If) and asks(step.test) and isinstance(step.body[-1], ast.Return | ast.Raise)

    def walk(node: ast.AST, safe: bool) -> None:
        if isinstance(node, ast.If | ast.IfExp | ast.While):
            safe = safe or asks(node.test)
        if isinstance(node, ast.Try) and any(
            handler.type is not None and "ImportError" in ast.unparse(handler.type) for handler in node.handlers
        ):
            safe = True
        if not safe:
            found.extend(alone(node))
        for child in ast.iter_child_nodes(node):
            walk(child, safe)
            safe = safe or (isinstance(child, ast.stmt) and leaves(child))

    walk(ast.parse(text), False)
    return found


def alone(node: ast.AST) -> list[str]:
    if isinstance(node, ast.Import):
        return [name.name for name in node.names if name.name.partition(".")[0] in MODULES]
    if isinstance(node, ast.ImportFrom) and node.module is not None and node.level == 0:
        if node.module.partition(".")[0] in MODULES:
            return [node.module]
        return [f"{node.module}.{name.name}" for name in node.names if name.name in ALONE.get(node.module, ())]
    if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
        of, name = node.value.id, node.attr
        if name in ALONE.get(of, ()) or (of, name) == ("os", "kill"):
            return [f"{of}.{name}"]
    return []


@pytest.mark.parametrize("module", sorted(PACKAGE.rglob("*.py")), ids=lambda p: p.relative_to(PACKAGE).as_posix())
def test_nothing_that_only_posix_has_is_used_unguarded(module: Path) -> None:
    assert unguarded(module.read_text(encoding="utf-8")) == []


def test_the_walk_sees_what_it_should() -> None:
    assert unguarded("import os\nos.fork()") == ["os.fork"]
    assert unguarded("import os\nos.kill(1, 9)") == ["os.kill"]
    assert unguarded("import fcntl") == ["fcntl"]
    assert unguarded("from resource import setrlimit") == ["resource"]
    assert unguarded("from signal import SIGHUP") == ["signal.SIGHUP"]
    assert unguarded("import signal\nx = [signal.SIGTERM, signal.SIGHUP]") == ["signal.SIGHUP"]
    assert unguarded("import os\nif hasattr(os, 'fork'):\n    os.fork()") == []
    assert unguarded("try:\n    import fcntl\nexcept ImportError:\n    fcntl = None") == []
    assert unguarded("def f():\n    if sys.platform == 'win32':\n        return 0\n    return os.fork()") == []
    assert unguarded("def f():\n    if sys.platform == 'win32':\n        print()\n    return os.fork()") == ["os.fork"]
    assert unguarded("def f():\n    assert sys.platform != 'win32'\n    os.fork()\ndef g():\n    os.fork()") == [
        "os.fork"
    ]
    assert unguarded("import sys, os\nn = os.getuid() if sys.platform != 'win32' else 0") == []


@pytest.mark.parametrize(
    ("name", "why"),
    [
        ("con", "device"), ("NUL.one", "device"), ("com7", "device"), ("Lpt1", "device"), ("aux ", "ends with"),
        ("a.", "ends with"), ("a:b", "':'"), ("a?b*", "'*', '?'"), ('a"b', "'\"'"), ("a\x07b", "x07"), ("a\\b", "\\\\"),
        ("console", ""), ("fleet-07", ""), ("com", ""), ("com10", ""), ("Prüfung 1.2", ""), ("null", ""),
        (".hidden", ""),
    ],
)  # fmt: skip
def test_names_that_not_every_system_keeps(name: str, why: str) -> None:
    assert (why in not_everywhere(name)) if why else not_everywhere(name) == ""


@pytest.mark.parametrize("stem", ["con", "a:b", "what?", "fleet.", "COM1.old"])
def test_such_a_spec_is_refused_and_nothing_written(stem: str, tmp_path: Path) -> None:
    """As it can stand on Linux: its results would have a folder that is lost on the way to another machine."""
    spec = tmp_path / f"{stem}.toml"
    spec.write_text(SPEC, encoding="utf-8")
    with pytest.raises(SpecError, match="rename the spec"):
        job.make(str(spec), tmp_path / "out", only=["saddle"])
    assert not (tmp_path / "out").exists()


def test_where_a_process_cannot_be_split_one_hand_does_both(monkeypatch: pytest.MonkeyPatch) -> None:
    from templategen.job import hands

    monkeypatch.setattr(sys, "platform", "win32")
    monkeypatch.setattr(os, "fork", None)
    here = os.getpid()
    assert hands.beside(os.getpid, os.getpid) == (here, here)
