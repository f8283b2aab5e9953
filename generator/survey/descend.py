"""Down to the least sum of squares: Gauss-Newton over the directions that the readings tell, damped where a step would lead uphill."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from generator.survey.equations import Equations

if TYPE_CHECKING:
    from numpy.typing import NDArray

LOOSE_MM = 100.0  #: a direction in which a coordinate has a larger standard deviation counts as not determined; our choice
STILL_MM = 1e-7  #: largest step of a coordinate at which it has converged
SMALL_MM = 1.0  #: steps smaller than this are taken as they are: so near, the linear network is good
STEPS = 25
OUTER = 25  #: looks at what is free; each brings what is left of the pull back to the rough place down to a tenth or so
RESTLESS = 6  #: of them that may end without rest
REST_MM = 1e-4  #: a coordinate that moves less from one look to the next is told as at rest
CURVED = 6  #: steps after which the readings' own curvature is counted in: where residuals are of metres, without it there is no rest
SETTLED = 1  #: looks after which a direction that was found loose once stays so: one on the edge of it would go to and fro, or creep
DAMPING = (0.0, 1e-6, 1e-4, 1e-2, 1e-1, 1.0, 10.0, 100.0)  #: of the strongest direction


@dataclass(frozen=True, kw_only=True, eq=False)
class Directions:
    """What readings tell at some coordinates, as orthonormal directions over all 3n of them; no part of them at held ones.

    Attributes:
        told: (3n, k) determined, `strength` (k,) of each: one over its variance, 1/mm2.
        free: (3n, d) not determined.
    """

    told: NDArray[np.float64]
    strength: NDArray[np.float64]
    free: NDArray[np.float64]


@dataclass(frozen=True, kw_only=True, eq=False)
class Descent:
    """Where it ended: coordinates (3n,), and whether it came to rest."""

    at: NDArray[np.float64]
    directions: Directions
    sum_squares: float
    iterations: int
    converged: bool


def directions(own: Equations, at: NDArray[np.float64], least_free: int = 0) -> Directions:
    """The directions at the coordinates (3n,); `least_free`: at least so many count as not determined, the weakest first."""
    seen = own.slopes(at)[:, own.adjusted] / own.sigma[:, None]
    return directions_of(seen.T @ seen, own.adjusted, least_free)


def directions_of(normal: NDArray[np.float64], adjusted: NDArray[np.bool_], least_free: int = 0) -> Directions:
    """The same from normal equations over the adjusted coordinates.

    Loose is told by the coordinate that takes most part in a direction, so that the same looseness counts in small and large networks.
    """
    strength, ways = np.linalg.eigh(normal) if normal.size else (np.zeros(0), np.zeros((0, 0)))
    part = np.abs(ways).max(axis=0, initial=0.0)
    loose = strength * LOOSE_MM**2 < part**2
    loose[: min(least_free, len(loose))] = True  # eigenvalues come in rising order
    whole = np.zeros((len(adjusted), len(strength)))
    whole[adjusted] = ways
    return Directions(told=whole[:, ~loose], strength=strength[~loose], free=whole[:, loose])


def descend(own: Equations, at: NDArray[np.float64], rough: NDArray[np.float64]) -> Descent:
    """Strict least squares from the coordinates `at` (3n,); what is free ends nearest to `rough` (3n,).

    Eigenvectors cost as much as dozens of solutions: what is free is looked for anew only where the steps within the rest came to rest.
    """
    here, least, count, outer, restless = at, 0, 0, 0, 0
    while True:
        outer += 1
        ways = directions(own, here, least)
        if outer >= SETTLED:
            least = ways.free.shape[1]
        moved, inner, still = _within(own, here, rough, ways.free)
        count, restless = count + inner, restless + (not still)
        by = float(np.abs(moved - here).max(initial=0.0))
        here = moved
        if (still and by < STILL_MM) or outer >= OUTER or restless >= RESTLESS:
            done = still and by < REST_MM
            return Descent(at=here, directions=ways, sum_squares=_squares(own, here), iterations=count, converged=done)


def _within(
    own: Equations, at: NDArray[np.float64], rough: NDArray[np.float64], free: NDArray[np.float64]
) -> tuple[NDArray[np.float64], int, bool]:
    """Coordinates at rest, but for the directions `free` (3n, d), which are at their rough place; the steps it took; whether at rest."""
    here = at + free @ (free.T @ (rough - at))
    kept = free[own.adjusted]
    held = kept @ kept.T
    count, still = 0, False
    while not still and count < STEPS:
        count += 1
        slopes = own.slopes(here)[:, own.adjusted] / own.sigma[:, None]
        off = own.off(here)
        pull = -(slopes.T @ off)
        pull -= kept @ (kept.T @ pull)
        normal = slopes.T @ slopes
        strongest = float(np.diag(normal).max(initial=0.0)) or 1.0
        solved = _within_rest(normal, kept, held, strongest)
        if count > CURVED:
            solved = _bowl(_within_rest(normal + own.curvature(here, off), kept, held, strongest), strongest)
        step = _step(own, here, solved, pull, strongest)
        here = here + step
        still = float(np.abs(step).max(initial=0.0)) < STILL_MM
    return here, count, still


def _within_rest(
    normal: NDArray[np.float64], kept: NDArray[np.float64], held: NDArray[np.float64], strongest: float
) -> NDArray[np.float64]:
    """Normal equations whose solution has no part in the directions `kept`."""
    across = (normal @ kept) @ kept.T
    out: NDArray[np.float64] = normal - across - across.T + kept @ (kept.T @ across) + strongest * held
    return out


def _bowl(normal: NDArray[np.float64], strongest: float) -> NDArray[np.float64]:
    """Raised along its diagonal until every way out leads uphill."""
    for raised in DAMPING:
        out: NDArray[np.float64] = normal + raised * strongest * np.eye(len(normal))
        try:
            np.linalg.cholesky(out)
        except np.linalg.LinAlgError:
            continue
        break
    return out


def _step(
    own: Equations, here: NDArray[np.float64], normal: NDArray[np.float64], pull: NDArray[np.float64], strongest: float
) -> NDArray[np.float64]:
    """(3n,) the least damped step that does not lead uphill."""
    before = _squares(own, here)
    step = np.zeros(len(here))
    for damping in DAMPING:
        step[own.adjusted] = np.linalg.solve(normal + damping * strongest * np.eye(len(pull)), pull)
        if float(np.abs(step).max(initial=0.0)) < SMALL_MM or _squares(own, here + step) <= before:
            break
    return step


def _squares(own: Equations, at: NDArray[np.float64]) -> float:
    off = own.off(at)
    return float(off @ off)
