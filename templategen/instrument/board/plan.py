"""The plan: strings, fret lines and the board's outline as seen from above, in the plan frame."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from templategen.errors import Problem, SpecError
from templategen.instrument.arrays import Array, fixed
from templategen.instrument.board import scale as scales
from templategen.instrument.board import spacing
from templategen.spec import checks
from templategen.spec.models import Spec, spacing_share

STEEPEST_NUT_DEG = 45.0
LEAST_PLACES = 12
"""Frets whose places are known even on a board with fewer."""


@dataclass(frozen=True)
class Taper:
    """Board width square to the centreline, linear in x: width = at_nut + slope·x."""

    at_nut: float
    slope: float

    def width(self, x: Array | float) -> Array:
        return np.asarray(self.at_nut + self.slope * np.asarray(x, dtype=float))

    def meets(self, point: Array, direction: Array, side: float, inset: float = 0.0) -> Array:
        """Where lines cross the edge ``side`` (+1 toward +y), moved inward by ``inset`` square to the edge.

        point, direction: shape (..., 2). The edge is y = side·(w(x)/2 − inset·√(1 + slope²/4)). Returns (..., 2).
        """
        inward = inset * np.hypot(1.0, self.slope / 2)
        reach = side * (self.width(point[..., 0]) / 2 - inward) - point[..., 1]
        share = reach / (direction[..., 1] - side * self.slope / 2 * direction[..., 0])
        return np.asarray(point + share[..., None] * direction)


def on_centreline(a: Array, b: Array) -> Array:
    """x where the lines through two points cross y = 0; a, b: (..., 2)."""
    return np.asarray(a[..., 0] - a[..., 1] * (b[..., 0] - a[..., 0]) / (b[..., 1] - a[..., 1]))


@dataclass(frozen=True)
class Plan:
    """Everything seen from above.

    side: +1 right-handed, −1 left-handed: the sign of y on the treble side.
    string_nut, string_saddle: where each string meets the line of fret 0 and the line of the saddle, (strings, 2).
    numbers: fret numbers, (frets,), starting with 0 where there is a zero fret.
    fractions: f(n) per fret. cents: above the open string.
    treble_points, bass_points: the fret lines' points on the two outer strings, (frets, 2).
    centre_x: where each fret line crosses the centreline, (frets,).
    crossings: where each fret line meets each string, (frets, strings, 2).
    further_crossings: the same for the next frets past the last, up to the twelfth, as if they stood there.
    crossing_cents: what the crossing is off its own f(n), in cents, + sharp (shorter), (frets, strings).
    bass_ends, treble_ends: fret lines at the board's edges, (frets, 2); slot_bass_ends, slot_treble_ends: the same
    after a blind slot's inset.
    saddle_x: where the saddle line crosses the centreline. nut_slant_deg: of the line of fret 0 against square,
    positive when the treble side is nearer the bridge. nut_x: of the nut's front edge on the centreline. end_x: where
    the board ends there, or its last fret lies if that is farther.
    outline: corners of the board, (4, 2): bass nut, bass end, treble end, treble nut.
    """

    side: float
    taper: Taper
    courses: tuple[tuple[int, ...], ...]
    toward_bass: Array
    gauges: Array
    string_nut: Array
    string_saddle: Array
    numbers: Array
    fractions: Array
    cents: Array
    treble_points: Array
    bass_points: Array
    centre_x: Array
    crossings: Array
    further_crossings: Array
    crossing_cents: Array
    bass_ends: Array
    treble_ends: Array
    slot_bass_ends: Array
    slot_treble_ends: Array
    saddle_x: float
    nut_slant_deg: float
    nut_x: float
    end_x: float
    nut_bass_end: Array
    nut_treble_end: Array
    outline: Array

    @property
    def string_spread(self) -> float:
        """Between the outer strings' centres on the line of the saddle, before any offset."""
        return abs(float(self.string_saddle[0, 1] - self.string_saddle[-1, 1]))

    @property
    def nut_direction(self) -> Array:
        """Unit vector along the front edge of the nut, in the sense of +y."""
        slant = np.radians(self.nut_slant_deg)
        return np.array([self.side * np.sin(slant), np.cos(slant)])

    @property
    def width_along_nut(self) -> float:
        """Of the board, along the nut's front edge: as calipers lie there."""
        return float(np.hypot(*(self.nut_treble_end - self.nut_bass_end)))

    @property
    def widest(self) -> float:
        """Of the board, square to the centreline."""
        return float(2 * np.abs(self.outline[:, 1]).max())

    def index(self, fret: int) -> int:
        """Row of a fret number."""
        return int(np.flatnonzero(self.numbers == fret)[0])

    def crossing(self, fret: int) -> Array:
        """Where a fret meets every string, (strings, 2), be it there or past the last one of a short board."""
        past = fret - int(self.numbers[-1])
        return fixed(self.further_crossings[past - 1] if past > 0 else self.crossings[self.index(fret)])

    @property
    def octave(self) -> int | None:
        """Row of the fret an octave above the open string, None where no fret stands there."""
        rows = np.flatnonzero(np.abs(self.cents - 1200) < 0.5)
        return int(rows[0]) if len(rows) else None

    def string_at(self, x: Array | float) -> Array:
        """y of every string at x (scalar, or one x per string): shape (strings,)."""
        run = self.string_saddle - self.string_nut
        share = (np.asarray(x, dtype=float) - self.string_nut[:, 0]) / run[:, 0]
        return np.asarray(self.string_nut[:, 1] + share * run[:, 1])


def with_width_at_nut(spec: Spec) -> Spec:
    """The spec with the nut's width square to the centreline, where it gives that along the nut.

    The nut's slant follows from where the strings lie on it, and with it how much wider it is along than across: the
    width is brought nearer by the share it is off, until the two agree to a millionth of a millimetre.
    Raises SpecError where no board has that width, or the one that has it leaves no room for what lies on it.
    """
    along = spec.fingerboard.width_along_nut
    if along is None:
        return spec

    def across(width: float) -> Spec:
        board = spec.fingerboard.model_copy(update={"width_at_nut": width})
        return spec.model_copy(update={"fingerboard": board})

    width, found = along, 0.0
    for _ in range(60):
        with np.errstate(divide="ignore", invalid="ignore"):
            found = build_plan(across(width)).width_along_nut
        if not np.isfinite(found) or abs(found - along) < 1e-9:
            break
        width *= along / found
    if abs(found - along) < 1e-6:
        settled = across(width)
        problems = tuple(checks.of_spec(_said_across(settled), whole=True))
    else:
        message = "fits no nut: with these strings and scales none is so wide along its front edge"
        problems = (Problem(("fingerboard", "width_along_nut"), message),)
    if problems:
        raise SpecError(problems)
    return settled


def _said_across(spec: Spec) -> Spec:
    """As if the file gave the width at the nut alone."""
    board = spec.fingerboard
    said = board.model_copy(update={"width_along_nut": None})
    said.__pydantic_fields_set__.discard("width_along_nut")
    return spec.model_copy(update={"fingerboard": said})


def plan_problems(plan: Plan) -> list[Problem]:
    """A nut so slanted that neither it nor its slots could be cut."""
    if abs(plan.nut_slant_deg) <= STEEPEST_NUT_DEG:
        return []
    return [
        Problem(
            ("scale", "square_fret"),
            f"turns the nut {abs(plan.nut_slant_deg):.0f}° off square; at most {STEEPEST_NUT_DEG:.0f}° can be made\n"
            "scales nearer each other, or a square fret nearer the nut",
        )
    ]


def outer_sides_at_nut(spec: Spec, gauges: Array) -> tuple[float, float]:
    """Outsides of the outer strings at the nut (treble, bass), positive toward the treble side."""
    nut = spec.nut
    if nut.string_spread is not None:
        return spacing.outsides_of_spread(gauges, nut.string_spread, 0.0)
    assert nut.edge_margin is not None
    half = spec.fingerboard.nut_width / 2
    return half - nut.edge_margin.treble, nut.edge_margin.bass - half


def build_plan(spec: Spec) -> Plan:
    """Lay the strings, the fret lines and the board's edges.

    Scale lengths are measured parallel to the centreline on the two outer strings: the bass string runs from x = b to
    b + L_b, the treble from t to t + L_t. The square fret p makes b + L_b·f(p) = t + L_t·f(p), and the line of fret 0
    crosses the centreline at x = 0; fret n joins the points at f(n). Equal lengths give b = t = 0: the single scale.
    """
    scale, board = spec.scale, spec.fingerboard
    side = 1.0 if spec.handedness == "right" else -1.0
    gauges = fixed([s.gauge for s in spec.strings.set])
    courses = spacing.courses_of(len(gauges), spec.strings.courses)
    nut_across = side * spacing.positions(
        gauges,
        courses,
        spec.nut.course_gap,
        *outer_sides_at_nut(spec, gauges),
        spacing_share(spec.nut.spacing),
    )
    saddle_across = side * spacing.positions(
        gauges,
        courses,
        spec.bridge.course_gap,
        *spacing.outsides_of_spread(gauges, spec.bridge.string_spread, spec.bridge.offset),
        spacing_share(spec.bridge.spacing),
    )
    bass_length, treble_length = scale.bass_length, scale.treble_length
    square = float(scales.fraction_of(scale, scale.square_fret if scale.multi_scale else 0.0))
    lead = (bass_length - treble_length) * square  # t − b
    bass_x = lead * nut_across[-1] / (nut_across[0] - nut_across[-1])
    treble_x = bass_x + lead

    def on_strings(fraction: Array) -> tuple[Array, Array]:
        share = np.asarray(fraction, dtype=float)
        y = nut_across + (saddle_across - nut_across) * share[..., None]
        treble = np.stack([treble_x + treble_length * share, y[..., 0]], -1)
        bass = np.stack([bass_x + bass_length * share, y[..., -1]], -1)
        return treble, bass

    def along_line(treble: Array, bass: Array, y: Array) -> Array:
        """Points at the given y on the line through two points; shape (len(y), 2)."""
        share = (y - bass[1]) / (treble[1] - bass[1])
        return np.stack([bass[0] + share * (treble[0] - bass[0]), y], -1)

    (nut_t, nut_b), (saddle_t, saddle_b) = on_strings(np.array(0.0)), on_strings(np.array(1.0))
    string_nut = along_line(nut_t, nut_b, nut_across)
    string_saddle = along_line(saddle_t, saddle_b, saddle_across)
    saddle_x = float(along_line(saddle_t, saddle_b, np.array([0.0]))[0, 0])

    numbers = np.arange(0 if scale.zero_fret else 1, scale.fret_count + 1, dtype=float)
    fractions = scales.fraction_of(scale, numbers)
    treble, bass = on_strings(fractions)
    direction = treble - bass
    centre_x = on_centreline(bass, treble)

    if board.width_at_last_fret is not None:
        x_wide, width = centre_x[-1], board.width_at_last_fret
    else:
        assert board.width_at is not None
        t, b = on_strings(scales.fraction_of(scale, float(board.width_at.fret)))
        x_wide = on_centreline(b, t)
        width = board.width_at.width
    taper = Taper(board.nut_width, float((width - board.nut_width) / x_wide))

    inset = board.blind_slot_inset or 0.0
    slant = float(np.degrees(np.arctan2(nut_t[0] - nut_b[0], side * (nut_t[1] - nut_b[1]))))
    nut_x = -spec.nut.behind_zero_fret if scale.zero_fret else 0.0
    nut_line = nut_t - nut_b
    nut_point = np.array([nut_x, 0.0])
    end_line = direction[-1] if board.end == "parallel" else np.array([0.0, 1.0])
    end_point = np.array([centre_x[-1] + board.beyond_last_fret, 0.0])
    outline = [
        taper.meets(nut_point, nut_line, -side),
        taper.meets(end_point, end_line, -side),
        taper.meets(end_point, end_line, side),
        taper.meets(nut_point, nut_line, side),
    ]

    run = string_saddle - string_nut
    crossings = _crossings(bass, direction, string_nut, run)
    further = np.arange(scale.fret_count + 1, LEAST_PLACES + 1, dtype=float)
    further_treble, further_bass = on_strings(scales.fraction_of(scale, further))
    sounding = (crossings[..., 0] - string_nut[:, 0]) / run[:, 0]
    crossing_cents = 1200 * np.log2((1 - fractions[:, None]) / (1 - sounding))
    return Plan(
        side=side,
        taper=taper,
        courses=tuple(tuple(c) for c in courses),
        toward_bass=fixed(spacing.toward_bass(courses)),
        gauges=gauges,
        string_nut=fixed(string_nut),
        string_saddle=fixed(string_saddle),
        numbers=fixed(numbers),
        fractions=fractions,
        cents=fixed(scales.cents_of(scale, numbers)),
        treble_points=fixed(treble),
        bass_points=fixed(bass),
        centre_x=fixed(centre_x),
        crossings=fixed(crossings),
        further_crossings=fixed(_crossings(further_bass, further_treble - further_bass, string_nut, run)),
        crossing_cents=fixed(crossing_cents),
        bass_ends=fixed(taper.meets(bass, direction, -side)),
        treble_ends=fixed(taper.meets(bass, direction, side)),
        slot_bass_ends=fixed(taper.meets(bass, direction, -side, inset)),
        slot_treble_ends=fixed(taper.meets(bass, direction, side, inset)),
        saddle_x=saddle_x,
        nut_slant_deg=slant,
        nut_x=nut_x,
        end_x=float(centre_x[-1]) + max(board.beyond_last_fret, 0.0),
        nut_bass_end=fixed(outline[0]),
        nut_treble_end=fixed(outline[3]),
        outline=fixed(outline),
    )


def _crossings(point: Array, direction: Array, start: Array, run: Array) -> Array:
    """Where fret lines (frets, 2) meet strings (strings, 2): shape (frets, strings, 2).

    Solves point + u·direction = start + v·run for v by Cramer's rule.
    """
    gap = point[:, None, :] - start[None, :, :]
    cross = run[None, :, 0] * direction[:, None, 1] - run[None, :, 1] * direction[:, None, 0]
    share = (gap[..., 0] * direction[:, None, 1] - gap[..., 1] * direction[:, None, 0]) / cross
    return np.asarray(start[None] + share[..., None] * run[None])
