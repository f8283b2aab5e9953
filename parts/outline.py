"""Exact outlines of lines and arcs: open paths and closed contours. Lengths in mm; no polygon stands in for an arc.

Contours of steel run counter-clockwise. What is cut off or out of an outline is computed in `parts.trimming`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from parts.path import Path, as_one, chain_of, fit_path, through, tidied
from parts.segment import SAME_MM, Point, Segment, Transform, cross, distance

__all__ = ["SAME_MM", "Box", "Contour", "Path", "Point", "Segment", "Transform", "distance", "fit_path", "rectangle", "through"]

Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class Contour:
    """A closed chain: `points[i]` to the next one (the last to the first) with `bulges[i]`."""

    points: tuple[Point, ...]
    bulges: tuple[float, ...]

    def __post_init__(self) -> None:
        if len(self.points) < 2 or len(self.bulges) != len(self.points):
            raise ValueError("a contour needs two points or more and as many bulges")

    @staticmethod
    def of(segments: Sequence[Segment]) -> Contour:
        points, bulges = chain_of(segments)
        return Contour(tuple(points), tuple(bulges))

    @cached_property
    def segments(self) -> tuple[Segment, ...]:
        n = len(self.points)
        return tuple(Segment(self.points[i], self.points[(i + 1) % n], self.bulges[i]) for i in range(n))

    @cached_property
    def area(self) -> float:
        """mm², + if the contour runs counter-clockwise."""
        x0, y0 = self.points[0]
        total = 0.0
        for s in self.segments:
            total += ((s.a[0] - x0) * (s.b[1] - y0) - (s.b[0] - x0) * (s.a[1] - y0)) / 2
            if not s.is_line:
                total += s.radius**2 / 2 * _lens(s.sweep_rad)
        return total

    @cached_property
    def centroid(self) -> Point:
        x0, y0 = self.points[0]
        mx = my = 0.0
        for s in self.segments:
            ax, ay, bx, by = s.a[0] - x0, s.a[1] - y0, s.b[0] - x0, s.b[1] - y0
            twice = ax * by - bx * ay
            mx += twice * (ax + bx) / 6
            my += twice * (ay + by) / 6
            if not s.is_line:
                r, turn, (cx, cy) = s.radius, s.sweep_rad, s.centre
                area = r**2 / 2 * _lens(turn)
                lever = 2 / 3 * r**3 * abs(math.sin(turn / 2)) ** 3 * math.copysign(1.0, turn)
                px, py = s.point_at(0.5)
                mx += area * (cx - x0) + lever * (px - cx) / r
                my += area * (cy - y0) + lever * (py - cy) / r
        return x0 + mx / self.area, y0 + my / self.area

    @cached_property
    def perimeter(self) -> float:
        return sum(s.length for s in self.segments)

    @cached_property
    def box(self) -> Box:
        boxes = [s.box for s in self.segments]
        return min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes)

    def moved(self, t: Transform) -> Contour:
        """Under a rigid motion; a mirrored contour is walked the other way, so counter-clockwise stays counter-clockwise."""
        points = tuple(t.apply(p) for p in self.points)
        if not t.mirrored:
            return Contour(points, self.bulges)
        return Contour(points, tuple(0.0 - b for b in self.bulges)).reversed()

    def reversed(self) -> Contour:
        """Walked the other way, from the same first segment."""
        points = (self.points[1], self.points[0], *self.points[:1:-1])
        return Contour(points, (0.0 - self.bulges[0], *(0.0 - b for b in self.bulges[:0:-1])))

    def started_at(self, index: int) -> Contour:
        """The same contour, walked from segment number `index`."""
        return Contour(self.points[index:] + self.points[:index], self.bulges[index:] + self.bulges[:index])

    def distance(self, p: Point) -> float:
        """From `p` to the edge, whether inside or out."""
        least = math.inf
        for s in self.segments:
            if _box_gap(s.box, (p[0], p[1], p[0], p[1])) < least:
                least = min(least, s.distance(p))
        return least

    def contains(self, p: Point) -> bool:
        """True inside; on the edge either may come out: ask `distance` first where that matters."""
        turns = 0
        for s in self.segments:
            (ax, ay), (bx, by) = s.a, s.b
            left = (bx - ax) * (p[1] - ay) - (p[0] - ax) * (by - ay)
            if ay <= p[1] < by and left > 0:
                turns += 1
            elif by <= p[1] < ay and left < 0:
                turns -= 1
            if not s.is_line and distance(p, s.centre) < s.radius:
                # a point on the chord itself counts to the side that the two tests above gave it
                right = left < 0 or (left == 0 and (by > ay or (by == ay and bx < ax)))
                if right == (s.bulge > 0):  # between the chord and its arc
                    turns += 1 if s.bulge > 0 else -1
        return turns != 0

    def gap(self, other: Contour) -> float:
        """The least distance between the two edges; 0 if they cross."""
        pairs = sorted(((_box_gap(s.box, o.box), s, o) for s in self.segments for o in other.segments), key=lambda found: found[0])
        least = math.inf
        for bound, s, o in pairs:  # the boxes' distance is the least that the segments' can be
            if bound >= least:
                break
            least = min(least, s.gap(o))
        return least

    def crosses(self, other: Contour) -> bool:
        return any(s.crossings(o) for s in self.segments for o in other.segments)

    def self_crossing(self) -> Point | None:
        """A point where the contour meets itself other than from one segment to the next; None if it is simple."""
        segments = self.segments
        n = len(segments)
        for i in range(n):
            for j in range(i + 1, n):
                shared = [segments[i].b] if j == i + 1 else []
                if i == 0 and j == n - 1:
                    shared.append(segments[0].a)
                for p in segments[i].crossings(segments[j]):
                    if all(distance(p, q) > 10 * SAME_MM for q in shared):
                        return p
        return None

    def rounded(self, radius: float | Sequence[float]) -> Contour:
        """Corners between two lines rounded, all alike or one radius a point (0 keeps it sharp).

        Raises ValueError if a radius does not fit its edges or a corner touches an arc.
        """
        n = len(self.points)
        radii = [float(radius)] * n if isinstance(radius, int | float) else list(radius)
        if len(radii) != n:
            raise ValueError("one radius a corner")
        trims: list[float] = []
        for i in range(n):
            before, after = self.segments[i - 1], self.segments[i]
            if radii[i] <= 0:
                trims.append(0.0)
                continue
            if not (before.is_line and after.is_line):
                raise ValueError("only corners between two lines can be rounded")
            d, e = before.tangent_at(1.0), after.tangent_at(0.0)
            turn = math.atan2(cross(d, e), d[0] * e[0] + d[1] * e[1])
            trims.append(radii[i] * abs(math.tan(turn / 2)))
        out: list[Segment] = []
        for i in range(n):
            s, t0, t1 = self.segments[i], trims[i], trims[(i + 1) % n]
            if t0 + t1 > s.chord + SAME_MM:
                raise ValueError(f"corner radii need {t0 + t1:.3f} mm of an edge that is {s.chord:.3f} mm long")
            a, b = s.a, s.b
            if t0 or t1:
                a, b = s.point_at(min(1.0, t0 / s.chord)), s.point_at(max(0.0, 1.0 - t1 / s.chord))
            if distance(a, b) > SAME_MM:
                out.append(Segment(a, b, s.bulge))
            if t1:
                after = self.segments[(i + 1) % n]
                end = after.point_at(min(1.0, t1 / after.chord))
                d, e = s.tangent_at(1.0), after.tangent_at(0.0)
                turn = math.atan2(cross(d, e), d[0] * e[0] + d[1] * e[1])
                out.append(Segment(b, end, math.tan(turn / 4)))
        return Contour.of(out)

    def tidy(self) -> Contour:
        """The same contour with runs of one line or one circle joined and zero lengths gone."""
        segments = tidied(list(self.segments))
        while len(segments) > 2 and (whole := as_one(segments[-1], segments[0])) is not None:
            segments = [whole, *segments[1:-1]]
        return Contour.of(segments)

    def polyline(self, sagitta_mm: float) -> tuple[Point, ...]:
        """Points on the contour with arcs cut into chords that miss by at most `sagitta_mm`. For checks and pictures only."""
        out: list[Point] = []
        for s in self.segments:
            steps = 1
            if not s.is_line:
                most = 2 * math.acos(max(-1.0, 1 - sagitta_mm / s.radius)) if sagitta_mm < s.radius else math.pi / 2
                steps = max(1, math.ceil(abs(s.sweep_rad) / most))
            out.extend(s.point_at(k / steps) for k in range(steps))
        return tuple(out)


def rectangle(x0: float, y0: float, x1: float, y1: float) -> Contour:
    return Contour(((x0, y0), (x1, y0), (x1, y1), (x0, y1)), (0.0,) * 4)


def _box_gap(p: Box, q: Box) -> float:
    """The least distance between two boxes; 0 where they meet."""
    dx, dy = max(p[0] - q[2], q[0] - p[2], 0.0), max(p[1] - q[3], q[1] - p[3], 0.0)
    return math.hypot(dx, dy)


def _lens(turn: float) -> float:
    """turn - sin(turn), without the loss of digits at small turns."""
    if abs(turn) > 0.3:
        return turn - math.sin(turn)
    t2 = turn * turn
    return turn**3 / 6 * (1 - t2 / 20 * (1 - t2 / 42 * (1 - t2 / 72 * (1 - t2 / 110))))
