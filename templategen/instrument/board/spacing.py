"""Where the strings sit side by side: margins, spreads, and the laws between the outer two.

All positions are measured square to the centreline, positive toward the treble side whatever the handedness; the plan
mirrors them for a left-handed instrument.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from templategen.instrument.arrays import Array


def courses_of(count: int, courses: Sequence[Sequence[int]] | None) -> list[list[int]]:
    """Zero-based string numbers course by course, treble side first; a string in no course is one of its own."""
    grouped = {string - 1: [s - 1 for s in course] for course in courses or () for string in course}
    found: list[list[int]] = []
    for string in range(count):
        course = grouped.get(string, [string])
        if string == course[0]:
            found.append(course)
    return found


def toward_bass(courses: list[list[int]]) -> Array:
    """Per string, 0 at the treble-side course rising to 1 at the bass-side course; shape (strings,)."""
    last = max(len(courses) - 1, 1)
    return np.array([place / last for place, course in enumerate(courses) for _ in course])


def positions(
    gauges: Array, courses: list[list[int]], course_gap: float, treble_outside: float, bass_outside: float, share: float
) -> Array:
    """String centres between two outer sides.

    gauges: shape (strings,), treble side first. treble_outside, bass_outside: the OUTSIDE of the outer strings, in mm
    from the centreline, positive toward the treble side. share: 0 for equal centre distances, 1 for equal clear gaps,
    between them the two positions mixed linearly. The strings of a course lie ``course_gap`` apart, side to side, and
    the law runs over courses as wholes. Returns the centres, shape (strings,).

    equal_gap: gap = (outer distance − half of each outer gauge − every inner gauge)/(N − 1), with a course counted as
    one string as wide as its strings and its inner gaps (plain arithmetic of the definitions).
    """
    widths = np.array([sum(gauges[s] for s in c) + course_gap * (len(c) - 1) for c in courses])
    gap = (treble_outside - bass_outside - widths.sum()) / max(len(courses) - 1, 1)
    by_gap = treble_outside - np.concatenate([[0.0], np.cumsum(widths[:-1] + gap)]) - widths / 2
    by_centre = np.linspace(by_gap[0], by_gap[-1], len(courses))
    middles = by_centre + share * (by_gap - by_centre)
    centres = np.empty(len(gauges))
    for middle, width, course in zip(middles, widths, courses, strict=True):
        side = middle + width / 2
        for string in course:
            centres[string] = side - gauges[string] / 2
            side -= gauges[string] + course_gap
    return centres


def outsides_of_spread(gauges: Array, spread: float, middle: float) -> tuple[float, float]:
    """The outer sides (treble, bass) of outer strings whose centres are ``spread`` apart about ``middle``."""
    return middle + spread / 2 + gauges[0] / 2, middle - spread / 2 - gauges[-1] / 2
