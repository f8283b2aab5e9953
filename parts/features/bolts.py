"""A bolted plate: a pattern of new holes through plate and web, kept to the rules for holes in a rail, and the drilling list for it."""

from __future__ import annotations

from dataclasses import replace

from parts.errors import Finding
from parts.features.draft import Draft
from parts.hardware import bolt_length, clearance_hole, rail_hole
from parts.hole_rules import RailHole, Use, web_hole_findings, web_hole_limits
from parts.holes import Hole
from parts.outline import Point
from parts.piece import BoltLine, Drilling, HardwareItem

EDGE_THICKNESSES = 2.0  #: hole edge to the plate's own edge: TM 9-2320-289-34 p. 9-7


def bolts(draft: Draft) -> Draft:
    setting = draft.setting
    plate, rail = setting.plate, setting.rail
    if plate.attach != "bolt":
        return draft
    if not setting.seat.on_web:
        return draft.fault("attach", "a bolted plate lies flat on the web", value="bolt", remedy='seat = "outside" or "inside"')
    in_rail = rail_hole(plate.bolt)
    size = clearance_hole(plate.bolt, "medium").diameter_mm
    limits = web_hole_limits(in_rail.diameter_mm)
    room = size / 2 + EDGE_THICKNESSES * plate.thickness_mm
    own = [
        RailHole(name=h.name, along_mm=h.s_mm, up_mm=h.z_mm, diameter_mm=h.diameter_mm)
        for h in setting.frame.holes_on(rail.side, draft.s0_mm - 200, draft.s1_mm + 200, "web")
    ]
    new: list[RailHole] = []
    dropped = 0
    for s, z in _pattern(draft, in_rail.diameter_mm, limits.flange_gap_mm):
        place = draft.at(s, z)
        if place is None:
            continue
        index, (u, v) = place
        hole = RailHole(name=f"bolt-{len(new) + 1}", along_mm=s, up_mm=z, diameter_mm=in_rail.diameter_mm)
        if draft.room(index, (u, v)) < room or any(hole.gap_mm(o) < limits.hole_gap_mm for o in (*own, *new)):
            dropped += 1
            continue
        new.append(hole)
        draft = draft.with_holes(index, [Hole(name=hole.name, x_mm=u, y_mm=v, diameter_mm=size, purpose=f"bolt {plate.bolt}")])
        draft = _bolted(draft, hole, index, u, v, in_rail.diameter_mm)
    if not new:
        return draft.fault("bolt", f"no place for a bolt keeps {limits.flange_gap_mm:g} mm from the flanges and {limits.hole_gap_mm:g} mm from other holes", value=plate.bolt)
    draft = _ruled(draft, new, own)
    text = f"{len(new)} bolts {plate.bolt} at {plate.bolt_pitch_mm:g} mm; holes in the rail {in_rail.diameter_mm:g} mm, drilled, in the plate {size:g} mm"
    return draft.note(text + (f"; {dropped} dropped for an edge, a bend, an opening or another hole" if dropped else ""))


def _pattern(draft: Draft, d: float, flange_gap: float) -> list[Point]:
    """(s, z) staggered in two rows where the web is deep enough, else one row half way up."""
    setting = draft.setting
    pitch = setting.plate.bolt_pitch_mm
    margin = 2 * d
    count = max(2, int((draft.s1_mm - draft.s0_mm - 2 * margin) // pitch) + 1)
    start = (draft.s0_mm + draft.s1_mm - (count - 1) * pitch) / 2
    out: list[Point] = []
    for k in range(count):
        s = start + k * pitch
        low, high = setting.rail.opening_between_flanges(s)
        bottom, top = low + flange_gap + d / 2, high - flange_gap - d / 2
        # Where even the middle is nearer to a flange than the guide asks, the middle it is: the finding says so.
        z = (low + high) / 2 if top <= bottom + d else (bottom if k % 2 == 0 else top)
        out.append((s, z))
    return out


def _bolted(draft: Draft, hole: RailHole, index: int, u: float, z: float, rail_diameter: float) -> Draft:
    setting = draft.setting
    plate, rail = setting.plate, setting.rail
    facet = draft.panels[index].facet
    tape, up = rail.profile.tape_and_up(hole.along_mm, hole.up_mm)
    datum, along = nearest_station(draft, tape)
    seen = setting.vehicle(facet, u, z, plate.thickness_mm)
    far = setting.vehicle(facet, u, z, -rail.thickness_mm)
    grip = plate.thickness_mm + rail.thickness_mm
    drilling = Drilling(
        name=hole.name,
        rail=rail.name,
        face="web",
        diameter_mm=rail_diameter,
        point=setting.vehicle(facet, u, z),
        along_mm=along,
        up_mm=up,
        datum=datum,
        why=f"bolt {plate.bolt} of {plate.id}",
    )
    bolt = BoltLine(name=hole.name, size=plate.bolt, head=seen, nut=far, grip_mm=grip, between=(plate.id, f"{rail.name} web"))
    use = setting.place
    items = (
        HardwareItem(designation=f"bolt {bolt_length(grip, plate.bolt).designation} 8.8", quantity=1, use=use),
        HardwareItem(designation=f"nut {plate.bolt} class 8", quantity=1, use=use),
        HardwareItem(designation=f"washer {plate.bolt}", quantity=2, use=use),
    )
    return replace(draft, drilling=(*draft.drilling, drilling), bolts=(*draft.bolts, bolt), hardware=(*draft.hardware, *items))


def nearest_station(draft: Draft, tape: float) -> tuple[str, float]:
    """(station, tape length rearward of it) for laying a place off on the rail: the station before it if there is one."""
    rail = draft.setting.rail
    places = sorted((rail.places[name], name) for name in rail.station_names)
    before = [p for p in places if p[0] <= tape + 1e-6]
    at, name = before[-1] if before else places[0]
    return name, tape - at


def _ruled(draft: Draft, new: list[RailHole], own: list[RailHole]) -> Draft:
    frame, rail = draft.setting.frame, draft.setting.rail
    use = Use(commercial="yes" if frame.use.commercial else "no", heat_treated=frame.steel.heat_treated)
    found: list[Finding] = []
    for hole in new:
        low, high = rail.opening_between_flanges(hole.along_mm)
        findings = web_hole_findings(f"{draft.setting.place}, {hole.name}", hole, inside_low_mm=low, inside_high_mm=high, neighbours=(*own, *new), use=use)
        found += findings
    return replace(draft, findings=(*draft.findings, *found))
