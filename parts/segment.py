"""Plane motions, and the one segment everything in 2-D is made of: a line or a circular arc between two points. Exact, no polygons.

Lengths in mm, angles in radians. An arc is held as its `bulge`, the tangent of a quarter of the angle it sweeps, + counter-clockwise,
as DXF's LWPOLYLINE holds it (DXF Reference, LWPOLYLINE, group 42): 0 is a line, 1 a half circle.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

Point = tuple[float, float]

#: Points closer than this are one point (mm): far under a cut, far over rounding at the size of a vehicle.
SAME_MM = 1e-6


def distance(p: Point, q: Point) -> float:
    return math.hypot(q[0] - p[0], q[1] - p[1])


def cross(p: Point, q: Point) -> float:
    return p[0] * q[1] - p[1] * q[0]


def minus(p: Point, q: Point) -> Point:
    return p[0] - q[0], p[1] - q[1]


@dataclass(frozen=True, slots=True)
class Transform:
    """x' = a x + c y + tx, y' = b x + d y + ty: a turn, a shift, a mirror image or a chain of them."""

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    tx: float = 0.0
    ty: float = 0.0

    @staticmethod
    def shift(dx: float, dy: float) -> Transform:
        return Transform(tx=dx, ty=dy)

    @staticmethod
    def rotation(angle_rad: float) -> Transform:
        c, s = math.cos(angle_rad), math.sin(angle_rad)
        return Transform(a=c, b=s, c=-s, d=c)

    @staticmethod
    def mirror_x() -> Transform:
        """x turns into -x."""
        return Transform(a=-1.0)

    @staticmethod
    def frame(origin: Point, direction: Point) -> Transform:
        """From coordinates whose x runs along the unit vector `direction` from `origin`, to those in which both are given."""
        ux, uy = direction
        return Transform(a=ux, b=uy, c=-uy, d=ux, tx=origin[0], ty=origin[1])

    @property
    def mirrored(self) -> bool:
        return self.a * self.d - self.b * self.c < 0

    def apply(self, p: Point) -> Point:
        return self.a * p[0] + self.c * p[1] + self.tx, self.b * p[0] + self.d * p[1] + self.ty

    def direction(self, v: Point) -> Point:
        return self.a * v[0] + self.c * v[1], self.b * v[0] + self.d * v[1]

    def then(self, after: Transform) -> Transform:
        """This first, `after` second."""
        a, b = after.direction((self.a, self.b))
        c, d = after.direction((self.c, self.d))
        tx, ty = after.apply((self.tx, self.ty))
        return Transform(a, b, c, d, tx, ty)

    def inverse(self) -> Transform:
        det = self.a * self.d - self.b * self.c
        a, b, c, d = self.d / det, -self.b / det, -self.c / det, self.a / det
        return Transform(a, b, c, d, -(a * self.tx + c * self.ty), -(b * self.tx + d * self.ty))


@dataclass(frozen=True)
class Segment:
    """From `a` to `b`, straight if `bulge` is 0."""

    a: Point
    b: Point
    bulge: float = 0.0

    @property
    def is_line(self) -> bool:
        return self.bulge == 0.0

    @cached_property
    def chord(self) -> float:
        return distance(self.a, self.b)

    @property
    def sweep_rad(self) -> float:
        """Signed, + counter-clockwise; 0 for a line."""
        return 4.0 * math.atan(self.bulge)

    @cached_property
    def radius(self) -> float:
        """Infinite for a line."""
        return math.inf if self.is_line else self.chord * (1.0 + self.bulge**2) / (4.0 * abs(self.bulge))

    @cached_property
    def centre(self) -> Point:
        """Of an arc; a line has none and raises ValueError."""
        if self.is_line:
            raise ValueError("a line has no centre")
        (ax, ay), (bx, by) = self.a, self.b
        h = (1.0 - self.bulge**2) / (4.0 * self.bulge)
        return (ax + bx) / 2 - (by - ay) * h, (ay + by) / 2 + (bx - ax) * h

    @property
    def length(self) -> float:
        return self.chord if self.is_line else self.radius * abs(self.sweep_rad)

    @cached_property
    def box(self) -> tuple[float, float, float, float]:
        xs, ys = [self.a[0], self.b[0]], [self.a[1], self.b[1]]
        if not self.is_line:
            (cx, cy), r = self.centre, self.radius
            for p in ((cx + r, cy), (cx, cy + r), (cx - r, cy), (cx, cy - r)):
                if self._sweeps(p):
                    xs.append(p[0])
                    ys.append(p[1])
        return min(xs), min(ys), max(xs), max(ys)

    def reversed(self) -> Segment:
        return Segment(self.b, self.a, 0.0 - self.bulge)

    def moved(self, t: Transform) -> Segment:
        return Segment(t.apply(self.a), t.apply(self.b), 0.0 - self.bulge if t.mirrored else self.bulge)

    def point_at(self, part: float) -> Point:
        """The point after `part` (0 to 1) of the length."""
        if self.is_line:
            return self.a[0] + part * (self.b[0] - self.a[0]), self.a[1] + part * (self.b[1] - self.a[1])
        if part in (0.0, 1.0):
            return self.b if part else self.a
        turn = part * self.sweep_rad
        half = math.sin(turn / 2) / math.sin(self.sweep_rad / 2)
        t = Transform.rotation((turn - self.sweep_rad) / 2)
        dx, dy = t.direction(minus(self.b, self.a))
        return self.a[0] + half * dx, self.a[1] + half * dy

    def tangent_at(self, part: float) -> Point:
        """The unit vector in which the segment runs after `part` of its length."""
        chord = self.chord
        dx, dy = (self.b[0] - self.a[0]) / chord, (self.b[1] - self.a[1]) / chord
        return (dx, dy) if self.is_line else Transform.rotation((part - 0.5) * self.sweep_rad).direction((dx, dy))

    def part_at(self, p: Point) -> float:
        """Where the foot of `p` lies along the segment, unclamped: 0 at a, 1 at b."""
        d = minus(self.b, self.a)
        if self.is_line:
            q = minus(p, self.a)
            return (q[0] * d[0] + q[1] * d[1]) / (d[0] ** 2 + d[1] ** 2)
        u, v = minus(self.a, self.centre), minus(p, self.centre)
        sign = 1.0 if self.bulge > 0 else -1.0
        turn = math.atan2(sign * cross(u, v), u[0] * v[0] + u[1] * v[1])
        whole = abs(self.sweep_rad)
        if turn < (whole - math.tau) / 2:  # nearer to b going round than to a going back
            turn += math.tau
        return turn / whole

    def _sweeps(self, p: Point) -> bool:
        slack = SAME_MM / max(self.length, SAME_MM)
        return -slack <= self.part_at(p) <= 1.0 + slack

    def distance(self, p: Point) -> float:
        ends = min(distance(p, self.a), distance(p, self.b))
        if self.chord < SAME_MM / 1000:
            return ends
        if not 0.0 <= self.part_at(p) <= 1.0:
            return ends
        if self.is_line:
            return abs(cross(minus(self.b, self.a), minus(p, self.a))) / self.chord
        return abs(distance(p, self.centre) - self.radius)

    def crossings(self, other: Segment) -> list[Point]:
        """Points common to both (touching ones too), without those of stretches that run along each other."""
        if not _boxes_meet(self.box, other.box):
            return []
        if self.is_line and other.is_line:
            found = _line_line(self, other)
        elif self.is_line:
            found = _line_circle(self, other)
        elif other.is_line:
            found = _line_circle(other, self)
        else:
            found = _circle_circle(self, other)
        return [p for p in found if self._sweeps(p) and other._sweeps(p)]

    def gap(self, other: Segment) -> float:
        """The least distance between the two; 0 if they cross."""
        if self.crossings(other):
            return 0.0
        feet = [self.distance(other.a), self.distance(other.b), other.distance(self.a), other.distance(self.b)]
        for one, two in ((self, other), (other, self)):
            if one.is_line:
                continue
            (cx, cy), r = one.centre, one.radius
            if two.is_line:
                targets = [two.point_at(min(1.0, max(0.0, two.part_at((cx, cy)))))]
            else:
                d = minus(two.centre, one.centre)
                far = math.hypot(*d)
                if far < SAME_MM:
                    continue
                reach = two.radius / far
                targets = [(two.centre[0] + k * reach * d[0], two.centre[1] + k * reach * d[1]) for k in (-1.0, 1.0)]
                targets = [t for t in targets if two._sweeps(t)]
            for tx, ty in targets:
                away = math.hypot(tx - cx, ty - cy)
                if away > SAME_MM:
                    near = (cx + (tx - cx) * r / away, cy + (ty - cy) * r / away)
                    if one._sweeps(near):
                        feet.append(distance(near, (tx, ty)))
        return min(feet)


def _boxes_meet(p: tuple[float, float, float, float], q: tuple[float, float, float, float]) -> bool:
    return p[0] <= q[2] + SAME_MM and q[0] <= p[2] + SAME_MM and p[1] <= q[3] + SAME_MM and q[1] <= p[3] + SAME_MM


def _line_line(p: Segment, q: Segment) -> list[Point]:
    d, e = minus(p.b, p.a), minus(q.b, q.a)
    size = math.hypot(*d) * math.hypot(*e)
    det = cross(d, e)
    if abs(det) <= 1e-12 * size or _on_one_line(p, q) or _on_one_line(q, p):
        return _common_ends(p, q)
    part = cross(minus(q.a, p.a), e) / det
    return [(p.a[0] + part * d[0], p.a[1] + part * d[1])]


def _on_one_line(p: Segment, q: Segment) -> bool:
    """True if both ends of `q` lie on p's line carried on: rounding must not make one crossing of two edges that run along each other."""
    d = minus(p.b, p.a)
    return max(abs(cross(d, minus(x, p.a))) for x in (q.a, q.b)) <= SAME_MM * math.hypot(*d)


def _on_one_circle(p: Segment, q: Segment) -> bool:
    """True if `q` lies on p's circle: its centre may still be far from p's, where q is short."""
    return all(abs(distance(x, p.centre) - p.radius) <= SAME_MM for x in (q.a, q.point_at(0.5), q.b))


def _common_ends(p: Segment, q: Segment) -> list[Point]:
    return [x for x in (q.a, q.b) if p.distance(x) <= SAME_MM] + [x for x in (p.a, p.b) if q.distance(x) <= SAME_MM]


def _line_circle(line: Segment, arc: Segment) -> list[Point]:
    d = minus(line.b, line.a)
    size = math.hypot(*d)
    ux, uy = d[0] / size, d[1] / size
    to_centre = minus(arc.centre, line.a)
    along = to_centre[0] * ux + to_centre[1] * uy
    off = cross((ux, uy), to_centre)
    square = arc.radius**2 - off**2
    if square < -2 * arc.radius * SAME_MM:
        return []
    half = math.sqrt(max(0.0, square))
    return [(line.a[0] + t * ux, line.a[1] + t * uy) for t in ({along - half, along + half})]


def _circle_circle(p: Segment, q: Segment) -> list[Point]:
    d = minus(q.centre, p.centre)
    far = math.hypot(*d)
    if _on_one_circle(p, q) or _on_one_circle(q, p):
        return _common_ends(p, q)
    if far < SAME_MM:
        return []
    along = (p.radius**2 - q.radius**2 + far**2) / (2 * far)
    square = p.radius**2 - along**2
    if square < -2 * p.radius * SAME_MM:
        return []
    half = math.sqrt(max(0.0, square))
    ux, uy = d[0] / far, d[1] / far
    x, y = p.centre[0] + along * ux, p.centre[1] + along * uy
    return [(x - h * uy, y + h * ux) for h in ({-half, half})]
