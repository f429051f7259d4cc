"""All parts, in the order their files are listed. A new part is one new room and one line here.

Rooms are imported when they are made, so that a 2D job never pays for the CAD kernel.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from importlib import import_module
from typing import Any

from templategen.findings.catalogue import Fact, told
from templategen.findings.collect import collect
from templategen.instrument.model import Instrument
from templategen.parts.common.product import Product, Sheet
from templategen.parts.common.work import Work
from templategen.repair.model import Bench


@dataclass(frozen=True)
class Part:
    """name: what ``--only`` takes. room: its module. finds: whether it has findings of its own. wants: what must have
    been measured for it to have anything to say."""

    name: str
    room: str
    finds: bool = False
    wants: str = ""

    def make(self, work: Work) -> tuple[Product, ...]:
        """What the part writes, its drawings with the findings to decide that touch it."""
        made: tuple[Product, ...] = import_module(f"templategen.parts.{self.room}").make(work)
        about = work.findings_for(self.name)
        told = tuple(finding.message for finding in about if finding.level == "decide")
        rests = tuple(dict.fromkeys(finding.est for finding in about if finding.est))
        return tuple(_with_decisions(replace(product, rests=rests), told) for product in made)

    def facts(self, instrument: Instrument) -> Iterable[Fact]:
        found: Iterable[Fact] = import_module(f"templategen.parts.{self.room}").findings(instrument)
        return found


SURVEY = "a survey that the spec names: survey = FILE (`templategen new-survey FILE` begins one)"

PARTS: tuple[Part, ...] = (
    Part("print-check", "sheet.print_check"),
    Part("fret-template", "board.fret_template"),
    Part("slot-outline", "board.slot_outline"),
    Part("slot-path", "board.slot_path"),
    Part("notched-strip", "board.notched_strip", finds=True),
    Part("toolpath", "mill.toolpath"),
    Part("setup", "machining.sheets"),
    Part("fingerboard", "board.fingerboard"),
    Part("nut", "nut.files"),
    Part("nut-spacing-strip", "nut.nut_spacing_strip"),
    Part("saddle", "saddle.profile"),
    Part("radius-block", "radius.radius_block", finds=True),
    Part("radius-gauge", "radius.radius_gauge", finds=True),
    Part("press-caul", "radius.press_caul"),
    Part("reradius", "repair.reradius", wants="the board as it was: [fingerboard.before], or a survey with [board]"),
    Part("as-found", "repair.as_found", wants=SURVEY),
    Part("clearance", "repair.clearance"),
    Part(
        "levelling",
        "repair.levelling",
        wants=f"the crowns, neck straight, along two lines or more: under_straightedge, or a rocker, and their height "
        f"over the wood, in [crowns] of {SURVEY}",
    ),
    Part(
        "setup-plan",
        "repair.setup_plan",
        wants=f"how it stands: relief, strings and crowns ([relief], [strings], [crowns]) in {SURVEY}",
    ),
    Part("cents-plot", "sheet.cents_plot"),
    Part("bench-sheet", "bench.bench_sheet"),
    Part("tables", "sheet.tables"),
)


def _with_decisions(product: Product, told: tuple[str, ...]) -> Product:
    if not told or not isinstance(product, Sheet):
        return product
    return replace(product, told=told)


def work(bench: Bench) -> Work:
    """The job with everything that somebody should know: the rules' findings, then every part's own."""
    own = (f for part in PARTS if part.finds for f in part.facts(bench.instrument))
    made = Work(bench, (*collect(bench), *told(own, bench.instrument.spec.units)))
    return replace(made, files=lambda: _files(made))


def _files(work: Work) -> list[dict[str, Any]]:
    """What has to be known of every file that somebody may get alone."""
    return [
        {"file": f"{product.stem}.{form}", "of_part": part.name, **product.about.record(), "rests_on": product.rests}
        for part in PARTS
        for product in part.make(work)
        if product.about is not None
        for form in product.formats
    ]


def wanted_by(name: str) -> str:
    """What must be measured for a part, empty where nothing must."""
    return next((part.wants for part in PARTS if part.name == name), "")


def part_names() -> tuple[str, ...]:
    return tuple(part.name for part in PARTS)
