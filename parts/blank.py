"""The rectangle that a flat pattern is cut from, and whether a sheet holds it: laid along the sheet, or turned to an edge of its own."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from itertools import pairwise

from parts.outline import Contour, Point
from parts.shop import Sheet

SAGITTA_MM = 0.05
SLACK = 1e-9  #: a limit is met at the limit, whatever the last bit of a sum says


def sizes(contour: Contour) -> Iterator[tuple[float, float]]:
    """(longer, shorter) side of the box round the blank: as drawn, then turned to every edge of its hull."""
    x0, y0, x1, y1 = contour.box
    yield max(x1 - x0, y1 - y0), min(x1 - x0, y1 - y0)
    ring = _hull(list(contour.polyline(SAGITTA_MM)))
    for (ax, ay), (bx, by) in pairwise((*ring, ring[0])):
        size = math.hypot(bx - ax, by - ay)
        c, s = (bx - ax) / size, (by - ay) / size
        along = [x * c + y * s for x, y in ring]
        across = [y * c - x * s for x, y in ring]
        sides = max(along) - min(along), max(across) - min(across)
        yield max(sides), min(sides)


def held_by(contour: Contour, sheets: Iterable[Sheet]) -> bool:
    """Whether one of the sheets holds the blank."""
    limits = [sorted((s.length_mm, s.width_mm), reverse=True) for s in sheets]
    return any(size[0] <= long + SLACK and size[1] <= short + SLACK for size in sizes(contour) for long, short in limits)


def _hull(points: list[Point]) -> list[Point]:
    """The convex hull, counter-clockwise (Andrew's monotone chain)."""
    points = sorted(set(points))

    def half(run: list[Point]) -> list[Point]:
        out: list[Point] = []
        for x, y in run:
            while len(out) > 1:
                (ax, ay), (bx, by) = out[-2:]
                if (bx - ax) * (y - ay) - (by - ay) * (x - ax) > 0:
                    break
                out.pop()
            out.append((x, y))
        return out[:-1]

    return half(points) + half(points[::-1])
