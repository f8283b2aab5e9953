"""Stops behind a stepped-in plate: flat pieces that stand on the flanges' insides and hold it at its step while it is tacked."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

from parts.errors import Finding
from parts.families.rail_plate_parts import STOPS_APART_MM
from parts.features.draft import EDGE_MM, Draft, DraftPanel
from parts.features.joints import is_seated
from parts.features.marks import LABEL_HEIGHTS_MM, ROUND_LABEL_MM, width_of
from parts.features.seat import LEAST_LANDING_MM
from parts.features.stop_rows import SLACK_MM, Edge, Gap, gaps, in_way, spread
from parts.frame.faces import Facet
from parts.frame.features import Bracket
from parts.frame.section import Face
from parts.outline import Contour, Path, Point, Segment, rectangle
from parts.piece import Piece, WeldJoint
from parts.sheet import Label, Panel, Placement, SheetPart, Vec3
from parts.vectors import cross, minus
from parts.welds import fillet_leg_mm

if TYPE_CHECKING:
    from parts.families.rail_plate_parts import Stops

EDGES: tuple[Edge, Edge] = ("lower", "upper")
CLEAR_MM = 10.0  #: from a stop to what it keeps clear of. Builder's choice: no number found
BEARING_MM = 5.0  #: of a stop's height that must stand behind the plate. Builder's choice
STRAIGHT_MM = 0.05  #: how far a flange may curve under a stop
SLIDE_MM = 5.0  #: between places that are tried
LEAST_HEIGHT_MM = 8.0  #: that can be asked for
TOUCH_MM = 1e-3  #: outlines that near to each other count as crossing
PARALLEL = 1e-6  #: sine between two that stand beside each other on one straight: no nearer at their tops than at their feet
OTHER_FLANGE = "the stop on the"
STEP_MM = 0.01
CHOICE = "builder's choice: no number found"


@dataclass(frozen=True, kw_only=True)
class LaidStop:
    """One stop: its middle on the flange's inner face, in a facet's (u, z), and the way along that face and away from it."""

    edge: Edge
    facet: Facet
    foot: Point
    along: Point  #: unit vector rearward
    away: Point  #: unit vector into the section
    tape_mm: float  #: of its foot; square below it, but for a kick's inner side


def stops(draft: Draft) -> Draft:
    setting, asked = draft.setting, draft.setting.plate.stops
    if asked is None:
        return draft
    if setting.seat.kind != "stepped":
        limit = f"only a plate that is stepped in has stops; this one's seat is {setting.seat.kind}"
        return draft.fault("stops", limit, value=setting.seat.kind, remedy='seat = "stepped", or leave stops out')
    section, gap = setting.rail.section, setting.shop.root_gap_mm
    room = setting.seat.offset_mm - section.web_mm - section.inside_radius_mm
    faulty = draft
    if asked.thickness_mm > room + 1e-9:
        limit = f"there are {room:.1f} mm between the plate's back and the corner's inside radius"
        remedy = f"at most {room:.1f} mm, or a smaller step" if room >= 1.0 else "a smaller step, or leave stops out"
        faulty = faulty.fault("stops.thickness", limit, value=f"{asked.thickness_mm:g} mm", remedy=remedy)
    bearing = asked.height_mm - gap
    if bearing < BEARING_MM - 1e-9:
        limit = f"less {gap:g} mm of root gap it stands {bearing:.1f} mm behind the plate; {BEARING_MM:g} mm is the least"
        faulty = faulty.fault("stops.height", limit, value=f"{asked.height_mm:g} mm", remedy=f"at least {BEARING_MM + gap:g} mm")
    if len(faulty.faults) > len(draft.faults):
        return faulty
    for edge in EDGES:
        if is_seated(setting, edge):
            draft = _row(draft, asked, edge)
    return draft


def _row(draft: Draft, asked: Stops, edge: Edge) -> Draft:
    """Along one flange, at most `every` apart wherever there is room; where there is none, that is told."""
    free, reasons = _looked_at(draft, asked, edge)
    least = asked.length_mm + STOPS_APART_MM

    def clear(i: int, j: int) -> bool:
        one, two = free[i], free[j]
        if one.facet is not two.facet:
            return True  # each keeps off the bend between them
        if math.dist(one.foot, two.foot) < least - SLACK_MM:
            return False
        parallel = abs(one.along[0] * two.along[1] - one.along[1] * two.along[0]) < PARALLEL
        return parallel or not _clash(one, two, asked)

    for k in spread([stop.tape_mm for stop in free], asked.every_mm, least, clear):
        if not any(free[k].facet is other.facet and _clash(free[k], other, asked) for other in draft.stops):
            draft = replace(draft, stops=(*draft.stops, free[k]))
    ends = _edge_tapes(draft, edge)
    for gap in gaps(ends, [stop.tape_mm for stop in draft.stops if stop.edge == edge]) if ends else ():
        if gap.wide_mm > asked.every_mm + SLACK_MM:
            draft = _apart(draft, asked, edge, gap, in_way(gap, reasons, least))
    return draft


def _looked_at(draft: Draft, asked: Stops, edge: Edge) -> tuple[list[LaidStop], dict[float, str]]:
    """(those that have room, front to rear; what is in the way of the others, by tape), every `SLIDE_MM` from the plate's front end."""
    profile = draft.setting.rail.profile
    low, high = profile.tape(draft.s0_mm), profile.tape(draft.s1_mm)
    reach = max(profile.depth_at_tape(low), profile.depth_at_tape(high))  # square below a tape length lies another s where the rail slopes
    free: list[LaidStop] = []
    reasons: dict[float, str] = {}
    for k in range(-int(reach // SLIDE_MM), int((high + reach - low) // SLIDE_MM) + 1):
        stop = _at(draft, asked, edge, low + k * SLIDE_MM)
        if isinstance(stop, LaidStop):
            free.append(stop)
        else:
            reasons[low + k * SLIDE_MM] = stop
    return sorted(free, key=lambda stop: stop.tape_mm), reasons


def _edge_tapes(draft: Draft, edge: Edge) -> tuple[float, float] | None:
    """From where to where the plate's long edge runs along that flange; None where an angled end leaves nothing of it."""
    setting = draft.setting
    line = setting.lower() if edge == "lower" else setting.upper()
    at = [(panel.facet.s_at(u), z) for panel in draft.panels for u, z in panel.contour.points]
    tapes = [setting.rail.profile.tape_and_up(s, z)[0] for s, z in at if abs(line.y_at(s) - z) <= EDGE_MM]
    return (min(tapes), max(tapes)) if len(tapes) > 1 else None


def _flange_line(draft: Draft, edge: Edge) -> Path:
    """The flange's inner face, in (s, z)."""
    profile, inset = draft.setting.rail.profile, draft.setting.rail.section.flange_thickness_mm
    return profile.lower_path(inset) if edge == "lower" else profile.upper_path(inset)


def _at(draft: Draft, asked: Stops, edge: Edge, tape_mm: float) -> LaidStop | str:
    """The stop whose foot lies square below (above) a tape length; the words for what is in its way."""
    rail = draft.setting.rail
    profile, inset = rail.profile, rail.section.flange_thickness_mm
    if not 0 < tape_mm < profile.tape_length_mm:
        return "the rail's end"
    up = inset if edge == "lower" else profile.depth_at_tape(tape_mm) - inset
    s, _ = profile.web_point(tape_mm, up)
    index = draft.panel_at(min(max(s, draft.s0_mm), draft.s1_mm))  # an end that is square to a slope reaches past that at one edge
    assert index is not None
    panel, line = draft.panels[index], _flange_line(draft, edge)
    facet = panel.facet
    u = facet.u_at(s)
    rise, run = line.y_at(s + STEP_MM) - line.y_at(s - STEP_MM), facet.u_at(s + STEP_MM) - facet.u_at(s - STEP_MM)
    size = math.hypot(rise, run)
    along = (run / size, rise / size)
    away = (-along[1], along[0]) if edge == "lower" else (along[1], -along[0])
    foot = s, line.y_at(s)
    stop = LaidStop(edge=edge, facet=facet, foot=(u, foot[1]), along=along, away=away, tape_mm=profile.tape_and_up(*foot)[0])
    return _in_way(draft, asked, panel, stop, line) or stop


def _corners(stop: LaidStop, asked: Stops, low_mm: float, grown_mm: float = 0.0) -> list[Point]:
    """Of the stop seen square to the plate, from `low_mm` off the flange, grown by `grown_mm` along it and at its top."""
    (u, z), (a, b), (c, d) = stop.foot, stop.along, stop.away
    half, top = asked.length_mm / 2 + grown_mm, asked.height_mm + grown_mm
    return [(u + x * a + y * c, z + x * b + y * d) for x, y in ((-half, low_mm), (half, low_mm), (half, top), (-half, top))]


def _in_way(draft: Draft, asked: Stops, panel: DraftPanel, stop: LaidStop, line: Path) -> str:
    """The words for what is in its way; none where nothing is."""
    facet = stop.facet
    for share in (-0.5, -0.25, 0.25, 0.5):
        u = stop.foot[0] + share * asked.length_mm * stop.along[0]
        z = stop.foot[1] + share * asked.length_mm * stop.along[1]
        if abs(line.y_at(facet.s_at(u)) - z) > STRAIGHT_MM:
            return "a kick of the rail, where the flange is not straight,"
    grown = _corners(stop, asked, 0.0, CLEAR_MM)
    us, zs = [p[0] for p in grown], [p[1] for p in grown]
    if (panel.bend_before and min(us) < panel.u0) or (panel.bend_after and max(us) > panel.u1):
        return "a bend of the plate"
    if _off_plate(draft, asked, panel, stop):
        return "the plate's end or a cut from its edge"
    box = _ring(grown)
    for hole in panel.holes:
        shape = hole.contour()
        if box.contains(hole.centre) or shape.contains(box.points[0]) or box.crosses(shape):
            return hole.name
    for other in draft.stops:
        if other.edge != stop.edge and other.facet is facet and _clash(stop, other, asked):
            return f"{OTHER_FLANGE} {other.edge} flange"
    return _inside(draft, asked, stop, (facet.s_at(min(us)), facet.s_at(max(us))), (min(zs), max(zs)))


def _off_plate(draft: Draft, asked: Stops, panel: DraftPanel, stop: LaidStop) -> bool:
    """Whether any of what bears on the plate, and the clear length to either side of it, lies past an end or over a cut."""
    low = draft.setting.shop.root_gap_mm + LEAST_LANDING_MM
    ring = _corners(stop, asked, low, CLEAR_MM)
    edges = [Segment(p, q) for p, q in zip(ring, (*ring[1:], ring[0]), strict=True)]
    return not panel.contour.contains(ring[0]) or any(e.crossings(s) for e in edges for s in panel.contour.segments)


def _inside(draft: Draft, asked: Stops, stop: LaidStop, s_range: Point, z_range: Point) -> str:
    """What stands in the section where the stop would: crossmembers, brackets, heads and holes of the flange."""
    setting = draft.setting
    rail, frame = setting.rail, setting.frame
    if rail.opens_inboard:
        for cm in frame.crossmembers_at(rail.side, s_range[0] - CLEAR_MM, s_range[1] + CLEAR_MM):
            _, _, low, high = cm.box
            if low < z_range[1] and high > z_range[0]:
                return cm.name
    back = setting.seat.offset_mm
    span = back - asked.thickness_mm - CLEAR_MM, back + CLEAR_MM
    face: Face = "lower flange" if stop.edge == "lower" else "upper flange"
    for hole in frame.holes_on(rail.side, *s_range, face):
        reach = max(hole.diameter_mm, hole.head_across_mm) / 2
        if hole.in_mm + reach > span[0] and hole.in_mm - reach < span[1]:
            return hole.name
    for patch in frame.placed_brackets:
        own = patch.drawn
        if patch.side != rail.side or not isinstance(own, Bracket) or not own.inner_face or own.fate == "cut off":
            continue
        (p0, p1), (a0, a1) = patch.s_range, patch.across_range
        reaches = patch.face == face and a0 < span[1] and a1 > span[0]
        stands = patch.face == "web" and rail.thickness_mm + own.out_mm > span[0] and a0 < z_range[1] and a1 > z_range[0]
        if p0 < s_range[1] and p1 > s_range[0] and (reaches or stands):
            return patch.name
    return ""


def _clash(one: LaidStop, two: LaidStop, asked: Stops) -> bool:
    """Whether two on one facet come nearer to each other than `CLEAR_MM`, with their whole height."""
    if math.dist(one.foot, two.foot) > 2 * math.hypot(asked.length_mm / 2 + CLEAR_MM, asked.height_mm + CLEAR_MM):
        return False
    grown, own = (_ring(_corners(stop, asked, 0.0, by)) for stop, by in ((one, CLEAR_MM - TOUCH_MM), (two, 0.0)))
    return grown.contains(own.points[0]) or own.contains(grown.points[0]) or grown.crosses(own)


def _ring(corners: Sequence[Point]) -> Contour:
    ring = Contour(tuple(corners), (0.0,) * len(corners))
    return ring if ring.area > 0 else ring.reversed()


def _apart(draft: Draft, asked: Stops, edge: Edge, gap: Gap, why: str) -> Draft:
    rail = draft.setting.rail
    (a, from_mm), (b, to_mm) = rail.laid_off(gap.low_mm), rail.laid_off(gap.high_mm)
    low = f"{a} {from_mm:+.0f} mm" + (" (the plate's front end)" if gap.low_is_end else "")
    high = f"{b} {to_mm:+.0f} mm" + (" (the plate's rear end)" if gap.high_is_end else "")
    cause = f"{why} is in the way" if why else "what is free is too near to the stops beside it"
    remedy = "clamp the plate there while tacking"
    if why.startswith(OTHER_FLANGE):
        inner = min(rail.profile.depth_at_tape(t) for t in (gap.low_mm, gap.high_mm)) - 2 * rail.section.flange_thickness_mm
        both = math.floor((inner - CLEAR_MM) / 2)
        remedy += f", or stops at most {both} mm high, which stand above each other" if both >= LEAST_HEIGHT_MM else ""
    return draft.finding(
        Finding(
            code="stops-apart", level="warn", where=draft.setting.place, source="the job file", value=f"{gap.wide_mm:.0f} mm",
            limit=f"at most {asked.every_mm:g} mm apart", remedy=remedy,
            message=f"no stop on the {edge} flange from {low} to {high} on the tape: {cause}",
        )
    )  # fmt: skip


def _widest_mm(drafts: Sequence[Draft]) -> float:
    """From one stop to the next on the same flange, over the joints of the plate too."""
    out = 0.0
    for edge in EDGES:
        run: list[float] = []
        for draft in drafts:
            run = run if draft.split_at[0] is not None else []
            run = [*run[-1:], *sorted(stop.tape_mm for stop in draft.stops if stop.edge == edge)]
            out = max(out, max((b - a for a, b in pairwise(run)), default=0.0))
    return out


def stop_piece(drafts: Sequence[Draft], piece_id: str) -> list[Piece]:
    """All stops of one side as one piece with as many placements; nothing where there are none."""
    setting = drafts[0].setting
    asked, plate = setting.plate.stops, setting.plate
    laid = [(draft, stop) for draft in drafts for stop in draft.stops]
    if asked is None or not laid:
        return []
    length, height, t = asked.length_mm, asked.height_mm, asked.thickness_mm
    panel = Panel(name="stop", contour=rectangle(0.0, 0.0, length, height))
    label = next(_labels(piece_id, length, height), None)
    if label is not None:
        panel = replace(panel, labels=(label,))
    part = SheetPart(name=piece_id, thickness_mm=t, panels=(panel,))
    leg = fillet_leg_mm(t, setting.rail.section.flange_thickness_mm, False, along_edge=False).leg_mm
    welds: list[WeldJoint] = []
    for number, (draft, stop) in enumerate(laid, start=1):
        points = tuple(_vehicle(draft, stop, x, 0.0, t) for x in (-length / 2, length / 2))
        welds.append(
            WeldJoint(
                name=f"tack {number}", kind="fillet", points=points, thickness_mm=(t, setting.rail.section.flange_thickness_mm),
                onto=f"{setting.rail.name} {stop.edge} flange inside", leg_mm=leg,
            )
        )  # fmt: skip
    counts = [f"{sum(s.edge == e for _, s in laid)} on the {e} flange" for e in EDGES if any(s.edge == e for _, s in laid)]
    widest = _widest_mm(drafts)
    apart = f", at most {math.ceil(widest - SLACK_MM)} mm apart" if widest else ""
    apart += f" ({asked.every_mm:g} mm asked for)" if widest > asked.every_mm + SLACK_MM else ""
    notes = [
        f"{' and '.join(counts)}{apart}: tacked on the side of the web before the plate goes in, which then "
        f"lies against them at its step of {plate.step_mm:g} mm; they stay in the box (all sizes: {CHOICE})"
    ]  # fmt: skip
    notes += ["no room to etch its id: mark it by hand before it leaves the sheet"] if label is None else []
    return [
        Piece(
            id=piece_id, family=plate.FAMILY, side=setting.rail.side, part=part, grade=plate.grade,
            placements=tuple(_placement(draft, stop, asked) for draft, stop in laid), welds=tuple(welds), notes=tuple(notes),
        )
    ]  # fmt: skip


def _labels(piece_id: str, length: float, height: float) -> Iterator[Label]:
    for text in (piece_id, "stop"):
        for size in LABEL_HEIGHTS_MM:
            width = width_of(text, size)
            if width + 2 * ROUND_LABEL_MM <= length and 1.4 * size + 2 * ROUND_LABEL_MM <= height:
                yield Label(text=text, x_mm=(length - width) / 2, y_mm=(height - size) / 2, height_mm=size)


def _vehicle(draft: Draft, stop: LaidStop, along_mm: float, away_mm: float, deep_mm: float) -> Vec3:
    """The vehicle point so far along the flange and off it, `deep_mm` behind the plate's back."""
    (u, z), (a, b), (c, d) = stop.foot, stop.along, stop.away
    return draft.setting.vehicle(stop.facet, u + along_mm * a + away_mm * c, z + along_mm * b + away_mm * d, -deep_mm)


def _placement(draft: Draft, stop: LaidStop, asked: Stops) -> Placement:
    """Its z = 0 face on the plate's back, its v = 0 edge on the flange, its steel towards the web; u as that makes it."""
    half = asked.length_mm / 2
    foot = _vehicle(draft, stop, 0.0, 0.0, 0.0)
    v = minus(_vehicle(draft, stop, 0.0, 1.0, 0.0), foot)
    n = minus(_vehicle(draft, stop, 0.0, 0.0, 1.0), foot)
    u = cross(v, n)
    return Placement(origin=(foot[0] - half * u[0], foot[1] - half * u[1], foot[2] - half * u[2]), u=u, v=v)
