"""Control points two by two: a pair is one point of the left rail and its like on the right one; a bay lies between two pairs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

from parts.frame.frame import Frame
from parts.frame.section import RailSide
from parts.sheet import Vec3

Points = Mapping[str, Vec3]  #: a point's key -> (x, y, z) in mm


@dataclass(frozen=True, kw_only=True)
class Pair:
    """A point of the left rail and its like on the right one."""

    name: str
    left: str  #: key of the left point
    right: str
    x_mm: float  #: of their middle, as drawn
    tops_mm: tuple[float, float] = (0.0, 0.0)  #: z of the rails' upper corners there, left and right, as drawn

    def top_mm(self, side: RailSide) -> float:
        return self.tops_mm[0 if side == "left" else 1]

    def key(self, side: RailSide) -> str:
        return self.left if side == "left" else self.right

    @property
    def keys(self) -> tuple[str, str]:
        return self.left, self.right


@dataclass(frozen=True, kw_only=True)
class Bay:
    """What lies between two pairs."""

    front: Pair
    rear: Pair
    overall: bool = False  #: from the first pair to the last one, past others

    @property
    def name(self) -> str:
        return f"{'overall, ' if self.overall else ''}{self.front.name} to {self.rear.name}"

    @property
    def keys(self) -> tuple[str, str, str, str]:
        return *self.front.keys, *self.rear.keys


def pairs_of(frame: Frame) -> tuple[Pair, ...]:
    """The frame's pairs from front to rear: points called NAME-left on the left rail and NAME-right on the right one."""
    sides = {point.key(side): side for point in frame.control_points for side in point.sides}
    drawn, tops = frame.control_coordinates, _tops(frame)
    found = []
    for left, side in sides.items():
        stem, dash, word = left.rpartition("-")
        right = f"{stem}-right"
        if dash and word == side == "left" and sides.get(right) == "right":
            found.append(Pair(name=stem, left=left, right=right, x_mm=(drawn[left][0] + drawn[right][0]) / 2,
                              tops_mm=(tops[left], tops[right])))  # fmt: skip
    return tuple(sorted(found, key=lambda p: (p.x_mm, p.name)))


def _tops(frame: Frame) -> dict[str, float]:
    """z of the rail's upper corner, as drawn, at each control point: a pin's hole lies lower than a flange, and is no kick."""
    found = {}
    for point in frame.control_points:
        for side in point.sides:
            found[point.key(side)] = frame.rail(side).profile.upper_z(frame.control_place(point, side).s_mm)
    return found


def bays_of(pairs: tuple[Pair, ...]) -> tuple[Bay, ...]:
    """The bays from front to rear, and behind them the whole length where that is more than one."""
    bays = [Bay(front=a, rear=b) for a, b in pairwise(pairs)]
    if len(bays) > 1:
        bays.append(Bay(front=pairs[0], rear=pairs[-1], overall=True))
    return tuple(bays)


def kicks_of(pairs: tuple[Pair, ...], side: RailSide) -> tuple[tuple[Pair, Pair], ...]:
    """(before, behind) each kick-up or -down of that rail: pairs between which its upper corner is drawn to climb or fall by so much."""
    found: list[tuple[Pair, Pair, float]] = []
    for a, b in pairwise(pairs):
        rise = b.top_mm(side) - a.top_mm(side)
        if abs(rise) <= KICK_MM:
            continue
        if found and found[-1][1] == a and found[-1][2] * rise > 0:
            found[-1] = (found[-1][0], b, rise)
        else:
            found.append((a, b, rise))
    return tuple((a, b) for a, b, _ in found)


KICK_MM = 20.0  #: less than a kick, more than a rail is drawn out of level by; our choice
