"""Cut-ins from a long edge, for what stays: placed by tape, or cut clear of a bracket of the frame."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from parts.errors import Finding
from parts.features.around import LEAST_FLAT_MM, LEAST_LEFT_MM
from parts.features.brackets import meets
from parts.features.draft import EDGE_MM, Draft
from parts.features.joints import is_seated
from parts.features.rows import Rows
from parts.features.spot import STEP_MM, away_mm, bends_may_pull, laid_off, over_bend_mm, spot_at, tape_of
from parts.frame.features import Bracket
from parts.frame.names import unknown_place
from parts.frame.placed import PlacedPatch
from parts.outline import SAME_MM, Contour, Point, Segment, Transform, rectangle
from parts.trimming import cut

if TYPE_CHECKING:
    from parts.families.rail_plate_parts import Recess

CHOICE = "builder's choice: no number found"
EDGE_STEP_MM = 4.0  #: between places at which the plate's edge is looked for
Edge = Literal["lower", "upper"]


@dataclass(frozen=True, kw_only=True)
class Cut:
    """A cut-in as it is laid off: its foot on the plate's edge, and its sides and bottom from there."""

    edge: Edge
    index: int
    foot: Point  #: on the plate's edge, in the panel's (u, z)
    along: Point  #: unit vector rearward along the edge
    inwards: Point  #: unit vector square to it, into the plate
    low_mm: float  #: from the foot, along the edge, to its front side
    high_mm: float
    depth_mm: float

    @property
    def length_mm(self) -> float:
        return self.high_mm - self.low_mm

    @property
    def onto_panel(self) -> Transform:
        """From (along the edge, into the plate) to the panel's (u, z)."""
        (a, b), (c, d) = self.along, self.inwards
        return Transform(a=a, b=b, c=c, d=d, tx=self.foot[0], ty=self.foot[1])

    def tool(self, corner_mm: float, far_mm: float) -> Contour:
        """Counter-clockwise in (u, z)."""
        r = max(0.0, min(corner_mm, (min(self.length_mm / 2, self.depth_mm) - LEAST_FLAT_MM)))
        shape = rectangle(self.low_mm, -far_mm, self.high_mm, self.depth_mm)
        return (shape.rounded([0.0, 0.0, r, r]) if r > 0 else shape).moved(self.onto_panel)


def recesses(draft: Draft) -> Draft:
    for one in draft.setting.plate.recesses:
        draft = _for_bracket(draft, one, one.bracket) if one.bracket is not None else _by_place(draft, one)
    return draft


def _by_place(draft: Draft, one: Recess) -> Draft:
    assert one.at is not None and one.length_mm is not None and one.depth_mm is not None
    tape = tape_of(draft, "recess.at", one.at)
    if isinstance(tape, Draft):
        return tape
    edge: Edge = "lower" if one.edge == "lower" else "upper"
    low, high = _span(draft, tape)
    spot = spot_at(draft, tape, low if edge == "lower" else high)
    if spot is None:
        return draft
    foot = _footed(draft, edge, spot.index, draft.panels[spot.index].facet.s_at(spot.centre[0]))
    placed = replace(foot, low_mm=-one.length_mm / 2, high_mm=one.length_mm / 2, depth_mm=one.depth_mm)
    return _made(draft, one, placed, f"{one.name} at {one.at}")


def _span(draft: Draft, tape_mm: float) -> tuple[float, float]:
    return Rows(setting=draft.setting, tapes_mm=(tape_mm,)).span(tape_mm)


def _footed(draft: Draft, edge: Edge, index: int, s: float) -> Cut:
    """A cut without length or depth, its foot on the edge at s."""
    setting, facet = draft.setting, draft.panels[index].facet
    line = setting.lower() if edge == "lower" else setting.upper()
    rise = line.y_at(s + STEP_MM) - line.y_at(s - STEP_MM)
    along = facet.u_at(s + STEP_MM) - facet.u_at(s - STEP_MM), rise
    size = math.hypot(*along)
    a, b = along[0] / size, along[1] / size
    inwards = (-b, a) if edge == "lower" else (b, -a)
    foot = (facet.u_at(s), line.y_at(s))
    return Cut(edge=edge, index=index, foot=foot, along=(a, b), inwards=inwards, low_mm=0.0, high_mm=0.0, depth_mm=0.0)


def _for_bracket(draft: Draft, one: Recess, name: str) -> Draft:
    setting = draft.setting
    frame, place = setting.frame, setting.place
    if not any(b.name == name for b in frame.brackets):
        fault = unknown_place(name, [b.name for b in frame.brackets], "the frame has no bracket", field="recess.for")
        fault = replace(fault, where=setting.where)
        return draft if fault in draft.faults else replace(draft, faults=(*draft.faults, fault))
    patch = next((p for p in frame.placed_brackets if p.name == name and p.side == setting.rail.side), None)
    own = patch.drawn if patch is not None else None
    why = ""
    if patch is None or not isinstance(own, Bracket):
        why = f"{name} is not on {setting.rail.name}"
    elif own.fate == "cut off":
        why = f"{name} is to be cut off"
    elif not meets(draft, patch, own):
        why = f"{name} does not stand in the way of this plate"
    if why or patch is None or not isinstance(own, Bracket):
        message = f"{why}: recess {one.name} is not cut"
        return draft.finding(Finding(code="recess-not-needed", level="note", where=place, message=message, source="the frame file"))
    index = draft.panel_at(min(max(patch.place.s_mm, draft.s0_mm), draft.s1_mm))
    assert index is not None
    points, air = _corners(draft, index, patch, own), one.air_mm if one.air_mm is not None else 0.0
    chosen = [_round(draft, edge, index, points, air) for edge in _edges(one, patch)]
    best = min(chosen, key=lambda c: c.depth_mm)
    draft = _made(draft, one, best, f"{one.name} for {name}")
    return replace(draft, cleared=draft.cleared | {name}).note(f"recess {one.name} leaves {air:g} mm of air round bracket {name}")


def _edges(one: Recess, patch: PlacedPatch) -> tuple[Edge, ...]:
    if patch.face != "web":
        return ("upper",) if patch.face == "upper flange" else ("lower",)
    return ("lower", "upper") if one.edge == "nearest" else (one.edge,)


def _corners(draft: Draft, index: int, patch: PlacedPatch, own: Bracket) -> list[Point]:
    """Corners of the bracket's box where it goes through the plate, on both of its faces, in the panel's (u, z)."""
    setting = draft.setting
    rail, facet, seat = setting.rail, draft.panels[index].facet, setting.seat
    web: list[Point] = list(patch.corners)
    if patch.face != "web":
        inside = rail.section.flange_thickness_mm + own.out_mm
        web = [(s, rail.flange_z(patch.face, s, by)) for s in patch.s_range for by in (0.0, inside)]
    c, d, _ = facet.direction
    out: list[Point] = []
    for s, z in web:
        for offset in (seat.offset_mm, seat.offset_mm + seat.away * setting.plate.thickness_mm):
            x, y, _ = rail.point(s, z, offset)
            out.append(((x - facet.start[0]) * c + (y - facet.start[1]) * d, z))
    return out


def _round(draft: Draft, edge: Edge, index: int, points: Sequence[Point], air_mm: float) -> Cut:
    """The cut-in from one edge that keeps `air_mm` from all the points."""
    facet = draft.panels[index].facet
    us = [u for u, _ in points]
    foot = _footed(draft, edge, index, facet.s_at((min(us) + max(us)) / 2))
    back = foot.onto_panel.inverse()
    placed = [back.apply(p) for p in points]
    low, high = min(p[0] for p in placed) - air_mm, max(p[0] for p in placed) + air_mm
    return replace(foot, low_mm=low, high_mm=high, depth_mm=max(p[1] for p in placed) + air_mm)


def _made(draft: Draft, one: Recess, placed: Cut, value: str) -> Draft:
    """The cut, if it stays off bends, ends and other cuts and leaves some plate beside it; and what is said of it."""
    panel = draft.panels[placed.index]
    field = "recess.at" if one.bracket is None else "recess.for"
    stays = "" if one.bracket is None else "end the plate before the bracket, less air, or seat the plate on another face"
    draft = replace(draft, made=draft.made | {f"recess {one.name}"})
    _, z0, _, z1 = panel.contour.box
    # A corner rounder than the air would come nearer to the bracket's own corner than that.
    corner = one.corner_radius_mm if one.air_mm is None else min(one.corner_radius_mm, one.air_mm)
    tool = placed.tool(corner, 2 * (z1 - z0) + 50.0)
    inner = [placed.onto_panel.apply((a, b)) for a in (placed.low_mm, placed.high_mm) for b in (0.0, placed.depth_mm)]
    us = [p[0] for p in inner]
    over = over_bend_mm(panel, min(us), max(us))
    if over > -LEAST_FLAT_MM:
        how = f"reaches {over:.1f} mm into a bend of the plate" if over > 0 else f"comes within {-over:.1f} mm of a bend of the plate"
        remedy = f"move it {away_mm(over + LEAST_FLAT_MM, placed.along[0])} or more away from the bend, or make it shorter"
        return draft.fault(field, how, value=value, remedy=stays or remedy, bends=True)
    if bends_may_pull(draft, placed.index, min(us), max(us)):
        draft = replace(draft, bend_conflicts=draft.bend_conflicts + 1)
    if not _edge_is_whole(draft, placed):
        limit = f"runs into an end of the plate or into another cut: its {placed.edge} edge is not whole over the recess"
        return draft.fault(field, limit, value=value, remedy=stays or "move it along the rail, or make it shorter")
    left = _left_mm(draft, placed, tool)
    if left < LEAST_LEFT_MM:
        limit = f"would leave {left:.1f} mm of plate beside it; {LEAST_LEFT_MM:g} mm is the least"
        remedy = "a smaller depth, or the other edge" if one.bracket is None else "end the plate there, or the other edge"
        return draft.fault(field, limit, value=value, remedy=remedy)
    try:
        kept = cut(panel.contour, tool)
    except ValueError:
        kept = []
    if len(kept) != 1:
        limit = "would cut the plate in two or off its end"
        return draft.fault(field, limit, value=value, remedy=stays or "move it along the rail, or make it shorter")
    draft = draft.with_panel(placed.index, replace(panel, contour=kept[0]))
    return _told(draft, one, placed, left)


def _edge_is_whole(draft: Draft, placed: Cut) -> bool:
    panel, line = draft.panels[placed.index], draft.setting.lower() if placed.edge == "lower" else draft.setting.upper()
    count = max(2, math.ceil(placed.length_mm / EDGE_STEP_MM))
    for k in range(count + 1):
        along = placed.low_mm + placed.length_mm * k / count
        u = placed.foot[0] + along * placed.along[0]
        z = line.y_at(panel.facet.s_at(u))
        if panel.contour.distance((u, z)) > EDGE_MM:
            return False
    return True


def _left_mm(draft: Draft, placed: Cut, tool: Contour) -> float:
    """The least plate between the cut and the edge across from it, or whatever is cut from there."""
    panel = draft.panels[placed.index]
    back = placed.onto_panel.inverse()
    bottom = [s for s in tool.segments if back.apply(s.point_at(0.5))[1] > 0]
    own = draft.setting.lower() if placed.edge == "lower" else draft.setting.upper()

    def on_own_edge(s: Segment) -> bool:
        return all(abs(own.y_at(panel.facet.s_at(u)) - z) <= EDGE_MM for u, z in (s.a, s.point_at(0.5), s.b))

    bends = [u for u, there in ((panel.u0, panel.bend_before), (panel.u1, panel.bend_after)) if there]  # the plate goes on past them
    edges = [s for s in panel.contour.segments if not any(max(abs(s.a[0] - u), abs(s.b[0] - u)) < SAME_MM for u in bends)]
    beyond = [s for s in edges if back.apply(s.point_at(0.5))[1] > placed.depth_mm and not on_own_edge(s)]
    if not beyond:
        return 0.0
    return min(b.gap(e) for b in bottom for e in beyond)


def _told(draft: Draft, one: Recess, placed: Cut, left: float) -> Draft:
    setting = draft.setting
    s = draft.panels[placed.index].facet.s_at(placed.foot[0])
    where = laid_off(setting, s, placed.foot[1])
    size = f"{placed.length_mm:.1f} mm long and {placed.depth_mm:.1f} mm deep"
    draft = draft.finding(
        Finding(
            code="recess-plate-left", level="note", where=setting.place, source=CHOICE, value=f"{left:.1f} mm", limit=CHOICE,
            message=f"recess {one.name} in the {placed.edge} edge at {where}, {size}, leaves {left:.1f} mm of plate beside it",
            remedy="a shallower one with rounder corners, or a doubler over it",
        )
    )  # fmt: skip
    if setting.plate.attach != "weld" or not is_seated(setting, placed.edge):
        return draft
    if setting.seat.on_web:
        return draft.note(f"recess {one.name}: the seam stops at both its corners; its own edge on the web is left unwelded")
    message = f"the box stays open at recess {one.name} over {placed.length_mm:.0f} mm, and the seam stops at both its corners"
    return draft.finding(
        Finding(
            code="recess-opens-box", level="note", where=setting.place, message=message, value=f"{placed.length_mm:.0f} mm",
            remedy="close it round what stands in it with pieces fitted by hand, or paint and drain the box inside",
            source="common practice, no source",
        )
    )  # fmt: skip
