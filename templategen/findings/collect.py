"""Findings: what can be made but somebody should know, with the number and what to do."""

from __future__ import annotations

from collections.abc import Iterator

from templategen.errors import Finding
from templategen.findings.board import board_facts
from templategen.findings.catalogue import Fact, told
from templategen.findings.clearance import clearance_facts
from templategen.findings.nut import nut_facts
from templategen.findings.record import record_facts
from templategen.findings.remedy import remedy_facts
from templategen.findings.reradius import reradius_facts
from templategen.findings.saddle import saddle_facts
from templategen.findings.setup import setup_facts
from templategen.findings.slips import slip_facts
from templategen.findings.strings import core_facts, intonation_facts, load_facts, rest_facts
from templategen.findings.tools import block_facts, gauge_facts, mill_facts
from templategen.findings.wire import wire_facts
from templategen.repair.model import Bench


def collect(bench: Bench) -> tuple[Finding, ...]:
    """All findings of an instrument and of what is to be done to it: board first, then wire, nut and setup."""
    found = told(facts(bench), bench.instrument.spec.units)
    if bench.found is None:
        return found
    from templategen.findings.asfound import found_findings

    return (*found, *found_findings(bench))


def facts(bench: Bench) -> Iterator[Fact]:
    i = bench.instrument
    for rules in (
        board_facts,
        wire_facts,
        nut_facts,
        setup_facts,
        saddle_facts,
        clearance_facts,
        slip_facts,
        block_facts,
        gauge_facts,
        mill_facts,
    ):
        yield from rules(i)
    yield from reradius_facts(bench)
    yield from remedy_facts(bench)
    yield from record_facts(bench)
    yield from load_facts(i.loads)
    yield from core_facts(i)
    yield from rest_facts(i)
    yield from intonation_facts(i.spec, i.intonation)
