"""What a person should know about a saddle of one piece: offsets it cannot hold, what it shows, how deep it sits."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from templategen.findings.catalogue import Fact, fact
from templategen.findings.naming import cases
from templategen.instrument.model import Instrument
from templategen.instrument.saddle.piece import SAME
from templategen.instrument.saddle.witness import FROM_FACE, STEEPEST_DEG


def saddle_facts(i: Instrument) -> Iterator[Fact]:
    piece, last = i.saddle_piece, i.intonation.fit_to_fret
    if piece is None:
        return
    off = np.flatnonzero(np.abs(piece.off) > SAME)
    if len(off) and last:
        thin = piece.needs > piece.thickness - 2 * FROM_FACE + SAME or not piece.steep.any()
        held, free = (
            [np.abs(fit.cents.total[:last]).max() for fit in fits] for fits in (piece.fits, i.intonation.fits)
        )
        strings = cases(i, off, off=np.abs(piece.off), held=np.array(held), free=np.array(free))
        for case, row in zip(strings, off, strict=True):
            case["side"] = "near" if piece.off[row] > 0 else "far"
        yield fact(
            "saddle-offsets-not-held",
            "saddle.thickness",
            why="thin" if thin else "steep",
            why_then="thin" if thin else "steep",
            needs=piece.needs,
            thickness=piece.thickness,
            face=FROM_FACE,
            steepest=STEEPEST_DEG,
            strings=strings,
        )
    least, most = i.spec.bridge.least_saddle, i.spec.bridge.most_saddle
    low, high = float(piece.over_bridge.min()), float(piece.over_bridge.max())
    if low < least or high > most:
        yield fact(
            "saddle-shows",
            "bridge.top_height",
            low=low,
            high=high,
            limit=least if low < least else most,
            case="little" if low < least else "much",
        )
    if piece.seat_depth < high:
        yield fact("saddle-seat-shallow", "saddle.seat_depth", depth=piece.seat_depth, high=high)
