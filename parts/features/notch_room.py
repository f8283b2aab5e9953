"""What a notch near a plate's end leaves: a finger of plate past it, and whether a filler piece has plate on both sides of it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from parts.features.draft import EDGE_MM, DraftPanel, Setting
from parts.outline import Contour, Path, Point, Segment, rectangle
from parts.trimming import common

ON_MM = 1e-6
LOOK_MM = 500.0  #: how far past a notch's side its finger is looked at: more than any end leans in a plate of a rail's depth

Room = tuple[float, float, float, float]  #: (u0, z0, u1, z1) of the crossmember at the plate, without its gap
Edge = Literal["lower", "upper"]


def fingers(setting: Setting, panel: DraftPanel, room: Room, edge: Edge, gap: float) -> Iterator[tuple[Literal["start", "end"], float]]:
    """(end of the plate, narrowest in mm) of the plate past each side of a notch, where no bend lies there and it reaches the open edge.

    Args:
        panel: notched.
        edge: that the notch is open to.
    """
    u0, z0, u1, z1 = room
    line = _line(setting, edge)
    inner = z1 + gap if edge == "lower" else z0 - gap
    sides: tuple[tuple[Literal["start", "end"], float, float, bool], ...]
    sides = (("start", u0 - gap, -LOOK_MM, panel.bend_before), ("end", u1 + gap, LOOK_MM, panel.bend_after))
    past = line.y_at(panel.facet.s_at((u0 + u1) / 2)) + (-LOOK_MM if edge == "lower" else LOOK_MM)
    for name, side, far, bent in sides:
        if bent:
            continue
        look = rectangle(min(side, side + far), min(inner, past), max(side, side + far), max(inner, past))
        try:
            found = common(panel.contour, look)
        except ValueError:  # nothing but a corner of it is there
            continue
        for finger in found:
            if any(_lies_on(line, panel, s) for s in finger.segments):
                yield name, min(_off_side(panel, finger, side, line, far), default=LOOK_MM)


def _off_side(panel: DraftPanel, finger: Contour, side: float, line: Path, way: float) -> Iterator[float]:
    """How far a finger's end lies off the notch's side. Steel runs counter-clockwise: what looks rearward runs up, forward down. The
    plate's other end may cut into the same steel from the notch's side; that one looks the other way."""
    for s in finger.segments:
        if (s.b[1] - s.a[1]) * way > ON_MM and not _lies_on(line, panel, s):
            yield from (abs(s.point_at(k / 4)[0] - side) for k in range(5))


def _lies_on(line: Path, panel: DraftPanel, segment: Segment) -> bool:
    return all(abs(line.y_at(panel.facet.s_at(u)) - z) < EDGE_MM for u, z in (segment.a, segment.point_at(0.5), segment.b))


def is_closed_by(setting: Setting, panel: DraftPanel, room: Room, filler: Contour, edge: Edge, gap: float) -> bool:
    """Whether a filler is whole, seam and inner edge from corner to corner, and the notched panel stands across the gap on both sides."""
    u0, z0, u1, z1 = room
    line = _line(setting, edge)
    inner = z0 - gap if edge == "lower" else z1 + gap

    def outer(u: float) -> Point:
        return u, line.y_at(panel.facet.s_at(u))

    sides = ((u0, filler), (u1, filler), (u0 - gap, panel.contour), (u1 + gap, panel.contour))
    return all(_has(contour, outer(u), (u, inner)) for u, contour in sides) and _has(filler, (u0, inner), (u1, inner))


def _line(setting: Setting, edge: Edge) -> Path:
    return setting.lower() if edge == "lower" else setting.upper()


def _has(contour: Contour, a: Point, b: Point) -> bool:
    """Whether one straight stretch of the outline runs from a to b, or past them."""
    return any(s.is_line and s.distance(a) < EDGE_MM and s.distance(b) < EDGE_MM for s in contour.segments)
