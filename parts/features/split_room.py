"""What a joint across a plate has to keep clear of, and how far off it is; and which place in its bay suits it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from parts.features.draft import EDGE_MM, Draft, DraftPanel
from parts.features.split_line import SplitLine
from parts.features.spot import spot_at
from parts.features.taken import Taken, holes_of_web, patches_of_web
from parts.frame.features import Bracket
from parts.outline import Point, Segment

#: A beam built in at both ends under an even load bends not at all at 1/2 - 1/(2 sqrt 3) of its span: w (6 L x - 6 x^2 - L^2) / 12 = 0.
#: That a bay between crossmembers is such a beam is a rough picture; that a joint stands at a quarter of it is common practice, no source.
QUIET_SHARE = 0.5 - 0.5 / math.sqrt(3)
BENDS, HOLE, CUT, FRAME, WEB = "bend", "opening", "cut", "frame", "web"


HOLE_THICKNESSES = 2.0  #: hole edge to a plate's own edge: TM 9-2320-289-34 p. 9-7
LEAST_MM = 0.5  #: of flat plate between a bend, an end or a cut and a joint; what a brake can hold is the shop's own rule


@dataclass(frozen=True, kw_only=True)
class Near:
    """Something near a joint: how far off it is, from the edge of the gap; below 0: it is in the way."""

    kind: str
    name: str
    mm: float


@dataclass(frozen=True, kw_only=True)
class Grounds:
    """A laid plate with its openings and cuts, to find places for joints on."""

    draft: Draft

    def line(self, tape_mm: float, angle_deg: float, *, proposed: bool = False) -> SplitLine | str | None:
        """The joint whose middle lies at a tape length, half way up the plate: None where it lies on another stretch of plate or on none;
        the words for what keeps it from running from edge to edge."""
        spot = spot_at(self.draft, tape_mm, None)
        if spot is None:
            return None
        setting, panel = self.draft.setting, self.draft.panels[spot.index]
        turn = math.radians(angle_deg)
        (a, b), c, s = spot.along, math.cos(turn), math.sin(turn)
        down = (a * c + b * s, b * c - a * s)  # rearward along the rail, turned down by the angle
        if not panel.contour.contains(spot.centre):
            return "its middle lies off the plate, in an end or a cut of it"
        ends: list[Point] = []
        for way, edge in (((-down[0], -down[1]), setting.upper()), (down, setting.lower())):
            end = self._first(panel, spot.centre, way)
            if end is None or abs(edge.y_at(panel.facet.s_at(end[0])) - end[1]) > EDGE_MM:
                return "it does not run from edge to edge: an end, a bend or a cut from the edge is in its way"
            ends.append(end)
        return SplitLine(
            facet=panel.facet, index=spot.index, upper=ends[0], lower=ends[1], centre=spot.centre, gap_mm=setting.shop.root_gap_mm,
            tape_mm=tape_mm, angle_deg=angle_deg, proposed=proposed,
        )  # fmt: skip

    @staticmethod
    def _first(panel: DraftPanel, start: Point, way: Point) -> Point | None:
        x0, z0, x1, z1 = panel.contour.box
        reach = math.hypot(x1 - x0, z1 - z0) + 1.0
        ray = Segment(start, (start[0] + reach * way[0], start[1] + reach * way[1]))
        met = [p for s in panel.contour.segments for p in s.crossings(ray)]
        return min(met, key=lambda p: math.dist(start, p), default=None)

    def near(self, line: SplitLine) -> Iterator[Near]:
        """Everything that it may be too near to."""
        panel, half = self.draft.panels[line.index], line.gap_mm / 2
        joint = line.segment
        us = (joint.a[0], joint.b[0])
        if panel.bend_before:
            yield Near(kind=BENDS, name="a bend of the plate", mm=min(us) - panel.u0 - half)
        if panel.bend_after:
            yield Near(kind=BENDS, name="a bend of the plate", mm=panel.u1 - max(us) - half)
        for hole in panel.holes:
            shape = hole.contour()
            inside = shape.contains(line.centre)
            yield Near(kind=HOLE, name=hole.name, mm=-1.0 if inside else min(joint.gap(s) for s in shape.segments) - half)
        for name, shape in panel.covers:
            inside = shape.contains(line.centre)
            yield Near(kind=HOLE, name=name, mm=-1.0 if inside else min(joint.gap(s) for s in shape.segments) - half)
        for segment in self._cuts[line.index]:
            yield Near(kind=CUT, name="an end of the plate or a cut from its edge", mm=joint.gap(segment) - half)
        s0, s1 = line.s_range
        for name, low, high in self._along_rail:
            yield Near(kind=FRAME, name=name, mm=max(low - s1, s0 - high))
        for taken in self._web:
            (u0, z0), (u1, z1) = (panel.facet.u_at(taken.low[0]), taken.low[1]), (panel.facet.u_at(taken.high[0]), taken.high[1])
            ring: list[Point] = [(u0, z0), (u1, z0), (u1, z1), (u0, z1)]
            sides = [Segment(p, q) for p, q in zip(ring, (*ring[1:], ring[0]), strict=True) if math.dist(p, q) > 1e-9]
            away = min((joint.gap(s) for s in sides), default=joint.distance(ring[0]))
            yield Near(kind=WEB, name=f"{taken.name} in the web behind it", mm=away - taken.radius_mm - half)

    def least_mm(self, near: Near) -> float:
        """What a joint has to keep off that, wherever it was asked for; far below 0 where it may lie."""
        least_of = {HOLE: HOLE_THICKNESSES * self.draft.setting.plate.thickness_mm, BENDS: LEAST_MM, CUT: LEAST_MM}
        return least_of.get(near.kind, -1e9)

    @cached_property
    def _cuts(self) -> Sequence[Sequence[Segment]]:
        """By panel: what of its outline is neither a long edge nor a bend."""
        setting = self.draft.setting
        lines = (setting.lower(), setting.upper())

        def is_cut(panel: DraftPanel, s: Segment) -> bool:
            at = [(panel.facet.s_at(u), z) for u, z in (s.a, s.point_at(0.5), s.b)]
            return not any(all(abs(line.y_at(along) - z) <= EDGE_MM for along, z in at) for line in lines)

        def is_bend(panel: DraftPanel, s: Segment) -> bool:
            bends = [u for u, there in ((panel.u0, panel.bend_before), (panel.u1, panel.bend_after)) if there]
            return any(abs(s.a[0] - u) < 1e-6 and abs(s.b[0] - u) < 1e-6 for u in bends)

        return [[s for s in panel.contour.segments if is_cut(panel, s) and not is_bend(panel, s)] for panel in self.draft.panels]

    @cached_property
    def _along_rail(self) -> Sequence[tuple[str, float, float]]:
        """(name, s from, s to) of crossmembers, and of brackets that stay."""
        setting = self.draft.setting
        side, frame = setting.rail.side, setting.frame
        out = [(f"crossmember {cm.name}", *cm.s_range(side)) for cm in frame.placed_crossmembers]
        for patch in frame.placed_brackets:
            if patch.side == side and isinstance(patch.drawn, Bracket) and patch.drawn.fate == "kept":
                out.append((f"bracket {patch.name}", *patch.s_range))
        return out

    @cached_property
    def _web(self) -> Sequence[Taken]:
        """On the web its root lies on the web's own holes, marks and bad steel."""
        if not self.draft.setting.seat.on_web:
            return []
        return [*holes_of_web(self.draft), *patches_of_web(self.draft)]

    def bay(self, s: float) -> tuple[float, float]:
        """From crossmember to crossmember, or to the rail's end."""
        setting = self.draft.setting
        spans = [cm.s_range(setting.rail.side) for cm in setting.frame.placed_crossmembers]
        low = max((b for _, b in spans if b <= s), default=0.0)
        return low, min((a for a, _ in spans if a >= s), default=setting.rail.length_s_mm)

    def off_quiet_mm(self, line: SplitLine) -> float:
        """How far its middle lies from the nearer quarter of its bay."""
        s = line.facet.s_at(line.centre[0])
        low, high = self.bay(s)
        quiet = QUIET_SHARE * (high - low)
        return min(abs(s - low - quiet), abs(high - quiet - s))

    def share_of_bay(self, line: SplitLine) -> float:
        """Where in its bay it lies: 0 at the front, 1 at the rear."""
        s = line.facet.s_at(line.centre[0])
        low, high = self.bay(s)
        return (s - low) / (high - low)
