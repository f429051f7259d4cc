"""The same drawing gives the same bytes, whatever the process, hash seed, time zone and what was written before."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from pathlib import Path

from sample_sheets import cut, shapes, strip

from templategen.drawing.paper.pages import PAPERS, calibration_page, paginate
from templategen.writers import dxf, pdf, svg

PROGRAM = "from test_same_bytes import digests; print(*digests())"


def digests() -> list[str]:
    found = [dxf.encode(d, v) for d in (strip(), shapes(), cut()) for v in ("R2000", "R12")]
    found += [svg.encode(d) for d in (strip(), shapes(), cut())]
    found += [pdf.encode(paginate(d, PAPERS["A4"]), d.title) for d in (strip(), shapes())]
    found += [pdf.encode([calibration_page(PAPERS["Letter"])], "check")]
    return [hashlib.sha256(data).hexdigest() for data in found]


def test_same_bytes_in_other_processes() -> None:
    here = digests()
    assert len(set(here)) == len(here)
    assert digests() == here
    for seed, zone in (("1", "Pacific/Auckland"), ("4242", "America/St_Johns")):
        done = subprocess.run(
            [sys.executable, "-c", PROGRAM], check=True, capture_output=True, text=True, cwd=Path(__file__).parent,
            env={**os.environ, "PYTHONHASHSEED": seed, "TZ": zone, "PYTHONPATH": os.pathsep.join(sys.path)},
        )  # fmt: skip
        assert done.stdout.split() == here
