"""Lays a plate on a chain of facets: one panel a facet, room for the bends between them, ends cut to shape."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from parts.errors import BadInput, Fault
from parts.features.draft import Draft, DraftPanel, Setting
from parts.features.ends import EndKind, end_tool
from parts.frame.faces import Facet
from parts.outline import Contour, Path, Point, Segment
from parts.trimming import cut

SHORTEST_LEG_MM = 0.5  #: of flat between a bend and the next bend or end; what a brake can hold is the shop's own rule
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
        BadInput: no room between the flanges, or a leg too short to bend.
    """
    first = max((i for i, f in enumerate(chain) if f.s_start_mm <= run.s0_mm + 1e-6), default=0)
    last = min((i for i, f in enumerate(chain) if f.s_end_mm >= run.s1_mm - 1e-6), default=len(chain) - 1)
    lower, upper = setting.lower(), setting.upper()
    t, r = setting.plate.thickness_mm, setting.inside_radius_mm
    panels: list[DraftPanel] = []
    for i in range(first, last + 1):
        facet = chain[i]
        u0 = _tangent(setting, chain[i - 1].turn_rad, t, r) if i > first else facet.u_at(run.s0_mm)
        u1 = facet.length_mm - _tangent(setting, facet.turn_rad, t, r) if i < last else facet.u_at(run.s1_mm)
        over0 = 0.0 if i > first or run.front == "upright" else _over(setting, facet.s_at(u0))
        over1 = 0.0 if i < last or run.rear == "upright" else _over(setting, facet.s_at(u1))
        _check_length(setting, u1 - u0, first < last)
        _check_height(setting, lower, upper, facet, u0, u1)
        contour = _between(facet.mapped(lower, u0 - over0, u1 + over1), facet.mapped(upper, u0 - over0, u1 + over1))
        panels.append(DraftPanel(facet=facet, u0=u0, u1=u1, bend_before=i > first, bend_after=i < last, contour=contour))
    draft = Draft(setting=setting, s0_mm=run.s0_mm, s1_mm=run.s1_mm, panels=tuple(panels))
    return _ended(_ended(draft, 0, run.s0_mm, run.front, 1), len(panels) - 1, run.s1_mm, run.rear, -1)


def height_at(setting: Setting, s: float) -> float:
    """Of the plate, upright, at s."""
    return setting.upper().y_at(s) - setting.lower().y_at(s)


def _over(setting: Setting, s: float) -> float:
    return 2.0 * abs(height_at(setting, s))


def _tangent(setting: Setting, turn_rad: float, t: float, r: float) -> float:
    """From the corner of the back face to the bend's tangent: the back face is outside the bend where it turns towards the front."""
    towards_front = turn_rad * setting.face.normal_sign > 0
    return (r + t if towards_front else r) * math.tan(abs(turn_rad) / 2)


def _between(lower: Path, upper: Path) -> Contour:
    back = upper.reversed()
    edges = [*lower.segments, Segment(lower.points[-1], back.points[0]), *back.segments, Segment(back.points[-1], lower.points[0])]
    return Contour.of([s for s in edges if s.chord > 1e-9])


def _check_length(setting: Setting, length: float, bent: bool) -> None:
    if length < (SHORTEST_LEG_MM if bent else 1.0):
        limit = f"leaves {length:.1f} mm of flat plate between a bend and its end" if bent else f"the plate would be {length:.1f} mm long"
        raise BadInput(Fault(where=setting.where, field="start, end", limit=limit, remedy="move the plate's end away from the rail's turn"))


def _check_height(setting: Setting, lower: Path, upper: Path, facet: Facet, u0: float, u1: float) -> None:
    for u in (u0, (u0 + u1) / 2, u1):
        s = facet.s_at(u)
        height = upper.y_at(s) - lower.y_at(s)
        room = setting.rail.profile.upper_z(s, setting.seat.upper_inset_mm) - setting.rail.profile.lower_z(s, setting.seat.lower_inset_mm)
        asked = setting.plate.height_mm
        if asked is not None and height > room + 1e-6:
            limit = f"is deeper than its seat: there are {room:.1f} mm at {setting.rail.name}, s = {s:.0f} mm"
            raise BadInput(Fault(where=setting.where, field="height", value=f"{asked:g} mm", limit=limit, remedy="leave height out to fill the seat"))
        if height < 10.0:
            limit = f"leaves a plate {height:.1f} mm high at {setting.rail.name}, s = {s:.0f} mm"
            raise BadInput(Fault(where=setting.where, field="seat", limit=limit, remedy="another seat, or a smaller fillet leg or root gap"))


def _ended(draft: Draft, index: int, s: float, kind: EndKind, inwards: int) -> Draft:
    """Cut the end at s; `inwards` is +1 for the front end, -1 for the rear one."""
    if kind == "upright":
        return draft
    setting, panel = draft.setting, draft.panels[index]
    plate = setting.plate
    hung, other = (setting.lower(), setting.upper()) if plate.hang == "lower" else (setting.upper(), setting.lower())
    rise = (hung.y_at(s + SLOPE_STEP_MM) - hung.y_at(s - SLOPE_STEP_MM)) / (2 * SLOPE_STEP_MM)
    size = math.hypot(1.0, rise)
    along = (inwards / size, inwards * rise / size)
    up = 1.0 if plate.hang == "lower" else -1.0
    across = (-rise * up / size, up / size)
    corner = (panel.facet.u_at(s), hung.y_at(s))
    height = _crossing(corner, across, panel.facet, other)
    tool = end_tool(
        kind, corner=corner, along=along, across=across, height_mm=height, angle_deg=plate.end_angle_deg, mouth_radius_mm=plate.mouth_radius_mm
    )
    try:
        kept = cut(panel.contour, tool)
    except ValueError:
        kept = []
    bends = [u for u, there in ((panel.u0, panel.bend_before), (panel.u1, panel.bend_after)) if there]
    corners = [p for p in panel.contour.points if any(abs(p[0] - u) < 1e-6 for u in bends)]
    whole = len(kept) == 1 and all(any(math.dist(c, p) < 1e-6 for p in kept[0].points) for c in corners)
    if not whole:
        return draft.fault(
            "front_end" if inwards > 0 else "rear_end",
            f"a {kind} end of {plate.end_angle_deg:g} deg is longer than the flat plate there ({panel.u1 - panel.u0:.0f} mm)",
            remedy="a square end, a steeper angle, or an end further from the turn",
        )
    return draft.with_panel(index, replace(panel, contour=kept[0]))


def _crossing(corner: Point, across: Point, facet: Facet, other: Path) -> float:
    """From the corner across the plate to the other edge."""
    height = 0.0
    for _ in range(50):
        u, z = corner[0] + height * across[0], corner[1] + height * across[1]
        miss = (other.y_at(facet.s_at(u)) - z) / across[1]
        height += miss
        if abs(miss) < 1e-9:
            break
    return height
