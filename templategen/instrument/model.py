"""The instrument: every number of the spec's instrument, computed once and frozen.

>>> from templategen.spec.load import load
>>> loaded = load("specs/fleet-07.toml")
>>> build(loaded.spec, loaded.shop, name="fleet-07").frets.from_nut[11].item()
319.88125
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from templategen.errors import Key, Problem, SpecError
from templategen.geometry.camber import fit_camber
from templategen.instrument.arrays import Array, fixed, known, pairs
from templategen.instrument.board.frets import build_frets, fret_problems
from templategen.instrument.board.plan import Plan, build_plan, plan_problems, with_width_at_nut
from templategen.instrument.board.sanding import cone_problems, sanding_problems, thickness_left
from templategen.instrument.board.surfaces import Board, build_board, build_strung, crown_points
from templategen.instrument.board.wire import CutList, cut_list
from templategen.instrument.built import Built, Saddle
from templategen.instrument.guessed import Guessed, guessed
from templategen.instrument.nut.build import build_nut
from templategen.instrument.nut.problems import nut_problems
from templategen.instrument.saddle.piece import build_piece, piece_problems
from templategen.instrument.setup.best import BestSetup, best_setup
from templategen.instrument.setup.clearance import Clearance, clearance, setting
from templategen.instrument.setup.line import StringLine, lever_at, string_line
from templategen.instrument.strings.facts import Lever, String
from templategen.instrument.strings.loads import Loads, load_problems, loads_of, total_load
from templategen.instrument.strings.sounding import build_intonation, held_problems
from templategen.instrument.tools.block import build_block
from templategen.instrument.tools.cutting import Notches, SlotCutter, notches, slot_cutter
from templategen.instrument.tools.gauges import gauge_problems
from templategen.instrument.tools.milling import Milling
from templategen.spec.models import Shop, Spec


@dataclass(frozen=True)
class Instrument(Built):
    """Everything that drawings, solids and tables read."""

    @property
    def side(self) -> float:
        """+1 right-handed, −1 left-handed."""
        return self.plan.side

    @cached_property
    def board_outline(self) -> Array:
        """Corners of the board as cut, (4, 2): bass nut, bass end, treble end, treble nut.

        Compensation by cutting back the board moves its front edge to that of the string moved farthest.
        """
        cut_back = self.nut.body_forward / math.cos(math.radians(self.nut.turn_deg))
        if cut_back == 0.0:
            return self.plan.outline
        outline = self.plan.outline.copy()
        point = np.array([self.plan.nut_x + cut_back, 0.0])
        for corner, sign in ((0, -self.side), (3, self.side)):
            outline[corner] = self.plan.taper.meets(point, self.plan.nut_direction, sign)
        return fixed(outline)

    @property
    def trace(self) -> str:
        """What a print is traced by: the spec's name and the first digits of its digest."""
        return f"spec {self.name}  digest {self.digest[:12]}"

    @cached_property
    def guessed(self) -> Guessed:
        """What rests on sizes that nobody measured."""
        return guessed(self)

    @cached_property
    def wire_cuts(self) -> CutList | None:
        """Fret wire out of bought sticks: the frets in their order, then spares as long as the longest.

        None without a shop.wire_stock_length, or where a piece is longer than a stick.
        """
        if self.shop.wire_stock_length is None:
            return None
        cut = self.frets.wire_cut
        pieces = [*cut, *[cut.max()] * self.shop.spare_frets]
        return cut_list(pieces, self.shop.wire_stock_length, self.shop.nipper_loss)

    @cached_property
    def slot_cutter(self) -> SlotCutter:
        return slot_cutter(self.spec, self.shop)

    @cached_property
    def milling(self) -> Milling | None:
        """What the mill's tools do, None where the shop has no mill."""
        mill = self.shop.mill
        return None if mill is None else Milling(mill, self.spec, self.board, self.frets, self.nut)

    @cached_property
    def notches(self) -> tuple[Notches, ...]:
        """What strips for a saw's indexing pin need: one, or one for each edge of a multi-scale board."""
        return notches(self.spec, self.plan, self.board_outline)

    @property
    def total_load_n(self) -> float:
        return total_load(self.loads)

    @cached_property
    def strings(self) -> tuple[String, ...]:
        """The strings one by one, treble side first."""
        plan, line, saddle, tuning = self.plan, self.line, self.saddle, self.intonation
        count, octave, action = len(self.loads), self.action_at_octave, self.spec.setup.action.fret
        ends = [(fret, end) for end in ("nut", "saddle") for fret in (1, action)]
        columns = (
            range(1, count + 1),
            (string.note.text for string in self.spec.strings.set),
            plan.gauges.tolist(),
            (string.wound for string in self.spec.strings.set),
            self.loads,
            pairs(plan.string_nut),
            pairs(plan.string_saddle),
            self.nut.slots,
            line.first_fret_clearance.tolist(),
            line.nut_over_crowns.tolist(),
            line.pressed_gap.tolist(),
            line.action.tolist(),
            [None] * count if octave is None else octave.tolist(),
            saddle.x.tolist(),
            saddle.y.tolist(),
            saddle.height.tolist(),
            saddle.offset.tolist(),
            saddle.from_nut.tolist(),
            known(saddle.from_octave),
            (Lever(*row) for row in np.stack([self.lever(*end) for end in ends], -1).tolist()),
            tuning.fits,
            tuning.nominal,
            tuning.nominal_rms.tolist(),
        )
        return tuple(String(*row) for row in zip(*columns, strict=True))

    @cached_property
    def action_at_octave(self) -> Array | None:
        """String height over the crown at 1200 cents, None where no fret stands there; (strings,)."""
        row = self.plan.octave
        if row is None:
            return None
        return fixed(self.line.z(self.plan.crossings[row, :, 0]) - self.crowns[row])

    @cached_property
    def clearance(self) -> Clearance:
        """Where each string would touch, set up as the spec wants it."""
        return clearance(setting(self))

    @cached_property
    def best_setup(self) -> BestSetup | None:
        """What relief and action could do, None where no fret has a crown beyond it."""
        return best_setup(self)

    def lever(self, fret: int, end: str) -> Array:
        """What 1 mm at ``end`` ("nut" or "saddle") does over a fret's crown, the other end held; (strings,)."""
        return lever_at(self.plan, fret, end == "nut")


def build(
    spec: Spec, shop: Shop, name: str = "", digest: str = "", idle: tuple[tuple[Key, str], ...] = ()
) -> Instrument:
    """Compute the whole instrument.

    Raises SpecError with every problem that only the geometry can tell; their places in the file are added by the
    spec room.
    """
    spec = with_width_at_nut(spec)
    plan = build_plan(spec)
    _raise([*plan_problems(plan), *held_problems(spec, plan)])
    board = build_board(spec, plan, thickness_left(spec, plan))
    _raise(cone_problems(spec, plan, board))
    strung = build_strung(spec, plan, board)
    crowns = crown_points(plan, strung)
    frets = build_frets(spec, plan, board)
    loads = _loads(spec, plan)
    nominal = string_line(spec.setup, plan, strung, crowns, plan.string_nut[:, 0])
    intonation = build_intonation(spec, plan, crowns, nominal, loads)
    shift = intonation.nut_offset
    line = string_line(spec.setup, plan, strung, crowns, plan.string_nut[:, 0] + shift)
    nut = build_nut(spec, shop, plan, strung, line, crowns, shift)
    saddle = _saddle(plan, board, line, intonation.saddle_offset)
    instrument = Instrument(
        name=name,
        digest=digest,
        idle=idle,
        spec=spec,
        shop=shop,
        plan=plan,
        board=board,
        strung=strung,
        crowns=crowns,
        frets=frets,
        line=line,
        nut=nut,
        saddle=saddle,
        saddle_piece=build_piece(spec, plan, line, intonation, loads.strings),
        loads=loads.strings,
        intonation=intonation,
        block=build_block(spec, plan, board),
    )
    sanded = sanding_problems(spec, plan, board)
    _raise(
        [
            *(sanded or fret_problems(frets)),
            *nut_problems(nut),
            *piece_problems(instrument.saddle_piece, plan),
            *load_problems(loads.strings),
            *gauge_problems(instrument),
        ]
    )
    return instrument


def _saddle(plan: Plan, board: Board, line: StringLine, offset: Array) -> Saddle:
    """The saddle that the string line runs to, each string's place moved by its offset."""
    x = plan.string_saddle[:, 0] + offset
    y, height = plan.string_at(x), line.z(x)
    octave = plan.octave
    anything = np.full(len(x), 10.0)
    # Only where the fit begins. A cone that grows rounder toward the body would run out of radius on its way here.
    nearest = max(float(board.radius(plan.saddle_x)), float(board.radius(plan.centre_x[-1])))
    curvature = 0.0 if board.law.flat else 1.0 / nearest
    return Saddle(
        offset=fixed(offset),
        x=fixed(x),
        y=fixed(y),
        height=fixed(height),
        from_nut=fixed(x - line.witness_x),
        from_octave=fixed(np.full(len(x), np.nan) if octave is None else x - plan.crossings[octave, :, 0]),
        top=fit_camber(y, height, height - anything, height + anything, np.ones(len(x)), curvature),
    )


def _raise(problems: list[Problem] | tuple[Problem, ...]) -> None:
    if problems:
        raise SpecError(problems)


def _loads(spec: Spec, plan: Plan) -> Loads:
    """Every string at its own scale and pitch; scale lengths are measured parallel to the centreline."""
    lengths = plan.string_saddle[:, 0] - plan.string_nut[:, 0]
    pitches = [string.note.frequency_hz(spec.scale.pitch_of_a4) for string in spec.strings.set]
    return loads_of(spec.strings, lengths.tolist(), pitches)
