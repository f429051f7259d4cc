"""A chart as plain data: panels one above the other, in each the same groups of values side by side.

It is not true to scale and knows no trade; the writer chooses its lines and its lettering.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Group:
    """Values over places, both of one length. firm: drawn full; the others hollow. note: stands over the values."""

    name: str
    places: tuple[int, ...]
    values: tuple[float, ...]
    firm: tuple[bool, ...]
    note: str


@dataclass(frozen=True, slots=True)
class Panel:
    """title: over the panel. unit: of the values. share: of the chart's height."""

    title: str
    unit: str
    groups: tuple[Group, ...]
    share: float = 1.0


@dataclass(frozen=True, slots=True)
class Chart:
    """ticks: places to be named under each group, the most wanted first; those that leave no room are left out.

    legend: how to read it, below the panels. trace: what it was made from.
    """

    title: str
    place_name: str
    ticks: tuple[int, ...]
    panels: tuple[Panel, ...]
    legend: tuple[str, ...]
    trace: str
