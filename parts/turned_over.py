"""A sheet part as its own mirror image: the same blank, turned over and bent the other way."""

from __future__ import annotations

from dataclasses import replace

from parts.features.marks import turned_round
from parts.flat import edge_between
from parts.outline import Point, Transform
from parts.segment import Segment
from parts.sheet import Bend, Panel, SheetPart

MIRROR = Transform.mirror_x()


def turned_over(part: SheetPart, name: str) -> tuple[SheetPart, Transform]:
    """(the mirror image, called `name` wherever `part` is called by its own; from its root's (u, v) to those of the root of `part`).

    Faces stay: what is etched on the seen face is seen there too, and reads from left to right.
    """
    root, own = part.panels[0].name, {panel.name: panel for panel in part.panels}
    flipped = {panel.name: _flipped(panel, part.name, name) for panel in part.panels}
    for bend in part.bends:  # a child's edge is its segment 0; its u runs the other way, about the same u = 0
        a, b = _back(own[bend.child].contour.segments[0])
        contour = flipped[bend.child].contour
        flipped[bend.child] = replace(flipped[bend.child], contour=contour.started_at(edge_between(contour, a, b)))
    bends = tuple(_turned(bend, own, flipped) for bend in part.bends)
    x0, y0, _, _ = flipped[root].contour.box
    flipped[root] = flipped[root].shifted(-x0, -y0)
    mirror = SheetPart(name=name, thickness_mm=part.thickness_mm, panels=tuple(flipped[p.name] for p in part.panels), bends=bends)
    return mirror, Transform.shift(x0, y0).then(MIRROR)


def _back(edge: Segment) -> tuple[Point, Point]:
    """Both ends of an edge in the mirror, in the order in which the contour is walked there."""
    return MIRROR.apply(edge.b), MIRROR.apply(edge.a)


def _turned(bend: Bend, own: dict[str, Panel], flipped: dict[str, Panel]) -> Bend:
    edge = own[bend.parent].contour.segments[bend.edge]
    return replace(bend, edge=edge_between(flipped[bend.parent].contour, *_back(edge)), offset_mm=edge.chord - bend.offset_mm)


def _flipped(panel: Panel, old: str, new: str) -> Panel:
    return replace(
        panel, contour=panel.contour.moved(MIRROR), holes=tuple(h.moved(MIRROR) for h in panel.holes),
        marks=tuple(m.moved(MIRROR) for m in panel.marks),
        labels=tuple(replace(turned_round(one), text=new if one.text == old else one.text) for one in panel.labels),
    )  # fmt: skip
