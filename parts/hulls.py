"""Whether the steel of two pieces of a sheet part is shown to keep apart: points whose hull holds each piece, and planes between the hulls.

A sufficient test, made before the kernel joins the pieces: pieces shown apart need no boolean operation to prove it. Arithmetic only.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from parts.bend_zone import BendZone
from parts.sheet import Panel, Vec3

Rows = Sequence[Sequence[float]]  #: three rows of a turn and a shift: x' = row[0] x + row[1] y + row[2] z + row[3]


@dataclass(frozen=True, kw_only=True)
class Hull:
    """Points whose convex hull holds a piece, and the directions square to its flat sides."""

    points: tuple[Vec3, ...]
    normals: tuple[Vec3, ...]

    def moved(self, rows: Rows) -> Hull:
        def turned(p: Vec3, shift: float) -> Vec3:
            x, y, z = (r[0] * p[0] + r[1] * p[1] + r[2] * p[2] + shift * r[3] for r in rows)
            return x, y, z

        return Hull(points=tuple(turned(p, 1.0) for p in self.points), normals=tuple(turned(n, 0.0) for n in self.normals))

    def apart(self, other: Hull, gap_mm: float) -> bool:
        """Whether a plane square to a flat side of either leaves more than `gap_mm` between the two."""
        for normal in (*self.normals, *other.normals):
            low, high = _span(self.points, normal)
            other_low, other_high = _span(other.points, normal)
            if other_low - high > gap_mm or low - other_high > gap_mm:
                return True
        return False


def panel_hull(panel: Panel, thickness_mm: float) -> Hull:
    """In the panel's own coordinates. An arc is held by the corners of its box."""
    flat: list[tuple[float, float]] = []
    normals: list[Vec3] = [(0.0, 0.0, 1.0)]
    for s in panel.contour.segments:
        flat.append(s.a)
        if s.is_line:
            length = math.dist(s.a, s.b)
            normals.append(((s.b[1] - s.a[1]) / length, (s.a[0] - s.b[0]) / length, 0.0))
        else:
            x0, y0, x1, y1 = s.box
            flat += [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    return Hull(points=tuple((x, y, z) for x, y in flat for z in (0.0, thickness_mm)), normals=tuple(normals))


def zone_hull(zone: BendZone) -> Hull:
    """In edge coordinates. A rational curve lies in the hull of its poles."""
    turn = zone.turn_rad
    normals = ((0.0, 1.0, 0.0), (0.0, math.cos(turn), math.sin(turn)), (1.0, 0.0, 0.0))
    return Hull(points=tuple(_poles(zone)), normals=normals)


def _poles(zone: BendZone) -> Iterable[Vec3]:
    return (pole for span in zone.spans() for edge in span for pole in edge)


def _span(points: Iterable[Vec3], normal: Vec3) -> tuple[float, float]:
    heights = [p[0] * normal[0] + p[1] * normal[1] + p[2] * normal[2] for p in points]
    return min(heights), max(heights)
