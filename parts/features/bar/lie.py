"""How a bar lies on two seats: the section along its run, its bends, and where the seats' bolt places come in it.

The run goes from the middle of the left seat's bolt places to that of the right one's. `e` is its direction, `m` the mean of the seats'
normals square to it, `v` = m x e. A seat leans by its angle in the plane of e and m; one that leans in v is twisted against the run.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from parts.bending import setback_mm
from parts.errors import BadInput, Fault
from parts.frame.frame import Frame
from parts.frame.offers import Seat
from parts.hardware import clearance_hole, spanner_room
from parts.material import least_inside_radius_mm
from parts.sheet import Placement, Vec3
from parts.shop import Shop
from parts.vectors import along, cross, dot, mean, minus, size, square_to, unit

if TYPE_CHECKING:
    from parts.families.fixture_bar import FixtureBar

TWIST_DEG = 0.01  #: so little twist moves no hole by 1e-6 mm
FLAT_DEG = 0.02
LEAST_BEND_DEG = 0.5  #: less is not set on a brake. Common practice, no source
OFF_PLANE_MM = 0.01
BEND_THICKNESSES = 3.0  #: hole edge to a bend's tangent, plus the inside radius: trade pages
LEAST_RUN_MM = 40.0  #: between two seats, or between the two bends
SETTLED = 40  #: rounds of a fixed point that settles in five


@dataclass(frozen=True, kw_only=True)
class End:
    """One seat with what the bar has over it."""

    seat: Seat
    middle: Vec3  #: of its bolt places
    hole_mm: float
    bend_deg: float  #: of the bar's end, + towards the side that the seats look to; 0: none
    tangent: Vec3  #: where the bend's tangent on the bar's middle panel crosses the run; for none, the middle
    inner_mm: float  #: how far the bolt places reach inboard of their middle, along the run
    outer_mm: float
    off_mm: float = 0.0  #: from the middle inboard to the bend's tangent on the bar's end

    @property
    def bolt(self) -> str:
        return self.seat.bolt


@dataclass(frozen=True, kw_only=True)
class Lie:
    """The bar's own axes and its ends, left and right."""

    ends: tuple[End, End]
    normal: Vec3  #: of the middle panel, away from the seats
    run: Vec3  #: along the middle panel, left to right
    inside_radius_mm: float
    lean_deg: float  #: of a seat against the flat bar, the larger, where it is too little to bend; else 0

    @property
    def bent(self) -> bool:
        return any(e.bend_deg for e in self.ends)

    @property
    def across(self) -> Vec3:
        return cross(self.normal, self.run)

    @property
    def spacing_mm(self) -> float:
        """Between the middles of the two seats' bolt places."""
        return math.dist(self.ends[0].middle, self.ends[1].middle)

    def place(self, before_mm: float) -> Placement:
        """Of the middle panel, whose u = 0 lies that far before the left end's tangent (or middle)."""
        return Placement(origin=along(self.ends[0].tangent, (self.run, -before_mm)), u=self.run, v=self.across)


def lie_of(bar: FixtureBar, frame: Frame, shop: Shop) -> Lie:
    """Raises BadInput: no such seats, or none that one bar can lie on."""
    where = f"part {bar.id}"
    seats, faults = [], []
    for side in frame.sides:
        try:
            seats.append(frame.seat(bar.ties, side))
        except BadInput as error:
            faults += [replace(f, where=where, field="ties") for f in error.faults]
    if faults:
        raise BadInput(faults)
    left, right = seats

    def fault(limit: str, remedy: str) -> BadInput:
        return BadInput(Fault(where=where, field="ties", value=bar.ties, limit=limit, remedy=remedy))

    a, b = mean(left.points), mean(right.points)
    if math.dist(a, b) < LEAST_RUN_MM:
        limit = f"its two seats stand {math.dist(a, b):.1f} mm apart; {LEAST_RUN_MM:g} mm is the least that a bar ties"
        raise fault(limit, "check the part's seats")
    e = unit(minus(b, a))
    both = along(left.normal, (right.normal, 1.0))
    if dot(left.normal, right.normal) <= 0 or size(square_to(both, e)) < 0.5:
        apart = math.degrees(math.acos(max(-1.0, min(1.0, dot(left.normal, right.normal)))))
        limit = f"its two seats look {apart:.1f} deg apart, or along the bar: nothing lies on both"
        raise fault(limit, "let both look up, or both down")
    m = unit(square_to(both, e))
    v = cross(m, e)
    twists = [math.degrees(math.asin(max(-1.0, min(1.0, dot(s.normal, v))))) for s in seats]
    if max(abs(t) for t in twists) > TWIST_DEG:
        limit = (
            f"its seats are twisted by {abs(twists[0] - twists[1]):.2f} deg against each other along the vehicle: a bar, flat or with bent "
            f"ends, follows no twist (up to {2 * TWIST_DEG:g} deg it would)"
        )
        raise fault(limit, "give both seats one tilt along the vehicle, or tie them by a bar of two parts that are bolted together")
    for seat in seats:
        off = max(abs(dot(minus(p, mean(seat.points)), seat.normal)) for p in seat.points)
        if off > OFF_PLANE_MM:
            raise fault(f"the {seat.side} seat's bolt places lie {off:.2f} mm off one plane", "check the part's seats")
    return _laid(bar, shop, (left, right), (a, b), (e, m))


def _laid(bar: FixtureBar, shop: Shop, seats: tuple[Seat, Seat], middles: tuple[Vec3, Vec3], axes: tuple[Vec3, Vec3]) -> Lie:
    e, m = axes
    leans = tuple(math.atan2(dot(s.normal, e), dot(s.normal, m)) for s in seats)
    radius = shop.inside_radius_mm or least_inside_radius_mm(bar.thickness_mm, bar.grade)[0]
    ends = []
    for seat, middle, lean, way in zip(seats, middles, leans, (1.0, -1.0), strict=True):
        flat_way = along((0.0, 0.0, 0.0), (e, way * math.cos(lean)), (m, -way * math.sin(lean)))  # along the seat, inboard
        outs = [dot(minus(p, middle), flat_way) for p in seat.points]
        size_mm = clearance_hole(seat.bolt, "fine").diameter_mm
        ends.append(End(seat=seat, middle=middle, hole_mm=size_mm, bend_deg=0.0, tangent=middle, inner_mm=max(outs), outer_mm=-min(outs)))
    flat = Lie(ends=(ends[0], ends[1]), normal=m, run=e, inside_radius_mm=radius, lean_deg=0.0)
    if max(abs(math.degrees(lean)) for lean in leans) <= FLAT_DEG:
        return flat
    bent = _bent(bar, flat, (leans[0], leans[1]), (e, m))
    turns = [abs(end.bend_deg) for end in bent.ends]
    if max(turns) < LEAST_BEND_DEG:
        return replace(flat, lean_deg=max(abs(math.degrees(lean)) for lean in leans))
    if min(turns) < LEAST_BEND_DEG:
        which = "left" if turns[0] < turns[1] else "right"
        limit = (
            f"the seats lean {math.degrees(leans[0]):.2f} deg (left) and {-math.degrees(leans[1]):.2f} deg (right) across the vehicle: the "
            f"bar's {which} end would need a bend of {min(turns):.2f} deg; {LEAST_BEND_DEG:g} deg is the least that a brake sets"
        )
        raise BadInput(Fault(where=f"part {bar.id}", field="ties", value=bar.ties, limit=limit, remedy="let both seats lean alike"))
    return bent


def _bent(bar: FixtureBar, flat: Lie, leans: tuple[float, float], axes: tuple[Vec3, Vec3]) -> Lie:
    """Each end lies in its seat's plane; the middle panel runs between two lines across, one in each plane."""
    e, m = axes
    t, r = bar.thickness_mm, flat.inside_radius_mm
    inboard = [
        along((0.0, 0.0, 0.0), (e, way * math.cos(lean)), (m, -way * math.sin(lean))) for way, lean in zip((1.0, -1.0), leans, strict=True)
    ]
    offs = []
    for end in flat.ends:
        least = max(end.hole_mm / 2 + BEND_THICKNESSES * t + r, spanner_room(end.bolt).centre_to_wall_mm)
        offs.append(end.inner_mm + (bar.bend_off_mm if bar.bend_off_mm is not None else least))
    turns = [0.0, 0.0]
    for _ in range(SETTLED):
        sets = [_set_mm(turn, r, t) for turn in turns]
        corners = [along(end.middle, (way, off + back)) for end, way, off, back in zip(flat.ends, inboard, offs, sets, strict=True)]
        between = minus(corners[1], corners[0])
        slope = math.atan2(dot(between, m), dot(between, e))
        turns = [math.degrees(leans[0] + slope), -math.degrees(leans[1] + slope)]
    run = unit(between)
    length = size(between) - sum(sets)
    if dot(between, e) <= 0 or length < LEAST_RUN_MM:
        limit = (
            f"the two bends, {offs[0]:.0f} and {offs[1]:.0f} mm inboard of the seats' middles, leave {max(length, 0.0):.1f} mm between them"
        )
        value = f"{bar.bend_off_mm:g} mm" if bar.bend_off_mm is not None else ""
        raise BadInput(Fault(where=f"part {bar.id}", field="bend_off", value=value, limit=limit, remedy=f"at least {LEAST_RUN_MM:g} mm"))
    normal = cross(run, cross(m, e))
    ends = [
        replace(end, bend_deg=turn, off_mm=off, tangent=along(corner, (run, way * back)))
        for end, turn, off, corner, back, way in zip(flat.ends, turns, offs, corners, sets, (1.0, -1.0), strict=True)
    ]
    return replace(flat, ends=(ends[0], ends[1]), run=run, normal=normal)


def _set_mm(turn_deg: float, radius: float, thickness: float) -> float:
    """From where the bearing faces of two panels would meet to the tangent: that face is a bend's outside where it turns up."""
    return setback_mm(turn_deg, radius, thickness if turn_deg > 0 else 0.0)
