"""What ``build`` computes of an instrument, room by room, before anything is read from several rooms at once.

The rooms whose questions need more than one of the others (clearance, gauges) are asked with a ``Built``; the
instrument is one, and holds their answers.
"""

from __future__ import annotations

from dataclasses import dataclass

from templategen.errors import Key
from templategen.geometry.camber import Camber
from templategen.instrument.arrays import Array
from templategen.instrument.board.frets import Frets
from templategen.instrument.board.plan import Plan
from templategen.instrument.board.surfaces import Board, Strung
from templategen.instrument.nut.nut import Nut
from templategen.instrument.saddle.piece import SaddlePiece
from templategen.instrument.setup.line import StringLine
from templategen.instrument.strings.loads import StringLoad
from templategen.instrument.strings.sounding import Intonation
from templategen.instrument.tools.block import Block
from templategen.spec.models import Shop, Spec


@dataclass(frozen=True)
class Saddle:
    """The strings' other end. offset: away from the nut; x, y: where the string is held; height: z of its underside.

    from_nut, from_octave: along the centreline, to the nut's front edge where the string leaves it and to the fret an
    octave up (NaN where there is none). top: the one arc nearest to the heights over y. Arrays (strings,).
    """

    offset: Array
    x: Array
    y: Array
    height: Array
    from_nut: Array
    from_octave: Array
    top: Camber

    @property
    def spread(self) -> float:
        """Between the outer strings' centres where they are held: wider than at the nominal scale line, since offsets
        carry the ends back along strings that spread apart."""
        return abs(float(self.y[0] - self.y[-1]))


@dataclass(frozen=True)
class Built:
    """The rooms' own classes tell shapes and units.

    name: stem of the spec file. digest: of the spec and shop files, so that a print can be traced. idle: keys that are
    given but change nothing, each with the reason.
    crowns: crown heights where frets meet strings, (frets, strings), plan z over the strung board.
    """

    name: str
    digest: str
    idle: tuple[tuple[Key, str], ...]
    spec: Spec
    shop: Shop
    plan: Plan
    board: Board
    strung: Strung
    crowns: Array
    frets: Frets
    line: StringLine
    nut: Nut
    saddle: Saddle
    saddle_piece: SaddlePiece | None
    loads: tuple[StringLoad, ...]
    intonation: Intonation
    block: Block | None
