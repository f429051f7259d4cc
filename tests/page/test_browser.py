"""The page in a real browser: with the keyboard, with slips, in two windows, on a phone, printed, checked by axe."""

from __future__ import annotations

import difflib
import json
import os
import re
import resource
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
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


@contextmanager
def started(home: Path) -> Iterator[tuple[str, int]]:
    """A page of its own: its address and its process."""
    words = [sys.executable, "-m", "templategen", "open", str(home), "--no-browser", "--out", str(home.parent / "out")]
    env = {**os.environ, "PYTHONPATH": os.pathsep.join([str(ROOT), *sys.path])}
    running = subprocess.Popen(words, stdout=subprocess.PIPE, text=True, env=env)
    assert running.stdout is not None
    found = re.search(r"http://127\.0\.0\.1:\d+/#\S+", running.stdout.readline())
    assert found
    try:
        yield found.group(0), running.pid
    finally:
        running.send_signal(signal.SIGCONT)
        running.terminate()
        running.wait(timeout=10)


@pytest.fixture(scope="module")
def address(home: Path) -> Iterator[str]:
    with started(home) as (address, _):
        yield address


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
    assert page.locator("#beside-drawn img").count() == 8, "two laid over each other, three charts of each"


def test_beside_the_instrument_as_it_was_found(page: Any) -> None:
    opened(page, "fleet-07.toml")
    page.click("#beside")
    page.wait_for_selector("#beside-which option:nth-child(2)", state="attached")
    page.select_option("#beside-which", ":found")
    page.wait_for_selector("#beside-numbers table")
    heads = page.locator("#beside-numbers thead th").all_inner_texts()
    assert heads == ["what", "wanted", "as found", "difference"]
    assert page.locator("#beside-numbers tbody tr", has_text="relief").locator("td").all_inner_texts() == [
        "0.200", "0.380 ± 0.006", "-0.180",
    ]  # fmt: skip
    assert page.locator('#beside-drawn figure[data-drawing="board"] img').count() == 1
    assert page.locator('#beside-drawn figure[data-drawing="cents"] img').count() == 2


def test_begun_from_a_survey(page: Any, home: Path) -> None:
    """What the readings amount to is told first; the new job opens, and says of each value what was written beside it:
    its ±, or that it was not measured."""
    page.select_option("#draft-survey", "surveys/fleet-07-survey.toml")
    page.wait_for_selector("#draft-judged .told")
    assert "Scale 639.7 mm" in page.inner_text("#draft-judged")
    assert page.input_value("#draft-name") == "fleet-07-found.toml"
    page.focus("#draft-name")
    page.keyboard.press("Enter")
    page.wait_for_selector("#drawn img")
    assert (home / "fleet-07-found.toml").is_file()
    assert "not measured" in page.inner_text("#state")
    beside = {path: page.locator(f'.row[data-path="{path}"] .written') for path in ("scale.length", "nut.thickness")}
    assert "± 0.89" in beside["scale.length"].inner_text()
    assert beside["nut.thickness"].inner_text() == "Written beside it: not measured"


@contextmanager
def alone(browser: Any, home: Path) -> Iterator[tuple[Any, int]]:
    """A page with a program of its own, which may come to harm."""
    with started(home) as (address, process):
        context = browser.new_context(viewport={"width": 1300, "height": 900})
        fresh = context.new_page()
        fresh.clock.install()
        fresh.goto(address)
        fresh.wait_for_selector(".jobs button")
        yield fresh, process
        context.close()


@pytest.mark.skipif(not hasattr(resource, "prlimit"), reason="only Linux limits another process")
def test_a_disk_that_takes_nothing_more_is_told(browser: Any, home: Path) -> None:
    """A limit on the size of files stands for the full disk: the system refuses the write in the same way."""
    before = (home / "fleet-26.toml").read_bytes()
    with alone(browser, home) as (page, process):
        opened(page, "fleet-26.toml")
        page.fill("#f-nut-thickness", "3.77")
        until(lambda: "not saved" in page.inner_text("#state"))
        resource.prlimit(process, resource.RLIMIT_FSIZE, (100, 100))
        page.keyboard.press("Control+s")
        until(lambda: "not saved: " in page.inner_text("#state"))
        assert "File too large" in page.inner_text("#state")
        assert "bad" in str(page.get_attribute("#state", "class"))
        page.click("#to-make")
        page.click("#make-go")
        until(lambda: "not saved" in page.inner_text("#state"))
        page.locator("#make-box .close").click()
        page.click("#others")
        page.get_by_role("button", name="Let them go").click()
        page.wait_for_selector(".jobs button")
        opened(page, "fleet-07.toml")
        page.click("#to-make")
        page.check('#make-parts input[value="saddle"]')
        page.click("#make-go")
        until(lambda: "cannot be written" in page.inner_text("#make-said"), 60)
    assert (home / "fleet-26.toml").read_bytes() == before
    assert [path.name for path in home.iterdir() if path.name.startswith(".")] == []


def test_a_program_that_stands_still_or_is_gone_is_told(browser: Any, home: Path) -> None:
    """As it is where the disk under it does not answer."""
    with alone(browser, home) as (page, process):
        opened(page, "fleet-07.toml")
        page.fill("#f-nut-thickness", "3.55")
        until(lambda: "not saved" in page.inner_text("#state"))
        os.kill(process, signal.SIGSTOP)
        page.keyboard.press("Control+s")
        page.clock.fast_forward(7000)
        until(lambda: "stands still" in page.inner_text("#state"))
        os.kill(process, signal.SIGCONT)
        until(lambda: page.inner_text("#state") == "saved")
        page.click("#to-make")
        page.click("#make-go")
        page.wait_for_selector("#make-stop:visible")
        os.kill(process, signal.SIGKILL)
        until(lambda: "templategen has been closed" in page.inner_text("#make-said"))
        assert page.locator("#make-go").is_enabled()
        assert page.locator("#make-stop").is_hidden()
        page.locator("#make-box .close").click()
        page.fill("#f-nut-thickness", "3.4")
        page.keyboard.press("Control+s")
        until(lambda: "not saved: templategen has been closed" in page.inner_text("#state"))
    assert "thickness      = 3.55" in (home / "fleet-07.toml").read_text(encoding="utf-8"), "what was saved stays"
    (home / "fleet-07.toml").write_bytes((SPECS / "fleet-07.toml").read_bytes())


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
    page.set_viewport_size({"width": 794, "height": 1123})  # A4 at 96 px to the inch
    for name in ("board", "nut", "line", "clearance", "cents"):
        box = page.locator(f'figure[data-drawing="{name}"]').bounding_box()
        assert 0 <= box["x"] < box["x"] + box["width"] <= 794, f"{name} is on the paper"
    assert len(page.pdf(format="A4")) > 10_000
