"""Upright faces along a rail, and the flat facets that a braked plate lays against them.

A face is parallel to the web, `offset_mm` from the web's outside face towards the section's open side. A plate against it stands on
its `away` side (+1: the open side). The plan curve becomes a chain of straight facets: exact along the rail's straights and at sharp
turns; round a turn of any radius the fewest that never cut the rail and leave at most the gap that is asked for. Points go from the
rail to a facet along the web's normal, at their own height, never by equal arc length.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

from parts.errors import BadInput, Fault
from parts.frame.course import Stretch
from parts.frame.rail import Rail
from parts.outline import Path, Point, fit_path, through
from parts.segment import Segment
from parts.sheet import Vec3

REFIT_MM = 0.01  #: how near a curve is refitted where no exact line or arc exists: half of the 0.02 mm that is promised
SAMPLE_MM = 1.0
STUB_MM = 0.25  #: just over the 0.2 mm that is the shortest edge cut
APART_MM = 1e-3  #: two bend lines nearer than this are one
DEG = 180.0 / math.pi
FEWEST_TRIED = 3  #: bends beyond the least number that are tried when one would run through a hole
SLIDES = (0.0, 0.25, -0.25, 0.5, -0.5)  #: how far bend lines move within their turn when one would, as a part of their spacing


@dataclass(frozen=True, kw_only=True)
class Vertex:
    """Where two facets meet: a vertical line over a plan point."""

    point: Point
    s_before_mm: float  #: foot of the web's normal, for the facet that ends here
    s_after_mm: float
    turn_rad: float  #: plan turn, + towards +Y
    gap_mm: float = 0.0  #: the most that is left between face and facet on either side of it


@dataclass(frozen=True, kw_only=True)
class Facet:
    """A flat, upright piece of a face: u runs rearward along it from `start`, heights are z. Works for any u, past its ends too."""

    start: Point
    heading_rad: float
    length_mm: float
    s_start_mm: float
    s_end_mm: float
    spans: tuple[Stretch, ...]  #: the stretches of the rail's plan curve that it faces, front to rear
    turn_rad: float = 0.0  #: to the next facet
    gap_mm: float = 0.0

    @property
    def direction(self) -> Vec3:
        return math.cos(self.heading_rad), math.sin(self.heading_rad), 0.0

    def plan(self, u: float) -> Point:
        return self.start[0] + u * math.cos(self.heading_rad), self.start[1] + u * math.sin(self.heading_rad)

    def point(self, u: float, z: float) -> Vec3:
        x, y = self.plan(u)
        return x, y, z

    @cached_property
    def _bounds_u(self) -> tuple[float, ...]:
        """u at which one span gives way to the next."""
        return tuple(self._meet(span, span.end_mm) for span in self.spans[:-1])

    def u_at(self, s: float) -> float:
        """Along the web's normal from the web's point at s."""
        index = min(sum(1 for span in self.spans[:-1] if s > span.end_mm), len(self.spans) - 1)
        return self._meet(self.spans[index], s)

    def s_at(self, u: float) -> float:
        """The foot of the web's normal through the facet's point at u."""
        span = self.spans[bisect_right(self._bounds_u, u)]
        return span.foot(self.plan(u), -math.inf, math.inf)[0]

    def u_at_x(self, x: float) -> float:
        return (x - self.start[0]) / math.cos(self.heading_rad)

    def _meet(self, span: Stretch, s: float) -> float:
        x, y = span.point_at(s)
        heading = span.heading_at(s)
        c, d = math.cos(heading - self.heading_rad), math.sin(heading - self.heading_rad)
        dx, dy = x - self.start[0], y - self.start[1]
        h = self.heading_rad
        along, across = dx * math.cos(h) + dy * math.sin(h), dy * math.cos(h) - dx * math.sin(h)
        return along + across * d / c

    def mapped(self, profile: Path, u0: float, u1: float) -> Path:
        """A line of the unrolled web (s, z) as it lies on the facet (u, z) from u0 to u1: exact where the facet is parallel to a
        straight of the rail, elsewhere refitted within 0.02 mm. Past a mitred turn the rail's own straight is taken on."""
        profile = profile.clipped_x(self.s_start_mm, self.s_end_mm)
        stops = [u0, *(b for b in self._bounds_u if u0 < b < u1), u1]
        points: list[Path] = []
        for low, high in pairwise(stops):
            span = self.spans[bisect_right(self._bounds_u, (low + high) / 2)]
            points.append(self._mapped(span, profile, low, high))
        whole = Path.of([segment for path in points for segment in path.segments])
        return _without_stubs(whole.tidy())

    def _mapped(self, span: Stretch, profile: Path, low: float, high: float) -> Path:
        s0, s1 = self.s_at(low), self.s_at(high)
        if span.is_line and abs(math.remainder(span.heading_rad - self.heading_rad, math.tau)) < 1e-9:
            stretch = profile.clipped_x(s0, s1)
            points = [(low + (s - s0), z) for s, z in stretch.points]
            points[0], points[-1] = (low, points[0][1]), (high, points[-1][1])
            return Path(tuple(points), stretch.bulges)
        stretch = profile.clipped_x(s0, s1)
        if len(stretch.segments) == 1 and stretch.segments[0].is_line and abs(stretch.points[0][1] - stretch.points[1][1]) < 1e-9:
            return Path(((low, stretch.points[0][1]), (high, stretch.points[1][1])), (0.0,))
        steps = max(16, math.ceil((high - low) / SAMPLE_MM))
        near = SAMPLE_MM / 100
        corners = [self._meet(span, s) for s, _ in stretch.points[1:-1]]  # a sharp kick between two samples would be cut off
        corners = [u for u in corners if low + near < u < high - near]  # never in place of an end: that is a bend's edge
        evenly = (low + (high - low) * k / steps for k in range(1, steps))
        us = [low, *sorted([*corners, *(u for u in evenly if all(abs(u - c) > near for c in corners))]), high]
        return fit_path([(u, profile.y_at(self.s_at(u))) for u in us], REFIT_MM)


@dataclass(frozen=True, kw_only=True)
class UprightFace:
    """A face that parts can stand against."""

    name: str  #: "web", "toes", or the id of the plate whose face it is
    rail: Rail
    offset_mm: float
    away: int  #: +1: what stands against it is on the open side of it; -1: on the other
    s0_mm: float
    s1_mm: float
    stack_mm: float  #: steel between this face and the far side of the web, where a bolt goes through both; 0 where there is air between
    thickness_mm: float  #: of the steel behind the face
    edges: tuple[Path, Path] | None = None  #: (lower, upper) of the plate whose face it is, in (s, z); None: the web itself
    whole_s_mm: tuple[float, float] | None = None  #: the stretch over which it has its whole height, where its ends are cut to shape

    @property
    def side(self) -> str:
        return self.rail.side

    @property
    def normal_sign(self) -> int:
        """+1 where the face looks to +Y."""
        return self.away * self.rail.opening_sign

    def facet_at(self, s: float) -> Facet:
        """The facet (of the coarsest chain) that faces s, between the face's ends."""
        facets = self.facets(gap_mm=1.6)
        return next((f for f in facets if s <= f.s_end_mm), facets[-1])

    def facets(self, *, gap_mm: float, extra: int = 0, slide: float = 0.0) -> tuple[Facet, ...]:
        """The chain of facets that meet the face between its ends, front to rear.

        `extra` bends a round turn more than needed; `slide` moves bend lines.

        Raises:
            BadInput: two turns leave no straight for a facet between them.
            ValueError: a slid bend line would leave more than the gap.
        """
        vertices = self._vertices(gap_mm, extra, slide)
        rail = self.rail
        pieces = rail.plan.pieces()
        first, last = rail.plan.point(0.0, self.offset_mm), rail.plan.point(rail.length_s_mm, self.offset_mm)
        ends = (
            Vertex(point=first, s_before_mm=0.0, s_after_mm=0.0, turn_rad=0.0),
            Vertex(point=last, s_before_mm=rail.length_s_mm, s_after_mm=rail.length_s_mm, turn_rad=0.0),
        )
        out: list[Facet] = []
        for one, two in pairwise(_apart([ends[0], *vertices, ends[1]])):
            s0, s1 = one.s_after_mm, two.s_before_mm
            if max(s0, s1) < self.s0_mm or min(s0, s1) > self.s1_mm:
                continue  # a turn elsewhere on the rail is no concern of this face
            middle = (s0 + s1) / 2
            spans = tuple(p for p in pieces if p.begin_mm < s1 - 1e-6 and p.end_mm > s0 + 1e-6)
            spans = spans or (min(pieces, key=lambda p: abs((p.begin_mm + p.end_mm) / 2 - middle)),)
            heading = math.atan2(two.point[1] - one.point[1], two.point[0] - one.point[0])
            if math.cos(heading - rail.plan.heading_rad(middle)) <= 0:
                raise BadInput(self._no_room(one, two))
            out.append(
                Facet(
                    start=one.point,
                    heading_rad=heading,
                    length_mm=math.dist(one.point, two.point),
                    s_start_mm=s0,
                    s_end_mm=s1,
                    spans=spans,
                    turn_rad=two.turn_rad,
                    gap_mm=0.0 if all(p.is_line for p in spans) else max(one.gap_mm, two.gap_mm),
                )
            )
        return tuple(out)

    def _no_room(self, one: Vertex, two: Vertex) -> Fault:
        x = (one.point[0] + two.point[0]) / 2
        turns = f"{one.turn_rad * DEG:.1f} and {two.turn_rad * DEG:.1f} deg"
        limit = f"two turns near x = {x:.0f} mm, {turns}, use up the straight between them"
        remedy = f"a plate {self.offset_mm:g} mm off the web cannot follow: end it before one of them, or move the stations apart"
        return Fault(where=self.rail.name, field=f"face {self.name}", limit=limit, remedy=remedy)

    def chains(self, gap_mm: float) -> Iterator[tuple[Facet, ...]]:
        """The chain with the fewest bends first, then others that hold the gap with bend lines elsewhere."""
        seen: list[tuple[float, ...]] = []
        for extra in range(FEWEST_TRIED + 1):
            for slide in SLIDES:
                try:
                    chain = self.facets(gap_mm=gap_mm, extra=extra, slide=slide)
                except BadInput:  # a ValueError too, but no chain would do
                    raise
                except ValueError:
                    continue
                key = tuple(round(f.s_start_mm, 6) for f in chain)
                if key not in seen:
                    seen.append(key)
                    yield chain

    def _vertices(self, gap_mm: float, extra: int, slide: float) -> list[Vertex]:
        """Raises ValueError where a slid bend line would leave more than the gap."""
        plan = self.rail.plan
        pieces = plan.pieces()
        found: list[Vertex] = []
        for s, turn in plan.course.corners:
            found.append(Vertex(point=plan.point(s, self.offset_mm), s_before_mm=s, s_after_mm=s, turn_rad=turn))
        for index, piece in enumerate(pieces):
            if not piece.is_line:
                radius = piece.radius_mm - self.offset_mm * piece.sign * self.rail.opening_sign
                if radius <= 1.0:
                    found.append(self._mitre(pieces, index))
                elif piece.sign * self.rail.opening_sign == self.away:
                    found += self._inscribed(piece, radius, gap_mm, extra, slide)
                else:
                    found += self._circumscribed(piece, radius, gap_mm, extra, slide)
        return sorted(found, key=lambda v: v.s_before_mm)

    def _mitre(self, pieces: tuple[Stretch, ...], index: int) -> Vertex:
        """Offset lines that meet before the arc between them begins."""
        arc = pieces[index]
        turn = arc.sweep_rad
        x, y = arc.point_at(arc.begin_mm)
        tangent = arc.radius_mm * math.tan(abs(turn) / 2)
        corner = (x + tangent * math.cos(arc.heading_rad), y + tangent * math.sin(arc.heading_rad))
        middle = arc.heading_rad + turn / 2
        reach = self.offset_mm * self.rail.opening_sign / math.cos(turn / 2)
        point = (corner[0] - reach * math.sin(middle), corner[1] + reach * math.cos(middle))
        before = arc.begin_mm + (point[0] - x) * math.cos(arc.heading_rad) + (point[1] - y) * math.sin(arc.heading_rad)
        return Vertex(point=point, s_before_mm=before, s_after_mm=arc.end_mm + (arc.begin_mm - before), turn_rad=turn)

    def _circumscribed(self, arc: Stretch, radius: float, gap_mm: float, extra: int, slide: float) -> list[Vertex]:
        """The rail lies inside the circle: facets touch it and meet outside."""
        whole = abs(arc.sweep_rad)
        half = math.acos(radius / (radius + gap_mm))
        count = max(1, math.ceil(whole / (2 * half) - 1e-9)) + extra
        stops = _spread(whole, count, slide)
        out: list[Vertex] = []
        for low, high in pairwise(stops):
            reach = radius / math.cos((high - low) / 2)
            if reach - radius > gap_mm + 1e-9:
                raise ValueError("slid too far")
            out.append(self._on(arc, (low + high) / 2, reach, high - low, reach - radius))
        return out

    def _inscribed(self, arc: Stretch, radius: float, gap_mm: float, extra: int, slide: float) -> list[Vertex]:
        """The rail lies outside the circle: facets are chords, their ends on it."""
        whole = abs(arc.sweep_rad)
        half = math.acos(max(-1.0, 1 - gap_mm / radius)) if gap_mm < radius else math.pi / 2
        count = max(1, math.ceil(whole / (2 * half) - 1e-9)) + extra
        stops = _spread(whole, count, slide)
        gaps = [radius * (1 - math.cos((high - low) / 2)) for low, high in pairwise(stops)]
        if max(gaps) > gap_mm + 1e-9:
            raise ValueError("slid too far")
        chords = [0.0, *(high - low for low, high in pairwise(stops)), 0.0]
        around = [0.0, *gaps, 0.0]
        return [
            self._on(arc, stop, radius, (chords[i] + chords[i + 1]) / 2, max(around[i], around[i + 1])) for i, stop in enumerate(stops)
        ]

    def _on(self, arc: Stretch, angle: float, reach: float, turn: float, gap: float) -> Vertex:
        """A vertex `reach` from the arc's centre, `angle` after its start."""
        cx, cy = arc.centre
        heading = arc.heading_rad + arc.sign * angle
        point = (cx + arc.sign * reach * math.sin(heading), cy - arc.sign * reach * math.cos(heading))
        s = arc.begin_mm + angle * arc.radius_mm
        return Vertex(point=point, s_before_mm=s, s_after_mm=s, turn_rad=arc.sign * turn, gap_mm=gap)


def _without_stubs(path: Path) -> Path:
    """Corners of the rail that fall within `STUB_MM` of a facet's edge are left out: no edge that short is cut, and the line it is
    replaced by misses the corner by less than 0.1 mm for any kick up to 20 deg."""
    segments = list(path.segments)
    while len(segments) > 1 and segments[0].length < STUB_MM:
        segments[:2] = [_over(segments[0], segments[1])]
    while len(segments) > 1 and segments[-1].length < STUB_MM:
        segments[-2:] = [_over(segments[-1].reversed(), segments[-2].reversed()).reversed()]
    return Path.of(segments)


def _over(stub: Segment, next_one: Segment) -> Segment:
    """One segment in place of a stub and the one after it: straight for a line, on through its middle for an arc."""
    if next_one.is_line:
        return Segment(stub.a, next_one.b)
    return through(stub.a, next_one.point_at(0.5), next_one.b, REFIT_MM / 10)


def _apart(vertices: list[Vertex]) -> list[Vertex]:
    """Vertices at one point made one, where an arc begins on the end of another or of the rail: a facet of no length has no direction."""
    out = vertices[:1]
    for two in vertices[1:]:
        one = out[-1]
        if math.dist(one.point, two.point) > APART_MM:
            out.append(two)
            continue
        turn, gap = one.turn_rad + two.turn_rad, max(one.gap_mm, two.gap_mm)
        out[-1] = Vertex(point=one.point, s_before_mm=one.s_before_mm, s_after_mm=two.s_after_mm, turn_rad=turn, gap_mm=gap)
    return out


def _spread(whole: float, count: int, slide: float) -> list[float]:
    """0 to `whole` in `count` steps, the inner stops moved by `slide` of a step (all the same way)."""
    step = whole / count
    return [0.0, *(step * (k + slide) for k in range(1, count)), whole]
