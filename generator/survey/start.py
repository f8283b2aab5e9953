"""Where to begin: rough coordinates, or none; and a place that a few gross readings cannot pull away."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from generator.survey.descend import Directions, directions
from generator.survey.equations import Equations
from generator.survey.network import Network

if TYPE_CHECKING:
    from numpy.typing import NDArray

ROUNDS = 30
LAST_ROUNDS = 12
BENDS = 2.0  #: spreads from which a reading pulls no harder for being further off
FADES = 4.0  #: spreads from which it pulls less and less
BOUND = 6.0  #: spreads that a reading counts at most when one start is chosen from several
ENOUGH_MM = 0.01
NORMAL_MEDIAN = 1.4826  #: standard deviation over median absolute deviation of a normal distribution
RIDGE = 1e-9
HALVES = 8
AFRESH = 6  #: rounds after which what is free is looked for anew: it moves little, and costs most


def start(network: Network, own: Equations) -> NDArray[np.float64]:
    """(3n,) held values, else rough ones, else what distances and heights give."""
    at = np.array([network.rough.get(key, (np.nan, np.nan, np.nan)) for key in network.points], dtype=float).reshape(-1, 3)
    for i, key in enumerate(network.points):
        for axis, value in enumerate(network.held.get(key, ())):
            if value is not None:
                at[i, axis] = value
    if not np.isnan(at).any():
        return at.reshape(-1)
    from generator.survey.placed import placed

    tried = [robust(own, one) for one in placed(network, at)]
    return min(tried, key=lambda one: _chosen_by(own, one))


def _chosen_by(own: Equations, at: NDArray[np.float64]) -> float:
    """Bounded, so that a gross reading does not choose."""
    return float(np.minimum(np.abs(own.off(at)), BOUND).sum())


def robust(own: Equations, at: NDArray[np.float64]) -> NDArray[np.float64]:
    """(3n,) coordinates that most readings agree with, from `at`: least absolute deviations first, then far readings faded out."""
    here = at
    for rounds, fading in ((ROUNDS, False), (LAST_ROUNDS, True)):
        for round_ in range(rounds):
            if round_ % AFRESH == 0:
                ways = directions(own, here)
            off = own.off(here)
            far = np.abs(off)
            spread = max(1.0, NORMAL_MEDIAN * float(np.median(far)) if far.size else 1.0)
            weight = 1 / (1 + (far / (FADES * spread)) ** 2) ** 2 if fading else 1 / np.maximum(1.0, far / (BENDS * spread))
            step = _weighted_step(own, here, ways, weight)
            here = here + step if fading else _downhill(own, here, step, spread)
            if float(np.abs(step).max(initial=0.0)) < ENOUGH_MM:
                break
    return here


def _weighted_step(
    own: Equations, here: NDArray[np.float64], ways: Directions, weight: NDArray[np.float64]
) -> NDArray[np.float64]:
    """(3n,) Gauss-Newton in what the readings tell, unweighted: what hangs on a faded reading alone is still told."""
    seen = (own.slopes(here) / own.sigma[:, None]) @ ways.told
    normal = seen.T @ (weight[:, None] * seen)
    ridge = RIDGE * float(np.trace(normal)) / max(1, len(normal)) + RIDGE**2
    step: NDArray[np.float64] = ways.told @ np.linalg.solve(normal + ridge * np.eye(len(normal)), -(seen.T @ (weight * own.off(here))))
    return step


def _downhill(own: Equations, here: NDArray[np.float64], step: NDArray[np.float64], spread: float) -> NDArray[np.float64]:
    """The step, halved until the readings' misfit does not grow by it."""
    before = _misfit(own, here, spread)
    for _ in range(HALVES):
        if _misfit(own, here + step, spread) <= before:
            break
        step = step / 2
    return here + step


def _misfit(own: Equations, at: NDArray[np.float64], spread: float) -> float:
    """Sum of absolute deviations in spreads, squared where they are small (Huber 1964)."""
    far = np.abs(own.off(at)) / spread
    return float(np.where(far < BENDS, far * far / 2, BENDS * (far - BENDS / 2)).sum())
