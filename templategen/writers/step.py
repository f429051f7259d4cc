"""Solids to STEP (ISO 10303-21, AP214), millimetres, the same bytes for the same solids.

What identifies the writing library, its clock or its counters is replaced: header fields are ours or empty, product
names are the solids' own. Curves on surfaces are written too: a reader that had to find them itself would be less exact
about it than ``solids.exact``.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from templategen.errors import OurBug
from templategen.solids.shape import Solid

TIME_STAMP = "2000-01-01T00:00:00"


def encode(solids: Solid | Sequence[Solid], title: str = "") -> bytes:
    """One STEP file of one or more named solids, each a product of its own.

    title: the file's name in its header (default the first solid's name). Raises OurBug for a solid without a name,
    for two of the same name, and when the kernel does not report success.
    """
    bodies = (solids,) if isinstance(solids, Solid) else tuple(solids)
    names = [body.name for body in bodies]
    if not bodies or not all(names) or len(set(names)) != len(names):
        raise OurBug(f"a STEP file needs solids with names of their own, not {names}")

    from OCP.APIHeaderSection import APIHeaderSection_MakeHeader
    from OCP.IFSelect import IFSelect_RetDone
    from OCP.StepBasic import StepBasic_Product
    from OCP.STEPControl import STEPControl_AsIs, STEPControl_Writer

    with _settings():
        writer = STEPControl_Writer()
        for body in bodies:
            if writer.Transfer(body.shape, STEPControl_AsIs) != IFSelect_RetDone:
                raise OurBug(f"the CAD kernel could not translate {body.name} to STEP")
        model = writer.Model()
        # Names are set as bare tokens and spelled out afterwards: the kernel neither encodes what lies outside ASCII
        # nor keeps long strings on one line.
        products = [entity for entity in _entities(model) if isinstance(entity, StepBasic_Product)]
        if len(products) != len(bodies):
            raise OurBug(f"STEP: {len(products)} products for {len(bodies)} solids")
        for i, product in enumerate(products):
            product.SetId(_text(_token(i)))
            product.SetName(_text(_token(i)))
            product.SetDescription(_text(_described(i)))
        header = APIHeaderSection_MakeHeader(model)
        header.SetName(_text(_token(len(names))))
        header.SetTimeStamp(_text(TIME_STAMP))
        header.SetDescriptionValue(1, _text(""))
        header.SetAuthorValue(1, _text(""))
        header.SetOrganizationValue(1, _text(""))
        header.SetPreprocessorVersion(_text("templategen"))
        header.SetOriginatingSystem(_text(""))
        header.SetAuthorisation(_text(""))
        stream = io.BytesIO()
        if writer.WriteStream(stream) != IFSelect_RetDone:
            raise OurBug(f"the CAD kernel could not write {names[0]} as STEP")

    content = stream.getvalue()
    for i, name in enumerate([*names, title or names[0]]):
        content = content.replace(_token(i).encode(), part21_string(name).encode())
    for i, body in enumerate(bodies):
        content = content.replace(_described(i).encode(), part21_string(body.note).encode())
    return content


def part21_string(text: str) -> str:
    r"""Text as it stands between the quotes of a STEP string (ISO 10303-21, 6.4.3): quotes and backslashes doubled,
    what lies outside printable ASCII as ``\X2\`` (or ``\X4\``) and hexadecimal digits.

    >>> part21_string("nut’s end")
    'nut\\X2\\2019\\X0\\s end'
    """
    doubled = text.replace("\\", "\\\\").replace("'", "''")
    return re.sub(r"[^ -~]+", lambda found: _hexadecimal(found.group()), doubled)


def _hexadecimal(text: str) -> str:
    wide = any(ord(c) > 0xFFFF for c in text)
    digits = text.encode("utf-32-be" if wide else "utf-16-be").hex().upper()
    return f"\\X{4 if wide else 2}\\{digits}\\X0\\"


def _token(i: int) -> str:
    return f"@{i:03d}@"


def _described(i: int) -> str:
    return f"@d{i:03d}@"


def _text(value: str) -> Any:
    from OCP.TCollection import TCollection_HAsciiString

    return TCollection_HAsciiString(value)


def _entities(model: Any) -> Iterator[Any]:
    return (model.Value(i) for i in range(1, model.NbEntities() + 1))


@contextmanager
def _settings() -> Iterator[None]:
    """The kernel's process-wide switches, set for one export and put back: schema, unit, curves on surfaces, and
    silence."""
    from OCP.Interface import Interface_Static
    from OCP.Message import Message, Message_Gravity
    from OCP.STEPControl import STEPControl_Controller

    STEPControl_Controller.Init_s()
    words = {"write.step.schema": "AP214IS", "write.step.unit": "MM"}
    words_before = {key: Interface_Static.CVal_s(key) for key in words}
    curves_before = Interface_Static.IVal_s("write.surfacecurve.mode")
    printers = [(p, p.GetTraceLevel()) for p in Message.DefaultMessenger_s().Printers()]
    for key, value in words.items():
        Interface_Static.SetCVal_s(key, value)
    Interface_Static.SetIVal_s("write.surfacecurve.mode", 1)
    for printer, _ in printers:
        printer.SetTraceLevel(Message_Gravity.Message_Fail)
    try:
        yield
    finally:
        for key, value in words_before.items():
            Interface_Static.SetCVal_s(key, value)
        Interface_Static.SetIVal_s("write.surfacecurve.mode", curves_before)
        for printer, level in printers:
            printer.SetTraceLevel(level)
