"""Kills, double runs, a full disk: ``python tests/bench/kills.py [kills] [doubles] [seed]``. Not collected by pytest.

Every case begins with a whole result of one spec that somebody put a note into, changes the spec, and disturbs the next
make. After each: the note is there, the result is whole by its own manifest and is the former or the new one, nothing
else stands beside it once one more make has run, and that make ends well.

kill     kill -9 at a random moment of a make, from its start to a little past its usual end
double   two makes of the spec at once
full     a disk (a tmpfs, where this user may mount one) that is too small for the result
"""

from __future__ import annotations

import hashlib
import json
import random
import shutil
import subprocess
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent
NAME = "fleet-07"
MAKE = [sys.executable, "-m", "templategen", "make"]
SOME = ["--only", "tables", "fret-template", "--format", "svg", "csv", "json"]


class Bench:
    """One folder with a spec, its shop file and a result."""

    def __init__(self, folder: Path, out: Path) -> None:
        self.folder, self.out, self.result = folder, out, out / NAME
        for name in (f"{NAME}.toml", "shop.toml"):
            shutil.copy(ROOT / "specs" / name, folder / name)
        shutil.copytree(ROOT / "specs" / "surveys", folder / "surveys", dirs_exist_ok=True)
        self.spec = folder / f"{NAME}.toml"

    def words(self) -> list[str]:
        return [*MAKE, str(self.spec), "--out", str(self.out), *SOME]

    def start(self) -> subprocess.Popen[bytes]:
        return subprocess.Popen(self.words(), cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE)

    def make(self) -> None:
        subprocess.run(self.words(), cwd=ROOT, check=True, capture_output=True)

    def change(self, number: int) -> None:
        self.spec.write_text(f"{self.spec.read_text(encoding='utf-8')}\n# {number}\n", encoding="utf-8")

    def digest(self) -> str:
        """The job number of the result, or what is wrong with it."""
        folder = self.result
        if not folder.is_dir():
            aside = [path for path in self.out.glob(f".{NAME}.former-*") if (path / "manifest.json").is_file()]
            if len(aside) != 1:
                return "LOST"
            folder = aside[0]
        known = json.loads((folder / "manifest.json").read_text(encoding="utf-8"))
        for entry in known["files"]:
            if hashlib.sha256((folder / entry["path"]).read_bytes()).hexdigest() != entry["sha256"]:
                return "TORN"
        return str(known["digest"])

    def after(self, before: str) -> str:
        """What a disturbed make left; one more make must set all right."""
        now = self.digest()
        state = now if now in ("LOST", "TORN") else "former result" if now == before else "new result"
        self.make()
        if self.digest() == before:
            return "OLD AFTER ONE MORE MAKE"
        if not (self.result / "note.txt").is_file() or (self.result / "note.txt").read_text() != "mine":
            return "NOTE LOST"
        beside = {path.name for path in self.out.iterdir()} - {NAME}
        return f"LITTER {sorted(beside)}" if beside else state


def kills(bench: Bench, count: int, dice: random.Random) -> Counter[str]:
    begun = time.monotonic()
    bench.make()
    usual = time.monotonic() - begun
    (bench.result / "note.txt").write_text("mine")
    found: Counter[str] = Counter()
    for number in range(count):
        before = bench.digest()
        bench.change(number)
        running = bench.start()
        time.sleep(dice.uniform(0.3, 1.05) * usual)  # before that the interpreter is still importing
        running.kill()
        running.communicate()
        found[f"{'killed' if running.returncode < 0 else 'had ended'}: {bench.after(before)}"] += 1
        if (number + 1) % TELLS == 0:
            tell(f"kill -9, so far {number + 1}", found)
    return found


def doubles(bench: Bench, count: int, dice: random.Random) -> Counter[str]:
    bench.make()
    (bench.result / "note.txt").write_text("mine")
    found: Counter[str] = Counter()
    for number in range(count):
        before = bench.digest()
        bench.change(1000 + number)
        one = bench.start()
        time.sleep(dice.uniform(0, 0.2))
        two = bench.start()
        told = [each.communicate()[1].decode() for each in (one, two)]
        waited = any("another make is at work" in text for text in told)
        codes = f"exits {one.returncode}, {two.returncode}"
        found[f"{codes}{', one waited and said so' if waited else ''}: {bench.after(before)}"] += 1
        if (number + 1) % TELLS == 0:
            tell(f"two at once, so far {number + 1}", found)
    return found


def full(folder: Path) -> Counter[str]:
    """A first make into a disk with room, then one into the little that is left."""
    disk = folder / "disk"
    disk.mkdir()
    words = ["mount", "-t", "tmpfs", "-o", "size=1500k", "none", str(disk)]
    if subprocess.run(words, capture_output=True).returncode:
        return Counter({"not tried: this user may mount nothing": 1})
    found: Counter[str] = Counter()
    try:
        bench = Bench(folder, disk)
        bench.make()
        (bench.result / "note.txt").write_text("mine")
        for number, left in enumerate((0, 4096, 20_000, 60_000, 120_000, 200_000)):
            before = bench.digest()
            bench.change(number)
            ballast = disk / "ballast"
            room = shutil.disk_usage(disk).free - left
            ballast.write_bytes(b"\0" * max(room, 0))
            done = subprocess.run(bench.words(), cwd=ROOT, capture_output=True, text=True)
            ballast.unlink()
            lines = len(done.stderr.splitlines())
            said = "traceback" if "Traceback" in done.stderr else f"{lines} line{'' if lines == 1 else 's'}"
            found[f"{left:>7} bytes left, exit {done.returncode}, {said}: {bench.after(before)}"] += 1
    finally:
        subprocess.run(["umount", str(disk)], check=True)
    return found


def tell(title: str, found: Counter[str]) -> None:
    print(title)
    for what, times in sorted(found.items()):
        print(f"  {times:4}  {what}", flush=True)


TELLS = 10
"""Cases after which a run that may be cut off says how far it came."""


def main() -> None:
    given = [int(word) for word in sys.argv[1:]]
    count, twice, seed = (*given, *(100, 50, 1)[len(given) :])[:3]
    dice = random.Random(seed)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "out").mkdir()
        bench = Bench(folder, folder / "out")
        tables = {
            "kill -9": kills(bench, count, dice),
            "two at once": doubles(bench, twice, dice),
            "full disk": full(folder),
        }
    for title, found in tables.items():
        tell(title, found)
    if any(word in what for found in tables.values() for what in found for word in ("LOST", "TORN", "LITTER", "OLD")):
        sys.exit(1)


if __name__ == "__main__":
    main()
