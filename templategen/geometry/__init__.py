"""The geometry that every room shares; it imports nothing of ours but ``errors``. mm.

Terms
-----
chord, sagitta   the straight line between an arc's ends, and the arc's height over its middle
bulge            tan(quarter of an arc's angle), positive counterclockwise, 0 for a straight line (the DXF convention)
contour          a closed run of corners, the last joined to the first, with one bulge for the stretch that leaves each
camber           one shallow arc of heights over a line, fitted to heights wanted
"""

from templategen.geometry.circles import (
    Point,
    Point3,
    Span,
    arc_bulge,
    arc_drop,
    bulge_through,
    circle_of_bulge,
    radius_of,
    sagitta,
)
from templategen.geometry.contours import self_contact
from templategen.geometry.offsets import counterclockwise, offset_contour

__all__ = [
    "Point",
    "Point3",
    "Span",
    "arc_bulge",
    "arc_drop",
    "bulge_through",
    "circle_of_bulge",
    "counterclockwise",
    "offset_contour",
    "radius_of",
    "sagitta",
    "self_contact",
]
