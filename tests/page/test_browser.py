"""The page in a real browser: with the keyboard, with slips, in two windows, on a phone, printed, checked by axe."""

from __future__ import annotations

import difflib
import json
import os
import re
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from browsing import chromium, grave, needs_chromium
from places import ROOT, SPECS

pytest.importorskip("playwright.sync_api")
pytestmark = needs_chromium


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("page") / "specs"
    folder.mkdir()
    for name in ("fleet-07.toml", "fleet-26.toml", "shop.toml"):
        (folder / name).write_bytes((SPECS / name).read_bytes())
    shutil.copytree(SPECS / "surveys", folder / "surveys")
    return folder


@pytest.fixture(scope="module")
def address(home: Path) -> Iterator[str]:
    words = [sys.executable, "-m", "templategen", "open", str(home), "--no-browser", "--out", str(home.parent / "out")]
    env = {**os.environ, "PYTHONPATH": os.pathsep.join([str(ROOT), *sys.path])}
    running = subprocess.Popen(words, stdout=subprocess.PIPE, text=True, env=env)
    assert running.stdout is not None
    found = re.search(r"http://127\.0\.0\.1:\d+/#\S+", running.stdout.readline())
    assert found
    yield found.group(0)
    running.terminate()
    running.wait(timeout=10)


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with chromium() as launched:
        yield launched


@pytest.fixture
def page(browser: Any, address: str) -> Iterator[Any]:
    context = browser.new_context(viewport={"width": 1300, "height": 900}, bypass_csp=True)
    fresh = context.new_page()
    said: list[str] = []
    fresh.on("pageerror", lambda error: said.append(str(error)))
    fresh.goto(address)
    fresh.wait_for_selector(".jobs button")
    yield fresh
    assert said == []
    context.close()


def until(holds: Callable[[], bool], seconds: float = 15.0) -> None:
    end = time.monotonic() + seconds
    while not holds():
        assert time.monotonic() < end, "it did not come to pass"
        time.sleep(0.05)


def opened(page: Any, name: str) -> None:
    page.get_by_role("button", name=name).click()
    page.wait_for_selector("#drawn img")


def drawn(page: Any, name: str) -> str:
    return str(page.get_attribute(f'figure[data-drawing="{name}"] img', "src"))


def test_what_belongs_to_a_job_waits_for_one(page: Any) -> None:
    assert page.locator("nav").is_hidden()
    opened(page, "fleet-26.toml")
    assert page.locator("nav").is_visible()
    assert page.locator("#start").is_hidden()


def test_a_change_is_drawn_told_and_saved_as_one_line(page: Any, home: Path) -> None:
    before = (home / "fleet-07.toml").read_text(encoding="utf-8")
    opened(page, "fleet-07.toml")
    nut, board = drawn(page, "nut"), drawn(page, "board")
    page.fill("#f-fingerboard-width_at_nut", "43.9")
    until(lambda: drawn(page, "nut") != nut)
    assert drawn(page, "board") != board
    assert "not saved" in page.inner_text("#state")
    page.fill("#f-nut-thickness", "340")
    until(lambda: "problem" in page.inner_text("#state"))
    told = page.locator('.row[data-path="nut.thickness"] .told.problem')
    assert "must be from 1 to 30 mm" in told.inner_text()
    assert page.locator("#drawn.old img").count() == 5, "the last good drawings stay, with a sign"
    page.fill("#f-nut-thickness", "3.4")
    until(lambda: page.locator("#drawn.old").count() == 0)
    page.keyboard.press("Control+s")
    until(lambda: page.inner_text("#state") == "saved")
    after = (home / "fleet-07.toml").read_text(encoding="utf-8")
    changed = [line for line in difflib.ndiff(before.splitlines(), after.splitlines()) if line[0] in "+-"]
    assert changed == ["- width_at_nut       = 43.2", "+ width_at_nut       = 43.9"]


def test_the_text_and_its_lines(page: Any) -> None:
    opened(page, "fleet-26.toml")
    page.click("#as-text")
    text = page.input_value("#text")
    page.fill("#text", text.replace("[nut]", "[nutt]"))
    until(lambda: "problem" in page.inner_text("#state"))
    line = next(n for n, each in enumerate(text.splitlines(), 1) if each.startswith("[nut]"))
    page.get_by_role("button", name=f"fleet-26.toml line {line}").first.click()
    start, end = page.evaluate("[document.activeElement.selectionStart, document.activeElement.selectionEnd]")
    assert page.input_value("#text")[start:end].startswith("[nutt]")
    page.fill("#text", text)
    until(lambda: "problem" not in page.inner_text("#state"))


def test_two_windows_do_not_overwrite_each_other_unasked(page: Any, address: str, home: Path) -> None:
    opened(page, "fleet-26.toml")
    second = page.context.new_page()
    second.goto(address)
    second.wait_for_selector(".jobs button")
    opened(second, "fleet-26.toml")
    for window, thickness in ((page, "3.31"), (second, "3.32")):
        window.fill("#f-nut-thickness", thickness)
        until(lambda window=window: "not saved" in window.inner_text("#state"))  # type: ignore[misc]
    page.keyboard.press("Control+s")
    until(lambda: page.inner_text("#state") == "saved")
    second.keyboard.press("Control+s")
    second.wait_for_selector("#ask-box[open]")
    assert "3.31" in (home / "fleet-26.toml").read_text(encoding="utf-8")
    second.get_by_role("button", name="Take what is on the disk").click()
    until(lambda: second.input_value("#f-nut-thickness") == "3.31")
    second.fill("#f-nut-thickness", "3.33")
    until(lambda: "not saved" in second.inner_text("#state"))
    (home / "fleet-26.toml").write_text((SPECS / "fleet-26.toml").read_text(encoding="utf-8"), encoding="utf-8")
    second.keyboard.press("Control+s")
    second.wait_for_selector("#ask-box[open]")
    second.get_by_role("button", name="Keep mine, write over it").click()
    until(lambda: "3.33" in (home / "fleet-26.toml").read_text(encoding="utf-8"))
    second.close()


def test_from_nothing_to_made_files_with_the_keyboard(page: Any, home: Path) -> None:
    """Tab, letters, Enter and Space alone; what is made is what the command makes, to the byte."""
    for _ in range(30):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.id") == "new-title":
            break
    page.keyboard.type("Loan fleet 91: keyboard")
    page.keyboard.press("Enter")
    page.wait_for_selector("#drawn img")
    assert (home / "loan-fleet-91-keyboard.toml").is_file()
    page.keyboard.press("Control+Enter")
    page.wait_for_selector("#make-box[open]")
    for _ in range(60):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.value") == "saddle":
            break
    page.keyboard.press("Space")
    for _ in range(60):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.id") == "make-go":
            break
    page.keyboard.press("Enter")
    until(lambda: "files in" in page.inner_text("#make-said"), 60)
    made = home.parent / "out" / "loan-fleet-91-keyboard"
    listed = json.loads((made / "manifest.json").read_text())["files"]
    until(lambda: page.locator("#make-files li").count() == len(listed))
    same = [sys.executable, "-m", "templategen", "make", str(home / "loan-fleet-91-keyboard.toml"), "--only", "saddle"]
    env = {**os.environ, "PYTHONPATH": os.pathsep.join([str(ROOT), *sys.path])}
    subprocess.run([*same, "--out", str(home.parent / "same")], check=True, capture_output=True, env=env)
    for path in (home.parent / "same" / made.name).iterdir():
        assert path.read_bytes() == (made / path.name).read_bytes()


def test_stop_leaves_no_half_result(page: Any, home: Path) -> None:
    opened(page, "fleet-07.toml")
    page.click("#to-make")
    page.click("#make-go")
    page.wait_for_selector("#make-stop:visible")
    page.click("#make-stop")
    until(lambda: "Stopped" in page.inner_text("#make-said"))
    time.sleep(0.5)
    assert not (home.parent / "out" / "fleet-07").exists()


def test_laid_beside_another_job(page: Any) -> None:
    opened(page, "fleet-26.toml")
    page.click("#beside")
    page.wait_for_selector("#beside-which option:nth-child(2)", state="attached")
    page.select_option("#beside-which", "fleet-07.toml")
    page.wait_for_selector("#beside-numbers table")
    rows = page.locator("#beside-numbers tbody tr")
    told = {rows.nth(n).locator("th").inner_text(): rows.nth(n).locator("td").all_inner_texts() for n in range(20)}
    assert told
    assert page.locator("#beside-drawn img").count() == 5


@pytest.mark.parametrize("width", [390, 1300], ids=["phone", "desk"])
def test_axe_finds_nothing_serious_and_nothing_runs_off_the_side(page: Any, width: int) -> None:
    pytest.importorskip("axe_playwright_python.sync_playwright")
    page.set_viewport_size({"width": width, "height": 844})
    found = grave(page)
    opened(page, "fleet-07.toml")
    found += grave(page)
    page.click("#to-make")
    found += grave(page)
    assert found == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_printed_it_is_the_job_without_buttons(page: Any) -> None:
    opened(page, "fleet-07.toml")
    page.emulate_media(media="print")
    assert page.locator("nav").is_hidden()
    assert page.locator("#f-nut-thickness").is_visible()
    assert len(page.pdf()) > 10_000
