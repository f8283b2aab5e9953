"""Lays a plate on a chain of facets: one panel a facet, room for the bends between them, ends cut to shape."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import pairwise

from parts.errors import BadInput, Fault, Finding
from parts.features.choices import EndKind
from parts.features.draft import EDGE_MM, Draft, DraftPanel, Setting
from parts.features.ends import end_tool
from parts.frame.faces import Facet
from parts.outline import Contour, Path, Point, Segment
from parts.trimming import cut

SHORTEST_LEG_MM = 0.5  #: of flat between a bend and the next bend or end; what a brake can hold is the shop's own rule
LEAST_HEIGHT_MM = 10.0
CUTS_MM = 0.1  #: how far a bend may cut into a corner of the rail that is drawn sharp: no pressed corner is sharper. No source
STEP_MM = 0.5  #: of a flange at a mitre, that nobody minds. Common practice, no source
SHORTEST_EDGE_MM = 1.0
SLOPE_STEP_MM = 0.01


@dataclass(frozen=True, kw_only=True)
class Run:
    """A stretch of rail that one plate covers, and its two ends."""

    s0_mm: float
    s1_mm: float
    front: EndKind
    rear: EndKind


def lay(setting: Setting, chain: tuple[Facet, ...], run: Run) -> Draft:
    """The plain plate.

    Raises:
        BadInput: no room between the flanges, a leg too short to bend, or a bend that this shop's tools cannot lay against the rail.
    """
    first = max((i for i, f in enumerate(chain) if f.s_start_mm <= run.s0_mm + 1e-6), default=0)
    last = min((i for i, f in enumerate(chain) if f.s_end_mm >= run.s1_mm - 1e-6), default=len(chain) - 1)
    lower, upper = setting.lower(), setting.upper()
    gaps = [_bend_gap(setting, facet) for facet in chain[first:last]]
    panels: list[DraftPanel] = []
    for i in range(first, last + 1):
        facet = chain[i]
        u0 = _tangent(setting, chain[i - 1].turn_rad) if i > first else facet.u_at(run.s0_mm)
        u1 = facet.length_mm - _tangent(setting, facet.turn_rad) if i < last else facet.u_at(run.s1_mm)
        over0 = 0.0 if i > first or run.front == "upright" else _over(setting, facet.s_at(u0))
        over1 = 0.0 if i < last or run.rear == "upright" else _over(setting, facet.s_at(u1))
        _check_length(setting, u1 - u0, first < last)
        _check_height(setting, lower, upper, facet, u0, u1)
        contour = _between(facet.mapped(lower, u0 - over0, u1 + over1), facet.mapped(upper, u0 - over0, u1 + over1))
        panels.append(DraftPanel(facet=facet, u0=u0, u1=u1, bend_before=i > first, bend_after=i < last, contour=contour))
        gaps.append(facet.gap_mm)
    draft = Draft(setting=setting, s0_mm=run.s0_mm, s1_mm=run.s1_mm, panels=tuple(panels), ends=(run.front, run.rear), gap_mm=max(gaps))
    draft = _steps(draft)
    draft = _ended(draft, 0, run.s0_mm, run.front, 1)
    draft = _ended(draft, len(panels) - 1, run.s1_mm, run.rear, -1)
    return draft if draft.faults else _past_end(_both_edges_left(_over_bend(draft)))


def _over(setting: Setting, s: float) -> float:
    return 2.0 * abs(setting.height_at(s))


def _back_radius(setting: Setting, turn_rad: float) -> float:
    """Of the back face in a bend: outside the bend where it turns towards the plate's front."""
    towards_front = turn_rad * setting.face.normal_sign > 0
    return setting.inside_radius_mm + (setting.plate.thickness_mm if towards_front else 0.0)


def _tangent(setting: Setting, turn_rad: float) -> float:
    """From the corner of the back face to the bend's tangent."""
    return _back_radius(setting, turn_rad) * math.tan(abs(turn_rad) / 2)


def _bend_gap(setting: Setting, facet: Facet) -> float:
    """What the bend at the rear of a facet leaves between the middle of its back face and the seat.

    Raises:
        BadInput: the bend would cut into the rail, or leave more than the weld gap.
    """
    turn = facet.turn_rad
    (x, y), heading = facet.plan(facet.length_mm), facet.heading_rad + turn / 2
    inwards = math.copysign(_back_radius(setting, turn) * (1 / math.cos(turn / 2) - 1), turn)
    middle = (x - inwards * math.sin(heading), y + inwards * math.cos(heading))
    gap = _off_seat(setting, middle)
    bend = f"a bend of {math.degrees(abs(turn)):.1f} deg at x = {x:.0f} mm with an inside radius of {setting.inside_radius_mm:g} mm"
    if gap < -CUTS_MM:
        limit = f"{bend} would cut {-gap:.2f} mm into {setting.rail.name}, whose turn is sharper"
    elif gap > setting.shop.weld_gap_mm + CUTS_MM:
        limit = f"{bend} stands {gap:.2f} mm off {setting.rail.name}; the weld gap is {setting.shop.weld_gap_mm:g} mm"
    else:
        return max(gap, 0.0)
    remedy = "a smaller shop.inside_radius, another seat, or two plates that meet at the turn"
    raise BadInput(Fault(where=setting.where, field="start, end", limit=limit, remedy=remedy))


def _steps(draft: Draft) -> Draft:
    """Where a rail turns at a mitre on a slope, its flanges do not meet at one height, as they are drawn: the plate's edge runs across."""
    setting = draft.setting
    for before, after in pairwise(draft.panels):
        s0, s1 = before.facet.s_at(before.facet.length_mm), after.facet.s_at(0.0)
        step = max(abs(line.y_at(s1) - line.y_at(s0)) for line in (setting.lower(), setting.upper()))
        if step > STEP_MM:
            x, _ = after.facet.start
            draft = draft.finding(
                Finding(
                    code="flange-step-at-turn",
                    level="warn",
                    where=setting.place,
                    message=f"at the mitre at x = {x:.0f} mm the flanges of {setting.rail.name}, as drawn, step by {step:.1f} mm "
                    "on the slope: fit the plate's edges there by hand",
                    value=f"{step:.1f} mm",
                    remedy="give the station its turn_radius as measured",
                    source="geometry of the frame file",
                )
            )
    return draft


def _off_seat(setting: Setting, plan: Point) -> float:
    """From the seat to a plan point, + on the plate's side of it."""
    face = setting.face
    return setting.rail.plan.offset_course(face.offset_mm).project(plan)[1] * face.normal_sign


def _between(lower: Path, upper: Path) -> Contour:
    back = upper.reversed()
    edges = [*lower.segments, Segment(lower.points[-1], back.points[0]), *back.segments, Segment(back.points[-1], lower.points[0])]
    return Contour.of([s for s in edges if s.chord > 1e-9])


def _check_length(setting: Setting, length: float, bent: bool) -> None:
    if length < (SHORTEST_LEG_MM if bent else 1.0):
        limit = f"leaves {length:.1f} mm of flat plate between a bend and its end" if bent else f"the plate would be {length:.1f} mm long"
        raise BadInput(Fault(where=setting.where, field="start, end", limit=limit, remedy="move the plate's end away from the rail's turn"))


def _check_height(setting: Setting, lower: Path, upper: Path, facet: Facet, u0: float, u1: float) -> None:
    s0, s1 = facet.s_at(u0), facet.s_at(u1)
    asked = setting.plate.height_mm
    for s in (s0, (s0 + s1) / 2, s1, *(p[0] for path in (lower, upper) for p in path.points if s0 < p[0] < s1)):
        height = setting.height_at(s)
        room = setting.room_at(s)
        remedy = "leave height out to fill the seat"
        at = f"at {setting.rail.name}, s = {s:.0f} mm"
        if asked is not None and height > room + 1e-6:
            square = room * asked / height
            kept = f", {setting.shop.root_gap_mm:g} mm of root gap kept to either flange" if setting.seat.between_flanges else ""
            limit = f"is deeper than its seat: there are {square:.1f} mm {at}{kept}"
            raise BadInput(Fault(where=setting.where, field="height", value=f"{asked:g} mm", limit=limit, remedy=remedy))
        if height < LEAST_HEIGHT_MM:
            limit = f"leaves a plate {height:.1f} mm high {at}; {LEAST_HEIGHT_MM:g} mm is the least"
            raise BadInput(
                Fault(where=setting.where, field="seat", limit=limit, remedy="another seat, or a smaller fillet leg or root gap")
            )


def _ended(draft: Draft, index: int, s: float, kind: EndKind, inwards: int) -> Draft:
    """Cut the end at s; `inwards` is +1 for the front end, -1 for the rear one."""
    if kind == "upright":
        return draft
    setting, panel = draft.setting, draft.panels[index]
    plate = setting.plate
    u = panel.facet.u_at(s)
    stretch = (panel.facet.u_at(s + SLOPE_STEP_MM) - panel.facet.u_at(s - SLOPE_STEP_MM)) / (2 * SLOPE_STEP_MM)
    (_, z), along, across = hung_edge(setting, s, stretch)
    corner = (u, z)
    along = (inwards * along[0], inwards * along[1])
    other = setting.upper() if plate.hang == "lower" else setting.lower()
    height = _crossing(corner, across, other, panel.facet.s_at)
    tool = end_tool(
        kind,
        corner=corner,
        along=along,
        across=across,
        height_mm=height,
        angle_deg=plate.end_angle_deg,
        mouth_radius_mm=plate.mouth_radius_mm,
    )
    try:
        kept = cut(panel.contour, tool)
    except ValueError:
        kept = []
    bends = [u for u, there in ((panel.u0, panel.bend_before), (panel.u1, panel.bend_after)) if there]
    corners = [p for p in panel.contour.points if any(abs(p[0] - u) < 1e-6 for u in bends)]
    whole = len(kept) == 1 and all(any(math.dist(c, p) < 1e-6 for p in kept[0].points) for c in corners)
    if not whole:
        shape = "a square end" if kind == "square" else f"a{'n' if kind == 'angled' else ''} {kind} end of {plate.end_angle_deg:g} deg"
        return draft.fault(
            "front_end" if inwards > 0 else "rear_end",
            f"{shape} is longer than the flat plate there ({panel.u1 - panel.u0:.0f} mm)",
            value=kind,
            remedy="a square end, a steeper angle, or an end further from the turn",
            bends=bool(bends),
        )
    return draft.with_panel(index, replace(panel, contour=kept[0]))


def _over_bend(draft: Draft) -> Draft:
    """An end that leans, or lies on a turn, may reach over the corner of its facet, where the plate would have had to bend."""
    setting = draft.setting
    for field, panel, over in (("start", draft.panels[0], 0.0), ("end", draft.panels[-1], draft.panels[-1].facet.length_mm)):
        us = [u for u, _ in panel.contour.points]
        furthest = min(us) if field == "start" else max(us)
        if furthest >= 0.0 if field == "start" else furthest <= over:
            continue
        gap = _off_seat(setting, panel.facet.plan(furthest))
        if not -CUTS_MM <= gap <= setting.shop.weld_gap_mm + CUTS_MM:
            stands = f"stands {gap:.2f} mm off" if gap > 0 else f"cuts {-gap:.2f} mm into"
            reach = f"{abs(furthest - over):.1f} mm over the rail's turn"
            limit = f"the plate reaches {reach} there without a bend: it {stands} {setting.rail.name}"
            position = setting.plate.start if field == "start" else setting.plate.end
            draft = draft.fault(field, limit, value=str(position), remedy="move that end off the turn", bends=True)
        draft = replace(draft, gap_mm=max(draft.gap_mm, gap))
    return draft


def _both_edges_left(draft: Draft) -> Draft:
    """Ends that meet leave a triangle, which lies on one flange only."""
    setting = draft.setting
    for name, line in (("lower", setting.lower()), ("upper", setting.upper())):

        def lies_on(panel: DraftPanel, s: Segment, line: Path = line) -> bool:
            return s.length > SHORTEST_EDGE_MM and all(
                abs(line.y_at(panel.facet.s_at(u)) - z) < EDGE_MM for u, z in (s.a, s.point_at(0.5), s.b)
            )

        if not any(lies_on(panel, s) for panel in draft.panels for s in panel.contour.segments):
            angle = f"{setting.plate.end_angle_deg:g} deg"
            limit = f"the plate's ends leave nothing of its {name} edge: it would lie on one flange only"
            draft = draft.fault("end_angle", limit, value=angle, remedy="square ends, a steeper angle, or a longer plate")
    return draft


def _past_end(draft: Draft) -> Draft:
    """A square end on a sloped rail leans: its other corner may stand over the end of the rail."""
    rail = draft.setting.rail
    reach = [panel.facet.s_at(u) for panel in draft.panels for u, _ in panel.contour.points]
    past = max(-min(reach), max(reach) - rail.length_s_mm)
    if past < 0.05:
        return draft
    return draft.finding(
        Finding(
            code="past-rail-end", level="warn", where=draft.setting.place,
            message=f"a corner of the plate stands {past:.1f} mm past the end of {rail.name}, which is drawn upright",
            remedy="end the plate that much before it, or hang it from the other flange", source="geometry of the frame file",
        )
    )  # fmt: skip


def hung_edge(setting: Setting, s: float, stretch: float = 1.0) -> tuple[Point, Point, Point]:
    """(point of the edge that the plate hangs by, unit vector rearward along it, unit vector across the plate), in (s, z).

    `stretch`: how much longer than on the web a step along a facet is, for both vectors as they lie on that facet.
    """
    lower = setting.plate.hang == "lower"
    hung, up = (setting.lower(), 1.0) if lower else (setting.upper(), -1.0)
    rise = (hung.y_at(s + SLOPE_STEP_MM) - hung.y_at(s - SLOPE_STEP_MM)) / (2 * SLOPE_STEP_MM * stretch)
    size = math.hypot(1.0, rise)
    return (s, hung.y_at(s)), (1.0 / size, rise / size), (-rise * up / size, up / size)


def square_height_mm(setting: Setting, s: float) -> float:
    """Of the plate, square from its hung edge at s."""
    corner, _, across = hung_edge(setting, s)
    other = setting.upper() if setting.plate.hang == "lower" else setting.lower()
    return _crossing(corner, across, other, lambda along: along)


def _crossing(corner: Point, across: Point, other: Path, s_at: Callable[[float], float]) -> float:
    """From the corner across the plate to the other edge, which is a line over s; `s_at` gives the s of a first coordinate."""
    height = 0.0
    for _ in range(50):
        u, z = corner[0] + height * across[0], corner[1] + height * across[1]
        miss = (other.y_at(s_at(u)) - z) / across[1]
        height += miss
        if abs(miss) < 1e-9:
            break
    return height
