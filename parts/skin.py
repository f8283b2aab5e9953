"""The skin of a frame's body: flat facets over its outlines, and which holes go straight through two of them. Arithmetic only.

A side between two outlines that is not flat becomes two triangles; one that goes on flat over more outlines is one facet. A hole that
cannot be told to go square through two whole facets is left to the kernel to cut.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from parts.frame.bodies import Body, Cylinder, Ring
from parts.sheet import Vec3
from parts.vectors import cross, dot, minus

FLAT_MM = 1e-7  #: how far a corner may lie off a facet's plane
EDGE_MM = 1e-3  #: how much steel a hole must leave to the edge of its facet
SQUARE = 1e-9  #: how far from square, in radians, a hole may go through a facet


@dataclass(frozen=True, kw_only=True)
class Facet:
    """A flat face, `normal` outward: an outer ring of point numbers, counter-clockwise seen from outside, and inner ones, clockwise."""

    normal: Vec3
    rings: tuple[tuple[int, ...], ...]


@dataclass(frozen=True, kw_only=True)
class Drill:
    """A hole square through two facets: from `point` on the facet number `entry`, along `direction`, to the facet `leaving`."""

    point: Vec3
    direction: Vec3
    radius_mm: float
    length_mm: float
    entry: int
    leaving: int


@dataclass(frozen=True, kw_only=True)
class Skin:
    """Everything that bounds a body. `cuts` are those of its holes that are not among `drills`."""

    points: tuple[Vec3, ...]
    facets: tuple[Facet, ...]
    drills: tuple[Drill, ...]
    cuts: tuple[Cylinder, ...]


def skin_of(body: Body) -> Skin:
    """The closed skin of `body`, whichever way its rings run round."""
    points: list[Vec3] = []
    facets: list[Facet] = []
    levels = [_numbered(rings, points) for rings in (body.rings, body.inner_rings)]
    for inward, rings in enumerate(levels):
        for strip in zip(*(zip(ring, (*ring[1:], ring[0]), strict=True) for ring in rings), strict=True):
            facets += _strip([pair[::-1] for pair in strip] if inward else list(strip), points)
    for end in (0, -1):
        ends = [level[end][:: -1 if (end == 0) != inward else 1] for inward, level in enumerate(levels) if level]
        facets.append(Facet(normal=_normal([points[i] for i in ends[0]]), rings=tuple(ends)))
    if _volume(facets, points) < 0:
        facets = [_turned(f) for f in facets]
    drills, cuts = _drilled(body.cuts, points, facets)
    return Skin(points=tuple(points), facets=tuple(facets), drills=drills, cuts=cuts)


def _numbered(rings: Sequence[Ring], points: list[Vec3]) -> list[tuple[int, ...]]:
    numbered = []
    for ring in rings:
        numbered.append(tuple(range(len(points), len(points) + len(ring))))
        points.extend(ring)
    return numbered


def _strip(pairs: Sequence[tuple[int, int]], points: Sequence[Vec3]) -> list[Facet]:
    """The facets along one side, each as long as it stays flat."""
    facets: list[Facet] = []
    start = 0
    while start < len(pairs) - 1:
        stop = start + 1
        best = _flat(pairs[start : stop + 1], points)
        while best is not None and stop + 1 < len(pairs) and (longer := _flat(pairs[start : stop + 2], points)) is not None:
            best, stop = longer, stop + 1
        if best is not None:
            facets.append(best)
        else:
            (a, b), (c, d) = pairs[start], pairs[stop]
            facets += [Facet(normal=_normal([points[i] for i in three]), rings=(three,)) for three in ((a, b, d), (a, d, c))]
        start = stop
    return facets


def _flat(pairs: Sequence[tuple[int, int]], points: Sequence[Vec3]) -> Facet | None:
    ring = (*(a for a, _ in reversed(pairs)), *(b for _, b in pairs))
    normal = _normal([points[i] for i in ring])
    if any(abs(dot(minus(points[i], points[ring[0]]), normal)) > FLAT_MM for i in ring):
        return None
    return Facet(normal=normal, rings=(ring,))


def _volume(facets: Sequence[Facet], points: Sequence[Vec3]) -> float:
    """By the divergence theorem, fans of triangles over every ring."""
    total = 0.0
    for first, *others in (ring for f in facets for ring in f.rings):
        for a, b in pairwise(others):
            total += dot(points[first], cross(points[a], points[b])) / 6
    return total


def _turned(facet: Facet) -> Facet:
    x, y, z = facet.normal
    return Facet(normal=(-x, -y, -z), rings=tuple(ring[::-1] for ring in facet.rings))


def _drilled(cuts: Sequence[Cylinder], points: Sequence[Vec3], facets: Sequence[Facet]) -> tuple[tuple[Drill, ...], tuple[Cylinder, ...]]:
    drills: list[Drill] = []
    left: list[Cylinder] = []
    for cut in cuts:
        met = sorted(_met(cut, points, facets))
        clear = all(_apart(cut, d) for d in drills)
        if len(met) == 2 and clear and all(square for _, _, square in met):
            (near, entry, _), (far, leaving, _) = met
            start = _along(cut, near)
            drills.append(
                Drill(point=start, direction=cut.direction, radius_mm=cut.radius_mm, length_mm=far - near, entry=entry, leaving=leaving)
            )
        else:
            left.append(cut)
    return tuple(drills), tuple(left)


def _met(cut: Cylinder, points: Sequence[Vec3], facets: Sequence[Facet]) -> list[tuple[float, int, bool]]:
    """The facets that the cut comes near: how far along its axis, which, and whether it goes square through the whole of it."""
    found = []
    ends = cut.point, _along(cut, cut.length_mm)
    for number, facet in enumerate(facets):
        ring = [points[i] for i in facet.rings[0]]
        if _distance(ends, ring, facet.normal) > cut.radius_mm + EDGE_MM:
            continue
        slope = dot(cut.direction, facet.normal)
        at = dot(minus(ring[0], cut.point), facet.normal) / slope if abs(slope) > SQUARE else math.inf
        square = abs(slope) > 1 - SQUARE and 0.0 <= at <= cut.length_mm and len(facet.rings) == 1
        if square:
            foot = _along(cut, at)
            square = _inside(foot, ring, facet.normal) and _edge_distance((foot, foot), ring) > cut.radius_mm + EDGE_MM
        found.append((at, number, square))
    return found


def _distance(line: tuple[Vec3, Vec3], ring: Sequence[Vec3], normal: Vec3) -> float:
    """The least distance between a straight line and a flat facet, holes in it left aside."""
    heights = [dot(minus(end, ring[0]), normal) for end in line]
    feet = [(e[0] - h * normal[0], e[1] - h * normal[1], e[2] - h * normal[2]) for e, h in zip(line, heights, strict=True)]
    over = [abs(h) for foot, h in zip(feet, heights, strict=True) if _inside(foot, ring, normal)]
    if heights[0] * heights[1] < 0:
        part = heights[0] / (heights[0] - heights[1])
        (ax, ay, az), (bx, by, bz) = feet
        if _inside((ax + part * (bx - ax), ay + part * (by - ay), az + part * (bz - az)), ring, normal):
            return 0.0
    return min([*over, _edge_distance(line, ring)])


def _edge_distance(line: tuple[Vec3, Vec3], ring: Sequence[Vec3]) -> float:
    return min(_line_distance(line, edge) for edge in pairwise((*ring, ring[0])))


def _line_distance(one: tuple[Vec3, Vec3], two: tuple[Vec3, Vec3]) -> float:
    """The least distance between two straight lines of finite length, of which either may be a point."""
    d, e, w = minus(one[1], one[0]), minus(two[1], two[0]), minus(one[0], two[0])
    dd, ee, de, dw, ew = dot(d, d), dot(e, e), dot(d, e), dot(d, w), dot(e, w)
    det = dd * ee - de * de
    s = min(1.0, max(0.0, (de * ew - ee * dw) / det)) if det > 1e-12 * dd * ee and det > 0 else 0.0
    t = min(1.0, max(0.0, (de * s + ew) / ee)) if ee > 0 else 0.0
    s = min(1.0, max(0.0, (de * t - dw) / dd)) if dd > 0 else 0.0
    return math.hypot(*(w[k] + s * d[k] - t * e[k] for k in range(3)))


def _apart(cut: Cylinder, drill: Drill) -> bool:
    """Whether the two holes keep clear of each other, wherever along their axes."""
    between = minus(cut.point, drill.point)
    sideways = cross(cut.direction, drill.direction)
    if dot(sideways, sideways) > SQUARE:
        return True  # through facets of different planes
    off = cross(between, drill.direction)
    return math.sqrt(dot(off, off)) > cut.radius_mm + drill.radius_mm + EDGE_MM


def _inside(p: Vec3, ring: Sequence[Vec3], normal: Vec3) -> bool:
    """Even-odd, in the two axes in which the facet is seen widest."""
    drop = max(range(3), key=lambda k: abs(normal[k]))
    x, y = (k for k in range(3) if k != drop)
    hits = 0
    for a, b in pairwise((*ring, ring[0])):
        if (a[y] > p[y]) != (b[y] > p[y]) and p[x] < a[x] + (p[y] - a[y]) * (b[x] - a[x]) / (b[y] - a[y]):
            hits += 1
    return hits % 2 == 1


def _normal(ring: Sequence[Vec3]) -> Vec3:
    """Newell's: the unit normal of a ring, towards which it runs counter-clockwise."""
    x = y = z = 0.0
    for a, b in pairwise((*ring, ring[0])):
        x += (a[1] - b[1]) * (a[2] + b[2])
        y += (a[2] - b[2]) * (a[0] + b[0])
        z += (a[0] - b[0]) * (a[1] + b[1])
    size = math.hypot(x, y, z)
    return (x / size, y / size, z / size) if size else (0.0, 0.0, 1.0)


def _along(cut: Cylinder, at: float) -> Vec3:
    (x, y, z), (a, b, c) = cut.point, cut.direction
    return x + at * a, y + at * b, z + at * c
