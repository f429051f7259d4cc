"""How wide lettering is, so that labels can be placed without touching.

One typeface for every sheet: the sans serif that every PDF reader carries (ISO 32000-1, 9.6.2.2, the standard 14 fonts)
and whose metrics the usual free faces share, so SVG and PDF agree on widths.
"""

from __future__ import annotations

FONT = "Helvetica"
FONT_BOLD = "Helvetica-Bold"
CAPITAL = 0.718  # capital height over type size in that face's published metrics


def type_size(height: float) -> float:
    """Type size (mm) whose capitals are ``height`` mm tall."""
    return height / CAPITAL


def text_width(text: str, height: float, bold: bool = False) -> float:
    """Width in mm of ``text`` set with capitals ``height`` mm tall."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    return float(stringWidth(text, FONT_BOLD if bold else FONT, type_size(height)))
