"""A piece as it is cut, with where every place of its edge and every hole lies in the vehicle: what two pieces are compared by."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from parts.bending import BendRule
from parts.flat import Flat, flat_places, unfold
from parts.holes import Hole
from parts.landing import panel_places
from parts.outline import Contour, Point, Segment, Transform
from parts.piece import Piece
from parts.sheet import Panel, Placement, Vec3
from parts.vectors import along

Edge = Literal["upper", "lower", "front", "rear"]
LONG_EDGES: tuple[Edge, Edge] = ("upper", "lower")
OFF_CORNER_MM = 0.5  #: how far from a corner an edge is asked: on it, it has no direction
STEP_MM = 50.0
ARC_STEP_MM = 5.0
UPRIGHT = math.sin(math.radians(45))  #: an edge that looks steeper up or down than this is an upper or lower one


@dataclass(frozen=True, kw_only=True)
class Place:
    """A place on a piece's edge: in the flat, with its unit normal out of the steel, and in the vehicle."""

    flat: Point
    normal: Point
    point: Vec3  #: on the panel's z = 0 face
    edge: Edge


@dataclass(frozen=True, kw_only=True)
class LaidPanel:
    panel: Panel
    flat: Transform  #: from the panel's (u, v) to the flat pattern's
    place: Placement  #: from the panel's (u, v) to the vehicle
    edges: tuple[Segment, ...]  #: what is cut, in (u, v): bend edges left out


@dataclass(frozen=True, kw_only=True, eq=False)
class LaidFlat:
    """`sense`: +1 where x in the flat runs rearward on the vehicle; where it is -1, `to_rear` turns the piece over so that it does."""

    piece: Piece
    pattern: Flat
    panels: tuple[LaidPanel, ...]
    sense: int

    @staticmethod
    def of(piece: Piece, rule: BendRule) -> LaidFlat:
        """Of the piece's first placement.

        Raises:
            BadInput: the bend rule does not reach one of its bends.
        """
        flats, _, _ = flat_places(piece.part, rule)
        places = {panel.name: place for panel, place in panel_places(piece)[: len(piece.part.panels)]}
        bent = {b.parent: [c.edge for c in piece.part.bends if c.parent == b.parent] for b in piece.part.bends}
        children = {b.child for b in piece.part.bends}
        laid = []
        for panel in piece.part.panels:
            skip = {*bent.get(panel.name, ()), *((0,) if panel.name in children else ())}
            edges = tuple(s for i, s in enumerate(panel.contour.segments) if i not in skip)
            laid.append(LaidPanel(panel=panel, flat=flats[panel.name], place=places[panel.name], edges=edges))
        sense = 1 if piece.placements[0].u[0] >= 0 else -1
        return LaidFlat(piece=piece, pattern=unfold(piece.part, rule), panels=tuple(laid), sense=sense)

    @cached_property
    def to_rear(self) -> Transform:
        """From the flat pattern to coordinates in which x runs rearward and y stays."""
        return Transform() if self.sense > 0 else Transform.mirror_x()

    @cached_property
    def contour(self) -> Contour:
        return self.pattern.contour.moved(self.to_rear)

    @cached_property
    def holes(self) -> tuple[Hole, ...]:
        return tuple(h.moved(self.to_rear) for h in self.pattern.holes)

    @cached_property
    def bend_lines(self) -> tuple[tuple[tuple[Point, Point], float], ...]:
        """(line, angle in degrees): with the same sign on both sides of the vehicle where they are each other's mirror image."""
        turn, sign = self.to_rear, self.sense * (-1 if self.piece.side == "left" else 1)
        return tuple(((turn.apply(b.line[0]), turn.apply(b.line[1])), sign * b.angle_deg) for b in self.pattern.bends)

    @property
    def box(self) -> tuple[float, float, float, float]:
        return self.contour.box

    def places(self, also_x: Iterable[float] = ()) -> Iterator[Place]:
        """Places along every cut edge: near both ends of each line and arc, in steps between, and on the long edges at `also_x`."""
        extra = tuple(also_x)
        for laid in self.panels:
            turn = laid.flat.then(self.to_rear)
            for edge in laid.edges:
                for part in _parts(edge, edge.moved(turn), extra):
                    yield self._place(laid, turn, edge, part)

    def _place(self, laid: LaidPanel, turn: Transform, edge: Segment, part: float) -> Place:
        u, v = edge.point_at(part)
        tx, ty = edge.tangent_at(part)  # panel contours run counter-clockwise: steel to the left
        out = along((0.0, 0.0, 0.0), (laid.place.u, ty), (laid.place.v, -tx))
        word: Edge = "upper" if out[2] > UPRIGHT else "lower" if out[2] < -UPRIGHT else "rear" if out[0] > 0 else "front"
        nx, ny = turn.direction((ty, -tx))
        return Place(flat=turn.apply((u, v)), normal=(nx, ny), point=laid.place.point(u, v), edge=word)


def _parts(edge: Segment, seen: Segment, also_x: tuple[float, ...]) -> list[float]:
    """Shares of the edge's length; `seen` is the same edge in the flat, x rearward."""
    length = edge.length
    if length <= 2 * OFF_CORNER_MM:
        return [0.5]
    first = OFF_CORNER_MM / length
    count = max(1, math.ceil(length / (STEP_MM if edge.is_line else ARC_STEP_MM)))
    parts = {first, 1.0 - first, *(k / count for k in range(1, count))}
    run = seen.b[0] - seen.a[0]
    if edge.is_line and abs(run) > 1.0:
        parts.update(p for x in also_x if first < (p := (x - seen.a[0]) / run) < 1.0 - first)
    return sorted(parts)
