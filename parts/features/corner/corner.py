"""The corner that two flat faces make, as plain geometry: its line, its legs, and how much flat steel lies along them.

Corner coordinates in mm: `a` runs along a leg, from the corner line over the face and square to the line; `t` runs along the line.
A plate in the corner lies in (u, v): u along the first face's leg, v square off that face, its normal along the line.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

from parts.frame.offers import FlatFace
from parts.holes import Hole
from parts.outline import Contour, Point, Transform, rectangle
from parts.sheet import Placement, Vec3
from parts.vectors import along, cross, dot, minus, size, unit

PARALLEL = math.sin(math.radians(5.0))  #: faces nearer to parallel than this make no corner
SAGITTA_MM = 0.005
EDGE_MM = 1e-6  #: on the edge is on the face
BOTH = (0, 1)  #: legs, and faces: the first, the second
Span = tuple[float, float]


@dataclass(frozen=True, kw_only=True)
class Corner:
    """Two faces and the line in which their planes meet. The corner is open: both faces look into it."""

    faces: tuple[FlatFace, FlatFace]
    origin: Vec3  #: on the line
    line: Vec3  #: unit; first leg, square off its face and this make a right-handed set
    legs: tuple[Vec3, Vec3]  #: unit: along each face, away from the line

    @cached_property
    def angle_rad(self) -> float:
        """Between the two legs, through the air."""
        return math.atan2(size(cross(*self.legs)), dot(*self.legs))

    @property
    def way(self) -> Vec3:
        """Along the line: rearward, up or to the right, whichever it does most."""
        return self.line if self._sign > 0 else along((0.0, 0.0, 0.0), (self.line, -1.0))

    @property
    def axis(self) -> int:
        """0, 1 or 2: the vehicle's axis that the line runs along most."""
        sizes = [abs(c) for c in self.line]
        return sizes.index(max(sizes))

    @property
    def _sign(self) -> float:
        return math.copysign(1.0, self.line[self.axis])

    def place(self, t: float, thickness_mm: float) -> Placement:
        """Of a plate whose middle stands at t."""
        at = along(self.origin, (self.line, t - thickness_mm / 2))
        return Placement(origin=at, u=self.legs[0], v=cross(self.line, self.legs[0]))

    def point(self, t: float) -> Vec3:
        return along(self.origin, (self.line, t))

    def to_leg(self, leg: int) -> Transform:
        """From the face's (u, v) to (a, t)."""
        place, e, d = self.faces[leg].placement, self.legs[leg], self.line
        off = minus(place.origin, self.origin)
        return Transform(dot(place.u, e), dot(place.u, d), dot(place.v, e), dot(place.v, d), dot(off, e), dot(off, d))

    @cached_property
    def shapes(self) -> tuple[Contour, Contour]:
        """Both faces' outlines in (a, t)."""
        return self.faces[0].outline.moved(self.to_leg(0)), self.faces[1].outline.moved(self.to_leg(1))

    @cached_property
    def rings(self) -> tuple[tuple[Point, ...], tuple[Point, ...]]:
        return self.shapes[0].polyline(SAGITTA_MM), self.shapes[1].polyline(SAGITTA_MM)

    def holes(self, leg: int) -> tuple[Hole, ...]:
        """In (a, t)."""
        turn = self.to_leg(leg)
        return tuple(h.moved(turn) for h in self.faces[leg].holes)

    def flat(self, leg: int, t: float, half_mm: float, reach_mm: float) -> Span | None:
        """(first, last) a of flat steel over a strip t -+ half: the stretch that has most of 0 to `reach_mm`; None where none does."""
        found: list[Span] = []
        for level in (t - half_mm + EDGE_MM, t, t + half_mm - EDGE_MM):
            spans = _spans([(p[1], p[0]) for p in self.rings[leg]], level)
            best = max(spans, key=lambda s: min(s[1], reach_mm) - max(s[0], 0.0), default=None)
            if best is None or min(best[1], reach_mm) <= max(best[0], 0.0):
                return None
            found.append((max(best[0], 0.0), best[1]))
        return max(s[0] for s in found), min(s[1] for s in found)

    def carries(self, leg: int, a: Span, t: float, half_mm: float) -> bool:
        """Whether the rectangle a, t -+ half lies on the face's flat steel; holes have no say."""
        shape = self.shapes[leg]
        inset = 100 * EDGE_MM  # more than two edges may lie apart and still count as touching
        strip = rectangle(a[0] + inset, t - half_mm + inset, a[1] - inset, t + half_mm - inset)
        return all(shape.contains(p) for p in strip.points) and not shape.crosses(strip)

    def stations(self, a: tuple[Span, Span], half_mm: tuple[float, float]) -> list[Span]:
        """Every stretch of t where both faces carry their leg; the plate and its welds are twice `half_mm` wide on each."""
        found = [(-math.inf, math.inf)]
        for leg in BOTH:
            own = [(-math.inf, math.inf)]
            ring, (low, high) = self.rings[leg], a[leg]
            marks = {low + EDGE_MM, high - EDGE_MM}
            for p in ring:
                marks |= {x for x in (p[0] - EDGE_MM, p[0] + EDGE_MM) if low < x < high}
            for mark in sorted(marks):
                own = _both(own, _spans(ring, mark))
            found = _both(found, [(one + half_mm[leg], two - half_mm[leg]) for one, two in own])
        return [s for s in found if math.isfinite(s[1] - s[0])]


def corner_of(one: FlatFace, two: FlatFace) -> Corner | None:
    """None where the faces are nearly parallel."""
    n1, n2 = one.placement.normal, two.placement.normal
    across = cross(n1, n2)
    if size(across) < PARALLEL:
        return None
    back = unit(across)
    first, second = cross(back, n1), cross(n2, back)
    line = cross(first, n1)
    # The point of both planes nearest to the first face's middle.
    x0, y0, x1, y1 = one.outline.box
    middle = one.placement.point((x0 + x1) / 2, (y0 + y1) / 2)
    gap = dot(minus(middle, two.placement.origin), n2)
    return Corner(faces=(one, two), origin=along(middle, (first, -gap / dot(first, n2))), line=line, legs=(first, second))


def _spans(ring: Sequence[Point], x: float) -> list[Span]:
    """The stretches of y in which the line at x lies inside the ring."""
    hits: list[float] = []
    for (ax, ay), (bx, by) in zip(ring, (*ring[1:], ring[0]), strict=True):
        if (ax > x) != (bx > x):
            hits.append(ay + (x - ax) / (bx - ax) * (by - ay))
    hits.sort()
    return list(zip(hits[::2], hits[1::2], strict=True))


def _both(one: Iterable[Span], two: Sequence[Span]) -> list[Span]:
    found = [(max(a, c), min(b, d)) for a, b in one for c, d in two]
    return [s for s in found if s[1] > s[0]]
