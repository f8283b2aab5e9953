"""What is left of an outline when another is cut out of it, joined to it or laid over it. Lines and arcs stay exact.

Every piece of either edge between crossings is kept or dropped by where its middle lies; what is kept is chained end to end.
"""

from __future__ import annotations

import math
from itertools import combinations, pairwise
from typing import Literal

from parts.outline import SAME_MM, Contour, Point, Segment, distance

Operation = Literal["less", "with", "within"]
CHAIN_MM = 20 * SAME_MM  #: edges nearer to each other than this run along each other
REACH_MM = 2 * CHAIN_MM  #: how far apart the ends of two kept stretches may lie and still be one corner
TOUCHING = "the outlines only touch, or cross at a point that cannot be told apart: move one of them a little"


def cut(contour: Contour, tool: Contour) -> list[Contour]:
    """`contour` less `tool`, both counter-clockwise and simple: the pieces left, largest first.

    Raises ValueError where the tool lies wholly inside: that is a hole, not a cut from the edge.
    """
    if not contour.crosses(tool):
        if contour.contains(tool.points[0]):
            raise ValueError("the cut lies inside the outline and does not reach its edge")
        return [] if tool.contains(contour.points[0]) else [contour]
    return _combined(contour, tool, "less")


def united(contour: Contour, other: Contour) -> list[Contour]:
    """The outer outlines of both together, largest first; two that do not touch stay two. What they enclose between them is filled."""
    if not contour.crosses(other):
        if contour.contains(other.points[0]):
            return [contour]
        return [other] if other.contains(contour.points[0]) else sorted((contour, other), key=lambda c: -c.area)
    return [c for c in _combined(contour, other, "with") if c.area > 0]


def common(contour: Contour, other: Contour) -> list[Contour]:
    """What lies in both, largest first."""
    if not contour.crosses(other):
        if contour.contains(other.points[0]):
            return [other]
        return [contour] if other.contains(contour.points[0]) else []
    return _combined(contour, other, "within")


def _combined(one: Contour, two: Contour, operation: Operation) -> list[Contour]:
    kept: list[Segment] = []
    for mine, other, is_tool in ((one, two, False), (two, one, True)):
        for s in _split(mine, other):
            middle = s.point_at(0.5)
            if other.distance(middle) <= CHAIN_MM:  # runs along the other's edge: count it once, from `one`
                along = _runs_along(s, other)
                keep = not is_tool and (along if operation != "less" else not along)
            else:
                inside = other.contains(middle)
                keep = inside if (operation == "within" or (operation == "less" and is_tool)) else not inside
            if keep:
                kept.append(s.reversed() if is_tool and operation == "less" else s)
    loops = [c.tidy() for c in _chained(kept) if abs(c.area) > CHAIN_MM]
    return sorted(loops, key=lambda c: -c.area)


def _runs_along(s: Segment, other: Contour) -> bool:
    """True if the stretch of `other` under the middle of `s` runs the same way."""
    middle = s.point_at(0.5)
    under = min(other.segments, key=lambda o: o.distance(middle))
    d, e = s.tangent_at(0.5), under.tangent_at(min(1.0, max(0.0, under.part_at(middle))))
    return d[0] * e[0] + d[1] * e[1] > 0


def _split(contour: Contour, by: Contour) -> list[Segment]:
    out: list[Segment] = []
    for s in contour.segments:
        parts = {0.0: s.a, 1.0: s.b}
        for o in by.segments:
            for p in s.crossings(o):
                part = s.part_at(p)
                if min(distance(p, q) for q in parts.values()) > CHAIN_MM / 2:
                    parts[part] = p
        stops = sorted(parts)
        for low, high in pairwise(stops):
            out.append(_between(s, low, high, parts[low], parts[high]))
    return out


def _between(s: Segment, low: float, high: float, a: Point, b: Point) -> Segment:
    if s.is_line:
        return Segment(a, b)
    whole = Segment(s.point_at(low), s.point_at(high))  # the chord's length fixes the bulge; the exact ends fix the place
    sweep = s.sweep_rad * (high - low)
    if abs(whole.chord - distance(a, b)) > CHAIN_MM:
        raise ValueError(TOUCHING)
    return Segment(a, b, math.tan(sweep / 4))


def _chained(segments: list[Segment]) -> list[Contour]:
    """Closed loops; where several could go on from one point, the sharpest turn to the left keeps two loops that touch there apart."""
    loose = list(segments)
    loops: list[Contour] = []
    while loose:
        chain = [loose.pop(0)]
        while True:
            end, heading = chain[-1].b, chain[-1].tangent_at(1.0)
            near = [s for s in (chain[0], *loose) if distance(s.a, end) <= REACH_MM]
            if not near:
                raise ValueError(TOUCHING)
            following = near[0] if len(near) == 1 else max(near, key=lambda s: _left_turn(heading, s))
            if following is chain[0]:
                break
            loose.remove(following)
            if distance(end, following.b) > SAME_MM:
                chain.append(Segment(end, following.b, following.bulge))
        chain[-1] = Segment(chain[-1].a, chain[0].a, chain[-1].bulge)
        if len(chain) == 1:
            continue  # a stretch that ends where it began: nothing
        if any(distance(p.a, q.a) <= REACH_MM for p, q in combinations(chain, 2)):
            raise ValueError(TOUCHING)
        loops.append(Contour.of(chain))
    return loops


def _left_turn(heading: Point, s: Segment) -> float:
    """The angle itself: its sine would take a turn of 90 deg for more than one of 150 deg."""
    d = s.tangent_at(0.0)
    return math.atan2(heading[0] * d[1] - heading[1] * d[0], heading[0] * d[0] + heading[1] * d[1])
