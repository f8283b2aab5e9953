"""Lines that meet at stations, each corner rounded by a tangent arc: what a rail's plan and both its edges are made of.

A course runs with increasing first coordinate. Lengths along it are `t` in mm from its first vertex; its end lines carry on past
both ends, so that every function below takes any t. Left is the side a counter-clockwise turn goes to.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import dataclass, replace
from functools import cached_property

from parts.outline import Path, Point

STRAIGHT_RAD = 1e-10  #: a smaller turn is none: over 10 m it moves nothing by more than 1 nm
SHARP_MM = 1e-9  #: how near to a sharp corner a point counts as on it


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """One line or arc of a course."""

    begin_mm: float  #: along the course
    end_mm: float
    start: Point
    heading_rad: float  #: at `begin_mm`, counter-clockwise from the first axis
    radius_mm: float = 0.0  #: 0: a line
    sign: int = 0  #: +1 counter-clockwise, -1 clockwise, 0 a line
    vertex: int | None = None  #: the corner that an arc rounds

    @property
    def is_line(self) -> bool:
        return self.sign == 0

    @property
    def length_mm(self) -> float:
        return self.end_mm - self.begin_mm

    @property
    def sweep_rad(self) -> float:
        """Signed turn over the whole stretch; 0 for a line."""
        return self.sign * self.length_mm / self.radius_mm if self.sign else 0.0

    @property
    def centre(self) -> Point:
        """Of the arc.

        Raises:
            ValueError: the stretch is a line.
        """
        if self.is_line:
            raise ValueError("a line has no centre")
        reach = self.sign * self.radius_mm
        return self.start[0] - reach * math.sin(self.heading_rad), self.start[1] + reach * math.cos(self.heading_rad)

    def heading_at(self, t: float) -> float:
        return self.heading_rad + (self.sign * (t - self.begin_mm) / self.radius_mm if self.sign else 0.0)

    def point_at(self, t: float) -> Point:
        if self.is_line:
            d = t - self.begin_mm
            return self.start[0] + d * math.cos(self.heading_rad), self.start[1] + d * math.sin(self.heading_rad)
        cx, cy = self.centre
        reach, heading = self.sign * self.radius_mm, self.heading_at(t)
        return cx + reach * math.sin(heading), cy - reach * math.cos(heading)

    def t_at_first(self, x: float) -> float:
        """The length at which the first coordinate is x (on the line carried on, or the nearest end of an arc's half turn)."""
        if self.is_line:
            return self.begin_mm + (x - self.start[0]) / math.cos(self.heading_rad)
        reach = self.sign * self.radius_mm
        sine = min(1.0, max(-1.0, (x - self.centre[0]) / reach))
        return self.begin_mm + self.sign * (math.asin(sine) - self.heading_rad) * self.radius_mm

    def foot(self, p: Point, low: float, high: float) -> tuple[float, float]:
        """(t of the nearest point with low <= t <= high, signed distance of p, + to the left)."""
        if self.is_line:
            c, s = math.cos(self.heading_rad), math.sin(self.heading_rad)
            dx, dy = p[0] - self.start[0], p[1] - self.start[1]
            free = self.begin_mm + dx * c + dy * s
            left = dy * c - dx * s
        else:
            cx, cy = self.centre
            dx, dy = self.sign * (p[0] - cx), self.sign * (p[1] - cy)
            turn = math.remainder(math.atan2(dx, -dy) - self.heading_rad, math.tau)
            free = self.begin_mm + self.sign * turn * self.radius_mm
            left = self.sign * (self.radius_mm - math.hypot(dx, dy))
        t = min(max(free, low), high)
        if t == free:
            return t, left
        return t, math.copysign(math.dist(p, self.point_at(t)), left)

    def crossing(self, p: Point, direction: Point, low: float, high: float) -> float | None:
        """The least distance >= 0 from p along the unit `direction` at which this stretch, t in [low, high], is met; else None."""
        slack = 1e-7
        if self.is_line:
            c, s = math.cos(self.heading_rad), math.sin(self.heading_rad)
            cross = direction[0] * s - direction[1] * c
            if abs(cross) < STRAIGHT_RAD:
                return None
            dx, dy = self.start[0] - p[0], self.start[1] - p[1]
            distances = [(dx * s - dy * c) / cross]
        else:
            cx, cy = self.centre
            dx, dy = p[0] - cx, p[1] - cy
            half = dx * direction[0] + dy * direction[1]
            root = half * half - (dx * dx + dy * dy - self.radius_mm**2)
            if root < 0:
                return None
            distances = [-half - math.sqrt(root), -half + math.sqrt(root)]
        for distance in sorted(distances):
            q = (p[0] + distance * direction[0], p[1] + distance * direction[1])
            t, off = self.foot(q, -math.inf, math.inf)
            if distance >= -slack and low - slack <= t <= high + slack and abs(off) < 1e-6:
                return distance
        return None


@dataclass(frozen=True, kw_only=True)
class Misfit:
    """A corner whose arc does not fit between its neighbours."""

    vertex: int
    needed_mm: float  #: the arc's tangent length
    available_mm: float


def turn_at(vertices: tuple[Point, ...], i: int) -> float:
    """Signed turn at vertex i in radians, + to the left; 0 at both ends and where the lines run straight on."""
    if i in (0, len(vertices) - 1):
        return 0.0
    (ax, ay), (bx, by), (cx, cy) = vertices[i - 1 : i + 2]
    ux, uy, vx, vy = bx - ax, by - ay, cx - bx, cy - by
    turn = math.atan2(ux * vy - uy * vx, ux * vx + uy * vy)
    return turn if abs(turn) > STRAIGHT_RAD else 0.0


def misfits(vertices: tuple[Point, ...], radii_mm: tuple[float, ...]) -> tuple[Misfit, ...]:
    """Every corner whose tangent lengths reach past its neighbours' (the larger of the two is named)."""
    tangents = [r * math.tan(abs(turn_at(vertices, i)) / 2) for i, r in enumerate(radii_mm)]
    found: dict[int, Misfit] = {}
    for i in range(len(vertices) - 1):
        room = math.dist(vertices[i], vertices[i + 1])
        if tangents[i] + tangents[i + 1] > room + 1e-9:
            big, small = (i, i + 1) if tangents[i] >= tangents[i + 1] else (i + 1, i)
            found.setdefault(big, Misfit(vertex=big, needed_mm=tangents[big], available_mm=room - tangents[small]))
    return tuple(found.values())


@dataclass(frozen=True, kw_only=True)
class Course:
    """`vertices` where straight lines meet, and the radius that rounds each (0: sharp; the two ends' are ignored)."""

    vertices: tuple[Point, ...]
    radii_mm: tuple[float, ...]

    @cached_property
    def turns_rad(self) -> tuple[float, ...]:
        return tuple(turn_at(self.vertices, i) for i in range(len(self.vertices)))

    @cached_property
    def stretches(self) -> tuple[Stretch, ...]:
        """Lines and arcs in order; at least one, none of zero length, no two lines in one direction after each other."""
        found: list[Stretch] = []
        t, here = 0.0, self.vertices[0]
        last = len(self.vertices) - 1
        before = self.vertices[0]
        for i in range(1, last + 1):
            corner, turn, radius = self.vertices[i], self.turns_rad[i], self.radii_mm[i]
            if i < last and not turn:
                continue
            heading = math.atan2(corner[1] - before[1], corner[0] - before[0])
            tangent = radius * math.tan(abs(turn) / 2) if i < last else 0.0
            length = math.dist(here, corner) - tangent
            if length > SHARP_MM:
                found.append(Stretch(begin_mm=t, end_mm=t + length, start=here, heading_rad=heading))
                t += length
            before = here = corner
            if tangent > 0.0:
                start = (corner[0] - tangent * math.cos(heading), corner[1] - tangent * math.sin(heading))
                arc = radius * abs(turn)
                sign = 1 if turn > 0 else -1
                found.append(Stretch(begin_mm=t, end_mm=t + arc, start=start, heading_rad=heading, radius_mm=radius, sign=sign, vertex=i))
                t += arc
                here = (corner[0] + tangent * math.cos(heading + turn), corner[1] + tangent * math.sin(heading + turn))
        return tuple(found)

    @cached_property
    def _begins(self) -> tuple[float, ...]:
        return tuple(stretch.begin_mm for stretch in self.stretches)

    @cached_property
    def _firsts(self) -> tuple[float, ...]:
        return tuple(stretch.start[0] for stretch in self.stretches)

    @property
    def length_mm(self) -> float:
        return self.stretches[-1].end_mm

    @cached_property
    def vertex_t(self) -> tuple[float, ...]:
        """The length at each vertex: the middle of its arc."""
        found = [0.0] * len(self.vertices)
        found[-1] = self.length_mm
        arcs = {stretch.vertex: stretch for stretch in self.stretches if stretch.vertex is not None}
        for i in range(1, len(self.vertices) - 1):
            if i in arcs:
                found[i] = (arcs[i].begin_mm + arcs[i].end_mm) / 2
            else:
                found[i] = self.t_at_first(self.vertices[i][0])
        return tuple(found)

    @cached_property
    def corners(self) -> tuple[tuple[float, float], ...]:
        """(t, signed turn) of each sharp corner."""
        return tuple(
            (self.vertex_t[i], self.turns_rad[i]) for i in range(1, len(self.vertices) - 1) if self.turns_rad[i] and not self.radii_mm[i]
        )

    def stretch_at(self, t: float) -> Stretch:
        return self.stretches[max(0, bisect_right(self._begins, t) - 1)]

    def point(self, t: float) -> Point:
        return self.stretch_at(t).point_at(t)

    def _corner_turn(self, t: float) -> float:
        return next((turn for at, turn in self.corners if abs(t - at) <= SHARP_MM), 0.0)

    def heading(self, t: float) -> float:
        """Direction in radians; on a sharp corner the mean of both lines'."""
        turn = self._corner_turn(t)
        if not turn:
            return self.stretch_at(t).heading_at(t)
        return self.stretch_at(t + 2 * SHARP_MM).heading_rad - turn / 2

    def moved_left(self, t: float, distance_mm: float) -> Point:
        """The point square off the course; on a sharp corner the mitre of both lines moved by `distance_mm`."""
        x, y = self.point(t)
        heading = self.heading(t)
        reach = distance_mm / math.cos(self._corner_turn(t) / 2)
        return x - reach * math.sin(heading), y + reach * math.cos(heading)

    def t_at_first(self, x: float) -> float:
        """The length at which the first coordinate is x."""
        return self.stretches[max(0, bisect_right(self._firsts, x) - 1)].t_at_first(x)

    def second_at(self, x: float) -> float:
        """The second coordinate where the first is x."""
        return self.point(self.t_at_first(x))[1]

    def _span(self, index: int) -> tuple[float, float]:
        stretch = self.stretches[index]
        low = -math.inf if index == 0 else stretch.begin_mm
        high = math.inf if index == len(self.stretches) - 1 else stretch.end_mm
        return low, high

    def project(self, p: Point) -> tuple[float, float]:
        """(t of the nearest point, signed distance of p, + to the left)."""
        feet = (stretch.foot(p, *self._span(i)) for i, stretch in enumerate(self.stretches))
        return min(feet, key=lambda foot: abs(foot[1]))

    def crossing(self, p: Point, direction: Point) -> float:
        """The least distance from p along the unit `direction` to the course.

        Raises:
            ValueError: the course is not met.
        """
        found = (stretch.crossing(p, direction, *self._span(i)) for i, stretch in enumerate(self.stretches))
        distances = [d for d in found if d is not None]
        if not distances:
            raise ValueError("the course is not met in that direction")
        return min(distances)

    def offset(self, distance_mm: float) -> Course:
        """The course moved to its left: lines meet at mitres, radii shrink or grow, a radius used up becomes a mitre."""
        vertices: list[Point] = []
        radii: list[float] = []
        last = len(self.vertices) - 1
        for i, (x, y) in enumerate(self.vertices):
            (ax, ay), (bx, by) = self.vertices[max(0, i - 1)], self.vertices[max(0, i - 1) + 1]
            heading = math.atan2(by - ay, bx - ax) + self.turns_rad[i] / 2
            reach = distance_mm / math.cos(self.turns_rad[i] / 2)
            vertices.append((x - reach * math.sin(heading), y + reach * math.cos(heading)))
            radius = self.radii_mm[i] - math.copysign(distance_mm, distance_mm * self.turns_rad[i])
            radii.append(max(0.0, radius) if 0 < i < last and self.radii_mm[i] and self.turns_rad[i] else self.radii_mm[i])
        return Course(vertices=tuple(vertices), radii_mm=tuple(radii))

    def ending_at(self, first: float, last: float) -> Course:
        """The same course with its end lines lengthened or cut so that the first coordinate runs from `first` to `last`."""
        vertices = list(self.vertices)
        for end, beside, x in ((0, 1, first), (-1, -2, last)):
            (ax, ay), (bx, by) = self.vertices[end], self.vertices[beside]
            vertices[end] = (x, ay + (by - ay) * (x - ax) / (bx - ax))
        return replace(self, vertices=tuple(vertices))

    def path(self) -> Path:
        points = [stretch.start for stretch in self.stretches]
        points.append(self.vertices[-1])
        return Path(tuple(points), tuple(math.tan(stretch.sweep_rad / 4) for stretch in self.stretches))
