"""The whole way for one spec: all or nothing, the same bytes, nothing lost."""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from places import ROOT

from templategen import job
from templategen.errors import MachineError, SpecError
from templategen.writers import svg

SPEC = str(ROOT / "specs" / "fleet-07.toml")
QUICK = ("tables", "fret-template")


def contents(folder: Path) -> dict[str, bytes]:
    return {p.name: p.read_bytes() for p in sorted(folder.iterdir())}


def copy_of_fleet(folder: Path) -> Path:
    shutil.copytree(ROOT / "specs", folder / "specs")
    return folder / "specs" / "fleet-07.toml"


def test_manifest_lists_every_file_with_its_digest(tmp_path: Path) -> None:
    made = job.make(SPEC, tmp_path, QUICK)
    folder = tmp_path / "fleet-07"
    assert made.folder == folder
    manifest = json.loads((folder / "manifest.json").read_text())
    assert {"spec", "version", "files"} <= set(manifest)
    assert manifest["spec"] == "fleet-07"
    listed = {entry["path"]: entry for entry in manifest["files"]}
    assert {*listed, "manifest.json"} == set(contents(folder))
    for name, entry in listed.items():
        assert entry["sha256"] == hashlib.sha256((folder / name).read_bytes()).hexdigest()
        assert entry["format"] == name.rsplit(".", 1)[1]
    assert listed["numbers.json"]["part"] == "tables"
    assert not [p for p in tmp_path.iterdir() if p != folder], "nothing is left beside the result"


def test_second_make_of_an_unchanged_spec_writes_nothing(tmp_path: Path) -> None:
    assert not job.make(SPEC, tmp_path, QUICK).unchanged
    before = {p: p.stat().st_mtime_ns for p in (tmp_path / "fleet-07").iterdir()}
    again = job.make(SPEC, tmp_path, QUICK)
    assert again.unchanged
    assert {p: p.stat().st_mtime_ns for p in (tmp_path / "fleet-07").iterdir()} == before
    (tmp_path / "fleet-07" / "frets.csv").write_text("spoilt")
    assert not job.make(SPEC, tmp_path, QUICK).unchanged, "a file that somebody changed is made again"


def test_a_change_in_the_shop_file_makes_all_again(tmp_path: Path) -> None:
    spec = copy_of_fleet(tmp_path)
    job.make(str(spec), tmp_path / "out", QUICK)
    with open(spec.parent / "shop.toml", "a", encoding="utf-8") as shop:
        shop.write("\n# sharpened the saws\n")
    assert not job.make(str(spec), tmp_path / "out", QUICK).unchanged


def test_some_parts_keep_the_others_of_the_same_spec_only(tmp_path: Path) -> None:
    spec = copy_of_fleet(tmp_path)
    job.make(str(spec), tmp_path / "out", ("tables",))
    job.make(str(spec), tmp_path / "out", ("saddle",))
    names = set(contents(tmp_path / "out" / "fleet-07"))
    assert {"numbers.json", "saddle.dxf", "manifest.json"} <= names
    spec.write_text(spec.read_text(encoding="utf-8").replace("relief", "relief  "), encoding="utf-8")
    job.make(str(spec), tmp_path / "out", ("saddle",))
    names = set(contents(tmp_path / "out" / "fleet-07"))
    assert "numbers.json" not in names, "tables of a former spec would not hang together with the new saddle"


def test_failure_on_the_way_leaves_the_former_result_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    spec = copy_of_fleet(tmp_path)
    job.make(str(spec), tmp_path / "out", QUICK)
    before = contents(tmp_path / "out" / "fleet-07")
    spec.write_text(spec.read_text(encoding="utf-8") + "\n# another day\n", encoding="utf-8")

    def broken(drawing: object) -> bytes:
        raise RuntimeError("no ink")

    monkeypatch.setattr(svg, "encode", broken)
    with pytest.raises(RuntimeError):
        job.make(str(spec), tmp_path / "out", QUICK)
    assert contents(tmp_path / "out" / "fleet-07") == before
    assert [p.name for p in (tmp_path / "out").iterdir()] == ["fleet-07"]


def test_full_disk_is_a_machine_error_and_leaves_the_former_result(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    spec = copy_of_fleet(tmp_path)
    job.make(str(spec), tmp_path / "out", QUICK)
    before = contents(tmp_path / "out" / "fleet-07")
    spec.write_text(spec.read_text(encoding="utf-8") + "\n# another day\n", encoding="utf-8")
    whole = Path.write_bytes

    def full(self: Path, data: bytes) -> int:
        if self.name == "numbers.json":
            raise OSError(28, "No space left on device", str(self))
        return whole(self, data)

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(MachineError, match="No space left on device"):
        job.make(str(spec), tmp_path / "out", QUICK)
    assert contents(tmp_path / "out" / "fleet-07") == before
    assert [p.name for p in (tmp_path / "out").iterdir()] == ["fleet-07"]


def test_a_result_moved_aside_by_a_run_that_died_is_put_back(tmp_path: Path) -> None:
    spec = copy_of_fleet(tmp_path)
    job.make(str(spec), tmp_path / "out", QUICK)
    before = contents(tmp_path / "out" / "fleet-07")
    (tmp_path / "out" / "fleet-07").rename(tmp_path / "out" / ".fleet-07.former-1")
    spec.write_text(spec.read_text(encoding="utf-8") + "\n# another day\n", encoding="utf-8")
    assert not job.make(str(spec), tmp_path / "out", QUICK).unchanged
    now = contents(tmp_path / "out" / "fleet-07")
    assert set(now) == set(before)
    assert not (tmp_path / "out" / ".fleet-07.former-1").exists()


BEGUN = """
import sys
from templategen.cli import main
print("begun", flush=True)
sys.exit(main(sys.argv[1:]))
"""


def test_an_interrupt_leaves_the_former_result_whole(tmp_path: Path) -> None:
    spec = copy_of_fleet(tmp_path)
    words = [sys.executable, "-m", "templategen", "make", str(spec), "--out", str(tmp_path / "out"), "--only"]
    subprocess.run([*words, *QUICK], cwd=ROOT, check=True, capture_output=True)
    before = contents(tmp_path / "out" / "fleet-07")
    spec.write_text(spec.read_text(encoding="utf-8") + "\n# another day\n", encoding="utf-8")
    told = [sys.executable, "-c", BEGUN, *words[3:], "nut", "tables"]
    running = subprocess.Popen(told, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    assert running.stdout is not None
    assert running.stdout.readline() == b"begun\n"
    time.sleep(0.8)
    running.send_signal(signal.SIGINT)
    _, error = running.communicate(timeout=60)
    if running.returncode == 0:
        pytest.skip("this machine made the whole spec before it could be interrupted")
    assert (running.returncode, error) == (
        130,
        b"interrupted; every result is whole: the new one where it was finished, else the former\n",
    )
    assert contents(tmp_path / "out" / "fleet-07") == before


def test_nothing_is_written_for_a_wrong_spec(tmp_path: Path) -> None:
    spec = copy_of_fleet(tmp_path)
    spec.write_text(spec.read_text(encoding="utf-8").replace("fret_count", "fret_cuont"), encoding="utf-8")
    with pytest.raises(SpecError):
        job.make(str(spec), tmp_path / "out")
    assert not (tmp_path / "out").exists()


def test_problems_of_the_geometry_name_file_and_line(tmp_path: Path) -> None:
    spec = copy_of_fleet(tmp_path)
    text = spec.read_text(encoding="utf-8").replace("[nut]\n", "[nut]\nfiling_allowance = 1.0\n")
    spec.write_text(text, encoding="utf-8")
    line = text.splitlines().index("filing_allowance = 1.0") + 1
    with pytest.raises(SpecError) as caught:
        job.check(str(spec))
    (problem,) = caught.value.problems
    assert problem.sentence().startswith(f"{spec}:{line}  nut.filing_allowance = 1.0\n    leaves the slotted nut's ")


BYTES = """
import sys
from templategen import job
job.make(sys.argv[1], sys.argv[2])
"""


def test_same_bytes_across_processes_hash_seeds_and_time_zones(tmp_path: Path) -> None:
    """Every file of a whole job, solids included."""
    for name, zone, seed in (("a", "UTC", "1"), ("b", "Pacific/Chatham", "77")):
        subprocess.run(
            [sys.executable, "-c", BYTES, SPEC, str(tmp_path / name)],
            cwd=ROOT,
            check=True,
            capture_output=True,
            env={**os.environ, "TZ": zone, "PYTHONHASHSEED": seed},
        )
    a, b = contents(tmp_path / "a" / "fleet-07"), contents(tmp_path / "b" / "fleet-07")
    assert set(a) == set(b)
    assert [name for name in a if a[name] != b[name]] == []


def test_many_specs_at_a_time_give_what_one_at_a_time_gives(tmp_path: Path) -> None:
    paths = [str(ROOT / "specs" / f"fleet-{n}.toml") for n in ("07", "12")]
    one = list(job.make_all(paths, str(tmp_path / "one"), ("tables",), (), jobs=1))
    two = list(job.make_all([*paths, "nowhere.toml"], str(tmp_path / "two"), ("tables",), (), jobs=2))
    assert all(isinstance(result, job.Made) for result in one)
    assert isinstance(two[2], SpecError), "one wrong spec stops none of the others"
    for name in ("fleet-07", "fleet-12"):
        assert contents(tmp_path / "one" / name) == contents(tmp_path / "two" / name)


def test_two_specs_of_one_name_are_a_problem() -> None:
    (problem,) = job.duplicates(["a/fleet.toml", "b/fleet.toml"])
    assert "same folder as a/fleet.toml" in problem.message
