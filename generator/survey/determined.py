"""Which points the readings determine wholly, up to where the whole of them lies."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from parts.sheet import Vec3

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from generator.survey.adjust import Adjusted

SHARE = 0.05  #: of what is left free, that a coordinate may take part in; see `measures.LOOSE_SHARE`


def determined(adjusted: Adjusted) -> dict[str, Vec3]:
    """The largest body of points found that can only move as one rigid thing, if at all, each with its coordinates.

    What is left free of the whole network is looked at on the points of the body alone: it has to be a shift and a turn of them. The
    points that fit that worst are dropped until it is.
    """
    points = adjusted.network.points
    free = adjusted.free.reshape(len(points), 3, -1)
    at = np.array([adjusted.coordinates[key] for key in points], dtype=float)
    read = {key for o in adjusted.network.observations for key in (o.start, o.end)} | set(adjusted.network.held)
    body = np.array([i for i, key in enumerate(points) if key in read], dtype=int)
    while body.size:
        left = _not_rigid(at[body], free[body])
        worst = float(left.max(initial=0.0))
        if worst <= SHARE:
            break
        body = body[left < max(worst / 2, SHARE)] if (left < worst / 2).any() else body[:0]
    return {points[i]: (float(at[i, 0]), float(at[i, 1]), float(at[i, 2])) for i in body}


def _not_rigid(at: NDArray[np.float64], free: NDArray[np.float64]) -> NDArray[np.float64]:
    """(n,) how far each of the points (n, 3) takes part in the free directions (n, 3, d) otherwise than by a shift and a turn of all."""
    n, _, d = free.shape
    if d == 0:
        return np.zeros(n)
    rigid = np.zeros((n, 3, 6))
    rigid[:, 0, 0] = rigid[:, 1, 1] = rigid[:, 2, 2] = 1.0
    x, y, z = ((at - at.mean(axis=0)) / max(1.0, float(np.abs(at - at.mean(axis=0)).max()))).T
    rigid[:, 0, 3], rigid[:, 1, 3] = -y, x  # about z
    rigid[:, 1, 4], rigid[:, 2, 4] = -z, y  # about x
    rigid[:, 2, 5], rigid[:, 0, 5] = -x, z  # about y
    flat, ways = rigid.reshape(3 * n, 6), free.reshape(3 * n, d)
    kept = ways - flat @ np.linalg.lstsq(flat, ways, rcond=None)[0]
    out: NDArray[np.float64] = np.sqrt((kept.reshape(n, 3, d) ** 2).sum(axis=(1, 2)))
    return out
