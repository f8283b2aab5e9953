"""A rail's drawn plan curve through the points that were measured on it: turns as drawn, straights as long as they were found.

The curve is laid on its points as one rigid thing. What is left *along* the rail makes the straights longer or shorter, so that a turn
lies where it was measured; it keeps its angle and its radius. What is left *aside* (a bow, a lean) stays a gap: it bends nothing.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from parts.frame.course import Course
from parts.frame.linear import Linear
from parts.frame.plan import PlanCurve
from parts.outline import Point
from parts.sheet import Vec3

NEAR_MM = 100.0  #: points nearer to each other than this along the rail count as one place: between them a millimetre would be a kink
LEVER_SHARE = 0.25  #: of the rail, that points must span to turn it: a shorter lever makes a turn of the readings' error
ROUNDS = 50  #: each leaves about as much of the misfit as the rail turns, in radians
SAME_MM = 1e-10


@dataclass(frozen=True, kw_only=True)
class Met:
    """A control point: where the drawing has it and where it was measured."""

    key: str
    s_mm: float  #: as drawn, the point's own
    z_mm: float
    in_mm: float  #: off the web's outside face, towards the open side
    up_mm: float  #: square from the rail's lower outside face
    face: str
    point: Vec3  #: as measured
    hole: str = ""  #: the hole whose centre it is


@dataclass(frozen=True, kw_only=True)
class FoundPlan:
    """`along`: how much further from the front end a place lies than drawn, over s as drawn; `aside`: what is left of each point."""

    plan: PlanCurve
    along: Linear
    aside: tuple[float, ...]  #: of each point, + towards the open side

    def s_of(self, drawn_s: float) -> float:
        return drawn_s + self.along.at(drawn_s)


def clusters(points: Sequence[Met]) -> list[list[int]]:
    """Indices of the points, from front to rear, those nearer than `NEAR_MM` to the first of a group together."""
    order = sorted(range(len(points)), key=lambda i: (points[i].s_mm, points[i].key))
    found: list[list[int]] = []
    for i in order:
        if found and points[i].s_mm - points[found[-1][0]].s_mm < NEAR_MM:
            found[-1].append(i)
        else:
            found.append([i])
    return found


def found_plan(drawn: PlanCurve, points: Sequence[Met]) -> FoundPlan:
    """Points may be one or more. The result may be a curve that cannot be (a straight used up): its maker looks."""
    groups = clusters(points)
    turns = drawn.course
    lever = max(p.s_mm for p in points) - min(p.s_mm for p in points)
    turning = lever >= LEVER_SHARE * drawn.length_mm
    shifts = [0.0] * len(groups)
    at = [sum(points[i].s_mm for i in group) / len(group) for group in groups]
    for _ in range(ROUNDS):
        along = _from_front(Linear.of(zip(at, shifts, strict=True)))
        plan = replace(drawn, course=_stretched(turns, drawn.station_s, along))
        plan = _laid(plan, along, points, turning)
        left = [_left(plan, along, p) for p in points]
        off = [sum(left[i][0] for i in group) / len(group) for group in groups]
        if max(abs(o) for o in off) <= SAME_MM:
            break
        shifts = [shift + o for shift, o in zip(shifts, off, strict=True)]
    return FoundPlan(plan=plan, along=along, aside=tuple(aside for _, aside in left))


def _from_front(shift: Linear) -> Linear:
    """s counts from the rail's own front end, wherever that lies now."""
    first = shift.at(0.0)
    return Linear(knots=tuple((place, value - first) for place, value in shift.knots))


def _stretched(course: Course, station_s: tuple[float, ...], along: Linear) -> Course:
    """Every straight as much longer as the places at its ends moved apart; every heading as drawn."""
    vertices = [course.vertices[0]]
    for i in range(len(course.vertices) - 1):
        (ax, ay), (bx, by) = course.vertices[i], course.vertices[i + 1]
        span = math.hypot(bx - ax, by - ay)
        grown = span + along.at(station_s[i + 1]) - along.at(station_s[i])
        x, y = vertices[-1]
        vertices.append((x + grown * (bx - ax) / span, y + grown * (by - ay) / span))
    return replace(course, vertices=tuple(vertices))


def _laid(plan: PlanCurve, along: Linear, points: Sequence[Met], turning: bool) -> PlanCurve:
    """The curve moved (and turned) as one thing, so that the sum of the squared misses is least."""
    own = [plan.point(p.s_mm + along.at(p.s_mm), p.in_mm) for p in points]
    n = len(points)
    mx, my = sum(x for x, _ in own) / n, sum(y for _, y in own) / n
    px, py = sum(p.point[0] for p in points) / n, sum(p.point[1] for p in points) / n
    angle = 0.0
    if turning:
        pairs = [(x - mx, y - my, p.point[0] - px, p.point[1] - py) for (x, y), p in zip(own, points, strict=True)]
        angle = math.atan2(sum(x * v - y * u for x, y, u, v in pairs), sum(x * u + y * v for x, y, u, v in pairs))
    c, s = math.cos(angle), math.sin(angle)

    def moved(q: Point) -> Point:
        x, y = q[0] - mx, q[1] - my
        return px + c * x - s * y, py + s * x + c * y

    return replace(plan, course=replace(plan.course, vertices=tuple(moved(q) for q in plan.course.vertices)))


def _left(plan: PlanCurve, along: Linear, point: Met) -> Point:
    """(along, aside) from the point's place on the curve to where it was measured, + rearward and + towards the open side."""
    s = point.s_mm + along.at(point.s_mm)
    x, y = plan.point(s, point.in_mm)
    dx, dy = point.point[0] - x, point.point[1] - y
    (c, d), (e, f) = plan.direction(s), plan.normal(s)
    return dx * c + dy * d, dx * e + dy * f
