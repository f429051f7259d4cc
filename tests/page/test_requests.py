"""Who may ask what: hostile requests refused, files of one folder only, nothing written that was not asked for."""

from __future__ import annotations

import json
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
    assert 'id="OTHER_OUTLINE"' in both["drawings"]["board"]
