"""Tails of Student's, Fisher's and the χ² distribution, from the incomplete beta and gamma functions.

Continued fractions (NIST Digital Library of Mathematical Functions, 8.17.22, 8.9.2) and a series (8.7.1) in plain
numbers: a survey asks for a few dozen of them, and a library of all functions takes longer to load than the whole job.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import count
from math import exp, lgamma, log, log1p

FINE = 1e-16
TINY = 1e-300


def beta_share(x: float, a: float, b: float) -> float:
    """The regularised incomplete beta function I_x(a, b), 0 ≤ x ≤ 1."""
    if x <= 0 or x >= 1:
        return float(x >= 1)
    if x > (a + 1) / (a + b + 2):  # where the fraction of the complement settles sooner (8.17.4)
        return 1 - beta_share(1 - x, b, a)
    front = exp(lgamma(a + b) - lgamma(a) - lgamma(b) + a * log(x) + b * log1p(-x)) / a

    def parts() -> Iterator[tuple[float, float]]:
        for m in count():
            if m:
                yield m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m)), 1.0
            yield -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1)), 1.0

    return front / _fraction(1.0, parts())


def gamma_tail(a: float, x: float) -> float:
    """The regularised upper incomplete gamma function Q(a, x)."""
    if x <= 0:
        return 1.0
    front = exp(a * log(x) - x - lgamma(a))
    if x < a + 1:
        term = total = 1 / a
        for k in count(1):
            term *= x / (a + k)
            total += term
            if term < FINE * total:
                return 1 - front * total
    return front / _fraction(x + 1 - a, ((-k * (k - a), x + 2 * k + 1 - a) for k in count(1)))


def _fraction(first: float, parts: Iterator[tuple[float, float]]) -> float:
    """b0 + a1/(b1 + a2/(b2 + …)) of (a, b) in order, by the method of Lentz (W. J. Lentz, *Appl. Opt.* 15, 1976)."""
    value = up = first or TINY
    down = 0.0
    for a, b in parts:
        down = 1 / ((b + a * down) or TINY)
        up = (b + a / up) or TINY
        value *= up * down
        if abs(up * down - 1) < FINE * 4:
            return value
    return value


def student_tail(t: float, dof: float) -> float:
    """How likely Student's t is over ``t``, which is not negative."""
    return beta_share(dof / (dof + t * t), dof / 2, 0.5) / 2


def student_over(tail: float, dof: float) -> float:
    """The t that is exceeded with the chance ``tail``, below one half: found by halving."""
    low, high = 0.0, 1.0
    while student_tail(high, dof) > tail:
        high *= 2
    while (middle := (low + high) / 2) not in (low, high):
        if student_tail(middle, dof) > tail:
            low = middle
        else:
            high = middle
    return high


def fisher_tail(f: float, above: float, below: float) -> float:
    """How likely F of (above, below) degrees of freedom is over ``f``."""
    return beta_share(below / (below + above * f), below / 2, above / 2)


def chi_square_tail(value: float, dof: float) -> float:
    """How likely χ² is over ``value``."""
    return gamma_tail(dof / 2, value / 2)
