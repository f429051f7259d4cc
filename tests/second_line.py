"""A second computation of the string line and the nut's floors, from the text of a spec alone, in 30 digits.

It shares no code with the package: it reads plain mm specs with ``tomllib``, places strings and frets by solving linear
systems, and solves each string's line from two conditions. What it computes is described in the project's own terms:
heights over the crowns, and floors over the board and over the seat.
"""

from __future__ import annotations

from typing import Any

from mpmath import mp, mpf

mp.dps = 30

Row = dict[str, Any]


def solved(*rows: tuple[Any, ...]) -> list[Any]:
    """Unknowns of a linear system, one row each: coefficients and the right-hand side last."""
    matrix = mp.matrix([[mpf(v) for v in row[:-1]] for row in rows])
    return list(mp.lu_solve(matrix, mp.matrix([mpf(row[-1]) for row in rows])))


def strings(spec: Row) -> list[Row]:
    """Per string, treble side first: the three heights at the nut, action, slope, witness and floors."""
    board = _Board(spec)
    return [board.line(n) for n in range(len(board.gauges))]


class _Board:
    def __init__(self, spec: Row) -> None:
        self.spec = spec
        self.scale, self.setup, self.nut = spec["scale"], spec["setup"], spec["nut"]
        self.side = -1 if spec.get("handedness") == "left" else 1
        self.gauges = [mpf(s["gauge"]) for s in spec["strings"]["set"]]
        count = len(self.gauges)
        paired = {n - 1: [m - 1 for m in course] for course in spec["strings"].get("courses", []) for n in course}
        self.courses = [c for n in range(count) if (c := paired.get(n, [n]))[0] == n]
        self.frets = self.scale["fret_count"]
        self.lay_strings()
        self.wire = spec.get("fret_wire", {})
        self.crown_height = mpf(self.wire.get("crown_height", 1.1))
        zero = self.scale.get("zero_fret", False)
        self.zero_height = None
        if zero:
            self.zero_height = mpf(zero.get("crown_height", self.crown_height)) if isinstance(zero, dict) else None
            self.zero_height = self.zero_height or self.crown_height

    # ------------------------------------------------------------------------------------------------- the plan

    def across(self, treble: Any, bass: Any, gap: Any, share: Any) -> list[Any]:
        """Centres between two outer sides: courses and the gap between them from one linear system."""
        widths = [sum(self.gauges[s] for s in c) + gap * (len(c) - 1) for c in self.courses]
        n = len(widths)
        by_gap_rows, by_centre_rows = [], []
        for i in range(n - 1):
            row = [0] * (n + 1)
            row[i], row[i + 1] = 1, -1
            row[n] = -1
            by_gap_rows.append((*row, (widths[i] + widths[i + 1]) / 2))
            by_centre_rows.append((*row, 0))
        first, last = [0] * (n + 1), [0] * (n + 1)
        first[0], last[n - 1] = 1, 1
        ends = ((*first, treble - widths[0] / 2), (*last, bass + widths[-1] / 2))
        by_gap, by_centre = solved(*by_gap_rows, *ends)[:n], solved(*by_centre_rows, *ends)[:n]
        centres = [mpf(0)] * len(self.gauges)
        for a, b, width, course in zip(by_gap, by_centre, widths, self.courses, strict=True):
            edge = share * a + (1 - share) * b + width / 2
            for s in course:
                centres[s] = edge - self.gauges[s] / 2
                edge -= self.gauges[s] + gap
        return centres

    def lay_strings(self) -> None:
        nut, bridge, board = self.nut, self.spec["bridge"], self.spec["fingerboard"]
        law = {"equal_gap": 1, "equal_centre": 0}
        share = [mpf(law.get(v, v)) for v in (nut.get("spacing", "equal_gap"), bridge.get("spacing", "equal_centre"))]
        first, last = self.gauges[0] / 2, self.gauges[-1] / 2
        if "string_spread" in nut:
            treble, bass = nut["string_spread"] / mpf(2) + first, -nut["string_spread"] / mpf(2) - last
        else:
            margin = nut["edge_margin"]
            sides = margin if isinstance(margin, dict) else {"bass": margin, "treble": margin}
            half = mpf(board["width_at_nut"]) / 2
            treble, bass = half - mpf(sides["treble"]), mpf(sides["bass"]) - half
        at_nut = self.across(treble, bass, mpf(nut.get("course_gap", 1.6)), share[0])
        middle, spread = mpf(bridge.get("offset", 0)), mpf(bridge["string_spread"])
        sides_at_saddle = middle + spread / 2 + first, middle - spread / 2 - last
        at_saddle = self.across(*sides_at_saddle, mpf(bridge.get("course_gap", 2.0)), share[1])
        length_b = mpf(self.scale.get("bass", self.scale.get("length")))
        length_t = mpf(self.scale.get("treble", self.scale.get("length")))
        square = self.fraction(self.scale.get("square_fret", 7)) if "bass" in self.scale else 0
        part = -at_nut[-1] / (at_nut[0] - at_nut[-1])  # of the way from bass to treble, at the centreline
        b, t = solved((1, -1, (length_t - length_b) * square), (1 - part, part, 0))
        self.bass = (b, at_nut[-1], b + length_b, at_saddle[-1])
        self.treble = (t, at_nut[0], t + length_t, at_saddle[0])
        self.run = []
        for y0, y1 in zip(at_nut, at_saddle, strict=True):
            x0, x1 = (self.on_line(f, y) for f, y in ((mpf(0), y0), (mpf(1), y1)))
            self.run.append((x0, y0, x1, y1))

    def fraction(self, fret: Any) -> Any:
        if "fret_cents" in self.scale:
            return 1 - mpf(2) ** (-mpf(self.scale["fret_cents"][fret - 1]) / 1200) if fret else mpf(0)
        return 1 - mpf(2) ** (-mpf(fret) / self.scale.get("steps_per_octave", 12))

    def ends(self, f: Any) -> tuple[Any, Any, Any, Any]:
        """A fret line's points on the bass and on the treble string."""
        (bx, by, cx, cy), (tx, ty, ux, uy) = self.bass, self.treble
        return bx + f * (cx - bx), by + f * (cy - by), tx + f * (ux - tx), ty + f * (uy - ty)

    def on_line(self, f: Any, y: Any) -> Any:
        """x where a fret line has a given y."""
        bx, by, tx, ty = self.ends(f)
        return bx + (y - by) / (ty - by) * (tx - bx)

    def crossing(self, fret: int, string: int) -> tuple[Any, Any]:
        """Where a fret meets a string: point + u·line = point + v·string."""
        bx, by, tx, ty = self.ends(self.fraction(fret))
        x0, y0, x1, y1 = self.run[string]
        _, v = solved((tx - bx, -(x1 - x0), x0 - bx), (ty - by, -(y1 - y0), y0 - by))
        return x0 + v * (x1 - x0), y0 + v * (y1 - y0)

    def station(self, fret: int) -> Any:
        return self.on_line(self.fraction(fret), mpf(0))

    # ---------------------------------------------------------------------------------------------- the surfaces

    def radius(self, x: Any) -> Any:
        board = self.spec["fingerboard"]
        if "radius_at_nut" in board:
            start, end = mpf(board["radius_at_nut"]), mpf(board["radius_at_last_fret"])
            return start + (end - start) * x / self.station(self.frets)
        return None if board["radius"] == "flat" else mpf(board["radius"])

    def arc(self, radius: Any, y: Any) -> Any:
        return mpf(0) if radius is None else mp.sqrt(radius**2 - y**2) - radius

    def sag(self, x: Any) -> Any:
        relief = self.setup.get("relief", 0)
        table = relief if isinstance(relief, dict) else {"depth": relief}
        a, b = self.station(table.get("from", 1)), self.station(table.get("to", self.frets))
        deep, t = mpf(table["depth"]), (x - a) / (b - a)
        if t < 0:  # the parabola's tangents: 4·d·(1 − 2t) at t = 0 and at t = 1
            return 4 * deep * t
        return -4 * deep * (t - 1) if t > 1 else 4 * deep * (t - t**2)

    def strung(self, x: Any, y: Any) -> Any:
        return self.arc(self.radius(x), y) - self.sag(x)

    def crown(self, fret: int, string: int) -> tuple[Any, Any]:
        """x and height of the crown under a string."""
        x, y = self.crossing(fret, string)
        height = self.zero_height if fret == 0 else self.crown_height
        radius = self.radius(x)
        z = height if radius is None else mp.sqrt((radius + height) ** 2 - y**2) - radius
        fall = self.setup.get("fall_away")
        dropped = mpf(0)
        if fall:
            a, b = self.station(fall["from"]), self.station(self.frets)
            dropped = max(mpf(0), mpf(fall["drop"]) * (x - a) / (b - a))
        return x, z - self.sag(x) - dropped

    # -------------------------------------------------------------------------------------------------- the line

    def per_string(self, value: Any, string: int) -> Any:
        if isinstance(value, list):
            return mpf(value[string])
        if not isinstance(value, dict):
            return mpf(value)
        place = next(n for n, course in enumerate(self.courses) if string in course)
        bass, treble = mpf(value["bass"]), mpf(value["treble"])
        return treble + (bass - treble) * place / (len(self.courses) - 1)

    def line(self, string: int) -> Row:
        """z = p + q·x from a condition at the nut and one at the action's fret."""
        x0, y0, xs, ys = self.run[string]
        shift = mpf(0) if self.zero_height else self.per_string(self.nut.get("compensation", 0), string)
        xw, yw = x0 + shift, y0 + (ys - y0) * shift / (xs - x0)
        (x1, z1), (x2, z2) = self.crown(1, string), self.crown(2, string)
        action = self.setup["action"]
        xk, zk = self.crown(action["fret"], string)
        value = self.per_string(action.get("strings", action), string)
        if action.get("capo"):
            p, q = solved((1, x1, z1), (1, xk, zk + value))
            far = (1, xs, p + q * xs)
        else:
            far = (1, xk, zk + value)
        if self.zero_height:
            near: tuple[Any, ...] = (1, *self.crown(0, string))
        elif "first_fret_clearance" in self.setup:
            near = (1, x1, z1 + self.per_string(self.setup["first_fret_clearance"], string))
        elif "nut_over_crowns" in self.setup:
            p, q = solved((1, x1, z1), (1, x2, z2))
            near = (1, xw, p + q * xw + self.per_string(self.setup["nut_over_crowns"], string))
        else:  # held on the floor z₀ at x_w and on the second crown, the string passes the first crown by the gap
            gap = self.per_string(self.setup["pressed_gap"], string)
            p, q = solved((1, x2, z2), (1, x1, z1 + gap))
            near = (1, xw, p + q * xw)
        p, q = solved(near, far)
        z0 = p + q * xw
        over, slope = solved((1, x1, z1), (1, x2, z2))
        held, held_slope = solved((1, xw, z0), (1, x2, z2))
        floor = z0
        if self.zero_height:
            floor = self.crown(0, string)[1] - mpf(self.nut.get("below_zero_crown", 0.5))
            behind = self.on_line(mpf(0), mpf(1)) - self.on_line(mpf(0), mpf(0))  # slope of the nut's line, per mm of y
            _, yw, xw = solved((1, -behind, 0, -mpf(self.nut.get("behind_zero_fret", 4))),
                               (1, 0, -1, 0), (0, (xs - x0), -(ys - y0), y0 * (xs - x0) - x0 * (ys - y0)))  # fmt: skip
        seat = self.nut.get("seat_depth", self.spec["fingerboard"].get("thickness"))
        above = floor - self.strung(mpf(0), mpf(0))
        return {
            "witness_z": z0,
            "slope": q,
            "first_fret_clearance": p + q * x1 - z1,
            "nut_over_crowns": z0 - over - slope * xw if not self.zero_height else z0 - over - slope * x0,
            "pressed_gap": held + held_slope * x1 - z1 if not self.zero_height else self.held_on_zero(string),
            "floor_above_board": above,
            "floor_above_seat": above + mpf(seat),
            "floor_above_board_here": floor - self.strung(xw, yw),
            "saddle": p + q * xs,
            "nut_y": self.side * (yw if self.zero_height else y0),
        }

    def held_on_zero(self, string: int) -> Any:
        (x0, z0), (x1, z1), (x2, z2) = (self.crown(n, string) for n in (0, 1, 2))
        p, q = solved((1, x0, z0), (1, x2, z2))
        return p + q * x1 - z1
