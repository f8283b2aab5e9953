"""A rail seen from above: the plan curve of its web's outside face."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

from parts.frame.course import Course, Stretch
from parts.outline import Path, Point


@dataclass(frozen=True, kw_only=True)
class PlanCurve:
    """The web's outside face in plan, in vehicle x (rearward) and y (to the right): lines and tangent arcs.

    `s` is the length along it in mm from the first station; the end lines carry on, so s may lie past either end. The normal is
    horizontal and points to the side the section is open to.
    """

    course: Course
    opening_sign: int  #: +1: the section is open to +Y, -1: to -Y

    @property
    def length_mm(self) -> float:
        return self.course.length_mm

    @property
    def station_s(self) -> tuple[float, ...]:
        """s of each station: the middle of its arc."""
        return self.course.vertex_t

    def pieces(self) -> tuple[Stretch, ...]:
        """Lines and arcs from front to rear: `begin_mm` and `end_mm` are s, `sign` is +1 where the rail turns towards +Y."""
        return self.course.stretches

    def turn_rad(self, station: int) -> float:
        """The plan turn at a station, + towards +Y (the vehicle's right)."""
        return self.course.turns_rad[station]

    def heading_rad(self, s: float) -> float:
        return self.course.heading(s)

    def direction(self, s: float) -> Point:
        """Unit vector along the rail, rearward; on a sharp corner the mean of both lines'."""
        heading = self.course.heading(s)
        return math.cos(heading), math.sin(heading)

    def normal(self, s: float) -> Point:
        """Unit vector square to the web towards the section's open side."""
        c, d = self.direction(s)
        return -d * self.opening_sign, c * self.opening_sign

    def point(self, s: float, offset_mm: float = 0.0) -> Point:
        """The plan point at `offset_mm` from the web's outside face towards the open side (a mitre on a sharp corner)."""
        return self.course.moved_left(s, offset_mm * self.opening_sign)

    def project(self, x: float, y: float) -> tuple[float, float]:
        """(s of the nearest point, distance from the web's outside face, + towards the open side)."""
        s, left = self.course.project((x, y))
        return s, left * self.opening_sign

    def s_at_x(self, x: float) -> float:
        """s where the web's outside face has this x."""
        return self.course.t_at_first(x)

    def offset_course(self, distance_mm: float) -> Course:
        return self.course.offset(distance_mm * self.opening_sign)

    def offset(self, distance_mm: float) -> Path:
        """The plan curve moved towards the open side (negative: away from it), front to rear."""
        return self.offset_course(distance_mm).path()

    @cached_property
    def breaks(self) -> tuple[float, ...]:
        """s of both ends, of every arc's ends and of every sharp corner, in order."""
        found = {0.0, self.length_mm}
        for stretch in self.course.stretches:
            found.update((stretch.begin_mm, stretch.end_mm))
        return tuple(sorted(found))
