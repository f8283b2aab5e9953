"""Where the bolts of a base go: into holes of the rail that are there already first, then into new ones."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from parts.bolt_size import bolt_size
from parts.errors import BadInput, Fault
from parts.features.bracket.slots import ASKED_THICKNESSES, EDGE_THICKNESSES, REFUSED_THICKNESSES
from parts.features.pad.ground import Ground
from parts.features.pad.stand import Stand
from parts.frame.placed import PlacedHole
from parts.hardware import RAIL_PLAY_MM, clearance_hole, rail_hole, spanner_room
from parts.hole_rules import RailHole, web_hole_limits
from parts.outline import Point

PLACE_MM = 1e-6  #: how far off a place may lie and still count as on it
STEPS = 24  #: places tried across and along the base


@dataclass(frozen=True, kw_only=True)
class Place:
    """A bolt of the base: in ground coordinates, and its hole in the rail."""

    at: Point
    rail_hole: RailHole
    own: PlacedHole | None = None  #: the hole that is there already


def rail_mm(ground: Ground) -> float:
    """Diameter of a hole in the rail: the largest of the tables that is no more than the bolt + 1.0 mm."""
    return rail_hole(ground.pad.bolt).diameter_mm


def pad_mm(ground: Ground) -> float:
    return clearance_hole(ground.pad.bolt, "medium").diameter_mm


def room_mm(ground: Ground, stand: Stand, at: Point, thicknesses: float, wall: float) -> float:
    """By how much a bolt's hole in the base keeps its distances: `thicknesses` t + r and a socket to the bend, 2 t to the edges, and
    what the face has for it. Below 0: it does not."""
    contour, size, t, r = stand.base.contour, pad_mm(ground), ground.thickness_mm, ground.radius_mm
    hangs = stand.base.hangs
    rooms = []
    for i, edge in enumerate(contour.segments):
        (ax, ay), (bx, by) = edge.a, edge.b
        off = ((bx - ax) * (at[1] - ay) - (by - ay) * (at[0] - ax)) / edge.chord  # + to the left: inside
        need = max(size / 2 + thicknesses * t + r, wall - r) if i == hangs else size / 2 + EDGE_THICKNESSES * t
        rooms.append(off - need)
    low, high = ground.span(at[0])
    edge_mm = size / 2 + (EDGE_THICKNESSES * t if ground.on_plate else 0.0)
    return min(*rooms, at[1] - low - edge_mm, high - at[1] - edge_mm)


def picked_up(ground: Ground, stand: Stand, own: list[PlacedHole]) -> tuple[list[Place], list[Fault], list[PlacedHole]]:
    """(holes that are taken up, faults, holes under the base that are too large to place a bolt by)."""
    pad = ground.pad
    bolt, drill = bolt_size(pad.bolt).diameter_mm, rail_mm(ground)
    places: list[Place] = []
    faults: list[Fault] = []
    large: list[PlacedHole] = []
    for name in pad.pick_up:
        try:
            hole = ground.frame.hole(name, ground.rail.side)
        except BadInput as error:
            faults += [replace(f, where=ground.where, field="pick_up") for f in error.faults]
            continue
        at = ground.ab(hole.point)
        if hole.face != ground.face:
            limit = f"is in the {hole.face}: this base takes up holes of the {ground.face}"
            faults.append(ground.fault("pick_up", name, limit, "another face under on, or leave it out"))
        elif ground.upright is None and not pad.flange_holes and hole.diameter_mm < drill - PLACE_MM:
            limit = f"is {hole.diameter_mm:g} mm, a bolt {pad.bolt} needs {drill:g} mm, and a hole of a flange is not opened out"
            remedy = "a smaller bolt, leave it out, or flange_holes = true where the rules for this vehicle allow it"
            faults.append(ground.fault("pick_up", name, limit, remedy))
        elif (over := -room_mm(ground, stand, at, REFUSED_THICKNESSES, 0.0)) > PLACE_MM:
            limit = (
                f"lies {over:.1f} mm off what the base has room for on {ground.onto}: {abs(at[0]):.1f} mm beside its middle, its edges and "
                "its bend kept off by 2 t and 2 t + r"
            )
            faults.append(ground.fault("pick_up", name, limit, "a wider or higher base, move the pad over it, or leave it out"))
        else:
            places.append(Place(at=at, rail_hole=_as_hole(hole, max(hole.diameter_mm, drill), bolt), own=hole))
    opened = ground.upright is not None or pad.flange_holes  # a flange's hole is not opened out unless it is said
    for hole in own:
        at = ground.ab(hole.point)
        if hole.name in pad.pick_up or hole.filled != "open" or not stand.base.contour.contains(at):
            continue
        if not opened and hole.diameter_mm < drill - PLACE_MM:
            continue
        if hole.diameter_mm > bolt + RAIL_PLAY_MM + PLACE_MM:
            large.append(hole)
        elif len(places) < pad.bolts and room_mm(ground, stand, at, REFUSED_THICKNESSES, 0.0) >= -PLACE_MM:
            taken = _as_hole(hole, max(hole.diameter_mm, drill), bolt)
            if all(taken.gap_mm(p.rail_hole) >= 2 * ground.thickness_mm for p in places):
                places.append(Place(at=at, rail_hole=taken, own=hole))
    if len(places) > pad.bolts:
        limit = f"names {len(pad.pick_up)} holes for {pad.bolts} bolts"
        faults.append(ground.fault("bolts", str(pad.bolts), limit, f"{len(pad.pick_up)} or more"))
    return places, faults, large


def _as_hole(hole: PlacedHole, diameter: float, bolt: float) -> RailHole:
    return RailHole(name=hole.name, along_mm=hole.s_mm, up_mm=_up(hole), diameter_mm=diameter, bolt_mm=bolt)


def _up(hole: PlacedHole) -> float:
    return hole.z_mm if hole.face == "web" else hole.in_mm


def new_places(ground: Ground, stand: Stand, own: list[PlacedHole], picked: list[Place], wanted: int) -> list[Place]:
    """New holes, each as far as can be from those before it, of a grid over what the base has room for."""
    if wanted <= 0 or (ground.upright is None and not ground.pad.flange_holes):
        return []
    drill, bolt = rail_mm(ground), bolt_size(ground.pad.bolt).diameter_mm
    gap = web_hole_limits(drill).hole_gap_mm
    others = [_as_hole(h, h.diameter_mm, bolt) for h in own if all(h.name != p.rail_hole.name for p in picked)]
    taken = list(picked)
    out: list[Place] = []
    spots = _grid(ground, stand)
    while len(out) < wanted:
        fitting: list[tuple[float, Point, RailHole]] = []
        for at in spots:
            s, z, offset = ground.rail.szo(ground.point(*at))
            up = z if ground.upright is not None else offset
            hole = RailHole(name=f"bolt-{len(out) + 1}", along_mm=s, up_mm=up, diameter_mm=drill, bolt_mm=bolt)
            if any(hole.gap_mm(o) < gap for o in (*others, *(p.rail_hole for p in taken))):
                continue
            away = min((math.dist(at, p.at) for p in taken), default=math.hypot(*at))
            fitting.append((away, at, hole))
        if not fitting:
            break
        _, at, hole = max(fitting, key=lambda f: (round(f[0], 6), f[1]))
        out.append(Place(at=at, rail_hole=hole))
        taken.append(out[-1])
    return out


def _grid(ground: Ground, stand: Stand) -> list[Point]:
    """Places with the room that is asked for, or with the least where there is none; off the flanges as guides ask, if that leaves any."""
    x0, y0, x1, y1 = stand.base.contour.box
    steps = STEPS
    every = [(x0 + (x1 - x0) * i / steps, y0 + (y1 - y0) * j / steps) for i in range(steps + 1) for j in range(steps + 1)]
    socket = spanner_room(ground.pad.bolt).centre_to_wall_mm
    found = [p for p in every if room_mm(ground, stand, p, ASKED_THICKNESSES, socket) >= 0]
    found = found or [p for p in every if room_mm(ground, stand, p, REFUSED_THICKNESSES, 0.0) >= 0]
    if ground.upright is None:
        return found
    off = web_hole_limits(rail_mm(ground)).flange_gap_mm + rail_mm(ground) / 2
    low, high = ground.rail.opening_between_flanges(ground.s(0.0))
    return [p for p in found if low + off <= p[1] <= high - off] or found
