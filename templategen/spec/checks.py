"""What several values must be together. Each check is a small generator of problems."""

from __future__ import annotations

from templategen.errors import Key, Problem
from templategen.spec.models import Shop, Spec


def of_spec(spec: Spec, whole: bool) -> list[Problem]:
    return []


def of_shop(shop: Shop, whole: bool) -> list[Problem]:
    return []


def idle(spec: Spec) -> tuple[tuple[Key, str], ...]:
    return ()
