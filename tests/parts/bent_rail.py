"""A rail that turns once and kicks up there: as the project's own rail, and once more worked out from its stations, point by point.

Plane geometry only. The project's curves are used for nothing but the rail that is to be tested.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from parts.frame.faces import UprightFace
from parts.frame.rail import Rail
from parts.frame.section import RailSide, Section
from parts.frame.station import DrawnRail, Station
from parts.outline import Point

LEG_MM = 1500.0
FACES = {"toes": (60.0, 1), "back": (0.0, -1), "inside of the web": (4.0, 1), "plate on the toes, its outer face": (63.0, 1)}


@dataclass(frozen=True, kw_only=True)
class Bent:
    """A right-hand rail from (0, 430) along x that turns once, by `turn_deg` (+ towards +Y), and kicks up by `kick_deg` there."""

    turn_deg: float
    turn_radius_mm: float = 0.0
    kick_deg: float = 0.0
    kick_radius_mm: float = 0.0
    opens: str = "inboard"

    @property
    def turn(self) -> float:
        return math.radians(self.turn_deg)

    def rail(self, side: RailSide = "right") -> Rail:
        section = Section(
            flange_mm=60, web_mm=4, flange_thickness_mm=4, inside_radius_mm=4, open="inboard" if self.opens == "inboard" else "outboard"
        )
        stations = (
            Station(name="front", x_mm=0, y_mm=800, z_mm=600, depth_mm=150),
            Station(
                name="mid",
                x_mm=LEG_MM,
                y_mm=800,
                z_mm=600,
                depth_mm=150,
                turn_radius_mm=self.turn_radius_mm,
                kick_radius_mm=self.kick_radius_mm,
            ),
            Station(
                name="rear",
                x_mm=2 * LEG_MM,
                y_mm=800 + LEG_MM * math.tan(self.turn),
                z_mm=600 + LEG_MM * math.tan(math.radians(self.kick_deg)),
                depth_mm=150,
            ),
        )
        return Rail.of(DrawnRail(side="both", section=section, stations=stations), side)

    def face(self, where: str, side: RailSide = "right") -> UprightFace:
        offset, away = FACES[where]
        rail = self.rail(side)
        return UprightFace(
            name=where, rail=rail, offset_mm=offset, away=away, s0_mm=0.0, s1_mm=rail.length_s_mm, stack_mm=0.0, thickness_mm=4.0
        )

    # The rail once more, from its stations alone; the right-hand one. Left is +Y. Inboard is -Y there.

    def left_offset(self, where: str) -> float:
        return FACES[where][0] * (-1.0 if self.opens == "inboard" else 1.0)

    def away_left(self, where: str) -> float:
        return FACES[where][1] * (-1.0 if self.opens == "inboard" else 1.0)

    @property
    def tangent(self) -> float:
        return self.turn_radius_mm * math.tan(abs(self.turn) / 2)

    @property
    def arc_length(self) -> float:
        return self.turn_radius_mm * abs(self.turn)

    def web(self, s: float) -> tuple[Point, float]:
        """(plan point of the web's outside face, heading) at s."""
        first = LEG_MM - self.tangent
        if s <= first:
            return (s, 800.0), 0.0
        if s <= first + self.arc_length:
            a, way, r = (s - first) / self.turn_radius_mm, math.copysign(1.0, self.turn), self.turn_radius_mm
            return (first + r * math.sin(a), 800.0 + way * r * (1 - math.cos(a))), way * a
        left = s - first - self.arc_length + self.tangent
        return (LEG_MM + left * math.cos(self.turn), 800.0 + left * math.sin(self.turn)), self.turn

    @property
    def length(self) -> float:
        return LEG_MM - 2 * self.tangent + self.arc_length + LEG_MM / math.cos(self.turn)

    def face_points(self, where: str, count: int = 400) -> list[tuple[Point, Point]]:
        """(point of the face, unit vector away from the rail), dense round the turn; past a mitre's inside nothing of a leg is left."""
        off, away = self.left_offset(where), self.away_left(where)
        begin, size = LEG_MM - self.tangent, self.arc_length
        used_up = off * math.tan(self.turn / 2) if self.turn_radius_mm == 0 else 0.0  # of either leg, where > 0
        legs = [d for d in (0.05 * k * k for k in range(count // 8)) if d > used_up]
        round_it = [begin + size * k / count for k in range(count + 1)] if size else []
        out = []
        for s in (*(begin - d for d in legs), *round_it, *(begin + size + d for d in legs)):
            (x, y), h = self.web(s)
            n = (-math.sin(h), math.cos(h))
            out.append(((x + off * n[0], y + off * n[1]), (away * n[0], away * n[1])))
        return out

    def face_radius(self, where: str) -> float:
        return self.turn_radius_mm - self.left_offset(where) * math.copysign(1.0, self.turn)

    def plate_inside(self, where: str) -> bool:
        """True if a plate stands on the side to which the rail turns."""
        return self.away_left(where) * self.turn > 0

    def station_s(self) -> float:
        return LEG_MM - self.tangent + self.arc_length / 2

    def height(self, s: float) -> float:
        """Of the upper corner: level, an arc, then the kick's slope over the plan length."""
        s0 = self.station_s()
        slope = LEG_MM * math.tan(math.radians(self.kick_deg)) / (self.length - s0)
        kick = math.atan(slope)
        reach = self.kick_radius_mm * math.tan(kick / 2)
        if s <= s0 - reach:
            return 600.0
        if s < s0 + reach * math.cos(kick):
            d = s - (s0 - reach)
            return 600.0 + self.kick_radius_mm - math.sqrt(self.kick_radius_mm**2 - d**2)
        return 600.0 + (s - s0) * slope
