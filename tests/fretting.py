"""Strings for tests of intonation."""

from __future__ import annotations

import numpy as np

from templategen.instrument.strings.fretting import FrettedString


def plane_string(
    scale: float = 650.0,
    b: float = 1.0,
    c: float = 4.0,
    d: float = 0.0,
    kappa: float = 51.0,
    bending: float = 0.00236,
    frets: int = 12,
) -> FrettedString:
    """All crowns at one height, b under the nut; the saddle c above the nut. The default is the paper's prototype."""
    gamma = 2 ** (np.arange(1, frets + 1) / 12)
    return FrettedString(
        crown_x=scale - scale / gamma,
        crown_z=np.full(frets, -b),
        nut_z=0.0,
        saddle_x=scale,
        saddle_z=c,
        pitch_ratio=gamma,
        kappa=kappa,
        bending=bending,
        finger_distance=d,
    )
