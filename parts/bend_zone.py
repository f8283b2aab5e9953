"""The steel between a parent's and a child's bend edge, as solids are built from it. Arithmetic only; no kernel.

Edge coordinates: x runs along the child's u from its origin, y outward from the parent's edge, z as the parent's. The zone starts on
y = 0 and turns about an axis parallel to x.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

from parts.outline import Contour, Transform
from parts.segment import SAME_MM
from parts.sheet import Bend, Panel, Placement, SheetPart, Vec3

#: A zone with unequal edges is built in as many spans as keep each under this. The kernel's own integration of a volume is good to
#: 3e-11 over a rational arc of 90 deg, but only to 1e-7 over one of 130.
WIDEST_SPAN_DEG = 90.0
SAME_EDGE_MM = 1e-7  #: edges whose ends lie closer than this are the same edge


@dataclass(frozen=True, kw_only=True)
class BendZone:
    """One bend of one part. Make it with `BendZone.of`."""

    bend: Bend
    thickness_mm: float
    parent: Panel
    child: Panel

    @staticmethod
    def of(part: SheetPart, bend: Bend) -> BendZone:
        panels = {p.name: p for p in part.panels}
        return BendZone(bend=bend, thickness_mm=part.thickness_mm, parent=panels[bend.parent], child=panels[bend.child])

    @property
    def feature(self) -> str:
        """What it is called in a message."""
        return f"bend from {self.bend.parent} to {self.bend.child}"

    @property
    def turn_rad(self) -> float:
        return math.radians(self.bend.angle_deg)

    @cached_property
    def parent_x(self) -> tuple[float, float]:
        """Where the parent's edge begins and ends along x."""
        length = self.parent.contour.segments[self.bend.edge].length
        return -self.bend.offset_mm, length - self.bend.offset_mm

    @cached_property
    def child_x(self) -> tuple[float, float]:
        a, b = self.child.contour.points[:2]
        return a[0], b[0]

    @property
    def equal(self) -> bool:
        """Whether the two edges are alike: then its faces are plain cylinders and planes."""
        return all(abs(p - c) < SAME_EDGE_MM for p, c in zip(self.parent_x, self.child_x, strict=True))

    @property
    def axis_z_mm(self) -> float:
        """The axis stands over the concave side: the z = t face for a positive turn, z = 0 for a negative one."""
        r = self.bend.inside_radius_mm
        return self.thickness_mm + r if self.bend.angle_deg > 0 else -r

    @property
    def volume_mm3(self) -> float:
        """By Pappus: mean width, angle, and the section's area times the radius of its centroid."""
        width = (self.parent_x[1] - self.parent_x[0] + self.child_x[1] - self.child_x[0]) / 2
        t = self.thickness_mm
        return width * abs(self.turn_rad) * t * (self.bend.inside_radius_mm + t / 2)

    @cached_property
    def plane(self) -> Transform:
        """From edge coordinates (x, y) to the parent's (u, v)."""
        edge = self.parent.contour.segments[self.bend.edge]
        (ax, ay), (bx, by) = edge.a, edge.b
        ux, uy = (ax - bx) / edge.length, (ay - by) / edge.length
        return Transform.frame((bx + self.bend.offset_mm * ux, by + self.bend.offset_mm * uy), (ux, uy))

    @property
    def place(self) -> Placement:
        """Edge coordinates in the parent's."""
        p = self.plane
        return Placement(origin=(p.tx, p.ty, 0.0), u=(p.a, p.b, 0.0), v=(p.c, p.d, 0.0))

    @property
    def beside_only(self) -> bool:
        """Whether each panel stays on its own side of its bend edge over the zone's width, so that it can only touch the zone."""
        low = min(self.parent_x[0], self.child_x[0]) + SAME_MM
        high = max(self.parent_x[1], self.child_x[1]) - SAME_MM
        parent = self.parent.contour.moved(self.plane.inverse())
        child = self.child.contour.moved(Transform(d=-1.0))
        return not (_reaches(parent, low, high) or _reaches(child, low, high))

    def spans(self) -> list[list[list[Vec3]]]:
        """The zone's four long edges, span by span, for unequal edges: [span][edge][pole], in edge coordinates.

        The edges are inner low x, inner high x, outer high x, outer low x; each span has one rational quadratic of three poles an edge,
        with weights 1, `weight`, 1. The middle pole has the mean of the ends' x: the curve lies exactly on the cylinder, and its x is
        antisymmetric about the middle of the span, so the zone's volume is that of its mean width.
        """
        inner = self.bend.inside_radius_mm
        outer = inner + self.thickness_mm
        count = self._span_count
        return [
            [self._poles(end, radius, k / count, (k + 1) / count) for end, radius in ((0, inner), (1, inner), (1, outer), (0, outer))]
            for k in range(count)
        ]

    @property
    def weight(self) -> float:
        return math.cos(self.turn_rad / self._span_count / 2)

    @property
    def _span_count(self) -> int:
        return math.ceil(abs(self.bend.angle_deg) / WIDEST_SPAN_DEG - 1e-9)

    def _poles(self, end: int, radius: float, start: float, stop: float) -> list[Vec3]:
        x0, x1 = self.parent_x[end], self.child_x[end]
        sign = math.copysign(1.0, self.turn_rad)
        poles: list[Vec3] = []
        for part, reach in ((start, radius), ((start + stop) / 2, radius / self.weight), (stop, radius)):
            turn = part * abs(self.turn_rad)
            poles.append((x0 + part * (x1 - x0), reach * math.sin(turn), self.axis_z_mm - sign * reach * math.cos(turn)))
        return poles


def _reaches(contour: Contour, low: float, high: float) -> bool:
    boxes = (s.box for s in contour.segments)
    return any(y1 > SAME_MM and x0 < high and x1 > low for x0, _, x1, y1 in boxes)
