"""Whether two flat pieces of steel share room: each a prism over a polygon. A check, so polygons will do (arcs to 0.05 mm)."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from parts.segment import Point

Vec3 = tuple[float, float, float]
Array = NDArray[np.float64]

#: Steel must go into steel by more than this to count (mm): parts that only touch are meant to.
TOUCH_MM = 1e-3


@dataclass(frozen=True, kw_only=True)
class Prism:
    """`ring` (counter-clockwise, mm) in the plane of unit vectors u, v from `origin`, `thickness_mm` thick along u x v."""

    origin: Vec3
    u: Vec3
    v: Vec3
    ring: tuple[Point, ...]
    thickness_mm: float
    openings: tuple[tuple[Point, ...], ...] = ()

    @cached_property
    def axes(self) -> Array:
        u, v = np.array(self.u), np.array(self.v)
        return np.stack([u, v, np.cross(u, v)])

    def inside(self, points: Array) -> Array:
        """(n, 3) world -> the prism's own u, v, z."""
        local: Array = (points - np.array(self.origin)) @ self.axes.T
        return local

    @cached_property
    def edges(self) -> Array:
        """(n, 2, 3): ends of every edge, shrunk into the steel by TOUCH_MM in thickness."""
        pts: list[Array] = []
        for ring in (self.ring, *(o[::-1] for o in self.openings)):
            flat = _inset(np.array(ring), 5 * TOUCH_MM)  # edges in line with another's would else only touch it
            for z in (TOUCH_MM, self.thickness_mm / 2, self.thickness_mm - TOUCH_MM):
                level = np.column_stack([flat, np.full(len(flat), z)])
                pts.append(np.stack([level, np.roll(level, -1, axis=0)], axis=1))
            low, high = (np.column_stack([flat, np.full(len(flat), z)]) for z in (TOUCH_MM, self.thickness_mm - TOUCH_MM))
            pts.append(np.stack([low, high], axis=1))
        local = np.concatenate(pts)
        world: Array = local @ self.axes + np.array(self.origin)
        return world

    @cached_property
    def box(self) -> tuple[Array, Array]:
        flat = self.edges.reshape(-1, 3)
        return flat.min(axis=0), flat.max(axis=0)


def clash(one: Prism, two: Prism) -> Vec3 | None:
    """A point of steel common to both, or None. Only touching does not count."""
    (low1, high1), (low2, high2) = one.box, two.box
    if bool(np.any(low1 > high2 - TOUCH_MM)) or bool(np.any(low2 > high1 - TOUCH_MM)):
        return None
    for mine, other in ((one, two), (two, one)):
        found = _edge_in(other.edges, mine)
        if found is not None:
            return found
    return None


def _edge_in(edges: Array, prism: Prism) -> Vec3 | None:
    """A point of one of `edges` that lies inside the steel of `prism`: the middle of a stretch between two crossings."""
    a, b = prism.inside(edges[:, 0]), prism.inside(edges[:, 1])
    d = b - a
    t = prism.thickness_mm
    with np.errstate(divide="ignore", invalid="ignore"):
        first, second = (TOUCH_MM - a[:, 2]) / d[:, 2], (t - TOUCH_MM - a[:, 2]) / d[:, 2]
    level = np.abs(d[:, 2]) < 1e-12
    within = (a[:, 2] > TOUCH_MM) & (a[:, 2] < t - TOUCH_MM)
    low = np.where(level, np.where(within, 0.0, 2.0), np.minimum(first, second)).clip(0.0, None)
    high = np.where(level, np.where(within, 1.0, -1.0), np.maximum(first, second)).clip(None, 1.0)
    sides = _sides(prism)
    for i in np.flatnonzero(high - low > 1e-12):
        p, q = a[i] + low[i] * d[i], a[i] + high[i] * d[i]
        middle = _middle_inside(p[:2], q[:2], sides)
        if middle is not None:
            point = (p + middle * (q - p)) @ prism.axes + np.array(prism.origin)
            return float(point[0]), float(point[1]), float(point[2])
    return None


def _inset(ring: Array, by: float) -> Array:
    """The ring moved to its left by `by`: into the steel where the steel lies to the left of it."""
    ahead, behind = np.roll(ring, -1, axis=0) - ring, ring - np.roll(ring, 1, axis=0)
    normals = []
    for d in (ahead, behind):
        size = np.maximum(np.hypot(d[:, 0], d[:, 1]), 1e-12)
        normals.append(np.column_stack([-d[:, 1] / size, d[:, 0] / size]))
    both = normals[0] + normals[1]
    square = np.maximum((both**2).sum(axis=1), 0.5)
    inset: Array = ring + by * 2 * both / square[:, None]
    return inset


def _sides(prism: Prism) -> Array:
    rings = [np.array(r) for r in (prism.ring, *prism.openings)]
    return np.concatenate([np.stack([r, np.roll(r, -1, axis=0)], axis=1) for r in rings])


def _middle_inside(p: Array, q: Array, sides: Array) -> float | None:
    """Where along p to q the longest stretch inside the polygon has its middle, if it is longer than TOUCH_MM."""
    d = q - p
    e = sides[:, 1] - sides[:, 0]
    det = d[0] * e[:, 1] - d[1] * e[:, 0]
    w = sides[:, 0] - p
    with np.errstate(divide="ignore", invalid="ignore"):
        along = (w[:, 0] * e[:, 1] - w[:, 1] * e[:, 0]) / det
        part = (w[:, 0] * d[1] - w[:, 1] * d[0]) / det
    hit = (np.abs(det) > 1e-12) & (part >= 0) & (part <= 1) & (along > 0) & (along < 1)
    stops = np.concatenate([[0.0], np.sort(along[hit]), [1.0]])
    length = float(np.hypot(d[0], d[1]))
    best: float | None = None
    widest = TOUCH_MM
    for low, high in pairwise(stops):
        middle = (low + high) / 2
        size = (high - low) * length
        point = p + middle * d
        if length < TOUCH_MM:
            return 0.5 if _deep(point, sides) else None
        if size > widest and _deep(point, sides):
            best, widest = float(middle), size
    return best


def _deep(p: Array, sides: Array) -> bool:
    """Inside the polygon (even-odd, so openings count as outside) and off its edge by more than TOUCH_MM."""
    a, b = sides[:, 0], sides[:, 1]
    over = (a[:, 1] > p[1]) != (b[:, 1] > p[1])
    with np.errstate(divide="ignore", invalid="ignore"):
        x = a[:, 0] + (p[1] - a[:, 1]) * (b[:, 0] - a[:, 0]) / (b[:, 1] - a[:, 1])
    if int(np.count_nonzero(over & (p[0] < x))) % 2 == 0:
        return False
    e = b - a
    size = np.maximum((e**2).sum(axis=1), 1e-18)
    part = (((p - a) * e).sum(axis=1) / size).clip(0.0, 1.0)
    foot = a + part[:, None] * e
    return bool(np.hypot(foot[:, 0] - p[0], foot[:, 1] - p[1]).min() > TOUCH_MM)
