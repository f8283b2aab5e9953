"""Where a pipe of the frame goes through a plate, and how large a hole it needs there.

A round pipe that goes through obliquely cuts the plate's plane in an ellipse: as wide as the pipe, and longer by 1 / cos of its angle
off square. Through the thickness the ellipse moves by t tan; a long-round hole that holds both faces' ellipses is so much longer.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from parts.features.draft import Draft
from parts.frame.faces import Facet
from parts.frame.space import KeepOut
from parts.outline import Point
from parts.sheet import Vec3


@dataclass(frozen=True, kw_only=True)
class Crossing:
    """A straight length of pipe through one panel."""

    index: int
    centre: Point  #: in the panel's (u, z), half way through the plate
    way: Point  #: unit vector in which the hole is longer; along u where the pipe is square to the plate
    off_square_rad: float
    before_mm: float  #: of straight pipe, from its last bend or end to the middle of the plate
    after_mm: float
    point: Vec3  #: the same place in the vehicle
    behind: tuple[Vec3, ...]  #: the pipe's points on its way behind the plate: first the one on the seen side

    def length_mm(self, across_mm: float, thickness_mm: float) -> float:
        """Of the hole over all, for a pipe that takes `across_mm` with its air."""
        return across_mm / math.cos(self.off_square_rad) + thickness_mm * math.tan(self.off_square_rad)

    def straight_needed_mm(self, across_mm: float, thickness_mm: float) -> float:
        """From the middle of the plate to where the pipe is out of the hole."""
        return across_mm / 2 * math.tan(self.off_square_rad) + thickness_mm / 2 / math.cos(self.off_square_rad)


def crossings(draft: Draft, pipe: KeepOut) -> list[Crossing]:
    """Every place where the pipe's middle line goes through a facet of this piece, along the pipe; bend zones count to both facets."""
    t = draft.setting.plate.thickness_mm
    out: list[Crossing] = []
    places: list[Vec3] = []
    line = tuple(p.xyz for p in pipe.points)
    for number, (one, two) in enumerate(pairwise(line)):
        for index, panel in enumerate(draft.panels):
            a, b = (_local(draft, panel.facet, p) for p in (one, two))
            into, past = a[2] - t / 2, b[2] - t / 2
            if (into < 0) == (past < 0):
                continue
            part = into / (into - past)
            u, z = a[0] + part * (b[0] - a[0]), a[1] + part * (b[1] - a[1])
            x0, _, x1, _ = panel.contour.box
            low, high = (-t if panel.bend_before else x0), (panel.facet.length_mm + t if panel.bend_after else x1)
            point = panel.facet.point(u, z)
            if not low <= u <= high or any(math.dist(point, p) < 2 * t for p in places):
                continue
            places.append(point)
            du, dz, dn = b[0] - a[0], b[1] - a[1], b[2] - a[2]
            aside, length = math.hypot(du, dz), math.dist(one, two)
            way = (du / aside, dz / aside) if aside > 1e-9 * length else (1.0, 0.0)
            out.append(
                Crossing(
                    index=index, centre=(u, z), way=way, off_square_rad=math.atan2(aside, abs(dn)), before_mm=part * length,
                    after_mm=(1 - part) * length,
                    point=_along(one, two, part),
                    behind=line[number:] if past < 0 else line[number + 1 :: -1],
                )
            )  # fmt: skip
    return out


def _local(draft: Draft, facet: Facet, p: Vec3) -> Vec3:
    """(u, z, distance out of the plate's back)"""
    (c, d, _), sign = facet.direction, draft.setting.face.normal_sign
    x, y = p[0] - facet.start[0], p[1] - facet.start[1]
    return x * c + y * d, p[2], sign * (y * c - x * d)


def _along(a: Vec3, b: Vec3, part: float) -> Vec3:
    x, y, z = (p + (q - p) * part for p, q in zip(a, b, strict=True))
    return x, y, z
