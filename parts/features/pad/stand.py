"""The chain of planes from base to top: where each bend lies, and the outline of every panel.

Base, arm and top are planes of their z = 0 faces, all on one side of the sheet. Each bend line is where two of them that follow on each
other meet, set back on both sides by the true angle between them. The arm's plane holds a line of the base along the rail (its foot) and a
point of the top straight out from the rail (its head): its bend on the base is then square, and all that a compound tilt brings lies in the
bend of the top, oblique in both panels.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from parts.errors import Fault
from parts.features.bracket.outline import EDGE_RADIUS_MM, LEAST_CONTACT_MM
from parts.features.pad.ground import Ground
from parts.features.pad.pattern import holes, least_room_mm
from parts.features.pad.planes import Fold, Plane, cross, dot, fold_between, local, minus, plus, scaled, unit
from parts.holes import Hole
from parts.material import least_inside_radius_mm
from parts.outline import Contour, Point
from parts.sheet import Placement, Vec3

BASE, ARM, TOP = "base", "arm", "top"
STEEPEST_RAD = math.radians(150.0)  #: of a bend: beyond it the panels lie almost on each other, and no die reaches in
LEAST_FLAT_MM = 2.0  #: of an arm between its bends
SPARE_MM = 1e-3  #: over what is asked, so that a limit that is met is not missed by rounding
SAMPLES = 16
TRIES = 8


@dataclass(frozen=True, kw_only=True)
class StandPanel:
    """A panel's z = 0 face in the vehicle and its corners there in (u, v); a child's bend edge is its first. `rounded`: free corners."""

    name: str
    place: Placement
    corners: tuple[Point, ...]
    rounded: tuple[int, ...] = ()
    hangs: int | None = None  #: number of the edge that the next panel hangs from

    @property
    def contour(self) -> Contour:
        """Sharp."""
        return Contour(self.corners, (0.0,) * len(self.corners))

    @property
    def shaped(self) -> Contour:
        return self.contour.rounded([EDGE_RADIUS_MM if i in self.rounded else 0.0 for i in range(len(self.corners))])


@dataclass(frozen=True, kw_only=True)
class Stand:
    """`panels` from the base to the top, `folds` between them."""

    panels: tuple[StandPanel, ...]
    folds: tuple[Fold, ...]
    bearing_mm: float  #: z of the top's upper face in its own panel: 0 or the thickness
    heading: Vec3  #: straight out in the top, from its bend towards its free edge
    foot_b: float  #: b of the outside corner of the base's bend, in the middle
    top_holes: tuple[Hole, ...]

    @property
    def armed(self) -> bool:
        return len(self.folds) > 1

    @property
    def base(self) -> StandPanel:
        return self.panels[0]

    @property
    def top(self) -> StandPanel:
        return self.panels[-1]

    @property
    def top_contour(self) -> Contour:
        return self.top.contour

    def turn_deg(self, fold: int) -> float:
        return math.degrees(self.folds[fold].turn_rad)


Found = tuple[Stand | None, list[Fault]]


def straight(ground: Ground) -> Found:
    """The top bent straight off the base."""
    target, ahead = ground.target, scaled(ground.way, ground.v)
    # A bend towards the base's seen side has its outside on the z = 0 faces: that one bears where the stand leaves upwards.
    sign = -1.0 if dot(ahead, target.normal) > 0 else 1.0
    top = _top_plane(ground, sign)
    fold = fold_between(ground.plane, ahead, top, ground.thickness_mm, ground.radius_mm)
    if fold is None or not 0 < fold.turn_rad <= STEEPEST_RAD:
        return None, [_no_bend(ground, fold, "the top", ground.onto)]
    edge = _across(fold.before(fold.apex), fold.along, ground)
    apex_b = edge[2] + ground.way * fold.setback_mm
    base, faults = _base(ground, edge[0], edge[1], apex_b)
    if base is None:
        return None, faults
    starts = [fold.after(plus(p, (fold.setback_mm, fold.out))) for p in edge[3]]
    heading, side = _headings(ground, top, fold)
    return _topped(ground, [base], [fold], top, sign, starts, heading, side, apex_b, faults)


def armed(ground: Ground, foot_b: float) -> Found:
    """Base, arm and top; the arm's foot at `foot_b` on the base. The top's bend is as near as its holes allow if no length is asked for."""
    back = ground.pad.top_back_mm
    if back is not None:
        return _armed(ground, foot_b, back)
    need, back = least_room_mm(ground) + SPARE_MM, 0.0
    found: Found = (None, [])
    for _ in range(TRIES):
        found = _armed(ground, foot_b, back)
        stand = found[0]
        if stand is None:
            if back >= need:
                return found
            back = need if back else 1.0  # the head on the point itself may lie where no bend can be, or leave too little of the top
            continue
        short = need - min(h.y_mm - h.diameter_mm / 2 for h in stand.top_holes)
        if short <= SPARE_MM / 2:
            break
        back += short
    return found


def _armed(ground: Ground, foot_b: float, back_mm: float) -> Found:
    target, axis = ground.target, cross(scaled(ground.way, ground.v), ground.normal)
    ahead = scaled(ground.way, ground.v)
    foot = ground.point(0.0, foot_b)
    flat = unit(cross(target.normal, ground.u))  # in the top, straight out from the rail
    outwards = ground.normal if ground.upright is not None else scaled(1.0 if dot(minus(target.point, foot), ahead) >= 0 else -1.0, ahead)
    if dot(flat, outwards) < 0:
        flat = scaled(-1.0, flat)
    sign = 1.0 if dot(cross(axis, flat), target.normal) > 0 else -1.0
    top = _top_plane(ground, sign)
    # The head lies in the plane straight out from the rail through the point, on the top's z = 0 face.
    head = plus(top.met(target.point, cross(ground.u, flat)), (-back_mm, flat))
    arm_way = minus(head, foot)
    if math.sqrt(dot(arm_way, arm_way)) < ground.radius_mm + ground.thickness_mm:
        limit = "the arm's foot and head lie in one place: there is no room for two bends between them"
        return None, [ground.fault("fold", "arm", limit, 'fold = "straight", or a point further from the base')]
    arm = Plane(point=foot, normal=cross(axis, unit(arm_way)))
    one = fold_between(ground.plane, ahead, arm, ground.thickness_mm, ground.radius_mm)
    two = fold_between(arm, unit(arm_way), top, ground.thickness_mm, ground.radius_mm)
    if one is None or not 0 < one.turn_rad <= STEEPEST_RAD:
        return None, [_no_bend(ground, one, "the arm", ground.onto)]
    if two is None or abs(two.turn_rad) > STEEPEST_RAD or dot(two.ahead, flat) <= 0:
        return None, [_no_bend(ground, two, "the top", "the arm")]
    half = ground.half_mm
    tangent = foot_b - ground.way * one.setback_mm
    base, faults = _base(ground, tangent, tangent, foot_b)
    if base is None:
        return None, faults
    heading, side = _headings(ground, top, two)
    ends = _side_points(ground, top, two, side)
    start = one.after(plus(foot, (-half, one.along)))
    place = Placement(origin=start, u=one.along, v=one.ahead)
    far = [local(place, plus(p, (-two.setback_mm, two.ahead), (-two.setback_mm, two.out))) for p in ends]
    shortest = min(v for _, v in far)
    if shortest < LEAST_FLAT_MM:
        limit = f"its two bends leave {max(shortest, 0.0):.1f} mm of flat arm at its shorter side; {LEAST_FLAT_MM:g} mm is the least"
        return None, [ground.fault("fold", "arm", limit, _lengthen(ground, LEAST_FLAT_MM - shortest))]
    panel = StandPanel(name=ARM, place=place, corners=((0.0, 0.0), (2 * half, 0.0), far[1], far[0]), hangs=2)
    return _topped(ground, [base, panel], [one, two], top, sign, ends, heading, side, foot_b, faults)


def _lengthen(ground: Ground, short: float) -> str:
    if short > ground.pad.width_mm:
        return "less tilt, a narrower pad, or another foot: the line of the top's bend runs across the arm from edge to edge"
    more = math.ceil(short)
    moved = "a foot further from the point" if ground.pad.foot_mm is not None else "a point further from the base"
    return f"{moved} by {more} mm or more, or a shorter top_back"


def _no_bend(ground: Ground, fold: Fold | None, what: str, off: str) -> Fault:
    pad = ground.pad
    if fold is None:
        limit = f"{what} lies within 1 deg of {off}: there is nothing to bend"
    else:
        turn = math.degrees(fold.turn_rad)
        limit = f"{what} would have to be turned {turn:.1f} deg off {off}; a bend away from the rail of up to 150 deg can be made"
    remedy = f"the stand off another edge (leaves, now {ground.edge_name}), another foot or tilt, or another face under on"
    return ground.fault("fold", pad.fold, limit, remedy)


def _top_plane(ground: Ground, sign: float) -> Plane:
    """Of its z = 0 face: the upper one where the sheet's +z points down (sign -1), else the lower one."""
    target = ground.target
    below = 0.0 if sign < 0 else -ground.thickness_mm
    return Plane(point=plus(target.point, (below, target.normal)), normal=scaled(sign, target.normal))


def _headings(ground: Ground, top: Plane, fold: Fold) -> tuple[Vec3, Vec3]:
    """(straight out in the top, square to that in the top the way the bend's u runs)."""
    heading = unit(cross(top.normal, ground.u))
    if dot(heading, fold.ahead) < 0:
        heading = scaled(-1.0, heading)
    side = cross(heading, top.normal)
    return heading, side if dot(side, fold.along) > 0 else scaled(-1.0, side)


def _across(start: Vec3, along: Vec3, ground: Ground) -> tuple[float, float, float, list[Vec3]]:
    """b of a line of the base at its left and right side and in the middle, and its ends there in the order of `along`."""
    a0, b0 = ground.ab(start)
    da, db = dot(along, ground.u), dot(along, ground.v)

    def at(a: float) -> Vec3:
        return plus(start, ((a - a0) / da, along))

    ends = [at(-ground.half_mm), at(ground.half_mm)]
    b = [b0 + db * (a - a0) / da for a in (-ground.half_mm, ground.half_mm, 0.0)]
    return b[0], b[1], b[2], ends if da > 0 else ends[::-1]


def _side_points(ground: Ground, top: Plane, fold: Fold, side: Vec3) -> list[Vec3]:
    """The ends of the top's bend edge: on its tangent line, half the top's width to either side of the point."""
    half = top_width_mm(ground) / 2
    start = fold.after(fold.apex)
    return [
        plus(start, ((k * half - dot(side, minus(start, ground.target.point))) / dot(side, fold.along), fold.along)) for k in (-1.0, 1.0)
    ]


def top_width_mm(ground: Ground) -> float:
    return ground.pad.top_width_mm if ground.pad.top_width_mm is not None else ground.pad.width_mm


def _topped(
    ground: Ground, panels: list[StandPanel], folds: list[Fold], top: Plane, sign: float, ends: list[Vec3], heading: Vec3, side: Vec3,
    foot_b: float, faults: list[Fault],
) -> Found:  # fmt: skip
    """The top hung on: its bend edge between `ends`, its free edge square to its heading."""
    pad, fold, half = ground.pad, folds[-1], top_width_mm(ground) / 2
    place = Placement(origin=ends[0], u=fold.along, v=fold.ahead)
    far = [plus(ground.target.point, (pad.top_reach_mm, heading), (k * half, side)) for k in (1.0, -1.0)]
    corners = ((0.0, 0.0), local(place, ends[1]), *(local(place, p) for p in far))
    panel = StandPanel(name=TOP, place=place, corners=corners, rounded=(2, 3))
    short = min(v for _, v in corners[2:])
    if short < 2 * EDGE_RADIUS_MM + LEAST_FLAT_MM or panel.contour.area <= 0 or panel.contour.self_crossing() is not None:
        limit = f"leaves {max(short, 0.0):.1f} mm of flat top at its shorter side, from its bend to its free edge"
        # Where the bend lies askew in the top, a longer reach gains that much less square to it.
        more = max((2 * EDGE_RADIUS_MM + LEAST_FLAT_MM - short) / max(dot(heading, fold.ahead), 0.1), 1.0)
        remedy = f"{math.ceil(pad.top_reach_mm + more)} mm or more, a narrower top, or less tilt"
        return None, [*faults, ground.fault("top_reach", f"{pad.top_reach_mm:g} mm", limit, remedy)]
    stand = Stand(
        panels=(*panels, panel), folds=tuple(folds), bearing_mm=0.0 if sign < 0 else ground.thickness_mm, heading=heading, foot_b=foot_b,
        top_holes=holes(pad, ground.target, place),
    )  # fmt: skip
    return stand, faults


def _base(ground: Ground, left: float, right: float, apex_b: float) -> tuple[StandPanel | None, list[Fault]]:
    """`left`, `right`: b of the bend's tangent line at the base's sides; `apex_b` of its outside corner in the middle."""
    pad, way, half = ground.pad, ground.way, ground.half_mm
    free = _free_edge(ground, apex_b)
    contacts, beyond = [], []
    for a, tangent, end in ((-half, left, free[0]), (half, right, free[1])):
        low, high = ground.span(a)
        contacts.append(min(max(tangent, end), high) - max(min(tangent, end), low))
        beyond.append(way * tangent - (high if way > 0 else -low))
    field, value = height_asked(ground)
    if ground.inside_section and max(beyond) > 1e-9:
        way_back = "lower" if way > 0 else "higher"
        limit = f"the bend on the base would begin {max(beyond):.1f} mm past the flat of {ground.onto}, between the flanges"
        # As far as the flat asks, and as the air to the flange that the top then passes.
        tight = max(way * apex_b - (high if way > 0 else -low) for low, high in (ground.room(a) for a in (-half, half)))
        far = math.ceil(10 * max(*beyond, tight) - 1e-6) / 10
        kept = f' with leaves = "{ground.edge_name}"' if pad.leaves == "auto" else ""
        return None, [ground.fault(field, value, limit, f'{far:.1f} mm {way_back}{kept}, or fold = "arm"')]
    if min(contacts) < LEAST_CONTACT_MM:
        limit = f"leaves {max(min(contacts), 0.0):.1f} mm of base on {ground.onto}; {LEAST_CONTACT_MM:g} mm is the least"
        if pad.height_mm is not None and way * (free[0] - apex_b) > -pad.height_mm - 1e-6:
            field, value = "height", f"{pad.height_mm:g} mm"
        short = math.ceil(LEAST_CONTACT_MM - min(contacts))
        if field == "height" and pad.height_mm is not None:
            remedy = f"{pad.height_mm + short:g} mm or more, or another face under on"
        elif field in ("rise", "z") and pad.fold == "straight":
            kept = f' with leaves = "{ground.edge_name}"' if pad.leaves == "auto" else ""
            remedy = f"{short} mm {'higher' if way > 0 else 'lower'}{kept}, or another face under on"
        else:
            remedy = f"the bend {short} mm further from the base's free edge, or another face under on"
        return None, [ground.fault(field, value, limit, remedy)]
    corners = ((-half, free[0]), (half, free[1]), (half, right), (-half, left))
    if way < 0:
        corners = ((-half, left), (half, right), (half, free[1]), (-half, free[0]))
    rounded = ((0, 1) if way > 0 else (2, 3)) if pad.attach == "bolt" else ()
    place = Placement(origin=ground.origin, u=ground.u, v=ground.v)
    return StandPanel(name=BASE, place=place, corners=corners, rounded=rounded, hangs=2 if way > 0 else 0), []


def _free_edge(ground: Ground, apex_b: float) -> Point:
    """b of the base's free edge at its left and right side: as far as asked, and as the face allows over the whole width."""
    pad, way, half = ground.pad, ground.way, ground.half_mm

    def limit(a: float) -> float:
        low, high = ground.span(a)
        return way * (low if way > 0 else high)  # in the direction towards the bend

    ends = [limit(-half), limit(half)]
    stops = [-half + 2 * half * k / SAMPLES for k in range(SAMPLES + 1)]
    over = max(limit(a) - (ends[0] + (ends[1] - ends[0]) * (a + half) / (2 * half)) for a in stops)
    if pad.height_mm is not None:
        ends = [max(e, way * apex_b - pad.height_mm) for e in ends]
    left, right = (way * (e + max(over, 0.0)) for e in ends)
    return left, right


def height_asked(ground: Ground) -> tuple[str, str]:
    """(field, value) of what gives the point's height, or the arm's foot, for faults."""
    pad = ground.pad
    if pad.foot_mm is not None:
        return "foot", f"{pad.foot_mm:g} mm"
    if pad.carries is not None:
        return "carries", pad.carries
    return ("rise", f"{pad.rise_mm:g} mm") if pad.rise_mm is not None else ("z", f"{pad.z_mm:g} mm")


def with_radius(ground: Ground, stand: Stand) -> Ground:
    """The ground with the inside radius that the sharpest bend needs: beyond 120 deg more than for the others."""
    if ground.shop.inside_radius_mm is not None:
        return ground
    sharpest = max(abs(math.degrees(f.turn_rad)) for f in stand.folds)
    return replace(ground, radius_mm=max(ground.radius_mm, least_inside_radius_mm(ground.thickness_mm, ground.pad.grade, sharpest)[0]))
