"""The plan against a second computation from the definitions (mpmath), and against shapely's geometry."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import labelled
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from making import FAN, found, instrument, work_of
from mpmath import mp, mpf
from shapely import LineString, Point, Polygon

from templategen.drawing.model import Text
from templategen.errors import SpecError
from templategen.instrument.board.plan import Plan
from templategen.instrument.model import Instrument
from templategen.parts.board import fret_template
from templategen.tables import nut

mp.dps = 30

# Numbers of the spec in tests/making.py, again.
GAUGES = ["0.26", "0.34", "0.44", "0.66", "0.90", "1.15"]
NUT_WIDTH, LAST_WIDTH, SPREAD = mpf(43), mpf(55), mpf(52)
TREBLE_MARGIN, BASS_MARGIN = mpf("3.2"), mpf("3.4")

BOARDS: dict[str, dict[str, Any]] = {
    "single": {},
    "fractional square fret": FAN,
    "left-handed": {**FAN, "handedness": "left"},
    "square nut": {**FAN, "scale.square_fret": 0},
    "blind": {**FAN, "fingerboard.blind_slot_inset": 1.5},
    "nineteen": {**FAN, "scale.steps_per_octave": 19, "scale.fret_count": 30, "scale.square_fret": 11.25},
}


@dataclass
class Lines:
    """The definitions of the plan, worked in order: strings, fret lines, edges. Right-handed; y mirrors for left."""

    bass: mpf
    treble: mpf
    square: mpf
    steps: int
    frets: int
    inset: mpf

    def __post_init__(self) -> None:
        gauges = [mpf(g) for g in GAUGES]
        treble_side, bass_side = NUT_WIDTH / 2 - TREBLE_MARGIN, BASS_MARGIN - NUT_WIDTH / 2
        gap = (treble_side - bass_side - sum(gauges)) / (len(gauges) - 1)
        self.nut_y, side = [], treble_side
        for gauge in gauges:
            self.nut_y.append(side - gauge / 2)
            side -= gauge + gap
        self.saddle_y = [SPREAD / 2 - SPREAD * n / (len(gauges) - 1) for n in range(len(gauges))]
        # t − b from the square fret, then b and t so that fret 0 crosses the centreline at x = 0
        lead = (self.bass - self.treble) * self.fraction(self.square)
        y_t, y_b = self.nut_y[0], self.nut_y[-1]
        self.b = mp.findroot(lambda b: b - y_b * (lead / (y_t - y_b)), mpf(0)) if lead else mpf(0)
        self.t = self.b + lead
        last = self.centre(self.line(self.frets))
        self.slope = (LAST_WIDTH - NUT_WIDTH) / last

    def fraction(self, n: mpf) -> mpf:
        return 1 - mpf(2) ** (-mpf(n) / self.steps)

    def line(self, n: mpf) -> tuple[tuple[mpf, mpf], tuple[mpf, mpf]]:
        """Points of fret n on the bass and the treble string."""
        return self.at(self.fraction(n))

    def at(self, share: mpf) -> tuple[tuple[mpf, mpf], tuple[mpf, mpf]]:
        bass = self.b + self.bass * share, self.nut_y[-1] + (self.saddle_y[-1] - self.nut_y[-1]) * share
        treble = self.t + self.treble * share, self.nut_y[0] + (self.saddle_y[0] - self.nut_y[0]) * share
        return bass, treble

    @staticmethod
    def centre(line: tuple[tuple[mpf, mpf], tuple[mpf, mpf]]) -> mpf:
        (x0, y0), (x1, y1) = line
        return x0 - y0 * (x1 - x0) / (y1 - y0)

    def meet(self, line: Any, a: tuple[mpf, mpf], b: tuple[mpf, mpf]) -> tuple[mpf, mpf]:
        """Where two lines cross, as the solution of two linear equations."""
        (x0, y0), (x1, y1) = line
        left = mp.matrix([[x1 - x0, a[0] - b[0]], [y1 - y0, a[1] - b[1]]])
        u, _ = mp.lu_solve(left, mp.matrix([a[0] - x0, a[1] - y0]))
        return x0 + u * (x1 - x0), y0 + u * (y1 - y0)

    def edge(self, side: int, inset: mpf) -> tuple[tuple[mpf, mpf], tuple[mpf, mpf]]:
        a, b = (mpf(0), side * NUT_WIDTH / 2), (mpf(500), side * (NUT_WIDTH + 500 * self.slope) / 2)
        length = mp.hypot(b[0] - a[0], b[1] - a[1])
        nx, ny = (b[1] - a[1]) / length * side, -(b[0] - a[0]) / length * side
        return (a[0] + inset * nx, a[1] + inset * ny), (b[0] + inset * nx, b[1] + inset * ny)

    def string(self, n: int) -> tuple[tuple[mpf, mpf], tuple[mpf, mpf]]:
        """From the line of fret 0 to the line of the saddle."""
        (bass0, treble0), (bass1, treble1) = self.at(mpf(0)), self.at(mpf(1))
        ends = []
        for (x0, y0), (x1, y1), y in ((bass0, treble0, self.nut_y[n]), (bass1, treble1, self.saddle_y[n])):
            ends.append((x0 + (y - y0) * (x1 - x0) / (y1 - y0), y))
        return ends[0], ends[1]


def second(made: Instrument) -> Lines:
    scale = made.spec.scale
    return Lines(
        mpf(scale.bass_length),
        mpf(scale.treble_length),
        mpf(scale.square_fret if scale.multi_scale else 0),
        scale.steps_per_octave,
        scale.fret_count,
        mpf(made.spec.fingerboard.blind_slot_inset or 0),
    )


def near(found: Any, want: Any, within: float = 1e-9) -> None:
    assert np.abs(np.asarray(found, dtype=float) - np.asarray([[float(v) for v in p] for p in want])).max() < within


@pytest.mark.parametrize("name", BOARDS)
def test_second_computation(name: str) -> None:
    made = instrument(BOARDS[name])
    plan, lines, side = made.plan, second(made), made.side
    numbers = range(1, lines.frets + 1)
    mirror = np.array([1.0, side])
    near(plan.bass_ends * mirror, [lines.meet(lines.line(n), *lines.edge(-1, mpf(0))) for n in numbers])
    near(plan.treble_ends * mirror, [lines.meet(lines.line(n), *lines.edge(1, mpf(0))) for n in numbers])
    near(plan.slot_bass_ends * mirror, [lines.meet(lines.line(n), *lines.edge(-1, lines.inset)) for n in numbers])
    near(plan.slot_treble_ends * mirror, [lines.meet(lines.line(n), *lines.edge(1, lines.inset)) for n in numbers])
    near(plan.centre_x[:, None], [[lines.centre(lines.line(n))] for n in numbers])
    near(plan.string_nut * mirror, [lines.string(s)[0] for s in range(6)])
    near(plan.string_saddle * mirror, [lines.string(s)[1] for s in range(6)])
    for string in range(6):
        start, end = lines.string(string)
        crossings = [lines.meet(lines.line(n), start, end) for n in numbers]
        near(plan.crossings[:, string] * mirror, crossings)
        cents = [
            1200 * mp.log((1 - lines.fraction(n)) * (end[0] - start[0]) / (end[0] - x), 2)
            for n, (x, _) in zip(numbers, crossings, strict=True)
        ]
        assert np.abs(plan.crossing_cents[:, string] - [float(c) for c in cents]).max() < 1e-9
    near(
        plan.outline * mirror,
        [
            lines.meet(lines.line(mpf(0)), *lines.edge(-1, mpf(0))),
            lines.meet(moved(lines, 8), *lines.edge(-1, mpf(0))),
            lines.meet(moved(lines, 8), *lines.edge(1, mpf(0))),
            lines.meet(lines.line(mpf(0)), *lines.edge(1, mpf(0))),
        ],
    )


def moved(lines: Lines, by: int) -> tuple[tuple[mpf, mpf], tuple[mpf, mpf]]:
    """The last fret's line, moved along the centreline."""
    (x0, y0), (x1, y1) = lines.line(mpf(lines.frets))
    return (x0 + by, y0), (x1 + by, y1)


def test_outer_strings_have_no_error_and_inner_ones_little() -> None:
    plan = instrument(FAN).plan
    assert np.abs(plan.crossing_cents[:, [0, -1]]).max() < 1e-9
    assert 0.05 < np.abs(plan.crossing_cents[:, 1:-1]).max() < 1.5
    same_law = instrument({**FAN, "bridge.spacing": "equal_gap"}).plan
    assert np.abs(same_law.crossing_cents).max() < np.abs(plan.crossing_cents).max()


def test_the_square_fret_stands_square_and_the_rest_fan_out() -> None:
    plan = instrument({**FAN, "scale.square_fret": 7}).plan
    slant = plan.treble_ends[:, 0] - plan.bass_ends[:, 0]
    assert slant[6] == pytest.approx(0, abs=1e-9)
    assert (np.diff(slant) < 0).all()
    assert slant[0] > 0 > slant[-1]
    square_nut = instrument({**FAN, "scale.square_fret": 0}).plan
    assert square_nut.nut_slant_deg == 0
    assert square_nut.outline[0, 0] == square_nut.outline[3, 0] == 0


def test_shapely_finds_the_slots_on_the_board() -> None:
    """Slot ends on the outline, blind ones the inset away from it, and nothing outside."""
    through, blind = instrument(FAN), instrument(BOARDS["blind"])
    board = Polygon(through.plan.outline)
    assert board.is_valid
    sides = [LineString(through.plan.outline[[0, 1]]), LineString(through.plan.outline[[3, 2]])]
    for ends, side in ((through.plan.bass_ends, sides[0]), (through.plan.treble_ends, sides[1])):
        assert max(side.distance(Point(p)) for p in ends) < 1e-9
    for ends, side in ((blind.plan.slot_bass_ends, sides[0]), (blind.plan.slot_treble_ends, sides[1])):
        for point in ends:
            assert side.distance(Point(point)) == pytest.approx(1.5, abs=1e-9)
            assert board.contains(Point(point))


def same(one: Plan, other: Plan, mirrored: bool = False) -> None:
    flip = np.array([1.0, -1.0 if mirrored else 1.0])
    for name in ("bass_ends", "treble_ends", "slot_bass_ends", "string_nut", "string_saddle", "crossings", "outline"):
        assert (getattr(one, name) * flip == getattr(other, name)).all(), name
    for name in ("centre_x", "fractions", "crossing_cents"):
        assert (getattr(one, name) == getattr(other, name)).all(), name


def test_equal_scales_are_the_single_scale_to_the_last_bit() -> None:
    fan = instrument({"scale.length": None, "scale.bass": 640, "scale.treble": 640, "scale.square_fret": 6.5})
    one = instrument()
    same(fan.plan, one.plan)
    assert (fan.frets.wire_cut == one.frets.wire_cut).all()
    assert (fan.nut.floor == one.nut.floor).all()


@settings(max_examples=20, deadline=None)
@given(st.floats(600, 700), st.floats(-40, 40), st.floats(0, 21))
def test_left_is_the_mirror_and_left_of_left_the_same(treble: float, longer: float, square: float) -> None:
    changes = {**FAN, "scale.treble": treble, "scale.bass": treble + longer, "scale.square_fret": square}
    right, left = instrument(changes).plan, instrument({**changes, "handedness": "left"}).plan
    same(right, left, mirrored=True)
    assert left.nut_slant_deg == right.nut_slant_deg
    assert (right.treble_ends[:, 1] > 0).all()
    assert (left.treble_ends[:, 1] < 0).all()


def test_a_zero_fret_has_its_slot_and_the_nut_stands_behind() -> None:
    plain, zero = instrument(), instrument({"scale.zero_fret": True, "nut.behind_zero_fret": 5})
    assert zero.plan.numbers[0] == 0
    assert zero.frets.from_nut[0] == 0
    assert (zero.plan.bass_ends[1:] == plain.plan.bass_ends).all()
    assert zero.plan.outline[:, 0].min() == zero.plan.nut_x == -5
    assert abs(zero.plan.bass_ends[0, 1]) == pytest.approx(43 / 2)


def test_end_of_the_board() -> None:
    parallel, square = instrument(FAN).plan, instrument({**FAN, "fingerboard.end": "square"}).plan
    last = parallel.treble_ends[-1] - parallel.bass_ends[-1]
    end = parallel.outline[2] - parallel.outline[1]
    assert last[0] * end[1] - last[1] * end[0] == pytest.approx(0, abs=1e-9)
    assert square.outline[1, 0] == square.outline[2, 0] == pytest.approx(parallel.centre_x[-1] + 8)


def test_a_width_measured_at_a_fret() -> None:
    plan = instrument({"fingerboard.width_at_last_fret": None, "fingerboard.width_at": {"fret": 12, "width": 51}}).plan
    assert plan.taper.width(320.0) == pytest.approx(51)
    assert plan.taper.width(0.0) == 43


# -------------------------------------------------------------------------------------------------------- findings


def test_last_fret_beyond_the_end() -> None:
    made = instrument({"fingerboard.beyond_last_fret": -2})
    (told,) = found(made, "last-fret-beyond-end")
    assert told.level == "decide"
    half = made.spec.fret_wire.slot_width / 2
    assert f"slot reaches {2 + half:.2f} mm past the board's end" in told.message
    square = instrument({**FAN, "fingerboard.end": "square", "fingerboard.beyond_last_fret": 3})
    beyond = square.plan.bass_ends[-1, 0] - square.plan.outline[1, 0]
    run, across = square.plan.treble_ends[-1] - square.plan.bass_ends[-1]
    half *= np.hypot(run, across) / abs(across)  # along the centreline, of a slanted slot
    assert f"reaches {beyond + half:.2f} mm past" in found(square, "last-fret-beyond-end")[0].message
    assert not found(instrument(), "last-fret-beyond-end")


def test_a_nut_that_slants_much() -> None:
    steep = {**FAN, "scale.bass": 700, "scale.treble": 640, "scale.square_fret": 9}
    made = instrument(steep)
    lines = second(made)
    (x0, y0), (x1, y1) = lines.line(mpf(0))
    slant = float(mp.degrees(mp.atan2(x1 - x0, y1 - y0)))
    assert slant > 20
    (told,) = found(made, "nut-slant")
    assert f"stands {slant:.1f}° off square" in told.message
    assert not found(instrument(FAN), "nut-slant")


def test_a_string_near_the_edge() -> None:
    made = instrument({"nut.edge_margin": {"bass": 2.0, "treble": 3.2}})
    (told,) = found(made, "string-near-edge")
    assert told.level == "decide"
    assert "bass outer string lies 2.00 mm from the board's edge at the nut" in told.message
    wide = instrument({"bridge.string_spread": 56.5})
    x = wide.plan.centre_x[-1] + 8
    room = 43 / 2 + (55 - 43) / 2 * x / wide.plan.centre_x[-1] - abs(wide.plan.string_at(x)[-1]) - 1.15 / 2
    told = found(wide, "string-near-edge")[0]
    assert "bass outer" in told.message
    assert "at the board's end" in told.message
    assert f"{room:.2f} mm" in told.message
    assert not found(instrument(), "string-near-edge")


def test_inner_strings_off_their_place() -> None:
    far = {"scale.bass": 720, "scale.treble": 620, "scale.length": None, "scale.square_fret": 7}
    made = instrument({**far, "bridge.spacing": "equal_centre", "nut.spacing": "equal_gap"})
    worst = np.abs(made.plan.crossing_cents).max()
    assert worst > 1.5
    (told,) = found(made, "inner-string-off")
    assert f"{worst:.2f} cents" in told.message


def test_a_nut_too_slanted_to_be_made_is_a_problem() -> None:
    with pytest.raises(SpecError) as caught:
        instrument({**FAN, "scale.bass": 800, "scale.treble": 500, "scale.square_fret": 12})
    (problem,) = caught.value.problems
    assert problem.key == ("scale", "square_fret")
    assert "at most 45° can be made" in problem.message


# ------------------------------------------------------------------------------------------- a nut's width, both ways


def along(made: Instrument) -> float:
    """By shapely: the nut's line, far beyond both edges, cut to the board's own taper."""
    plan = made.plan
    a, b = plan.string_nut[0], plan.string_nut[-1]
    line = LineString([a + 9 * (a - b), b - 9 * (a - b)])
    x = np.array([-90.0, 90.0])
    half = (43 + plan.taper.slope * x) / 2
    board = Polygon([(x[0], -half[0]), (x[1], -half[1]), (x[1], half[1]), (x[0], half[0])])
    return line.intersection(board).length


@pytest.mark.parametrize("changes", [{}, FAN, {**FAN, "handedness": "left"}, {**FAN, "scale.bass": 690}])
def test_a_nut_given_along_its_edge_is_the_nut_given_across(changes: dict[str, Any]) -> None:
    across = instrument(changes)
    length = along(across)
    assert across.plan.width_along_nut == pytest.approx(length, abs=1e-9)
    told = instrument({**changes, "fingerboard.width_at_nut": None, "fingerboard.width_along_nut": length})
    assert told.plan.taper.at_nut == pytest.approx(43, abs=1e-7)
    assert told.plan.outline == pytest.approx(across.plan.outline, abs=1e-6)
    assert told.nut.along == pytest.approx(across.nut.along, abs=1e-6)
    assert told.frets.wire_cut == pytest.approx(across.frets.wire_cut, abs=1e-6)
    assert (length == pytest.approx(43, abs=1e-9)) == (not changes), "a square nut has one width"


def test_slanted_nuts_are_told_in_both_ways() -> None:
    """On the template and beside the slots' places; a square nut's are one."""
    made = instrument({**FAN, "fingerboard.width_at_nut": None, "fingerboard.width_along_nut": "1.75 in"})
    across = made.plan.taper.at_nut
    assert across < 44.4 < made.plan.width_along_nut == pytest.approx(44.45)
    (note,) = nut.places(made).notes
    assert f"Board at the nut: {across:.2f} mm ({across / 25.4:.3f} in) wide square to the centreline, 44.45 mm" in note
    drawn = (shape for layer in fret_template.draw(made).layers for shape in layer.shapes if isinstance(shape, Text))
    said = " ".join(shape.text for shape in drawn)
    assert f"{across:.2f} mm ({across / 25.4:.3f} in) wide square to the centreline, 44.45 mm (1.750 in) along" in said
    assert "square to the centreline, 4" not in " ".join(nut.places(instrument()).notes)
    board = labelled.numbers(work_of(made))["board"]
    assert (board["width_at_nut"], board["width_along_nut"]) == pytest.approx((across, 44.45))


@pytest.mark.parametrize(
    ("given_as", "says"),
    [
        ({"width_at_nut": 43, "width_along_nut": 47}, "both give the width at the nut; keep one of the two"),
        ({"width_at_nut": None}, "missing; for example: width_at_nut = 43.2"),
        ({"width_at_nut": None, "width_along_nut": 8}, "must be from 10 to 200 mm"),
        ({"width_at_nut": None, "width_along_nut": 18}, "width_along_nut = 18"),
    ],
)
def test_one_width_of_a_nut(given_as: dict[str, Any], says: str) -> None:
    changes = {f"fingerboard.{key}": value for key, value in given_as.items()}
    with pytest.raises(SpecError) as told:
        instrument({**FAN, **changes})
    assert says in str(told.value)
