"""What parent and child say to each other: plain data and classes of `parts`, never the kernel's objects."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from parts.errors import Fault
from parts.frame.bodies import Body
from parts.sheet import HOME, Placement, SheetPart, Vec3

WHOLE_TURN_DEG = 359.999


@dataclass(frozen=True, kw_only=True)
class Colour:
    """Each from 0 to 1; `opacity` 1 hides what is behind."""

    red: float
    green: float
    blue: float
    opacity: float = 1.0


@dataclass(frozen=True, kw_only=True)
class Cylinder:
    """One cylindrical face of a solid as re-read from its STEP file."""

    point: Vec3  #: on the axis, in the middle of the face's length
    direction: Vec3  #: unit vector along the axis, either way
    radius_mm: float
    sweep_deg: float  #: how much of the round it covers: 360 for a hole, 180 for the end of a slot, its angle for a bend
    concave: bool  #: whether the steel lies outside it, as round a hole


@dataclass(frozen=True, kw_only=True)
class BuiltSolid:
    """One part's solid, as re-read from its STEP file."""

    name: str
    volume_mm3: float
    box: tuple[Vec3, Vec3]  #: least and greatest x, y, z in the root panel's coordinates
    face_count: int
    cylinders: tuple[Cylinder, ...]

    @property
    def hole_axes(self) -> tuple[Cylinder, ...]:
        """The round holes: concave, and all the way round but for rounding."""
        return tuple(c for c in self.cylinders if c.concave and c.sweep_deg > WHOLE_TURN_DEG)


@dataclass(frozen=True, kw_only=True)
class BuiltAssembly:
    """What the assembly's STEP file holds, by its text."""

    name: str
    products: tuple[str, ...]  #: the distinct ones, without the assembly itself
    instances: tuple[str, ...]  #: names of what is placed, each only once


@dataclass(frozen=True, kw_only=True)
class AssemblyItem:
    """One distinct part, placed as often as it is needed. `name` is its product's name."""

    name: str
    part: SheetPart
    colour: Colour
    placements: tuple[Placement, ...]


@dataclass(frozen=True, kw_only=True)
class AssemblyBody:
    """A piece of the vehicle's frame, shown but not made. Its coordinates are the vehicle's."""

    name: str
    body: Body
    colour: Colour


@dataclass(frozen=True, kw_only=True)
class Placed:
    """A part somewhere in the vehicle, or a body of the frame where it is."""

    thing: SheetPart | Body
    placement: Placement = HOME


# --- requests, by what answers them ---


@dataclass(frozen=True, kw_only=True)
class VersionRequest:
    """-> str, the kernel's version."""


@dataclass(frozen=True, kw_only=True)
class BuildRequest:
    """-> BuiltSolid, with the STEP file written; or Faulty."""

    name: str
    part: SheetPart
    path: Path
    colour: Colour


@dataclass(frozen=True, kw_only=True)
class AssemblyRequest:
    """-> BuiltAssembly, with the STEP file written; or Faulty."""

    name: str
    path: Path
    items: tuple[AssemblyItem, ...]
    bodies: tuple[AssemblyBody, ...]


@dataclass(frozen=True, kw_only=True)
class DistanceRequest:
    """-> float, the least distance in mm; 0 where they touch or share room; or Faulty."""

    one: Placed
    two: Placed


@dataclass(frozen=True, kw_only=True)
class CommonVolumeRequest:
    """-> float, the volume in mm³ that both fill; or Faulty."""

    one: Placed
    two: Placed


@dataclass(frozen=True, kw_only=True)
class Faulty:
    """The answer where something that was given cannot be made."""

    faults: tuple[Fault, ...]


@dataclass(frozen=True, kw_only=True)
class Unwritten:
    """The answer where the file could not be written: the disk's doing, not the part's."""

    reason: str
