"""What of an instrument rests on sizes that nobody measured: whatever prints such a number marks it ``est.``."""

from __future__ import annotations

from dataclasses import dataclass

from templategen.instrument.built import Built

Marks = tuple[bool, ...]


@dataclass(frozen=True)
class Guessed:
    """By what the guess touches. Of every string, (strings,): its core; its mass, and the tension that follows; its
    stiffness; its offsets at saddle and nut where they are fitted; all its notes.

    crown: heights over the wood, which follow the crown's. tang: depths of fret slots. slot: their width.
    """

    core: Marks
    mass: Marks
    stiffness: Marks
    saddle: Marks
    nut: Marks
    crown: bool
    tang: bool
    slot: bool

    @property
    def notes(self) -> Marks:
        """Cents of fretted notes, the offsets as they are."""
        return self.stiffness


def guessed(i: Built) -> Guessed:
    bodies, held = [load.body for load in i.loads], i.intonation.held
    unmeasured = i.spec.fret_wire.unmeasured
    return Guessed(
        core=tuple(body.core_estimated for body in bodies),
        mass=tuple(body.core_estimated and body.mass_source != "given" for body in bodies),
        stiffness=tuple(body.guessed for body in bodies),
        saddle=tuple(body.guessed and at[0] is None for body, at in zip(bodies, held, strict=True)),
        nut=tuple(body.guessed and at[1] is None for body, at in zip(bodies, held, strict=True)),
        crown="crown_height" in unmeasured,
        tang="tang_depth" in unmeasured,
        slot="slot_width" in unmeasured,
    )
