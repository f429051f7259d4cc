"""A mill's program as G-code: the plain words of ISO 6983 that every control reads, mm, arcs by their centre.

Only G0 to G4, the modes that are said once at the start, G43 with a tool changer, and M0, M2, M3, M5, M6. Comments are
plain ASCII, in brackets, short enough for a small display.
"""

from __future__ import annotations

import textwrap
import unicodedata
from collections.abc import Iterator

from templategen.drawing.program import Program, ProgramStep, Tool
from templategen.writers import plain

MODES = ("G17 G21 G40 G49 G54 G80 G90 G94", "G61")
_WIDTH = 76
_PLACES = 4
_FORMS = {"flat": "flat end mill", "ball": "ball end mill", "vee": "vee cutter"}
_Place = tuple[float | None, float | None, float | None]
_UNKNOWN: _Place = (None, None, None)
_SAID = {"·": "*", "–": "-", "—": "-", "…": "...", "°": " deg", "×": "x", "±": "+-", "≤": "<=", "(": "[", ")": "]"}


def encode(program: Program) -> bytes:
    """The program's lines, its head before them."""
    lines = [*_head(program), *MODES, *_lines(program)]
    return ("\n".join(lines) + "\n").encode("ascii")


def tool_text(tool: Tool) -> str:
    size = f"{_number(tool.diameter)} mm"
    angle = f" of {_number(tool.tip_deg)} deg" if tool.tip_deg else ""
    return f"T{tool.number}: {_FORMS[tool.form]}{angle}, {size}"


def _head(program: Program) -> Iterator[str]:
    said = [
        program.title,
        *program.head,
        *(
            f"{tool_text(tool)}, S{_number(tool.speed)}, feed {_number(tool.feed)}, plunge {_number(tool.plunge)} "
            "mm/min"
            for tool in program.tools
        ),
        f"Deepest Z: {program.deepest:.3f}. Moves across at Z {_number(program.safe_z)}.",
        f"Time at these feeds: {program.minutes:.0f} min; rapid moves and tool changes come on top.",
        *program.cautions,
    ]
    for line in said:
        yield from _comment(line)


def _comment(text: str) -> Iterator[str]:
    """A comment, in as many lines as it takes. Lines that go on begin with a sign, so that no control finds a command
    of its own in them."""
    plain = "".join(_SAID.get(sign, sign) for sign in text)
    plain = unicodedata.normalize("NFKD", plain).encode("ascii", "ignore").decode()
    plain = "".join(sign if sign.isprintable() else " " for sign in plain).strip() or "-"
    for n, line in enumerate(textwrap.wrap(plain, _WIDTH)):
        yield f"({'> ' if n else ''}{line})"


def _lines(program: Program) -> Iterator[str]:
    name = ""
    now: _Place = _UNKNOWN
    for step in program.steps():
        if step.name and step.name != name:
            name = step.name
            yield from _comment(name)
        if step.word in {"rapid", "feed", "arc"}:
            yield _move(step, now)
            now = step.to
        else:
            yield from _other(step, program)
            now = _UNKNOWN if step.word == "change" else now


def _move(step: ProgramStep, now: _Place) -> str:
    places = " ".join(
        f"{axis}{_number(to)}"
        for axis, to, was in zip("XYZ", step.to, now, strict=True)
        if to != was or step.word == "arc"
    )
    if step.word == "rapid":
        return f"G0 {places}"
    feed = f"F{_number(step.feed)}"
    if step.word == "feed":
        return f"G1 {places} {feed}"
    x, y, _ = now
    assert x is not None
    assert y is not None
    i, j = step.centre[0] - x, step.centre[1] - y
    return f"G{2 if step.clockwise else 3} {places} I{_number(i)} J{_number(j)} {feed}"


def _other(step: ProgramStep, program: Program) -> Iterator[str]:
    tool = step.tool
    if step.word in {"tool", "change"}:
        assert tool is not None
        if program.changer:
            yield f"T{tool.number} M6"
            yield f"G43 H{tool.number}"
        elif step.word == "change":
            yield from _comment(f"change to {tool_text(tool)}; touch off Z0 again, then go on")
            yield "M0"
        yield from _comment(f"now {tool_text(tool)}")
        yield f"G0 Z{_number(step.value)}"
    elif step.word == "speed":
        assert tool is not None
        yield f"S{_number(tool.speed)} M3"
    elif step.word == "wait":
        yield f"G4 P{_number(step.value)}"
    elif step.word == "stop":
        yield "M5"
    elif step.word == "end":
        yield "M2"


def _number(value: float) -> str:
    return plain.number(value, _PLACES)
