"""What a pad's base stands on: a plane of the rail or of a plate, with its own coordinates, and how far the base may lie on it.

Ground coordinates in mm: (a, b). a runs along the rail, to the right as the face is looked at, 0 square under the point on the top. b runs
across it: on an upright face upwards, b being z; on a flange from the web's outside face towards the toes, b being `in`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

from parts.errors import BadInput, Fault, Finding, Level
from parts.features.bracket.site import FLAT_EDGE_MM, SLOPE_STEP_MM, facet_of, stretch_at, web_face
from parts.features.pad.planes import Plane, cross, dot, minus, plus, scaled
from parts.features.pad.target import Target, targets
from parts.frame.course import Course
from parts.frame.faces import UprightFace
from parts.frame.frame import Frame
from parts.frame.rail import Rail
from parts.frame.section import Face
from parts.material import least_inside_radius_mm
from parts.outline import Point
from parts.sheet import Vec3
from parts.shop import Shop
from parts.welds import FilletLeg, fillet_leg_mm

if TYPE_CHECKING:
    from parts.families.mount_pad import MountPad

UP: Vec3 = (0.0, 0.0, 1.0)
LEAST_WIDTH_MM = 30.0  #: of a base: the family's own least
TURN_STEP_MM = 10.0
TRIES = 60
FLANGES: dict[str, Face] = {"upper-flange": "upper flange", "lower-flange": "lower flange"}


@dataclass(frozen=True, kw_only=True)
class Ground:
    """What every feature of the pad may ask about its place. Does not change."""

    pad: MountPad
    frame: Frame
    shop: Shop
    rail: Rail
    target: Target
    origin: Vec3
    u: Vec3
    v: Vec3
    face: Face  #: of the rail whose holes the base's bolts go through
    upright: UprightFace | None  #: None: a flange
    steel_mm: float  #: thickness of the steel that the base lies on
    radius_mm: float  #: inside, of every bend
    leg: FilletLeg

    @property
    def normal(self) -> Vec3:
        return cross(self.u, self.v)

    @property
    def plane(self) -> Plane:
        return Plane(point=self.origin, normal=self.normal)

    def point(self, a: float, b: float, off: float = 0.0) -> Vec3:
        """In vehicle axes, `off` square off the face."""
        return plus(self.origin, (a, self.u), (b, self.v), (off, self.normal))

    def ab(self, p: Vec3) -> Point:
        """(a, b) of the foot of a vehicle point."""
        d = minus(p, self.origin)
        return dot(d, self.u), dot(d, self.v)

    def s(self, a: float, b: float = 0.0) -> float:
        return self.rail.szo(self.point(a, b))[0]

    # ------------------------------------------------------------------ names
    @property
    def where(self) -> str:
        return f"part {self.pad.id}"

    @property
    def place(self) -> str:
        return f"{self.pad.id} {self.rail.side}"

    @property
    def on_plate(self) -> bool:
        return bool(self.pad.needs)

    @property
    def onto(self) -> str:
        """What the base stands on, in words."""
        return f"{self.pad.on} {self.rail.side}" if self.on_plate else f"{self.rail.name} {self.face}"

    def fault(self, field: str, value: str, limit: str, remedy: str) -> Fault:
        return Fault(where=self.where, field=field, value=value, limit=limit, remedy=remedy)

    def finding(self, code: str, level: Level, message: str, *, value: str = "", limit: str = "", remedy: str = "", source: str) -> Finding:
        return Finding(code=code, level=level, where=self.place, message=message, value=value, limit=limit, remedy=remedy, source=source)

    # ------------------------------------------------------------------ sizes
    @property
    def thickness_mm(self) -> float:
        return self.pad.thickness_mm

    @property
    def leg_mm(self) -> float:
        return self.leg.leg_mm if self.pad.leg_mm is None else self.pad.leg_mm

    @property
    def weld_mm(self) -> float:
        """What the fillet round the base takes of the face; 0 where it is bolted."""
        return self.leg_mm if self.pad.attach == "weld" else 0.0

    @property
    def half_mm(self) -> float:
        return self.pad.width_mm / 2

    @property
    def inside_section(self) -> bool:
        """Whether the rail's flanges reach past the face: what stands off it stands between them."""
        face = self.upright
        return face is not None and face.away > 0 and face.offset_mm < self.rail.section.toe_offset_mm - FLAT_EDGE_MM

    def span(self, a: float) -> Point:
        """(lowest, highest) b at which the base lies flat on its face there, its weld with it."""
        section, profile = self.rail.section, self.rail.profile
        if self.upright is None:
            if section.kind == "hat":
                return section.outside_radius_mm + self.weld_mm, section.flange_mm - section.flange_thickness_mm - self.weld_mm
            toes = section.outside_radius_mm if section.kind == "closed" else 0.0
            return section.outside_radius_mm + self.weld_mm, section.flange_mm - toes - self.weld_mm
        s = self.s(a)
        edges = self.upright.edges
        if edges is None:
            flat = section.inside_flat_from_corner_mm if self.inside_section else section.flat_from_corner_mm
            low, high = profile.lower_z(s, flat + self.weld_mm), profile.upper_z(s, flat + self.weld_mm)
        else:
            plate = []
            for edge, sign in zip(edges, (1.0, -1.0), strict=True):
                rise = (edge.y_at(s + SLOPE_STEP_MM) - edge.y_at(s - SLOPE_STEP_MM)) / (2 * SLOPE_STEP_MM)
                plate.append(edge.y_at(s) + sign * self.weld_mm * math.hypot(1.0, rise))
            low, high = plate
        room = self.room(a)
        return max(low, room[0]), min(high, room[1])

    def room(self, a: float) -> Point:
        """(lowest, highest) b between the flanges, the clearance kept; infinite where nothing of the rail stands in front of the face."""
        if not self.inside_section:
            return -math.inf, math.inf
        inset = self.rail.section.flange_thickness_mm + self.pad.clearance_mm
        s = self.s(a)
        return self.rail.profile.lower_z(s, inset), self.rail.profile.upper_z(s, inset)

    @cached_property
    def way(self) -> int:
        """+1 where the stand leaves off the base's edge of greater b, -1 off the other one."""
        named = self.pad.leaves
        toes_inboard = self.rail.opens_inboard
        if named == "auto":
            b = self.ab(self.target.point)[1]
            low, high = self.span(0.0)
            return 1 if b >= (low + high) / 2 else -1
        if named in ("upper", "lower"):
            return 1 if named == "upper" else -1
        return 1 if (named == "inboard") == toes_inboard else -1

    @property
    def edge_name(self) -> str:
        """Of the edge that the stand leaves off."""
        if self.upright is not None:
            return "upper" if self.way > 0 else "lower"
        return "inboard" if (self.way > 0) == self.rail.opens_inboard else "outboard"


def ground_of(pad: MountPad, frame: Frame, shop: Shop, target: Target) -> Ground:
    """Where the base stands.

    Raises:
        BadInput: no such face, a turn of the rail, or no room along it.
    """
    ground = _stood(pad, frame, shop, frame.rail(target.side), target)
    if faults := [*_off_face(ground), *_turns(ground)]:
        raise BadInput(faults)
    return ground


def _stood(pad: MountPad, frame: Frame, shop: Shop, rail: Rail, target: Target) -> Ground:
    """With whatever is wrong with it."""
    name = FLANGES.get(pad.on)
    return _on_upright(pad, frame, shop, rail, target) if name is None else _on_flange(pad, frame, shop, rail, target, name)


def outboard_face(rail: Rail) -> UprightFace:
    """The face of the web that looks away from the vehicle's centre; of a closed rail its outboard web's outside."""
    section = rail.section
    closed = section.kind == "closed"
    if rail.opens_inboard:
        offset, away = 0.0, -1
    else:
        offset, away = (section.toe_offset_mm if closed else section.inner_web_offset_mm), 1
    return UprightFace(
        name="web-outboard", rail=rail, offset_mm=offset, away=away, s0_mm=0.0, s1_mm=rail.length_s_mm,
        stack_mm=0.0 if closed else section.web_mm, thickness_mm=section.web_mm,
    )  # fmt: skip


def _on_upright(pad: MountPad, frame: Frame, shop: Shop, rail: Rail, target: Target) -> Ground:
    where = f"part {pad.id}"
    if pad.on in ("web", "web-outboard"):
        face = web_face(rail) if pad.on == "web" else outboard_face(rail)
    else:
        try:
            face = frame.face(pad.on, target.side)
        except BadInput as error:
            raise BadInput([replace(f, where=where, field="on") for f in error.faults]) from None
    s = rail.plan.project(*target.point[:2])[0]
    facet = facet_of(face, s, shop, where)
    c, d, _ = facet.direction
    along = -face.normal_sign
    foot = (target.point[0] - facet.start[0]) * c + (target.point[1] - facet.start[1]) * d
    return Ground(
        pad=pad, frame=frame, shop=shop, rail=rail, target=target, origin=facet.point(foot, 0.0), u=(along * c, along * d, 0.0), v=UP,
        face="web", upright=face, steel_mm=face.thickness_mm, radius_mm=_radius_mm(pad, shop),
        leg=fillet_leg_mm(pad.thickness_mm, face.thickness_mm, False),
    )  # fmt: skip


def _on_flange(pad: MountPad, frame: Frame, shop: Shop, rail: Rail, target: Target, face: Face) -> Ground:
    s = rail.plan.project(*target.point[:2])[0]
    course, up = (rail.profile.upper, 1.0) if face == "upper flange" else (rail.profile.lower, -1.0)
    slope = course.heading(course.t_at_first(s))
    (x, y, _), v = rail.direction(s), rail.normal(s)
    rearward = (x * math.cos(slope), y * math.cos(slope), math.sin(slope))
    # Seen from outside with the toes upwards, rearward may be either way.
    u = rearward if dot(scaled(up, UP), cross(rearward, v)) > 0 else scaled(-1.0, rearward)
    start = rail.flange_point(face, s, 0.0)
    origin = plus(start, (dot(minus(target.point, start), u), u))
    thickness = rail.section.flange_thickness_mm
    return Ground(
        pad=pad, frame=frame, shop=shop, rail=rail, target=target, origin=origin, u=u, v=v, face=face, upright=None, steel_mm=thickness,
        radius_mm=_radius_mm(pad, shop), leg=fillet_leg_mm(pad.thickness_mm, thickness, False),
    )  # fmt: skip


def _radius_mm(pad: MountPad, shop: Shop) -> float:
    """For a turn of up to 120 deg; `stand` takes a larger one where it turns further."""
    return shop.inside_radius_mm or least_inside_radius_mm(pad.thickness_mm, pad.grade)[0]


def _off_face(ground: Ground) -> list[Fault]:
    """The point must lie in front of the face, and not on it."""
    off = dot(minus(ground.target.point, ground.origin), ground.normal)
    if off >= ground.thickness_mm:
        return []
    pad = ground.pad
    field, value = ("carries", str(pad.carries)) if pad.carries is not None else ("on", pad.on)
    limit = f"the point on the top lies {off:.1f} mm in front of {ground.onto}, which the base stands on: behind it there is no way to it"
    return [ground.fault(field, value, limit, "another face under on, or a point further off")]


def _turns(ground: Ground) -> list[Fault]:
    """The whole width must stand on one straight of the rail, and on the face."""
    pad, rail = ground.pad, ground.rail
    end = f"end of what is whole of plate {pad.on} on {rail.name}" if ground.on_plate else f"end of {rail.name}"
    field, value = ("carries", str(pad.carries)) if pad.carries is not None else ("at", str(pad.at))
    out = []
    for over, which, what in _overs(ground):
        if what:
            limit = f"its {which} edge would stand {over:.1f} mm into {what} of {rail.name}"
            out.append(ground.fault("width", f"{pad.width_mm:g} mm", limit, _moved(ground, over, which)))
        else:
            limit = f"its {which} edge would lie {over:.1f} mm past the {which} {end}"
            out.append(ground.fault(field, value, limit, _moved(ground, over, which)))
    return out


def _overs(ground: Ground) -> list[tuple[float, str, str]]:
    """(by how much, "front" or "rear", over what; "": the end of the rail or of the plate)."""
    rail, face, half = ground.rail, ground.upright, ground.half_mm
    s0, s1 = sorted((ground.s(-half), ground.s(half)))
    bend = face.thickness_mm if face is not None and ground.on_plate else 0.0  # about as far as a plate's own bend reaches
    found = _over_stretch(rail, s0, s1, ground.s(0.0), bend)
    if face is None:
        course = rail.profile.upper if ground.face == "upper flange" else rail.profile.lower
        found += _over_kick(course, s0, s1)
    ends = (0.0, rail.length_s_mm) if face is None else face.whole_s_mm or (face.s0_mm, face.s1_mm)
    found += [(ends[0] - s0, "front", ""), (s1 - ends[1], "rear", "")]
    return [f for f in found if f[0] > FLAT_EDGE_MM]


def _over_stretch(rail: Rail, s0: float, s1: float, middle: float, bend: float) -> list[tuple[float, str, str]]:
    pieces = rail.plan.pieces()
    stretch = stretch_at(rail, middle)
    if not stretch.is_line:
        return [(max(s1 - stretch.begin_mm, 0.0), "rear", "the turn")]
    out = []
    if stretch.begin_mm > pieces[0].begin_mm:
        out.append((stretch.begin_mm + bend - s0, "front", "the turn"))
    if stretch.end_mm < pieces[-1].end_mm:
        out.append((s1 - stretch.end_mm + bend, "rear", "the turn"))
    return out


def _over_kick(course: Course, s0: float, s1: float) -> list[tuple[float, str, str]]:
    """How far the flange bends away under the base."""
    pieces = course.stretches
    middle = course.t_at_first((s0 + s1) / 2)
    at = next((p for p in pieces if middle <= p.end_mm), pieces[-1])
    if not at.is_line:
        return [(s1 - s0, "front", "the kick")]
    low, high = at.point_at(at.begin_mm)[0], at.point_at(at.end_mm)[0]
    out = []
    if at is not pieces[0]:
        out.append((low - s0, "front", "the kick"))
    if at is not pieces[-1]:
        out.append((s1 - high, "rear", "the kick"))
    return out


def _moved(ground: Ground, over: float, which: str) -> str:
    """How far `at` has to go until nothing is over any more: on a turn, and off a plate, that is not what is over now."""
    pad, narrow = ground.pad, math.floor(ground.pad.width_mm - 2 * over + 1e-6)
    narrower = f"a width of {narrow} mm" if narrow >= LEAST_WIDTH_MM else ""
    if pad.at is None:
        return narrower or "another face under on"
    way, least, far = (1.0, "rearward") if which == "front" else (-1.0, "forward"), 0, math.ceil(over - 1e-6)
    for _ in range(TRIES):
        left = _left_over(ground, way[0] * far, which)
        if left <= FLAT_EDGE_MM:
            break
        least, far = far, far + math.ceil(left)
    else:
        return narrower or "another place along the rail"
    while far - least > 1:
        middle = (least + far) // 2
        least, far = (least, middle) if _left_over(ground, way[0] * middle, which) <= FLAT_EDGE_MM else (middle, far)
    moved = f"move it {far} mm or more {way[1]}"
    return f"{moved}, or {narrower}" if narrower else moved


def _left_over(ground: Ground, by: float, which: str) -> float:
    """What would still be over that edge with `at` moved; `TURN_STEP_MM` where nothing can stand at all."""
    at = ground.pad.at
    assert at is not None, "checked by the caller"
    there = replace(at, x_mm=at.x_mm + by) if at.x_mm is not None else replace(at, offset_mm=at.offset_mm + by)
    pad = replace(ground.pad, at=there)
    try:
        target = next(t for t in targets(pad, ground.frame)[0] if t.side == ground.rail.side)
        moved = _stood(pad, ground.frame, ground.shop, ground.rail, target)
    except BadInput:
        return TURN_STEP_MM
    return max((over for over, end, _ in _overs(moved) if end == which), default=0.0)
