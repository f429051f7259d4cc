"""What several values must be together.

Each check is a small generator of problems over the whole spec. Where some keys could not be read, the checks run on a
draft that lacks them (``table``), and a check that reaches for one of those ends there: its other problems are still
told. What only the computed geometry can tell is left to the instrument room.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TypeVar

from templategen.errors import Problem
from templategen.spec.checks import board, strings
from templategen.spec.checks import shop as shops
from templategen.spec.checks.common import Found
from templategen.spec.models import Shop, Spec
from templategen.spec.table import Table

_Checked = TypeVar("_Checked", bound=Table)


def of_spec(spec: Spec, whole: bool) -> list[Problem]:
    """The problems of a spec, or of the draft of one (``whole`` is False)."""
    return run((*board.CHECKS, *strings.CHECKS), spec, whole)


def of_shop(shop: Shop, whole: bool) -> list[Problem]:
    """The same for the shop file; keys are those of that file."""
    return run(shops.CHECKS, shop, whole)


def run(checks: Iterable[Callable[[_Checked], Found]], table: _Checked, whole: bool) -> list[Problem]:
    """The problems that ``checks`` find in a table, or in the draft of one."""
    problems: list[Problem] = []
    for check in checks:
        try:
            for problem in check(table):
                problems.append(problem)  # one by one, since the generator may end in an error after some
        except AttributeError:
            if whole:
                raise
    return problems
