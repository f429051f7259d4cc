"""What tests read results back with: outlines and cut files in other libraries, STEP in a second CAD program."""

from __future__ import annotations

import io
import json
import shutil
import subprocess
import tempfile
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pytest
from shapely import Polygon

from templategen.drawing.model import Arc, Drawing, Outline
from templategen.writers import dxf

FREECAD = next((p for p in ("freecadcmd", "FreeCADCmd") if shutil.which(p)), None)
needs_freecad = pytest.mark.skipif(FREECAD is None, reason="freecadcmd is missing: apt-get install freecad-python3")


def polygon(outline: Outline, steps: int = 400) -> Polygon:
    """The outline with each arc as so many chords."""
    points = []
    for n, start in enumerate(outline.points):
        points.append(start)
        piece = outline.piece(n)
        if isinstance(piece, Arc):
            turns = np.linspace(piece.start_deg, piece.end_deg, steps)[1:-1]
            points += [piece.at(float(t)) for t in (turns if outline.bulges[n] > 0 else turns[::-1])]
    return Polygon(points)


def modelspace(drawing: Drawing) -> Any:
    """What a DXF of the drawing holds, read by ezdxf and audited."""
    document = ezdxf.read(io.StringIO(dxf.encode(drawing).decode("ascii")))  # type: ignore[attr-defined]
    assert not document.audit().errors
    return document.modelspace()


def second_cad(path: Path) -> dict[str, Any]:
    """What FreeCAD sees in a STEP file: solids, valid, volume, cylinders' radii and cones' half angles in radians."""
    assert FREECAD is not None
    with tempfile.TemporaryDirectory() as folder:
        script, out = Path(folder) / "open.py", Path(folder) / "seen.json"
        script.write_text(
            "import json, Part\n"
            f"shape = Part.Shape(); shape.read({str(path)!r})\n"
            "seen = {'solids': len(shape.Solids), 'valid': shape.isValid(), 'volume': shape.Volume,\n"
            "        'cylinders': [f.Surface.Radius for f in shape.Faces if isinstance(f.Surface, Part.Cylinder)],\n"
            "        'cones': [f.Surface.SemiAngle for f in shape.Faces if isinstance(f.Surface, Part.Cone)]}\n"
            f"json.dump(seen, open({str(out)!r}, 'w'))\n"
        )
        ran = subprocess.run([FREECAD, str(script)], stdin=subprocess.DEVNULL, capture_output=True, timeout=120)
        assert out.exists(), ran.stdout[-500:] + ran.stderr[-500:]
        seen: dict[str, Any] = json.loads(out.read_text())
    return seen


def of_size(products: Any, kerf: float) -> list[Any]:
    """The cut sheets of one size: the beam's where there is a kerf, the finished ones where there is none."""
    cut = [p for p in products if getattr(getattr(p, "drawing", None), "kind", "") == "cut"]
    return [p for p in cut if p.stem.endswith("-beam") == (kerf > 0)]
