"""A solid to binary STL, millimetres, the same bytes for the same solid."""

from __future__ import annotations

import tempfile
from pathlib import Path

from templategen.errors import OurBug
from templategen.solids.shape import Solid

HEADER_LENGTH = 80  # bytes of free text before the count of triangles


def encode(solid: Solid, tolerance: float = 0.005) -> bytes:
    """Triangles within ``tolerance`` mm of the true surface, watertight, in the solid's own frame.

    Raises OurBug when the kernel cannot mesh or write it.
    """
    from OCP.BRepBuilderAPI import BRepBuilderAPI_Copy
    from OCP.BRepMesh import BRepMesh_IncrementalMesh
    from OCP.StlAPI import StlAPI_Writer

    # The kernel keeps a mesh on the shape and reuses it, so without a copy an earlier, finer mesh would show here.
    fresh = BRepBuilderAPI_Copy(solid.shape, True, False).Shape()
    BRepMesh_IncrementalMesh(fresh, tolerance, False, 0.2, False)
    writer = StlAPI_Writer()
    writer.ASCIIMode = False
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "mesh.stl"
        if not writer.Write(fresh, str(path)):
            raise OurBug(f"the CAD kernel could not write {solid.name or 'a solid'} as STL")
        content = path.read_bytes()
    # A header must not begin with the word "solid": readers take such a file for the text form.
    header = f"templategen, mm, {solid.name}".encode("ascii", "replace")[:HEADER_LENGTH]
    return header.ljust(HEADER_LENGTH) + content[HEADER_LENGTH:]
