"""The words printed beside a drawing: how to print it, put it together and check it."""

from __future__ import annotations

from templategen.drawing.model import Drawing
from templategen.drawing.paper.furniture import Paragraph, TileMap
from templategen.units import both_units, mm_text

PRINT = "At 100 %, never fit to page, on one side of the paper. Measure both rulers before you use it."


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


def short_paragraphs(drawing: Drawing, tiles: TileMap | None, page: str) -> tuple[Paragraph, ...]:
    """What must stay on the page when the rest is on a page of its own. page: that page's name."""
    apart = ["to decide"] * bool(drawing.to_decide) + ["putting together"] * (tiles is not None) + ["notes"]
    head = ", ".join(apart).capitalize() + ":"
    return (Paragraph("Print.", PRINT), Paragraph(head, f'see the page "{page}".'), *cautions(drawing))


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
        first = "Cut each sheet" + (" of a row" if tiles.rows > 1 else "") + " but the first"
        words.append(
            f"{first} along the dashed line at its left edge. Lay it over the sheet to its left: the cut edge on the "
            "two marks there, half mark on half mark, lines running on straight. Tape it down flat."
        )
    if tiles.rows > 1:
        first = "Then cut each lower row" if tiles.columns > 1 else "Cut each lower sheet"
        over = "row" if tiles.columns > 1 else "sheet"
        words.append(
            f"{first} along the dashed line at its top and lay it over the {over} above, mark on mark. Tape it."
        )
    if crossed and not lost:
        words.append("Where an edge crosses a part that should stay whole, the next sheet shows all of that part.")
    if lost:
        words.append(f"{lost} {'part is' if lost == 1 else 'parts are'} larger than a sheet and cut by a joint.")
    return " ".join(words)


def _checking(drawing: Drawing) -> str:
    listed = "; ".join(_held(label, both_units(_length(a, b))) for label, a, b in drawing.joints)
    return (
        f"With a steel rule, across the joints: {listed}. "
        "If one is off by more than 0.3 mm, lift the tape and lay that joint again."
    )


def _held(label: str, length: str) -> str:
    """Label and length with no line end between a number and what it belongs to."""
    head, _, tail = label.rpartition(" ")
    metric, _, rest = length.partition(" (")
    held = f"{tail}: {metric}".replace(" ", "\xa0") + " (" + rest.replace(" ", "\xa0")
    return f"{head} {held}" if head else held


def _length(a: tuple[float, float], b: tuple[float, float]) -> float:
    return float(((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2) ** 0.5)


def _sentence(text: str) -> str:
    return text if text.endswith((".", "!", "?", ":", ";")) else text + "."
