"""The survey file: an instrument as it was measured, reading by reading, in mm. Nothing is worked out here."""
