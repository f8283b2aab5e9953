"""The stage: every part on its rails as they were found, and whether one shape serves both sides."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING

from generator.show import Section
from parts.errors import Finding
from parts.families.family import Family
from parts.frame.frame import Frame
from parts.piece import Piece
from parts.sheet import Vec3
from parts.shop import Shop

if TYPE_CHECKING:
    from generator.fit.edges import OnOwn, Pair
    from generator.fit.planes import Standing
    from generator.fit.seats import SeatRow


@dataclass(frozen=True, kw_only=True, eq=False)
class Fit:
    """What the rails leave of each part's fit.

    Attributes:
        own: rail plates on their own rails; only where something was measured.
        pairs: left and right pieces that are each other's like.
        planes: plates that do not lie flat.
        seats: what is bolted on, per seat.
    """

    own: tuple[OnOwn, ...] = ()
    pairs: tuple[Pair, ...] = ()
    planes: tuple[Standing, ...] = ()
    seats: tuple[SeatRow, ...] = ()
    findings: tuple[Finding, ...] = ()
    sections: tuple[Section, ...] = ()


def fit(
    parts: Sequence[Family], pieces: Sequence[Piece], frame: Frame, shop: Shop, sigmas: Mapping[str, Vec3] = MappingProxyType({})
) -> Fit:
    """Hold a built kit against the frame that it was built on. On rails drawn as each other's mirror image there is nothing to say.

    Args:
        sigmas: standard deviations of the measured points, in mm; a verdict that they do not carry is *cannot tell*.
        pieces: of these parts, all or some; those of rail plates are held against flanges, those of other families against each other.
    """
    if frame.mirrored:
        return Fit()
    from generator.fit.held import held  # with the search for one shape behind it, which a frame as drawn does without

    return held(parts, pieces, frame, shop, sigmas)
