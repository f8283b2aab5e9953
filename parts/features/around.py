"""A way round each crossmember that is in a plate's way: split on it, a notch open to one edge with a filler piece, or a window."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from parts.errors import BadInput, Fault, Finding
from parts.features.choices import EndKind, Opens, Way
from parts.features.draft import Draft, DraftPanel, Setting
from parts.features.lay import Run, hung_edge
from parts.features.notch_room import fingers, is_closed_by
from parts.frame.crossmember import PlacedCrossmember
from parts.frame.faces import Facet
from parts.holes import Hole
from parts.outline import SAME_MM, Contour, rectangle
from parts.piece import Removal
from parts.trimming import common, cut

LEAST_FILLER_MM = 12.0  #: a narrower strip beside a crossmember is left open: it would burn away. Common practice, no source
LEAST_FLAT_MM = 0.5  #: left straight between two corner arcs: no edge under 0.2 mm is cut
LEAST_LEFT_MM = 12.0  #: of plate that must stay above or below a notch or window, beside a notch. Common practice, no source
FURTHER = 1.2  #: times what a finger lacks: where the rail tapers, the bottom of a fish-mouth moves less than the end's tips


@dataclass(frozen=True, kw_only=True)
class Obstacle:
    """A crossmember that runs through the plate, and the way round it."""

    crossmember: PlacedCrossmember
    way: Way
    opens: Opens
    out_first: bool
    s0_mm: float  #: of the room that it takes at the plate, gap included
    s1_mm: float

    @property
    def name(self) -> str:
        return self.crossmember.name


@dataclass(frozen=True, kw_only=True)
class Filler:
    """A loose piece that closes what a notch leaves open past its crossmember."""

    crossmember: PlacedCrossmember
    edge: Literal["lower", "upper"]  #: of the plate, that it makes whole again
    facet: Facet
    contour: Contour

    @property
    def name(self) -> str:
        return self.crossmember.name


def gap_mm(setting: Setting) -> float:
    return setting.shop.root_gap_mm


def footprint(setting: Setting, facet: Facet, crossmember: PlacedCrossmember) -> tuple[float, float, float, float]:
    """(u0, z0, u1, z1) that the crossmember takes through the plate's whole thickness on that facet, without a gap."""
    x0, x1, z0, z1 = crossmember.box
    us = [
        facet.u_at_x(x + setting.face.normal_sign * facet.direction[1] * out) for x in (x0, x1) for out in (0.0, setting.plate.thickness_mm)
    ]
    return min(us), z0, max(us), z1


def obstacles(setting: Setting, chain: tuple[Facet, ...], s0: float, s1: float) -> tuple[list[Obstacle], list[Fault]]:
    """Every crossmember that meets the plate between s0 and s1, and what is wrong with the ways that were asked for."""
    plate, frame = setting.plate, setting.frame
    asked = {a.crossmember: a for a in plate.around}
    faults: list[Fault] = []
    for name in asked:
        try:
            frame.crossmember(name)
        except BadInput as error:
            faults += [f.inside(setting.where) for f in error.faults]
    inboard = (setting.seat.away > 0) == setting.rail.opens_inboard
    if not inboard:
        return [], faults
    found: list[Obstacle] = []
    gap = gap_mm(setting)
    for crossmember in frame.placed_crossmembers:
        x0, x1, z0, z1 = crossmember.box
        front, rear = _facing(chain, x0), _facing(chain, x1)  # two facets where it stands over a bend
        a = front.s_at(footprint(setting, front, crossmember)[0] - gap)
        b = rear.s_at(footprint(setting, rear, crossmember)[2] + gap)
        if b < s0 or a > s1:
            continue
        between = (a, (a + b) / 2, b)
        low = min(setting.lower().y_at(s) for s in between)
        high = max(setting.upper().y_at(s) for s in between)
        if z1 + gap <= low or z0 - gap >= high:
            continue
        entry = asked.get(crossmember.name)
        way: Way = entry.way if entry is not None else plate.crossmembers
        opens: Opens = entry.opens if entry is not None else "nearest"
        out_first = entry.out_first if entry is not None else False
        if way == "window" and not (out_first and crossmember.removable):
            remedy = (
                "add out_first = true: it is marked removable in the frame file"
                if crossmember.removable
                else 'way = "notch" or "split"; the frame file does not mark it removable'
            )
            limit = f"a closed window cannot be slipped over {crossmember.name} unless that comes out first"
            faults.append(Fault(where=setting.where, field="around.way", value="window", limit=limit, remedy=remedy))
            continue
        found.append(Obstacle(crossmember=crossmember, way=way, opens=opens, out_first=out_first, s0_mm=a, s1_mm=b))
    return found, faults


def unmet(setting: Setting, found: Sequence[Obstacle]) -> list[str]:
    """Notes on crossmembers that were named and are not in the plate's way."""
    met = {o.name for o in found}
    return [f"{a.crossmember} is named under around and does not meet this plate" for a in setting.plate.around if a.crossmember not in met]


def _facing(chain: tuple[Facet, ...], x: float) -> Facet:
    """The facet whose stretch of x holds x."""
    return next((f for f in chain if x <= f.plan(f.length_mm)[0]), chain[-1])


def runs(setting: Setting, found: Sequence[Obstacle], s0: float, s1: float) -> list[Run]:
    """The stretches that are left when the plate is split on its crossmembers."""
    plate = setting.plate
    out: list[Run] = []
    start, front = s0, plate.front_end
    front_kind: EndKind = front
    for o in sorted((o for o in found if o.way == "split"), key=lambda o: o.s0_mm):
        if o.s0_mm > start:
            out.append(Run(s0_mm=start, s1_mm=o.s0_mm, front=front_kind, rear="upright"))
        start, front_kind = max(start, o.s1_mm), "upright"
    if s1 > start:
        out.append(Run(s0_mm=start, s1_mm=s1, front=front_kind, rear=plate.rear_end))
    return out


def around(draft: Draft, found: Sequence[Obstacle]) -> tuple[Draft, tuple[Filler, ...]]:
    """Notches and windows, and the filler pieces of the notches."""
    fillers: list[Filler] = []
    for o in found:
        if o.way == "split" or o.s1_mm < draft.s0_mm or o.s0_mm > draft.s1_mm:
            continue
        middle = (o.s0_mm + o.s1_mm) / 2
        index = draft.panel_at(min(max(middle, draft.s0_mm), draft.s1_mm))
        assert index is not None
        panel = draft.panels[index]
        u0, z0, u1, z1 = footprint(draft.setting, panel.facet, o.crossmember)
        gap = gap_mm(draft.setting)
        if (panel.bend_before and u0 - gap < panel.u0) or (panel.bend_after and u1 + gap > panel.u1):
            over = max(panel.u0 - (u0 - gap), (u1 + gap) - panel.u1)
            draft = draft.fault(
                "around.way",
                f"the cut round {o.name} would run {over:.1f} mm into a bend of the plate",
                value=o.way,
                remedy='way = "split" there',
                bends=True,
            )
            continue
        if o.way == "window":
            draft = _window(draft, index, o, (u0, z0, u1, z1))
        else:
            draft, filler = _notch(draft, index, o, (u0, z0, u1, z1), found)
            fillers += [filler] if filler is not None else []
    return draft, tuple(fillers)


def _corner_mm(draft: Draft, o: Obstacle, height: float, width: float) -> float:
    """As round as the plate's corner radius asks, but never so round that it would foul the crossmember's own corner."""
    section, gap = o.crossmember.drawn.section, gap_mm(draft.setting)
    roundest = (min(height, width) - LEAST_FLAT_MM) / 2
    if section.kind == "tube":
        return roundest
    # The toes of a channel and the lips of a hat are sharp, wherever they point: only a box is round at all four corners.
    rounded = section.kind == "closed" and section.inside_radius_mm > 0
    outside = section.inside_radius_mm + section.thickness_mm if rounded else 0.0
    # A corner of radius R and a notch corner of radius r leave gap * sqrt(2) - (sqrt(2) - 1) (r - R); r = R + 2 gap leaves over half a gap.
    return min(draft.setting.plate.corner_radius_mm, outside + 2 * gap, roundest)


def _window(draft: Draft, index: int, o: Obstacle, room: tuple[float, float, float, float]) -> Draft:
    (u0, z0, u1, z1), gap = room, gap_mm(draft.setting)
    width, height = u1 - u0 + 2 * gap, z1 - z0 + 2 * gap
    hole = Hole(
        name=f"window-{o.name}",
        kind="rectangle",
        x_mm=(u0 + u1) / 2,
        y_mm=(z0 + z1) / 2,
        diameter_mm=height,
        length_mm=width,
        corner_radius_mm=_corner_mm(draft, o, height, width),
        purpose=f"crossmember {o.name} goes back through it",
    )
    left = min(_above_below(draft, draft.panels[index], room))
    if left < LEAST_LEFT_MM:
        return draft.fault(
            "around.way",
            f"a window for {o.name} would leave {left:.1f} mm of plate beside it; {LEAST_LEFT_MM:g} mm is the least",
            value="window",
            remedy='way = "notch" or "split"',
        )
    cm = o.crossmember
    removal = Removal(
        name=o.name,
        what="crossmember",
        where="both rails",
        point=(cm.x_mm, 0.0, cm.top_mm - cm.drawn.section.depth_mm / 2),
        why=f"it goes back with {draft.setting.plate.id} threaded onto its ends, and cannot come out again once that is welded",
        how="brace the rails at their spacing first; then unbolt it, or cut its welds",
    )
    draft = replace(draft, removals=(*draft.removals, removal))
    return draft.with_holes(index, [hole]).finding(
        Finding(
            code="crossmember-out-first",
            level="warn",
            where=draft.setting.place,
            message=f"{o.name} comes out first and goes back with the plates of both rails threaded onto its ends through their windows; "
            "its joints are made before the plates close the rails, and once they are welded it cannot come out again; brace the rails "
            "first",
            remedy='way = "split" or "notch" leaves it in its place',
            source="common practice, no source",
        )
    )


def _above_below(draft: Draft, panel: DraftPanel, room: tuple[float, float, float, float]) -> tuple[float, float]:
    """Plate left (below, above) the crossmember and its gap."""
    (u0, z0, u1, z1), gap = room, gap_mm(draft.setting)
    ss = [panel.facet.s_at(u) for u in (u0 - gap, (u0 + u1) / 2, u1 + gap)]
    below = z0 - gap - max(draft.setting.lower().y_at(s) for s in ss)
    return below, min(draft.setting.upper().y_at(s) for s in ss) - (z1 + gap)


def _wider(draft: Draft, o: Obstacle, found: Sequence[Obstacle], end: Literal["start", "end"], left: float) -> str:
    """What makes the finger of plate past a notch wide enough."""
    for other in found:
        if other is not o and 0 <= (other.s0_mm - o.s1_mm if end == "end" else o.s0_mm - other.s1_mm) < LEAST_LEFT_MM:
            return f"two plates: one that ends in front of {o.name} and {other.name}, one that starts behind them"
    _, (level, _), _ = hung_edge(draft.setting, draft.s0_mm if end == "start" else draft.s1_mm)
    more = math.ceil(FURTHER * (LEAST_LEFT_MM - left - SAME_MM) / level)  # the tape lies on the slope
    further, past = ("rearward", "in front of") if end == "end" else ("forward", "behind")
    return f"{end} the plate {more} mm further {further}, or {past} {o.name}"


def _notch(
    draft: Draft, index: int, o: Obstacle, room: tuple[float, float, float, float], found: Sequence[Obstacle]
) -> tuple[Draft, Filler | None]:
    panel, gap = draft.panels[index], gap_mm(draft.setting)
    u0, z0, u1, z1 = room
    below, above = _above_below(draft, panel, room)
    opens: Literal["lower", "upper"] = o.opens if o.opens != "nearest" else ("lower" if below <= above else "upper")
    kept_side = above if opens == "lower" else below
    if kept_side < LEAST_LEFT_MM:
        return draft.fault(
            "around.way",
            f"a notch for {o.name} open to the {opens} edge would leave {kept_side:.1f} mm of plate; {LEAST_LEFT_MM:g} mm is the least",
            value="notch",
            remedy='open it to the other edge, or way = "split"',
        ), None
    far = 2 * (abs(below) + abs(above) + z1 - z0) + 50.0
    r = _corner_mm(draft, o, z1 - z0 + 2 * gap, u1 - u0 + 2 * gap)
    if opens == "lower":
        tool = rectangle(u0 - gap, z0 - far, u1 + gap, z1 + gap).rounded([0, 0, r, r])
        beyond = rectangle(u0, z0 - far, u1, z0 - gap)
    else:
        tool = rectangle(u0 - gap, z0 - gap, u1 + gap, z1 + far).rounded([r, r, 0, 0])
        beyond = rectangle(u0, z1 + gap, u1, z1 + far)
    try:
        pieces, closing = cut(panel.contour, tool), common(panel.contour, beyond)
    except ValueError:  # it only touches an end
        pieces, closing = [], []
    if len(pieces) != 1:
        return draft.fault(
            "around.way",
            f"a notch for {o.name} would cut the plate in two or off its end",
            value="notch",
            remedy='way = "split", or end the plate elsewhere',
        ), None
    notched = replace(panel, contour=pieces[0])
    draft = draft.with_panel(index, notched)
    for end, left in fingers(draft.setting, notched, room, opens, gap):
        if left < LEAST_LEFT_MM - SAME_MM:
            beside = f"{left:.1f} mm of plate beside it, towards the plate's {end}"
            limit = f"a notch for {o.name} would leave {beside}; {LEAST_LEFT_MM:g} mm is the least"
            return draft.fault("around.way", limit, value="notch", remedy=_wider(draft, o, found, end, left)), None
    strip = below if opens == "lower" else above
    left_open = f"the notch for {o.name} is left open to the {opens} edge over {strip:.1f} mm"
    if strip > 0 and draft.setting.plate.attach == "bolt":
        return draft.note(f"{left_open}: nothing is welded to this plate"), None
    if strip < LEAST_FILLER_MM:
        return (draft.note(f"{left_open}: too narrow for a filler piece") if strip > 0 else draft), None
    if len(closing) != 1 or not is_closed_by(draft.setting, notched, room, closing[0], opens, gap):
        note = f"no filler piece fits the notch for {o.name}, which lies at the plate's end: it is left open to the {opens} edge"
        return draft.note(note), None
    return draft, Filler(crossmember=o.crossmember, edge=opens, facet=panel.facet, contour=closing[0])
