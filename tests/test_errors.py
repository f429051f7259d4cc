"""Sentences: where, what was given, what is allowed, what to do."""

from __future__ import annotations

from templategen.errors import MachineError, Problem, SpecError, TemplategenError, key_text, problem_report


def test_key_text() -> None:
    assert key_text(()) == ""
    assert key_text(("strings", "set", 0, "gauge")) == "strings.set[1].gauge"
    assert key_text((0, 1)) == "[1][2]"


def test_sentence() -> None:
    problem = Problem(("nut", "thickness"), "first line\nsecond line")
    assert problem.sentence() == "spec  nut.thickness\n    first line\n    second line"
    placed = problem.located("a.toml", 7, "3")
    assert placed.sentence() == "a.toml:7  nut.thickness = 3\n    first line\n    second line"
    assert placed.located("b.toml", None).sentence().startswith("b.toml  nut.thickness = 3\n")
    assert Problem((), "is empty", file="a.toml").sentence() == "a.toml\n    is empty"
    assert Problem((), "cannot be read", "x y", "a.toml", 1).sentence() == "a.toml:1  x y\n    cannot be read"


def test_report_counts() -> None:
    one = Problem(("a",), "no", file="a.toml", line=1)
    assert problem_report([one]) == "a.toml:1  a\n    no\n1 problem; nothing was written."
    assert problem_report(iter([one, one])).endswith("\n2 problems; nothing was written.")


def test_errors_are_what_a_caller_expects() -> None:
    error = SpecError(iter([Problem(("a",), "no"), Problem(("b",), "nor that")]))
    assert isinstance(error, TemplategenError)
    assert isinstance(error, ValueError)
    assert [problem.key for problem in error.problems] == [("a",), ("b",)]
    assert str(error) == "spec  a\n    no\nspec  b\n    nor that"
    assert issubclass(MachineError, OSError)
