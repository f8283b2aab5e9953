"""Open chains of lines and arcs: parallel ones, stretches of them, and one fitted through points. Lengths in mm."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

from parts.segment import SAME_MM, Point, Segment, Transform, cross, distance, minus


def chain_of(segments: Iterable[Segment]) -> tuple[list[Point], list[float]]:
    """Start points and bulges of segments that follow one another."""
    points: list[Point] = []
    bulges: list[float] = []
    for s in segments:
        points.append(s.a)
        bulges.append(s.bulge)
    return points, bulges


@dataclass(frozen=True)
class Path:
    """An open chain: `points[i]` to `points[i + 1]` with `bulges[i]`; one bulge fewer than points."""

    points: tuple[Point, ...]
    bulges: tuple[float, ...]

    def __post_init__(self) -> None:
        if len(self.points) < 2 or len(self.bulges) != len(self.points) - 1:
            raise ValueError("a path needs two points or more and one bulge fewer than points")

    @staticmethod
    def of(segments: Sequence[Segment]) -> Path:
        points, bulges = chain_of(segments)
        return Path((*points, segments[-1].b), tuple(bulges))

    @cached_property
    def segments(self) -> tuple[Segment, ...]:
        return tuple(Segment(self.points[i], self.points[i + 1], b) for i, b in enumerate(self.bulges))

    @property
    def length(self) -> float:
        return sum(s.length for s in self.segments)

    def moved(self, t: Transform) -> Path:
        flip = -1.0 if t.mirrored else 1.0
        return Path(tuple(t.apply(p) for p in self.points), tuple(flip * b + 0.0 for b in self.bulges))

    def reversed(self) -> Path:
        return Path(self.points[::-1], tuple(0.0 - b for b in self.bulges[::-1]))

    def point_at(self, s: float) -> Point:
        """The point at `s` mm along the path; beyond its ends, straight on."""
        at, segment = self._locate(s)
        if (s < at or s > at + segment.length) and not segment.is_line:
            part = 0.0 if s < at else 1.0
            (x, y), (dx, dy) = segment.point_at(part), segment.tangent_at(part)
            over = s - at - part * segment.length
            return x + over * dx, y + over * dy
        return segment.point_at((s - at) / segment.length)

    def tangent_at(self, s: float) -> Point:
        at, segment = self._locate(s)
        return segment.tangent_at(min(1.0, max(0.0, (s - at) / segment.length)))

    def _locate(self, s: float) -> tuple[float, Segment]:
        at = 0.0
        for segment in self.segments[:-1]:
            if s < at + segment.length:
                return at, segment
            at += segment.length
        return at, self.segments[-1]

    def offset(self, d: float) -> Path:
        """Parallel at `d` mm to the left (- to the right) of the way the path runs. Corners stay sharp (mitred).

        Raises ValueError where an arc's radius or a whole segment would vanish.
        """
        shifted = [_offset(s, d) for s in self.segments]
        for i in range(len(shifted) - 1):
            one, two = shifted[i], shifted[i + 1]
            corner = _meeting(one, two)
            shifted[i], shifted[i + 1] = _ending(one, corner), _starting(two, corner)
        for before, after in zip(self.segments, shifted, strict=True):
            d0, d1 = minus(before.b, before.a), minus(after.b, after.a)
            if (before.is_line and d0[0] * d1[0] + d0[1] * d1[1] <= 0) or before.bulge * after.bulge < 0:
                raise ValueError(f"a segment of {before.length:.3f} mm vanishes in the parallel at {d:.3f} mm")
        return Path.of(shifted)

    def y_at(self, x: float) -> float:
        """The height at `x` of a path whose x only grows; straight on beyond its ends."""
        first, last = self.segments[0], self.segments[-1]
        if x <= first.a[0]:
            (px, py), (tx, ty) = first.a, first.tangent_at(0.0)
            return py + (x - px) * ty / tx
        if x >= last.b[0]:
            (px, py), (tx, ty) = last.b, last.tangent_at(1.0)
            return py + (x - px) * ty / tx
        segment = next(s for s in self.segments if x <= s.b[0])
        return segment.point_at(_part_at_x(segment, x))[1]

    def clipped_x(self, x0: float, x1: float) -> Path:
        """The stretch from x0 to x1 (x0 < x1) of a path whose x only grows, taken straight on beyond its ends."""
        out: list[Segment] = []
        if x0 < self.points[0][0] - SAME_MM:
            end = self.points[0] if x1 > self.points[0][0] else (x1, self.y_at(x1))
            out.append(Segment((x0, self.y_at(x0)), end))
        for s in self.segments:
            if s.b[0] <= x0 + SAME_MM or s.a[0] >= x1 - SAME_MM:
                continue
            low = _part_at_x(s, x0) if s.a[0] < x0 - SAME_MM else 0.0
            high = _part_at_x(s, x1) if s.b[0] > x1 + SAME_MM else 1.0
            out.append(_stretch(s, low, high))
        if x1 > self.points[-1][0] + SAME_MM:
            start = self.points[-1] if x0 < self.points[-1][0] else (x0, self.y_at(x0))
            out.append(Segment(start, (x1, self.y_at(x1))))
        return Path.of(out)

    def tidy(self) -> Path:
        """The same path with runs of one line, or of one circle, joined into one segment and zero lengths gone."""
        return Path.of(tidied(list(self.segments)))


def fit_path(points: Sequence[Point], tolerance_mm: float) -> Path:
    """Lines and arcs through some of `points` (two or more, dense, in order) that miss none of the others by more than `tolerance_mm`."""
    out: list[Segment] = []
    start, last = 0, len(points) - 1
    while start < last:
        best, reached = Segment(points[start], points[start + 1]), start + 1
        low, high = start + 2, last
        while low <= high:
            end = (low + high) // 2
            candidate = through(points[start], points[(start + end) // 2], points[end], tolerance_mm / 10)
            if all(candidate.distance(p) <= tolerance_mm for p in points[start + 1 : end]):
                best, reached, low = candidate, end, end + 1
            else:
                high = end - 1
        out.append(best)
        start = reached
    return Path.of(out).tidy()


def through(a: Point, m: Point, b: Point, flat_mm: float) -> Segment:
    """The line or arc from a through m to b; an arc that rises less than `flat_mm` off its chord is a line.

    A flatter one would have its centre so far off that nothing could be computed from it.
    """
    turn = math.atan2(cross(minus(m, a), minus(b, m)), sum(p * q for p, q in zip(minus(m, a), minus(b, m), strict=True)))
    rise = distance(a, b) * abs(math.tan(turn / 2)) / 2
    return Segment(a, b) if rise < flat_mm else Segment(a, b, math.tan(turn / 2))


def _offset(s: Segment, d: float) -> Segment:
    if s.is_line:
        tx, ty = s.tangent_at(0.0)
        return s.moved(Transform.shift(-ty * d, tx * d))
    radius = s.radius - d if s.bulge > 0 else s.radius + d
    if radius <= SAME_MM:
        raise ValueError(f"an arc of radius {s.radius:.3f} mm has no parallel at {d:.3f} mm")
    (cx, cy), k = s.centre, radius / s.radius
    a, b = ((cx + (p[0] - cx) * k, cy + (p[1] - cy) * k) for p in (s.a, s.b))
    return Segment(a, b, s.bulge)


def _meeting(one: Segment, two: Segment) -> Point:
    """Where two successive segments, taken on beyond their ends if need be, meet nearest to the joint between them."""
    if distance(one.b, two.a) <= SAME_MM:
        return one.b
    reach = 10 * (one.chord + two.chord) + 100 * distance(one.b, two.a)
    wholes = [[_lengthened(s, reach)] if s.is_line else _circle(s) for s in (one, two)]
    found = [x for p in wholes[0] for q in wholes[1] for x in p.crossings(q)]
    if not found:
        raise ValueError("parallel segments of an offset path do not meet")
    middle = ((one.b[0] + two.a[0]) / 2, (one.b[1] + two.a[1]) / 2)
    return min(found, key=lambda p: distance(p, middle))


def _circle(s: Segment) -> list[Segment]:
    (cx, cy), r = s.centre, s.radius
    return [Segment((cx + r, cy), (cx - r, cy), 1.0), Segment((cx - r, cy), (cx + r, cy), 1.0)]


def _lengthened(s: Segment, by: float) -> Segment:
    tx, ty = s.tangent_at(0.0)
    return Segment((s.a[0] - by * tx, s.a[1] - by * ty), (s.b[0] + by * tx, s.b[1] + by * ty))


def _ending(s: Segment, p: Point) -> Segment:
    return Segment(s.a, p) if s.is_line else Segment(s.a, p, math.tan(s.sweep_rad * s.part_at(p) / 4))


def _starting(s: Segment, p: Point) -> Segment:
    return Segment(p, s.b) if s.is_line else Segment(p, s.b, math.tan(s.sweep_rad * (1 - s.part_at(p)) / 4))


def _part_at_x(s: Segment, x: float) -> float:
    if s.is_line:
        return (x - s.a[0]) / (s.b[0] - s.a[0])
    (cx, cy), r = s.centre, s.radius
    rise = math.sqrt(max(0.0, r * r - (x - cx) ** 2))
    return min(1.0, max(0.0, s.part_at((x, cy - rise if s.bulge > 0 else cy + rise))))


def _stretch(s: Segment, low: float, high: float) -> Segment:
    if low == 0.0 and high == 1.0:
        return s
    bulge = 0.0 if s.is_line else math.tan(s.sweep_rad * (high - low) / 4)
    return Segment(s.point_at(low), s.point_at(high), bulge)


def as_one(p: Segment, q: Segment) -> Segment | None:
    """p and q as one segment, if they lie on one line or one circle and run the same way."""
    if p.is_line != q.is_line:
        return None
    if p.is_line:
        d, e = minus(p.b, p.a), minus(q.b, q.a)
        if d[0] * e[0] + d[1] * e[1] <= 0 or Segment(p.a, q.b).distance(p.b) > SAME_MM / 10:
            return None
        return Segment(p.a, q.b)
    same = distance(p.centre, q.centre) < SAME_MM and abs(p.radius - q.radius) < SAME_MM and p.bulge * q.bulge > 0
    turn = p.sweep_rad + q.sweep_rad
    if not same or abs(turn) > 1.5 * math.pi:
        return None
    return Segment(p.a, q.b, math.tan(turn / 4))


def tidied(segments: list[Segment]) -> list[Segment]:
    """Runs of one line or one circle joined, zero lengths gone."""
    out: list[Segment] = []
    for s in segments:
        if s.chord <= SAME_MM:
            if out:
                out[-1] = Segment(out[-1].a, s.b, out[-1].bulge)
            continue
        joined = as_one(out[-1], s) if out else None
        if joined is not None:
            out[-1] = joined
        else:
            out.append(s)
    return out
