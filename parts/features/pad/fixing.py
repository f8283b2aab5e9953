"""A bolted base: the rail's own holes first, then new ones, drilled through the pad; with what is bought and clamped."""

from __future__ import annotations

import math
from dataclasses import replace

from parts.bolt_size import bolt_size
from parts.errors import BadInput, Fault, Finding
from parts.features.bolts import FEWEST, bolt_set, ruled, strength_of
from parts.features.bracket.slots import ASKED_THICKNESSES, BEND_SOURCE
from parts.features.held import RIVET_OUT, Fixing
from parts.features.pad.ground import Ground
from parts.features.pad.places import Place, new_places, pad_mm, picked_up, rail_mm
from parts.features.pad.planes import dot, minus
from parts.features.pad.stand import Stand
from parts.frame.faces import UprightFace
from parts.frame.placed import PlacedHole
from parts.hardware import RAIL_PLAY_MM, spanner_room, washer
from parts.hole_rules import RailHole, Use, flange_hole_findings, web_hole_findings
from parts.holes import Hole
from parts.piece import BoltLine, Drilling, HardwareItem, Removal

PLACE_MM = 1e-6  #: how far off a place may lie and still count as on it
NEAR_MM = 400.0
PRACTICE = "common practice, no source"
VSB_6 = "VSB 6 section H: a hole in a rail at most the bolt + 1.0 mm"


def fixing_of(ground: Ground, stand: Stand) -> Fixing:
    pad = ground.pad
    if pad.attach != "bolt":
        return Fixing()
    own = [h for h in ground.frame.holes_on(ground.rail.side, ground.s(0.0) - NEAR_MM, ground.s(0.0) + NEAR_MM, ground.face)]
    picked, faults, large = picked_up(ground, stand, own)
    if faults:
        return Fixing(faults=tuple(faults))
    new = new_places(ground, stand, own, picked, pad.bolts - len(picked))
    if not picked and not new:
        return Fixing(faults=(_nowhere(ground),))
    try:
        return _made(ground, stand, [*picked, *new], [h for h in own if h.name not in {p.rail_hole.name for p in picked}], large)
    except BadInput as error:  # no listed bolt is that long
        return Fixing(faults=tuple(replace(f, where=ground.where, field="bolt", value=pad.bolt) for f in error.faults))


def grip_mm(ground: Ground) -> float:
    """From the base's seen face to the far side of the steel that its bolts go through: of a closed rail through both its webs."""
    t, face, section = ground.thickness_mm, ground.upright, ground.rail.section
    if face is None:
        return t + section.flange_thickness_mm
    if all_together(ground):
        return t + face.stack_mm
    return t + (face.offset_mm if face.away > 0 else section.flange_mm - face.offset_mm)


def all_together(ground: Ground) -> bool:
    """Whether the base's bolts go through steel alone. Behind one wall of a closed rail no nut can be reached, plate on it or none."""
    return ground.upright is None or (ground.upright.stack_mm > 0 and ground.rail.section.kind != "closed")


def tube_mm(ground: Ground) -> float:
    """Of the crush tube between the steel behind the face and the far web; 0 where all lies together."""
    if ground.upright is None or all_together(ground):
        return 0.0
    near = ground.rail.thickness_mm if ground.on_plate and ground.rail.section.kind == "closed" else 0.0
    return grip_mm(ground) - ground.thickness_mm - ground.upright.thickness_mm - near - ground.rail.thickness_mm


def _nowhere(ground: Ground) -> Fault:
    pad = ground.pad
    if ground.upright is None and not pad.flange_holes:
        limit = f"no open hole of the {ground.face} of {ground.rail.name} lies under the base, and a flange is not drilled"
        remedy = 'attach = "weld", name holes under pick_up, or flange_holes = true where the rules for this vehicle allow it'
        return ground.fault("attach", "bolt", limit, remedy)
    limit = f"the base has no place for a bolt {pad.bolt} with its distances to bend, edges and the rail's other holes"
    return ground.fault("bolt", pad.bolt, limit, "a wider or higher base, a smaller bolt, or move the pad along the rail")


def _made(
    ground: Ground, stand: Stand, places: list[Place], others: list[PlacedHole], large: list[PlacedHole]
) -> Fixing:
    pad, bolt = ground.pad, bolt_size(ground.pad.bolt)
    size, grip, t = pad_mm(ground), grip_mm(ground), ground.thickness_mm
    parts = [pad.id, pad.on] if ground.on_plate else [pad.id]
    between = (*parts, f"{ground.rail.name} {ground.face}")
    hardware: list[HardwareItem] = []
    bolts: list[BoltLine] = []
    drilling: list[Drilling] = []
    for place in places:
        behind = plates_behind(ground, place)
        whole = grip + sum(f.thickness_mm for f in behind)
        rivet = place.own is not None and place.own.filled == "rivet"
        hardware += bolt_set(pad.bolt, whole, ground.place, for_rivet=rivet)
        ends = (ground.point(*place.at, t), ground.point(*place.at, t - whole))
        bolts.append(
            BoltLine(name=place.rail_hole.name, size=pad.bolt, head=ends[0], nut=ends[1], grip_mm=whole,
                     between=(*between, *(f.name for f in behind)), strength=strength_of(pad.bolt, for_rivet=rivet)[0])
        )  # fmt: skip
        drilling += _drilling(ground, place, behind)
    if tube_mm(ground):
        tube = f"crush tube for {bolt.name}, {tube_mm(ground):.1f} mm long, cut to fit"
        hardware.append(HardwareItem(designation=tube, quantity=len(places), use=ground.place))
    fixing = Fixing(
        holes=tuple(Hole(name=p.rail_hole.name, x_mm=p.at[0], y_mm=p.at[1], diameter_mm=size, purpose=f"bolt {pad.bolt}") for p in places),
        bolts=tuple(bolts),
        drilling=tuple(drilling),
        removals=tuple(_removal(ground, p.own) for p in places if p.own is not None and p.own.filled != "open"),
        hardware=tuple(hardware),
    )  # fmt: skip
    return replace(fixing, findings=tuple(_findings(ground, stand, places, others, large)), notes=tuple(_notes(ground, places)))


def plates_behind(ground: Ground, place: Place) -> list[UprightFace]:
    """Plates of the job, built before, that lie on the far side of the web there: the bolt goes through them too."""
    mine = ground.upright
    if mine is None or not all_together(ground):
        return []
    out = []
    for face in ground.frame.faces:
        if face.side != ground.rail.side or face.away == mine.away or not face.stack_mm or face.edges is None:
            continue
        s, z = place.rail_hole.along_mm, place.rail_hole.up_mm
        if face.s0_mm <= s <= face.s1_mm and face.edges[0].y_at(s) <= z <= face.edges[1].y_at(s):
            out.append(face)
    return out


def _drilling(ground: Ground, place: Place, behind: list[UprightFace]) -> list[Drilling]:
    hole, own, rail = place.rail_hole, place.own, ground.rail
    existing = own.diameter_mm if own is not None else None
    s, z, _ = rail.szo(ground.point(*place.at))
    if ground.upright is not None:
        tape, up = rail.profile.tape_and_up(s, z)
    else:
        tape, up = rail.profile.tape_and_up(s, z)[0], (rail.depth_at(s) if ground.face == "upper flange" else 0.0)
    datum, along = rail.laid_off(tape)
    how = "opened out" if existing is not None else "drilled"
    across = "" if ground.upright is not None else f"; {place.at[1]:.1f} mm in from the web's outside"
    why = f"bolt {ground.pad.bolt} of {ground.pad.id}: {how} through the pad, which is the template{across}"
    out = []
    plates = [*([ground.pad.on] if ground.on_plate else []), *(f.name for f in behind)]
    for face in [ground.face, *(f"plate {name}" for name in plates)]:
        here = existing if face == ground.face else None
        if here is not None and here >= hole.diameter_mm - PLACE_MM:
            if ground.rail.section.kind != "closed" or ground.upright is None:
                continue
            here = None  # it is in one wall alone: the other one is drilled in line with it
        out.append(
            Drilling(name=hole.name, rail=rail.name, face=face, diameter_mm=hole.diameter_mm, point=ground.point(*place.at), along_mm=along,
                     up_mm=up, datum=datum, existing_mm=here, why=why)
        )  # fmt: skip
    return out


def _removal(ground: Ground, own: PlacedHole) -> Removal:
    how = RIVET_OUT if own.filled == "rivet" else "undo it"
    where, why = f"{ground.rail.name} {ground.face}", f"its hole takes a bolt of {ground.pad.id}"
    return Removal(name=own.name, what=own.filled, where=where, point=own.point, why=why, how=how)


def _findings(ground: Ground, stand: Stand, places: list[Place], others: list[PlacedHole], large: list[PlacedHole]) -> list[Finding]:
    pad, bolt = ground.pad, bolt_size(ground.pad.bolt)
    out: list[Finding] = []
    mine = [p.rail_hole for p in places]
    if ground.upright is not None:
        own = [RailHole(name=h.name, along_mm=h.s_mm, up_mm=h.z_mm, diameter_mm=h.diameter_mm) for h in others]
        out += ruled(ground.frame, ground.rail, ground.place, mine, own)
    else:
        out += _in_flange(ground, places)
    washed = washer(pad.bolt)
    for one in (p.rail_hole for p in places if p.rail_hole.diameter_mm >= washed.outside_mm - PLACE_MM):
        message = f"the washer of a bolt {bolt.name} falls into hole {one.name}"
        limit = f"under {washed.outside_mm:g} mm, a washer {bolt.name}"
        value, remedy = f"{one.diameter_mm:g} mm", "a larger bolt, or leave the hole out of pick_up"
        out.append(ground.finding("washer-small", "stop", message, value=value, limit=limit, remedy=remedy, source=washed.source))
    for hole in large:
        value = f"{hole.diameter_mm:g} mm"
        message = f"the open hole {hole.name} under the base is {value}: too large to place a bolt {pad.bolt} by, and not used"
        limit, remedy = f"at most {bolt.diameter_mm + RAIL_PLAY_MM:g} mm", "a larger bolt that fits it, or name it under pick_up"
        out.append(ground.finding("hole-not-used", "note", message, value=value, limit=limit, remedy=remedy, source=VSB_6))
    if len(places) < FEWEST:
        message, remedy = "one bolt alone lets the base turn", 'a wider base, or attach = "weld"'
        out.append(ground.finding("one-bolt", "warn", message, value="1 bolt", limit="2 or more", remedy=remedy, source=PRACTICE))
    if len(places) < pad.bolts:
        message = f"{pad.bolts} bolts were asked for; the base has places for {len(places)}"
        if ground.upright is None and not pad.flange_holes:
            message += f", the holes of the {ground.face} that are there"
        remedy = "a wider or higher base, or fewer bolts"
        value, limit = f"{len(places)} bolts", f"{pad.bolts} asked for"
        out.append(ground.finding("fewer-bolts", "warn", message, value=value, limit=limit, remedy=remedy, source=PRACTICE))
    return [*out, *_rooms(ground, stand, places)]


def _in_flange(ground: Ground, places: list[Place]) -> list[Finding]:
    """A flange that is drilled, or has a hole opened out: cutting is cutting. And holes of it that are too large for their bolts."""
    use = Use(commercial="yes" if ground.frame.use.commercial else "no", heat_treated=ground.frame.steel.heat_treated)
    where, out = f"{ground.place}, {ground.face} of {ground.rail.name}", list[Finding]()
    if any(p.own is None or p.own.diameter_mm < p.rail_hole.diameter_mm - PLACE_MM for p in places):
        out += flange_hole_findings(where, use=use)
    depth = ground.rail.depth_at(ground.s(0.0))
    for place in places:
        # Only its play is asked after: how far it lies from a flange's inside is asked of holes in a web.
        told = web_hole_findings(f"{where}, {place.rail_hole.name}", place.rail_hole, inside_low_mm=-depth, inside_high_mm=depth, use=use)
        out += [f for f in told if f.code == "hole-loose"]
    return out


def _rooms(ground: Ground, stand: Stand, places: list[Place]) -> list[Finding]:
    """The bolt nearest to the base's bend: whether its hole pulls, and whether a socket goes on."""
    pad, t, r = ground.pad, ground.thickness_mm, ground.radius_mm
    bend = stand.base.contour.segments[stand.base.hangs or 0]
    off = min(bend.distance(p.at) for p in places)
    near, asked = off - pad_mm(ground) / 2, ASKED_THICKNESSES * t + r
    out = []
    if near < asked - PLACE_MM:
        message, limit = f"a bolt hole lies {near:.1f} mm from the base's bend: its edge may pull", f"3 t + r = {asked:.1f} mm"
        value, remedy = f"{near:.1f} mm", "a higher base, or a smaller bolt"
        out.append(ground.finding("hole-near-bend", "warn", message, value=value, limit=limit, remedy=remedy, source=BEND_SOURCE))
    room = spanner_room(pad.bolt)
    fold = stand.folds[0]
    head = 2 * bolt_size(pad.bolt).diameter_mm  # about the height of a head with the socket's end on it
    leans = math.pi / 2 - fold.turn_rad
    wall = off + r + head * math.tan(leans) if abs(leans) < 1.5 else math.inf
    wall = min(wall, off + r) if leans < 0 else off + r
    if wall < room.centre_to_wall_mm - PLACE_MM:
        message = f"a bolt {pad.bolt} of the base stands {max(wall, 0.0):.1f} mm from the stand: no socket goes on"
        limit, remedy = f"{room.centre_to_wall_mm:.1f} mm from the bolt's centre", "a higher base, or turn the nut and hold the head"
        value = f"{max(wall, 0.0):.1f} mm"
        out.append(ground.finding("spanner-room", "warn", message, value=value, limit=limit, remedy=remedy, source=room.source))
    return out


def over_bolts(ground: Ground, stand: Stand, fixing: Fixing, reach_mm: float) -> tuple[str, ...]:
    """The base's bolts over whose heads a panel of the stand stands within reach."""
    out = []
    normal = ground.normal
    for hole in fixing.holes:
        start = ground.point(hole.x_mm, hole.y_mm)
        for panel in stand.panels[1:]:
            n = panel.place.normal
            toward = dot(n, normal)
            if abs(toward) < 1e-9:
                continue
            way = dot(n, minus(panel.place.origin, start)) / toward
            at = (start[0] + way * normal[0], start[1] + way * normal[1], start[2] + way * normal[2])
            d = minus(at, panel.place.origin)
            if 0 < way < reach_mm and panel.contour.contains((dot(d, panel.place.u), dot(d, panel.place.v))):
                out.append(hole.name)
                break
    return tuple(out)


def _notes(ground: Ground, places: list[Place]) -> list[str]:
    pad = ground.pad
    used = [p.rail_hole.name for p in places if p.own is not None]
    new = len(places) - len(used)
    told = []
    if used:
        told.append(f"{len(used)} in holes that are there ({', '.join(used)})")
    if new:
        told.append(f"{new} in new holes")
    text = (
        f"{len(places)} bolts {pad.bolt}, grip {grip_mm(ground):.1f} mm: {' and '.join(told)}; the pad is the drill template: clamp it in "
        f"place, spot through its {pad_mm(ground):g} mm holes, drill the rail {rail_mm(ground):g} mm, no larger (bolt + 1.0 mm at most)"
    )
    drilled = new or any(_drilling(ground, p, plates_behind(ground, p)) for p in places)
    notes = [text if drilled else text.partition("; the pad")[0]]
    behind = sorted({f.name for p in places for f in plates_behind(ground, p)})
    if behind:
        notes.append(f"bolts also go through {', '.join(behind)} on the far side of the web, and are that much longer")
    if tube_mm(ground):
        through = f"plate {pad.on}, drilled through from the base, and " if ground.on_plate else ""
        notes.append(
            f"no steel lies close behind this face: the bolts go through {through}the far web, each in a crush tube "
            f"{tube_mm(ground):.1f} mm long (flush to 5 mm proud) that goes in before the box is closed"
        )
    return notes
