"""The few solid operations that the parts share; the only door to the CAD kernel.

Terms
-----
solid     one closed body with a name; mm
profile   a closed contour of lines and true arcs, drawn on a frame
frame     a plane to draw on: an origin and two unit directions
tool      a solid to cut with; it overshoots every face that it crosses
surface   the top of a fretboard: flat, a cylinder, or a cone whose crown line is level

The kernel is OCCT through OCP, the binding that comes with cadquery. It is reached by way of ``solids.kernel`` alone,
inside functions, so that importing this room costs nothing; cadquery's own Python layer is never imported, which
saves two thirds of the start-up time.
"""
