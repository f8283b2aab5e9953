"""A tab's shape: where its leg's plane meets the face, how far its bend turns, what its leg and base measure.

The base lies on the face, its bend's tangent on v = 0 and the base on v < 0; u runs along the bend, g towards it. The leg's outer face is
its z = 0 face, in the plane that carries the pipe's hole. A leg that stands off the face's normal by phi is bent by 90 + phi degrees.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from parts.bending import setback_mm
from parts.errors import BadInput, Fault
from parts.features.tab.host import Host
from parts.features.tab.pipe import Pipe, Spot
from parts.flat import edge_between
from parts.hardware import clearance_hole, rail_hole, spanner_room, washer
from parts.hole_rules import web_hole_limits
from parts.holes import Hole
from parts.material import least_inside_radius_mm
from parts.outline import rectangle
from parts.sheet import Bend, Panel, Placement, SheetPart, Vec3
from parts.shop import Shop
from parts.vectors import along, cross, dot, square_to, unit

if TYPE_CHECKING:
    from parts.families.hanger import Hanger

STEEPEST_DEG = 30.0  #: the most that a pipe may run at the face. Common practice, no source: beyond it a tab is cut for one place alone
BEND_THICKNESSES, ASKED_THICKNESSES = 2.0, 3.0  #: hole edge to a bend's tangent, plus the inside radius: trade pages, they disagree
EDGE_THICKNESSES = 2.0  #: hole edge to the part's own edge: TM 9-2320-289-34 p. 9-7
RIM_MM = 6.0
FLANGE_THICKNESSES = 5.6  #: least bent leg over all: about 0.7 of a die 8 thicknesses wide (tool charts for air bending)
LEAST_BASE_MM = 25.0
LONGEST_MM = 600.0  #: of a leg: past this the pipe is somewhere else
TIP_MM = 8.0  #: radius of the leg's free corners, where its width allows
BASE, LEG, PIPE_HOLE = "base", "leg", "pipe"
SLACK = 1e-9


@dataclass(frozen=True, kw_only=True)
class Tab:
    """One tab on its face. Lengths in mm."""

    hanger: Hanger
    host: Host
    pipe: Pipe
    spot: Spot
    part: SheetPart  #: without the base's bolt holes
    place: Placement  #: of the base: (0, 0) is the middle of the bend's tangent
    bend_deg: float
    inside_radius_mm: float
    width_mm: float
    base_mm: float  #: from the bend's tangent to the base's free edge
    leg_mm: float  #: from the face to the leg's tip, over all
    height_mm: float  #: from the face to the pipe's centre, square to the face
    lean_deg: float  #: how steeply the pipe runs at the face
    near_mm: float  #: from the leg's hole to its bend's tangent
    setback_mm: float  #: from the leg's outer face to the bend's tangent on the base

    @property
    def where(self) -> str:
        return f"part {self.hanger.id}"


def outward_ways(hanger: Hanger, host: Host, spot: Spot) -> list[Vec3]:
    """Which way the leg's outer face may look: the base lies the other way. The one that is asked for, or both, the likelier first."""
    lean = math.degrees(math.asin(max(-1.0, min(1.0, dot(spot.way, host.normal)))))
    where = f"part {hanger.id}"
    if abs(lean) > STEEPEST_DEG:
        which = "off" if lean > 0 else "at"
        limit = (
            f"the pipe runs {abs(lean):.1f} deg {which} {host.name}, rearward; {STEEPEST_DEG:g} deg is the most that a tab is folded for"
        )
        raise BadInput(Fault(where=where, field="pipe", value=_name(hanger), limit=limit, remedy="another face, or another place"))
    k = spot.way if hanger.kind != "clip" else unit(cross(host.normal, unit(square_to(spot.way, host.normal))))
    ways = [k, (-k[0], -k[1], -k[2])]
    lies = {way: _words(host, way) for way in ways}
    if hanger.base == "auto":
        return sorted(ways, key=lambda w: not lies[w] & {"front", "below"})
    fitting = [way for way in ways if hanger.base in lies[way]]
    if not fitting:
        can = sorted({word for words in lies.values() for word in words})
        limit = f"a {hanger.kind}'s base on {host.name} lies to {' or '.join(can)} of the pipe there"
        raise BadInput(Fault(where=where, field="base", value=hanger.base, limit=limit, remedy=" or ".join(can)))
    return fitting


def _words(host: Host, way: Vec3) -> set[str]:
    """Which way the base lies, for a leg that looks along `way`: the one word that says it best."""
    g = unit(square_to(way, host.normal))
    axis = max(range(3), key=lambda i: abs(g[i]))
    return {(("front", "rear"), ("left", "right"), ("below", "above"))[axis][0 if g[axis] > 0 else 1]}


def _name(hanger: Hanger) -> str:
    return hanger.pipe or "point"


def tab_of(hanger: Hanger, host: Host, pipe: Pipe, spot: Spot, outward: Vec3, shop: Shop) -> Tab:
    """Raises BadInput: the pipe turns, is too near or too far, or what is asked for does not fit."""
    t, n, where = hanger.thickness_mm, host.normal, f"part {hanger.id}"
    phi = math.asin(max(-1.0, min(1.0, dot(outward, n))))
    bend = 90.0 + math.degrees(phi)
    g = unit(square_to(outward, n))
    u, rise = cross(g, n), along((0.0, 0.0, 0.0), (n, math.cos(phi)), (g, -math.sin(phi)))
    radius = shop.inside_radius_mm or least_inside_radius_mm(t, hanger.grade, bend)[0]
    back = setback_mm(bend, radius, t)
    size, centre = _opening(hanger, pipe, spot, outward, (u, rise, n))
    height = host.height(spot.point)
    rim = hanger.rim_mm if hanger.rim_mm is not None else max(EDGE_THICKNESSES * t, RIM_MM)
    foot = along(centre, (rise, -host.height(centre) / dot(rise, n)))  # on the line where leg and face meet
    out = math.dist(centre, foot) * (1.0 if host.height(centre) > 0 else -1.0)
    tall = size / 2 + (hanger.travel_mm / 2 if hanger.kind == "rubber" else 0.0)
    faults: list[Fault] = []
    near = out - back - tall
    least = BEND_THICKNESSES * t + radius
    if near < least - SLACK:
        short = (least - near) * math.cos(phi)
        limit = (
            f"at x {spot.point[0]:.1f} mm the pipe's centre stands {height:.1f} mm off {host.name}: the leg's hole would lie "
            f"{max(near, -999.0):.1f} mm from the bend; 2 t + r = {least:.1f} mm is the least"
        )
        remedy = _nearer(hanger, short)
        faults.append(Fault(where=where, field="pipe", value=_name(hanger), limit=limit, remedy=remedy))
    width, base, more = _sizes(hanger, size, rim, radius, back)
    faults += more
    over = max(out + tall + rim, FLANGE_THICKNESSES * t + SLACK)
    if over > LONGEST_MM:
        limit = f"at x {spot.point[0]:.1f} mm the pipe's centre stands {height:.1f} mm off {host.name}: a leg of {over:.0f} mm; the most is"
        remedy = "another face, the other side, or a part between"
        faults.append(Fault(where=where, field="pipe", value=_name(hanger), limit=f"{limit} {LONGEST_MM:g} mm", remedy=remedy))
    need = width / 2
    straight, what = spot.shortest
    if straight < need - SLACK:
        limit = (
            f"{max(straight, 0.0):.1f} mm of straight pipe is left at x {spot.point[0]:.1f} mm before {what}; half the tab's width, "
            f"{need:.1f} mm, is the least"
        )
        faults.append(Fault(where=where, field="at" if hanger.every_mm is None else "every", limit=limit, remedy="move it along the pipe"))
    if faults:
        raise BadInput(faults)
    origin = along(foot, (g, -back))
    place = Placement(origin=origin, u=u, v=g)
    hole = _hole(hanger, size, pipe, width / 2, out - back)
    part = _part(hanger, (width, base - back, over - back), (bend, radius), hole)
    return Tab(
        hanger=hanger, host=host, pipe=pipe, spot=spot, part=part, place=place, bend_deg=bend, inside_radius_mm=radius, width_mm=width,
        base_mm=base - back, leg_mm=over, height_mm=height, lean_deg=math.degrees(math.asin(max(-1.0, min(1.0, dot(spot.way, n))))),
        near_mm=near, setback_mm=back,
    )  # fmt: skip


def _nearer(hanger: Hanger, short: float) -> str:
    moved = f"{math.ceil(10 * short) / 10:g} mm"
    if hanger.kind == "rubber":
        return f"rubber {moved} less, less travel, or the pipe {moved} further off"
    return f"the pipe {moved} further off, thinner steel, or another kind"


def _opening(hanger: Hanger, pipe: Pipe, spot: Spot, outward: Vec3, axes: tuple[Vec3, Vec3, Vec3]) -> tuple[float, Vec3]:
    """(diameter or width of the leg's hole, its centre on the leg's outer face)."""
    _, rise, n = axes
    if hanger.kind == "ring":
        return pipe.diameter_mm + 2 * hanger.grommet_mm, spot.point
    size = clearance_hole(hanger.bolt, "medium").diameter_mm
    if hanger.kind == "rubber":
        return size, along(spot.point, (rise, -hanger.rubber_mm))
    beside = along(spot.point, (outward, -(pipe.diameter_mm / 2 + hanger.band_mm)))
    way = unit(cross(outward, spot.way))  # in the leg, square to the pipe
    way = way if dot(way, n) < 0 else (-way[0], -way[1], -way[2])
    off = clip_off_mm(hanger, pipe)
    return size, along(beside, (way, off))


def clip_off_mm(hanger: Hanger, pipe: Pipe) -> float:
    """From the pipe's centre to the clip's bolt: the band round the pipe, then half a washer."""
    least = pipe.diameter_mm / 2 + hanger.band_mm + washer(hanger.bolt).outside_mm / 2
    return hanger.clip_off_mm if hanger.clip_off_mm is not None else least


def _sizes(hanger: Hanger, size: float, rim: float, radius: float, back: float) -> tuple[float, float, list[Fault]]:
    """(width along the bend, base from the leg's outer face to its free edge, what is too small)."""
    t, where = hanger.thickness_mm, f"part {hanger.id}"
    edge, bent = EDGE_THICKNESSES * t, FLANGE_THICKNESSES * t
    least_width, why_width = max(size + 2 * edge, bent), f"a hole of {size:g} mm with 2 t of steel on both sides"
    least_base, why_base = max(bent, back + edge), "its bend"
    if hanger.attach == "bolt":
        hole = clearance_hole(hanger.base_bolt, "medium").diameter_mm
        apart = pitch_mm(hanger) if hanger.bolts == 2 else 0.0
        least_base = max(least_base, back + bolt_from_bend_mm(hanger, radius) + hole / 2 + edge)
        least_width = max(least_width, apart + hole + 2 * edge)
        why_base, why_width = f"its bolts {hanger.base_bolt}", f"{why_width}, or for its bolts {hanger.base_bolt}"
    width = hanger.width_mm if hanger.width_mm is not None else max(least_width, size + 2 * rim)
    base = hanger.foot_mm if hanger.foot_mm is not None else max(least_base, LEAST_BASE_MM)
    faults: list[Fault] = []
    for field, is_mm, least, why in (("width", width, least_width, why_width), ("foot", base, least_base, why_base)):
        if is_mm < least - SLACK:
            limit, remedy = f"is too small for {why} in {t:g} mm steel", f"at least {math.ceil(10 * least) / 10:g} mm"
            faults.append(Fault(where=where, field=field, value=f"{is_mm:g} mm", limit=limit, remedy=remedy))
    if rim < edge - SLACK:
        limit, remedy = f"2 t = {edge:g} mm of steel is the least round a hole", "leave it out, or thinner steel"
        faults.append(Fault(where=where, field="rim", value=f"{rim:g} mm", limit=limit, remedy=remedy))
    return width, base, faults


def bolt_from_bend_mm(hanger: Hanger, radius: float) -> float:
    """From the bend's tangent to a base bolt's centre, at the least: hole and socket both clear of the leg."""
    hole = clearance_hole(hanger.base_bolt, "medium").diameter_mm
    return max(hole / 2 + ASKED_THICKNESSES * hanger.thickness_mm + radius, spanner_room(hanger.base_bolt).centre_to_wall_mm - radius)


def pitch_mm(hanger: Hanger) -> float:
    """Between two new holes: as far apart as the strictest guide for holes in a web asks."""
    size = rail_hole(hanger.base_bolt).diameter_mm
    return web_hole_limits(size).hole_gap_mm + size


def _hole(hanger: Hanger, size: float, pipe: Pipe, u: float, v: float) -> Hole:
    if hanger.kind == "ring":
        purpose = f"pipe {pipe.diameter_mm:g} mm in a grommet" if hanger.grommet_mm else f"pipe {pipe.diameter_mm:g} mm"
        return Hole(name=PIPE_HOLE, x_mm=u, y_mm=v, diameter_mm=size, purpose=purpose)
    if hanger.kind == "clip":
        return Hole(name="clip", x_mm=u, y_mm=v, diameter_mm=size, purpose=f"bolt {hanger.bolt} of the pipe's clip")
    return Hole(
        name="rubber", kind="slot", x_mm=u, y_mm=v, diameter_mm=size, length_mm=size + hanger.travel_mm, angle_deg=90.0,
        purpose=f"bolt {hanger.bolt} of the rubber, {hanger.travel_mm:g} mm to set",
    )  # fmt: skip


def _part(hanger: Hanger, sizes: tuple[float, float, float], bend: tuple[float, float], hole: Hole) -> SheetPart:
    width, base, leg = sizes
    half = width / 2
    flat = rectangle(-half, -base, half, 0.0)
    tip = max(0.0, min(TIP_MM, half - 1.0, leg - 1.0))
    up = rectangle(0.0, 0.0, width, leg).rounded((0.0, 0.0, tip, tip))
    panels = (Panel(name=BASE, contour=flat), Panel(name=LEG, contour=up, holes=(hole,)))
    edge = edge_between(flat, (half, 0.0), (-half, 0.0))
    joint = Bend(parent=BASE, child=LEG, edge=edge, angle_deg=bend[0], inside_radius_mm=bend[1])
    return SheetPart(name=hanger.id, thickness_mm=hanger.thickness_mm, panels=panels, bends=(joint,))
