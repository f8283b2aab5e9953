"""What every family of parts has in common: how it is called, built, and checked against a case worked by hand."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Protocol

from parts.frame.faces import UprightFace
from parts.frame.frame import Frame
from parts.piece import Piece
from parts.sheet import Vec3
from parts.shop import Shop


@dataclass(frozen=True, kw_only=True)
class WorkedCase:
    """One case worked by hand: what to build, and what must come out.

    `box_mm` is the full outside size (x, y, z) of the formed part in vehicle axes as placed; `holes` are signed hole centres in
    vehicle axes, on the axis; `flat_mm` the flat pattern's length and width where they are known by hand.
    """

    pieces: tuple[Piece, ...]
    piece: str  #: id of the piece that the numbers are for
    box_low: Vec3
    box_high: Vec3
    holes: dict[str, Vec3]
    arithmetic: str
    source: str = "worked by hand"
    flat_mm: tuple[float, float] | None = None


class Family(Protocol):
    FAMILY: ClassVar[str]
    SUMMARY: ClassVar[str]
    id: str

    @property
    def needs(self) -> tuple[str, ...]:
        """Ids of the parts that must be built before this one."""
        ...

    def build(self, frame: Frame, shop: Shop = ...) -> tuple[Piece, ...]:
        """The pieces. Raises `BadInput` with every fault."""
        ...

    def faces(self, frame: Frame, shop: Shop = ...) -> tuple[UprightFace, ...]:
        """The faces that other parts may seat on."""
        ...

    @classmethod
    def worked(cls) -> WorkedCase: ...
