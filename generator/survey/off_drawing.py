"""How far the shape that was found differs from the drawn one, wherever the whole of it lies: what a loose datum does not blur."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import TYPE_CHECKING

import numpy as np

from parts.sheet import Vec3

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from generator.survey.adjust import Adjusted

FEWEST = 3  #: fewer points have no shape that a shift and a turn would leave over


def off_drawing(drawn: Mapping[str, Vec3], points: Mapping[str, Vec3], adjusted: Adjusted) -> Mapping[str, tuple[Vec3, Vec3]]:
    """Point -> (how far off its drawn place, standard deviations of that), in mm, once all are shifted and turned as one onto the drawing.

    The shift and the turn leave the least sum of squares (Kabsch 1976); what they take away of the errors goes with them.
    """
    if len(points) < FEWEST:
        return MappingProxyType({})
    keys = list(points)
    at, want = np.array([points[k] for k in keys], dtype=float), np.array([drawn[k] for k in keys], dtype=float)
    own, goal = at - at.mean(axis=0), want - want.mean(axis=0)
    left, _, right = np.linalg.svd(own.T @ goal)
    turn = left @ np.diag([1.0, 1.0, float(np.sign(np.linalg.det(left @ right)))]) @ right
    off = own @ turn - goal
    order = {key: i for i, key in enumerate(adjusted.network.points)}
    rows = np.concatenate([[3 * order[k], 3 * order[k] + 1, 3 * order[k] + 2] for k in keys])
    ways = np.linalg.qr(_rigid(goal))[0]
    apart = np.eye(3 * len(keys)) - ways @ ways.T
    spread = apart @ adjusted.covariance[np.ix_(rows, rows)] @ apart
    sigmas = (np.sqrt(np.maximum(np.diag(spread), 0.0)) * adjusted.scale).reshape(-1, 3)
    return MappingProxyType({k: (_vec(o), _vec(s)) for k, o, s in zip(keys, off, sigmas, strict=True)})


def _rigid(at: NDArray[np.float64]) -> NDArray[np.float64]:
    """(3n, 6) three shifts and three small turns of the points (n, 3), which lie about (0, 0, 0)."""
    n = len(at)
    ways = np.zeros((n, 3, 6))
    ways[:, 0, 0] = ways[:, 1, 1] = ways[:, 2, 2] = 1.0
    x, y, z = (at / max(1.0, float(np.abs(at).max()))).T
    ways[:, 0, 3], ways[:, 1, 3] = -y, x  # about z
    ways[:, 1, 4], ways[:, 2, 4] = -z, y  # about x
    ways[:, 2, 5], ways[:, 0, 5] = -x, z  # about y
    return ways.reshape(3 * n, 6)


def _vec(row: NDArray[np.float64]) -> Vec3:
    return float(row[0]), float(row[1]), float(row[2])
