"""From a mount pad's parameters to its pieces: one point for both sides, then each on its own rail."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from parts.errors import BadInput, Fault
from parts.features.held import not_listed
from parts.features.pad.clear import stand_of
from parts.features.pad.fixing import fixing_of
from parts.features.pad.ground import Ground, ground_of
from parts.features.pad.judge import in_the_way, judged, notes, small_top_holes
from parts.features.pad.panels import part_of
from parts.features.pad.pattern import judged_holes, openings
from parts.features.pad.seams import seams
from parts.features.pad.stand import Stand, with_radius
from parts.features.pad.target import targets
from parts.frame.frame import Frame
from parts.frame.offers import Seat
from parts.piece import Piece
from parts.shop import Shop
from parts.soundness import faults as unsound

if TYPE_CHECKING:
    from parts.families.mount_pad import MountPad


def build(pad: MountPad, frame: Frame, shop: Shop) -> tuple[Piece, ...]:
    """One pad a side: each on its own rail.

    Raises:
        BadInput: with every fault of the pad on this frame.
    """
    places, said = targets(pad, frame)
    found: list[Fault] = []
    pieces: list[Piece] = []
    for target in places:
        try:
            pieces.append(_piece(ground_of(pad, frame, shop, target), said))
        except BadInput as error:
            found += [f for f in error.faults if f not in found]
    if found:
        raise BadInput(found)
    return tuple(pieces)


def _piece(ground: Ground, said: str) -> Piece:
    ground, stand = _stand(ground)
    pad = ground.pad
    faults, findings = judged_holes(ground, stand)
    fixing = fixing_of(ground, stand)
    faults += fixing.faults
    if faults:
        raise BadInput(faults)
    name = f"{pad.id}-{ground.rail.side}"
    part, placement = part_of(ground, stand, fixing.holes, name)
    if wrong := unsound(part):
        raise BadInput([replace(f, where=ground.where) for f in wrong])
    more, removals = judged(ground, stand, fixing)
    piece = Piece(
        id=name, family=pad.FAMILY, side=ground.rail.side, part=part, grade=pad.grade, placements=(placement,), bolts=fixing.bolts,
        welds=seams(ground, stand), drilling=fixing.drilling, removals=(*fixing.removals, *removals), hardware=fixing.hardware,
        seats=(_seat(ground),), notes=(*notes(ground, stand, said), *fixing.notes, *not_listed(_seat(ground))),
    )  # fmt: skip
    told = (*findings, *small_top_holes(ground), *fixing.findings, *more, *in_the_way(ground, piece))
    return replace(piece, findings=told)


def _stand(ground: Ground) -> tuple[Ground, Stand]:
    """Raises BadInput: there is none. A bend beyond 120 deg needs a larger radius, with which the stand is laid out anew."""
    stand, faults = stand_of(ground)
    if stand is None:
        raise BadInput(faults)
    try:
        wider = with_radius(ground, stand)
    except BadInput as error:
        raise BadInput([replace(f, where=ground.where, field="thickness") for f in error.faults]) from None
    if wider.radius_mm == ground.radius_mm:
        return ground, stand
    stand, faults = stand_of(wider)
    if stand is None:
        raise BadInput(faults)
    return wider, stand


def _seat(ground: Ground) -> Seat:
    """The top's upper face and the places of its bolts."""
    pad, target = ground.pad, ground.target
    points = tuple(o.point for o in openings(pad, target) if o.bolted)
    return Seat(
        name=pad.id, side=ground.rail.side, normal=target.normal, points=points, bolt=pad.top_bolt, along=target.along,
        thickness_mm=pad.thickness_mm,
    )  # fmt: skip

