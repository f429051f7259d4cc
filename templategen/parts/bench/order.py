"""The order of work: the steps that a job asks for, each made where it is done."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from templategen.document.model import Step
from templategen.instrument.model import Instrument
from templategen.parts.bench import at_the_ends, on_the_board
from templategen.parts.bench.files import Files
from templategen.parts.bench.making import Workplace
from templategen.parts.common.work import Work
from templategen.repair.work import asked
from templategen.repair.work import steps as keys

MAKES_DUST = ("radius", "slots", "level", "nut", "saddle")
MADE: dict[str, Callable[[Workplace], Step]] = {
    "record": on_the_board.record,
    "strings-off": on_the_board.strings_off,
    "frets-out": on_the_board.frets_out,
    "neck": on_the_board.neck,
    "radius": on_the_board.radius,
    "slots": on_the_board.slots,
    "frets-in": on_the_board.frets_in,
    "level": on_the_board.level,
    "nut": at_the_ends.nut,
    "saddle": at_the_ends.saddle,
    "strings-on": at_the_ends.strings_on,
    "setup": at_the_ends.setup,
    "offsets": at_the_ends.offsets,
    "check": at_the_ends.check,
    "record-left": at_the_ends.record_left,
}
"""How each step is made."""


def files(work: Work) -> Files:
    """The files of the job that its steps use."""
    return Files(work, keys(asked(work.bench)))


def steps(work: Work, of: Files | None = None) -> Iterator[Step]:
    """Every step that the job asks for, in the order in which one works; of: its files, where they were looked up."""
    making = Workplace(work, asked(work.bench), files(work) if of is None else of)
    for key in making.files.steps:
        yield MADE[key](making)


def tuning_text(i: Instrument) -> str:
    """The open strings, bass side first as one reads them off the headstock."""
    return " ".join(string.note.text for string in reversed(i.spec.strings.set))
