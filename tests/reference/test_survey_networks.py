"""The survey's engine against scipy: the same network, another minimiser; the same distributions, another library."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import least_squares
from scipy.stats import chi2, norm

from generator.survey.adjust import adjust
from generator.survey.chi import chi_square_quantile, chi_square_share, normal_quantile
from generator.survey.network import Coordinate, Network
from tests.generator.survey.networks import mixed, network, points, true_value

SAME_MM = 1e-6
STEP_MM = 0.01  #: of central differences: off by (STEP / length)^2, 1e-9 of a slope at 300 mm


def minimised(own: Network) -> NDArray[np.float64]:
    """(n, 3) by MINPACK's Levenberg-Marquardt over the readings written out again, central differences for slopes."""
    at = np.array([own.rough[k] for k in own.points])
    free = np.ones_like(at, dtype=bool)
    for i, key in enumerate(own.points):
        for axis, value in enumerate(own.held.get(key, ())):
            if value is not None:
                at[i, axis], free[i, axis] = value, False

    def whole(y: NDArray[np.float64]) -> NDArray[np.float64]:
        out = at.copy()
        out[free] = y
        return out

    def off(y: NDArray[np.float64]) -> list[float]:
        row = {k: tuple(map(float, p)) for k, p in zip(own.points, whole(y), strict=True)}
        return [(true_value(o.kind, row[o.start], row[o.end or o.start]) - o.value_mm) / o.sigma_mm for o in own.observations]  # type: ignore[arg-type]

    def slopes(y: NDArray[np.float64]) -> NDArray[np.float64]:
        steps = STEP_MM * np.eye(len(y))
        return np.array([(np.array(off(y + s)) - np.array(off(y - s))) / (2 * STEP_MM) for s in steps]).T

    best = at[free]
    for _ in range(3):  # once more from where it stopped: it stops at the last digit of the sum of squares
        best = least_squares(off, best, jac=slopes, method="lm", x_scale="jac", xtol=1e-15, ftol=1e-15, gtol=1e-15, max_nfev=400).x
    return whole(best)


@pytest.mark.parametrize("seed", range(4))
def test_held_networks_lie_where_scipy_lays_them(seed: int) -> None:
    random = np.random.default_rng(seed)
    truth = points(7, random)
    held: dict[str, Coordinate] = {"p0": truth["p0"], "p1": truth["p1"], "p2": (None, truth["p2"][1], None)}
    own = network(truth, mixed(list(truth), 60, random), random, held=held)
    found = adjust(own)
    assert found.converged and found.free.shape[1] == 0
    assert np.abs(found.flat.reshape(-1, 3) - minimised(own)).max() < SAME_MM


@pytest.mark.parametrize("seed", range(4))
def test_free_networks_have_the_shape_that_scipy_gives_them(seed: int) -> None:
    """Where it lies is free: every distance and height is compared; and that it lies nearest to the rough coordinates."""
    random = np.random.default_rng(100 + seed)
    truth = points(7, random)
    own = network(truth, mixed(list(truth), 60, random), random)
    found, other = adjust(own), minimised(own)
    here = found.flat.reshape(-1, 3)
    assert found.free.shape[1] == 3  # two shifts and a turn about the plumb line
    for i, j in combinations(range(7), 2):
        assert np.linalg.norm(here[i] - here[j]) == pytest.approx(np.linalg.norm(other[i] - other[j]), abs=SAME_MM)
    assert np.abs(here[:, 2] - other[:, 2]).max() < SAME_MM
    rough = np.array([own.rough[k] for k in own.points])
    assert (here - rough)[:, :2].sum(axis=0) == pytest.approx([0.0, 0.0], abs=1e-5)
    x, y = here[:, 0], here[:, 1]
    turn = (x * (here - rough)[:, 1] - y * (here - rough)[:, 0]).sum() / np.hypot(x, y).max()
    assert turn == pytest.approx(0.0, abs=1e-4)


@pytest.mark.parametrize("dof", [1, 2, 3, 5, 10, 57, 300, 1400])
def test_chi_square_is_scipys(dof: int) -> None:
    for share in (0.001, 0.025, 0.5, 0.95, 0.975, 0.999):
        value = chi2.ppf(share, dof)
        assert chi_square_quantile(share, dof) == pytest.approx(value, rel=1e-9)
        assert chi_square_share(value, dof) == pytest.approx(share, rel=1e-9)


def test_normal_quantiles_are_scipys() -> None:
    for share in (0.0005, 0.025, 0.5, 0.8, 0.9995):
        assert normal_quantile(share) == pytest.approx(norm.ppf(share), abs=1e-12)
