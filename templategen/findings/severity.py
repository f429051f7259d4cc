"""How bad it is that something is not decided, reckoned so that what is to be decided can be told worst first.

First by what comes of it (``harm`` of the catalogue): what breaks or takes wood away, then what cannot be used as it
comes out, then what plays, sounds or lasts less well. Of one kind, by how far the value lies past its limit, as a share
of that limit: wood of 0.4 mm where 0.8 is the least is 0.5 past it, a pull of 1,500 N where 1,000 is the most likewise.
What has no limit counts as 0 past it; of equals the order of the rules holds.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from templategen.errors import Finding, Harm, OurBug
from templategen.findings.limits import limits

HARMS: tuple[Harm, ...] = ("hurts", "fails", "poorer")
"""From the worst on."""


def worst_first(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    return tuple(sorted(findings, key=lambda each: (HARMS.index(each.harm or "poorer"), -each.past)))


def share_past(rule: str, values: Mapping[str, Any]) -> float:
    """How far past its limit, as a share of it; 0 without a rule, or within.

    rule: ``"wood under least"`` or ``"strings.tension over most"``, the worst case of a list; what is named is a value,
    or else a limit of the data. A value's sign does not count where it is over. Raises OurBug for what is neither.
    """
    if not rule:
        return 0.0
    try:
        what, way, least = rule.split()
        return max((_share(value, way, limit) for value, limit in _pairs(what, least, values)), default=0.0)
    except (KeyError, ValueError) as error:
        raise OurBug(f"cannot reckon {rule!r}: {error}") from error


def _pairs(what: str, least: str, values: Mapping[str, Any]) -> Iterator[tuple[float, float]]:
    """Each value with its limit, one pair for every case of a list."""
    listed, _, name = what.rpartition(".")
    for case in values[listed] if listed else (values,):
        yield float(case[name]), _limit(least, case, values)


def _limit(name: str, case: Mapping[str, Any], values: Mapping[str, Any]) -> float:
    own = name.rpartition(".")[2]
    for home in (case, values):
        if own in home:
            return float(home[own])
    return limits()[own].value


def _share(value: float, way: str, limit: float) -> float:
    if way not in ("under", "over"):
        raise ValueError(way)
    past = limit - value if way == "under" else abs(value) - limit
    return max(past / abs(limit), 0.0) if limit else 0.0
