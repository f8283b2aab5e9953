"""A bolted base: holes that are there already first, then a pattern of new ones, with what is drilled, bought and clamped."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from parts.bolt_size import bolt_size
from parts.errors import BadInput, Fault
from parts.features.bolts import FEWEST, bolt_set, ruled, strength_of
from parts.features.bracket.outline import Outline
from parts.features.bracket.site import Site
from parts.features.bracket.slots import ASKED_THICKNESSES, BEND_SOURCE, REFUSED_THICKNESSES, SLACK
from parts.features.held import RIVET_OUT, Fixing
from parts.frame.placed import PlacedHole
from parts.hardware import clearance_hole, rail_hole, spanner_room
from parts.hole_rules import RailHole, web_hole_limits
from parts.holes import Hole
from parts.outline import Point
from parts.piece import BoltLine, Drilling, HardwareItem, Removal

PLACE_MM = 1e-6  #: how far off a place may lie and still count as on it
PRACTICE = "common practice, no source"
EDGE_THICKNESSES = 2.0  #: hole edge to the base's own edge: TM 9-2320-289-34 p. 9-7


@dataclass(frozen=True, kw_only=True)
class _Room:
    """Where in the base a hole's centre may lie: |p| up to `half`, q between `low` and `high`."""

    half: float
    low: float
    high: float


def fixing_of(site: Site, outline: Outline) -> Fixing:
    bracket = site.bracket
    if bracket.attach != "bolt":
        if not bracket.pick_up:
            return Fixing()
        limit = "holes are picked up by bolts, and this base is welded"
        return Fixing(faults=(site.fault("pick_up", ", ".join(bracket.pick_up), limit, 'attach = "bolt"'),))
    try:
        bolt_set(bracket.bolt, grip_mm(site), site.place)
    except BadInput as error:
        return Fixing(faults=tuple(replace(f, where=site.where, field="bolt", value=bracket.bolt) for f in error.faults))
    in_rail = rail_hole(bracket.bolt).diameter_mm
    own = [
        RailHole(name=h.name, along_mm=h.s_mm, up_mm=h.z_mm, diameter_mm=h.diameter_mm)
        for h in site.frame.holes_on(site.rail.side, site.s(0.0) - 400, site.s(0.0) + 400, "web")
        if h.name not in bracket.pick_up
    ]
    fixing, taken = _picked(site, outline, in_rail)
    new, dropped, faults = _new(site, outline, in_rail, [*own, *taken])
    fixing = replace(fixing, faults=(*fixing.faults, *faults))
    for hole in new:
        fixing = _bolted(site, fixing, hole, existing_mm=None)
    if fixing.faults:
        return fixing
    if not fixing.holes:
        limits = web_hole_limits(in_rail)
        limit = f"no place for a bolt keeps {limits.hole_gap_mm:g} mm from the other holes of {site.rail.name}"
        return replace(fixing, faults=(site.fault("bolt", bracket.bolt, limit, "name the holes under pick_up, or move the bracket"),))
    return _judged(site, fixing, [*taken, *new], own, dropped, in_rail)


def _rooms(site: Site, outline: Outline, size: float) -> tuple[_Room, _Room]:
    """(with room as asked, with the least)."""
    t, r = site.thickness_mm, site.inside_radius_mm
    socket = spanner_room(site.bracket.bolt).centre_to_wall_mm
    edge = size / 2 + EDGE_THICKNESSES * t
    found: list[_Room] = []
    for thicknesses, wall in ((ASKED_THICKNESSES, socket), (REFUSED_THICKNESSES, 0.0)):
        bend = max(size / 2 + thicknesses * t + r, wall - r)
        half = outline.half_base - (bend if outline.gussets is not None else edge)
        low = max(q for _, q in outline.free) + edge
        if site.hangs:
            stops = [site.s(p) for p in (-outline.half_base, outline.half_base)]
            low = max(low, *(site.q(site.low(s) if site.upright > 0 else site.high(s)) + edge for s in stops))
        found.append(_Room(half=half, low=low, high=-bend))
    return found[0], found[1]


def _picked(site: Site, outline: Outline, in_rail: float) -> tuple[Fixing, list[RailHole]]:
    fixing, taken = Fixing(), []
    size = clearance_hole(site.bracket.bolt, "medium").diameter_mm
    _, least = _rooms(site, outline, size)
    for name in site.bracket.pick_up:
        try:
            own = site.frame.hole(name, site.rail.side)
        except BadInput as error:
            found = tuple(replace(f, where=site.where, field="pick_up") for f in error.faults)
            fixing = replace(fixing, faults=(*fixing.faults, *found))
            continue
        p, q = site.p(own.s_mm), site.q(own.z_mm)
        limit = _off_base(site, own, p, q, least)
        if limit:
            fault = site.fault("pick_up", name, limit, "move the bracket over it, or leave it out")
            fixing = replace(fixing, faults=(*fixing.faults, fault))
            continue
        diameter = max(own.diameter_mm, in_rail)
        bolt_mm = bolt_size(site.bracket.bolt).diameter_mm
        hole = RailHole(name=name, along_mm=own.s_mm, up_mm=own.z_mm, diameter_mm=diameter, bolt_mm=bolt_mm)
        taken.append(hole)
        if own.filled != "open":
            how = RIVET_OUT if own.filled == "rivet" else "undo it"
            removal = Removal(
                name=own.name, what=own.filled, where=f"{site.rail.name} web", point=own.point,
                why=f"its hole takes a bolt of {site.bracket.id}", how=how,
            )  # fmt: skip
            fixing = replace(fixing, removals=(*fixing.removals, removal))
        fixing = _bolted(site, fixing, hole, existing_mm=own.diameter_mm, rivet=own.filled == "rivet")
    return fixing, taken


def _off_base(site: Site, own: PlacedHole, p: float, q: float, room: _Room) -> str:
    """Why the base cannot take up a hole there; "" where it can."""
    if own.face != "web":
        return f"is in the {own.face}: a base takes up holes of the web"
    over = max(abs(p) - room.half, room.low - q, q - room.high)
    if over <= PLACE_MM:
        return ""
    low, high = sorted((site.z(room.low), site.z(room.high)))
    way = "rear" if p * site.along > 0 else "front"
    return (
        f"lies {over:.1f} mm off what the base has room for on {site.rail.name}: {abs(p):.1f} mm to the {way} of its middle at "
        f"z {own.z_mm:.1f} mm; up to {max(room.half, 0.0):.1f} mm and z {low:.1f} to {high:.1f} mm would do"
    )


def _new(site: Site, outline: Outline, in_rail: float, others: list[RailHole]) -> tuple[list[RailHole], int, list[Fault]]:
    """Columns as far apart as the base allows, in two rows where there is height for two."""
    bracket = site.bracket
    columns = bracket.bolt_columns
    if columns == 0:
        return [], 0, []
    size = clearance_hole(bracket.bolt, "medium").diameter_mm
    gap = web_hole_limits(in_rail).hole_gap_mm
    asked, least = _rooms(site, outline, size)
    room = asked if asked.half > 0 and asked.high >= asked.low else least
    apart = gap + in_rail
    wide = 2 * room.half
    faults: list[Fault] = []
    if room.half < 0 or (columns > 1 and wide < (columns - 1) * apart):
        need = (columns - 1) * apart - wide
        apart_all = (columns - 1) * apart
        limit = f"{columns} columns of {bracket.bolt} need {apart_all:.0f} mm between the outer ones; the base has {max(wide, 0.0):.1f} mm"
        remedy = f"a seat {math.ceil(max(need, -wide))} mm wider, fewer columns, or a smaller bolt"
        faults.append(site.fault("bolt_columns", str(columns), limit, remedy))
    if room.high < room.low:
        limit = f"the base is {room.low - room.high:.1f} mm too short for a hole of {size:g} mm with its distances to bend and edge"
        field, value = ("height", f"{bracket.height_mm:g} mm") if bracket.height_mm is not None else ("bolt", bracket.bolt)
        faults.append(site.fault(field, value, limit, 'more height, a smaller bolt, or attach = "weld"'))
    if faults:
        return [], 0, faults
    low, high = _off_flanges(site, room, in_rail)
    rows = (low, high) if high - low >= apart else ((low + high) / 2,)
    where: list[Point] = [
        (0.0 if columns == 1 else -room.half + wide * k / (columns - 1), q) for q in sorted(rows, reverse=True) for k in range(columns)
    ]
    new: list[RailHole] = []
    dropped = 0
    for p, q in where:
        hole = RailHole(
            name=f"bolt-{len(new) + 1}", along_mm=site.s(p), up_mm=site.z(q), diameter_mm=in_rail,
            bolt_mm=bolt_size(bracket.bolt).diameter_mm,
        )  # fmt: skip
        if any(hole.gap_mm(o) < gap for o in (*others, *new)):
            dropped += 1
            continue
        new.append(hole)
    return new, dropped, []


def _off_flanges(site: Site, room: _Room, in_rail: float) -> tuple[float, float]:
    """The rows' heights as far from the flanges as the guides ask, where the base has the room; else what the base has."""
    off = web_hole_limits(in_rail).flange_gap_mm + in_rail / 2
    spans = [site.rail.opening_between_flanges(site.s(p)) for p in (-room.half, room.half)]
    ends = [sorted((site.q(low + off), site.q(high - off))) for low, high in spans]
    low, high = max(room.low, *(e[0] for e in ends)), min(room.high, *(e[1] for e in ends))
    return (low, high) if low <= high else (room.low, room.high)


def grip_mm(site: Site) -> float:
    """From the base's seen face to the far side of the web."""
    t, face = site.thickness_mm, site.face
    if face.stack_mm:
        return t + face.stack_mm
    return t + (face.offset_mm if face.away > 0 else site.rail.section.flange_mm - face.offset_mm)


def tube_mm(site: Site) -> float:
    """Of the crush tube between the steel behind the face and the far web; 0 where all lies together."""
    if site.face.stack_mm:
        return 0.0
    return grip_mm(site) - site.thickness_mm - site.face.thickness_mm - site.rail.thickness_mm


def _bolted(site: Site, fixing: Fixing, hole: RailHole, *, existing_mm: float | None, rivet: bool = False) -> Fixing:
    bracket, rail = site.bracket, site.rail
    p, q = site.p(hole.along_mm), site.q(hole.up_mm)
    size, grip = clearance_hole(bracket.bolt, "medium").diameter_mm, grip_mm(site)
    drilling: list[Drilling] = []
    if existing_mm is None or existing_mm < hole.diameter_mm - PLACE_MM:
        tape, up = rail.profile.tape_and_up(hole.along_mm, hole.up_mm)
        datum, along = rail.laid_off(tape)
        for face in ["web"] if site.on_web else ["web", f"plate {site.face.name}"]:
            drilling.append(
                Drilling(
                    name=hole.name, rail=rail.name, face=face, diameter_mm=hole.diameter_mm, point=site.vehicle(p, q), along_mm=along,
                    up_mm=up, datum=datum, existing_mm=existing_mm if face == "web" else None, why=f"bolt {bracket.bolt} of {bracket.id}",
                )
            )  # fmt: skip
    between = (bracket.id, f"{rail.name} web") if site.on_web else (bracket.id, site.face.name, f"{rail.name} web")
    t = site.thickness_mm
    head, nut = site.vehicle(p, q, t), site.vehicle(p, q, t - grip)
    strength = strength_of(bracket.bolt, for_rivet=rivet)[0]
    bolt = BoltLine(name=hole.name, size=bracket.bolt, head=head, nut=nut, grip_mm=grip, between=between, strength=strength)
    items = [*bolt_set(bracket.bolt, grip, site.place, for_rivet=rivet)]
    if tube_mm(site):
        tube = f"crush tube for {bolt_size(bracket.bolt).name}, {tube_mm(site):.1f} mm long, cut to fit"
        items.append(HardwareItem(designation=tube, quantity=1, use=site.place))
    cut = Hole(name=hole.name, x_mm=p, y_mm=q, diameter_mm=size, purpose=f"bolt {bracket.bolt}")
    return replace(
        fixing, holes=(*fixing.holes, cut), bolts=(*fixing.bolts, bolt), drilling=(*fixing.drilling, *drilling),
        hardware=(*fixing.hardware, *items),
    )  # fmt: skip


def _judged(site: Site, fixing: Fixing, mine: list[RailHole], own: list[RailHole], dropped: int, in_rail: float) -> Fixing:
    rail, bracket = site.rail, site.bracket
    found = list(ruled(site.frame, rail, site.place, mine, own))
    if len(mine) < FEWEST:
        message, remedy = "one bolt alone lets the base turn", 'a wider base, or attach = "weld"'
        found.append(site.finding("one-bolt", "warn", message, value="1 bolt", limit="2 or more", remedy=remedy, source=PRACTICE))
    size = clearance_hole(bracket.bolt, "medium").diameter_mm
    near, asked = min(-h.y_mm - size / 2 for h in fixing.holes), ASKED_THICKNESSES * site.thickness_mm + site.inside_radius_mm
    if near < asked - SLACK:
        message, limit = f"a bolt hole lies {near:.1f} mm from the seat's bend: its edge may pull", f"3 t + r = {asked:.1f} mm"
        value, remedy = f"{near:.1f} mm", "more height, or a smaller bolt"
        found.append(site.finding("hole-near-bend", "warn", message, value=value, limit=limit, remedy=remedy, source=BEND_SOURCE))
    grip = grip_mm(site)
    text = f"{len(mine)} bolts {bracket.bolt}, grip {grip:.1f} mm; holes in the rail {in_rail:g} mm, drilled, in the base {size:g} mm"
    notes = [text + (f"; {dropped} dropped for other holes in the rail" if dropped else "")]
    if tube_mm(site):
        through = "" if site.on_web else f"plate {site.face.name}, drilled through from the base, and "
        notes.append(
            f"no steel lies close behind this face: the bolts go through {through}the far web, each in a crush tube "
            f"{tube_mm(site):.1f} mm long (flush to 5 mm proud) that goes in before the box is closed"
        )
    return replace(fixing, findings=tuple(found), notes=tuple(notes))


def hits(fixing: Fixing, site: Site, corners: tuple[Point, ...]) -> bool:
    """Whether a bolt's hole in the rail runs into a patch of the web given by its (s, z) corners."""
    low_s, high_s = min(c[0] for c in corners), max(c[0] for c in corners)
    low_z, high_z = min(c[1] for c in corners), max(c[1] for c in corners)
    for h in fixing.holes:
        s, z = site.s(h.x_mm), site.z(h.y_mm)
        off = math.hypot(max(low_s - s, 0.0, s - high_s), max(low_z - z, 0.0, z - high_z))
        if off < h.diameter_mm / 2:
            return True
    return False
