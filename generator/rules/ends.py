"""The ends of a plate that lies along a rail: where they are, how steep they are cut, whether they meet a crossmember."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Literal

from generator.rules.lie import Lying, LyingPanel
from parts.frame.frame import Frame
from parts.outline import Point

Which = Literal["front end", "rear end"]
ALONG_DEG = 15.0  #: an edge less steep than this against the rail is a long edge, no end
STEEPEST_DEG = 45.0  #: of an end by VSB 6 section H
ROUNDING_DEG = 0.5
SAGITTA_MM = 0.05
SPLIT_MM = 8.0  #: an end that near to a crossmember is a plate split on it: its gap, on a slope or at a turn


@dataclass(frozen=True, kw_only=True)
class End:
    """`chain` runs round the end from one long edge to the other, in the end panel's (u, v)."""

    lying: Lying
    which: Which
    panel: LyingPanel
    chain: tuple[Point, ...]
    axes: tuple[Point, Point]  #: unit vectors rearward along the rail's upper and lower corner, in the panel's (u, v)

    @cached_property
    def s_mm(self) -> tuple[float, float]:
        """The stretch of the rail over which the plate ends."""
        found = [self.lying.rail.szo(self.panel.place.point(u, v))[0] for u, v in self.chain]
        return min(found), max(found)

    @property
    def tip_mm(self) -> float:
        """s of the plate's furthest point."""
        return self.s_mm[0] if self.which == "front end" else self.s_mm[1]

    @cached_property
    def steep_share(self) -> float:
        """The part of the plate's height over which the end is steeper than 45 deg against the rail's length: on a tapering rail, against
        whichever of its corners makes it less steep, as plates hang by either."""
        steep = height = 0.0
        for p, q in pairwise(self.chain):
            across, angle = _rise(p, q, self.axes[0])
            height += across
            steep += across if min(angle, _rise(p, q, self.axes[1])[1]) > STEEPEST_DEG + ROUNDING_DEG else 0.0
        return steep / height if height else 0.0

    def at_crossmember(self, frame: Frame) -> bool:
        """Whether the plate stops at a crossmember, which stands where it would go on."""
        low, high = self.tip_mm - SPLIT_MM, self.tip_mm + SPLIT_MM
        return bool(frame.crossmembers_at(self.lying.rail.side, low, high))


def ends_of(lying: Lying) -> tuple[End, End]:
    """(front, rear) of a plate that lies along its rail."""
    front, rear = (_end(lying, which) for which in ("front end", "rear end"))
    return front, rear


def _end(lying: Lying, which: Which) -> End:
    rail, way = lying.rail, 1.0 if which == "front end" else -1.0
    panel = min(lying.panels, key=lambda p: min(way * rail.szo(q)[0] for q in p.points))
    s = min((rail.szo(q)[0] for q in panel.points), key=lambda value: way * value)
    profile, (dx, dy, _) = rail.profile, rail.direction(s)
    u, v = panel.place.u, panel.place.v
    axes: list[Point] = []
    for course in (profile.upper, profile.lower):
        slope = course.heading(course.t_at_first(min(max(s, 0.0), rail.length_s_mm)))
        c, h = math.cos(slope), math.sin(slope)
        axes.append((c * (dx * u[0] + dy * u[1]) + h * u[2], c * (dx * v[0] + dy * v[1]) + h * v[2]))
    ring = panel.panel.contour.polyline(SAGITTA_MM)
    tip = min(range(len(ring)), key=lambda i: way * (ring[i][0] * axes[0][0] + ring[i][1] * axes[0][1]))
    return End(lying=lying, which=which, panel=panel, chain=_chain(ring, tip, axes[0]), axes=(axes[0], axes[1]))


def _chain(ring: tuple[Point, ...], tip: int, axis: Point) -> tuple[Point, ...]:
    """Both ways from the tip as far as the outline does not run along the rail."""
    n = len(ring)
    first = last = tip
    while last - first < n - 1 and _rise(ring[last % n], ring[(last + 1) % n], axis)[1] > ALONG_DEG:
        last += 1
    while last - first < n - 1 and _rise(ring[(first - 1) % n], ring[first % n], axis)[1] > ALONG_DEG:
        first -= 1
    return tuple(ring[i % n] for i in range(first, last + 1))


def _rise(p: Point, q: Point, axis: Point) -> tuple[float, float]:
    """(how far q lies across the rail from p, acute angle of the line from p to q against the rail in degrees)."""
    x, y = q[0] - p[0], q[1] - p[1]
    along, across = x * axis[0] + y * axis[1], abs(y * axis[0] - x * axis[1])
    return across, math.degrees(math.atan2(across, abs(along)))
