"""Which reading, taken once more, would tell most: of a number that is too rough, of what nobody measured, of a group that is tied."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from generator.survey.equations import AXES, equations
from generator.survey.network import Network, Observation
from generator.survey.tied import residual_covariance

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from generator.survey.adjust import Adjusted

MOST = 200  #: candidates that are weighed against each other
SEES = 0.05  #: share of a candidate's slope that has to lie in what is free for it to close some of it
AS_GOOD = 1.05  #: a candidate has to be better by so much to be taken before one that stands earlier in the list


@dataclass(frozen=True, kw_only=True)
class Proposal:
    """A reading that somebody may take, and what it would do.

    Attributes:
        sigma_mm: of the number asked for with it, times the survey's scale; None: of a tied group, or still not determined.
        closes: how many of the directions that are free it would determine, 0 or 1.
    """

    observation: Observation
    sigma_mm: float | None = None
    closes: int = 0

    @property
    def kind(self) -> str:
        return self.observation.kind

    @property
    def start(self) -> str:
        return self.observation.start

    @property
    def end(self) -> str | None:
        return self.observation.end


def proposal(adjusted: Adjusted, gradient: NDArray[np.float64], candidates: Sequence[Observation]) -> Proposal | None:
    """Of the candidates, the reading with which the number of this gradient (3n,) is known best; None where none of them helps.

    A number that is not determined is settled by what takes most of its gradient out of what is free; a determined one by what leaves it
    the least standard deviation (the rank-one update of the covariance). The value of a candidate is not looked at.
    """
    if not candidates:
        return None
    scaled = _slopes(adjusted, candidates)
    seen = scaled @ adjusted.free
    blind = adjusted.free.T @ gradient
    if adjusted.sigma(gradient) is None:
        unit = seen / np.maximum(np.linalg.norm(seen, axis=1, keepdims=True), 1e-12)
        useful = np.linalg.norm(seen, axis=1) > SEES * np.linalg.norm(scaled, axis=1)
        taken = np.where(useful, np.abs(unit @ blind), 0.0)
        best = _first_best(taken)
        if taken[best] <= SEES * float(np.linalg.norm(blind)):
            return None
        left = blind - unit[best] * float(unit[best] @ blind)
        told = None
        if float(np.linalg.norm(left)) < 1e-6 * max(1.0, float(np.linalg.norm(gradient))):
            told = _sigma_through(adjusted, gradient, scaled[best], float(unit[best] @ blind))
        return Proposal(observation=candidates[best], sigma_mm=told, closes=1)
    usable = np.linalg.norm(seen, axis=1) <= SEES * np.linalg.norm(scaled, axis=1)
    across = scaled @ adjusted.covariance @ gradient
    own = 1.0 + np.einsum("ij,jk,ik->i", scaled, adjusted.covariance, scaled)
    gain = np.where(usable, across * across / own, 0.0)
    best = _first_best(gain)
    before = float(gradient @ adjusted.covariance @ gradient)
    if gain[best] <= 1e-9 * before:
        return None
    return Proposal(observation=candidates[best], sigma_mm=adjusted.scale * float(np.sqrt(max(0.0, before - gain[best]))))


def _sigma_through(adjusted: Adjusted, gradient: NDArray[np.float64], scaled: NDArray[np.float64], blind: float) -> float:
    """Standard deviation of a number whose whole free part the one new reading (its slopes over its sigma) tells."""
    share = blind / float(np.linalg.norm(adjusted.free.T @ scaled))
    rest = gradient - share * scaled
    rest = rest - adjusted.free @ (adjusted.free.T @ rest)
    return adjusted.scale * float(np.sqrt(max(0.0, float(rest @ adjusted.covariance @ rest)) + share * share))


def _first_best(values: NDArray[np.float64]) -> int:
    """The first of those that are as good as the best."""
    return int(np.flatnonzero(values * AS_GOOD >= values.max())[0])


def parting(adjusted: Adjusted, group: Sequence[int], candidates: Sequence[Observation]) -> Proposal | None:
    """Of the candidates, the reading that would best say which of a tied group is off: it leaves their residuals least correlated."""
    if len(group) < 2 or not candidates:
        return None
    own = equations(adjusted.network)
    index = np.array(group, dtype=np.int64)
    seen = own.slopes(adjusted.flat)[index] / own.sigma[index, None]
    now = residual_covariance(adjusted, index, index)
    scaled = _slopes(adjusted, candidates)
    ties = []
    for row in scaled:
        if float(np.linalg.norm(adjusted.free.T @ row)) > SEES * float(np.linalg.norm(row)):
            ties.append(np.inf)  # it tells where something lies that nobody knows, and so checks nothing
            continue
        across = seen @ adjusted.covariance @ row
        then = now + np.outer(across, across) / (1.0 + float(row @ adjusted.covariance @ row))
        spread = np.sqrt(np.diag(then))
        ties.append(float(((then / np.outer(spread, spread)) ** 2).sum()))
    best = int(np.argmin(np.array(ties) + 1e-6 * np.arange(len(ties))))
    return Proposal(observation=candidates[best]) if ties[best] < len(group) ** 2 * (1 - 1e-6) else None


def _slopes(adjusted: Adjusted, candidates: Sequence[Observation]) -> NDArray[np.float64]:
    own = equations(adjusted.network, tuple(candidates))
    out: NDArray[np.float64] = own.slopes(adjusted.flat) / own.sigma[:, None]
    return out


def candidates_for(network: Network, group: Iterable[Observation]) -> tuple[Observation, ...]:
    """Readings that may part a group: lengths not yet read from its points, heights and offsets there, and its own readings once more.

    Each as good as the best reading of its kind that was taken; a kind that nobody took is not proposed.
    """
    members = tuple(group)
    sigmas: dict[str, float] = {}
    for o in network.observations:
        sigmas[o.kind] = min(o.sigma_mm, sigmas.get(o.kind, o.sigma_mm))
    have = {(o.kind, frozenset(k for k in (o.start, o.end) if k)) for o in network.observations}
    touched = tuple(dict.fromkeys(k for o in members for k in (o.start, o.end) if k))
    places = set(touched) | {k for o in network.observations for k in (o.start, o.end) if k}
    found: list[Observation] = []
    for kind in ("distance", "plan"):
        if kind in sigmas and any(o.kind == kind for o in members):
            for i, start in enumerate(touched):
                ends = [k for k in network.points if k in places and k != start and k not in touched[:i]]
                found += [_reading(kind, start, end, sigmas[kind]) for end in ends if (kind, frozenset((start, end))) not in have]
    for axis in AXES:
        if axis in sigmas:
            found += [_reading(axis, key, None, sigmas[axis]) for key in touched if (axis, frozenset((key,))) not in have]
    again = [replace(o, name="") for o in members]
    return (*found[:MOST], *again)


def _reading(kind: str, start: str, end: str | None, sigma_mm: float) -> Observation:
    return Observation(name="", kind=kind, start=start, end=end, value_mm=0.0, sigma_mm=sigma_mm)  # type: ignore[arg-type]
