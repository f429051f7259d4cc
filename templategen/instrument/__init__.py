"""What the instrument is, as numbers: computed once from the spec, read by everything else.

Frames (all lengths mm, z up)
-----------------------------
plan    origin where the centreline meets fret 0; x along the centreline toward the bridge; y positive on the treble
        side of a right-handed instrument, mirrored for a left-handed one
nut     x along the front edge (same sense as plan y), y square to it toward the tuners, z 0 on the seat at the
        centreline
block   x across, z up from the flat back, y along the length

Order of strings in every array: the treble-side string first. Order of frets: fret 0 first where there is a zero fret.
"""
