"""What is said about a beam's kerf, half of which the outlines are moved to the waste side."""

from __future__ import annotations

from templategen.units import both_units


def kerf_note(kerf: float) -> str:
    """What was done about the kerf, for the file's start and the file list."""
    if kerf == 0:
        return "No beam_kerf in the shop file: the lines are the finished edges."
    return (
        f"Beam kerf {both_units(kerf, 3)} taken off: lines run half of it to the waste side of each finished edge, so "
        "run the beam on the line."
    )
