"""What a string does to the saddle that it is bent over.

A string of tension T that falls by α in front of the saddle and by β behind it pulls with T along both ways. The sum of
the two (statics; both angles against the bridge's top) is 2T·sin((α + β)/2), of which T(sin α + sin β) goes down and
T(cos α − cos β) toward the nut. A saddle that leans its top away from the nut by (β − α)/2 stands along the sum, and
nothing tips it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True)
class Force:
    """Newtons; lean_deg: of a saddle that the string does not tip, its top away from the nut."""

    whole: float
    down: float
    toward_nut: float
    lean_deg: float


def force_on(tension: float, front_deg: float, behind_deg: float) -> Force:
    """tension in N; how far the string falls in front of the saddle and behind it, degrees."""
    front, behind = math.radians(front_deg), math.radians(behind_deg)
    return Force(
        whole=2 * tension * math.sin((front + behind) / 2),
        down=tension * (math.sin(front) + math.sin(behind)),
        toward_nut=tension * (math.cos(front) - math.cos(behind)),
        lean_deg=(behind_deg - front_deg) / 2,
    )
