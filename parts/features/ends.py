"""The ends of a plate: square, angled or fish-mouthed, laid off from the edge that the plate hangs by."""

from __future__ import annotations

import math

from parts.features.choices import EndKind
from parts.outline import Contour, Point, Transform

MOUTH_SHARE = 0.8
OVERSHOOT = 3.0  #: how far a cutting tool reaches past the plate, in plate heights


def end_tool(
    kind: EndKind, *, corner: Point, along: Point, across: Point, height_mm: float, angle_deg: float, mouth_radius_mm: float
) -> Contour:
    """What is cut away past an end.

    Args:
        corner: the end's corner on the hung edge: the furthest point of the plate.
        along: unit vector from it into the plate, along the hung edge.
        across: unit vector from it across the plate, square to `along`.
        height_mm: of the plate there.
        angle_deg: between the cut and the rail's length, for angled ends and each side of a fish-mouth.
        mouth_radius_mm: in the bottom of a fish-mouth, at the most: its arc takes up no more than `MOUTH_SHARE` of each side.
    """
    far, over = OVERSHOOT * height_mm, height_mm
    lean = 1 / math.tan(math.radians(angle_deg))
    low, high = -over, height_mm + over
    points: tuple[Point, ...]
    radii: list[float] | None = None
    if kind == "angled":
        points = ((-far, low), (low * lean, low), (high * lean, high), (-far, high))
    elif kind == "fish-mouth":
        points = ((-far, low), (low * lean, low), (height_mm / 2 * lean, height_mm / 2), (low * lean, high), (-far, high))
        radii = [0.0, 0.0, min(mouth_radius_mm, MOUTH_SHARE * height_mm / 2 / math.cos(math.radians(angle_deg))), 0.0, 0.0]
    else:
        points = ((-far, low), (0.0, low), (0.0, high), (-far, high))
    depth = min(p[0] for p in points) - 1.0
    points = tuple((depth, p[1]) if i in (0, len(points) - 1) else p for i, p in enumerate(points))
    tool = Contour(points, (0.0,) * len(points))
    if radii is not None:
        tool = tool.rounded(radii)
    if tool.area < 0:
        tool = tool.reversed()
    (ax, ay), (nx, ny) = along, across
    return tool.moved(Transform(a=ax, b=ay, c=nx, d=ny, tx=corner[0], ty=corner[1]))


def reach_mm(kind: EndKind, height_mm: float, angle_deg: float) -> float:
    """How much shorter than its longest line the plate is at its shortest, for one end."""
    lean = 1 / math.tan(math.radians(angle_deg))
    return {"angled": height_mm * lean, "fish-mouth": height_mm / 2 * lean}.get(kind, 0.0)
