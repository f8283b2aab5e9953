"""What parts built before offer to those built after: flat faces to land on, and seats that something is bolted to."""

from __future__ import annotations

from dataclasses import dataclass

from parts.frame.section import RailSide
from parts.holes import Hole
from parts.outline import Contour
from parts.sheet import Placement, Vec3


@dataclass(frozen=True, kw_only=True)
class FlatFace:
    """A flat face of steel in the vehicle: of a rail, a crossmember or a part built before."""

    name: str  #: "web", "CM-3 front", or a piece's id and its panel: "gearbox-seat-left base"
    side: RailSide | None  #: None: the face is no one side's, as a crossmember's
    placement: Placement  #: its u and v lie in the face; its normal points out of the steel
    outline: Contour  #: in (u, v): where the face is whole, flat steel
    holes: tuple[Hole, ...] = ()  #: in (u, v)
    thickness_mm: float  #: of the steel behind it
    onto: str  #: in words: "rail left web", "gearbox-seat left"
    piece: str = ""  #: id of the piece whose face it is: only such a face may be slotted; "" on the vehicle's own steel
    panel: str = ""  #: the panel of that piece


@dataclass(frozen=True, kw_only=True)
class Seat:
    """A bearing face with bolt places, one or more, on which something is bolted down later."""

    name: str  #: id of the part
    side: RailSide
    normal: Vec3  #: unit, out of the bearing face towards what lies on it
    points: tuple[Vec3, ...]  #: middles of its bolt places, on the bearing face, in vehicle axes
    bolt: str  #: size of the bolts through it: "M12"
    along: Vec3 = (1.0, 0.0, 0.0)  #: unit: the way of its slots
    travel_mm: float = 0.0  #: how far a bolt can move along its slot, in all; 0: round holes
    thickness_mm: float  #: of the seat's steel


@dataclass(frozen=True, kw_only=True)
class Pocket:
    """A slot that a part's tab needs in another piece: a rectangle through one of its panels."""

    name: str  #: "TAB of PIECE"
    piece: str  #: id of the piece that is slotted
    panel: str  #: its panel
    centre: Vec3  #: on the panel's face, in vehicle axes
    along: Vec3  #: unit: the way of the slot's length
    length_mm: float
    width_mm: float
    where: str = ""  #: what a fault about it is named by: the part that asks for it; "": the piece
    field: str = "tabs"  #: and that part's field
