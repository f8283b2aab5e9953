"""What a picture shows of each control point: where it is drawn, how far off that it was found, and how sure that is."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from generator.survey.determined import SHARE
from generator.survey.stage import Survey
from parts.frame.placing import SIDES
from parts.frame.section import RailSide
from parts.outline import Point
from parts.sheet import Vec3

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from generator.survey.adjust import Adjusted
    from generator.survey.later import Later
    from generator.survey.picture_page import Mark

ROOT_95 = math.sqrt(-2.0 * math.log(0.05))  #: half axes of a 95 % ellipse, in standard deviations: chi-square on two, in closed form
BAR_95 = 1.96


@dataclass(frozen=True, kw_only=True)
class Ellipse:
    """95 % in a plane: half axes in mm, the long one turned `angle_deg` from the plane's first axis towards its second."""

    long_mm: float
    short_mm: float
    angle_deg: float


@dataclass(frozen=True, kw_only=True)
class Spot:
    """One control point in a plane of the picture: x with y, or x with z."""

    key: str
    side: RailSide
    drawn: Vec3
    off: tuple[float | None, float | None]  #: found less drawn, in the plane; None: not known
    ellipse: Ellipse | None = None  #: where both are known
    bar_mm: float | None = None  #: 95 % of the second where only that is known
    was: Point | None = None  #: in an earlier survey: found then less drawn


def plan_spots(survey: Survey, held: Later | None = None) -> tuple[Spot, ...]:
    """Seen from above: what is known up to a shift and a turn of the whole; beside where it was by an earlier survey."""
    known = _known(survey.adjusted, (0, 1))
    return tuple(_before(_spot(survey, key, side, (0, 1), known, known), held, (0, 1)) for key, side in _keys(survey))


def side_spots(survey: Survey, held: Later | None = None) -> tuple[Spot, ...]:
    """Seen from the side: x as far as it is known from above, z as far as heights were read."""
    along = _known(survey.adjusted, (0, 1))
    heights = frozenset(survey.heights)
    return tuple(_before(_spot(survey, key, side, (0, 2), along, heights), held, (0, 2)) for key, side in _keys(survey))


def _before(spot: Spot, held: Later | None, axes: tuple[int, int]) -> Spot:
    """Taken back by its movement, so that the picture shows what the table of movements says, whatever was fitted."""
    look = held.by_datum if held is not None else None
    a, b = spot.off
    if look is None or spot.key not in look.points or a is None or b is None:
        return spot
    by = look.points[spot.key].by
    return replace(spot, was=(a - by[axes[0]], b - by[axes[1]]))


def _keys(survey: Survey) -> list[tuple[str, RailSide]]:
    drawn = survey.frame.control_coordinates
    keys = [(p.key(side), side) for p in survey.frame.control_points for side in SIDES if side in p.sides]
    return sorted(keys, key=lambda k: (k[1], drawn[k[0]][0], k[0]))


def _spot(
    survey: Survey, key: str, side: RailSide, axes: tuple[int, int], first: frozenset[str], second: frozenset[str]
) -> Spot:  # fmt: skip
    drawn = survey.frame.control_coordinates[key]
    adjusted = survey.adjusted
    if adjusted is None:
        return Spot(key=key, side=side, drawn=drawn, off=(None, None))
    found = adjusted.coordinates[key]
    off = tuple(found[axis] - drawn[axis] if key in known else None for axis, known in zip(axes, (first, second), strict=True))
    at = 3 * adjusted.network.points.index(key)
    rows = np.array([at + axis for axis in axes])
    covariance = adjusted.covariance[np.ix_(rows, rows)] * adjusted.scale**2
    both = off[0] is not None and off[1] is not None
    bar = BAR_95 * math.sqrt(max(0.0, float(covariance[1, 1]))) if off[1] is not None and not both else None
    return Spot(key=key, side=side, drawn=drawn, off=(off[0], off[1]), ellipse=ellipse_of(covariance) if both else None, bar_mm=bar)


def ellipse_of(covariance: NDArray[np.float64]) -> Ellipse:
    """Of a covariance (2, 2) in mm2."""
    size, ways = np.linalg.eigh(covariance)
    short, long = (ROOT_95 * math.sqrt(max(0.0, float(s))) for s in size)
    angle = math.degrees(math.atan2(float(ways[1, 1]), float(ways[0, 1])))
    return Ellipse(long_mm=long, short_mm=short, angle_deg=(angle + 90.0) % 180.0 - 90.0)


def _known(adjusted: Adjusted | None, axes: tuple[int, int]) -> frozenset[str]:
    """Points that the readings tie together in this plane, up to a shift and a turn of all: as `determined`, in two dimensions."""
    if adjusted is None:
        return frozenset()
    points = adjusted.network.points
    free = adjusted.free.reshape(len(points), 3, -1)[:, axes, :]
    at = np.array([adjusted.coordinates[key] for key in points], dtype=float)[:, axes]
    read = {key for o in adjusted.network.observations for key in (o.start, o.end)} | set(adjusted.network.held)
    body = np.array([i for i, key in enumerate(points) if key in read], dtype=int)
    while body.size:
        left = _not_rigid(at[body], free[body])
        worst = float(left.max(initial=0.0))
        if worst <= SHARE:
            break
        body = body[left < max(worst / 2, SHARE)] if (left < worst / 2).any() else body[:0]
    return frozenset(points[i] for i in body)


def _not_rigid(at: NDArray[np.float64], free: NDArray[np.float64]) -> NDArray[np.float64]:
    n, _, d = free.shape
    if d == 0:
        return np.zeros(n)
    x, y = (at - at.mean(axis=0)).T / max(1.0, float(np.abs(at - at.mean(axis=0)).max()))
    rigid = np.zeros((n, 2, 3))
    rigid[:, 0, 0] = rigid[:, 1, 1] = 1.0
    rigid[:, 0, 2], rigid[:, 1, 2] = -y, x
    flat, ways = rigid.reshape(2 * n, 3), free.reshape(2 * n, d)
    kept = ways - flat @ np.linalg.lstsq(flat, ways, rcond=None)[0]
    out: NDArray[np.float64] = np.sqrt((kept.reshape(n, 2, d) ** 2).sum(axis=(1, 2)))
    return out


def runs(spots: Sequence[Spot]) -> list[list[Spot]]:
    """Stretches of a rail whose points are all known one after another; between others nothing is known of it."""
    found: list[list[Spot]] = [[]]
    for spot in spots:
        if spot.off[1] is None:
            found.append([])
        else:
            found[-1].append(spot)
    return [run for run in found if len(run) > 1]


def marks_of(spots: Sequence[Spot]) -> set[Mark]:
    """What is drawn of the points themselves."""
    lined = [s for side in SIDES for run in runs([s for s in spots if s.side == side]) for s in run]
    known = [s for s in spots if s.off[1] is not None]
    there: dict[Mark, bool] = {
        "drawn": True, "found": bool(lined), "alone": bool(known) and not lined, "was": any(s.was is not None for s in spots),
        "ellipse": any(s.ellipse is not None for s in spots), "bar": any(s.bar_mm is not None for s in spots),
        "unknown": len(known) < len(spots),
    }  # fmt: skip
    return {kind for kind, drawn in there.items() if drawn}


def runs_before(spots: Sequence[Spot]) -> list[list[Spot]]:
    """The same of where they were, as spots of their own."""
    return runs([replace(s, off=s.was if s.was is not None else (None, None)) for s in spots])


def moved_edge(edge: Sequence[Point], spots: Sequence[Spot], enlarged: float) -> list[Point]:
    """An edge as drawn, between the first and the last of the spots, moved by what they are off: linear between them.

    Args:
        edge: points in the spots' plane, the first coordinate rising.
        spots: two at least, of that rail, from front to rear, whose second coordinate is known.
    """
    at = [s.drawn[0] for s in spots]
    moves = [[s.off[i] or 0.0 for s in spots] for i in (0, 1)]
    xs = sorted({*(x for x, _ in edge if at[0] <= x <= at[-1]), *at})
    ys = np.interp(xs, [x for x, _ in edge], [y for _, y in edge])
    dx, dy = (np.interp(xs, at, move) for move in moves)
    return [(float(x + enlarged * u), float(y + enlarged * v)) for x, y, u, v in zip(xs, ys, dx, dy, strict=True)]
