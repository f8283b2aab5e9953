"""The formed part in space: where each panel lies after the brake, its hole axes, and whether it would run into itself.

A pure transform from radius and thickness; K has no say here and no kernel is loaded. Coordinates are those of the root panel.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from parts.errors import Fault
from parts.flat import ordered
from parts.holes import HoleKind
from parts.outline import Point
from parts.prisms import Prism, clash
from parts.sheet import HOME, Bend, Panel, Placement, SheetPart, Vec3
from parts.vectors import cross, dot, minus


@dataclass(frozen=True, kw_only=True)
class FormedZone:
    """A bend zone: the steel between two bend edges, `angle_deg` round the axis.

    The edges are given at the child's z = 0 and the parent's z = 0, both from the child's first corner to its second.
    """

    bend: Bend
    axis_point: Vec3
    axis_direction: Vec3  #: unit vector along the child's u
    parent_edge: tuple[Vec3, Vec3]
    child_edge: tuple[Vec3, Vec3]


@dataclass(frozen=True, kw_only=True)
class HoleAxis:
    """A hole's axis: through `point` on the panel's z = 0 face along `direction` (the panel's +z)."""

    name: str
    panel: str
    kind: HoleKind
    point: Vec3
    direction: Vec3
    diameter_mm: float


@dataclass(frozen=True, kw_only=True)
class Formed:
    """A part folded up: where each of its panels lies, and its bend zones."""

    part: SheetPart
    places: dict[str, Placement]  #: panel name -> where its (u, v, z) lies in the root's coordinates
    zones: tuple[FormedZone, ...]

    @property
    def hole_axes(self) -> tuple[HoleAxis, ...]:
        return tuple(
            HoleAxis(
                name=h.name,
                panel=p.name,
                kind=h.kind,
                point=self.places[p.name].point(h.x_mm, h.y_mm),
                direction=self.places[p.name].normal,
                diameter_mm=h.diameter_mm,
            )
            for p in self.part.panels
            for h in p.holes
        )

    def box(self, at: Placement = HOME, sagitta_mm: float = 0.01) -> tuple[Vec3, Vec3]:
        """The least and greatest x, y, z of the formed part placed `at`, in mm, to `sagitta_mm` at arcs and bends."""
        points = [at.point(*p) for p in self.points(sagitta_mm)]
        low = min(p[0] for p in points), min(p[1] for p in points), min(p[2] for p in points)
        return low, (max(p[0] for p in points), max(p[1] for p in points), max(p[2] for p in points))

    def points(self, sagitta_mm: float = 0.01) -> list[Vec3]:
        """Points on the surface that span it: both faces of each panel's edge, and of each bend zone's free edges."""
        t = self.part.thickness_mm
        out: list[Vec3] = []
        for panel in self.part.panels:
            place = self.places[panel.name]
            for u, v in panel.contour.polyline(sagitta_mm):
                out += [place.point(u, v, 0.0), place.point(u, v, t)]
        for zone in self.zones:
            for strip in self.strips(zone, sagitta_mm):
                out += strip
        return out

    def strips(self, zone: FormedZone, sagitta_mm: float = 0.05) -> list[list[Vec3]]:
        """Stations through the zone from parent to child: at each, its two ends at z = 0 and then at z = thickness."""
        t, bend = self.part.thickness_mm, zone.bend
        turn = math.radians(bend.angle_deg)
        outer = bend.inside_radius_mm + t
        most = 2 * math.acos(max(0.0, 1 - sagitta_mm / outer)) if outer > 0 else math.pi / 4
        steps = max(2, math.ceil(abs(turn) / most))
        parent = self.places[bend.parent]
        n, w = parent.normal, zone.axis_direction
        v = cross(n, w)
        sign = 1.0 if turn > 0 else -1.0
        out: list[list[Vec3]] = []
        for k in range(steps + 1):
            part = k / steps
            phi = abs(turn) * part
            row: list[Vec3] = []
            for z in (0.0, t):
                radius = (outer - z) if sign > 0 else (bend.inside_radius_mm + z)
                for end in (0, 1):
                    along = dot(minus(zone.parent_edge[end], zone.axis_point), w) * (1 - part)
                    along += dot(minus(zone.child_edge[end], zone.axis_point), w) * part
                    a, b = radius * math.sin(phi), -sign * radius * math.cos(phi)
                    row.append(_plus(zone.axis_point, w, along, v, a, n, b))
            out.append(row)
        return out


def formed(part: SheetPart) -> Formed:
    """Fold `part` up. Raises `BadInput` if its panels and bends do not make one tree."""
    panels = {p.name: p for p in part.panels}
    places = {part.panels[0].name: HOME}
    zones: list[FormedZone] = []
    for bend in ordered(part):
        place, zone = _fold(panels[bend.parent], panels[bend.child], places[bend.parent], bend, part.thickness_mm)
        places[bend.child] = place
        zones.append(zone)
    return Formed(part=part, places=places, zones=tuple(zones))


def _fold(parent: Panel, child: Panel, at: Placement, bend: Bend, t: float) -> tuple[Placement, FormedZone]:
    edge = parent.contour.segments[bend.edge]
    dx, dy = edge.tangent_at(0.0)
    turn, r = math.radians(bend.angle_deg), bend.inside_radius_mm
    # In the parent: w along the child's u, out away from the parent, n its normal; the axis stands at z = t + r or at z = -r.
    start = (edge.b[0] - dx * bend.offset_mm, edge.b[1] - dy * bend.offset_mm)
    home, w = at.point(*start), _direction(at, (-dx, -dy))
    out, n = _direction(at, (dy, -dx)), at.normal
    height = t + r if turn > 0 else -r
    axis = _plus(home, n, height)
    reach = abs(height) * math.sin(abs(turn))
    rise = height * (1 - math.cos(turn))
    place = Placement(
        origin=_plus(home, out, reach, n, rise),
        u=w,
        v=_plus((0.0, 0.0, 0.0), out, math.cos(turn), n, math.sin(turn)),
    )
    first, second = child.contour.segments[0].a, child.contour.segments[0].b
    zone = FormedZone(
        bend=bend,
        axis_point=axis,
        axis_direction=w,
        parent_edge=(at.point(*edge.b), at.point(*edge.a)),
        child_edge=(place.point(*first), place.point(*second)),
    )
    return place, zone


def collisions(part: SheetPart) -> list[Fault]:
    """Pairs of panels whose steel would share room once folded."""
    shape = formed(part)
    prisms = {p.name: _prism(p, shape.places[p.name], part.thickness_mm) for p in part.panels}
    names = [p.name for p in part.panels]
    out: list[Fault] = []
    for i, one in enumerate(names):
        for two in names[i + 1 :]:
            where = clash(prisms[one], prisms[two])
            if where is not None:
                place = ", ".join(f"{c:.1f}" for c in where)
                out.append(
                    Fault(
                        where=f"part {part.name}",
                        field=f"panels {one} and {two}",
                        limit=f"run into each other when folded, near ({place}) mm",
                        remedy="shorten one of them, or relieve the corner",
                    )
                )
    return out


def _prism(panel: Panel, place: Placement, t: float) -> Prism:
    ring: tuple[Point, ...] = panel.contour.polyline(0.05)
    return Prism(
        origin=place.origin,
        u=place.u,
        v=place.v,
        ring=ring,
        thickness_mm=t,
        openings=tuple(h.contour().polyline(0.05) for h in panel.holes),
    )


def _direction(at: Placement, d: Point) -> Vec3:
    return _plus((0.0, 0.0, 0.0), at.u, d[0], at.v, d[1])


def _plus(p: Vec3, *terms: Vec3 | float) -> Vec3:
    x, y, z = p
    for direction, size in zip(terms[::2], terms[1::2], strict=True):
        assert isinstance(direction, tuple) and isinstance(size, int | float)
        x, y, z = x + size * direction[0], y + size * direction[1], z + size * direction[2]
    return x, y, z
