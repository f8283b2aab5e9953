"""How a feature of the frame is placed on a rail: fields that holes, brackets, mounts and the rest share."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Literal

from parts import spec
from parts.errors import BadInput, Fault
from parts.frame.section import FACES, Face, RailSide
from parts.spec import Position

Sides = Literal["left", "right", "both"]
SIDES: tuple[RailSide, ...] = ("left", "right")
FURTHEST_MM = 14000.0


def sides_of(side: Sides) -> tuple[RailSide, ...]:
    return SIDES if side == "both" else (side,)


def at_or_x(at: Position | None, x_mm: float | None) -> list[Fault]:
    """A fault unless exactly one of the two says where a thing stands."""
    if (at is None) == (x_mm is None):
        limit = "give one of at and x, not both" if at is not None else "needs a place: at or x"
        return [Fault(where="", field="at", value="" if at is None else str(at), limit=limit, remedy='at = "NAME", or x = LENGTH')]
    return []


@dataclass(frozen=True, kw_only=True)
class OnRail:
    """Something on one rail or on both, at a place along it."""

    UNIQUE: ClassVar[tuple[str, ...]] = ("name", "side")
    WORD: ClassVar[str] = "feature"  #: the table's key in a file

    name: str = spec.name("its name, its own in the file; a left and right pair shares one")
    side: Sides = spec.choice("the rail it is on; both: one on each", ("left", "right", "both"), default="both")
    at: Position | None = spec.position("where it is along the rail, by a name and an offset along the upper corner", default=None)
    x_mm: float | None = spec.length("where it is along the vehicle, in place of at", least=-6000, most=FURTHEST_MM, default=None)

    def __post_init__(self) -> None:
        if faults := self.own_faults():
            raise BadInput(faults)

    def own_faults(self) -> list[Fault]:
        """What is wrong with the thing by itself, without its frame."""
        return spec.faults_of(self) + at_or_x(self.at, self.x_mm)

    @property
    def sides(self) -> tuple[RailSide, ...]:
        return sides_of(self.side)

    @property
    def position(self) -> Position:
        return self.at if self.at is not None else Position(x_mm=self.x_mm)


@dataclass(frozen=True, kw_only=True)
class OnFace(OnRail):
    """Something on the web or a flange of a rail."""

    PLACE_OPTIONAL: ClassVar[bool] = False  #: `up` and `in` may be left out

    face: Face = spec.choice("the face it is on", FACES, default="web")
    up_mm: float | None = spec.length("on the web: up from the lower outside face, square to the rail", least=-50, most=450, default=None)
    in_mm: float | None = spec.length("on a flange: in from the web's outside face", least=-50, most=250, default=None)

    def own_faults(self) -> list[Fault]:
        faults = super().own_faults()
        wanted, other = ("up", "in") if self.face == "web" else ("in", "up")
        values = {"up": self.up_mm, "in": self.in_mm}
        if values[other] is not None:
            limit = f"on the {self.face} a place is given by {wanted}, not by {other}"
            faults.append(Fault(where="", field=other, value=f"{values[other]:g} mm", limit=limit, remedy=f"write {wanted} = LENGTH"))
        if values[wanted] is None and not self.PLACE_OPTIONAL:
            faults.append(Fault(where="", field=wanted, limit=f"is needed on the {self.face}", remedy=f"write {wanted} = LENGTH"))
        return faults
