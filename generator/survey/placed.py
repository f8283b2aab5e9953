"""Coordinates from readings alone, for points that nobody has drawn: heights by themselves, the plan from the tapes.

Tapes that were not run are bridged by the shortest way over those that were; the matrix of all distances gives the plan (Torgerson 1952:
classical scaling), which is then laid on whatever is known of where points lie, as it is and turned over. Where heights are known the
plan is two-dimensional. It is a start: least squares does the rest.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

from generator.survey.equations import AXES
from generator.survey.network import Network

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

FLAT = 1e-3  #: third dimension's share of the first one under which the points lie in a plane; our choice
TURNS = 72  #: directions that a plan is tried in, where readings along and across alone say how it lies
MENDS = 3  #: rounds in which points are tried on the other side of their tapes
WEAK = 1e-3  #: weight of what is only guessed


def placed(network: Network, at: Array) -> Iterator[Array]:
    """Starts to try, each (3n,): the coordinates `at` (n, 3) with their nan filled in; as scaled, and its mirror image."""
    lengths = _lengths(network)
    heights, told = _heights(network, at)
    plan = _plan(network, at, lengths, heights, told)
    for mirror in (1.0, -1.0):
        seen = plan.copy()
        seen[:, 1] *= mirror
        laid = _laid(network, at, seen)
        whole: NDArray[np.bool_] = np.all(np.isfinite(at), axis=1)
        mended = _mended(laid, lengths, whole)
        out = at.copy()
        missing = ~np.isfinite(out)
        out[missing] = mended[missing]
        yield out.reshape(-1)


def _index(network: Network) -> dict[str, int]:
    return {key: i for i, key in enumerate(network.points)}


def _lengths(network: Network) -> dict[tuple[int, int], tuple[float, bool]]:
    """(point, point) -> (median of the readings, whether it is straight through the air)."""
    index = _index(network)
    found: dict[tuple[int, int], list[tuple[float, bool]]] = {}
    for o in network.observations:
        if o.kind in ("distance", "plan") and o.end is not None:
            i, j = sorted((index[o.start], index[o.end]))
            found.setdefault((i, j), []).append((o.value_mm, o.kind == "distance"))
    return {pair: (float(np.median([v for v, _ in own])), own[0][1]) for pair, own in found.items()}


def _heights(network: Network, at: Array) -> tuple[Array, NDArray[np.bool_]]:
    """(n,) z by the level readings and rises, weakly level where there are none; and which points they tell."""
    index = _index(network)
    n = len(network.points)
    rows: list[tuple[dict[int, float], float, float]] = []
    read: set[int] = set()
    for o in network.observations:
        if o.kind == "z":
            rows.append(({index[o.start]: 1.0}, o.value_mm, 1.0))
            read.add(index[o.start])
        elif o.kind == "rise" and o.end is not None:
            rows.append(({index[o.end]: 1.0, index[o.start]: -1.0}, o.value_mm, 1.0))
            read |= {index[o.end], index[o.start]}
    known = {i: float(z) for i, z in enumerate(at[:, 2]) if math.isfinite(z)}
    rows += [({i: 1.0}, z, 1.0) for i, z in known.items() if i not in read or not rows]
    level = float(np.mean(list(known.values()))) if known else float(np.mean([v for own, v, _ in rows if len(own) == 1] or [0.0]))
    rows += [({i: 1.0}, level, WEAK) for i in range(n)]
    a, b = np.zeros((len(rows), n)), np.zeros(len(rows))
    for k, (own, value, weight) in enumerate(rows):
        for i, sign in own.items():
            a[k, i] = sign * weight
        b[k] = value * weight
    told = np.zeros(n, dtype=bool)
    told[list(read | set(known))] = True
    z: Array = np.asarray(np.linalg.lstsq(a, b, rcond=None)[0], dtype=float)
    return z, told


def _plan(
    network: Network, at: Array, lengths: dict[tuple[int, int], tuple[float, bool]], heights: Array, told: NDArray[np.bool_]
) -> Array:
    """(n, 3) by scaling; the third column is the height where heights are told."""
    n = len(at)
    upright = bool(told.all())
    far = np.full((n, n), np.inf)
    np.fill_diagonal(far, 0.0)
    for (i, j), (length, straight) in lengths.items():
        climb = heights[i] - heights[j] if straight and upright else 0.0
        far[i, j] = far[j, i] = math.sqrt(max(length**2 - climb**2, 1.0))
    placed_points = [i for i in range(n) if np.isfinite(at[i]).all()]
    for i, j in combinations(placed_points, 2):
        far[i, j] = far[j, i] = float(np.linalg.norm((at[i] - at[j])[: 2 if upright else 3]))
    for k in range(n):  # the shortest way over what was measured (Floyd 1962)
        far = np.minimum(far, far[:, k, None] + far[None, k, :])
    reach = float(far[np.isfinite(far)].max(initial=1.0))
    far[~np.isfinite(far)] = reach
    centre = np.eye(n) - 1 / n
    values, vectors = np.linalg.eigh(-0.5 * centre @ far**2 @ centre)
    order = np.argsort(values)[::-1][:3]
    spread = np.sqrt(np.maximum(values[order], 0.0))
    out = np.zeros((n, 3))
    out[:, : len(order)] = vectors[:, order] * spread
    if upright:
        out[:, 2] = heights
    elif n < 4 or values[order[2]] < FLAT * values[order[0]]:
        out[:, 2] = float(heights.mean())
    return out


def _laid(network: Network, at: Array, plan: Array) -> Array:
    """The plan turned and shifted onto the points that are placed, or onto readings along and across; else as it is, from front to rear."""
    known = np.isfinite(at).all(axis=1)
    if known.sum() >= 2:
        a, b = plan[known][:, :2], at[known][:, :2]
        turn = _turn(a - a.mean(axis=0), b - b.mean(axis=0))
        return _with_plan(plan, (plan[:, :2] - a.mean(axis=0)) @ turn + b.mean(axis=0))
    index = _index(network)
    read = [(index[o.start], AXES[o.kind], o.value_mm) for o in network.observations if o.kind in ("x", "y")]
    read += [(i, axis, float(at[i, axis])) for i in range(len(at)) for axis in (0, 1) if math.isfinite(at[i, axis])]
    if not read:
        return plan
    best: tuple[float, Array] | None = None
    for k in range(TURNS):
        angle = 2 * math.pi * k / TURNS
        turned = plan[:, :2] @ np.array([[math.cos(angle), math.sin(angle)], [-math.sin(angle), math.cos(angle)]])
        off = np.zeros(2)
        for axis in (0, 1):
            own = [value - turned[i, axis] for i, along, value in read if along == axis]
            off[axis] = float(np.median(own)) if own else -float(turned[:, axis].mean())
        miss = sum(abs(turned[i, axis] + off[axis] - value) for i, axis, value in read)
        if best is None or miss < best[0]:
            best = (miss, turned + off)
    return plan if best is None else _with_plan(plan, best[1])


def _turn(a: Array, b: Array) -> Array:
    """(2, 2) rotation that lays a on b as near as can be (Kabsch 1976), not turned over."""
    u, _, vt = np.linalg.svd(a.T @ b)
    flip = np.diag([1.0, float(np.sign(np.linalg.det(u @ vt)) or 1.0)])
    out: Array = u @ flip @ vt
    return out


def _with_plan(plan: Array, xy: Array) -> Array:
    out = plan.copy()
    out[:, :2] = xy
    return out


def _mended(at: Array, lengths: dict[tuple[int, int], tuple[float, bool]], fixed: NDArray[np.bool_]) -> Array:
    """Each point moved to where two of its tapes cross, if all of its tapes like that better: it may have folded over."""
    at = at.copy()
    tapes: dict[int, list[tuple[int, float, bool]]] = {}
    for (i, j), (length, straight) in lengths.items():
        tapes.setdefault(i, []).append((j, length, straight))
        tapes.setdefault(j, []).append((i, length, straight))

    def miss(i: int, spot: Array) -> float:
        return sum(abs(float(np.linalg.norm((spot - at[j])[: 3 if straight else 2])) - length) for j, length, straight in tapes[i])

    for _ in range(MENDS):
        for i in (i for i in tapes if not fixed[i]):
            spots = [at[i]]
            for (j, a, sa), (k, b, sb) in combinations(tapes[i], 2):
                spots += _crossings(at[j], a, sa, at[k], b, sb, float(at[i, 2]))
            at[i] = min(spots, key=lambda spot: miss(i, spot))
    return at


def _crossings(p: Array, a: float, straight_a: bool, q: Array, b: float, straight_b: bool, z: float) -> list[Array]:
    """The two points of height z where tapes of lengths a from p and b from q meet; none where they do not reach."""
    ra = math.sqrt(max(a**2 - (z - p[2]) ** 2, 0.0)) if straight_a else a
    rb = math.sqrt(max(b**2 - (z - q[2]) ** 2, 0.0)) if straight_b else b
    way = (q - p)[:2]
    apart = float(np.linalg.norm(way))
    if apart < 1.0 or apart > ra + rb or apart < abs(ra - rb):
        return []
    way = way / apart
    along = (apart**2 + ra**2 - rb**2) / (2 * apart)
    beside = math.sqrt(max(ra**2 - along**2, 0.0))
    foot, square = p[:2] + along * way, np.array([-way[1], way[0]])
    return [np.array([*(foot + sign * beside * square), z]) for sign in (1.0, -1.0)]
