"""What one piece's shape leaves in another's place: along its edges, at its holes, beside its bends."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

from parts.bolt_size import bolt_size
from parts.hardware import rail_hole
from parts.holes import Hole
from parts.laid_flat import LaidFlat, Place
from parts.outline import Contour, Point, Segment, Transform

REACH_MM = 12.0  #: how far from an edge the other shape's edge is looked for; further off, it is another edge
ALIKE = math.cos(math.radians(30))  #: two edges that look further apart than this are not each other's like
PIN_MM = 0.25  #: off centre to centre, that an alignment pin still draws in; common practice, no source
ROUND_A_HEAD_MM = 1.0  #: of air all round a rivet's or bolt's head in its clearance hole; common practice, no source
OPENING_MM = 2.0  #: off its place, that an opening for a hand, a pipe or a crossmember may be; our choice
CORNER_MM = 3.0  #: beside a corner, that it may lie elsewhere before the edge counts as missing

#: (gap that the piece's own shape leaves at a place, least gap, largest gap), mm
Bounds = Callable[[Place], tuple[float, float, float]]
Asked = tuple[Place, tuple[float, float, float]]
Kind = tuple[str, str, float, float]


@dataclass(frozen=True, kw_only=True)
class Gap:
    """What is left at one place; `over`: how many times the room on the side of the middle it takes, at most 1 where it fits."""

    kind: Literal["edge", "hole", "bend"]
    what: str  #: the edge, or the hole's name
    mm: float
    least_mm: float
    most_mm: float
    place: Place | None = None

    @property
    def is_root(self) -> bool:
        """Whether it is left open on purpose, between an edge and a flange; else the edge lies where its own would, or beside it."""
        return self.kind == "edge" and self.least_mm >= 0.0

    @property
    def over(self) -> float:
        half = (self.most_mm - self.least_mm) / 2
        return abs(self.mm - (self.most_mm + self.least_mm) / 2) / half if half > 0 else math.inf

    @property
    def fits(self) -> bool:
        return self.over <= 1.0 + 1e-9


def off_mm(place: Place, contour: Contour) -> float | None:
    """From a place of an edge straight out to the other shape's edge: + where that falls short. None where it is not met nearby."""
    (x, y), (nx, ny) = place.flat, place.normal
    ray = Segment((x - REACH_MM * nx, y - REACH_MM * ny), (x + REACH_MM * nx, y + REACH_MM * ny))
    low_x, low_y, high_x, high_y = ray.box
    met = []
    for segment in contour.segments:
        a0, b0, a1, b1 = segment.box
        if a0 > high_x or a1 < low_x or b0 > high_y or b1 < low_y:
            continue
        for p in ray.crossings(segment):
            tx, ty = segment.tangent_at(segment.part_at(p))
            if ty * nx - tx * ny >= ALIKE:
                met.append((p[0] - x) * nx + (p[1] - y) * ny)
    return -min(met, key=abs) if met else None


def edge_gaps(asked: Sequence[Asked], contour: Contour) -> list[Gap]:
    out = []
    for place, (gap, least, most) in asked:
        off = off_mm(place, contour)
        if off is None:  # an edge that the shape has not; or one beside a corner that lies a little further on: its other edge tells that
            off = contour.distance(place.flat) * (-1.0 if contour.contains(place.flat) else 1.0)
            if abs(off) <= CORNER_MM:
                continue
        out.append(Gap(kind="edge", what=place.edge, mm=gap + off, least_mm=least, most_mm=most, place=place))
    return out


def _room(hole: Hole) -> float | None:
    """How far a hole's middle may be off; None for one that may be anywhere: a plug weld, a drain."""
    word, _, rest = hole.purpose.partition(" ")
    if word == "pin":
        return PIN_MM
    if word == "clears":
        return ROUND_A_HEAD_MM
    if word in ("plug", "drain"):
        return None
    if word != "bolt":
        return OPENING_MM
    try:
        size = rest.split(",")[0].split(" of ")[0].strip()
        bolt = bolt_size(size).diameter_mm
        return max(((hole.diameter_mm - bolt) + (rail_hole(size).diameter_mm - bolt)) / 2, PIN_MM)
    except ValueError:
        return OPENING_MM


def hole_misses(own: LaidFlat, shape: LaidFlat, to: Transform) -> list[tuple[str, Point, Point, float]]:
    """(name, where the hole is needed, how far from it the shape's nearest like it lies, how far it may)."""
    theirs: dict[Kind, list[Point]] = {}
    for hole in shape.holes:
        theirs.setdefault(kind_of(hole), []).append(to.apply(hole.centre))
    out = []
    for hole in own.holes:
        room, like = _room(hole), theirs[kind_of(hole)]
        if room is not None:
            x, y = min(like, key=lambda p: math.dist(p, hole.centre))
            out.append((hole.name, hole.centre, (hole.centre[0] - x, hole.centre[1] - y), room))
    return out


def hole_gaps(own: LaidFlat, shape: LaidFlat, to: Transform) -> list[Gap]:
    return [
        Gap(kind="hole", what=name, mm=math.hypot(*off), least_mm=-room, most_mm=room)
        for name, _, off, room in hole_misses(own, shape, to)
    ]


def bend_gaps(own: LaidFlat, shape: LaidFlat, to: Transform, gap_mm: float) -> list[Gap]:
    """What a bend in another place, or of another angle, leaves between plate and seat."""
    out = []
    placed = [((to.apply(line[0]), to.apply(line[1])), angle) for line, angle in shape.bend_lines]
    for mine, angle in own.bend_lines:
        theirs, other = min(placed, key=lambda b: math.dist(_middle(b[0]), _middle(mine)))
        (ax, ay), (bx, by) = mine
        span = math.hypot(bx - ax, by - ay)
        nx, ny = -(by - ay) / span, (bx - ax) / span

        def off(p: Point, a: Point = mine[0], n: Point = (nx, ny)) -> float:
            return (p[0] - a[0]) * n[0] + (p[1] - a[1]) * n[1]

        beside = max(abs(off(p)) for p in theirs)
        sides = [off(p) for p in own.contour.points]
        reach = min(max(sides), -min(sides))
        left = beside * math.sin(math.radians(abs(angle))) + reach * math.sin(math.radians(min(abs(angle - other), 90.0)))
        out.append(Gap(kind="bend", what=f"bend of {abs(angle):.1f} deg", mm=left, least_mm=-gap_mm, most_mm=gap_mm))
    return out


def _middle(line: tuple[Point, Point]) -> Point:
    return (line[0][0] + line[1][0]) / 2, (line[0][1] + line[1][1]) / 2


def kind_of(hole: Hole) -> Kind:
    """What holes have to have in common to do for each other; their names may count from the other end on the other side."""
    return hole.purpose.partition(" ")[0], hole.kind, round(hole.diameter_mm, 1), round(hole.length_mm, 1)
