"""Where a pipe goes on behind a plate: through the rail's own web or a flange, which no opening of the plate cuts, or to its end there."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from parts.features.draft import Setting
from parts.frame.rail import Rail
from parts.frame.section import Face
from parts.sheet import Vec3
from parts.vectors import dot, minus, unit

STEP_MM = 2.0  #: how finely a pipe is walked along; what is met within a step is found to HALVINGS halves of it
HALVINGS = 40

End = Literal["out", "inside", "flange"]


@dataclass(frozen=True, kw_only=True)
class WebCrossing:
    """The pipe's middle line half way through a web of the rail, square off it at (s, z)."""

    wall: str  #: "web"; of a closed rail "second web" too
    s_mm: float
    z_mm: float
    off_square_rad: float
    straight_mm: float  #: of pipe, to its nearer bend or end

    def long_mm(self, across_mm: float, web_mm: float) -> float:
        """Of the round hole that a pipe of that size needs: its ellipses on both faces of the web."""
        return across_mm / math.cos(self.off_square_rad) + web_mm * math.tan(self.off_square_rad)

    def straight_needed_mm(self, across_mm: float, web_mm: float) -> float:
        return across_mm / 2 * math.tan(self.off_square_rad) + web_mm / 2 / math.cos(self.off_square_rad)


@dataclass(frozen=True, kw_only=True)
class Beyond:
    """What a pipe meets behind the plate, in that order. `end`: how it leaves: out of the rail, through a flange, or not at all."""

    webs: tuple[WebCrossing, ...]
    end: End
    s_mm: float
    z_mm: float
    behind_mm: float  #: of its end inside, from the plate's back
    flange: Face = "upper flange"


@dataclass(frozen=True, kw_only=True)
class _Place:
    """On the straight from a to b."""

    a: Vec3
    b: Vec3
    point: Vec3
    s: float
    z: float
    offset: float


def beyond(setting: Setting, start: Vec3, line: Sequence[Vec3]) -> Beyond:
    """From `start`, in the middle of the plate, on behind it until it is out of the rail.

    Args:
        start: on the first straight of `line`.
        line: the pipe's points, the first of them on the plate's seen side.
    """
    rail, toward = setting.rail, -setting.face.away
    walls = _walls(rail, setting.face.offset_mm, toward)
    found: list[WebCrossing] = []
    before = _place(rail, line[0], line[1], start)
    first = before.offset

    def told(end: End, at: _Place, flange: Face = "upper flange") -> Beyond:
        behind = abs(at.offset - first) - setting.plate.thickness_mm / 2
        return Beyond(webs=tuple(found), end=end, s_mm=at.s, z_mm=at.z, behind_mm=behind, flange=flange)

    for now in _walk(rail, start, line):
        if not 0.0 < now.s < rail.length_s_mm or (now.offset - first) * toward < 0:
            return told("out", now)  # past the rail's end, or back out on the plate's seen side
        while walls and (now.offset - walls[0][1]) * toward >= 0:
            name, offset = walls.pop(0)
            at = _between(rail, before, now, lambda p, o=offset: (p.offset - o) * toward >= 0)  # type: ignore[misc]
            found.append(_web(rail, name, at))
            if not walls:
                return told("out", at)
        if not _between_flanges(rail, now):
            at = _between(rail, before, now, lambda p: not _between_flanges(rail, p))
            low, high = rail.opening_between_flanges(at.s)
            return told("flange", at, "upper flange" if at.z > (low + high) / 2 else "lower flange")
        before = now
    return told("inside", before)


def _web(rail: Rail, name: str, at: _Place) -> WebCrossing:
    square = abs(dot(unit(minus(at.b, at.a)), rail.normal(at.s)))
    straight = min(math.dist(at.point, at.a), math.dist(at.point, at.b))
    return WebCrossing(wall=name, s_mm=at.s, z_mm=at.z, off_square_rad=math.acos(min(1.0, square)), straight_mm=straight)


def _walls(rail: Rail, face_mm: float, toward: int) -> list[tuple[str, float]]:
    """(name, offset of its middle) of the webs on that side of a face, the nearest first."""
    section = rail.section
    walls = [("web", section.web_mm / 2)]
    if section.kind == "closed":
        walls.append(("second web", section.flange_mm - section.web_mm / 2))
    return sorted((w for w in walls if (w[1] - face_mm) * toward > 0), key=lambda w: abs(w[1] - face_mm))


def _between_flanges(rail: Rail, at: _Place) -> bool:
    low, high = rail.opening_between_flanges(min(max(at.s, 0.0), rail.length_s_mm))
    return low <= at.z <= high


def _walk(rail: Rail, start: Vec3, line: Sequence[Vec3]) -> Iterator[_Place]:
    for k, (a, b) in enumerate(pairwise(line)):
        begin = start if k == 0 else a
        steps = max(1, math.ceil(math.dist(begin, b) / STEP_MM))
        yield from (_place(rail, a, b, _part(begin, b, i / steps)) for i in range(1, steps + 1))


def _place(rail: Rail, a: Vec3, b: Vec3, point: Vec3) -> _Place:
    s, z, offset = rail.szo(point)
    return _Place(a=a, b=b, point=point, s=s, z=z, offset=offset)


def _between(rail: Rail, before: _Place, now: _Place, met: Callable[[_Place], bool]) -> _Place:
    """The first place after `before` at which it is met, as it is at `now`."""
    low, high, at = 0.0, 1.0, now
    for _ in range(HALVINGS):
        middle = _place(rail, now.a, now.b, _part(before.point, now.point, (low + high) / 2))
        if met(middle):
            high, at = (low + high) / 2, middle
        else:
            low = (low + high) / 2
    return at


def _part(a: Vec3, b: Vec3, part: float) -> Vec3:
    x, y, z = (p + (q - p) * part for p, q in zip(a, b, strict=True))
    return x, y, z
