"""A rail's web unrolled: its upper and lower corner over s, the length along the plan curve, and z, height."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

from parts.frame.course import Course, turn_at
from parts.outline import Path, Point


@dataclass(frozen=True, kw_only=True)
class ProfileStation:
    """A station in the unrolled web."""

    s_mm: float
    z_mm: float  #: of the section's upper corner, where the straight lines meet
    depth_mm: float  #: square to the rail over its outside faces
    kick_radius_mm: float  #: of the upper corner; 0: a mitre


@dataclass(frozen=True, kw_only=True)
class Profile:
    """Upper and lower corner in (s, z), between vertical lines at the first and the last station.

    The lower corner's lines run through the depths laid off square to the upper corner at both ends of each straight run, and meet at
    mitres. Where the rail kicks up going rearward the lower corner is rounded with kick radius + depth, where it kicks down with
    kick radius - depth; where that is used up, or there is no kick radius, it is a sharp mitre. Depth tapers linearly between stations.

    A *tape* length L runs along the upper corner's true length in (s, z) from its front end: a kick-up lengthens L and not s.
    `inset_mm` anywhere means a face that lies that far inside the section, square to the corner's own lines (flange thickness: the
    flange's inner face).
    """

    stations: tuple[ProfileStation, ...]

    @property
    def length_mm(self) -> float:
        """s of the rear end."""
        return self.stations[-1].s_mm

    @cached_property
    def upper(self) -> Course:
        return Course(vertices=tuple((p.s_mm, p.z_mm) for p in self.stations), radii_mm=tuple(p.kick_radius_mm for p in self.stations))

    @cached_property
    def lower(self) -> Course:
        return Course(vertices=self.lower_vertices, radii_mm=self.lower_radii).ending_at(self.stations[0].s_mm, self.length_mm)

    @cached_property
    def _laid_off(self) -> tuple[tuple[Point, Point], ...]:
        """The lower line of each straight run: depth laid off square at both its ends."""
        lines = []
        for a, b in zip(self.stations, self.stations[1:], strict=False):
            slope = math.atan2(b.z_mm - a.z_mm, b.s_mm - a.s_mm)
            sine, cosine = math.sin(slope), math.cos(slope)
            lines.append(
                (
                    (a.s_mm + a.depth_mm * sine, a.z_mm - a.depth_mm * cosine),
                    (b.s_mm + b.depth_mm * sine, b.z_mm - b.depth_mm * cosine),
                )
            )
        return tuple(lines)

    @cached_property
    def lower_vertices(self) -> tuple[Point, ...]:
        """Where the lower corner's straight lines meet; the ends as laid off square, before they are cut vertical."""
        found = [self._laid_off[0][0]]
        for one, two in zip(self._laid_off, self._laid_off[1:], strict=False):
            found.append(_meeting(one, two))
        found.append(self._laid_off[-1][1])
        return tuple(found)

    @cached_property
    def lower_radii(self) -> tuple[float, ...]:
        vertices = self.lower_vertices
        radii = []
        for i, station in enumerate(self.stations):
            kick, below = self.upper.turns_rad[i], turn_at(vertices, i)
            if not station.kick_radius_mm or kick * below <= 0:
                radii.append(0.0)
            else:
                radii.append(max(0.0, station.kick_radius_mm + math.copysign(station.depth_mm, kick)))
        return tuple(radii)

    def kick_rad(self, station: int) -> float:
        """The upper corner's turn at a station in the unrolled web, + where the rail kicks up going rearward."""
        return self.upper.turns_rad[station]

    @cached_property
    def _insets(self) -> dict[float, Course]:
        return {}

    def _inset(self, course: Course, left_mm: float) -> Course:
        """`course` moved into the section and cut vertical at both ends; kept, as the same few faces are asked for again and again."""
        if not left_mm:
            return course
        if left_mm not in self._insets:
            self._insets[left_mm] = course.offset(left_mm).ending_at(self.stations[0].s_mm, self.length_mm)
        return self._insets[left_mm]

    def upper_course(self, inset_mm: float = 0.0) -> Course:
        return self._inset(self.upper, -inset_mm)

    def lower_course(self, inset_mm: float = 0.0) -> Course:
        return self._inset(self.lower, inset_mm)

    def upper_path(self, inset_mm: float = 0.0) -> Path:
        """The upper corner, or a face inside it, front to rear in (s, z)."""
        return self.upper_course(inset_mm).path()

    def lower_path(self, inset_mm: float = 0.0) -> Path:
        """The lower corner, or a face inside it, front to rear in (s, z)."""
        return self.lower_course(inset_mm).path()

    def upper_z(self, s: float, inset_mm: float = 0.0) -> float:
        return self.upper_course(inset_mm).second_at(s)

    def lower_z(self, s: float, inset_mm: float = 0.0) -> float:
        return self.lower_course(inset_mm).second_at(s)

    def slope_rad(self, s: float) -> float:
        """The upper corner's slope, + where it rises going rearward; the mean of both on a sharp kick."""
        return self.upper.heading(self.upper.t_at_first(s))

    def depth_at(self, s: float) -> float:
        """Depth over the outside faces, square to the upper corner at s."""
        return self.depth_at_tape(self.tape(s))

    def depth_at_tape(self, tape_mm: float) -> float:
        return self.lower.crossing(self.upper.point(tape_mm), self._down(tape_mm))

    def _down(self, tape_mm: float) -> Point:
        slope = self.upper.heading(tape_mm)
        return math.sin(slope), -math.cos(slope)

    def tape(self, s: float) -> float:
        """Tape length along the upper corner from the front end to s."""
        return self.upper.t_at_first(s)

    def s_of_tape(self, tape_mm: float) -> float:
        return self.upper.point(tape_mm)[0]

    @property
    def tape_length_mm(self) -> float:
        return self.upper.length_mm

    def web_point(self, tape_mm: float, up_mm: float) -> Point:
        """(s, z) of the point `up_mm` from the lower outside face, on the line square to the upper corner at that tape length."""
        s, z = self.upper.point(tape_mm)
        down = self._down(tape_mm)
        drop = self.lower.crossing((s, z), down) - up_mm
        return s + drop * down[0], z + drop * down[1]

    def tape_and_up(self, s: float, z: float) -> tuple[float, float]:
        """The inverse of `web_point`: (tape length of the point's foot on the upper corner, up from the lower outside face)."""
        tape, left = self.upper.project((s, z))
        return tape, self.depth_at_tape(tape) + left

    def tape_above(self, s: float, up_mm: float) -> float:
        """The tape length whose `web_point` at `up_mm` has this s: on a slope not that of s itself. Past the ends in a straight line."""
        low, high = 0.0, self.tape_length_mm
        for end, sign in ((low, 1), (high, -1)):
            past = self.web_point(end, up_mm)[0] - s
            if past * sign > 0:
                return end - past / math.cos(self.upper.heading(end))
        for _ in range(200):
            middle = (low + high) / 2
            if middle in (low, high):
                break
            if self.web_point(middle, up_mm)[0] < s:
                low = middle
            else:
                high = middle
        return (low + high) / 2


def _meeting(one: tuple[Point, Point], two: tuple[Point, Point]) -> Point:
    """Where two lines meet: their joint where they run straight on, infinitely far off where they are parallel and apart."""
    (ax, ay), (bx, by) = one
    (cx, cy), (dx, dy) = two
    ux, uy, vx, vy = bx - ax, by - ay, dx - cx, dy - cy
    cross = ux * vy - uy * vx
    if abs(cross) <= 1e-9 * math.hypot(ux, uy) * math.hypot(vx, vy):
        return ((bx + cx) / 2, (by + cy) / 2) if math.dist((bx, by), (cx, cy)) < 1e-6 else (math.inf, math.inf)
    along = ((cx - bx) * vy - (cy - by) * vx) / cross
    return bx + along * ux, by + along * uy
