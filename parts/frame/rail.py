"""A rail: an upright web over a plan curve, unrolled to (s, z), with its section and its named places.

`s` runs along the plan curve of the web's outside face, from the first station, in mm; z is height. A *tape* length runs along the
rail's upper corner from its front end. Offsets are horizontal, square to the web, from its outside face towards the open side.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from parts.errors import BadInput, Fault
from parts.frame.found_rail import FoundRail
from parts.frame.names import unknown_place
from parts.frame.plan import PlanCurve
from parts.frame.profile import Profile
from parts.frame.section import Face, RailSide, Section
from parts.frame.station import DrawnRail
from parts.outline import Point
from parts.sheet import Vec3
from parts.spec import Position

ENDS_MM = 1e-6  #: how far past a rail's end a place may lie and still be on it


@dataclass(frozen=True, kw_only=True)
class Rail:
    """One rail of a frame in vehicle axes (x rearward, y to the right, z up)."""

    side: RailSide
    section: Section
    plan: PlanCurve
    profile: Profile
    station_names: tuple[str, ...]
    places: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}), repr=False, hash=False)  #: name -> tape length
    found: FoundRail | None = field(default=None, repr=False, compare=False)  #: what was measured beside its shape; None: as drawn

    @staticmethod
    def of(drawn: DrawnRail, side: RailSide) -> Rail:
        """The rail as drawn, on its own side; its places are its stations."""
        own = drawn.mirrored() if drawn.side == "both" and side == "left" else drawn
        plan = own.plan()
        profile = own.profile(plan)
        names = tuple(p.name for p in own.stations)
        places = {name: profile.tape(s) for name, s in zip(names, plan.station_s, strict=True)}
        return Rail(side=side, section=own.section, plan=plan, profile=profile, station_names=names, places=MappingProxyType(places))

    @property
    def name(self) -> str:
        """`rail left` or `rail right`."""
        return f"rail {self.side}"

    @property
    def opening_sign(self) -> int:
        """+1: open to +Y, -1: open to -Y."""
        return self.plan.opening_sign

    @property
    def opens_inboard(self) -> bool:
        return self.section.open == "inboard"

    @property
    def thickness_mm(self) -> float:
        """Of the web."""
        return self.section.web_mm

    @property
    def length_s_mm(self) -> float:
        """s of the rear end."""
        return self.plan.length_mm

    @property
    def tape_length_mm(self) -> float:
        return self.profile.tape_length_mm

    def station_s(self, name: str) -> float:
        """s of a station: the middle of its plan arc.

        Raises:
            BadInput: this rail has no station of that name.
        """
        if name not in self.station_names:
            raise BadInput(unknown_place(name, self.station_names, f"{self.name} has no station"))
        return self.plan.station_s[self.station_names.index(name)]

    def tape_at(self, position: Position) -> float:
        """Tape length of a place, in mm from the rail's front end; x is that of the web's outside face.

        Raises:
            BadInput: no such name, or past the rail's ends.
        """
        if position.at is not None:
            if position.at not in self.places:
                raise BadInput(unknown_place(position.at, self.places, f"{self.name} has no place"))
            tape = self.places[position.at] + position.offset_mm
        elif position.x_mm is not None:
            tape = self.profile.tape(self.plan.s_at_x(position.x_mm))
        else:
            raise BadInput(Fault(where="", field="at", limit="a place needs a name or an x"))
        return self.on_rail(tape, position)

    def on_rail(self, tape_mm: float, position: Position) -> float:
        """`tape_mm`, if it lies between the rail's ends.

        Raises:
            BadInput: it does not.
        """
        if not -ENDS_MM <= tape_mm <= self.tape_length_mm + ENDS_MM:
            past = (
                f"{-tape_mm:.1f} mm in front of its front end"
                if tape_mm < 0
                else f"{tape_mm - self.tape_length_mm:.1f} mm past its rear end"
            )
            first, last = self.station_names[0], self.station_names[-1]
            limit = f"{self.name} is {self.tape_length_mm:.1f} mm long on the tape and this lies {past}"
            remedy = f"stay between {first} and {last}, x {self.plan.point(0)[0]:.1f} to {self.plan.point(self.length_s_mm)[0]:.1f} mm"
            raise BadInput(Fault(where="", field="at" if position.at else "x", value=str(position), limit=limit, remedy=remedy))
        return min(max(tape_mm, 0.0), self.tape_length_mm)

    def s_at(self, position: Position) -> float:
        """s of a place on the upper corner.

        Raises:
            BadInput: no such name, or past the rail's ends.
        """
        return self.profile.s_of_tape(self.tape_at(position))

    def laid_off(self, tape_mm: float) -> tuple[str, float]:
        """(station, tape length rearward of it) for laying a place off on the rail: the station before it if there is one."""
        places = sorted((self.places[name], name) for name in self.station_names)
        before = [p for p in places if p[0] <= tape_mm + ENDS_MM]
        at, name = before[-1] if before else places[0]
        return name, tape_mm - at

    def sz_of(self, position: Position, up_mm: float) -> Point:
        """(s, z) on the web: along the upper corner to the place, then square to the rail, `up_mm` from the lower outside face.

        Raises:
            BadInput: no such name, or past the rail's ends.
        """
        return self.profile.web_point(self.tape_at(position), up_mm)

    def depth_at(self, s: float) -> float:
        """Depth over the outside faces, square to the rail."""
        return self.profile.depth_at(s)

    def point(self, s: float, z: float, offset_mm: float = 0.0) -> Vec3:
        """The vehicle point at height z, `offset_mm` off the web's outside face along its normal."""
        x, y = self.plan.point(s, offset_mm)
        return x, y, z

    def normal(self, s: float) -> Vec3:
        """Unit vector along the web's normal towards the open side; always horizontal."""
        x, y = self.plan.normal(s)
        return x, y, 0.0

    def direction(self, s: float) -> Vec3:
        """Unit vector rearward along the web, horizontal."""
        x, y = self.plan.direction(s)
        return x, y, 0.0

    def szo(self, point: Vec3) -> tuple[float, float, float]:
        """(s, z, offset) of a vehicle point, along the web's normal through it: the inverse of `point`."""
        s, offset = self.plan.project(point[0], point[1])
        return s, point[2], offset

    def flange_z(self, face: Face, s: float, inset_mm: float = 0.0) -> float:
        """Height of a flange's outer face at s, or of a face `inset_mm` inside it."""
        return self.profile.upper_z(s, inset_mm) if face == "upper flange" else self.profile.lower_z(s, inset_mm)

    def flange_point(self, face: Face, s: float, in_mm: float) -> Vec3:
        """The vehicle point on a flange's outer face, `in_mm` from the web's outside face."""
        return self.point(s, self.flange_z(face, s), in_mm)

    def web_flat(self, s: float, *, inside: bool = False) -> tuple[float, float]:
        """(lowest, highest) z at which the web is flat at s: between the corner radii, on its outside or its inside face."""
        inset = self.section.inside_flat_from_corner_mm if inside else self.section.flat_from_corner_mm
        return self.profile.lower_z(s, inset), self.profile.upper_z(s, inset)

    def opening_between_flanges(self, s: float) -> tuple[float, float]:
        """(lowest, highest) z between the flanges' inner faces at s."""
        inset = self.section.flange_thickness_mm
        return self.profile.lower_z(s, inset), self.profile.upper_z(s, inset)
