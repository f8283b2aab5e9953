"""The isolator's holes in a pad's top: where they lie round the point, and the room that they and a spanner have."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from parts.errors import Fault, Finding
from parts.features.bracket.slots import ASKED_THICKNESSES, BEND_SOURCE, EDGE_THICKNESSES, REFUSED_THICKNESSES, SLACK
from parts.features.pad.planes import local, plus
from parts.features.pad.target import Target
from parts.hardware import clearance_hole, spanner_room
from parts.holes import Hole
from parts.outline import Point
from parts.segment import Segment
from parts.sheet import Placement, Vec3

if TYPE_CHECKING:
    from parts.families.mount_pad import MountPad
    from parts.features.pad.ground import Ground
    from parts.features.pad.stand import Stand


@dataclass(frozen=True, kw_only=True)
class Opening:
    """A hole of the pattern: its centre on the top's upper face, in vehicle axes."""

    name: str
    point: Vec3
    diameter_mm: float
    purpose: str
    bolted: bool = True


def openings(pad: MountPad, target: Target) -> tuple[Opening, ...]:
    """In the top's own directions: straight along the vehicle as seen from above, and square to that in the top's plane."""
    size, purpose = _size(pad, target)
    turn = math.radians(pad.turn_deg)
    out = []
    for number, (a, b) in enumerate(_places(pad), start=1):
        c, d = a * math.cos(turn) - b * math.sin(turn), a * math.sin(turn) + b * math.cos(turn)
        name = "mount" if pad.pattern == "one" else f"mount-{number}"
        point = plus(target.point, (c, target.along), (d, target.across))
        out.append(Opening(name=name, point=point, diameter_mm=size, purpose=purpose))
    if pad.centre_hole_mm:
        out.append(Opening(name="centre", point=target.point, diameter_mm=pad.centre_hole_mm, purpose="clears the isolator", bolted=False))
    return tuple(out)


def _size(pad: MountPad, target: Target) -> tuple[float, str]:
    if pad.top_hole_mm is not None:
        return pad.top_hole_mm, "isolator"
    if target.mount is not None:
        return target.mount.drawn.hole_mm, f"body mount {target.mount.name}"
    return clearance_hole(pad.top_bolt, "medium").diameter_mm, f"bolt {pad.top_bolt}"


def _places(pad: MountPad) -> list[tuple[float, float]]:
    """(along, across) of the middles before the pattern is turned."""
    x, y = pad.pitch_along_mm / 2, pad.pitch_across_mm / 2
    if pad.pattern == "one":
        return [(0.0, 0.0)]
    if pad.pattern == "two":
        return [(-x, -y), (x, y)]
    if pad.pattern == "four":
        return [(-x, -y), (x, -y), (x, y), (-x, y)]
    assert pad.ring_mm is not None
    radius, step = pad.ring_mm / 2, math.tau / pad.ring_holes
    return [(radius * math.cos(k * step), radius * math.sin(k * step)) for k in range(pad.ring_holes)]


def holes(pad: MountPad, target: Target, top: Placement) -> tuple[Hole, ...]:
    """In the top panel's (u, v)."""
    out = []
    for one in openings(pad, target):
        u, v = local(top, one.point)
        out.append(Hole(name=one.name, x_mm=u, y_mm=v, diameter_mm=one.diameter_mm, purpose=one.purpose))
    return tuple(out)


def least_room_mm(ground: Ground) -> float:
    """From a hole's edge to the tangent line of the top's bend: as much as is asked, and room for a socket."""
    pad, r = ground.pad, ground.radius_mm
    asked = ASKED_THICKNESSES * pad.thickness_mm + r
    smallest = min(o.diameter_mm for o in openings(pad, ground.target) if o.bolted)
    return max(asked, spanner_room(pad.top_bolt).centre_to_wall_mm - r - smallest / 2)


def judged_holes(ground: Ground, stand: Stand) -> tuple[list[Fault], list[Finding]]:
    """Distances to the bend, the edges and each other."""
    pad, t, r = ground.pad, ground.thickness_mm, ground.radius_mm
    faults: list[Fault] = []
    findings: list[Finding] = []
    shapes = [(h, h.contour()) for h in stand.top_holes]
    edge, least, asked = EDGE_THICKNESSES * t, REFUSED_THICKNESSES * t + r, ASKED_THICKNESSES * t + r
    near, name = min((h.y_mm - h.diameter_mm / 2, h.name) for h, _ in shapes)
    field, value, remedy = _nearer(ground, stand, least - near)
    if near < least - SLACK:
        limit = f"{name} would lie {near:.1f} mm from the top's bend; 2 t + r = {least:.1f} mm is the least"
        faults.append(ground.fault(field, value, limit, remedy))
    elif near < asked - SLACK:
        message, limit = f"{name} lies {near:.1f} mm from the top's bend: its edge may pull", f"3 t + r = {asked:.1f} mm"
        remedy = _nearer(ground, stand, asked - near)[2]
        findings.append(
            ground.finding("hole-near-bend", "warn", message, value=f"{near:.1f} mm", limit=limit, remedy=remedy, source=BEND_SOURCE)
        )
    outline = stand.top_contour
    worst = {f.field: math.inf for f in faults}
    for h, shape in shapes:
        for i, line in enumerate(outline.segments[1:], start=1):
            gap = _inside_mm(line, h.centre) - h.diameter_mm / 2 if h.kind == "round" else min(line.gap(s) for s in shape.segments)
            if gap < edge - SLACK:
                fault = _off_edge(ground, stand, line if i != 2 else None, h, edge - gap, f"leaves {max(gap, 0.0):.1f} mm from {h.name}")
                faults = [f for f in faults if f.field != fault[1].field or worst[f.field] > fault[0]]
                if all(f.field != fault[1].field for f in faults):
                    faults.append(fault[1])
                    worst[fault[1].field] = fault[0]
    for i, one in enumerate(stand.top_holes):
        for two in stand.top_holes[i + 1 :]:
            gap = math.dist(one.centre, two.centre) - (one.diameter_mm + two.diameter_mm) / 2
            if gap < edge - SLACK and not any(f.field == "pattern" for f in faults):
                limit = f"leaves {gap:.1f} mm between {one.name} and {two.name}; 2 t = {edge:g} mm is the least"
                faults.append(ground.fault("pattern", pad.pattern, limit, "further apart, fewer, or smaller holes"))
    return faults, findings if faults else [*findings, *_spanner(ground, stand)]


def _inside_mm(line: Segment, p: Point) -> float:
    """How far inside the outline a point lies of one of its straight edges, square to it; below 0: outside."""
    (ax, ay), (bx, by) = line.a, line.b
    return ((bx - ax) * (p[1] - ay) - (by - ay) * (p[0] - ax)) / line.chord


def _off_edge(ground: Ground, stand: Stand, side: Segment | None, hole: Hole, short: float, what: str) -> tuple[float, Fault]:
    """(how much is missing, the fault): of the free edge (`side` None) or of a side of the top, with the size that leaves 2 t."""
    pad, edge = ground.pad, EDGE_THICKNESSES * ground.thickness_mm
    if side is None:
        limit, remedy = f"{what} to the top's free edge; 2 t = {edge:g} mm is the least", math.ceil(pad.top_reach_mm + short - SLACK)
        return short, ground.fault("top_reach", f"{pad.top_reach_mm:g} mm", limit, f"{remedy} mm or more, or a smaller pattern")
    limit = f"{what} to the top's side; 2 t = {edge:g} mm is the least"
    if pad.top_width_mm is None:
        return short, ground.fault("width", f"{pad.width_mm:g} mm", limit, f"{math.ceil(pad.width_mm + 2 * short - SLACK)} mm or more, or "
                                   "a smaller pattern")  # fmt: skip
    # Straight off the base the top tapers: at the hole its side moves by a share of what its free edge does.
    rise = abs(side.b[1] - side.a[1])
    share = 1.0 if stand.armed else max(hole.y_mm / max(side.a[1], side.b[1]), 0.1) * rise / side.chord
    wide = math.ceil(pad.top_width_mm + 2 * short / share - SLACK)
    return short, ground.fault("top_width", f"{pad.top_width_mm:g} mm", limit, f"{wide} mm or more, or a smaller pattern")


def _nearer(ground: Ground, stand: Stand, short: float) -> tuple[str, str, str]:
    """(field, value, remedy) of what brings the holes nearer to the top's bend."""
    pad = ground.pad
    more = math.ceil(short)
    if pad.top_back_mm is not None and stand.armed:
        return "top_back", f"{pad.top_back_mm:g} mm", f"{pad.top_back_mm + more:g} mm or more, or leave it out"
    if pad.carries is not None:
        return "carries", pad.carries, 'fold = "arm", thinner steel, or a base on another face'
    field, given = ("out", pad.out_mm) if pad.out_mm is not None else ("y", pad.y_mm)
    return field, f"{given:g} mm", f'the point {more} mm further from the base, fold = "arm", or a smaller pattern'


def _spanner(ground: Ground, stand: Stand) -> list[Finding]:
    """A socket on each bolt of the isolator, against the wall that the bend goes over into."""
    room = spanner_room(ground.pad.top_bolt)
    need = room.centre_to_wall_mm
    is_mm = min((h.y_mm for h in stand.top_holes if h.name != "centre"), default=math.inf) + ground.radius_mm
    if is_mm >= need - SLACK:
        return []
    message = f"a bolt {ground.pad.top_bolt} in the top stands {is_mm:.1f} mm from the wall at its bend: no socket goes on"
    remedy = "the point further from the bend, or weld the nut to the top first"
    return [
        ground.finding(
            "spanner-room", "warn", message, value=f"{is_mm:.1f} mm", limit=f"{need:.1f} mm from the bolt's centre", remedy=remedy,
            source=room.source,
        )
    ]  # fmt: skip
