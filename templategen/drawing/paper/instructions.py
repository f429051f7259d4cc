"""The words printed beside a drawing: how to print it, put it together and check it."""

from __future__ import annotations

from templategen.drawing.model import Drawing
from templategen.drawing.paper.furniture import Paragraph, TileMap
from templategen.units import Unit, both_units, inch_text, mm_text, rule_text

RULE_TELLS = 0.5  # mm: half of a steel rule's finest division, common practice, no source
PRINT = "At 100 %, never fit to page, on one side. Measure both rulers before you use it."


def paragraphs(
    drawing: Drawing, scale: float, tiles: TileMap | None, measured: tuple[float, float], crossed: bool, lost: int
) -> tuple[Paragraph, ...]:
    """Everything that a person with scissors, tape and a steel rule needs."""
    found = [Paragraph("Print.", PRINT)]
    if measured != (100.0, 100.0):
        across, along = (mm_text(m) for m in measured)
        found.append(
            Paragraph(
                "Corrected.",
                f"For a printer whose 100 mm measured {across} across and {along} along the paper. "
                "Here the rulers should measure true.",
            )
        )
    if scale != drawing.scale:
        shown, meant = scale_text(scale), scale_text(drawing.scale)
        found.append(Paragraph("Reduced.", f"Shown at {shown}; drawn for {meant}, on larger paper."))
    if tiles is not None:
        found.append(Paragraph("Put together.", _joining(tiles, crossed, lost)))
        if drawing.joints:
            found.append(Paragraph("Check.", _checking(drawing)))
    if drawing.to_decide:
        found.append(Paragraph("To decide.", " ".join(_sentence(line) for line in drawing.to_decide)))
    if drawing.notes:
        found.append(Paragraph("Notes.", " ".join(_sentence(note) for note in drawing.notes)))
    return (*found, *cautions(drawing))


def short_paragraphs(drawing: Drawing, tiles: TileMap | None, where: str) -> tuple[Paragraph, ...]:
    """What must stay on the page when the rest stands elsewhere; where: ``"see sheet 2"``, empty for on this page."""
    found = [Paragraph("Print.", PRINT)]
    if tiles is not None:
        found.append(Paragraph("Put together.", _joining(tiles, False, 0)))
    apart = ["to decide"] * bool(drawing.to_decide)
    apart += ["check"] * (tiles is not None and bool(drawing.joints)) + ["notes"] * bool(drawing.notes)
    if where and apart:
        found.append(Paragraph(", ".join(apart).capitalize() + ":", f"{where}."))
    return (*found, *cautions(drawing))


def cautions(drawing: Drawing) -> tuple[Paragraph, ...]:
    if not drawing.cautions:
        return ()
    return (Paragraph("Caution.", " ".join(_sentence(caution) for caution in drawing.cautions)),)


def scale_text(scale: float) -> str:
    """A scale as ISO 5455 writes it: 5:1, 1:1, 1:2."""
    return f"{scale:g}:1" if scale >= 1 else f"1:{1 / scale:g}"


def _joining(tiles: TileMap, crossed: bool, lost: int) -> str:
    words = []
    if tiles.columns > 1:
        which = "each sheet of a row" if tiles.rows > 1 else "each sheet"
        words.append(
            f"Cut {which} but the first along its dashed line, lay the cut over the sheet to its left, on the two "
            "marks, half on half; tape."
        )
    if tiles.rows > 1:
        which = "Then cut each lower row" if tiles.columns > 1 else "Cut each lower sheet"
        over = "row" if tiles.columns > 1 else "sheet"
        words.append(f"{which} along the dashed line at its top, lay it over the {over} above, mark on mark; tape.")
    if crossed and not lost:
        words.append("Where an edge crosses a part that should stay whole, the next sheet shows all of that part.")
    if lost:
        words.append(f"{lost} {'part is' if lost == 1 else 'parts are'} larger than a sheet and cut by a joint.")
    return " ".join(words)


def _checking(drawing: Drawing) -> str:
    listed = "; ".join(_held(label, _said(_length(a, b), drawing.unit)) for label, a, b in drawing.joints)
    return (
        f"Across the joints with a steel rule, which tells {both_units(RULE_TELLS, 1, 2, first=drawing.unit)}: "
        f"{listed}. If one is off by more, lift the tape and lay that joint again."
    )


def _said(mm: float, unit: Unit) -> str:
    """A length to check; in inches as a rule has it too."""
    if unit == "mm":
        return both_units(mm)
    return f"{inch_text(mm, 3)} in, {rule_text(mm)} ({mm_text(mm)} mm)"


def _held(label: str, length: str) -> str:
    """Label and length with no line end between a number and what it belongs to."""
    head, _, tail = label.rpartition(" ")
    first, _, rest = length.partition(" (")
    held = f"{tail}: {first}".replace(" ", "\xa0") + " (" + rest.replace(" ", "\xa0")
    return f"{head} {held}" if head else held


def _length(a: tuple[float, float], b: tuple[float, float]) -> float:
    return float(((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2) ** 0.5)


def _sentence(text: str) -> str:
    return text if text.endswith((".", "!", "?", ":", ";")) else text + "."
