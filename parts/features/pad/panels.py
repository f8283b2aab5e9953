"""From a stand to the sheet part: panels turned to their own coordinates, joined by bends, etched, and placed."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

from parts.features.marks import label
from parts.features.pad.ground import Ground
from parts.features.pad.planes import dot, local, plus
from parts.features.pad.stand import Stand
from parts.flat import edge_between
from parts.holes import Hole
from parts.outline import Point
from parts.segment import Segment
from parts.sheet import Bend, Mark, Panel, Placement, SheetPart

TICK_MM = 8.0
OFF_EDGE_MM = 0.5


def part_of(ground: Ground, stand: Stand, base_holes: tuple[Hole, ...], part_id: str) -> tuple[SheetPart, Placement]:
    """The part, its base's lower left corner at (0, 0) as seen when fitted, and where that lies on the vehicle.

    Args:
        base_holes: in ground coordinates.
    """
    texts, panels = (part_id, ground.rail.side[0].upper()), []
    lettered = False
    for own in stand.panels:
        first, last = own is stand.base, own is stand.top
        panel = Panel(name=own.name, contour=own.shaped, holes=base_holes if first else stand.top_holes if last else ())
        if last:
            panel = replace(panel, marks=_tick(ground, stand))
        if not lettered:
            front = 1.0 if dot(own.place.u, ground.rail.direction(ground.s(0.0))) < 0 else -1.0
            panel, before = label(panel, texts, front), panel
            lettered = panel is not before
        panels.append(panel)
    bends = tuple(
        Bend(
            parent=parent.name, child=child.name, edge=_edge(panels[i], parent.corners, parent.hangs or 0),
            angle_deg=math.degrees(fold.turn_rad), inside_radius_mm=ground.radius_mm,
        )
        for i, ((parent, child), fold) in enumerate(zip(pairwise(stand.panels), stand.folds, strict=True))
    )  # fmt: skip
    x0, y0, _, _ = panels[0].contour.box
    root = panels[0].shifted(-x0, -y0)
    part = SheetPart(name=part_id, thickness_mm=ground.thickness_mm, panels=(root, *panels[1:]), bends=bends)
    return part, Placement(origin=ground.point(x0, y0), u=ground.u, v=ground.v)


def _edge(panel: Panel, corners: tuple[Point, ...], number: int) -> int:
    """The shaped contour's segment between two sharp corners that stayed as they are."""
    return edge_between(panel.contour, corners[number], corners[(number + 1) % len(corners)])


def _tick(ground: Ground, stand: Stand) -> tuple[Mark, ...]:
    """Where the point lies, at the top's free edge, straight out from the rail."""
    top, pad, point = stand.top, ground.pad, ground.target.point
    ends = [local(top.place, plus(point, (pad.top_reach_mm - k, stand.heading))) for k in (OFF_EDGE_MM, TICK_MM)]
    stroke = Segment(ends[0], ends[1])
    shapes = [h.contour() for h in stand.top_holes]
    clear = all(not s.contains(ends[1]) and min(stroke.gap(e) for e in s.segments) > OFF_EDGE_MM for s in shapes)
    inside = all(top.contour.contains(p) for p in ends)
    return (Mark(name="point on the top", strokes=((ends[0], ends[1]),)),) if clear and inside else ()

