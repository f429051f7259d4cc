"""How near everything is to be brought to what is wanted: one set for the sheets, the steps of the work and the record.

mm either way, unless a name says otherwise. All common practice, no source, but ``NUT_SLOT``, ``NUT_THICKNESS`` and
``FRET_SLOT``, which are this project's own.
"""

NUT_SLOT = 0.03
"""Place and floor of a nut slot; what hangs on the floor is brought as near."""
NUT_THICKNESS = 0.05
"""Under what is wanted, never over: the groove does not give."""
FRET_SLOT = 0.05
"""Place of a fret slot along the board."""
OTHER = 0.1
"""What has no tolerance of its own."""

SCALE = 0.5
"""What a rule tells of a scale once everything was measured."""
NUT_FRONT = 0.1
"""Place of the nut's front edge along the board."""
RELIEF = 0.03
"""A feeler under a straightedge or a string."""
FIRST_FRET = NUT_SLOT
PRESSED = NUT_SLOT
ACTION = OTHER
"""Over the fret that the spec names, by feeler or calipers."""
SADDLE = OTHER
"""Heights at the saddle: the action over the octave takes half of it."""
SPREAD = OTHER
"""Between the outer strings at the nut."""
CROWN = 0.05
"""The least crown height, by calipers with a foot."""
SLOT_DEPTH = OTHER
RADIUS_SHARE = 0.05
"""Of a radius: what a gauge tells from its neighbour."""
CENTS = 2.0
"""cents: what a tuner tells, and an ear does not mind."""
LEVEL = 0.03
"""The thickest feeler that must not go under a straightedge on levelled crowns."""
SEATED = 0.05
"""The thickest feeler that must not go under a seated fret."""
