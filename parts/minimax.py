"""The least possible largest of many straight-line misses: how a plate is shifted so that its worst gap is as small as it can be."""

from __future__ import annotations

from itertools import combinations

import numpy as np
from numpy.typing import NDArray

HELD = 1e-6  #: weight that keeps what no row asks for at 0
ROUNDS = 60
KEPT = 9  #: rows that a vertex is looked for among
CLOSE = 1e-10
SLACK = 1e-9


def minimax(slopes: NDArray[np.float64], offsets: NDArray[np.float64]) -> NDArray[np.float64]:
    """(k,) x with the least largest |offsets + slopes @ x|, k at most 3. What no row asks for stays 0.

    Args:
        slopes: (n, k).
        offsets: (n,).

    Rows are taken in one by one, the worst one next, and each small problem is solved at its vertices: the answer is exact.
    """
    k = slopes.shape[1]
    g = np.vstack([slopes, HELD * np.eye(k)])
    c = np.concatenate([offsets, np.zeros(k)])
    chosen = [int(np.argmax(np.abs(c)))]
    x = np.zeros(k)
    best, best_x = float(np.abs(c).max(initial=0.0)), x
    for _ in range(ROUNDS):
        rows = np.array([*chosen, *range(len(offsets), len(c))])
        x = _vertex(g[rows], c[rows])
        misses = np.abs(c + g @ x)
        if float(misses.max()) < best:
            best, best_x = float(misses.max()), x
        worst = int(np.argmax(misses))
        if worst in chosen or misses[worst] <= np.abs(c[rows] + g[rows] @ x).max() + CLOSE:
            break
        by_miss = sorted(chosen, key=lambda i: -misses[i])
        chosen = [*by_miss[: KEPT - 1], worst]
    return _shrunk(slopes, offsets, best_x)


def _shrunk(g: NDArray[np.float64], c: NDArray[np.float64], x: NDArray[np.float64]) -> NDArray[np.float64]:
    """Each number in turn as near to 0 as it may be without any miss over the largest one."""
    most = float(np.abs(c + g @ x).max(initial=0.0)) + SLACK
    out = x.copy()
    for j in range(len(out)):
        rest = c + g @ out - g[:, j] * out[j]
        asked = np.abs(g[:, j]) > CLOSE
        ends = np.stack([(-most - rest[asked]) / g[asked, j], (most - rest[asked]) / g[asked, j]])
        low, high = ends.min(axis=0).max(initial=-np.inf), ends.max(axis=0).min(initial=np.inf)
        if low <= high:
            out[j] = min(max(0.0, low), high)
    return out


def _vertex(g: NDArray[np.float64], c: NDArray[np.float64]) -> NDArray[np.float64]:
    """The answer for few rows: the best of the points at which k + 1 of them miss alike."""
    n, k = g.shape
    if n <= k:
        return np.zeros(k)
    subsets = np.array(list(combinations(range(n), k + 1)))
    signs = np.array([[1.0, *(1.0 if m >> i & 1 else -1.0 for i in range(k))] for m in range(1 << k)])
    a = np.concatenate([np.repeat(g[subsets], len(signs), axis=0), -np.tile(signs, (len(subsets), 1))[:, :, None]], axis=2)
    b = -np.repeat(c[subsets], len(signs), axis=0)
    sizes = np.abs(np.linalg.det(a))
    fit = sizes > 1e-30
    found = np.linalg.solve(a[fit], b[fit][:, :, None])[:, :k, 0]
    found = np.vstack([np.zeros(k), found[np.isfinite(found).all(axis=1)]])
    largest = np.abs(c[:, None] + g @ found.T).max(axis=0)
    out: NDArray[np.float64] = found[int(np.argmin(largest))]
    return out
