"""Data snooping: which readings are not believed, one at a time, each against what all others make of it (Baarda 1968)."""

from __future__ import annotations

from dataclasses import dataclass, replace
from statistics import NormalDist
from typing import TYPE_CHECKING

import numpy as np

from generator.survey.adjust import Adjusted, adjust, at_rest
from generator.survey.equations import equations
from generator.survey.network import Network, Observation
from generator.survey.proposal import Proposal, candidates_for, parting
from generator.survey.slips import slip_of
from generator.survey.start import robust
from generator.survey.tied import SHOWS, residual_covariance, tied_to

if TYPE_CHECKING:
    from numpy.typing import NDArray

ALPHA = 0.001  #: chance of doubting a reading that is right, two-sided
CRITICAL = NormalDist().inv_cdf(1 - ALPHA / 2)  #: 3.29
BENT = 50.0  #: normalised residual from which the network is bent so far that its slopes are not the frame's; our choice


@dataclass(frozen=True, kw_only=True)
class Suspect:
    """A reading that is not believed, or several of which one is off.

    Attributes:
        observations: names; the most probable one first, with all that are tied to it.
        error_mm: reading less what the others make it.
        error_sigmas: the same in standard deviations of the reading.
        normalised: residual over its own standard deviation, the opposite sign of `error_mm`.
        unit_slip: what it looks like, "25.4: read in inches?"; "" where it looks like nothing.
        decided_by: the reading that would part the group; None of a single one, or where none would.
    """

    observations: tuple[str, ...]
    error_mm: float
    error_sigmas: float
    normalised: float
    unit_slip: str = ""
    decided_by: Proposal | None = None


def suspects(adjusted: Adjusted) -> tuple[Suspect, ...]:
    """Readings that are not believed, in the order in which they were found: the worst is set aside and the rest adjusted again.

    One that the network without all others agrees with is taken back: it was doubted for what another one did.
    """
    network, doubted = adjusted.network, list[Observation]()
    now = adjusted
    while (found := _worst(now))[0]:
        doubted += [now.network.observations[i] for i in found[0]]
        now = adjust(_without(network, doubted), found[1])
    doubted, now = _taken_back(network, doubted, now)
    return tuple(_suspect(network, doubted, one, now) for one in doubted)


def least_detectable(adjusted: Adjusted, power: float = 0.8) -> NDArray[np.float64]:
    """(m,) mm: the error in each reading that would be doubted with probability `power`; inf where no other reading checks it.

    Baarda's internal reliability: sigma (3.29 + z(power)) / sqrt(redundancy), 4.13 at 80 %.
    """
    shift = CRITICAL + NormalDist().inv_cdf(power)
    sigma = np.array([o.sigma_mm for o in adjusted.network.observations])
    out = np.full(len(sigma), np.inf)
    shows = ~np.isnan(adjusted.normalised)
    out[shows] = sigma[shows] * shift / np.sqrt(adjusted.redundancy[shows])
    return out


def _worst(adjusted: Adjusted) -> tuple[list[int], NDArray[np.float64]]:
    """Indices of the readings to doubt, the first one first, and coordinates (3n,) that they do not bend.

    Each is set aside before the next is looked at; a gross one alone, because after it the network has to be laid out anew.

    On the linear network: without reading i the residuals v become v - c v_i / r_i and the redundancies r - c^2 / r_i, c being the
    column of i in the residuals' covariance; all in standard deviations of the readings.
    """
    base = adjusted
    bent = _sizes(base.residuals_over_sigma, base.redundancy).max(initial=0.0) > BENT or not base.converged
    if bent:
        base = at_rest(base.network, robust(equations(base.network), base.flat))
    off, shows = base.residuals_over_sigma, base.redundancy
    found: list[int] = []
    columns: list[tuple[NDArray[np.float64], float]] = []
    every = np.arange(len(off))
    while (sizes := _sizes(off, shows)).max(initial=0.0) > CRITICAL:
        worst = int(np.flatnonzero(sizes >= sizes.max() * (1 - 1e-9))[0])
        column = residual_covariance(base, every, np.array([worst]))[:, 0]
        for before, share in columns:
            column = column - before * before[worst] / share
        share = float(shows[worst])
        off, shows = off - column * off[worst] / share, np.clip(shows - column**2 / share, 0.0, 1.0)
        columns.append((column, share))
        found.append(worst)
        if bent:
            break
    return found, base.flat


def _sizes(off: NDArray[np.float64], redundancy: NDArray[np.float64]) -> NDArray[np.float64]:
    """(m,) absolute normalised residuals; 0 of readings that nothing checks, where rounding would be taken for an error."""
    checked = redundancy >= SHOWS
    return np.where(checked, np.abs(off) / np.sqrt(np.where(checked, redundancy, 1.0)), 0.0)


def _taken_back(network: Network, doubted: list[Observation], now: Adjusted) -> tuple[list[Observation], Adjusted]:
    """Without those that agree with the readings which are believed, as often as there are any; the first found goes last."""
    kept, tried = list(doubted), True
    while tried and len(kept) > 1:
        tried = False
        for one in kept[::-1]:
            if abs(_against(now, one)[1]) <= CRITICAL:
                less = [o for o in kept if o is not one]
                then = adjust(_without(network, less), now.flat)
                if not _worst(then)[0]:
                    kept, now, tried = less, then, True
                    break
    return kept, now


def _against(adjusted: Adjusted, one: Observation) -> tuple[float, float]:
    """(mm, of its own standard deviations) reading less what the adjusted network, which is without it, makes it."""
    own = equations(adjusted.network, (one,))
    slope = own.slopes(adjusted.flat)[0]
    error = -float(own.off(adjusted.flat)[0]) * one.sigma_mm
    return error, error / float(np.sqrt(one.sigma_mm**2 + slope @ adjusted.covariance @ slope))


def _suspect(network: Network, doubted: list[Observation], one: Observation, now: Adjusted) -> Suspect:
    """Told where the frame lies by the readings that are believed, with this one in: no other error bends what is said of it."""
    with_it = _without(network, [o for o in doubted if o is not one])
    there = at_rest(with_it, now.flat)
    index = next(i for i, o in enumerate(with_it.observations) if o is one)
    error, normalised = _against(now, one)
    group = tied_to(there, index, CRITICAL)
    members = tuple(with_it.observations[i] for i in group)
    slips = ((o, error) if o is one else (o, _share_of(there, i)) for i, o in zip(group, members, strict=True))
    slip = next((text for o, off in slips if (text := slip_of(o.value_mm, off, abs(off / normalised) if normalised else 0.0, o.kind))), "")
    decided = parting(there, group, candidates_for(with_it, members)) if len(group) > 1 else None
    return Suspect(
        observations=tuple(o.name for o in members), error_mm=error, error_sigmas=error / one.sigma_mm, normalised=-normalised,
        unit_slip=slip, decided_by=decided,
    )  # fmt: skip


def _share_of(there: Adjusted, index: int) -> float:
    """What reading `index` would be off by, if it were the one."""
    return -float(there.residuals_mm[index] / there.redundancy[index])


def _without(network: Network, doubted: list[Observation]) -> Network:
    gone = {id(o) for o in doubted}
    return replace(network, observations=tuple(o for o in network.observations if id(o) not in gone))
