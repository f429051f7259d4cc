"""The catalogue: every code is used, called up and said whole; every sentence gets exactly its names."""

from __future__ import annotations

import ast
import re
import string
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from calls import CALLS
from making import work
from places import ROOT

from templategen.errors import Finding, OurBug
from templategen.findings.catalogue import Entry, catalogue, fact, told
from templategen.parts.register import part_names

RULES = [
    *sorted((ROOT / "templategen" / "findings").glob("*.py")),
    *sorted((ROOT / "templategen" / "parts").rglob("*.py")),
]


def names_in(template: str) -> set[str]:
    return {name for _, name, _, _ in string.Formatter().parse(template) if name is not None}


def names_of(entry: Entry) -> tuple[set[str], set[str]]:
    """(what every fact of the code must have, what it may have besides for one of its choices)."""
    may = set[str]()
    for choices in entry.words.choices.values():
        may |= {name for template in choices.values() for name in names_in(template)}
    in_cases = {name for template in entry.words.each.values() for name in names_in(template)}
    must = names_in(entry.says) | names_in(entry.do)
    may |= {name.partition(".")[0] for name in entry.past.split()[::2]}
    return must, may | {name for name in entry.words.choices if name not in in_cases}


def facts_in(module: Path) -> Iterator[tuple[str, set[str], bool]]:
    """Every call of ``fact`` with its code in plain words: (code, names given, whether more come from elsewhere)."""
    for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "fact":
            code = node.args[0]
            if isinstance(code, ast.Constant):
                names = {word.arg for word in node.keywords if word.arg is not None}
                yield code.value, names, any(word.arg is None for word in node.keywords)


def words_in(module: Path) -> set[str]:
    tree = ast.walk(ast.parse(module.read_text(encoding="utf-8")))
    return {node.value for node in tree if isinstance(node, ast.Constant) and isinstance(node.value, str)}


def test_every_code_is_used_and_none_is_missing() -> None:
    written = {code for module in RULES for code, _, _ in facts_in(module)}
    assert written <= set(catalogue()), "a rule's code is missing from the catalogue"
    anywhere = set().union(*(words_in(module) for module in RULES if module.name != "catalogue.py"))
    assert set(catalogue()) <= anywhere, "a code of the catalogue is used by no rule"
    assert set(CALLS) == set(catalogue()), "every code is called up"


def test_every_sentence_gets_exactly_its_names() -> None:
    for module in RULES:
        for code, given, more in facts_in(module):
            must, may = names_of(catalogue()[code])
            assert given <= must | may, f"{module.name}: {code} has no place for {given - must - may}"
            assert more or given >= must, f"{module.name}: {code} lacks {must - given}"


@cache
def findings() -> dict[str, list[tuple[Finding, Finding]]]:
    """What the calls find, by code: each in a job in mm and the same in one in inches."""
    by_code: dict[str, list[tuple[Finding, Finding]]] = {}
    for calls in CALLS.values():
        for changes, shop in calls:
            for each in work(changes, shop).findings:
                level = each.level if catalogue()[each.code].level == "rule" else None
                (inch,) = told([fact(each.code, each.key, level, **each.values)], "in")
                by_code.setdefault(each.code, []).append((each, inch))
    return by_code


@pytest.mark.parametrize("code", CALLS)
def test_every_code_says_all_that_it_can_say(code: str) -> None:
    found, entry = findings().get(code, []), catalogue()[code]
    assert found, "its call does not call it up"
    must, may = names_of(entry)
    said: dict[str, set[str]] = {}
    for finding, _ in found:
        values = finding.values
        assert must <= set(values) <= must | may
        assert "{" not in finding.message
        assert "  " not in finding.message
        assert re.match(r"[A-Z0-9]|slot-path|nut\.|fingerboard\.", finding.message)
        assert finding.message.endswith((".", "?"))
        cases = [case for value in values.values() if isinstance(value, list) for case in value]
        for case in [values, *(case for case in cases if isinstance(case, dict))]:
            for name in set(case) & set(entry.words.choices):
                choices = entry.words.choices[name]
                said.setdefault(name, set()).add(case[name] if case[name] in choices else "*")
        for name, template in entry.words.each.items():
            for case in values.get(name, []):
                chosen = (entry.words.choices[name].values() for name in names_in(template) & set(entry.words.choices))
                may_be = {name for templates in chosen for each in templates for name in names_in(each)}
                assert names_in(template) <= set(case) <= names_in(template) | may_be
    assert said == {name: set(choices) for name, choices in entry.words.choices.items()}, "not every word is said"


MM = re.compile(r"\d mm\b")
IN_BRACKETS_OR_SECOND = re.compile(r"\([\d.,x -]*\d mm\)|in, [\d.x ]+ mm")


@pytest.mark.parametrize("code", CALLS)
def test_an_inch_job_is_told_in_inches(code: str) -> None:
    for metric, inch in findings()[code]:
        rest = IN_BRACKETS_OR_SECOND.sub("", inch.message)
        assert not MM.search(rest), inch.message
        if MM.search(metric.message):
            assert re.search(r"\d in\b", inch.message), inch.message


@pytest.mark.parametrize("book", ["catalogue", "judgements"])
def test_what_is_to_be_decided_says_what_to_do_and_how_bad_it_is(book: str) -> None:
    for code, entry in catalogue(book).items():
        assert (entry.level == "note") == (entry.harm is None) == (not entry.do), code
        assert entry.harm in (None, "hurts", "fails", "poorer"), code


def test_levels_and_parts() -> None:
    for code, entry in catalogue().items():
        assert entry.level in ("note", "decide", "rule"), code
        assert set(entry.parts) <= set(part_names()), code
        assert entry.parts or entry.level == "note", f"{code} is to be decided, and no sheet says so"
        assert len(set(entry.parts)) == len(entry.parts)
    levels = {finding.level for finding, _ in findings()["thin-web"] + findings()["block-off-cone"]}
    assert levels == {"note", "decide"}


def test_numbers_stay_numbers() -> None:
    finding, inch = findings()["thin-nut"][0]
    assert finding.values == {"nut": 1.9, "least": 2.0}
    assert finding.message.startswith("The nut is only 1.90 mm (0.075 in) thick; under 2 mm it breaks")
    assert inch.message.startswith("The nut is only 0.075 in (1.90 mm) thick; under 0.08 in it breaks")
    (case, _) = findings()["slot-too-deep"][0][0].values["strings"][:2]
    assert case["string"] == (1, "E4")
    assert isinstance(case["depth"], float)


def test_a_fact_that_does_not_fit_is_our_bug() -> None:
    for wrong in (
        fact("no-such-code", "nut"),
        fact("thin-nut", "nut.thickness", nut=1.9),
        fact("thin-nut", "nut.thickness", "note", nut=1.9, least=2.0),
        fact("thin-web", "notched_strip.pin", web=1.0),
    ):
        with pytest.raises(OurBug):
            told([wrong], "mm")


def plain(value: Any) -> bool:
    if isinstance(value, dict):
        return all(plain(item) for item in value.values())
    return all(map(plain, value)) if isinstance(value, list | tuple) else type(value) in (int, float, str, bool)


def test_values_are_plain() -> None:
    """So that a page or a table can write them as they are: nothing of numpy's in them."""
    for found in findings().values():
        for finding, _ in found:
            assert plain(dict(finding.values)), finding.code
