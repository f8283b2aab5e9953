"""Where a spring doubler lies: the holes it takes up, the straight of the rail that it lies on, and its own coordinates there.

Coordinates in mm: a runs along the rail's upper corner, to the right as the plate's seen face is looked at; b square to it in the web,
upwards; both 0 in the middle of the box round the holes. `out` is square off the web's face, towards the plate.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

from parts.errors import BadInput, Fault, Finding, Level
from parts.features.bracket.site import facet_of
from parts.features.seat import seat_of
from parts.features.spring.sizes import Bolting, bolting_of
from parts.frame.faces import Facet, UprightFace
from parts.frame.frame import Frame
from parts.frame.names import unknown_place
from parts.frame.placed import PlacedHole
from parts.frame.rail import Rail
from parts.frame.section import RailSide
from parts.hole_rules import Use
from parts.outline import Point
from parts.sheet import Placement, Vec3
from parts.shop import Shop

if TYPE_CHECKING:
    from parts.families.spring_doubler import SpringDoubler


@dataclass(frozen=True, kw_only=True)
class Site:
    """What every feature of the plate may ask. Does not change."""

    doubler: SpringDoubler
    frame: Frame
    shop: Shop
    rail: Rail
    face: UprightFace
    facet: Facet
    slope_rad: float  #: of the rail's upper corner over the holes, + where it rises rearward
    middle: Point  #: (u on the facet, z) of a = b = 0
    holes: tuple[PlacedHole, ...]
    bolting: Bolting
    left_out: tuple[str, ...] = ()  #: holes of the stem that are in a flange

    @property
    def where(self) -> str:
        return f"part {self.doubler.id}"

    @property
    def place(self) -> str:
        return f"{self.doubler.id} {self.rail.side}"

    @property
    def thickness_mm(self) -> float:
        return self.doubler.thickness_mm

    @property
    def inside(self) -> bool:
        return self.doubler.seat == "inside"

    @property
    def use(self) -> Use:
        return Use(commercial="yes" if self.frame.use.commercial else "no", heat_treated=self.frame.steel.heat_treated)

    @property
    def along(self) -> int:
        """+1 where a runs rearward: seen from the side that the plate's face looks to."""
        return -self.face.normal_sign

    def fault(self, field: str, value: str, limit: str, remedy: str) -> Fault:
        return Fault(where=self.where, field=field, value=value, limit=limit, remedy=remedy)

    def finding(self, code: str, level: Level, message: str, *, value: str = "", limit: str = "", remedy: str = "", source: str) -> Finding:
        return Finding(code=code, level=level, where=self.place, message=message, value=value, limit=limit, remedy=remedy, source=source)

    @cached_property
    def placement(self) -> Placement:
        (x, y, _), c, d = self.facet.direction, math.cos(self.slope_rad), math.sin(self.slope_rad)
        way = self.along
        return Placement(
            origin=self.facet.point(*self.middle), u=(way * x * c, way * y * c, way * d), v=(-x * d, -y * d, c)
        )

    def vehicle(self, a: float, b: float, out: float = 0.0) -> Vec3:
        return self.placement.point(a, b, out)

    def ab(self, s: float, z: float) -> Point:
        """Along the web's normal from a point of the unrolled web."""
        du, dz = self.facet.u_at(s) - self.middle[0], z - self.middle[1]
        c, d = math.cos(self.slope_rad), math.sin(self.slope_rad)
        return self.along * (du * c + dz * d), dz * c - du * d

    def uz(self, a: float, b: float) -> Point:
        c, d, r = math.cos(self.slope_rad), math.sin(self.slope_rad), self.along * a
        return self.middle[0] + r * c - b * d, self.middle[1] + r * d + b * c

    def sz(self, a: float, b: float) -> Point:
        u, z = self.uz(a, b)
        return self.facet.s_at(u), z

    @cached_property
    def centres(self) -> tuple[Point, ...]:
        """(a, b) of the holes."""
        return tuple(self.ab(h.s_mm, h.z_mm) for h in self.holes)


def site_of(doubler: SpringDoubler, frame: Frame, shop: Shop, side: RailSide) -> Site:
    """Raises BadInput: no such holes, no such seat, no bolt for them, or a turn of the rail."""
    rail, where = frame.rail(side), f"part {doubler.id}"
    holes, left_out, faults = _holes(doubler, frame, side, where)
    seat = seat_of(
        doubler.seat, rail.section, thickness_mm=doubler.thickness_mm, step_mm=0.0, bevelled=False, leg_mm=0.0,
        root_gap_mm=shop.root_gap_mm, where=where,
    )  # fmt: skip
    if rail.section.kind == "closed":
        limit, remedy = "nobody gets a nut on inside a closed section", 'family = "rail_plate", welded to its outside'
        faults.append(Fault(where=where, field="seat", value=doubler.seat, limit=limit, remedy=remedy))
    elif isinstance(seat, Fault):
        faults.append(seat)
    bolting = bolting_of(doubler, frame, holes, where)
    faults += [bolting] if isinstance(bolting, Fault) else []
    if faults or isinstance(seat, Fault) or bolting is None or isinstance(bolting, Fault):
        raise BadInput(faults)
    face = UprightFace(
        name="web", rail=rail, offset_mm=seat.offset_mm, away=seat.away, s0_mm=0.0, s1_mm=rail.length_s_mm,
        stack_mm=rail.thickness_mm, thickness_mm=rail.thickness_mm,
    )  # fmt: skip
    tapes, first = [h.tape_mm for h in holes], holes[0]
    field, value = doubler.asked
    try:
        facet = facet_of(face, (min(h.s_mm for h in holes) + max(h.s_mm for h in holes)) / 2, shop, where)
    except BadInput as error:
        raise BadInput([replace(f, field=field, value=value, remedy="a rail_plate follows a turn") for f in error.faults]) from None
    site = Site(
        doubler=doubler, frame=frame, shop=shop, rail=rail, face=face, facet=facet, holes=holes, bolting=bolting, left_out=left_out,
        slope_rad=rail.profile.upper.heading((min(tapes) + max(tapes)) / 2), middle=(facet.u_at(first.s_mm), first.z_mm),
    )  # fmt: skip
    (a0, a1), (b0, b1) = ((min(c[i] for c in site.centres), max(c[i] for c in site.centres)) for i in (0, 1))
    return replace(site, middle=site.uz((a0 + a1) / 2, (b0 + b1) / 2))


def _holes(doubler: SpringDoubler, frame: Frame, side: RailSide, where: str) -> tuple[tuple[PlacedHole, ...], tuple[str, ...], list[Fault]]:
    """(holes of the web from front to rear, names of the stem's that are in a flange, what is wrong with those asked for)."""
    if doubler.stem is not None:
        found = [h for h in frame.holes_on(side) if h.name.startswith(doubler.stem)]
        web = tuple(h for h in found if h.face == "web")
        if web:
            return web, tuple(h.name for h in found if h.face != "web"), []
        known = [h.name for h in frame.holes_on(side, face="web")]
        none = unknown_place(doubler.stem, known, f"rail {side} has no hole in its web that begins so: none", field="stem")
        return (), (), [replace(none, where=where)]
    out: list[PlacedHole] = []
    faults: list[Fault] = []
    for name in doubler.holes:
        try:
            own = frame.hole(name, side)
        except BadInput as error:
            faults += [replace(f, where=where, field="holes") for f in error.faults]
            continue
        if own.face != "web":
            limit, remedy = f"is in the {own.face}: a plate on the web takes up holes of the web", "leave it out"
            faults.append(Fault(where=where, field="holes", value=name, limit=limit, remedy=remedy))
        out.append(own)
    return tuple(sorted(out, key=lambda h: (h.s_mm, h.z_mm, h.name))), (), faults
