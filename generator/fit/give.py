"""How far off a gap may be that is told of rails as measured."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from parts.frame.found import met_on
from parts.frame.frame import Frame
from parts.frame.placing import SIDES
from parts.frame.section import RailSide
from parts.sheet import Vec3

NORMAL_95 = 1.96  #: two-sided 95 % of a normal distribution
ACROSS, UP = 1, 2


@dataclass(frozen=True, kw_only=True)
class Give:
    """95 %, in mm; 0 as drawn."""

    pair_mm: float  #: of a gap between one side's shape and the other side's rail
    across_mm: Mapping[RailSide, float]  #: of how flat a rail's face is


def give_of(frame: Frame, sigmas: Mapping[str, Vec3]) -> Give:
    return Give(pair_mm=_give_mm(frame, sigmas, UP, SIDES), across_mm={side: _give_mm(frame, sigmas, ACROSS, (side,)) for side in SIDES})


def _give_mm(frame: Frame, sigmas: Mapping[str, Vec3], axis: int, sides: Sequence[RailSide]) -> float:
    """95 %: the worst of each rail's points in that axis, and of what its section readings may be off, together; 0 as drawn.

    Cautious: what all points of a rail share moves a plate and makes no gap.

    Args:
        sigmas: control point -> standard deviations of (x, y, z) in mm; points without one count as exact.
    """
    if frame.found is None:
        return 0.0
    squares = 0.0
    for side in sides:
        met = met_on(frame.found.drawn, side, frame.found.points)
        worst = max((NORMAL_95 * sigmas[p.key][axis] for p in met if p.key in sigmas), default=0.0)
        read = max((r.accuracy_mm for r in frame.found.sections if side in r.sides), default=0.0) if axis == UP else 0.0
        squares += worst**2 + read**2
    return math.sqrt(squares)
