"""What has to be known of a file that somebody gets alone: said in the file itself, in manifest.json, in numbers.json.

Every cut file, path and solid has one ``About``, which has to name all of it; the lines and the record come from the
same fields.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from templategen.units import both_units, mm_text

THROUGH = "all cuts go through; ENGRAVE as shallow as it can be read"
CUT_ORDER = "this file's: ENGRAVE, then what is cut inside, OUTLINE last"

Allowed = Literal["finished", "beam", "with allowances", "path", "to mill from"]


@dataclass(frozen=True)
class About:
    """Sentences without their full stop. thickness: mm, None where it is the shop's choice or the drawing's. side: of
    the material, seen from where the file is seen. size: what was done about kerf or allowances; kerf: mm taken off for
    the beam, 0 for none. more: whatever else this file needs, as whole sentences."""

    part: str
    job: str
    material: str
    thickness: float | None
    side: str
    depth: str
    allowances: str
    datum: str
    order: str
    size: Allowed = "finished"
    kerf: float = 0.0
    more: tuple[str, ...] = ()

    @property
    def lines(self) -> tuple[str, ...]:
        """For people, the size first."""
        thick = "" if self.thickness is None else f", {mm_text(self.thickness)} mm thick"
        said = (
            ("Part", self.part),
            ("Job", self.job),
            ("Material", self.material + thick),
            ("Side", self.side),
            ("Depth", self.depth),
            ("Allowances", self.allowances),
            ("Datum", self.datum),
            ("Order of work", self.order),
        )
        return (self._size, *(f"{label}: {text}." for label, text in said), *self.more)

    @property
    def _size(self) -> str:
        if self.size == "beam":
            return (
                f"Beam size: kerf {both_units(self.kerf, 3)} taken off, lines run half of it to the waste side of each "
                "finished edge: run the beam on the line, with no allowance of the machine's own."
            )
        return {
            "finished": "Finished size, no kerf taken off: let the machine allow for its own cutter or beam.",
            "with allowances": "With its allowances on: not finished.",
            "to mill from": "Lines to work from, no outline to be run as it stands: SLOT_PATH is the way of a tip.",
            "path": "Ways of the cutter's centre: run it on the line, with no allowance of the machine's own.",
        }[self.size]

    def record(self) -> dict[str, Any]:
        """For numbers.json; lengths in mm."""
        return {
            "part": self.part,
            "job": self.job,
            "size": self.size,
            "kerf": self.kerf,
            "material": self.material,
            "thickness": self.thickness,
            "material_side": self.side,
            "depth": self.depth,
            "allowances": self.allowances,
            "datum": self.datum,
            "order_of_work": self.order,
            "more": self.more,
        }
