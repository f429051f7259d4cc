"""What can hurt somebody at each step, in one place, so that every sheet says it the same way.

Published basis: wood dust NIOSH REL 1 mg/m³, HSE EH40/2005 limits 3 (hardwood) and 5 mg/m³ (softwood); bone and shell
fall under the general dust limits of the UK COSHH regulations (10 mg/m³ inhalable, 4 mg/m³ respirable).
"""

from __future__ import annotations

from templategen.errors import Caution

LOCAL = "Local rules, the tool maker's instructions and trained practice come first."

SAWING = Caution(
    "sawing fret slots",
    "Clamp the work, keep hands behind the teeth, wear eye protection; with a powered saw use its guard and a push "
    "block, never fingers.",
)
ROUTING = Caution(
    "routing or laser cutting",
    "Clamp the work, wear eye and ear protection, keep clear of the spinning cutter. A laser needs its enclosure, fume "
    "extraction, somebody watching it and an extinguisher at hand; never PVC, celluloid or "
    "plastics you do not know. Extract fumes and dust of bone, shell, ebony and rosewood.",
)
MILLING = Caution(
    "milling",
    "Run it in the air first, a hand at the stop. Clamp the work so that no jaw, clamp or screw stands where a tool "
    "goes or runs past the stock; hands away while the spindle turns, nothing loose on you, eye and ear protection, "
    "and stay beside it. Extract the dust: of bone, shell, ebony and rosewood above all. Only the operator can answer "
    "for feeds, speeds and holding.",
)
WOOD_DUST = Caution(
    "sanding wood",
    "Hardwood dust harms lungs and skin (rosewoods and ebony sensitise): extract at the source, wear a fitted dust "
    "mask, do not sweep dry.",
)
NUT_DUST = Caution(
    "shaping bone, shell or metal",
    "Bone and shell dust is fine and harmful: work wet or with extraction, wear a fitted dust mask and eye protection, "
    "wipe up wet.",
)
NUT_FILING = Caution(
    "filing nut slots",
    "Nut saws and files cut skin: support the blank in a vice, not in the fingers; file in small steps and measure.",
)
STEEL_DUST = Caution(
    "sanding near frets, inlay and pickups",
    "Steel dust is drawn into pickups and eyes: mask pickups and electronics, wear eye protection; inlay may be shell "
    "or metal, whose dust needs extraction and a fitted mask.",
)
PRESSING = Caution(
    "pressing frets",
    "Keep fingers out of the press and wear eye protection: a fret can spring out.",
)
GLUE = Caution(
    "gluing",
    "Cyanoacrylate irritates nose and eyes from a few ppm and bonds skin at once: ventilate, wear eye protection.",
)

CROWNS = Caution(
    "filing and polishing crowns",
    "Steel and nickel dust harms lungs, eyes and skin (nickel sensitises) and is drawn into pickups: mask board, body "
    "and pickups, draw the dust off, wear a fitted mask and eye protection, wipe up damp and never blow it off. A file "
    "needs its handle.",
)
ROD = Caution(
    "turning the rod, changing string tension",
    "Wear eye protection: strings under tension can break or slip. Slacken them before the rod is tightened, turn a "
    "quarter at most, tune and measure again, and stop where it will not turn.",
)

EYES = Caution(
    "strings and springs",
    "A string or a spring that slips goes for the eyes: wear eye protection, keep the face out of its line.",
)
BLADES = Caution(
    "blades",
    "Cut away from the hand that holds; keep the other behind the edge.",
)
HOT_IRON = Caution(
    "heat near frets and bindings",
    "A hot iron burns and lights: never near celluloid, solvent or wet glue (cyanoacrylate gives off vapour when hot, "
    "naphtha takes fire below 0 °C); extract, and put the iron in its stand at once.",
)
CLAMPS = Caution(
    "clamping",
    "Clamps slip and pinch: pad them, tighten by turns, keep fingers and face clear.",
)


def lines(*cautions: Caution) -> tuple[str, ...]:
    """The cautions as printed: one line per step, and the one that defers to local rules."""
    return (*(f"{c.step.capitalize()}: {c.text}" for c in cautions), LOCAL)


def at_the_bench(sanding: bool) -> tuple[str, ...]:
    """Those of the steps that the tables are for. sanding: whether a fretted board is sanded."""
    steps = [SAWING, WOOD_DUST, PRESSING, NUT_DUST, NUT_FILING]
    return lines(*steps, STEEL_DUST) if sanding else lines(*steps)
