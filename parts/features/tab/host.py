"""The flat face that a tab stands on: of a rail's web, of a part built before, of a crossmember."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from parts.errors import BadInput, Fault
from parts.features.bracket.site import facet_of, stretch_at, web_face
from parts.frame.crossmember import PlacedCrossmember
from parts.frame.faces import UprightFace
from parts.frame.frame import Frame
from parts.frame.offers import FlatFace
from parts.frame.rail import Rail
from parts.frame.section import RailSide
from parts.holes import Hole
from parts.outline import Contour, Point, rectangle
from parts.sheet import Placement, Vec3
from parts.shop import Shop
from parts.vectors import dot, inside, minus

if TYPE_CHECKING:
    from parts.families.hanger import Hanger

AROUND_MM = 400.0  #: of a web to either side of the place
STEP_MM = 10.0
NEAR_FACE_MM = 2.0  #: under this a flat face is that of the plate on the rail: on a turn its panels leave a gap to it


@dataclass(frozen=True, kw_only=True)
class Host:
    """`place`: u and v lie in the face, its normal points out of the steel. `outline`: where it is whole and flat."""

    name: str
    place: Placement
    outline: Contour
    holes: tuple[Hole, ...]
    thickness_mm: float
    onto: str  #: as a weld's list has it
    side: RailSide | None
    rail: Rail | None  #: whose web a bolt would go through
    stack_mm: float  #: from the face to the far side of the steel that a bolt goes through; 0: no bolt can hold there
    through: tuple[str, ...] = ()  #: what that is, the face's own first
    piece: str = ""

    @property
    def normal(self) -> Vec3:
        return self.place.normal

    def height(self, p: Vec3) -> float:
        return dot(minus(p, self.place.origin), self.normal)

    def foot(self, p: Vec3) -> Point:
        u, v, _ = inside(self.place, p)
        return u, v

    def off_mm(self, p: Vec3) -> float:
        """How far outside the face's outline the foot of a point lies; 0 inside."""
        foot = self.foot(p)
        return 0.0 if self.outline.contains(foot) else self.outline.distance(foot)


def web_host(hanger: Hanger, frame: Frame, rail: Rail, s: float, shop: Shop) -> Host:
    """Raises BadInput: the rail turns there, or it is no place on the rail."""
    section, where = rail.section, f"part {hanger.id}"
    outside = hanger.on == "web-outside"
    if outside and rail.opens_inboard:
        face = UprightFace(
            name="web", rail=rail, offset_mm=0.0, away=-1, s0_mm=0.0, s1_mm=rail.length_s_mm,
            stack_mm=0.0 if section.kind == "closed" else section.web_mm, thickness_mm=section.web_mm,
        )  # fmt: skip
    elif outside:
        own = web_face(rail)
        face = replace(own, away=1, offset_mm=section.web_mm if section.kind != "closed" else section.toe_offset_mm)
    else:
        face = web_face(rail)
    facet = facet_of(face, s, shop, where)
    stretch = stretch_at(rail, s)
    low, high = max(stretch.begin_mm, 0.0, s - AROUND_MM), min(stretch.end_mm, rail.length_s_mm, s + AROUND_MM)
    inner = face.away > 0 and section.kind != "closed"  # of an open section: between the flanges
    inset = section.inside_flat_from_corner_mm if inner else section.flat_from_corner_mm
    sign = -face.normal_sign
    c, d, _ = facet.direction
    at = facet.u_at(s)
    origin = facet.point(at, rail.profile.upper_z(s))
    place = Placement(origin=origin, u=(sign * c, sign * d, 0.0), v=(0.0, 0.0, 1.0))
    count = max(2, math.ceil((high - low) / STEP_MM))
    stops = [low + (high - low) * k / count for k in range(count + 1)]

    def spot(stop: float, z: float) -> Point:
        return sign * (facet.u_at(stop) - at), z - origin[2]

    ring = [spot(q, rail.profile.lower_z(q, inset)) for q in stops] + [spot(q, rail.profile.upper_z(q, inset)) for q in reversed(stops)]
    outline = Contour(tuple(ring), (0.0,) * len(ring))
    outline = outline if outline.area > 0 else outline.reversed()
    holes = []
    for hole in frame.holes_on(rail.side, low, high, "web"):
        u, v = spot(hole.s_mm, hole.z_mm)
        holes.append(Hole(name=hole.name, x_mm=u, y_mm=v, diameter_mm=max(hole.diameter_mm, hole.head_across_mm), purpose=hole.filled))
    return Host(
        name=f"{rail.name} web", place=place, outline=outline, holes=tuple(holes), thickness_mm=section.web_mm, onto=f"{rail.name} web",
        side=rail.side, rail=rail, stack_mm=face.stack_mm, through=(f"{rail.name} web",),
    )  # fmt: skip


def part_hosts(hanger: Hanger, frame: Frame, side: RailSide) -> list[Host]:
    """Both faces of every panel of that part, each a host of its own. Raises BadInput: no such part there."""
    rail = frame.rail(side)
    try:
        faces = frame.flats(hanger.on, side)
    except BadInput as error:
        raise BadInput([_on(hanger, frame, f) for f in error.faults]) from None
    own = next((f for f in frame.faces if f.name == hanger.on and f.side == side), None)
    seen = [face for face in faces if own is None or not own.stack_mm or not _hidden(face, own)]
    return [_of_flat(face, frame, rail, hanger.on) for face in seen]


def _hidden(face: FlatFace, own: UprightFace) -> bool:
    """Whether it is the back of a plate that lies on the web: nothing can be put there."""
    place = face.placement
    s, _, offset = own.rail.szo(place.point(*_middle(face)))
    back = own.offset_mm - own.away * own.thickness_mm
    return abs(offset - back) < NEAR_FACE_MM and dot(place.normal, own.rail.normal(s)) * own.away < 0


def _middle(face: FlatFace) -> Point:
    x0, y0, x1, y1 = face.outline.box
    return (x0 + x1) / 2, (y0 + y1) / 2


def _on(hanger: Hanger, frame: Frame, fault: Fault) -> Fault:
    known = ", ".join(c.name for c in frame.placed_crossmembers)
    remedy = f"{fault.remedy}; crossmembers: {known}" if known else fault.remedy
    return replace(fault, where=f"part {hanger.id}", field="on", limit="no part before this one and no crossmember has that name",
                   remedy=remedy)  # fmt: skip


def _of_flat(face: FlatFace, frame: Frame, rail: Rail, part: str) -> Host:
    stack, on_rail = face.thickness_mm, None
    through: tuple[str, ...] = (face.onto,)
    own = next((f for f in frame.faces if f.name == part and f.side == rail.side), None)
    if own is not None and own.stack_mm and _same_face(face, own):
        # Behind a closed rail's wall no nut can be reached, whatever lies on it.
        stack, through, on_rail = own.stack_mm if rail.section.kind != "closed" else 0.0, (face.onto, f"{rail.name} web"), rail
    return Host(
        name=face.name, place=face.placement, outline=face.outline, holes=face.holes, thickness_mm=face.thickness_mm, onto=face.onto,
        side=face.side, rail=on_rail, stack_mm=stack, through=through, piece=face.piece,
    )  # fmt: skip


def _same_face(face: FlatFace, own: UprightFace) -> bool:
    _, _, offset = own.rail.szo(face.placement.point(*_middle(face)))
    return abs(offset - own.offset_mm) < NEAR_FACE_MM


def crossmember_hosts(cm: PlacedCrossmember) -> list[Host]:
    """Its flat outer sides: none of a tube."""
    section, opens = cm.drawn.section, cm.drawn.opens
    x0, x1, z0, z1 = cm.box
    y0, y1 = cm.y_left_mm, cm.y_right_mm
    corner = section.inside_radius_mm + section.thickness_mm if section.inside_radius_mm else 0.0
    if section.kind == "tube":
        return []
    lip = section.lip_mm
    sides: dict[str, tuple[Placement, Contour]] = {}

    def level(name: str, z: float, up: float, low: float, high: float) -> None:
        place = Placement(origin=(0.0, 0.0, z), u=(up, 0.0, 0.0), v=(0.0, 1.0, 0.0))
        span = (low, high) if up > 0 else (-high, -low)
        sides[name] = (place, rectangle(span[0], y0, span[1], y1))

    def upright(name: str, x: float, rear: float, low: float, high: float) -> None:
        place = Placement(origin=(x, 0.0, 0.0), u=(0.0, rear, 0.0), v=(0.0, 0.0, 1.0))
        span = (y0, y1) if rear > 0 else (-y1, -y0)
        sides[name] = (place, rectangle(span[0], low, span[1], high))

    closed = section.kind == "closed"
    ends = {"front": x0, "rear": x1, "bottom": z0, "top": z1}
    open_side = {"forward": "front", "rearward": "rear", "up": "top", "down": "bottom"}[opens]
    inset = {k: corner if closed or k != open_side else 0.0 for k in ends}
    for k, at in ends.items():
        if not closed and k == open_side:
            continue
        if section.kind == "hat" and k != {"front": "rear", "rear": "front", "top": "bottom", "bottom": "top"}[open_side]:
            continue  # only the web of a hat is flat and free
        if k in ("top", "bottom"):
            level(k, at, 1.0 if k == "top" else -1.0, x0 + lip + inset["front"], x1 - lip - inset["rear"])
        else:
            upright(k, at, 1.0 if k == "rear" else -1.0, z0 + lip + inset["bottom"], z1 - lip - inset["top"])
    words = {"front": "front", "rear": "rear", "top": "top", "bottom": "underside"}
    return [
        Host(
            name=f"crossmember {cm.name} {words[k]}", place=place, outline=outline, holes=(), thickness_mm=section.thickness_mm,
            onto=f"crossmember {cm.name} {words[k]}", side=None, rail=None, stack_mm=0.0, through=(f"crossmember {cm.name}",),
        )
        for k, (place, outline) in sides.items()
        if outline.area > 0
    ]  # fmt: skip
