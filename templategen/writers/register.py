"""All writers: from what a product holds and a format's name to a file's bytes. A new format is one file and one line.

Writers are imported when they are used, so that a small job does not pay for the libraries of the others.
"""

from __future__ import annotations

from dataclasses import dataclass
from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from templategen.drawing.paper.sizes import PaperSize


@dataclass(frozen=True)
class Setting:
    """What a writer may need besides the content. ruler_measured: what printed 100 mm measure across and along, mm.
    trace: a line that says what the file was made from."""

    paper: PaperSize
    ruler_measured: tuple[float, float] = (100.0, 100.0)
    trace: str = ""


@dataclass(frozen=True)
class Writer:
    """A function of a module of this room, from the content and the settings that it ``wants`` to bytes."""

    module: str
    function: str = "encode"
    wants: tuple[str, ...] = ()


WRITERS: dict[tuple[str, str], Writer] = {
    ("drawing", "dxf"): Writer("dxf"),
    ("drawing", "svg"): Writer("svg"),
    ("drawing", "pdf"): Writer("on_paper", "drawings", ("paper", "ruler_measured", "trace")),
    ("pages", "pdf"): Writer("on_paper", "pages", ("paper",)),
    ("solid", "step"): Writer("step"),
    ("solid", "stl"): Writer("stl"),
    ("toolpath", "dxf"): Writer("toolpath", "drawn"),
    ("toolpath", "csv"): Writer("toolpath", "listed"),
    ("table", "csv"): Writer("csv"),
    ("table", "json"): Writer("json"),
    ("document", "html"): Writer("html"),
    ("document", "pdf"): Writer("document", wants=("paper",)),
    ("program", "ngc"): Writer("ngc"),
}
"""By the kind of content and the format, in the order in which formats are told."""

FORMATS = tuple(dict.fromkeys(form for _, form in WRITERS))


def encode(kind: str, form: str, content: Any, setting: Setting) -> bytes:
    """``content`` as a file of the format ``form``; raises KeyError for a pair that has no writer."""
    writer = WRITERS[kind, form]
    function = getattr(import_module(f"templategen.writers.{writer.module}"), writer.function)
    data: bytes = function(content, *(getattr(setting, name) for name in writer.wants))
    return data
