"""A rail as drawn: its stations, where straight lines meet, and what must hold between them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import ClassVar, Literal

from parts import spec
from parts.errors import BadInput, Fault
from parts.frame.course import Course, Misfit, misfits, turn_at
from parts.frame.plan import PlanCurve
from parts.frame.profile import Profile, ProfileStation
from parts.frame.section import Section, opening_sign

STEEPEST_DEG = 60.0  #: of a straight run against the x axis, and of a turn or kick, in plan and in side view
TAPER_DEG = 20.0  #: of a lower corner against its upper one, at most


@dataclass(frozen=True, kw_only=True)
class Station:
    """Where straight lines of a rail meet (or end)."""

    name: str = spec.name("name of the station, its own on its rail; left and right share one name")
    x_mm: float = spec.length("rearward from the frame's x = 0, at the web's outside face", least=-6000, most=14000)
    y_mm: float = spec.length(
        "of the web's outside face from the centreline: + to the right, so a rail of side left has y below 0", least=-1500, most=1500
    )
    z_mm: float = spec.length("height of the section's upper corner over the frame's z = 0", least=-1500, most=3000)
    depth_mm: float = spec.length("depth of the rail over its outside faces, square to the rail", least=40, most=400)
    turn_radius_mm: float = spec.length(
        "plan radius of the web's outside face where the rail turns; 0: a mitre", least=0, most=20000, default=0.0
    )
    kick_radius_mm: float = spec.length(
        "radius of the upper corner where the rail kicks up or down, in the unrolled web; 0: a mitre", least=0, most=20000, default=0.0
    )

    def __post_init__(self) -> None:
        spec.checked(self)


@dataclass(frozen=True, kw_only=True)
class DrawnRail:
    """A rail as the file gives it: its section and the stations its straight lines run through, from front to rear."""

    UNIQUE: ClassVar[tuple[str, ...]] = ("side",)

    side: Literal["both", "left", "right"] = spec.choice(
        "both: drawn as the right rail (y above 0), the left mirrors it; left, right: each on its own", ("both", "left", "right")
    )
    section: Section = spec.table(Section, "the rail's section")
    stations: tuple[Station, ...] = spec.tables(
        Station, "where straight lines meet, front to rear, two or more", required=True, key="station"
    )

    def __post_init__(self) -> None:
        faults = spec.faults_of(self)
        faults += self._order_faults()
        if not faults:
            faults += self._shape_faults()
        if faults:
            raise BadInput(faults)

    def mirrored(self) -> DrawnRail:
        """The left rail of one drawn for both sides."""
        return replace(self, side="left", stations=tuple(replace(p, y_mm=-p.y_mm) for p in self.stations))

    def _order_faults(self) -> list[Fault]:
        faults: list[Fault] = []
        if len(self.stations) < 2:
            limit = "a rail needs at least two stations"
            faults.append(Fault(where="", field="station", value=str(len(self.stations)), limit=limit))
        wrong, word = (1, "below") if self.side == "left" else (-1, "above")
        for p in self.stations:
            if p.y_mm * wrong >= 0:
                limit = f"y is positive on the vehicle's right: a rail of side {self.side} has y {word} 0"
                remedy = f"y = {-p.y_mm:g} mm" if p.y_mm else "measure from the centreline to the web's outside face"
                faults.append(self._fault(p, "y", f"{p.y_mm:g} mm", limit, remedy))
        for one, two in pairwise(self.stations):
            if one.x_mm == two.x_mm:
                limit = f"two stations at one place: {one.name} has this x already"
                faults.append(self._fault(two, "x", f"{two.x_mm:g} mm", limit, "leave one of them out, or measure again"))
            elif two.x_mm < one.x_mm:
                limit = f"stations run from front to rear: x must be more than {one.x_mm:g} mm, that of {one.name}"
                faults.append(self._fault(two, "x", f"{two.x_mm:g} mm", limit, "put the stations in order; x grows rearward"))
        seen: set[str] = set()
        for p in self.stations:
            if p.name in seen:
                faults.append(self._fault(p, "name", p.name, "two stations of one rail have this name", "give each its own"))
            seen.add(p.name)
        if self.stations and self.stations[-1].x_mm - self.stations[0].x_mm > 12000:
            reach = self.stations[-1].x_mm - self.stations[0].x_mm
            faults.append(self._fault(self.stations[-1], "x", f"{reach:g} mm", "a rail is at most 12000 mm long", "check the unit"))
        return faults

    def _fault(self, station: Station, field: str, value: str, limit: str, remedy: str = "") -> Fault:
        return Fault(where=f"station {station.name}", field=field, value=value, limit=limit, remedy=remedy)

    def _shape_faults(self) -> list[Fault]:
        faults = [*self._depth_faults(), *self._steep_faults()]
        vertices = tuple((p.x_mm, p.y_mm) for p in self.stations)
        turns = tuple(p.turn_radius_mm for p in self.stations)
        faults += [self._misfit(m, "turn_radius", turns[m.vertex]) for m in misfits(vertices, turns)]
        faults += self._tight_turns()
        if faults:
            return faults
        profile = self.profile(self.plan())
        if faults := list(self._sharp_faults(profile)):
            return faults
        kicks = tuple(p.kick_radius_mm for p in self.stations)
        upper = {m.vertex: m for m in misfits(profile.upper.vertices, kicks)}
        faults += [self._misfit(m, "kick_radius", kicks[m.vertex]) for m in upper.values()]
        faults += self._lower_faults(profile, set(upper))
        return faults

    def _depth_faults(self) -> Iterator[Fault]:
        least = self.section.least_depth_mm
        for p in self.stations:
            if p.depth_mm <= least:
                limit = f"must leave a flat on the web: more than {least:g} mm (both flanges and inside radii)"
                yield self._fault(p, "depth", f"{p.depth_mm:g} mm", limit, "measure over the outside faces of both flanges")

    def _steep_faults(self) -> Iterator[Fault]:
        for one, two in pairwise(self.stations):
            run = two.x_mm - one.x_mm
            for field, rise, way in (("y", two.y_mm - one.y_mm, "sideways"), ("z", two.z_mm - one.z_mm, "up or down")):
                if (angle := math.degrees(math.atan2(abs(rise), run))) > STEEPEST_DEG:
                    value = f"{getattr(two, field + '_mm'):g} mm"
                    limit = f"the run from {one.name} goes {way} by {angle:.1f} deg; at most {STEEPEST_DEG:g} deg"
                    yield self._fault(two, field, value, limit, "a rail runs rearward: check x, y and z of both stations")

    def _sharp_faults(self, profile: Profile) -> Iterator[Fault]:
        plan = self.plan()
        for i, p in enumerate(self.stations):
            for field, angle, way in (("y", plan.turn_rad(i), "turns"), ("z", profile.kick_rad(i), "kicks")):
                if (degrees := abs(math.degrees(angle))) > STEEPEST_DEG:
                    value = f"{getattr(p, field + '_mm'):g} mm"
                    limit = f"the rail {way} by {degrees:.1f} deg at this station; at most {STEEPEST_DEG:g} deg"
                    yield self._fault(p, field, value, limit, "check the stations beside it, or make it of two stations")

        for (i, p), (j, q) in pairwise(enumerate(self.stations)):
            length = math.dist(profile.upper.vertices[i], profile.upper.vertices[j])
            if (taper := math.degrees(math.atan2(abs(q.depth_mm - p.depth_mm), length))) > TAPER_DEG:
                limit = f"the depth changes from {p.depth_mm:g} mm at {p.name} by a taper of {taper:.1f} deg; at most {TAPER_DEG:g} deg"
                yield self._fault(q, "depth", f"{q.depth_mm:g} mm", limit, "check the depth, or where the taper begins and ends")

    def _misfit(self, misfit: Misfit, field: str, radius_mm: float) -> Fault:
        room = max(0.0, misfit.available_mm)
        most = math.floor(10 * radius_mm * room / misfit.needed_mm) / 10
        limit = f"its arc reaches {misfit.needed_mm:.1f} mm along the straight lines, where {room:.1f} mm are free"
        return self._fault(self.stations[misfit.vertex], field, f"{radius_mm:g} mm", limit, f"at most {most:g} mm fits here")

    def _tight_turns(self) -> Iterator[Fault]:
        """A turn towards the open side that would fold the toes over each other."""
        plan = self.plan()
        sign = plan.opening_sign
        for i, p in enumerate(self.stations):
            turn = plan.turn_rad(i)
            if turn * sign > 0 and 0 < p.turn_radius_mm < self.section.flange_mm:
                limit = f"the rail turns towards its toes: at least the flange's {self.section.flange_mm:g} mm, or 0 for a mitre"
                yield self._fault(p, "turn_radius", f"{p.turn_radius_mm:g} mm", limit, "it is the radius of the web's outside face")

    def _lower_faults(self, profile: Profile, known: set[int]) -> Iterator[Fault]:
        vertices = profile.lower_vertices
        for i, p in enumerate(self.stations):
            reach = math.hypot(vertices[i][0] - profile.stations[i].s_mm, vertices[i][1] - profile.stations[i].z_mm)
            if reach > 2.5 * p.depth_mm:
                limit = "kick and taper leave the lower corner's straight lines no meeting point near this station"
                yield self._fault(p, "depth", f"{p.depth_mm:g} mm", limit, "move the station, or put the taper between stations of its own")
                return
        if crowded := list(self._crowded(profile)):
            yield from crowded
            return
        for m in misfits(profile.lower.vertices, profile.lower_radii):
            if m.vertex not in known:
                room, turn = max(0.0, m.available_mm), turn_at(vertices, m.vertex)
                p = self.stations[m.vertex]
                fits = room / math.tan(abs(turn) / 2) - math.copysign(p.depth_mm, turn)
                limit = f"the lower corner's arc reaches {m.needed_mm:.1f} mm along its straight lines, where {room:.1f} mm are free"
                remedy = f"at most {math.floor(10 * fits) / 10:g} mm fits here" if fits > 0 else "0 makes it a mitre"
                yield self._fault(p, "kick_radius", f"{p.kick_radius_mm:g} mm", limit, remedy)

    def _crowded(self, profile: Profile) -> Iterator[Fault]:
        """Stations so near to each other, or to an end that is cut upright, that a face's lines would run backward between them."""
        inner = self.section.flange_thickness_mm
        courses = (profile.lower, profile.lower_course(inner), profile.lower_course(-self.section.lip_mm), profile.upper_course(inner))
        for i, (p, q) in enumerate(pairwise(self.stations)):
            if any(course.vertices[i + 1][0] - course.vertices[i][0] <= 0 for course in courses):
                limit = f"kick and depth leave the flanges no length between {p.name} and {q.name}"
                yield self._fault(q, "x", f"{q.x_mm:g} mm", limit, "put the two stations further apart, or check the kick")

    def plan(self) -> PlanCurve:
        """The plan curve in vehicle axes; a rail of side both stands on the right."""
        course = Course(vertices=tuple((p.x_mm, p.y_mm) for p in self.stations), radii_mm=tuple(p.turn_radius_mm for p in self.stations))
        return PlanCurve(course=course, opening_sign=opening_sign(self.section.open, "left" if self.side == "left" else "right"))

    def profile(self, plan: PlanCurve) -> Profile:
        return Profile(
            stations=tuple(
                ProfileStation(s_mm=s, z_mm=p.z_mm, depth_mm=p.depth_mm, kick_radius_mm=p.kick_radius_mm)
                for s, p in zip(plan.station_s, self.stations, strict=True)
            )
        )
