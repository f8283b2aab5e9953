"""Weighted least squares over all points at once, and what it tells: coordinates, their spread, what is not determined, what is checked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from types import MappingProxyType
from typing import TYPE_CHECKING

import numpy as np

from generator.survey.chi import chi_square_quantile
from generator.survey.descend import Directions, descend, directions
from generator.survey.equations import Equations, equations
from generator.survey.network import Network
from generator.survey.start import robust, start
from parts.sheet import Vec3

if TYPE_CHECKING:
    from numpy.typing import NDArray

SHOWS = 1e-6  #: redundancy under which a residual is rounding alone
MEETS = 0.01  #: share of a gradient that may lie in what is free: a reading itself, through which the free is seen, stays under it
GROSS = 5.0  #: sigma0 from which the start is looked for robustly: noise does not make it, a wrong start or a gross reading does
TWO_SIDED = (0.025, 0.975)


@dataclass(frozen=True, kw_only=True, eq=False)
class Adjusted:
    """A network, adjusted. n points, m readings; coordinates in the order of `network.points` by (x, y, z); mm throughout.

    Attributes:
        coordinates: every point; what is not determined stays at its rough value.
        covariance: (3n, 3n) of the determined part, a priori: readings as good as is said of them.
        free: (3n, d) orthonormal: what the readings do not determine, or to no better than `LOOSE_MM`.
        residuals_mm: (m,) adjusted less read.
        redundancy: (m,) share of an error in a reading that shows in its residual, 0..1; sums to `dof`.
        normalised: (m,) residual over its own standard deviation; nan where it shows nothing.
        dof: readings less determined directions.
        sum_squares: of residuals over standard deviations.
        sigma0: what the standard deviations would have to be multiplied by; None where nothing is checked.
        chi2_low, chi2_high: two-sided 95 % bounds of `sum_squares`; None at dof 0.
        consistent: whether it lies between them.
        converged: False: the coordinates are not to be relied on.
    """

    network: Network
    coordinates: Mapping[str, Vec3]
    covariance: NDArray[np.float64]
    free: NDArray[np.float64]
    residuals_mm: NDArray[np.float64]
    redundancy: NDArray[np.float64]
    normalised: NDArray[np.float64]
    dof: int
    sum_squares: float
    sigma0: float | None
    chi2_low: float | None
    chi2_high: float | None
    consistent: bool | None
    iterations: int
    converged: bool

    @property
    def scale(self) -> float:
        """What standard deviations told are a priori times: readings that disagree widen them, luck does not narrow them."""
        return max(1.0, self.sigma0 or 0.0)

    @cached_property
    def flat(self) -> NDArray[np.float64]:
        """(3n,) the coordinates in one row."""
        return np.array([self.coordinates[key] for key in self.network.points], dtype=float).reshape(-1)

    @cached_property
    def residuals_over_sigma(self) -> NDArray[np.float64]:
        """(m,) residuals in standard deviations of the readings."""
        out: NDArray[np.float64] = self.residuals_mm / np.array([o.sigma_mm for o in self.network.observations], dtype=float)
        return out

    def sigma(self, gradient: NDArray[np.float64]) -> float | None:
        """Standard deviation in mm, times `scale`, of the function with this gradient (3n,); None where it is not determined."""
        own = np.asarray(gradient, dtype=float)
        if float(np.linalg.norm(self.free.T @ own)) > MEETS * float(np.linalg.norm(own)):
            return None
        return self.scale * float(np.sqrt(max(0.0, float(own @ self.covariance @ own))))


def adjust(network: Network, begin: NDArray[np.float64] | None = None) -> Adjusted:
    """The most probable coordinates, each reading weighing as its standard deviation says.

    The datum is free where nothing holds it: of all places the network may lie in, the one nearest to the rough coordinates. So is every
    other direction that the readings tell to no better than `LOOSE_MM`.

    Args:
        network: points and readings.
        begin: (3n,) coordinates near the result, where they are known: only the way there is shorter.
    """
    own = equations(network)
    rough = start(network, own)
    found = descend(own, rough if begin is None else begin, rough)
    dof = max(1, len(own.read) - found.directions.told.shape[1])
    if not found.converged or found.sum_squares > dof * GROSS**2:
        from_afar = descend(own, robust(own, rough), rough)
        found = from_afar if from_afar.converged or not found.converged else found
    return _adjusted(network, own, found.at, found.directions, found.iterations, found.converged)


def at_rest(network: Network, at: NDArray[np.float64]) -> Adjusted:
    """The network linearised at these coordinates (3n,) and adjusted in one step: what its statistics would be near the truth.

    A reading that is off by a metre bends the network so far that its own slopes are no longer those of the frame. The coordinates are
    the given ones; residuals are those of the linear network.
    """
    own = equations(network)
    ways = directions(own, at)
    by = ways.told / np.sqrt(ways.strength)
    seen = (own.slopes(at) / own.sigma[:, None]) @ by
    off = own.off(at)
    return _adjusted(network, own, at, ways, 1, True, (off - seen @ (seen.T @ off)) * own.sigma)


def _adjusted(
    network: Network, own: Equations, at: NDArray[np.float64], ways: Directions, iterations: int, converged: bool,
    residuals: NDArray[np.float64] | None = None,
) -> Adjusted:  # fmt: skip
    by = ways.told / np.sqrt(ways.strength)
    seen = (own.slopes(at) / own.sigma[:, None]) @ by
    redundancy = np.clip(1.0 - (seen * seen).sum(axis=1), 0.0, 1.0)
    left = (own.values(at) - own.read) if residuals is None else residuals
    normalised = np.full(len(left), np.nan)
    shows = redundancy >= SHOWS
    normalised[shows] = left[shows] / (own.sigma[shows] * np.sqrt(redundancy[shows]))
    dof = len(left) - ways.told.shape[1]
    squares = float(((left / own.sigma) ** 2).sum())
    low, high = (chi_square_quantile(share, dof) for share in TWO_SIDED) if dof > 0 else (None, None)
    points = at.reshape(-1, 3)
    return Adjusted(
        network=network, covariance=by @ by.T, free=ways.free, residuals_mm=left, redundancy=redundancy, normalised=normalised, dof=dof,
        coordinates=MappingProxyType({k: (float(p[0]), float(p[1]), float(p[2])) for k, p in zip(network.points, points, strict=True)}),
        sum_squares=squares, sigma0=float(np.sqrt(squares / dof)) if dof > 0 else None, chi2_low=low, chi2_high=high,
        consistent=low <= squares <= high if low is not None and high is not None else None, iterations=iterations, converged=converged,
    )  # fmt: skip
