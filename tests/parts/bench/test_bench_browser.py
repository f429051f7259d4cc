"""The bench sheet in a browser: nothing serious by axe, nothing off the side of a phone, steps whole in print."""

from __future__ import annotations

import io
from pathlib import Path

import pdfplumber
import pytest
from browsing import chromium, grave, needs_chromium
from places import SPECS

from templategen import job
from templategen.parts.bench.bench_sheet import document
from templategen.parts.bench.order import steps
from templategen.writers import html

pytest.importorskip("playwright.sync_api")
pytest.importorskip("axe_playwright_python.sync_playwright")


@needs_chromium
def test_axe_phone_and_print(tmp_path: Path) -> None:
    with chromium() as browser:
        for name in ("fleet-07", "fleet-38", "fleet-41"):
            work = job.compute(str(SPECS / f"{name}.toml"))[1]
            path = tmp_path / f"{name}.html"
            path.write_bytes(html.encode(document(work)))
            page = browser.new_page(viewport={"width": 390, "height": 844})
            page.goto(path.as_uri())
            assert grave(page) == []
            assert page.evaluate("document.documentElement.scrollWidth") <= 390
            for paper in ("A4", "Letter"):
                with pdfplumber.open(io.BytesIO(page.pdf(format=paper))) as printed:
                    pages = [" ".join((sheet.extract_text() or "").split()) for sheet in printed.pages]
                for step in steps(work):
                    homes = [n for n, text in enumerate(pages) if step.title in text and step.goal[:40] in text]
                    assert homes, f"{step.key} is cut by a page"
            page.close()
