"""The house stands as drawn: who may import whom, and what a 2D job never loads."""

from __future__ import annotations

import ast
import doctest
import graphlib
import importlib
import subprocess
import sys
from pathlib import Path

import pytest
from places import ROOT

PACKAGE = ROOT / "templategen"

# design table: what each room may import besides units and errors (DEVELOPERS.md shows the same)
MAY: dict[str, set[str]] = {
    "units": set(),
    "errors": set(),
    "geometry": set(),
    "spec": set(),
    "instrument": {"spec"},
    "repair": {"instrument", "spec"},
    "findings": {"repair", "instrument", "spec"},
    "drawing": set(),
    "solids": set(),
    "tables": {"repair", "instrument", "findings", "spec"},
    "parts": {"repair", "instrument", "findings", "tables", "document", "drawing", "solids", "spec"},
    "document": {"drawing", "tables"},
    "writers": {"document", "drawing", "solids", "tables"},  # of tables the model alone
    "job": {"spec", "instrument", "repair", "findings", "tables", "drawing", "solids", "parts", "writers"},
    "page": {"job", "spec"},
    "cli": {"job", "page", "spec"},
    "__main__": {"cli"},
    "__init__": set(),
}
ANYBODY = {"units", "errors", "geometry"}


def room_of(module: Path) -> str:
    first = module.relative_to(PACKAGE).parts[0]
    return first.removesuffix(".py")


def imports_of(module: Path) -> list[tuple[int, str]]:
    """Rooms of ours that a module imports, anywhere in it: (line, room); '' for the package itself."""
    found = []
    for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
        names = []
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{module}:{node.lineno} imports relatively"
            names = [node.module or ""]
            if node.module == "templategen":
                names = [f"templategen.{alias.name}" for alias in node.names]
        for name in names:
            if name.split(".")[0] == "templategen":
                found.append((node.lineno, [*name.split("."), ""][1]))
    return found


MODULES = sorted(PACKAGE.rglob("*.py"))


def test_every_room_is_in_the_table() -> None:
    assert {room_of(module) for module in MODULES} == set(MAY)


@pytest.mark.parametrize("module", MODULES, ids=lambda m: str(m.relative_to(PACKAGE)))
def test_imports_run_one_way(module: Path) -> None:
    room = room_of(module)
    allowed = MAY[room] | ANYBODY | {room, "", "__version__"}
    wrong = [(line, other) for line, other in imports_of(module) if other not in allowed]
    assert not wrong, f"{module} may import {sorted(allowed)}"


def file_imports() -> dict[str, set[str]]:
    """Which files of ours each of them imports, anywhere in it, those for type checking alone included."""
    files = {".".join(m.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__"): m for m in MODULES}
    found = {}
    for name, module in files.items():
        wanted: set[str] = set()
        for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                wanted |= {alias.name for alias in node.names}
            elif isinstance(node, ast.ImportFrom):
                whole = node.module or ""
                names = {f"{whole}.{alias.name}" for alias in node.names}
                wanted |= names & set(files) or {whole}
        found[name] = wanted & set(files) - {name}
    return found


def circle(of: dict[str, set[str]]) -> list[str]:
    """A way from one of them back to itself, or nothing."""
    try:
        graphlib.TopologicalSorter(of).prepare()
    except graphlib.CycleError as found:
        return list(found.args[1])
    return []


def test_no_circle_of_imports_between_files() -> None:
    of = file_imports()
    assert "templategen.instrument.built" in of["templategen.instrument.model"], "the walk sees imports"
    assert circle(of) == []
    of["templategen.instrument.built"].add("templategen.job.make")
    assert circle(of), "a circle would be seen"


def test_no_circle_of_imports_between_rooms() -> None:
    """Neither in what rooms may import, nor in what they do."""
    assert circle(MAY) == []
    does: dict[str, set[str]] = {room: set() for room in MAY}
    for module in MODULES:
        others = {other for _, other in imports_of(module)} - {"", "__version__", room_of(module)}
        does[room_of(module)] |= others
    assert circle(does) == []


TWICE = {
    # what is asked for in a spec, and what is made of it
    "Clearance", "Intonation", "Milling", "Nut", "SaddlePiece", "Sheet",
    # each a plain word of rooms that never meet
    "Kind", "Setting", "Table", "Text",
}  # fmt: skip


def test_one_name_is_one_thing() -> None:
    """Classes and kinds of value have one home each."""
    homes: dict[str, set[Path]] = {}
    for module in MODULES:
        for node in ast.parse(module.read_text(encoding="utf-8")).body:
            names = [node.name] if isinstance(node, ast.ClassDef) else []
            if isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name):
                names = [node.targets[0].id]
            for name in names:
                if name[0].isupper() and not name.isupper():
                    homes.setdefault(name, set()).add(module)
    assert {name for name, found in homes.items() if len(found) > 1} == TWICE


def test_writers_know_tables_by_their_model_alone() -> None:
    for module in (PACKAGE / "writers").rglob("*.py"):
        for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("templategen.tables"):
                assert node.module == "templategen.tables.model", f"{module}:{node.lineno}"


@pytest.mark.parametrize("module", MODULES, ids=lambda m: str(m.relative_to(PACKAGE)))
def test_inches_live_in_units_alone(module: Path) -> None:
    if room_of(module) == "units":
        return
    numbers = [n.value for n in ast.walk(ast.parse(module.read_text(encoding="utf-8"))) if isinstance(n, ast.Constant)]
    assert not {25.4, 2.54, 0.0254, 0.03937} & {n for n in numbers if isinstance(n, float)}


@pytest.mark.parametrize("module", MODULES, ids=lambda m: str(m.relative_to(PACKAGE)))
def test_only_job_spec_and_writers_touch_files(module: Path) -> None:
    """Nothing below the writers opens, reads or writes a file; packaged tables come through importlib.resources."""
    if room_of(module) in {"job", "spec", "writers", "page", "cli", "__main__"}:
        return
    calls = {
        n.func.id if isinstance(n.func, ast.Name) else n.func.attr
        for n in ast.walk(ast.parse(module.read_text(encoding="utf-8")))
        if isinstance(n, ast.Call) and isinstance(n.func, ast.Name | ast.Attribute)
    }
    assert not calls & {"write_text", "write_bytes", "read_bytes", "mkdir", "unlink", "rename"}


EXAMPLES = [module for module in MODULES if ">>> " in module.read_text(encoding="utf-8")]


@pytest.mark.parametrize("module", EXAMPLES, ids=lambda m: str(m.relative_to(PACKAGE)))
def test_examples_in_docstrings_say_what_comes_out(module: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    name = ".".join(module.relative_to(ROOT).with_suffix("").parts)
    done = doctest.testmod(importlib.import_module(name), raise_on_error=False)
    assert done.attempted > 0, "an example that is skipped shows nothing"
    assert done.failed == 0


LOADED = """
import sys
from templategen.cli import main
code = main({words!r})
assert code in (0, 1), code
heavy = sorted(m for m in sys.modules if m.split(".")[0] in ("cadquery", "OCP", "vtkmodules"))
assert not heavy, heavy[:5]
"""


@pytest.mark.parametrize(
    "words",
    [
        ["check", "specs/fleet-07.toml"],
        ["make", "specs/fleet-07.toml", "--format", "dxf", "svg", "pdf", "csv", "json", "--out", "{out}"],
    ],
    ids=["check", "2D make"],
)
def test_2d_work_loads_no_cad_kernel(words: list[str], tmp_path: Path) -> None:
    words = [word.format(out=tmp_path) for word in words]
    done = subprocess.run([sys.executable, "-c", LOADED.format(words=words)], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr


def test_top_level_holds_what_it_should() -> None:
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True)
    if listed.returncode:
        pytest.skip("not a git checkout")
    tops = {line.split("/")[0] for line in listed.stdout.splitlines()}
    named = {name for name in tops if not name.startswith(".")}
    assert named == {"README.md", "DEVELOPERS.md", "pyproject.toml", "templategen", "specs", "tests", "out"}
    assert [line for line in listed.stdout.splitlines() if line.startswith("out/")] == ["out/.gitkeep"]


def test_nothing_refers_to_what_stays_outside() -> None:
    outside = "../" + "shared"
    for path in [*MODULES, *(ROOT / "tests").rglob("*.py"), ROOT / "README.md", ROOT / "DEVELOPERS.md"]:
        assert outside not in path.read_text(encoding="utf-8"), path
