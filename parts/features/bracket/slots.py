"""Slots in the seat along the vehicle's x, whatever way the rail turns: where they lie, and what room a spanner has."""

from __future__ import annotations

import math

from parts.errors import Fault, Finding
from parts.features.bracket.outline import Outline
from parts.features.bracket.panels import seat_point
from parts.features.bracket.site import Site
from parts.hardware import clearance_hole, spanner_room
from parts.holes import Hole, HoleKind
from parts.sheet import Vec3

REFUSED_THICKNESSES, ASKED_THICKNESSES = 2.0, 3.0  #: hole edge to a bend's tangent, plus the inside radius: trade pages, they disagree
EDGE_THICKNESSES = 2.0  #: slot edge to the seat's own edge and to the next slot: TM 9-2320-289-34 p. 9-7
SLACK = 1e-9
BEND_SOURCE = "trade pages, which disagree: 2 t + r refused, 3 t + r asked"


def slot_size(site: Site) -> tuple[float, float]:
    """(width, length over all)."""
    width = clearance_hole(site.bracket.slot_bolt, "medium").diameter_mm
    return width, width + site.bracket.slot_travel_mm


def slot_outs(site: Site) -> tuple[float, ...]:
    """How far out of the face each slot's middle lies, the nearest first."""
    bracket, middle = site.bracket, site.slot_out_mm
    if bracket.slots == 1:
        return (middle,)
    pitch = bracket.slot_pitch_mm if bracket.slot_pitch_mm is not None else (bracket.depth_mm - site.corner_mm) / 2
    return middle - pitch / 2, middle + pitch / 2


def slot_centres(site: Site) -> tuple[Vec3, ...]:
    """In vehicle axes, on the seat's bearing face: every one at the x asked for."""
    q = site.q(site.bearing_mm)
    return tuple(site.vehicle(site.p_of_x(site.x_mm, out), q, out) for out in slot_outs(site))


def slots(site: Site, outline: Outline) -> tuple[tuple[Hole, ...], list[Fault], list[Finding]]:
    bracket = site.bracket
    width, length = slot_size(site)
    # The vehicle's x as the seat has it: u along the face to the right, v off it.
    c, d, _ = site.facet.direction
    angle = math.degrees(math.atan2(-site.face.normal_sign * d, site.along * c))
    purpose = f"bolt {bracket.slot_bolt}, {bracket.slot_travel_mm:g} mm of travel"
    holes = []
    for number, out in enumerate(slot_outs(site), start=1):
        u, v = seat_point(site, outline, site.p_of_x(site.x_mm, out), out)
        kind: HoleKind = "slot" if bracket.slot_travel_mm > 0 else "round"
        long = length if kind == "slot" else 0.0
        hole = Hole(
            name=f"slot-{number}", kind=kind, x_mm=u, y_mm=v, diameter_mm=width, length_mm=long,
            angle_deg=_half_turn(angle) if long else 0.0, purpose=purpose if long else f"bolt {bracket.slot_bolt}",
        )  # fmt: skip
        holes.append(hole)
    faults, findings = _room(site, outline, holes)
    if not faults:
        findings += _spanner(site, outline, holes)
    return tuple(holes), faults, findings


def _half_turn(angle: float) -> float:
    while angle > 90.0 + 1e-9:
        angle -= 180.0
    while angle <= -90.0 + 1e-9:
        angle += 180.0
    return angle


def _room(site: Site, outline: Outline, holes: list[Hole]) -> tuple[list[Fault], list[Finding]]:
    """The slots' distances to bend, edges, gussets and each other."""
    bracket, t, r = site.bracket, site.thickness_mm, site.inside_radius_mm
    first = holes[0]
    size = f"{first.diameter_mm:g} x {first.length_mm:g} mm" if first.length_mm else f"{first.diameter_mm:g} mm"
    depth, edge = f"{bracket.depth_mm:g} mm", EDGE_THICKNESSES * t
    faults: list[Fault] = []
    findings: list[Finding] = []
    shapes = [h.contour() for h in holes]
    box = [s.box for s in shapes]
    near, least, asked = min(b[1] for b in box), REFUSED_THICKNESSES * t + r, ASKED_THICKNESSES * t + r
    if near < least - SLACK:
        limit = f"slot-1, {size}, would lie {near:.1f} mm from the seat's bend; 2 t + r = {least:.1f} mm is the least"
        faults.append(site.fault("depth", depth, limit, _deeper(site, least - near)))
    elif near < asked - SLACK:
        message, limit = f"slot-1 lies {near:.1f} mm from the seat's bend: its edge may pull", f"3 t + r = {asked:.1f} mm"
        remedy = _deeper(site, asked - near)
        value = f"{near:.1f} mm"
        findings.append(site.finding("hole-near-bend", "warn", message, value=value, limit=limit, remedy=remedy, source=BEND_SOURCE))
    if len(shapes) > 1 and (gap := shapes[0].gap(shapes[1])) < edge - SLACK:
        limit = f"leaves {gap:.1f} mm between the slots; 2 t = {edge:g} mm is the least"
        field, value = ("slots", "2") if bracket.slot_pitch_mm is None else ("slot_pitch", f"{bracket.slot_pitch_mm:g} mm")
        faults.append(site.fault(field, value, limit, "a deeper seat, further apart, or slots = 1"))
    end = bracket.depth_mm - site.corner_mm - max(b[3] for b in box)
    if end < edge - SLACK:
        limit = f"the slots leave {end:.1f} mm to the seat's free edge; 2 t = {edge:g} mm is the least"
        faults.append(site.fault("depth", depth, limit, _deeper(site, edge - end)))
    # Under or over a gusset no bolt goes through: there the gusset's inner face is where the seat ends.
    half = outline.half_base + r if outline.gussets is not None else outline.half_seat
    what = "the gusset beside them" if outline.gussets is not None else "the seat's side"
    side = half - max(max(b[2] - outline.half_bend, outline.half_bend - b[0]) for b in box)
    if side < edge - SLACK:
        limit = f"slots of {size} leave {side:.1f} mm to {what}; 2 t = {edge:g} mm is the least"
        most = max(0.0, bracket.slot_travel_mm - 2 * (edge - side))
        remedy = f"at most about {math.floor(most)} mm, or a seat {math.ceil(2 * (edge - side))} mm wider"
        faults.append(site.fault("slot_travel", f"{bracket.slot_travel_mm:g} mm", limit, remedy))
    return faults, findings


def _deeper(site: Site, short: float) -> str:
    """Slots stay in the middle of the seat, or a quarter of it off its ends, as it grows."""
    share = 2.0 if site.bracket.slots == 1 or site.bracket.slot_pitch_mm is not None else 4.0
    return f"a seat at least {site.bracket.depth_mm + share * short:.0f} mm deep, or a smaller bolt"


def _spanner(site: Site, outline: Outline, holes: list[Hole]) -> list[Finding]:
    """A socket on the bolt at either end of its travel, against base and gussets."""
    room = spanner_room(site.bracket.slot_bolt)
    need, half = room.centre_to_wall_mm, site.bracket.slot_travel_mm / 2
    found: list[Finding] = []
    walls = {"the base": math.inf, "a gusset": math.inf}
    for hole in holes:
        turn = math.radians(hole.angle_deg)
        for way in (-half, half):
            u, v = hole.x_mm + way * math.cos(turn), hole.y_mm + way * math.sin(turn)
            walls["the base"] = min(walls["the base"], v + site.inside_radius_mm)
            if outline.gussets is not None:
                inner = outline.half_base + site.inside_radius_mm
                walls["a gusset"] = min(walls["a gusset"], inner - abs(u - outline.half_bend))
    for wall, is_mm in walls.items():
        if is_mm < need - SLACK:
            message = f"a bolt {site.bracket.slot_bolt} at the end of its travel stands {is_mm:.1f} mm from {wall}: no socket goes on"
            limit = f"{need:.1f} mm from the bolt's centre"
            remedy = "less travel, a wider or deeper seat, or weld the nut or bolt to the seat first"
            value = f"{is_mm:.1f} mm"
            found.append(site.finding("spanner-room", "warn", message, value=value, limit=limit, remedy=remedy, source=room.source))
    return found
