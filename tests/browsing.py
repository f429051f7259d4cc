"""A real browser for tests: Chromium through Playwright, or a reason to skip."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
WAYS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
needs_chromium = pytest.mark.skipif(CHROMIUM is None, reason="there is no chromium")


@contextmanager
def chromium() -> Iterator[Any]:
    """A browser that is there while the context lasts."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        launched = playwright.chromium.launch(executable_path=CHROMIUM, args=WAYS)
        yield launched
        launched.close()


def grave(page: Any) -> list[str]:
    """What axe (the rules of the W3C's WCAG as a program) calls serious or critical."""
    from axe_playwright_python.sync_playwright import Axe

    found = Axe().run(page).response["violations"]
    return [f"{each['id']}: {each['nodes'][0]['html']}" for each in found if each["impact"] in ("serious", "critical")]
