"""From pieces to STEP files through the kernel's child, each held against its flat pattern; then the whole kit on its frame."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from generator.kernel.service import UNWRITTEN, AssemblyBody, AssemblyItem, BuiltSolid, Colour, Kernel
from generator.output import Staging
from parts.errors import Finding
from parts.families import FAMILIES
from parts.flat import Flat
from parts.frame.bodies import frame_bodies
from parts.frame.frame import Frame
from parts.piece import Piece

ASSEMBLY = "assembly"  #: its product's name and its file's stem
LAW_TOLERANCE = 1e-9
AS_ASKED = "STEP models, as asked (--no-solids)"

FRAME_COLOUR = Colour(red=0.60, green=0.60, blue=0.60, opacity=0.35)
#: The parts of a kit take these in turn by family, so that an eye tells plates from brackets.
PALETTE = (
    Colour(red=0.35, green=0.50, blue=0.62),
    Colour(red=0.72, green=0.52, blue=0.30),
    Colour(red=0.45, green=0.58, blue=0.38),
    Colour(red=0.62, green=0.42, blue=0.50),
    Colour(red=0.56, green=0.56, blue=0.34),
)


@dataclass(frozen=True, kw_only=True)
class Solids:
    """What came of it. `files` and `volumes_mm3` go by the piece's id and lack what could not be made."""

    files: Mapping[str, str] = field(default_factory=dict)
    volumes_mm3: Mapping[str, float] = field(default_factory=dict)
    assembly: str | None = None
    findings: tuple[Finding, ...] = ()
    left_out: tuple[str, ...] = ()
    refused: bool = False  #: something that was asked for is not there


def make_solids(
    kernel: Kernel | None,
    staging: Staging,
    pieces: Sequence[Piece],
    flats: Sequence[Flat],
    frame: Frame,
    progress: Callable[[str], None],
) -> Solids:
    """One STEP file a piece and one of the whole kit, into the staging folder; nothing where there is no kernel to ask.

    Args:
        kernel: None where solids were not asked for.
        frame: shown translucent in the assembly.

    Raises:
        CannotWrite: a file could not be written. A set without it would take the place of a whole one for want of room.
    """
    if kernel is None:
        return Solids(left_out=(AS_ASKED,))
    progress("waiting for the solid kernel")
    version = kernel.version()
    if isinstance(version, Finding):
        return Solids(findings=(version,), left_out=("STEP models",), refused=True)
    colours = colours_of(pieces)
    files: dict[str, str] = {}
    volumes: dict[str, float] = {}
    findings: list[Finding] = []
    for number, (piece, flat) in enumerate(zip(pieces, flats, strict=True), start=1):
        progress(f"solid {number} of {len(pieces)}: {piece.id}")
        name = f"step/{piece.id}.step"
        made = kernel.build(piece.part, staging.path(name), name=piece.id, colour=colours[piece.family])
        if isinstance(made, Finding):
            _demand_room(staging, made)
            staging.drop(name)
            findings.append(made)
            continue
        files[piece.id] = name
        volumes[piece.id] = made.volume_mm3
        findings += _law(piece, flat, made)
    progress("the kit on its frame")
    items = tuple(
        AssemblyItem(name=p.id, part=p.part, colour=colours[p.family], placements=p.placements) for p in pieces if p.id in files
    )
    name = f"step/{ASSEMBLY}.step"
    bodies = tuple(AssemblyBody(name=b.name, body=b, colour=FRAME_COLOUR) for b in frame_bodies(frame))
    whole = kernel.assembly(staging.path(name), name=ASSEMBLY, items=items, bodies=bodies)
    if isinstance(whole, Finding):
        _demand_room(staging, whole)
        staging.drop(name)
        findings.append(whole)
    missing = tuple(f"step/{p.id}.step" for p in pieces if p.id not in files)
    left_out = (*missing, *((name,) if isinstance(whole, Finding) else ()))
    return Solids(
        files=files,
        volumes_mm3=volumes,
        assembly=None if isinstance(whole, Finding) else name,
        findings=tuple(findings),
        left_out=left_out,
        refused=bool(left_out),
    )


def _demand_room(staging: Staging, made: Finding) -> None:
    if made.code == UNWRITTEN:
        raise staging.refusal(made.message)


def colours_of(pieces: Sequence[Piece]) -> dict[str, Colour]:
    """By the family's place in the list of families, so that a colour means the same in every kit."""
    known = list(FAMILIES)
    places = {p.family: known.index(p.family) if p.family in known else len(known) for p in pieces}
    return {family: PALETTE[place % len(PALETTE)] for family, place in places.items()}


def _law(piece: Piece, flat: Flat, made: BuiltSolid) -> list[Finding]:
    """The solid and the flat pattern come from the same panels by different ways; Pappus's theorem ties their volumes."""
    if math.isclose(made.volume_mm3, flat.volume_mm3, rel_tol=LAW_TOLERANCE):
        return []
    return [
        Finding(
            code="volume-law",
            level="stop",
            where=piece.id,
            message="its solid and its flat pattern do not hold the same steel: do not cut it",
            value=f"{made.volume_mm3:.9g} mm3",
            limit=f"{flat.volume_mm3:.9g} mm3 to 1e-9",
            remedy="report it as a fault of the program",
            source="Pappus's theorem over panels and bends",
        )
    ]
