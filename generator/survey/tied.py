"""Readings that cannot be told apart: an error in any of them makes the same residuals in all."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from generator.survey.equations import equations

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from generator.survey.adjust import Adjusted

TIED = 0.99  #: correlation of two residuals from which no reading says which of them is off
AS_WELL = 3.84  #: chi-square of one degree of freedom at 5 %: less is no reason to prefer one reading to another
SHOWS = 0.01  #: redundancy under which a reading is no member: it would have to be off by a hundred times what is seen


def residual_covariance(adjusted: Adjusted, rows: NDArray[np.int64], columns: NDArray[np.int64]) -> NDArray[np.float64]:
    """(rows, columns) covariance of residuals in standard deviations of the readings; its diagonal is the redundancy."""
    own = equations(adjusted.network)
    seen = own.slopes(adjusted.flat) / own.sigma[:, None]
    same = (rows[:, None] == columns[None, :]).astype(float)
    out: NDArray[np.float64] = same - seen[rows] @ adjusted.covariance @ seen[columns].T
    return out


def correlations(adjusted: Adjusted, index: int) -> NDArray[np.float64]:
    """(m,) of the residual of reading `index` with every other; 0 where one of them shows nothing."""
    every = np.arange(len(adjusted.redundancy))
    across = residual_covariance(adjusted, np.array([index]), every)[0]
    spread = np.sqrt(adjusted.redundancy[index] * adjusted.redundancy)
    out = np.zeros(len(every))
    shows = (adjusted.redundancy >= SHOWS) & (spread > 0)
    out[shows] = across[shows] / spread[shows]
    return out


def tied_to(adjusted: Adjusted, index: int, critical: float) -> tuple[int, ...]:
    """Reading `index` and those that it cannot be told apart from, the one with the largest normalised residual first.

    Tied: their residuals say the same. Nearly so: each is over `critical` by itself, and an error in it explains the residuals as well as
    one in `index`, by twice the logarithm of the likelihoods' ratio, which is the difference of the squares of the normalised residuals.
    """
    sizes = np.abs(np.nan_to_num(adjusted.normalised))
    alike = np.abs(correlations(adjusted, index)) > TIED
    alike |= (sizes > critical) & (sizes[index] ** 2 - sizes**2 < AS_WELL) & (adjusted.redundancy >= SHOWS)
    others = sorted((int(i) for i in np.flatnonzero(alike) if i != index), key=lambda i: (-round(float(sizes[i]), 6), i))
    return index, *others
