"""Which of the possible stands is made: the first that is clear of its own rail."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import NamedTuple

from parts.errors import Fault
from parts.features.pad.ground import Ground
from parts.features.pad.pattern import judged_holes
from parts.features.pad.planes import cross, dot, minus, plus
from parts.features.pad.stand import Found, Stand, StandPanel, armed, height_asked, straight
from parts.prisms import Prism, clash
from parts.sheet import Vec3

STEP_MM = 2.0  #: between the feet that are tried
RAIL_STEP_MM = 20.0  #: the rail's edge as a chain of chords that long
ZONE_STEPS = 4
REACH_MM = 60.0  #: how far past the stand the rail is looked at
SLACK_MM = 1e-7  #: air that is just kept is kept
TOUCH_MM = 1e-3  #: what may seem to lie in the steel that it only touches


class Wall(NamedTuple):
    """A piece of the rail as a prism along the rail, swollen by the air that is kept to it."""

    name: str
    prism: Prism


def stand_of(ground: Ground) -> tuple[Stand | None, list[Fault]]:
    """The stand, or why there is none."""
    pad = ground.pad
    walls = _walls(ground)
    first: list[Fault] = []
    plain: Stand | None = None
    if pad.fold != "arm" and ground.upright is not None and pad.foot_mm is None and pad.top_back_mm is None:
        plain, first = _clear(ground, straight(ground), walls)
        if pad.fold == "straight" or (plain is not None and not judged_holes(ground, plain)[0]):
            return plain, first
    elif pad.fold == "straight":
        limit = "from a flange the top stands on a riser: base, riser, top"
        return None, [ground.fault("fold", pad.fold, limit, 'fold = "arm" or "auto"')]
    best: list[Fault] = []
    for foot in _feet(ground):
        stand, faults = _clear(ground, armed(ground, foot), walls)
        if stand is not None:
            return stand, []
        best = best or faults
    if plain is not None:  # what keeps its holes from being there is told of it
        return plain, []
    return None, list(dict.fromkeys([*first, *best]))


def _feet(ground: Ground) -> list[float]:
    """Where the arm's foot may lie on the base (b): as asked, flush with the flange's edge, or from nearest to the point's height on."""
    pad, section = ground.pad, ground.rail.section
    if ground.upright is None:
        if pad.foot_mm is not None:
            return [pad.foot_mm]
        return [section.flange_mm if ground.way > 0 else 0.0]
    if pad.foot_mm is not None:
        return [ground.rail.profile.upper_z(ground.s(0.0)) - pad.foot_mm]
    low, high = ground.span(0.0)
    count = max(1, math.ceil((high - low) / STEP_MM))
    wanted = ground.ab(ground.target.point)[1]
    return sorted((low + (high - low) * k / count for k in range(count + 1)), key=lambda b: (abs(b - wanted), b))


def _clear(ground: Ground, found: Found, walls: list[Wall]) -> Found:
    stand, faults = found
    if stand is None:
        return found
    for wall in walls:
        for panel in stand.panels[1:]:
            where = clash(_prism(panel, ground.thickness_mm), wall.prism)
            if where is not None:
                return None, [*faults, _in_the_way(ground, f"the {panel.name}", wall.name)]
        if any(_holds(wall.prism, p) for p in _zone_points(ground, stand)):
            return None, [*faults, _in_the_way(ground, "a bend", wall.name)]
    return stand, faults


def _in_the_way(ground: Ground, what: str, wall: str) -> Fault:
    field, value = height_asked(ground)
    limit = f"{what} would run into the {wall} of {ground.rail.name}, or nearer to it than {ground.pad.clearance_mm:g} mm"
    remedy = "a point further out or at another height, another face under on, or another edge under leaves"
    return ground.fault(field, value, limit, remedy)


def _prism(panel: StandPanel, thickness: float) -> Prism:
    place = panel.place
    return Prism(origin=place.origin, u=place.u, v=place.v, ring=panel.corners, thickness_mm=thickness)


def _zone_points(ground: Ground, stand: Stand) -> list[Vec3]:
    """On both faces of every bend, at its ends and its middle."""
    out: list[Vec3] = []
    t, r = ground.thickness_mm, ground.radius_mm
    for (parent, child), fold in zip(pairwise(stand.panels), stand.folds, strict=True):
        normal = cross(parent.place.u, parent.place.v)
        sign = 1.0 if fold.turn_rad > 0 else -1.0
        wide = child.corners[1][0]
        for k in range(ZONE_STEPS + 1):
            phi = abs(fold.turn_rad) * k / ZONE_STEPS
            for z in (0.0, t):
                radius = r + t - z if sign > 0 else r + z
                axis = t + r if sign > 0 else -r
                for along in (0.0, wide / 2, wide):
                    edge = plus(child.place.origin, (-fold.setback_mm, fold.ahead), (-fold.setback_mm, fold.out), (along, fold.along))
                    out.append(plus(edge, (radius * math.sin(phi), fold.out), (axis - sign * radius * math.cos(phi), normal)))
    return out


def _holds(prism: Prism, p: Vec3) -> bool:
    d = minus(p, prism.origin)
    x, y, z = dot(d, prism.u), dot(d, prism.v), dot(d, cross(prism.u, prism.v))
    if not 0.0 < z < prism.thickness_mm:
        return False
    inside = False
    for (ax, ay), (bx, by) in zip(prism.ring, (*prism.ring[1:], prism.ring[0]), strict=True):
        if (ay > y) != (by > y) and x < ax + (y - ay) * (bx - ax) / (by - ay):
            inside = not inside
    return inside


def _across(ground: Ground, air: float) -> tuple[float, float]:
    """Offsets over which a flange stands in the way: with air on both sides, but none where the base stands flush with it outside."""
    face, flange = ground.upright, ground.rail.section.flange_mm
    low, high = -air, flange + air
    if face is not None and face.away < 0:
        low = max(low, face.offset_mm + TOUCH_MM)
    elif face is not None and not ground.inside_section:
        high = min(high, face.offset_mm - TOUCH_MM)
    return low, high


def _walls(ground: Ground) -> list[Wall]:
    """Flanges and webs of the rail along the stand. Air is kept to the flanges, but not to the one that the base stands on."""
    rail, section = ground.rail, ground.rail.section
    half = max(ground.half_mm, (ground.pad.top_width_mm or 0.0) / 2) + REACH_MM
    s0, s1 = sorted((ground.s(-half), ground.s(half)))
    steps = max(1, math.ceil((s1 - s0) / RAIL_STEP_MM))
    stops = [s0 + (s1 - s0) * k / steps for k in range(steps + 1)]
    middle = ground.s(0.0)
    (c, d, _), foot = rail.direction(middle), rail.point(middle, 0.0)

    def prism(low: list[float], high: list[float], offset: tuple[float, float]) -> Prism:
        # u rearward, v up: u x v points to the vehicle's left; offsets count towards the open side.
        to_left = -rail.opening_sign
        near = max(offset) if to_left < 0 else min(offset)
        n = rail.normal(middle)
        ring = [(s - middle, z) for s, z in zip(stops, low, strict=True)]
        ring += [(s - middle, z) for s, z in zip(stops[::-1], high[::-1], strict=True)]
        return Prism(
            origin=plus(foot, (near, n)), u=(c, d, 0.0), v=(0.0, 0.0, 1.0), ring=tuple(ring), thickness_mm=max(offset) - min(offset)
        )

    profile, t = rail.profile, section.flange_thickness_mm
    out = []
    for name, inner, outer in (("upper flange", profile.upper_z, 1.0), ("lower flange", profile.lower_z, -1.0)):
        air = -TOUCH_MM if ground.face == name else ground.pad.clearance_mm - SLACK_MM
        edge, inside = ([inner(s) + outer * air for s in stops], [inner(s, t + air) for s in stops])
        low, high = (inside, edge) if outer > 0 else (edge, inside)
        out.append(Wall(name, prism(low, high, _across(ground, air))))
        if section.kind == "hat":  # its lip stands out past the flange's outer face, along the toes
            tip = [inner(s) + outer * (section.lip_mm + ground.pad.clearance_mm) for s in stops]
            low, high = (edge, tip) if outer > 0 else (tip, edge)
            air = ground.pad.clearance_mm
            out.append(Wall(f"lip of the {name}", prism(low, high, (section.flange_mm - t - air, section.flange_mm + air))))
    uppers, lowers = [profile.upper_z(s) - TOUCH_MM for s in stops], [profile.lower_z(s) + TOUCH_MM for s in stops]
    out.append(Wall("web", prism(lowers, uppers, (TOUCH_MM, section.web_mm - TOUCH_MM))))
    if section.kind == "closed":
        out.append(Wall("web", prism(lowers, uppers, (section.flange_mm - section.web_mm + TOUCH_MM, section.flange_mm - TOUCH_MM))))
    return out
