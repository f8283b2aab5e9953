"""The frame's steel as plain bodies to look at: rings of points, ruled from one to the next, and the holes cut through them.

Straight runs, turns, kicks and tapers are followed; arcs become chords that leave at most `SAGITTA_MM`, a rounded corner of a section
is one chord. Nothing is measured on these: parts are seated on the exact rail.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Literal

from parts.frame.course import Course
from parts.frame.crossmember import PlacedCrossmember
from parts.frame.features import Bracket
from parts.frame.placed import PlacedHole, PlacedMount, PlacedPatch
from parts.frame.placing import SIDES
from parts.frame.rail import Rail
from parts.outline import Point
from parts.sheet import Vec3

if TYPE_CHECKING:
    from parts.frame.frame import Frame

SAGITTA_MM = 1.0
TOGETHER_MM = 0.01  #: rings nearer than this are one
TUBE_SIDES = 24
BodyKind = Literal["rail", "crossmember", "bracket", "body mount"]
Ring = tuple[Vec3, ...]
Landmark = tuple[float, Literal["low", "high"], float]  #: (from the web's back, from which edge, how far inside that edge)


@dataclass(frozen=True, kw_only=True)
class Cylinder:
    """A round cut: from `point` along the unit `direction`."""

    point: Vec3
    direction: Vec3
    radius_mm: float
    length_mm: float


@dataclass(frozen=True, kw_only=True)
class Body:
    """Closed outlines of one body, from end to end: equal point counts, ruled from ring to ring, flat at both ends.

    `inner_rings` bound the hollow of a box or tube in the same way; `cuts` go through the steel. Vehicle axes, mm.
    """

    name: str
    kind: BodyKind
    rings: tuple[Ring, ...]
    inner_rings: tuple[Ring, ...] = ()
    cuts: tuple[Cylinder, ...] = ()


def frame_bodies(frame: Frame) -> tuple[Body, ...]:
    """Every body of the frame: rails, crossmembers, brackets (also those that come off), body mounts."""
    bodies = [_rail_body(frame.rail(side), frame.holes_on(side)) for side in SIDES]
    bodies += [_crossmember_body(placed, frame) for placed in frame.placed_crossmembers]
    bodies += [_bracket_body(placed, frame.rail(placed.side)) for placed in frame.placed_brackets]
    bodies += [_mount_body(placed, frame.rail(placed.side)) for placed in frame.placed_mounts]
    return tuple(bodies)


# --- sections ---


def _corner(edge: Literal["low", "high"], web: float, flange: float, radius: float) -> tuple[list[Landmark], list[Landmark]]:
    """One corner of web and flange, (outside, inside), from the flange to the web: a chord each, or one point where it is sharp."""
    outside = radius + web if radius else 0.0
    if not radius:
        return [(0.0, edge, 0.0)], [(web, edge, flange)]
    return [(outside, edge, 0.0), (0.0, edge, outside)], [(web + radius, edge, flange), (web, edge, flange + radius)]


def _channel(over: float, web: float, flange: float, radius: float, lip: float) -> list[Landmark]:
    """A channel, or with a lip a hat: round its steel, starting on the outside of the lower flange."""
    low_out, low_in = _corner("low", web, flange, radius)
    high_out, high_in = _corner("high", web, flange, radius)
    low_toe: list[Landmark] = [(over, "low", 0.0), (over, "low", flange)]
    high_toe: list[Landmark] = [(over, "high", flange), (over, "high", 0.0)]
    if lip:
        low_toe = [(over - flange, "low", 0.0), (over - flange, "low", -lip), (over, "low", -lip), (over, "low", flange)]
        high_toe = [(over, "high", flange), (over, "high", -lip), (over - flange, "high", -lip), (over - flange, "high", 0.0)]
    return [*low_toe, *low_in, *reversed(high_in), *high_toe, *high_out, *reversed(low_out)]


def _box(over: float, web: float, flange: float, radius: float) -> tuple[list[Landmark], list[Landmark]]:
    """(outside, inside) of a box."""
    low_out, low_in = _corner("low", web, flange, radius)
    high_out, high_in = _corner("high", web, flange, radius)

    def loop(low: list[Landmark], high: list[Landmark]) -> list[Landmark]:
        mirrored_low: list[Landmark] = [(over - a, edge, inset) for a, edge, inset in low]
        mirrored_high: list[Landmark] = [(over - a, edge, inset) for a, edge, inset in high]
        return [*mirrored_low, *reversed(mirrored_high), *high, *reversed(low)]

    return loop(low_out, high_out), loop(low_in, high_in)


# --- rails ---


def _rail_body(rail: Rail, holes: Iterable[PlacedHole]) -> Body:
    section = rail.section
    sizes = (section.flange_mm, section.web_mm, section.flange_thickness_mm, section.inside_radius_mm)
    inner: list[Landmark] = []
    if section.kind == "closed":
        outline, inner = _box(*sizes)
    else:
        outline = _channel(*sizes, section.lip_mm)
    insets = {inset for _, _, inset in (*outline, *inner)}
    stops = _stops(rail, insets)
    return Body(
        name=rail.name,
        kind="rail",
        rings=tuple(_rail_ring(rail, outline, s) for s in stops),
        inner_rings=tuple(_rail_ring(rail, inner, s) for s in stops) if inner else (),
        cuts=tuple(_hole_cut(hole, rail) for hole in holes if hole.filled == "open"),
    )


def _rail_ring(rail: Rail, outline: list[Landmark], s: float) -> Ring:
    heights = {"low": rail.profile.lower_z, "high": rail.profile.upper_z}
    return tuple(rail.point(s, heights[edge](s, inset), offset) for offset, edge, inset in outline)


def _stops(rail: Rail, insets: set[float]) -> list[float]:
    """s of every ring: where anything begins or ends to bend, and between as the sagitta asks."""
    profile, last = rail.profile, rail.length_s_mm
    courses = [course for inset in insets for course in (profile.upper_course(inset), profile.lower_course(inset))]
    marks = set(rail.plan.breaks)
    for course in courses:
        marks.update(stretch.start[0] for stretch in course.stretches)
        marks.update(course.vertices[i][0] for i, turn in enumerate(course.turns_rad) if turn and not course.radii_mm[i])
    stops = [0.0]
    for mark in sorted(m for m in marks if 0.0 < m < last):
        if mark - stops[-1] > TOGETHER_MM and last - mark > TOGETHER_MM:
            stops.append(mark)
    stops.append(last)
    found = [0.0]
    for a, b in pairwise(stops):
        count = max([_chords(rail.plan.course, a, b, rail.section.flange_mm), *(_course_chords(course, a, b) for course in courses)])
        found += [a + (b - a) * k / count for k in range(1, count + 1)]
    return found


def _course_chords(course: Course, a: float, b: float) -> int:
    return _chords(course, course.t_at_first(a), course.t_at_first(b), 0.0)


def _chords(course: Course, t0: float, t1: float, wider_by_mm: float) -> int:
    """How many chords an arc between two lengths needs; 1 on a line."""
    stretch = course.stretch_at((t0 + t1) / 2)
    if stretch.is_line:
        return 1
    radius = stretch.radius_mm + wider_by_mm
    most = 2 * math.acos(max(0.0, 1 - SAGITTA_MM / radius))
    return max(1, math.ceil((t1 - t0) / stretch.radius_mm / most))


def _hole_cut(hole: PlacedHole, rail: Rail) -> Cylinder:
    steel = rail.section.web_mm if hole.face == "web" else rail.section.flange_thickness_mm
    (x, y, z), (a, b, c) = hole.point, hole.outward
    return Cylinder(point=(x + a, y + b, z + c), direction=(-a, -b, -c), radius_mm=hole.diameter_mm / 2, length_mm=steel + 2.0)


# --- crossmembers ---


def _crossmember_body(placed: PlacedCrossmember, frame: Frame) -> Body:
    section = placed.drawn.section
    inner: list[Point] = []
    if section.kind == "tube":
        outline = _circle(placed, section.depth_mm / 2)
        inner = _circle(placed, section.depth_mm / 2 - section.thickness_mm)
    else:
        upright = section.kind == "closed" or placed.drawn.opens in ("forward", "rearward")
        over, high = (section.over_x_mm, section.depth_mm) if upright else (section.depth_mm, section.over_x_mm)
        sizes = (over, section.thickness_mm, section.thickness_mm, section.inside_radius_mm)
        place = _turned(placed, upright, high, section.lip_mm)
        if section.kind == "closed":
            outer_marks, inner_marks = _box(*sizes)
            outline, inner = place(outer_marks), place(inner_marks)
        else:
            outline = place(_channel(*sizes, section.lip_mm))
    ends = [_web_line(placed, frame.rail(side)) for side in SIDES]

    def rings(points: list[Point]) -> tuple[Ring, ...]:
        return tuple(tuple((x, y_at(x), z) for x, z in points) for y_at in ends)

    return Body(name=f"crossmember {placed.name}", kind="crossmember", rings=rings(outline), inner_rings=rings(inner) if inner else ())


def _circle(placed: PlacedCrossmember, radius: float) -> list[Point]:
    middle = placed.top_mm - placed.drawn.section.depth_mm / 2
    turns = (math.tau * k / TUBE_SIDES for k in range(TUBE_SIDES))
    return [(placed.x_mm + radius * math.cos(turn), middle + radius * math.sin(turn)) for turn in turns]


def _turned(placed: PlacedCrossmember, upright: bool, high: float, lip: float) -> Callable[[list[Landmark]], list[Point]]:
    """Landmarks of the section to (x, z), by the side it opens to."""
    x0, x1, z0, z1 = placed.box
    opens = placed.drawn.opens

    def place(marks: list[Landmark]) -> list[Point]:
        points: list[Point] = []
        for a, edge, inset in marks:
            b = lip + inset if edge == "low" else high - lip - inset
            if upright:
                points.append((x1 - a if opens == "forward" else x0 + a, z0 + b))
            else:
                points.append((x0 + b, z1 - a if opens == "down" else z0 + a))
        return points

    return place


def _web_line(placed: PlacedCrossmember, rail: Rail) -> Callable[[float], float]:
    """y over x of the web's face that looks inboard, on its tangent at the crossmember's middle: its end stays flat in a turn."""
    s, y = sum(placed.s_range(rail.side)) / 2, placed.y_left_mm if rail.side == "left" else placed.y_right_mm
    slope = math.tan(rail.plan.heading_rad(s))
    return lambda x: y + (x - placed.x_mm) * slope


# --- what is fastened to the rails ---


def _block(corner: Callable[[float, float, float], Vec3], a: Point, b: Point, c: Point) -> tuple[Ring, ...]:
    """Two rings of a box in its own axes, from c[0] to c[1]."""
    return tuple(tuple(corner(p, q, level) for p, q in ((a[0], b[0]), (a[1], b[0]), (a[1], b[1]), (a[0], b[1]))) for level in c)


def _axes(origin: Vec3, along: Vec3, across: Vec3, out: Vec3) -> Callable[[float, float, float], Vec3]:
    def corner(p: float, q: float, r: float) -> Vec3:
        x, y, z = (o + p * a + q * b + r * c for o, a, b, c in zip(origin, along, across, out, strict=True))
        return x, y, z

    return corner


def _bracket_body(placed: PlacedPatch, rail: Rail) -> Body:
    bracket = placed.drawn
    assert isinstance(bracket, Bracket), "placed_brackets holds brackets"
    out, place = placed.place.outward, placed.place
    if placed.face == "web":
        slope = rail.profile.upper.heading(place.tape_mm)
        steel, x, y = rail.section.web_mm, *rail.plan.direction(place.s_mm)
        along: Vec3 = (x * math.cos(slope), y * math.cos(slope), math.sin(slope))
        across: Vec3 = (-x * math.sin(slope), -y * math.sin(slope), math.cos(slope))
    else:
        steel, across = rail.section.flange_thickness_mm, rail.normal(place.s_mm)
        along = (across[1] * out[2] - across[2] * out[1], across[2] * out[0] - across[0] * out[2], across[0] * out[1] - across[1] * out[0])
    levels = (-steel, -steel - bracket.out_mm) if bracket.inner_face else (0.0, bracket.out_mm)
    half, tall = bracket.length_mm / 2, bracket.height_mm / 2
    rings = _block(_axes(place.point, along, across, out), (-half, half), (-tall, tall), levels)
    return Body(name=f"bracket {placed.name} {placed.side}", kind="bracket", rings=rings)


def _mount_body(placed: PlacedMount, rail: Rail) -> Body:
    mount = placed.drawn
    corner = _axes(placed.point, placed.along, rail.normal(placed.s_mm), (0.0, 0.0, 1.0))
    half, wide = mount.length_mm / 2, mount.width_mm / 2
    x, y, z = placed.point
    cut = Cylinder(point=(x, y, z + 1.0), direction=(0.0, 0.0, -1.0), radius_mm=mount.hole_mm / 2, length_mm=mount.thickness_mm + 2.0)
    rings = _block(corner, (-half, half), (-wide, wide), (-mount.thickness_mm, 0.0))
    return Body(name=f"body mount {placed.name} {placed.side}", kind="body mount", rings=rings, cuts=(cut,))
