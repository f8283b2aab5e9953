"""Planes in space, and the bend from one to the next: where both its tangent lines lie, exact with radius and thickness.

Every plane here is that of a panel's z = 0 face, its normal the panel's +z: of two panels that meet in a bend both are on one side of
the sheet.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from parts.sheet import Placement, Vec3
from parts.vectors import cross, dot, inside, minus, unit

__all__ = ["Fold", "Plane", "cross", "dot", "fold_between", "local", "minus", "plus", "scaled", "unit"]

LEAST_TURN_RAD = math.radians(1.0)  #: less is no bend that a brake makes, and its line is anywhere


def plus(p: Vec3, *terms: tuple[float, Vec3]) -> Vec3:
    x, y, z = p
    for k, (a, b, c) in terms:
        x, y, z = x + k * a, y + k * b, z + k * c
    return x, y, z


def scaled(k: float, p: Vec3) -> Vec3:
    return k * p[0], k * p[1], k * p[2]


@dataclass(frozen=True, kw_only=True)
class Plane:
    point: Vec3
    normal: Vec3

    def met(self, start: Vec3, way: Vec3) -> Vec3:
        """Where the line from `start` along `way` meets it. Raises ZeroDivisionError where it never does."""
        return plus(start, (dot(self.normal, minus(self.point, start)) / dot(self.normal, way), way))


@dataclass(frozen=True, kw_only=True)
class Fold:
    """A bend from one plane to the next: the z = 0 faces would meet at the line through `apex` along `along`.

    `along` is the child's u; `out` lies in the parent, square to it, the way the parent ends; `ahead` in the child, away from the bend.
    """

    apex: Vec3
    along: Vec3
    out: Vec3
    ahead: Vec3
    turn_rad: float  #: + towards the parent's normal
    setback_mm: float  #: from the apex line to either tangent line, in the z = 0 faces

    def before(self, p: Vec3) -> Vec3:
        """A point of the apex line, moved to the parent's tangent line."""
        return plus(p, (-self.setback_mm, self.out))

    def after(self, p: Vec3) -> Vec3:
        """A point of the apex line, moved to the child's tangent line."""
        return plus(p, (self.setback_mm, self.ahead))

    @property
    def child_normal(self) -> Vec3:
        return cross(self.along, self.ahead)


def fold_between(parent: Plane, ahead: Vec3, child: Plane, thickness_mm: float, radius_mm: float) -> Fold | None:
    """The bend from `parent`, which runs on roughly along `ahead`, to `child`; None where the two lie almost in line.

    A bend towards the normals has the z = 0 faces outside, at radius + thickness from its axis; the other way at the inside radius.
    """
    line = cross(parent.normal, child.normal)
    if math.sqrt(dot(line, line)) < math.sin(LEAST_TURN_RAD):
        return None
    along = unit(line)
    out = cross(parent.normal, along)
    if dot(out, ahead) < 0:
        along, out = scaled(-1.0, along), scaled(-1.0, out)
    turn = math.atan2(-dot(child.normal, out), dot(parent.normal, child.normal))
    face = radius_mm + thickness_mm if turn > 0 else radius_mm
    return Fold(
        apex=child.met(parent.point, out), along=along, out=out, ahead=cross(child.normal, along), turn_rad=turn,
        setback_mm=face * math.tan(abs(turn) / 2),
    )  # fmt: skip


def local(place: Placement, p: Vec3) -> tuple[float, float]:
    """(u, v) of the foot of a point on a panel's z = 0 face."""
    return inside(place, p)[:2]
