"""The central type: a sheet part is a tree of flat panels joined by bends, sized as formed.

Panel coordinates are (u, v) in mm. The root panel's are free; a child's edge lies on v = 0, u runs along it, v away from it, and
+z = u x v points to the side that a positive bend turns to. A panel's steel fills 0 <= z <= thickness. Contours run
counter-clockwise seen from +z and hold only what is flat: bend zones lie between panels and belong to neither.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from parts.holes import Hole
from parts.outline import Contour, Point, Transform

Vec3 = tuple[float, float, float]


@dataclass(frozen=True, kw_only=True)
class Mark:
    """Etched single strokes on one face of a panel: a line a stroke, in panel coordinates. Not cut through."""

    name: str
    strokes: tuple[tuple[Point, ...], ...]
    face: str = "top"  #: "top" is the z = thickness face, "bottom" z = 0; the seen face when fitted

    def moved(self, t: Transform) -> Mark:
        return replace(self, strokes=tuple(tuple(t.apply(p) for p in stroke) for stroke in self.strokes))


@dataclass(frozen=True, kw_only=True)
class Label:
    """Text to be etched in single strokes, laid out by whoever writes the file: its left end, height, direction."""

    text: str
    x_mm: float
    y_mm: float
    height_mm: float = 6.0
    angle_deg: float = 0.0
    face: str = "top"

    def shifted(self, dx: float, dy: float) -> Label:
        return replace(self, x_mm=self.x_mm + dx, y_mm=self.y_mm + dy)


@dataclass(frozen=True, kw_only=True)
class Panel:
    """One flat piece of a sheet part, in its own (u, v)."""

    name: str
    contour: Contour
    holes: tuple[Hole, ...] = ()
    marks: tuple[Mark, ...] = ()
    labels: tuple[Label, ...] = ()

    def shifted(self, dx: float, dy: float) -> Panel:
        """The same panel with all that is on it, moved in its plane."""
        t = Transform.shift(dx, dy)
        return replace(
            self,
            contour=self.contour.moved(t),
            holes=tuple(h.moved(t) for h in self.holes),
            marks=tuple(m.moved(t) for m in self.marks),
            labels=tuple(n.shifted(dx, dy) for n in self.labels),
        )


@dataclass(frozen=True, kw_only=True)
class Bend:
    """A brake bend from one straight edge of `parent` to the edge of `child` on its v = 0.

    The parent's edge is segment number `edge` of its contour, walked counter-clockwise from a to b. The child's u runs the other way,
    from b towards a; its u = 0 stands `offset_mm` from b. The child's edge is segment 0 of its contour. The two edges may differ in
    length: between them the zone's free edges run straight in the flat and ruled in the solid.
    """

    parent: str
    child: str
    edge: int
    angle_deg: float  #: what the brake turns, not the opening angle; + towards the parent's +z
    inside_radius_mm: float
    offset_mm: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Placement:
    """Where panel coordinates (0, 0, 0) of the root lie in the vehicle, and where its u and v point (unit vectors)."""

    origin: Vec3
    u: Vec3
    v: Vec3

    @property
    def normal(self) -> Vec3:
        (a, b, c), (d, e, f) = self.u, self.v
        return b * f - c * e, c * d - a * f, a * e - b * d

    def point(self, u: float, v: float, z: float = 0.0) -> Vec3:
        n = self.normal
        o, p, q = self.origin, self.u, self.v
        return (
            o[0] + u * p[0] + v * q[0] + z * n[0],
            o[1] + u * p[1] + v * q[1] + z * n[1],
            o[2] + u * p[2] + v * q[2] + z * n[2],
        )


HOME = Placement(origin=(0.0, 0.0, 0.0), u=(1.0, 0.0, 0.0), v=(0.0, 1.0, 0.0))


@dataclass(frozen=True, kw_only=True)
class SheetPart:
    """Panels and bends of one part of one thickness. `panels[0]` is the root; every other panel is the child of one bend."""

    name: str
    thickness_mm: float
    panels: tuple[Panel, ...]
    bends: tuple[Bend, ...] = ()
