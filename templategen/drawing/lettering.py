"""How wide lettering is, so that labels can be placed without touching.

One typeface for every sheet: the sans serif that every PDF reader carries (ISO 32000-1, 9.6.2.2, the standard 14 fonts)
and whose metrics the usual free faces share, so SVG and PDF agree on widths. Signs that this face's usual encoding
(WinAnsi) lacks are set in a free face that has them.
"""

from __future__ import annotations

from functools import cache, lru_cache
from itertools import groupby
from pathlib import Path

FONT = "Helvetica"
FONT_BOLD = "Helvetica-Bold"
CAPITAL = 0.718  # capital height over type size in that face's published metrics

WIDE_FONT = "DejaVuSans"
WIDE_FONT_BOLD = "DejaVuSans-Bold"
WIDE_CAPITAL = 0.729  # the same of the free face

REMEMBERED = 1 << 14  # texts whose layout is kept: sheets, and the jobs of a batch, share most of theirs

LINE_PITCH = 1.7  # from base line to base line, in capital heights


def type_size(height: float, font: str = FONT) -> float:
    """Type size (mm) whose capitals are ``height`` mm tall."""
    return height / (WIDE_CAPITAL if font in (WIDE_FONT, WIDE_FONT_BOLD) else CAPITAL)


@lru_cache(maxsize=REMEMBERED)
def runs(text: str, bold: bool = False) -> tuple[tuple[str, str], ...]:
    """``text`` in stretches of one face, as (name of the face in reportlab, stretch).

    Faces other than the sheet's own are registered with reportlab by this call.
    """
    own, wide = (FONT_BOLD, WIDE_FONT_BOLD) if bold else (FONT, WIDE_FONT)
    if _plain(text) or not _wide_ready():
        return ((own, text),) if text else ()
    return tuple((own if plain else wide, "".join(signs)) for plain, signs in groupby(text, _plain))


@lru_cache(maxsize=REMEMBERED)
def text_width(text: str, height: float, bold: bool = False) -> float:
    """Width in mm of ``text`` set with capitals ``height`` mm tall."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    return float(sum(stringWidth(part, font, type_size(height, font)) for font, part in runs(text, bold)))


@lru_cache(maxsize=REMEMBERED)
def wrapped(text: str, height: float, width: float, bold: bool = False, first: float = 0.0) -> tuple[str, ...]:
    """``text`` broken at spaces into lines no wider than ``width`` mm; a longer word stands alone.

    first: what stands before the first line already, mm. A no-break space holds words together and is set as a space.
    """
    lines: list[str] = []
    for word in text.split(" "):
        if not word:
            continue
        longer = f"{lines[-1]} {word}" if lines else word
        room = width - (first if len(lines) <= 1 else 0.0)
        if not lines and first and text_width(word, height, bold) > room:
            lines = ["", word]
        elif not lines or text_width(longer, height, bold) > room:
            lines.append(word)
        else:
            lines[-1] = longer
    return tuple(line.replace("\xa0", " ") for line in lines)


def _plain(text: str) -> bool:
    """Whether the sheet's own face has all of it."""
    try:
        text.encode("cp1252")
    except UnicodeEncodeError:
        return False
    return True


@cache
def _wide_ready() -> bool:
    """Register the free face that comes with matplotlib (which is not imported for it); False where there is none."""
    from importlib.util import find_spec

    spec = find_spec("matplotlib")
    if spec is None or spec.origin is None:
        return False
    folder = Path(spec.origin).parent / "mpl-data" / "fonts" / "ttf"
    files = {name: folder / f"{name}.ttf" for name in (WIDE_FONT, WIDE_FONT_BOLD)}
    if not all(file.is_file() for file in files.values()):
        return False
    from reportlab.pdfbase.pdfmetrics import registerFont
    from reportlab.pdfbase.ttfonts import TTFont

    for name, file in files.items():
        registerFont(TTFont(name, str(file)))
    return True
