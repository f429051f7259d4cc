"""Speed as ratios in one run: ``python tests/bench/ratios.py [rounds]``. Not collected by pytest.

2D job      a whole 2D-only job over a process that only imports the libraries it uses       aim: 1.3 or less
solid job   a whole job with solids over a process that imports cadquery and writes one box  aim: 1.3 or less
batch       each further spec of a 2D batch                                                  aim: 50 ms or less
unchanged   a second make of an unchanged spec over the first
memory      growth of the peak over a batch
"""

from __future__ import annotations

import resource
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

LIBRARIES = """
import argparse, hashlib, json, tomllib, numpy, pydantic, ezdxf, svgwrite
import reportlab.pdfgen.canvas, scipy.optimize, rectpack
"""
BOX = """
import cadquery
cadquery.exporters.export(cadquery.Workplane().box(1, 2, 3), {path!r})
"""


def seconds(words: list[str]) -> float:
    start = time.perf_counter()
    subprocess.run(words, cwd=ROOT, check=True, capture_output=True)
    return time.perf_counter() - start


def main(rounds: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder)
        make = [sys.executable, "-m", "templategen", "make"]
        times: dict[str, list[float]] = {}

        def took(name: str, words: list[str]) -> None:
            times.setdefault(name, []).append(seconds(words))

        for n in range(rounds):
            took("libraries", [sys.executable, "-c", LIBRARIES])
            took("box", [sys.executable, "-c", BOX.format(path=str(out / "box.step"))])
            took("2D job", [*make, str(SPEC), *FLAT, "--out", str(out / f"flat{n}")])
            took("solid job", [*make, str(SPEC), "--out", str(out / f"all{n}")])
            took("unchanged", [*make, str(SPEC), "--out", str(out / f"all{n}")])
        middle = {name: statistics.median(values) for name, values in times.items()}
        print(f"2D job     {middle['2D job'] / middle['libraries']:.2f} x importing its libraries")
        print(f"solid job  {middle['solid job'] / middle['box']:.2f} x cadquery writing one box")
        print(f"unchanged  {middle['unchanged'] / middle['solid job']:.2f} x the first make")

        specs = []
        for n in range(40):
            specs.append(out / "specs" / f"spec-{n:03}.toml")
            specs[-1].parent.mkdir(exist_ok=True)
            shutil.copy(SPEC, specs[-1])
        shutil.copy(ROOT / "specs" / "shop.toml", out / "specs")
        shutil.copytree(ROOT / "specs" / "surveys", out / "specs" / "surveys", dirs_exist_ok=True)
        batch = seconds([*make, *map(str, specs), *FLAT, "--out", str(out / "batch")])
        print(f"batch      {1000 * (batch - middle['2D job']) / (len(specs) - 1):.0f} ms for each further spec in 2D")
        both = seconds([*make, *map(str, specs), *FLAT, "--out", str(out / "batch2"), "--jobs", "2"])
        print(f"two jobs   {batch / both:.2f} x as fast as one")
        peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
        print(f"memory     {peak:.0f} MiB at the peak of any run")
        print("seconds    " + ", ".join(f"{name} {value:.2f}" for name, value in middle.items()))


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 5)
