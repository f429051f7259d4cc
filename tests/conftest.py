"""Properties are tried on the same cases every time; ``pytest --hypothesis-profile=random`` tries others."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("fixed", derandomize=True, deadline=None)
settings.register_profile("random", deadline=None, print_blob=True)
settings.load_profile("fixed")
