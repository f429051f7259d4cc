"""Who may ask what: hostile requests refused, files of one folder only, nothing written that was not asked for."""

from __future__ import annotations

import errno
import json
import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from places import SPECS
from starlette.testclient import TestClient

from templategen.page.desk import Desk
from templategen.page.server import application

SECRET = "s" * 32
PORT = 8123


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    home = tmp_path / "specs"
    home.mkdir()
    for name in ("fleet-07.toml", "fleet-26.toml", "shop.toml"):
        (home / name).write_bytes((SPECS / name).read_bytes())
    shutil.copytree(SPECS / "surveys", home / "surveys")
    return home


@pytest.fixture
def client(folder: Path, tmp_path: Path) -> Iterator[TestClient]:
    desk = Desk(folder, None, tmp_path / "out")
    ours = {"Authorization": f"Bearer {SECRET}"}
    with TestClient(application(desk, PORT, SECRET), base_url=f"http://127.0.0.1:{PORT}", headers=ours) as client:
        yield client
    desk.runs.stop_all()


def ask(client: TestClient, question: str, **given: Any) -> Any:
    answer = client.post(f"/ask/{question}", json=given)
    assert answer.status_code == 200, answer.text
    return answer.json()


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"Authorization": ""}, 401),
        ({"Authorization": "Bearer guess"}, 401),
        ({"Authorization": f"Bearer {SECRET}x"}, 401),
        ({"Host": "evil.example"}, 403),
        ({"Host": f"localhost:{PORT}"}, 403),
        ({"Host": "127.0.0.1:80"}, 403),
        ({"Origin": "http://evil.example"}, 403),
        ({"Origin": "null"}, 403),
        ({"Origin": "http://127.0.0.1:9999"}, 403),
        ({"Origin": f"http://127.0.0.1:{PORT}"}, 200),
    ],
)
def test_only_our_own_page_is_answered(client: TestClient, headers: dict[str, str], status: int) -> None:
    assert client.post("/ask/files", json={}, headers=headers).status_code == status


@pytest.mark.parametrize("name", ["", "page.js", "page.css", "fields.js", "talk.js"])
def test_the_page_itself_holds_no_secret_and_a_strict_policy(client: TestClient, name: str) -> None:
    answer = client.get(f"/{name}", headers={"Authorization": ""})
    assert answer.status_code == 200
    assert SECRET not in answer.text
    assert "unsafe" not in answer.headers["content-security-policy"]
    assert answer.headers["content-security-policy"].startswith("default-src 'none'")
    assert "access-control-allow-origin" not in answer.headers
    assert "http" not in answer.text.replace("http-equiv", ""), "nothing from the network"


def test_wrong_methods_and_questions(client: TestClient) -> None:
    assert client.get("/ask/files").status_code == 405
    assert client.put("/ask/files").status_code == 405
    assert client.post("/").status_code == 405
    assert client.post("/ask/anything", json={}).status_code == 404
    assert client.get("/__init__.py").status_code == 404
    assert client.post("/ask/files", content=b"{").status_code == 400
    assert client.post("/ask/files", content=b"[1]").status_code == 400
    assert client.post("/ask/read", content=b'{"name": 3}').status_code == 400
    assert client.post("/ask/files", content=b"[" * 100_000).status_code == 400


def test_a_huge_body(client: TestClient) -> None:
    assert client.post("/ask/view", content=b"x" * 1_600_000).status_code == 413


@pytest.mark.parametrize(
    "name",
    [
        "../secret.toml", "/etc/passwd", "..", "", "a/b.toml", "a\\b.toml", "con.toml", "COM1.toml", "x.toml\x00",
        ".hidden.toml", "x.txt", "link.toml", "folder.toml", "%2e%2e/secret.toml",
    ],
)  # fmt: skip
def test_no_file_but_a_plain_one_of_the_folder(client: TestClient, folder: Path, name: str) -> None:
    (folder.parent / "secret.toml").write_text("title = 'secret'", encoding="utf-8")
    (folder / "link.toml").symlink_to(folder.parent / "secret.toml")
    (folder / "folder.toml").mkdir()
    for question in ("read", "save", "make"):
        answer = client.post(f"/ask/{question}", json={"name": name, "text": "x = 1", "mark": ""})
        assert answer.status_code in (400, 409), question
        assert "secret" not in answer.text.replace("secret.toml", "")
    assert (folder.parent / "secret.toml").read_text(encoding="utf-8") == "title = 'secret'"


def test_results_are_those_of_the_manifest(client: TestClient, folder: Path, tmp_path: Path) -> None:
    from templategen import job

    job.make(str(folder / "fleet-07.toml"), tmp_path / "out", ("saddle",))
    (tmp_path / "out" / "fleet-07" / "notes.txt").write_text("private", encoding="utf-8")
    listed = ask(client, "results", name="fleet-07.toml")
    assert {each["path"] for each in listed["files"]} == {"saddle.dxf", "saddle.svg", "saddle.pdf"}
    assert client.get("/results/fleet-07/saddle.svg").content.startswith(b"<?xml")
    assert client.get("/results/fleet-07/saddle.svg", headers={"Authorization": ""}).status_code == 401
    for path in ("notes.txt", "manifest.json", "..%2f..%2fspecs%2ffleet-07.toml", "nut.pdf"):
        assert client.get(f"/results/fleet-07/{path}").status_code == 404
    assert client.get("/results/..%2f..%2fspecs/fleet-07.toml").status_code == 404


def test_nothing_is_written_by_looking(client: TestClient, folder: Path, tmp_path: Path) -> None:
    before = {path.name: path.read_bytes() for path in folder.glob("*.toml")}
    text = before["fleet-07.toml"].decode()
    ask(client, "files")
    seen = ask(client, "change", name="fleet-07.toml", text=text, path=["nut", "thickness"], given="340")
    assert "nut.thickness" in [".".join(p["path"]) for p in seen["problems"]]
    assert seen["drawings"] is None
    line = next(n for n, line in enumerate(seen["text"].splitlines(), 1) if line.startswith("thickness      = 340"))
    assert [p["line"] for p in seen["problems"]] == [line]
    ask(client, "compare", name="fleet-07.toml", text=text, other="fleet-26.toml")
    assert {path.name: path.read_bytes() for path in folder.glob("*.toml")} == before
    assert not (tmp_path / "out").exists()


def test_a_save_is_from_what_was_read_or_is_none(client: TestClient, folder: Path) -> None:
    read = ask(client, "read", name="fleet-07.toml")
    first = ask(client, "save", name="fleet-07.toml", text=read["text"] + "# one\n", mark=read["mark"])
    late = client.post("/ask/save", json={"name": "fleet-07.toml", "text": "# two\n", "mark": read["mark"]})
    assert late.status_code == 409
    assert late.json()["mark"] == first["mark"]
    assert late.json()["text"].endswith("# one\n")
    assert (folder / "fleet-07.toml").read_text(encoding="utf-8").endswith("# one\n")
    ask(client, "save", name="fleet-07.toml", text="# two\n", mark=late.json()["mark"])
    assert client.post("/ask/save", json={"name": "new.toml", "text": "x", "mark": "a" * 64}).status_code == 409
    assert [path.name for path in folder.iterdir() if path.name.startswith(".")] == []


def test_a_job_begun_is_never_written_over(client: TestClient, folder: Path) -> None:
    assert ask(client, "begin", name="new.toml", title="Loan fleet 90: nut")["name"] == "new.toml"
    assert 'title = "Loan fleet 90: nut"' in (folder / "new.toml").read_text(encoding="utf-8")
    again = client.post("/ask/begin", json={"name": "new.toml", "title": "x"})
    assert (again.status_code, again.json()["error"]) == (409, "new.toml is already there; choose another name")


def test_a_job_begins_with_a_sheet_of_its_kind(client: TestClient, folder: Path) -> None:
    ask(client, "begin", name="eight.toml", title="Loan fleet 92", kind="mandolin", strings="8", units="in")
    text = (folder / "eight.toml").read_text(encoding="utf-8")
    assert 'kind = "mandolin"' in text
    assert 'units = "in"' in text
    assert text.count("gauge = ") >= 8
    assert client.post("/ask/begin", json={"name": "x.toml", "title": "x", "strings": "six"}).status_code == 400
    assert client.post("/ask/begin", json={"name": "x.toml", "title": "x", "kind": "harp"}).status_code == 400
    assert not (folder / "x.toml").exists()


@pytest.mark.parametrize("survey", sorted(path.name for path in (SPECS / "surveys").glob("*.toml")))
def test_a_draft_is_the_commands_to_the_byte(
    client: TestClient, folder: Path, survey: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from templategen.cli import main

    shutil.copy(folder / "surveys" / survey, folder / "top-survey.toml")
    monkeypatch.chdir(folder)
    for place, name in ((f"surveys/{survey}", "below"), ("top-survey.toml", "beside")):
        assert ask(client, "draft", survey=place, name=f"{name}.toml") == {"name": f"{name}.toml"}
        assert main(["survey", place, "--draft", f"{name}-command.toml"]) == 0
        told = capsys.readouterr().out.splitlines()
        assert (folder / f"{name}.toml").read_bytes() == (folder / f"{name}-command.toml").read_bytes()
        judged = ask(client, "survey", survey=place)["judged"]
        assert [f"{'decide: ' * (each['level'] == 'decide')}{each['message']}" for each in judged] == told[:-1]
    again = client.post("/ask/draft", json={"survey": place, "name": "below.toml"})
    assert (again.status_code, again.json()["error"]) == (409, "below.toml is already there; choose another name")


def test_the_surveys_are_those_of_the_folder_and_right_below(client: TestClient, folder: Path) -> None:
    outside = folder.parent / "outside"
    shutil.copytree(folder / "surveys", outside)
    (folder / "linked").symlink_to(outside)
    (folder / "surveys" / "link.toml").symlink_to(outside / "fleet-07-survey.toml")
    shutil.copytree(outside, folder / ".hidden")
    shutil.copytree(outside, folder / "two" / "deep")
    listed = [each["name"] for each in ask(client, "files")["surveys"]]
    assert listed == [f"surveys/{path.name}" for path in sorted((SPECS / "surveys").glob("*.toml"))]
    for name in (
        "../outside/fleet-07-survey.toml", "linked/fleet-07-survey.toml", "surveys/link.toml", "fleet-07.toml", "",
        ".hidden/fleet-07-survey.toml", "two/deep/fleet-07-survey.toml", str(outside / "fleet-07-survey.toml"),
        "surveys/../surveys/fleet-07-survey.toml",
    ):  # fmt: skip
        for question in ("survey", "draft"):
            answer = client.post(f"/ask/{question}", json={"survey": name, "name": "new.toml"})
            assert (answer.status_code, "is not a survey of this folder" in answer.text) == (400, True), name
    assert not (folder / "new.toml").exists()


def test_a_survey_that_cannot_be_read_says_where(client: TestClient, folder: Path) -> None:
    path = folder / "surveys" / "fleet-07-survey.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("[scale]", "[scales]"), encoding="utf-8")
    line = text.splitlines().index("[scale]") + 1
    answer = client.post("/ask/survey", json={"survey": "surveys/fleet-07-survey.toml"})
    assert answer.status_code == 400
    assert f"fleet-07-survey.toml line {line}: scales" in answer.json()["error"]


@pytest.mark.parametrize("error", [errno.ENOSPC, errno.EROFS, errno.EIO])
def test_a_full_or_stopped_disk_is_told_and_nothing_is_half_written(
    client: TestClient, folder: Path, monkeypatch: pytest.MonkeyPatch, error: int
) -> None:
    read = ask(client, "read", name="fleet-07.toml")
    before = {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}

    def refused(self: Path, data: bytes) -> int:
        self.touch()
        raise OSError(error, os.strerror(error), str(self))

    monkeypatch.setattr(Path, "write_bytes", refused)
    for question, given in (
        ("save", {"name": "fleet-07.toml", "text": read["text"] + "# more\n", "mark": read["mark"]}),
        ("begin", {"name": "new.toml", "title": "Loan fleet 90"}),
        ("draft", {"name": "new.toml", "survey": "surveys/fleet-07-survey.toml"}),
    ):
        answer = client.post(f"/ask/{question}", json=given)
        assert answer.status_code == 507, question
        assert os.strerror(error) in answer.json()["error"]
    assert {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()} == before


def test_comments_are_shown_beside_their_values() -> None:
    from templategen.page.desk import comments

    text = """title = "a # b"  # what
[nut]  # of bone
thickness = 3.4# ± 0.04
seat_depth = 2  # [C] [D]
edge_margin = { bass = 3.4, treble = 3.2 } # [C] eyes
[strings]
set = [
  { gauge = 0.25, note = "E4" }, # new
]
"""
    assert comments(text) == {
        "title": "what",
        "nut": "of bone",
        "nut.thickness": "± 0.04",
        "nut.edge_margin": "eyes",
        "strings.set.0": "new",
    }
    assert comments("[") == {}


def test_views_and_findings_of_a_good_text(client: TestClient, folder: Path) -> None:
    text = (folder / "fleet-07.toml").read_text(encoding="utf-8")
    seen = ask(client, "view", name="fleet-07.toml", text=text)
    assert seen["problems"] == []
    assert {"board", "nut"} <= set(seen["drawings"])
    wide = ask(client, "change", name="fleet-07.toml", text=text, path=["fingerboard", "width_at_nut"], given="45")
    assert wide["drawings"]["nut"] != seen["drawings"]["nut"], "the drawn nut follows"
    assert "45.00" in wide["drawings"]["nut"]
    broken = ask(client, "view", name="fleet-07.toml", text=text + "\n[nut\n")
    assert broken["values"] is None
    assert broken["problems"][0]["line"] == len(text.splitlines()) + 2
    assert json.dumps(seen["values"]["scale"]) == json.dumps({"length": "25 3/16 in", "fret_count": "21"})


def test_compare_names_what_differs(client: TestClient, folder: Path) -> None:
    text = (folder / "fleet-07.toml").read_text(encoding="utf-8")
    same = ask(client, "compare", name="fleet-07.toml", text=text, other="fleet-07.toml")
    assert same["differences"] == []
    other = text.replace("width_at_nut       = 43.2", "width_at_nut = 44.2")
    both = ask(client, "compare", name="fleet-07.toml", text=other, other="fleet-07.toml")
    told = {row[0]: row[1:] for row in both["differences"]}
    assert told["board width_at_nut"] == ["44.200", "43.200", "+1.000"]
    assert 'id="OTHER_OUTLINE"' in both["drawings"]["board"][0]
    assert [len(each) for each in both["drawings"].values()] == [1, 1, 2, 2, 2], "charts have scales of their own"


def test_compare_with_what_was_found_and_left(client: TestClient, folder: Path) -> None:
    """Every quantity that the survey gives, as the bench sheet has it; the board as found drawn over the one wanted."""
    text = (folder / "fleet-07.toml").read_text(encoding="utf-8")
    none = client.post("/ask/compare", json={"name": "fleet-07.toml", "text": text, "measured": "left"})
    assert (none.status_code, "give as_left" in none.json()["error"]) == (400, True)
    text = f'as_left = "surveys/fleet-07-survey.toml"\n{text}'
    for when in ("found", "left"):
        both = ask(client, "compare", name="fleet-07.toml", text=text, measured=when)
        told = {row[0]: row[1:] for row in both["differences"]}
        assert told["relief"] == ["0.200", "0.380 ± 0.006", "-0.180"]
        assert told["action over fret 12, bass"] == ["2.000", "2.400 ± 0.058", "-0.400"]
        assert told["board radius"][0] == "279.400"
    flat = text.replace("radius             = ", "radius = 500 # ")
    over, as_found = (
        ask(client, "compare", name="fleet-07.toml", text=each, measured="found")["drawings"]["cents"][1]
        for each in (text, flat)
    )
    assert over == as_found, "what was measured is not what is wanted"
