"""Flat faces of the vehicle's own steel that a part's edge may stand on: a rail's web and flanges at a place, a crossmember's sides.

Exact where the rail runs straight; round a turn there is no flat face. Outlines leave out the corners' radii, nothing else: openings
are given beside them.
"""

from __future__ import annotations

import math

from parts.errors import BadInput, Fault
from parts.features.bracket.site import facet_of, stretch_at, web_face
from parts.frame.course import Course, Stretch
from parts.frame.crossmember import PlacedCrossmember
from parts.frame.faces import Facet
from parts.frame.frame import Frame
from parts.frame.offers import FlatFace
from parts.frame.placed import PlacedHole
from parts.frame.rail import Rail
from parts.frame.section import Face, RailSide
from parts.holes import Hole
from parts.outline import Contour, Point, Transform
from parts.segment import Segment
from parts.sheet import Placement, Vec3
from parts.shop import Shop

CROSSMEMBER_FACES = ("front", "rear", "top", "underside")
LEAST_MM = 1.0  #: a face less wide is an edge
MIRROR = Transform(a=-1.0)


def web_at(frame: Frame, side: RailSide, s: float, shop: Shop, where: str) -> FlatFace:
    """The inboard face of the web over the straight stretch of the rail that s lies on, its flat between the corner radii.

    Raises:
        BadInput: the rail turns there, or the web has no flat.
    """
    rail = frame.rail(side)
    face = web_face(rail)
    facet = facet_of(face, s, shop, where)
    stretch = stretch_at(rail, s)
    section, profile = rail.section, rail.profile
    inset = section.inside_flat_from_corner_mm if 0 < face.offset_mm < section.toe_offset_mm else section.flat_from_corner_mm
    low, high = max(stretch.begin_mm, 0.0), min(stretch.end_mm, rail.length_s_mm)
    u0, u1 = facet.u_at(low), facet.u_at(high)
    lower, upper = (facet.mapped(path, u0, u1) for path in (profile.lower_path(inset), profile.upper_path(inset)))
    segments = [*lower.segments, Segment(lower.points[-1], upper.points[-1])]
    segments += [*(s.reversed() for s in reversed(upper.segments)), Segment(upper.points[0], lower.points[0])]
    outline, holes = Contour.of(segments), tuple(_on_facet(h, facet) for h in frame.holes_on(side, low, high, "web"))
    sign = -face.normal_sign  # u x up points out of the steel
    c, d, _ = facet.direction
    if sign < 0:
        outline, holes = outline.moved(MIRROR), tuple(h.moved(MIRROR) for h in holes)
    return FlatFace(
        name="web", side=side, placement=Placement(origin=facet.point(0.0, 0.0), u=(sign * c, sign * d, 0.0), v=(0.0, 0.0, 1.0)),
        outline=outline, holes=holes, thickness_mm=section.web_mm, onto=f"{rail.name} web",
    )  # fmt: skip


def flange_at(frame: Frame, side: RailSide, name: Face, s: float, where: str) -> FlatFace:
    """The outside of a flange over the straight stretch, in plan and in height, that s lies on.

    Raises:
        BadInput: the rail turns or kicks there.
    """
    rail = frame.rail(side)
    section, profile = rail.section, rail.profile
    course = profile.upper_course() if name == "upper flange" else profile.lower_course()
    plan, height = stretch_at(rail, s), _stretch(course, s)
    for stretch, how in ((plan, "turns"), (height, "kicks")):
        if not stretch.is_line:
            limit = f"{rail.name} {how} here: its {name} is not flat"
            raise BadInput(Fault(where=where, field="place", value=f"s {s:.0f} mm", limit=limit, remedy="move it onto a straight"))
    first, last = sorted(course.point(t)[0] for t in (height.begin_mm, height.end_mm))
    low, high = max(plan.begin_mm, first, 0.0), min(plan.end_mm, last, rail.length_s_mm)
    slope, (x, y, _), across = height.heading_rad, rail.direction(s), rail.normal(s)
    along: Vec3 = (x * math.cos(slope), y * math.cos(slope), math.sin(slope))
    # u runs rearward; v towards the open side, or away from it, whichever has u x v point out of the flange.
    turned = (1.0 if name == "upper flange" else -1.0) * rail.opening_sign
    place = Placement(origin=rail.flange_point(name, s, 0.0), u=along, v=(turned * across[0], turned * across[1], 0.0))
    # To a channel's toe; to the other corner of a closed rail; to the bend of a hat's lip, which stands out past this face.
    lip = section.flange_thickness_mm + section.inside_radius_mm
    ends = {"channel": 0.0, "closed": section.outside_radius_mm, "hat": lip}
    a, b = section.outside_radius_mm, section.flange_mm - ends[section.kind]
    us = [(end - s) / math.cos(slope) for end in (low, high)]
    outline = _rectangle(us, (turned * a, turned * b))
    holes = tuple(
        _round(h, (h.s_mm - s) / math.cos(slope), turned * h.in_mm) for h in frame.holes_on(side, low, high, name)
    )
    return FlatFace(
        name=name, side=side, placement=place, outline=outline, holes=holes, thickness_mm=section.flange_thickness_mm,
        onto=f"{rail.name} {name}",
    )  # fmt: skip


def crossmember_faces(frame: Frame, placed: PlacedCrossmember) -> dict[str, FlatFace]:
    """The flat outside faces of a crossmember by name, between the rails' inboard faces: none of a tube, none where it is open."""
    section, (x0, x1, z0, z1) = placed.drawn.section, placed.box
    if section.kind == "tube":
        return {}
    corner = section.inside_radius_mm + section.thickness_mm if section.inside_radius_mm else 0.0
    upright = ("front", "rear")
    webs = {"rearward": "front", "forward": "rear", "up": "underside", "down": "top"}
    opposite = {"front": "rear", "rear": "front", "top": "underside", "underside": "top"}
    planes = {"front": x0, "rear": x1, "top": z1, "underside": z0}
    spans = {name: [z0 + corner, z1 - corner] if name in upright else [x0 + corner, x1 - corner] for name in CROSSMEMBER_FACES}
    if section.kind != "closed":
        web = webs[placed.drawn.opens]
        back, lip = opposite[web], section.lip_mm
        inward = {"front": 1.0, "rear": -1.0, "top": -1.0, "underside": 1.0}
        for name in CROSSMEMBER_FACES:
            if name in (web, back):
                spans[name] = [spans[name][0] + lip, spans[name][1] - lip]
                continue
            planes[name] += inward[name] * lip
            # Towards the open side a flange ends at its toe, or at the lip that stands on it.
            end = section.thickness_mm + section.inside_radius_mm if lip else 0.0
            spans[name][0 if planes[back] < planes[web] else 1] = planes[back] + (end if planes[back] < planes[web] else -end)
        del planes[back]
    ends = tuple(_web_line(frame.rail(side), placed) for side in ("left", "right"))
    found = {}
    for name, plane in planes.items():
        low, high = spans[name]
        if high - low > LEAST_MM:
            found[name] = _crossmember_face(placed, name, plane, (low, high), ends)
    return found


def _crossmember_face(
    placed: PlacedCrossmember, name: str, plane: float, span: tuple[float, float], ends: tuple[tuple[float, float], ...]
) -> FlatFace:
    low, high = span

    def y(which: int, x: float) -> float:
        at, slope = ends[which]
        return at + (x - placed.x_mm) * slope

    if name in ("front", "rear"):
        sign = 1.0 if name == "rear" else -1.0  # of its normal along x: y x z is +x
        place = Placement(origin=(plane, 0.0, 0.0), u=(0.0, sign, 0.0), v=(0.0, 0.0, 1.0))
        a, b = sorted((sign * y(0, plane), sign * y(1, plane)))
        outline = _rectangle((a, b), (low, high))
    else:
        sign = 1.0 if name == "top" else -1.0
        place = Placement(origin=(0.0, 0.0, plane), u=(1.0, 0.0, 0.0), v=(0.0, sign, 0.0))
        points: tuple[Point, ...] = ((low, y(0, low)), (high, y(0, high)), (high, y(1, high)), (low, y(1, low)))
        outline = Contour(points, (0.0,) * 4)
        outline = outline if sign > 0 else outline.moved(Transform(d=-1.0))
    return FlatFace(
        name=f"{placed.name} {name}", side=None, placement=place, outline=outline, thickness_mm=placed.drawn.section.thickness_mm,
        onto=f"{placed.name} {name}",
    )  # fmt: skip


def _web_line(rail: Rail, placed: PlacedCrossmember) -> tuple[float, float]:
    """(y of the web's inboard face at the crossmember's middle, its slope over x there)."""
    s = sum(placed.s_range(rail.side)) / 2
    return placed.y_left_mm if rail.side == "left" else placed.y_right_mm, math.tan(rail.plan.heading_rad(s))


def _stretch(course: Course, s: float) -> Stretch:
    return course.stretch_at(course.t_at_first(s))


def _on_facet(own: PlacedHole, facet: Facet) -> Hole:
    return _round(own, facet.u_at(own.s_mm), own.z_mm)


def _round(own: PlacedHole, u: float, v: float) -> Hole:
    return Hole(name=own.name, x_mm=u, y_mm=v, diameter_mm=max(own.diameter_mm, own.head_across_mm), purpose=own.filled)


def _rectangle(us: tuple[float, float] | list[float], vs: tuple[float, float]) -> Contour:
    (a, b), (c, d) = sorted(us), sorted(vs)
    return Contour(((a, c), (b, c), (b, d), (a, d)), (0.0,) * 4)
