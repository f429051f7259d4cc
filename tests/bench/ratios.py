"""Speed as ratios in one run, aims beside: ``python tests/bench/ratios.py [rounds [specs]]``. Not collected by pytest.

The floor is a process that imports numpy, ezdxf and svgwrite and nothing else; for solids, one that imports cadquery
and writes a box. Every make writes into a fresh folder: a second one writes nothing and would measure nothing; compiled
modules are kept, as they are for everybody but the first to run a new version. Wall time is compared; beside it stands
processor time, which other work on the machine moves less. Medians of all rounds.

``python tests/bench/ratios.py growth`` tells instead what more strings and more frets cost, in one warm process.
"""

from __future__ import annotations

import os
import re
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent
SPEC = ROOT / "specs" / "fleet-07.toml"
FLAT = ["--format", "dxf", "svg", "pdf", "csv", "json"]

LIBRARIES = "import numpy, ezdxf, svgwrite"
BOX = """
import cadquery
cadquery.exporters.export(cadquery.Workplane().box(1, 2, 3), {path!r})
"""
ENV = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
MAKE = [sys.executable, "-m", "templategen", "make"]
Times = dict[str, list[tuple[float, float, float]]]


def took(words: list[str]) -> tuple[float, float, float]:
    """Wall seconds, processor seconds of the process and its own, and its peak of memory in MiB."""
    start = time.perf_counter()
    process = subprocess.Popen(words, cwd=ROOT, env=ENV, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
    assert process.stderr is not None
    said = process.stderr.read()
    _, status, used = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode:
        raise RuntimeError(f"{' '.join(words)} ended with {process.returncode}: {said.decode()}")
    return time.perf_counter() - start, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024


def measured(out: Path, rounds: int) -> Times:
    times: Times = {}
    took([*MAKE, str(SPEC), "--out", str(out / "first")])  # compiles what is not compiled yet
    for n in range(rounds):
        jobs = {
            "libraries": [sys.executable, "-c", LIBRARIES],
            "box": [sys.executable, "-c", BOX.format(path=str(out / "box.step"))],
            "one part": [*MAKE, str(SPEC), "--only", "fret-template", *FLAT, "--out", str(out / f"part{n}")],
            "2D job": [*MAKE, str(SPEC), *FLAT, "--out", str(out / f"flat{n}")],
            "whole job": [*MAKE, str(SPEC), "--out", str(out / f"all{n}")],
            "unchanged": [*MAKE, str(SPEC), "--out", str(out / f"all{n}")],
        }
        for name, words in jobs.items():
            times.setdefault(name, []).append(took(words))
    return times


def copies(out: Path, count: int) -> list[str]:
    """That many specs of one kind beside the files that they name."""
    shutil.copytree(ROOT / "specs", out / "specs")
    made = [out / "specs" / f"copy-{n:04}.toml" for n in range(count)]
    for spec in made:
        shutil.copy(SPEC, spec)
    return [str(spec) for spec in made]


def row(name: str, value: str, aim: str) -> None:
    print(f"{name:<34}{value:>22}   aim: {aim}")


def main(rounds: int, specs: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder)
        times = measured(out, rounds)
        wall = {name: statistics.median(t[0] for t in found) for name, found in times.items()}
        used = {name: statistics.median(t[1] for t in found) for name, found in times.items()}

        def ratio(name: str, floor: str) -> str:
            return f"{wall[name] / wall[floor]:.2f} (cpu {used[name] / used[floor]:.2f})"

        row("one 2D part / libraries", ratio("one part", "libraries"), "1.5 or less")
        row("all 2D files / libraries", ratio("2D job", "libraries"), "2.5 or less")
        row("whole job / cadquery's box", ratio("whole job", "box"), "1.3 or less, below 1.0 if clean")
        row("unchanged / whole job", ratio("unchanged", "whole job"), "well below 1")
        paths = copies(out, specs)
        few = max(2, specs // 4)
        for label, words, aim in (("2D", FLAT, "300, then 200"), ("STEP", ["--format", "step"], "800, then 400")):
            count = specs if label == "2D" else few
            one = took([*MAKE, paths[0], *words, "--out", str(out / f"one-{label}")])
            less = took([*MAKE, *paths[:few], *words, "--out", str(out / f"less-{label}")])
            all_of = took([*MAKE, *paths[:count], *words, "--out", str(out / f"all-{label}")])
            each = [1000 * (all_of[n] - one[n]) / (count - 1) for n in (0, 1)]
            row(f"each further spec, {label}, ms", f"{each[0]:.0f} (cpu {each[1]:.0f})", aim)
            if label == "2D":
                row(f"memory, {few} and {count} specs, MiB", f"{less[2]:.0f}, {all_of[2]:.0f}", "the same")
                both = took([*MAKE, *paths, *words, "--out", str(out / "two"), "--jobs", "2"])
                row("--jobs 2", f"{all_of[0] / both[0]:.2f} x", "1.7 x or more")
        print("seconds   " + ", ".join(f"{name} {value:.2f} (cpu {used[name]:.2f})" for name, value in wall.items()))


def growth() -> None:
    """Seconds of text to model, and of all 2D files, over strings and frets; each row beside its first."""
    import gc

    sys.path[:0] = [str(ROOT), str(ROOT / "tests")]
    import making

    from templategen.job.make import compute, make

    string = making.SPEC[making.SPEC.index("set = [") :].splitlines()[1]
    plain, rest = making.SPEC.split("set = [\n")[0], making.SPEC.split("\n]\n", 1)[1]
    head = plain.replace("width_at_nut = 43", "width_at_nut = 60").replace(
        "width_at_last_fret = 55", "width_at_last_fret = 80"
    )

    def text(strings: int, frets: int) -> str:
        changed = head.replace("fret_count = 21", f"fret_count = {frets}")
        changed = re.sub(r"(doubled_)?markers = .*\n", "", changed)
        return changed + "set = [\n" + f"{string}\n" * strings + "]\n" + rest

    with tempfile.TemporaryDirectory() as folder:
        spec = Path(folder) / "growth.toml"
        first: dict[str, float] = {}
        rows = [("strings", n, text(n, 21)) for n in (3, 6, 12)] + [("frets", n, text(6, n)) for n in (12, 24, 36)]
        for what, count, content in rows:
            spec.write_text(content, encoding="utf-8")
            for name, job in (
                ("text to model", lambda: compute(str(spec))),
                ("all 2D files", lambda: make(str(spec), Path(folder) / f"{time.perf_counter()}", (), FLAT[1:])),
            ):
                job()
                times = []
                for _ in range(5):
                    gc.collect()
                    start = time.process_time()
                    job()
                    times.append(time.process_time() - start)
                taken = statistics.median(times)
                begun = first.setdefault(f"{what} {name}", taken)
                row(f"{count} {what}, {name}", f"{1000 * taken:.0f} ms, {taken / begun:.2f} x", "no more than linear")


if __name__ == "__main__":
    if sys.argv[1:] == ["growth"]:
        growth()
        sys.exit()
    numbers = [int(word) for word in sys.argv[1:]]
    main(*[*numbers, *(7, 40)[len(numbers) :]])
