"""A short run of tests/bench/fuzz.py: whole specs built by hypothesis, none ends in a traceback."""

from __future__ import annotations

import importlib.util
import sys
import tempfile
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import ezdxf
import fuzzing
import pytest
from fuzzing import SPECS, build, make, near, plausible
from hypothesis import HealthCheck, given, settings
from making import instrument
from places import ROOT

from templategen import job
from templategen.errors import Problem, SpecError
from templategen.instrument.model import Instrument

QUICK = {"deadline": None, "derandomize": True, "database": None, "suppress_health_check": list(HealthCheck)}


@settings(max_examples=60, **QUICK)  # type: ignore[arg-type]
@given(SPECS)
def test_builds(change: dict[str, Any]) -> None:
    build(change)


@settings(max_examples=3, **QUICK)  # type: ignore[arg-type]
@given(near() | plausible())
def test_makes(change: dict[str, Any]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        make(change, Path(folder))


# -------------------------------------------------------------------------------- and that it would see what is wrong


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"nut": {"slots": "none"}}, "string-above-nut: not told"),
        ({"frets": {"wood_under_slot_at_edge": 0.4}}, "little-wood-under-slot: not told"),
        ({"strings": {"pressed_gap": -0.2}}, "negative-pressed-gap: not told"),
    ],
)
def test_a_finding_that_is_not_told_is_seen(
    change: dict[str, dict[str, Any]], said: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Records that say otherwise than the findings."""
    whole = instrument({})
    room, fields = next(iter(change.items()))

    class Wrong:
        def __getattr__(self, name: str) -> Any:
            there = getattr(whole, name)
            if name != room:
                return there
            if name == "nut":
                return SimpleNamespace(slots=[SimpleNamespace(depth=-0.1)])
            return [SimpleNamespace(**{"wood_under_slot_at_edge": 2.0, "pressed_gap": 0.1, **fields})]

    with pytest.raises(AssertionError, match=said):
        fuzzing._agree(set(), cast(Instrument, Wrong()))


def test_a_traceback_a_nan_and_what_a_refusal_wrote_are_seen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def torn(*given: Any, **more: Any) -> Any:
        raise ZeroDivisionError

    def refusing(path: str, out: Path, **more: Any) -> Any:
        (out / "fuzz").mkdir()
        raise SpecError([Problem(("nut",), "cannot be made")])

    monkeypatch.setattr(job, "compute", torn)
    with pytest.raises(ZeroDivisionError):
        build({})
    monkeypatch.setattr(job, "compute", lambda path: raising(SpecError([Problem(("nut",), "sanding takes nan mm")])))
    with pytest.raises(AssertionError, match="nan"):
        build({})
    monkeypatch.setattr(job, "make", refusing)
    with pytest.raises(AssertionError):
        make({}, tmp_path)


def raising(error: Exception) -> Any:
    raise error


@pytest.mark.parametrize(
    ("points", "closed", "said"),
    [
        ([(0, 0), (10, 10), (10, 0), (0, 10)], True, "Self-intersection"),
        ([(0, 0), (10, 0), (10, 10)], False, "an open contour"),
    ],
)
def test_a_bad_contour_is_seen(points: list[tuple[int, int]], closed: bool, said: str, tmp_path: Path) -> None:
    document = ezdxf.new("R2000")  # type: ignore[attr-defined]
    document.modelspace().add_lwpolyline([(0, 0), (5, 0), (5, 5)], close=True, dxfattribs={"layer": "OUTLINE"})
    document.saveas(tmp_path / "good.dxf")
    assert fuzzing.read_cut(tmp_path / "good.dxf") == 1
    document.modelspace().add_lwpolyline(points, close=closed, dxfattribs={"layer": "OUTLINE"})
    document.saveas(tmp_path / "bad.dxf")
    with pytest.raises(AssertionError, match=said):
        fuzzing.read_cut(tmp_path / "bad.dxf")


def test_the_command_counts_what_fails(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """A fault put into one in three: printed as a file, counted, exit code 1, and the run goes on."""
    spec = importlib.util.spec_from_file_location("bench_fuzz", ROOT / "tests" / "bench" / "fuzz.py")
    assert spec is not None
    assert spec.loader is not None
    command = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(command)
    calls = []

    def faulty(change: dict[str, Any]) -> bool:
        calls.append(change)
        assert len(calls) % 3, "a fault of ours"
        return True

    monkeypatch.setattr(command, "build", faulty)
    monkeypatch.setattr(sys, "argv", ["fuzz.py", "--builds", "25", "--seed", "3"])
    assert command.main() == 1
    said = capsys.readouterr().out
    assert len(calls) == 25
    assert said.splitlines()[-1] == "builds: {'made': 17, 'failed': 8}, seeds 3 to 5"
    assert said.count("--- builds, seed") == 8
    assert said.count("[fingerboard]") == 8
