"""How the strings lie and sound, string by string, treble side first."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from templategen.repair.survey.tools import Reading, by_feelers, on_calipers, on_height_gauge, on_tuner
from templategen.spec.survey.models import StringReadings, Survey
from templategen.spec.survey.values import Reads

ReadPerString = tuple[Reading | None, ...]


@dataclass(frozen=True)
class StringsFound:
    """None where a string, or all of it, was not read.

    count: how many strings. at_nut: centres from the board's bass edge. first_fret: undersides over the first crown;
    pressed: the same, held down behind the third. action: over the crown of action_fret, with a capo on the first fret
    where capo is 1. cents: by fret, open strings 0.
    """

    count: int
    at_nut: ReadPerString | None
    first_fret: ReadPerString | None
    pressed: ReadPerString | None
    action: ReadPerString | None
    action_fret: int | None
    capo: int
    cents: dict[int, ReadPerString]


def strings_found(survey: Survey) -> StringsFound | None:
    strings, tools = survey.strings, survey.tools
    if strings is None:
        return None
    action = strings.action
    cents = strings.cents.by_number(survey.scale.fret_count) if strings.cents is not None else {}

    def feelers(reads: Reads) -> Reading:
        return by_feelers(reads, tools.feelers)

    return StringsFound(
        count=_count(strings),
        at_nut=_each(strings.at_nut, lambda reads: on_calipers(reads, tools.calipers)),
        first_fret=_each(strings.first_fret, feelers),
        pressed=_each(strings.pressed, feelers),
        action=None if action is None else _each(action.heights, lambda r: on_height_gauge(r, tools.height_gauge)),
        action_fret=None if action is None else action.fret,
        capo=0 if action is None else action.capo,
        cents={n: _each(reads, lambda r: on_tuner(r, tools.tuner)) or () for n, reads in cents.items()},
    )


def _each(readings: tuple[Reads, ...] | None, read: Callable[[Reads], Reading]) -> ReadPerString | None:
    return None if readings is None else tuple(read(reads) if reads else None for reads in readings)


def _count(strings: StringReadings) -> int:
    """How many strings there are, by the first list that says so; 0 where none does."""
    lists = [strings.set, strings.at_nut, strings.first_fret, strings.pressed]
    lists += [strings.action.heights] if strings.action is not None else []
    lists += [reads for _, reads in strings.cents.items] if strings.cents is not None else []
    return next((len(each) for each in lists if each is not None), 0)
