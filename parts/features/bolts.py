"""A bolted plate: a pattern of new holes through plate and web, kept to the rules for holes in a rail, and the drilling list for it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from parts.bolt_size import bolt_size
from parts.errors import Finding
from parts.features.draft import Draft
from parts.features.rows import Place, Rows
from parts.features.taken import beyond_web, patches_of_web
from parts.hardware import bolt_length, clearance_hole, rail_hole, washer
from parts.hole_rules import RailHole, Use, WebHoleLimits, web_hole_findings, web_hole_limits
from parts.holes import Hole
from parts.outline import Point
from parts.piece import BoltLine, Drilling, HardwareItem

if TYPE_CHECKING:
    from parts.frame.frame import Frame
    from parts.frame.rail import Rail

EDGE_THICKNESSES = 2.0  #: hole edge to the plate's own edge: TM 9-2320-289-34 p. 9-7
FEWEST = 2  #: one bolt lets a plate turn


def bolts(draft: Draft) -> Draft:
    setting = draft.setting
    plate = setting.plate
    if plate.attach != "bolt":
        return draft
    if not setting.seat.on_web:
        return draft.fault("attach", "a bolted plate lies flat on the web", value="bolt", remedy='seat = "outside" or "inside"')
    drill = rail_hole(plate.bolt).diameter_mm
    size = clearance_hole(plate.bolt, "medium").diameter_mm
    limits = web_hole_limits(drill)
    room = size / 2 + EDGE_THICKNESSES * plate.thickness_mm
    round_washer = washer(plate.bolt).outside_mm / 2
    own = _own_holes(draft)
    marked, beyond = patches_of_web(draft), beyond_web(draft)
    new: list[RailHole] = []
    dropped = 0
    for place in _pattern(draft, drill, limits):
        spot = draft.at(*place.at)
        if spot is None:
            continue
        hole = RailHole(name=f"bolt-{len(new) + 1}", along_mm=place.at[0], up_mm=place.at[1], diameter_mm=drill)
        crowded = any(hole.gap_mm(o) < limits.hole_gap_mm for o in (*own, *new))
        crowded = crowded or any(t.room_mm(place.at) < drill / 2 for t in marked) or any(t.room_mm(place.at) < round_washer for t in beyond)
        if crowded or draft.room(*spot) < room:
            dropped += 1
            continue
        new.append(hole)
        index, (u, v) = spot
        draft = draft.with_holes(index, [Hole(name=hole.name, x_mm=u, y_mm=v, diameter_mm=size, purpose=f"bolt {plate.bolt}")])
        draft = _bolted(draft, hole.name, place, index, (u, v), drill)
    if len(new) < FEWEST:
        found = f"{len(new) or 'no'} place{'' if len(new) == 1 else 's'}"
        kept = f"{limits.hole_gap_mm:g} mm kept from other holes, {room - size / 2:g} mm from edges"
        limit = f"{found} for a bolt, where {FEWEST} are the least: {kept}"
        return draft.fault("bolt", limit, value=plate.bolt, remedy="a longer plate, a smaller bolt or a shorter bolt_pitch")
    draft = replace(draft, findings=(*draft.findings, *ruled(setting.frame, setting.rail, setting.place, new, own)))
    text = f"{len(new)} bolts {plate.bolt} at {plate.bolt_pitch_mm:g} mm; holes in the rail {drill:g} mm, drilled, in the plate {size:g} mm"
    why = "an edge, a bend, an opening, another hole, or what stands or is marked on the web"
    return draft.note(text + (f"; {dropped} dropped for {why}" if dropped else ""))


def _own_holes(draft: Draft) -> list[RailHole]:
    setting = draft.setting
    found = setting.frame.holes_on(setting.rail.side, draft.s0_mm - 200, draft.s1_mm + 200, "web")
    return [RailHole(name=h.name, along_mm=h.s_mm, up_mm=h.z_mm, diameter_mm=h.diameter_mm) for h in found]


def _pattern(draft: Draft, d: float, limits: WebHoleLimits) -> list[Place]:
    """Staggered in two rows where the web is deep enough, else one row half way up."""
    setting = draft.setting
    rail, flange = setting.rail, setting.rail.section.flange_thickness_mm
    edge = d / 2 + EDGE_THICKNESSES * setting.plate.thickness_mm
    rows = Rows.on(draft, pitch_mm=setting.plate.bolt_pitch_mm, edge_mm=edge)
    out: list[Place] = []
    for k, tape in enumerate(rows.tapes_mm):
        depth = rail.profile.depth_at_tape(tape)
        low, high = rows.span(tape)
        # Where even the middle is nearer to a flange than the guide asks, the middle it is: the finding says so.
        bottom = max(flange + limits.flange_gap_mm + d / 2, low + edge)
        top = min(depth - flange - limits.flange_gap_mm - d / 2, high - edge)
        middle = (low + high) / 2
        out.append(rows.place(tape, middle if top <= bottom + d else (bottom if k % 2 == 0 else top)))
    return out


def _bolted(draft: Draft, name: str, place: Place, index: int, centre: Point, drill: float) -> Draft:
    setting = draft.setting
    plate, rail, facet = setting.plate, setting.rail, draft.panels[index].facet
    datum, along = nearest_station(draft, place.tape_mm)
    seen = setting.vehicle(facet, *centre, plate.thickness_mm)
    far = setting.vehicle(facet, *centre, -rail.thickness_mm)
    grip = plate.thickness_mm + rail.thickness_mm
    drilling = Drilling(
        name=name,
        rail=rail.name,
        face="web",
        diameter_mm=drill,
        point=setting.vehicle(facet, *centre),
        along_mm=along,
        up_mm=place.up_mm,
        datum=datum,
        why=f"bolt {plate.bolt} of {plate.id}",
    )
    bolt = BoltLine(name=name, size=plate.bolt, head=seen, nut=far, grip_mm=grip, between=(plate.id, f"{rail.name} web"))
    return replace(
        draft,
        drilling=(*draft.drilling, drilling),
        bolts=(*draft.bolts, bolt),
        hardware=(*draft.hardware, *bolt_set(plate.bolt, grip, setting.place)),
    )


def bolt_set(size: str, grip_mm: float, use: str, *, for_rivet: bool = False) -> tuple[HardwareItem, ...]:
    """A bolt with its nut and two washers, hardened ones where it takes a rivet's place."""
    name = bolt_size(size).name
    strength, nut = strength_of(size, for_rivet=for_rivet)
    return (
        HardwareItem(designation=f"bolt {bolt_length(grip_mm, size).designation} {strength}", quantity=1, use=use),
        HardwareItem(designation=f"nut {name} {nut}", quantity=1, use=use),
        HardwareItem(designation=f"washer {name}{' hardened' if for_rivet else ''}", quantity=2, use=use),
    )


def strength_of(size: str, *, for_rivet: bool = False) -> tuple[str, str]:
    """(strength of a bolt that is bought, of its nut): class 8.8 of ISO 898-1 with class 8 of ISO 898-2; of an inch bolt grade 5 of SAE
    J429, the nearest to it, with grade 5 of SAE J995, coarse thread as is usual in the trade.

    In a rivet's place 10.9 with class 10, grade 8 with grade 8: a maker's manual asks for class 9.8 or better, which ends at M16 and
    which no inch grade between meets (`RIVET_SOURCE`). All from memory.
    """
    if for_rivet:
        return ("10.9", "class 10") if bolt_size(size).metric else ("UNC grade 8", "UNC grade 8")
    return ("8.8", "class 8") if bolt_size(size).metric else ("UNC grade 5", "UNC grade 5")


def nearest_station(draft: Draft, tape_mm: float) -> tuple[str, float]:
    """(station, tape length rearward of it) for laying a place off on the rail: the station before it if there is one."""
    return draft.setting.rail.laid_off(tape_mm)


def ruled(frame: Frame, rail: Rail, place: str, new: Sequence[RailHole], own: Sequence[RailHole]) -> tuple[Finding, ...]:
    """Each hole by the rules, in a frame of its own that lies along the rail: on a slope upright distances are too long.

    Args:
        new, own: the new holes and those that are there; along is s and up is z of the unrolled web.
    """
    use = Use(commercial="yes" if frame.use.commercial else "no", heat_treated=frame.steel.heat_treated)
    found: list[Finding] = []
    told: set[str] = set()
    for hole in new:
        tape, up = rail.profile.tape_and_up(hole.along_mm, hole.up_mm)
        slope, flange = rail.profile.upper.heading(tape), rail.section.flange_thickness_mm
        turned = [_seen_from(hole, other, slope, up) for other in (hole, *(o for o in (*own, *new) if o.name not in told))]
        found += web_hole_findings(
            f"{place}, {hole.name}",
            turned[0],
            inside_low_mm=flange,
            inside_high_mm=rail.profile.depth_at_tape(tape) - flange,
            neighbours=turned,
            use=use,
        )
        told.add(hole.name)  # a pair that is too close is told once
    return tuple(found)


def _seen_from(hole: RailHole, other: RailHole, slope_rad: float, up_mm: float) -> RailHole:
    ds, dz = other.along_mm - hole.along_mm, other.up_mm - hole.up_mm
    c, s = math.cos(slope_rad), math.sin(slope_rad)
    return replace(other, along_mm=ds * c + dz * s, up_mm=up_mm + dz * c - ds * s)
