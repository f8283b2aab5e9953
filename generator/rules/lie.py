"""How a piece lies on its rail, told from its geometry alone: which of its panels lie against the web, along it, over what."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations, pairwise
from typing import Literal

from parts.formed import formed
from parts.frame.frame import Frame
from parts.frame.rail import Rail
from parts.frame.section import RailSide
from parts.landing import within
from parts.outline import SAME_MM, Contour, Point, Transform, rectangle
from parts.piece import Piece
from parts.sheet import Panel, Placement, Vec3
from parts.vectors import dot, inside, mean

PARALLEL = math.cos(math.radians(20.0))  #: panels round a turn stand a few degrees off the web
TOUCHING_MM = 5.0  #: the widest gap that is ever welded (AWS D1.1): what stands further off does not lie on the face
INTO_MM = 1.0  #: how far a panel may seem to lie in the steel, where it is a chord of a turn
PRICK_MM = 1.0  #: a place without a size is taken to be that large
WELD_STEP_MM = 50.0  #: seams are chords of the rail already; this only keeps long ones to its turns

Stands = Literal["on", "behind", "further in"]


@dataclass(frozen=True, kw_only=True)
class FacePatch:
    """A place on a face of a rail: its corners in vehicle axes, and the unit vector out of the steel there."""

    corners: tuple[Vec3, ...]
    outward: Vec3
    wall_mm: float  #: of the steel that it is on
    room_mm: float = 0.0  #: how far behind that steel a plate still closes it in


@dataclass(frozen=True, kw_only=True)
class LyingPanel:
    panel: Panel
    place: Placement  #: in the vehicle
    thickness_mm: float

    @cached_property
    def points(self) -> tuple[Vec3, ...]:
        """Its corners on its z = 0 face, in vehicle axes."""
        return tuple(self.place.point(u, v) for u, v in self.panel.contour.points)

    @cached_property
    def middle(self) -> Vec3:
        x0, y0, x1, y1 = self.panel.contour.box
        return self.place.point((x0 + x1) / 2, (y0 + y1) / 2)

    def local(self, p: Vec3) -> tuple[float, float, float]:
        """(u, v, z) of a vehicle point."""
        return inside(self.place, p)

    def stands(self, patch: FacePatch) -> Stands | None:
        """Where the panel's steel is, seen from a patch that it lies over: on its face, on the other side of its steel, or further in."""
        if not self._over(patch.corners):
            return None
        turned = dot(self.place.normal, patch.outward)
        if abs(turned) < PARALLEL:
            return None
        z = self.local(mean(patch.corners))[2]
        near, far = (-z, self.thickness_mm - z) if turned > 0 else (z - self.thickness_mm, z)  # of the steel, along `outward`
        if far > 0 and near >= -INTO_MM:
            return "on" if near <= TOUCHING_MM else None
        behind = -patch.wall_mm - far
        if behind <= TOUCHING_MM:
            return "behind"
        return "further in" if behind <= patch.room_mm else None

    def _over(self, corners: Sequence[Vec3]) -> bool:
        """Whether steel of the panel lies over a patch: not where an opening leaves all of it free."""
        ring = [self.local(c)[:2] for c in corners]
        box = _box(ring)
        x0, y0, x1, y1 = self.panel.contour.box
        if box[2] < x0 or box[0] > x1 or box[3] < y0 or box[1] > y1:
            return False
        shape = _ring(ring)
        steel = self.panel.contour
        meet = steel.contains(ring[0]) or shape.contains(steel.points[0]) or steel.crosses(shape)
        return meet and not any(all(o.contains(p) for p in ring) for o in (h.contour() for h in self.panel.holes))


@dataclass(frozen=True, kw_only=True)
class WeldStep:
    """A short stretch of a weld on a rail: its ends as (s, z, offset from the web's outside)."""

    onto: str
    ends: tuple[Vec3, Vec3]

    def spans(self, index: int) -> tuple[float, float]:
        """(low, high) of s, z or offset."""
        a, b = self.ends[0][index], self.ends[1][index]
        return min(a, b), max(a, b)


@dataclass(frozen=True, kw_only=True)
class Lying:
    """One placement of a piece, and the rail that it belongs to."""

    piece: Piece
    rail: Rail
    panels: tuple[LyingPanel, ...]

    @cached_property
    def szo(self) -> tuple[tuple[float, float, float], ...]:
        """(s, z, offset from the web's outside) of its corners."""
        return tuple(self.rail.szo(p) for panel in self.panels for p in panel.points)

    @cached_property
    def s_range(self) -> tuple[float, float]:
        ss = [p[0] for p in self.szo]
        return min(ss), max(ss)

    @cached_property
    def offsets_mm(self) -> tuple[float, float]:
        """Of its steel, flat panels that lie along the web: (lowest, highest) offset from the web's outside."""
        t = self.piece.part.thickness_mm
        x, y, _ = self.rail.normal(sum(self.s_range) / 2)
        turned = dot(self.panels[0].place.normal, (x, y, 0.0))
        found = [p[2] for p in self.szo]
        return min(found) + min(0.0, t * math.copysign(1.0, turned)), max(found) + max(0.0, t * math.copysign(1.0, turned))

    @cached_property
    def along_web(self) -> bool:
        """Whether all of it is plate that lies along the web."""
        for panel in self.panels:
            x, y, _ = self.rail.normal(self.rail.szo(panel.middle)[0])
            if abs(dot(panel.place.normal, (x, y, 0.0))) < PARALLEL:
                return False
        return True

    @cached_property
    def depth_mm(self) -> float:
        """Of the rail, at the middle of the piece."""
        low, high = self.s_range
        return self.rail.depth_at(min(max((low + high) / 2, 0.0), self.rail.length_s_mm))

    @cached_property
    def on_web(self) -> bool:
        """Whether it lies on the web, on either side of it."""
        low, high = self.offsets_mm
        web = self.rail.thickness_mm
        outside = -TOUCHING_MM <= high <= INTO_MM
        return self.along_web and (outside or web - INTO_MM <= low <= web + TOUCHING_MM)

    @cached_property
    def reinforces(self) -> bool:
        """A reinforcement: plate along the web, within the section or on it, at least as long as the rail is deep. Not what is welded to
        another part alone, as a ring round an opening."""
        if not self.along_web or (self.piece.welds and not any(w.onto.startswith(self.rail.name) for w in self.piece.welds)):
            return False
        (s0, s1), (low, high) = self.s_range, self.offsets_mm
        t = self.piece.part.thickness_mm
        near = low >= -t - TOUCHING_MM and high <= self.rail.section.flange_mm + t + TOUCHING_MM
        return near and s1 - s0 >= self.depth_mm

    @cached_property
    def weld_steps(self) -> tuple[WeldStep, ...]:
        """Every weld onto this rail, step by step."""
        out = []
        for weld in self.piece.welds:
            if weld.onto.startswith(self.rail.name):
                points = [self.rail.szo(p) for p in _walked(weld.points)]
                out += [WeldStep(onto=weld.onto, ends=(a, b)) for a, b in pairwise((points[0], *points))]
        return tuple(out)


def lyings(piece: Piece, frame: Frame) -> tuple[Lying, ...]:
    """The piece on its rail, once a placement; of a piece of both sides each goes to the rail on its own side of the centreline."""
    if piece.side == "centre":
        return ()
    shape = formed(piece.part)
    out = []
    for placement in piece.placements:
        panels = tuple(
            LyingPanel(panel=p, place=within(placement, shape.places[p.name]), thickness_mm=piece.part.thickness_mm)
            for p in piece.part.panels
        )
        side: RailSide = ("left" if panels[0].middle[1] < 0 else "right") if piece.side == "both" else piece.side
        out.append(Lying(piece=piece, rail=frame.rail(side), panels=panels))
    return tuple(out)


def _walked(points: Sequence[Vec3]) -> Iterator[Vec3]:
    yield points[0]
    for a, b in pairwise(points):
        steps = max(1, math.ceil(math.dist(a, b) / WELD_STEP_MM))
        yield from ((a[0] + (b[0] - a[0]) * k / steps, a[1] + (b[1] - a[1]) * k / steps, a[2] + (b[2] - a[2]) * k / steps)
                    for k in range(1, steps + 1))  # fmt: skip


def _ring(points: Sequence[Point]) -> Contour:
    ring = Contour(tuple(points), (0.0,) * len(points))
    a, b = max(combinations(points, 2), key=lambda pair: math.dist(*pair))
    size, half = math.dist(a, b), PRICK_MM / 2
    if abs(ring.area) > half * max(size, PRICK_MM):
        return ring
    along = ((b[0] - a[0]) / size, (b[1] - a[1]) / size) if size > SAME_MM else (1.0, 0.0)
    return rectangle(-half, -half, size + half, half).moved(Transform.frame(a, along))


def _box(points: Iterable[Point]) -> tuple[float, float, float, float]:
    xs, ys = zip(*points, strict=True)
    return min(xs), min(ys), max(xs), max(ys)
