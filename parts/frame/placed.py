"""Features in their frame: where holes, patches and mounts lie in (s, z) and in vehicle axes."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from parts.frame.crossmember import Crossmember, PlacedCrossmember
from parts.frame.features import BodyMount, Filling, FrameHole
from parts.frame.names import crossmember_x, mount_offset
from parts.frame.placing import SIDES, OnFace
from parts.frame.rail import Rail
from parts.frame.section import Face, RailSide
from parts.outline import Point
from parts.sheet import Vec3


@dataclass(frozen=True, kw_only=True)
class FacePlace:
    """A point of a rail's face and the unit vector out of the steel there."""

    tape_mm: float  #: of its foot on the upper corner
    s_mm: float
    z_mm: float
    in_mm: float  #: offset from the web's outside face towards the open side; 0 on the web
    up_mm: float  #: from the lower outside face, square to the rail
    point: Vec3
    outward: Vec3


def face_place(rail: Rail, face: Face, tape_mm: float, across_mm: float) -> FacePlace:
    """The point of a face at a tape length: `across_mm` is up on the web, in on a flange."""
    profile = rail.profile
    if face == "web":
        s, z = profile.web_point(tape_mm, across_mm)
        x, y, _ = rail.normal(s)
        return FacePlace(tape_mm=tape_mm, s_mm=s, z_mm=z, in_mm=0.0, up_mm=across_mm, point=rail.point(s, z), outward=(-x, -y, 0.0))
    depth = profile.depth_at_tape(tape_mm)
    if face == "upper flange":
        s, z = profile.upper.point(tape_mm)
        slope, way, up = profile.upper.heading(tape_mm), 1.0, depth
    else:
        s, z = profile.web_point(tape_mm, 0.0)
        slope, way, up = profile.lower.heading(profile.lower.t_at_first(s)), -1.0, 0.0
    along = rail.direction(s)
    outward = (-way * math.sin(slope) * along[0], -way * math.sin(slope) * along[1], way * math.cos(slope))
    point = rail.flange_point(face, s, across_mm)
    return FacePlace(tape_mm=tape_mm, s_mm=s, z_mm=z, in_mm=across_mm, up_mm=up, point=point, outward=outward)


@dataclass(frozen=True, kw_only=True)
class PlacedHole:
    """A hole of one rail. `point` is its centre on the face's outer side, `outward` the unit vector out of the steel there."""

    name: str
    side: RailSide
    drawn: FrameHole
    place: FacePlace

    @property
    def face(self) -> Face:
        return self.drawn.face

    @property
    def diameter_mm(self) -> float:
        return self.drawn.diameter_mm

    @property
    def filled(self) -> Filling:
        return self.drawn.filled

    @property
    def head_across_mm(self) -> float:
        """Width over what stands off the face on either side; 0 for an open hole."""
        return self.drawn.head_across_mm

    @property
    def head_stands_mm(self) -> float:
        return self.drawn.head_stands_mm

    @property
    def tape_mm(self) -> float:
        return self.place.tape_mm

    @property
    def s_mm(self) -> float:
        return self.place.s_mm

    @property
    def z_mm(self) -> float:
        return self.place.z_mm

    @property
    def in_mm(self) -> float:
        return self.place.in_mm

    @property
    def up_mm(self) -> float:
        return self.place.up_mm

    @property
    def point(self) -> Vec3:
        return self.place.point

    @property
    def outward(self) -> Vec3:
        return self.place.outward


@dataclass(frozen=True, kw_only=True)
class PlacedPatch:
    """A rectangle of a face, its length along the rail, its height square across: a bracket, a number, a length of damage.

    `corners` are (s, z) on the web and (s, in) on a flange, front first, low before high, round the patch.
    """

    name: str
    side: RailSide
    drawn: OnFace
    place: FacePlace
    corners: tuple[Point, Point, Point, Point]

    @property
    def face(self) -> Face:
        return self.drawn.face

    @property
    def s_range(self) -> tuple[float, float]:
        return min(c[0] for c in self.corners), max(c[0] for c in self.corners)

    @property
    def across_range(self) -> tuple[float, float]:
        """(lowest, highest) z on the web, or in on a flange."""
        return min(c[1] for c in self.corners), max(c[1] for c in self.corners)


@dataclass(frozen=True, kw_only=True)
class PlacedMount:
    """A body mount of one rail: `point` is its hole's centre on the pad's top; the pad lies level, its length along `along`."""

    name: str
    side: RailSide
    drawn: BodyMount
    tape_mm: float
    s_mm: float
    offset_mm: float  #: of the hole from the web's outside face, + towards the open side
    point: Vec3
    along: Vec3


def across_of(feature: OnFace) -> float | None:
    return feature.up_mm if feature.face == "web" else feature.in_mm


def placed_hole(hole: FrameHole, rail: Rail) -> PlacedHole:
    across = across_of(hole) or 0.0
    if rail.found is not None:  # one that was measured itself lies where it was measured
        across = rail.found.across.get(hole.name, across)
    place = face_place(rail, hole.face, rail.places[hole.name], across)
    return PlacedHole(name=hole.name, side=rail.side, drawn=hole, place=place)


def placed_patch(feature: OnFace, rail: Rail, length_mm: float, height_mm: float | None) -> PlacedPatch:
    """`height_mm` None: over the whole face."""
    tape, across = rail.places[feature.name], across_of(feature)
    whole = rail.profile.depth_at_tape(tape) if feature.face == "web" else rail.section.flange_mm
    if across is None:
        across = whole / 2
    height_mm = whole if height_mm is None else height_mm
    low, high = across - height_mm / 2, across + height_mm / 2
    corners: list[Point] = []
    for t, a in ((-1, low), (1, low), (1, high), (-1, high)):
        corner = face_place(rail, feature.face, tape + t * length_mm / 2, a)
        corners.append((corner.s_mm, corner.z_mm if feature.face == "web" else a))
    return PlacedPatch(
        name=feature.name,
        side=rail.side,
        drawn=feature,
        place=face_place(rail, feature.face, tape, across),
        corners=(corners[0], corners[1], corners[2], corners[3]),
    )


def placed_mount(mount: BodyMount, rail: Rail) -> PlacedMount:
    tape, offset = rail.places[mount.name], mount_offset(mount, rail)
    s = rail.profile.s_of_tape(tape)
    point = rail.point(s, rail.profile.upper_z(s) + mount.above_mm, offset)
    return PlacedMount(
        name=mount.name, side=rail.side, drawn=mount, tape_mm=tape, s_mm=s, offset_mm=offset, point=point, along=rail.direction(s)
    )


def placed_crossmember(crossmember: Crossmember, rails: dict[RailSide, Rail]) -> PlacedCrossmember:
    if any(rail.found is not None for rail in rails.values()):
        return _crossmember_found(crossmember, rails)
    return _crossmember_drawn(crossmember, rails)


def _crossmember_found(crossmember: Crossmember, rails: dict[RailSide, Rail]) -> PlacedCrossmember:
    """Each end where its place on its own rail went; level and square between them, as it is drawn."""
    drawn = _crossmember_drawn(crossmember, {s: r if r.found is None else r.found.drawn for s, r in rails.items()})
    xs, tops, spans = [], [], []
    for side in SIDES:
        rail = rails[side]
        (front, rear), by = drawn.s_range(side), 0.0
        s = rail.profile.s_of_tape(rail.places[crossmember.name])
        if rail.found is not None:
            by = rail.found.along.at((front + rear) / 2)
        xs.append(rail.plan.point(s)[0])
        tops.append(rail.profile.upper_z(s) - crossmember.drop_mm)
        spans.append((front + by, rear + by))
    x = sum(xs) / 2
    inner = [_inner_y(rails[side], x) for side in SIDES]
    return replace(
        drawn, x_mm=x, top_mm=sum(tops) / 2, y_left_mm=inner[0], y_right_mm=inner[1], s_left_mm=spans[0], s_right_mm=spans[1]
    )


def _inner_y(rail: Rail, x: float) -> float:
    return rail.plan.offset_course(rail.section.web_mm if rail.opens_inboard else 0.0).second_at(x)


def _crossmember_drawn(crossmember: Crossmember, rails: dict[RailSide, Rail]) -> PlacedCrossmember:
    x = crossmember_x(crossmember, rails)
    half = crossmember.section.over_x_mm / 2
    tops, inner, spans = [], [], []
    for side in SIDES:
        rail = rails[side]
        course = rail.plan.offset_course(rail.section.web_mm if rail.opens_inboard else 0.0)
        tops.append(rail.profile.upper_z(rail.plan.s_at_x(x)) - crossmember.drop_mm)
        inner.append(course.second_at(x))
        front, rear = (rail.plan.project(*course.point(course.t_at_first(edge)))[0] for edge in (x - half, x + half))
        spans.append((front, rear))
    return PlacedCrossmember(
        name=crossmember.name,
        drawn=crossmember,
        x_mm=x,
        top_mm=sum(tops) / 2,
        y_left_mm=inner[0],
        y_right_mm=inner[1],
        s_left_mm=spans[0],
        s_right_mm=spans[1],
    )
