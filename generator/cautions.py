"""What can hurt someone in the work that a kit asks for, printed wherever the kit is."""

from __future__ import annotations

from collections.abc import Iterable

from generator.show import Section
from parts.piece import Piece

STANDS = "Hold the vehicle on stands on firm ground, never on jacks. Turn a bare frame over with slings and help: it is heavy."
EYES = "Eyes, ears and gloves for grinding and drilling; guards stay on the machines; blanks from the shop have sharp edges."
LINES = (
    "Fuel tank, fuel and brake lines and every sealed vessel come out or well out of the way before heat comes near: "
    "no temperature makes one that is left in harmless."
)
ELECTRICS = (
    "Battery off and electronics unplugged before welding. The earth clamp goes on the part being welded, close to the weld, "
    "never where the current would pass through bearings or springs."
)
COATINGS = "Zinc, lead paint and old undercoat come off well past the weld; no chlorinated cleaner near an arc: it makes phosgene."
FIRE = "Keep a fire watch while welding and for at least 30 minutes after [29 CFR 1910.252]."
HEAT_TREATED = "Nothing is welded to a rail that is heat-treated or whose steel is not known."
BRACED = "Crossmembers and braces stay in until what replaces them is tacked; a frame that is welded while twisted stays twisted."
CLEAR = "Nobody reaches under a frame that hangs or that a jack holds, to read a tape either."
PULLED = "A chain, a ram or a jack that pulls can let go: stay out of its line, and tie it so that it cannot fly."
WHO_DECIDES = "Local codes, and a licensed engineer or a certified welder, decide what may be done to this frame. This program does not."


def cautions(pieces: Iterable[Piece]) -> Section:
    """The cautions for the work that these pieces ask for: every kit's, and those of welding where anything is welded."""
    pieces = tuple(pieces)
    notes = [STANDS, EYES]
    if any(p.welds for p in pieces):
        notes += [LINES, ELECTRICS, COATINGS, FIRE, HEAT_TREATED]
    elif any(p.drilling or p.removals for p in pieces):
        notes.append(LINES)
    if any(p.removals or p.welds for p in pieces):
        notes.append(BRACED)
    return Section(title="Before any work on the frame", notes=(*notes, WHO_DECIDES))


def measuring(pulled: bool) -> Section:
    """The cautions for measuring a frame, and for pulling it where something is out."""
    notes = (STANDS, CLEAR, *((PULLED, HEAT_TREATED, BRACED) if pulled else ()), WHO_DECIDES)
    return Section(title="Before any work on the frame", notes=notes)
