"""What was measured: ``as_found`` of numbers.json, ``as_left`` the same way, and as-found.csv."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from templategen.repair.survey.board import BoardFound, Round
from templategen.repair.survey.crowns import CrownsFound
from templategen.repair.survey.found import AsFound
from templategen.repair.survey.frets import FretsFound
from templategen.repair.survey.relief import ReliefFound
from templategen.repair.survey.strings import ReadPerString, StringsFound
from templategen.repair.survey.tools import K, Reading
from templategen.tables.model import Table, column

FILE_KEYS = ("what", "line", "fret_or_string", "value", "pm", "off", "off_cents", "low", "high", "outlier")


def numbers(found: AsFound | None) -> dict[str, Any] | None:
    """Lengths in mm, pm expanded (k = 2); null where nothing was read."""
    if found is None:
        return None
    return {
        **_frets(found.frets),
        **_board(found.board),
        "relief": _relief(found.relief),
        "crowns": _crowns(found.crowns),
        "strings": _strings(found.strings),
    }


def _frets(frets: FretsFound | None) -> dict[str, Any]:
    if frets is None:
        return dict.fromkeys(("scale_length", "scale_length_pm", "nut_shift", "nut_shift_pm", "rule")) | {"frets": []}

    def by_line(values: dict[str, Any]) -> Any:
        return values if frets.multi_scale else next(iter(values.values()))

    lines = frets.by_name
    return {
        "scale_length": by_line({name: line.scale.value for name, line in lines.items()}),
        "scale_length_pm": by_line({name: line.scale.pm for name, line in lines.items()}),
        "nut_shift": by_line({name: line.shift and line.shift.value for name, line in lines.items()}),
        "nut_shift_pm": by_line({name: line.shift and line.shift.pm for name, line in lines.items()}),
        "square_fret": frets.square_fret and frets.square_fret.value,
        "square_fret_pm": frets.square_fret and frets.square_fret.pm,
        "rule": by_line({name: line.rule.words for name, line in lines.items()}),
        "frets": [
            {
                "fret": fret.fret,
                "line": name,
                "read": fret.read,
                "fitted": fret.fitted,
                "off": fret.off,
                "off_pm": 2 * fret.u_off,
                "off_cents": fret.off_cents,
                "outlier": fret.outlier,
            }
            for name, line in lines.items()
            for fret in line.frets
        ],
    }


def _board(board: BoardFound | None) -> dict[str, Any]:
    found = board.round if board is not None else None
    numbers: dict[str, Any] = {
        "radius": [
            {"fret": station.fret, "how": station.how, **_round(station.round)}
            for station in (found.stations if found is not None else ())
        ],
        "shape": found.shape if found is not None else None,
    }
    if found is not None and found.conical and found.at_nut is not None and found.at_last is not None:
        numbers |= {"radius_at_nut": _round(found.at_nut), "radius_at_last_fret": _round(found.at_last)}
    elif found is not None:
        numbers["radius_all"] = _round(found.all)
    for name in ("width", "thickness", "slot_depth", "slot_width", "wear_depth"):
        numbers[name] = [
            {"fret": fret, **_reading(each)}
            for fret, each in (getattr(board, name) if board is not None else {}).items()
        ]
    return numbers


def _round(found: Round) -> dict[str, float | None]:
    return {
        name: None if math.isinf(value) else value
        for name, value in (("radius", found.radius), ("low", found.low), ("high", found.high))
    }


def _relief(relief: ReliefFound | None) -> dict[str, Any] | None:
    if relief is None:
        return None
    return {
        "depth": relief.depth.value,
        "pm": relief.depth.pm,
        "at": relief.at,
        "s_shaped": relief.s_shaped,
        "gaps": [{"fret": gap.fret, **_reading(gap.read), "off": gap.off} for gap in relief.gaps],
    }


def _crowns(crowns: CrownsFound | None) -> list[dict[str, Any]]:
    if crowns is None:
        return []
    return [
        {
            "line": line,
            "fret": int(fret),
            "z": crowns.z[row, column],
            "z_pm": crowns.z_pm[row, column],
            "height": crowns.height[row, column],
            "width": crowns.width[row, column],
            "wear": crowns.wear[row, column],
        }
        for column, line in enumerate(crowns.lines)
        for row, fret in enumerate(crowns.frets)
        if any(math.isfinite(each[row, column]) for each in (crowns.z, crowns.height, crowns.width))
    ]


def _strings(strings: StringsFound | None) -> list[dict[str, Any]]:
    if strings is None:
        return []

    def of(values: ReadPerString | None, n: int) -> dict[str, float | None] | None:
        reading = values[n] if values is not None else None
        return None if reading is None else _reading(reading)

    return [
        {
            "string": n + 1,
            "at_nut": of(strings.at_nut, n),
            "first_fret": of(strings.first_fret, n),
            "pressed": of(strings.pressed, n),
            "action": of(strings.action, n),
            "cents": {str(fret): of(values, n) for fret, values in strings.cents.items()},
        }
        for n in range(strings.count)
    ]


def _reading(reading: Reading) -> dict[str, float | None]:
    return {"value": reading.value, "pm": reading.pm}


def file(found: AsFound) -> Table:
    """as-found.csv: every number with its ±, one a line; mm, cents where the key says so."""
    rows = [(*row, *(None,) * (len(FILE_KEYS) - len(row))) for row in _rows(found)]
    columns = (column(key, key, (row[n] for row in rows)) for n, key in enumerate(FILE_KEYS))
    return Table("as-found", "As found", tuple(columns), labels=3)


def _rows(found: AsFound) -> Iterator[tuple[Any, ...]]:
    frets, board, relief, crowns, strings = found.frets, found.board, found.relief, found.crowns, found.strings
    for line in frets.lines if frets is not None else ():
        yield "scale", line.line, None, line.scale.value, line.scale.pm
        if line.shift is not None:
            yield "nut_shift", line.line, None, line.shift.value, line.shift.pm
        for f in line.frets:
            outlier = "yes" if f.outlier else "no"
            yield "fret", line.line, f.fret, f.read, K * f.u, f.off, f.off_cents, None, None, outlier
    for station in board.round.stations if board is not None and board.round is not None else ():
        r = station.round
        yield "radius", station.how, station.fret, r.radius, None, None, None, r.low, r.high
    if relief is not None:
        yield "relief", "", relief.at, relief.depth.value, relief.depth.pm
    if crowns is not None:
        for n, name in enumerate(crowns.names):
            for row, fret in enumerate(crowns.frets):
                yield "crown", name, int(fret), crowns.z[row, n], crowns.z_pm[row, n]
                yield "crown_height", name, int(fret), crowns.height[row, n]
    if strings is not None:
        for what in ("first_fret", "pressed", "action"):
            for n, each in enumerate(getattr(strings, what) or ()):
                if each is not None:
                    yield what, "", n + 1, each.value, each.pm
