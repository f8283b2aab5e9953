"""How far points moved between two adjustments of them: old laid on new by what they share, each movement against its error. No frame.

Where the readings of both tie the points to the same datum, coordinates are compared as they are. What either of them leaves free (a
shift along the vehicle, say, where nothing was read from x = 0) is fitted on the points that did not move; those that did are found one
by one, the one whose absence makes the rest agree best first. That is the congruency test of deformation surveys: whatever the free
adjustments were leaned on falls out of it, as movements and their covariance go through the same projection (an S-transformation).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from generator.survey.determined import determined
from parts.sheet import Vec3

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from generator.survey.adjust import Adjusted

FAMILY = 0.95  #: all points that stayed are told so together, so often
SINGLE = 0.05  #: of one point by itself
LEAST_KEPT = 3  #: points that a fit is made on
CANDIDATES = 5  #: points that are tried for the one to leave out
ROUNDS = 4  #: of the fit: turns are small, each round leaves their square
NOTHING_MM2 = 1e-12  #: variance of what is held
#: What a whole frame can do, in the order of `_rigid`.
WAYS = ("along", "sideways", "up or down", "turned seen from above", "tipped lengthwise", "tipped sideways")


@dataclass(frozen=True, kw_only=True)
class Movement:
    """How far one point moved: `by` (dx, dy, dz) in mm, new less old; `within` the 95 % of each. None where it is held."""

    by: Vec3
    within: Vec3
    chance: float  #: of a movement so large by the readings' errors alone
    moved: bool  #: beyond what any of all the points shows by chance in 1 of 20 surveys
    perhaps: bool  #: beyond what this point alone shows by chance in 1 of 20


@dataclass(frozen=True, kw_only=True, eq=False)
class Moved:
    """All movements.

    Attributes:
        points: by point, of those that both determine wholly.
        fitted: what of `WAYS` was fitted; the rest is the datum that both share.
        on: the points that it was fitted on; empty where nothing was.
        level: chance under which a point is said to have moved.
        clear: whether more than half of the points stayed. Where they did not, nothing says which of them moved.
    """

    points: Mapping[str, Movement]
    fitted: tuple[str, ...]
    on: tuple[str, ...]
    level: float
    clear: bool

    @property
    def whole(self) -> bool:
        """Whether the old was fitted to the new in every way."""
        return len(self.fitted) == len(WAYS)

    @property
    def moved(self) -> tuple[str, ...]:
        return tuple(key for key, m in self.points.items() if m.moved)


def moved(old: Adjusted, new: Adjusted, *, best_fit: bool = False, looks: int = 1) -> Moved:
    """Movements of the points that both adjustments determine; none where there are fewer than three.

    Args:
        best_fit: the old is fitted to the new in every way, whatever datum they share: what is left is the change of shape.
        looks: how many times the same points are looked at, each with its share of the 1 in 20.
    """
    there = determined(new)
    both = [key for key in determined(old) if key in there]
    if len(both) < LEAST_KEPT:
        return Moved(points={}, fitted=(), on=(), level=0.0, clear=False)
    was, now = (np.array([a.coordinates[key] for key in both], dtype=float) for a in (old, new))
    covariance = _covariance(old, both) + _covariance(new, both)
    ways = np.eye(6) if best_fit else _loose((old, new), both, _rigid(was))
    level = 1.0 - FAMILY ** (1.0 / (looks * len(both)))
    kept = np.ones(len(both), dtype=bool)
    fit = _Fit(was=was, now=now, covariance=covariance, ways=ways)
    found = fit.of(kept)
    clear = True
    while ways.shape[1]:
        chances = found.chances()
        odd = [i for i in np.argsort(chances) if kept[i] and chances[i] < level][:CANDIDATES]
        if not odd:
            break
        if kept.sum() - 1 < LEAST_KEPT or 2 * (kept.sum() - 1) <= len(both):
            clear, kept = False, np.ones(len(both), dtype=bool)
            found = fit.of(kept)
            break
        without = [(fit.of(_less(kept, i)).disagreement(), int(i)) for i in odd]
        kept = _less(kept, min(without)[1])
        found = fit.of(kept)
    return _told(both, found, ways, kept, level, clear)


def free_ways(adjusted: Adjusted, keys: Sequence[str]) -> tuple[str, ...]:
    """What of `WAYS` the readings leave free of these points."""
    if not keys:
        return WAYS
    ways = _loose((adjusted,), keys, _rigid(np.array([adjusted.coordinates[key] for key in keys], dtype=float)))
    return _named(ways)


def _less(kept: NDArray[np.bool_], i: int) -> NDArray[np.bool_]:
    out = kept.copy()
    out[i] = False
    return out


@dataclass(frozen=True, kw_only=True, eq=False)
class _Fitted:
    """Movements (n, 3) with their covariance (3n, 3n); `kept` the points that were fitted on."""

    by: NDArray[np.float64]
    covariance: NDArray[np.float64]
    kept: NDArray[np.bool_]

    def chances(self) -> NDArray[np.float64]:
        n = len(self.by)
        return np.array([_chance(self.by[i], self.covariance[3 * i : 3 * i + 3, 3 * i : 3 * i + 3]) for i in range(n)])

    def disagreement(self) -> float:
        """Of the points fitted on, as a sum of squares by their errors."""
        flat = np.repeat(self.kept, 3)
        d = self.by.ravel()[flat]
        return float(d @ _inverse(self.covariance[np.ix_(flat, flat)]) @ d)


@dataclass(frozen=True, kw_only=True, eq=False)
class _Fit:
    """Old points (n, 3), new ones, the covariance (3n, 3n) of both together, and the ways (6, f) in which the old ones may be laid anew."""

    was: NDArray[np.float64]
    now: NDArray[np.float64]
    covariance: NDArray[np.float64]
    ways: NDArray[np.float64]

    def of(self, kept: NDArray[np.bool_]) -> _Fitted:
        """Laid on the points `kept`."""
        if not self.ways.shape[1]:
            return _Fitted(by=self.now - self.was, covariance=self.covariance, kept=kept)
        flat = np.repeat(kept, 3)
        was = self.was
        for _ in range(ROUNDS):
            rigid = _rigid(was) @ self.ways
            own = rigid[flat]
            weighed = own * _weights(self.covariance[np.ix_(flat, flat)], own)[:, None]
            solver = np.linalg.pinv(weighed.T @ own) @ weighed.T
            was = _laid(was, self.ways @ (solver @ (self.now - was).ravel()[flat]))
        whole = np.zeros((self.ways.shape[1], flat.size))
        whole[:, flat] = solver
        project = np.eye(flat.size) - rigid @ whole
        return _Fitted(by=self.now - was, covariance=project @ self.covariance @ project.T, kept=kept)


def _weights(covariance: NDArray[np.float64], rigid: NDArray[np.float64]) -> NDArray[np.float64]:
    """Of each coordinate in a fit: one over its variance within the body, which does not know what free adjustments were leaned on.

    The whole covariance would make a tighter fit, but another one for every way of leaning.
    """
    within = np.eye(len(covariance)) - rigid @ np.linalg.pinv(rigid)
    variance = np.diag(within @ covariance @ within)
    out: NDArray[np.float64] = 1.0 / np.maximum(variance, max(NOTHING_MM2, 0.01 * float(np.median(variance))))
    return out


def _inverse(matrix: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(np.linalg.pinv(matrix, rcond=1e-9, hermitian=True), dtype=np.float64)


def _covariance(adjusted: Adjusted, both: Sequence[str]) -> NDArray[np.float64]:
    """(3n, 3n) of these points, as wide as the readings disagree."""
    order = {key: i for i, key in enumerate(adjusted.network.points)}
    rows = np.array([3 * order[key] + axis for key in both for axis in range(3)])
    out: NDArray[np.float64] = adjusted.covariance[np.ix_(rows, rows)] * adjusted.scale**2
    return out


def _rigid(at: NDArray[np.float64]) -> NDArray[np.float64]:
    """(3n, 6): what each of `WAYS` does to the points (n, 3): shifts by 1 mm, turns by 1 mm at the farthest point from their middle."""
    x, y, z = ((at - at.mean(axis=0)) / _span(at)).T
    out = np.zeros((len(at), 3, 6))
    out[:, 0, 0] = out[:, 1, 1] = out[:, 2, 2] = 1.0
    out[:, 0, 3], out[:, 1, 3] = -y, x
    out[:, 0, 4], out[:, 2, 4] = z, -x
    out[:, 1, 5], out[:, 2, 5] = -z, y
    return out.reshape(3 * len(at), 6)


def _span(at: NDArray[np.float64]) -> float:
    return max(1.0, float(np.linalg.norm(at - at.mean(axis=0), axis=1).max()))


def _laid(at: NDArray[np.float64], by: NDArray[np.float64]) -> NDArray[np.float64]:
    """The points shifted and turned, exactly: a turn is no shear."""
    turn = np.array([by[5], by[4], by[3]]) / _span(at)  # about x, y, z
    angle = float(np.linalg.norm(turn))
    middle = at.mean(axis=0)
    away = at - middle
    if angle > 0.0:
        axis = turn / angle
        turned = away * math.cos(angle) + np.cross(axis, away) * math.sin(angle) + np.outer(away @ axis, axis) * (1.0 - math.cos(angle))
        away = np.asarray(turned, dtype=np.float64)
    out: NDArray[np.float64] = middle + away + by[:3]
    return out


def _loose(pair: Sequence[Adjusted], both: Sequence[str], rigid: NDArray[np.float64]) -> NDArray[np.float64]:
    """(6, f) orthonormal: the ways that the readings of one or the other leave free."""
    square, upper = np.linalg.qr(rigid)
    spans = []
    for adjusted in pair:
        order = {key: i for i, key in enumerate(adjusted.network.points)}
        rows = np.array([3 * order[key] + axis for key in both for axis in range(3)])
        free = adjusted.free[rows]
        if free.shape[1]:
            left, size, _ = np.linalg.svd(square.T @ free, full_matrices=False)
            spans.append(left[:, size > LOOSE])
    if not spans:
        return np.zeros((6, 0))
    ways = np.linalg.solve(upper, np.hstack(spans))
    left, size, _ = np.linalg.svd(ways, full_matrices=False)
    out: NDArray[np.float64] = left[:, size > 1e-6 * max(1.0, float(size.max(initial=0.0)))]
    return out


LOOSE = 0.1  #: share of a free direction that is a shift or a turn of these points: less is a coordinate that hangs on it by a twentieth


def _chance(by: NDArray[np.float64], covariance: NDArray[np.float64]) -> float:
    """Of a movement (3,) at least so large by chance: chi-square on as many degrees of freedom as the covariance (3, 3) has ranks."""
    size, axes = np.linalg.eigh(covariance)
    real = size > max(NOTHING_MM2, 1e-9 * float(size.max()))
    along = axes.T @ by
    return chi_square_tail(float((along[real] ** 2 / size[real]).sum()), int(real.sum()))


def chi_square_tail(x: float, freedom: int) -> float:
    """P(chi-square > x) on 0 to 3 degrees of freedom, in closed form. On none nothing can be known: 1."""
    if freedom == 0:
        return 1.0
    if freedom == 2:
        return math.exp(-x / 2)
    one = math.erfc(math.sqrt(x / 2))
    return one if freedom == 1 else one + math.sqrt(2 * x / math.pi) * math.exp(-x / 2)


def _told(
    both: Sequence[str], found: _Fitted, ways: NDArray[np.float64], kept: NDArray[np.bool_], level: float, clear: bool
) -> Moved:  # fmt: skip
    within = 1.96 * np.sqrt(np.maximum(np.diag(found.covariance), 0.0)).reshape(-1, 3)
    points = {
        key: Movement(by=_vec(found.by[i]), within=_vec(within[i]), chance=float(c), moved=bool(c < level), perhaps=bool(c < SINGLE))
        for i, (key, c) in enumerate(zip(both, found.chances(), strict=True))
    }
    fitted = _named(ways)
    on = tuple(key for key, k in zip(both, kept, strict=True) if k) if fitted else ()
    return Moved(points=points, fitted=fitted, on=on, level=level, clear=clear)


def _vec(row: NDArray[np.float64]) -> Vec3:
    return float(row[0]), float(row[1]), float(row[2])


def _named(ways: NDArray[np.float64]) -> tuple[str, ...]:
    """Those of `WAYS` that take part in these (6, f)."""
    return tuple(way for i, way in enumerate(WAYS) if np.linalg.norm(ways[i]) > LOOSE)
