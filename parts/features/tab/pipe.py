"""The pipe as a line of straights in space: where it crosses a plane, which way it runs there, and how far off its next turns are."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from parts.errors import BadInput, Fault
from parts.frame.frame import Frame
from parts.frame.names import unknown_place
from parts.sheet import Vec3
from parts.vectors import along, dot, minus, unit

BEND_DIAMETERS = 3.0  #: radius of a pipe's bend on its centre line. Common practice, no source
STRAIGHT_DEG = 0.5  #: a corner with less is none


@dataclass(frozen=True, kw_only=True)
class Spot:
    """A place on the pipe."""

    point: Vec3
    way: Vec3  #: unit, rearward; of a pipe square to the vehicle to the right, else up
    at_mm: float  #: along the pipe from its first point
    ahead_mm: float  #: straight pipe towards the path's first point: to where a bend begins or the path ends
    behind_mm: float
    ahead: str  #: what ends it there: "a turn of 12.0 deg", "its end"
    behind: str

    @property
    def shortest(self) -> tuple[float, str]:
        return min((self.ahead_mm, self.ahead), (self.behind_mm, self.behind))


@dataclass(frozen=True, kw_only=True)
class Pipe:
    """`points` in vehicle axes, two or more."""

    name: str
    what: str
    points: tuple[Vec3, ...]
    diameter_mm: float

    @property
    def length_mm(self) -> float:
        return sum(math.dist(a, b) for a, b in pairwise(self.points))

    def straights(self) -> Iterator[tuple[int, float, Vec3, Vec3]]:
        """(number, where it begins along the pipe, its two ends)"""
        begin = 0.0
        for k, (a, b) in enumerate(pairwise(self.points)):
            yield k, begin, a, b
            begin += math.dist(a, b)

    def spots(self, on: Vec3, normal: Vec3) -> list[Spot]:
        """Where it crosses the plane through `on`."""
        found: list[Spot] = []
        for k, begin, a, b in self.straights():
            high, low = dot(minus(b, on), normal), dot(minus(a, on), normal)
            if high == low or low * high > 0:
                continue
            spot = self._spot(k, begin, a, b, math.dist(a, b) * low / (low - high))
            if not found or spot.at_mm - found[-1].at_mm > 1e-6:
                found.append(spot)
        return found

    def spot_at(self, at_mm: float) -> Spot:
        for k, begin, a, b in self.straights():
            length = math.dist(a, b)
            if at_mm <= begin + length + 1e-9 or k == len(self.points) - 2:
                return self._spot(k, begin, a, b, min(max(at_mm - begin, 0.0), length))
        raise AssertionError("a pipe has at least one straight")

    def _spot(self, k: int, begin: float, a: Vec3, b: Vec3, off: float) -> Spot:
        way, length = unit(minus(b, a)), math.dist(a, b)
        before, first = self._corner(k)
        after, last = self._corner(k + 1)
        flip = next((c for c in way if abs(c) > 1e-9), 1.0) < 0
        return Spot(
            point=along(a, (way, off)), way=(-way[0], -way[1], -way[2]) if flip else way, at_mm=begin + off, ahead_mm=off - before,
            behind_mm=length - off - after, ahead=first, behind=last,
        )  # fmt: skip

    def _corner(self, k: int) -> tuple[float, str]:
        """(how much of either straight the bend at point k takes, what is there)"""
        if k in (0, len(self.points) - 1):
            return 0.0, "its path ends"
        a, b = unit(minus(self.points[k], self.points[k - 1])), unit(minus(self.points[k + 1], self.points[k]))
        turn = math.acos(max(-1.0, min(1.0, dot(a, b))))
        if math.degrees(turn) < STRAIGHT_DEG:
            return 0.0, "the next straight begins"
        reach = BEND_DIAMETERS * self.diameter_mm * math.tan(min(turn, math.radians(179)) / 2)
        return reach, f"it turns {math.degrees(turn):.1f} deg (bent to {BEND_DIAMETERS:g} diameters)"


def pipe_named(frame: Frame, name: str, where: str) -> Pipe:
    """Raises BadInput: no path of that name."""
    known = {k.name: k for k in frame.keep_out if k.shape == "path"}
    if name not in known:
        other = next((k for k in frame.keep_out if k.name == name), None)
        if other is not None:
            limit = f"is a {other.shape}: only a path has a line that a hanger can follow"
            raise BadInput(Fault(where=where, field="pipe", value=name, limit=limit, remedy="give it as a path, or point and diameter"))
        raise BadInput(unknown_place(name, known, "the frame has no keep_out of shape path", field="pipe").inside(where))
    own = known[name]
    assert own.diameter_mm is not None, "a path has a diameter"
    return Pipe(name=name, what=own.what, points=tuple(p.xyz for p in own.points), diameter_mm=own.diameter_mm)


def pipe_through(point: Vec3, way: Vec3, diameter_mm: float) -> Pipe:
    """A straight pipe through one point, long enough that its ends are nowhere near."""
    far = 1e4
    return Pipe(name="pipe", what="", points=(along(point, (way, -far)), along(point, (way, far))), diameter_mm=diameter_mm)
