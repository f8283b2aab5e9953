"""A piece: a sheet part with where it goes, what holds it there, and what a fabricator must know about it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from parts.errors import Finding
from parts.frame.offers import Pocket, Seat
from parts.sheet import Placement, SheetPart, Vec3

Side = Literal["left", "right", "both", "centre"]


@dataclass(frozen=True, kw_only=True)
class BoltLine:
    """A bolt through everything in its way: its axis from the head's face to the nut's face, in vehicle coordinates (mm)."""

    name: str
    size: str  #: "M12" or "1/2 in"
    head: Vec3
    nut: Vec3
    grip_mm: float
    between: tuple[str, ...]  #: what it clamps, head first: "rail-plate", "rail web"
    quantity: int = 1
    strength: str = "8.8"


@dataclass(frozen=True, kw_only=True)
class WeldJoint:
    """A line to be welded, in vehicle coordinates (mm), and what it joins."""

    name: str
    kind: Literal["fillet", "butt", "plug", "bevel"]
    points: tuple[Vec3, ...]  #: the line in order; one point for a plug
    thickness_mm: tuple[float, float]  #: the part, what it is welded to
    onto: str  #: "rail left lower flange edge"
    leg_mm: float = 0.0
    gap_mm: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Drilling:
    """A hole to be drilled in the vehicle's own steel before this piece goes on, or an existing hole to be opened out."""

    name: str
    rail: str  #: "rail left"
    face: str  #: "web", "upper flange", "lower flange"
    diameter_mm: float
    point: Vec3
    along_mm: float  #: with a tape along the rail's upper corner, rearward from the station or hole named in `datum`
    up_mm: float  #: square to the rail from its lower outside face
    datum: str
    existing_mm: float | None = None  #: the diameter that is there already
    why: str = ""


@dataclass(frozen=True, kw_only=True)
class Removal:
    """Something on the vehicle that comes off before this piece goes on."""

    name: str
    what: str  #: "rivet", "bracket", "crossmember", "body mount"
    where: str
    point: Vec3
    why: str
    how: str = ""


@dataclass(frozen=True, kw_only=True)
class HardwareItem:
    """Bought-in items: bolts, nuts, washers, by the trade's designation."""

    designation: str  #: "bolt M12 x 40 8.8"
    quantity: int
    use: str


@dataclass(frozen=True, kw_only=True)
class Piece:
    """One distinct part. `quantity` equals the number of placements."""

    id: str
    family: str
    side: Side
    part: SheetPart
    grade: str
    placements: tuple[Placement, ...]
    bolts: tuple[BoltLine, ...] = ()
    welds: tuple[WeldJoint, ...] = ()
    drilling: tuple[Drilling, ...] = ()
    removals: tuple[Removal, ...] = ()
    hardware: tuple[HardwareItem, ...] = ()
    seats: tuple[Seat, ...] = ()  #: what later parts may be bolted to
    pockets: tuple[Pocket, ...] = ()  #: slots that its tabs need in other pieces
    findings: tuple[Finding, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def quantity(self) -> int:
        return len(self.placements)

    def solid(self) -> Any:
        """The formed part as a CadQuery `Solid`, at its root panel's coordinates. Loads the kernel."""
        from parts.solid import solid

        return solid(self.part)
