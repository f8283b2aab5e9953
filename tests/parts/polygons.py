"""Polygons that stand in for exact outlines in tests, each with the bound of what that costs.

Source of the bounds: a chord that misses its arc by at most e (the sagitta) leaves between the two an area of less than e times the
chord; so an outline of perimeter P loses or gains less than e P of area, and no point of it moves by more than e.
"""

from __future__ import annotations

import math

from hypothesis import assume
from hypothesis import strategies as st
from shapely.geometry import Polygon

from parts.outline import Contour, Transform

SAGITTA_MM = 1e-2


def polygon(contour: Contour, sagitta_mm: float = SAGITTA_MM) -> Polygon:
    return Polygon(contour.polyline(sagitta_mm))


def area_bound(*contours: Contour, sagitta_mm: float = SAGITTA_MM) -> float:
    """mm², for what may differ between exact outlines and their polygons; the last term is rounding."""
    return sagitta_mm * sum(c.perimeter for c in contours) + 1e-6


BULGES = st.sampled_from((0.0, 0.0, 1.0, 0.3, math.tan(math.pi / 8), -math.tan(math.pi / 8), -0.2, 1.6))


@st.composite
def motions(draw: st.DrawFn, mirrored: bool = False) -> Transform:
    turn = Transform.rotation(draw(st.floats(-4.0, 4.0)))
    shift = Transform.shift(draw(st.floats(-3000.0, 3000.0)), draw(st.floats(-3000.0, 3000.0)))
    moved = turn.then(shift)
    return Transform.mirror_x().then(moved) if mirrored else moved


@st.composite
def stars(draw: st.DrawFn, curved: bool = True) -> Contour:
    """Simple outlines of lines and arcs round (0, 0), counter-clockwise, 40 to 300 mm across; arcs up to well over a half circle."""
    count = draw(st.integers(3, 7))
    points = []
    for i in range(count):
        angle = math.tau * (i + draw(st.floats(-0.3, 0.3))) / count
        reach = draw(st.floats(20.0, 100.0))
        points.append((reach * math.cos(angle), reach * math.sin(angle)))
    bulges = tuple(draw(BULGES) if curved else 0.0 for _ in points)
    contour = Contour(tuple(points), bulges)
    shape = polygon(contour)
    assume(shape.is_valid and shape.area > 100.0 and contour.area > 0 and contour.self_crossing() is None)
    return contour


@st.composite
def lattice_outlines(draw: st.DrawFn) -> Contour:
    """Simple outlines whose corners lie on a grid of 10 mm: they share corners, edges and circles with each other again and again."""
    corners = draw(st.lists(st.tuples(st.integers(0, 4), st.integers(0, 4)), min_size=3, max_size=6, unique=True))
    cx = sum(x for x, _ in corners) / len(corners) + 0.0123
    cy = sum(y for _, y in corners) / len(corners) + 0.0077
    corners.sort(key=lambda p: math.atan2(p[1] - cy, p[0] - cx))
    points = tuple((10.0 * x, 10.0 * y) for x, y in corners)
    assume(Polygon(points).is_valid and Polygon(points).area > 40.0)
    straight = Contour(points, (0.0,) * len(points)).tidy()
    assume(straight.area > 0)
    bulge = st.sampled_from((0.0, 0.0, 0.0, 1.0, math.tan(math.pi / 8), -math.tan(math.pi / 8)))
    curved = Contour(straight.points, tuple(draw(bulge) for _ in straight.points))
    if curved.area > 40.0 and curved.self_crossing() is None and polygon(curved).is_valid:
        return curved
    return straight
