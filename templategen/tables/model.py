"""A table as data: a title, columns of plain values, and for every kind of value the one way it is printed.

Terms
-----
column   one quantity of many rows; its key names it in files, its head names it to a person
kind     what the values are: it settles unit and places, so that one quantity never stands in two precisions
printed  a column as text: a length is two printed columns, mm and in, and one more where some cells are estimates
label    the columns, the first unless told otherwise, that name a row; repeated where a table is broken

Lengths come in two kinds. A ``length`` is sawn, sanded or set up with calipers and a rule: 0.01 mm and 0.001 in. A
``fine`` length is filed, measured with feelers or bought by the thousandth: 0.001 mm and 0.0001 in. An inch figure
always has one place more than that of mm.

>>> table = Table("demo", "Two strings", (column("string", "string", (1, 2), "count"),
...                                       column("action", "action", (1.6, 2.0), "length")))
>>> [(strip.line, strip.cells) for strip in table.printed()]
[('string', ('1', '2')), ('action, mm', ('1.60', '2.00')), ('in', ('0.063', '0.079'))]
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any, Literal, NamedTuple

from templategen.errors import OurBug
from templategen.units import cubic_inches, inches, mm_text, rule_text

Value = str | int | float | bool | None | tuple[float | None, ...]
Kind = Literal[
    "words", "flag", "count", "length", "fine", "volume", "angle", "cents", "force", "stress", "mass", "frequency",
    "percent", "number", "points",
]  # fmt: skip
ESTIMATED = "est."
ON_RULE = "1/64 in"


class Shown(NamedTuple):
    """One way of printing a number: the unit over it, the places, and what the value is turned into first."""

    unit: str
    places: int
    turn: Callable[[float], float]


def _as_it_is(value: float) -> float:
    return value


SHOWN: dict[Kind, tuple[Shown, ...]] = {
    "length": (Shown("mm", 2, _as_it_is), Shown("in", 3, inches)),
    "fine": (Shown("mm", 3, _as_it_is), Shown("in", 4, inches)),
    "volume": (Shown("cm³", 2, lambda mm3: mm3 / 1000), Shown("in³", 3, cubic_inches)),
    "angle": (Shown("°", 1, _as_it_is),),
    "cents": (Shown("cents", 2, _as_it_is),),
    "force": (Shown("N", 1, _as_it_is),),
    "stress": (Shown("N/mm²", 0, _as_it_is),),
    "mass": (Shown("g/m", 3, _as_it_is),),
    "frequency": (Shown("Hz", 2, _as_it_is),),
    "percent": (Shown("%", 0, lambda share: 100 * share),),
    "number": (Shown("", 2, _as_it_is),),
    "count": (Shown("", 0, _as_it_is),),
}
_IN_TWO_UNITS = tuple(kind for kind, ways in SHOWN.items() if len(ways) > 1)
_WORDS = ("words", "flag")


@dataclass(frozen=True)
class Column:
    """One quantity. Lengths are mm, volumes mm³, angles degrees, a percentage its share of 1.

    values: one per row; None, NaN and infinite print as ``missing``. group: a head over neighbouring columns that have
    the same. places: of numbers whose kind leaves them open; lengths take none. estimated: empty, or for each row
    whether the value rests on something that nobody measured; it is printed beside it as ``est.`` and kept in files
    under ``estimated_key``. ruled: a length that is laid out with a steel rule in inches, 64ths beside its thousandths.
    signed: whether a plus is printed too; of cents it is, unless told otherwise. axes: for
    ``points``, what each of a value's numbers is called in files; those are for files alone and not printed.
    Raises OurBug where flags do not fit the values, or places are given for a length.
    """

    key: str
    head: str
    values: tuple[Value, ...]
    kind: Kind = "words"
    group: str = ""
    places: int | None = None
    missing: str = ""
    estimated: tuple[bool, ...] = ()
    signed: bool | None = None
    axes: tuple[str, ...] = ()
    ruled: bool = False

    def __post_init__(self) -> None:
        if self.ruled and self.kind != "length":
            raise OurBug(f"{self.key}: no rule shows a {self.kind}")
        if self.estimated and len(self.estimated) != len(self.values):
            raise OurBug(f"{self.key}: {len(self.values)} values with {len(self.estimated)} marks")
        if self.places is not None and self.kind in _IN_TWO_UNITS:
            raise OurBug(f"{self.key}: the places of a {self.kind} are one rule for all")
        if (self.kind == "points") != bool(self.axes):
            raise OurBug(f"{self.key}: points have axes, and only they")

    @property
    def estimated_key(self) -> str:
        return f"{self.key}_estimated"

    @property
    def words(self) -> bool:
        return self.kind in _WORDS

    def text(self, row: int) -> str:
        """One value with its units written out: ``"1.90 mm (0.075 in) est."``."""
        if not self._known(row):
            return self.missing
        if self.words:
            return self._cell(row, None)
        ways = self._ways()
        texts = [_with_unit(self._cell(row, way), way.unit) for way in ways]
        said = texts[0] + "".join(f" ({text})" for text in texts[1:])
        return f"{said} {ESTIMATED}" if self.estimated and self.estimated[row] else said

    def printed(self) -> Iterator[Printed]:
        """The column as text, in one strip or more."""
        if self.kind == "points":
            return
        rows = range(len(self.values))
        if self.words:
            cells = tuple(self._cell(row, None) if self._known(row) else self.missing for row in rows)
            yield Printed(self.key, self.group, self.head, "", cells, words=True)
        for n, way in enumerate(self._ways()):
            gap = self.missing if n == 0 else ""
            cells = tuple(self._cell(row, way) if self._known(row) else gap for row in rows)
            yield Printed(self.key, self.group, self.head, way.unit, cells, first=n == 0)
        if self.ruled:
            cells = tuple(self._on_rule(row) if self._known(row) else "" for row in rows)
            yield Printed(self.key, self.group, self.head, ON_RULE, cells, first=False)
        if any(self.estimated):
            cells = tuple(ESTIMATED if mark else "" for mark in self.estimated)
            yield Printed(self.key, self.group, self.head, "", cells, words=True, first=False)

    def _on_rule(self, row: int) -> str:
        value = self.values[row]
        return rule_text(value) if isinstance(value, int | float) else ""

    def _ways(self) -> tuple[Shown, ...]:
        return () if self.words or self.kind == "points" else SHOWN[self.kind]

    def _known(self, row: int) -> bool:
        value = self.values[row]
        return value is not None and not (isinstance(value, float) and not math.isfinite(value))

    def _cell(self, row: int, way: Shown | None) -> str:
        value = self.values[row]
        if way is None:
            return ("yes" if value else "no") if isinstance(value, bool) else str(value)
        if isinstance(value, bool | str | tuple | None):
            raise OurBug(f"{self.key}: {value!r} is no {self.kind}")
        text = mm_text(way.turn(value), way.places if self.places is None else self.places)
        signed = self.kind == "cents" if self.signed is None else self.signed
        plus = signed and not text.startswith("-")
        return f"+{text}" if plus else text


def _with_unit(text: str, unit: str) -> str:
    return text + unit if unit in ("°", "%") else f"{text} {unit}".rstrip()


class Printed(NamedTuple):
    """A column of text with its head: what a writer sets.

    key: of the column it belongs to. group, head, unit: over each other. words: stands to the left, figures to the
    right. first: not one that goes on with the column before.
    """

    key: str
    group: str
    head: str
    unit: str
    cells: tuple[str, ...]
    words: bool = False
    first: bool = True

    @property
    def line(self) -> str:
        """The head in one line: ``"action, mm"``, then ``"in"``."""
        if not self.first:
            return self.unit
        return ", ".join(part for part in (f"{self.group} {self.head}".strip(), self.unit) if part)

    @property
    def name(self) -> str:
        """The head as it stands alone: ``"action, in"``."""
        return self._replace(first=True).line


@dataclass(frozen=True)
class Table:
    """Columns under one title.

    key: what asks for it, and the stem of its file. notes: sentences that explain columns, for under the table.
    labels: how many of the first columns name a row. upright: set a line for each column, its values with their units
    written out: for many quantities of one thing or two. Its first line is a head where it has a label.
    Raises OurBug where columns differ in length or share a key, or one that names rows prints as more than one.
    """

    key: str
    title: str
    columns: tuple[Column, ...]
    notes: tuple[str, ...] = ()
    labels: int = 1
    upright: bool = False

    def __post_init__(self) -> None:
        keys = [each.key for each in self.columns]
        if len(set(keys)) < len(keys):
            raise OurBug(f"{self.key}: two columns of one key among {', '.join(keys)}")
        if any(each.kind in _IN_TWO_UNITS or any(each.estimated) for each in self.columns[: self.labels]):
            raise OurBug(f"{self.key}: what names a row is one column of text")
        if len({len(each.values) for each in self.columns}) > 1:
            raise OurBug(f"{self.key}: columns differ in length")

    def __len__(self) -> int:
        return len(self.columns[0].values) if self.columns else 0

    def __getitem__(self, key: str) -> Column:
        for each in self.columns:
            if each.key == key:
                return each
        raise OurBug(f"{self.key} has no column {key}")

    def pick(self, *keys: str) -> tuple[Column, ...]:
        """These columns, in this order."""
        return tuple(self[key] for key in keys)

    def rows(self, first: int, last: int) -> Table:
        """The rows from ``first`` up to, not including, ``last``."""
        part = slice(first, last)
        cut = (replace(each, values=each.values[part], estimated=each.estimated[part]) for each in self.columns)
        return replace(self, columns=tuple(cut))

    def printed(self) -> tuple[Printed, ...]:
        return tuple(strip for each in self.columns for strip in each.printed())

    def lines(self) -> list[list[str]]:
        """Head and rows as text, heads in one line; an upright table's lines where it is one."""
        if self.upright:
            return self._upright()
        strips = self.printed()
        return [[strip.line for strip in strips], *(list(row) for row in zip(*(s.cells for s in strips), strict=True))]

    def _upright(self) -> list[list[str]]:
        return [[each.head, *(each.text(row) for row in range(len(self)))] for each in self.columns if not each.axes]

    def records(self) -> Iterator[dict[str, Value]]:
        """The rows as values by key, the marks of estimates beside what they mark."""
        for row in range(len(self)):
            record: dict[str, Value] = {}
            for each in self.columns:
                record[each.key] = each.values[row]
                if each.estimated:
                    record[each.estimated_key] = each.estimated[row]
            yield record

    def gathered(self) -> tuple[Table, tuple[str, ...]]:
        """The table without the columns whose every row says the same, and those as sentences to set under it.

        Labels, words and tables of fewer than three rows stay as they are; a column without any text just goes.
        """
        if self.upright or len(self) < 3:
            return self, ()
        kept, said = list(self.columns[: self.labels]), []
        for each in self.columns[self.labels :]:
            texts = {each.text(row) for row in range(len(self))}
            if each.words or len(texts) > 1:
                kept.append(each)
            elif text := texts.pop():
                said.append(f"{f'{each.group} {each.head}'.strip()} = {text}")
        alike = (f"The same in every row: {'; '.join(said).rstrip('.')}.",) if said else ()
        return replace(self, columns=tuple(kept)), alike


def column(
    key: str,
    head: str,
    values: Iterable[Any],
    kind: Kind = "words",
    *,
    group: str = "",
    places: int | None = None,
    missing: str = "",
    estimated: Iterable[bool] = (),
    signed: bool | None = None,
    axes: tuple[str, ...] = (),
    ruled: bool = False,
) -> Column:
    """A column of anything that can be walked through, numbers of arrays made plain; a row of an array is points."""
    plain = tuple(_plain(value) for value in values)
    marks = tuple(bool(mark) for mark in estimated)
    return Column(key, head, plain, kind, group, places, missing, marks, signed, axes, ruled)


def _plain(value: Any) -> Value:
    if hasattr(value, "tolist"):
        value = value.tolist()
    if isinstance(value, list | tuple):
        return tuple(_number(item) for item in value)
    return value if isinstance(value, str | int | float | bool | None) else _number(value)


def _number(value: Any) -> float | None:
    return None if value is None else float(value)
