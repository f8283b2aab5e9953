"""A rail plate's edges on its own rail, and one side's shape tried on the other side."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from parts.features.edge_gaps import bounds_of
from parts.features.plate import setting_of
from parts.features.shared import LEFT, RIGHT, better_of
from parts.frame.section import RailSide
from parts.laid_flat import LaidFlat, Place
from parts.one_shape import OneShape, one_shape
from parts.shape_gaps import Bounds

if TYPE_CHECKING:
    from parts.families.rail_plate import RailPlate
    from parts.frame.frame import Frame
    from parts.piece import Piece
    from parts.shop import Shop

@dataclass(frozen=True, kw_only=True)
class OnOwn:
    """A plate on its own rail, shifted to balance its gaps."""

    piece: Piece
    side: RailSide
    fit: OneShape
    root: bool  #: its long edges face the flanges over a gap


@dataclass(frozen=True, kw_only=True)
class Pair:
    """A left and a right piece, and the one whose shape does better in the other's place."""

    left: Piece
    right: Piece
    shape: RailSide  #: whose shape serves both
    fit: OneShape  #: of that shape on the other side

    @property
    def on(self) -> RailSide:
        return RIGHT if self.shape == LEFT else LEFT

    @property
    def serves_both(self) -> bool:
        return self.fit.fits


def rail_plate_bounds(part: RailPlate, frame: Frame, shop: Shop, side: RailSide) -> Bounds:
    return bounds_of(setting_of(part, frame, shop, side))


def plain_bounds(shop: Shop) -> Bounds:
    """For a part of any family: its outline may be off by the gap that a fillet bridges."""

    def bounds(place: Place) -> tuple[float, float, float]:
        return 0.0, -shop.weld_gap_mm, shop.weld_gap_mm

    return bounds


def on_own(piece: Piece, side: RailSide, bounds: Bounds, shop: Shop, root: bool) -> OnOwn:
    laid = LaidFlat.of(piece, shop.bend_rule())
    return OnOwn(piece=piece, side=side, fit=one_shape(laid, laid, bounds, gap_mm=shop.weld_gap_mm), root=root)


def pair_of(left: Piece, right: Piece, bounds: dict[RailSide, Bounds], shop: Shop) -> Pair:
    """Each shape is tried on the other side; the one whose worst gap is less is kept."""
    shape, fit = better_of({LEFT: left, RIGHT: right}, bounds, shop)
    return Pair(left=left, right=right, shape=shape, fit=fit)
