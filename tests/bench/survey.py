"""What a survey costs: all statistics of a network against scipy's least squares with a sparse Jacobian on the same one, which has none."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares
from scipy.sparse import csr_matrix

from generator.survey.adjust import adjust
from generator.survey.equations import equations
from generator.survey.snoop import least_detectable, suspects
from tests.generator.survey.networks import mixed, network, points


def survey() -> None:
    for n, m, bound in ((60, 400, "at most 500 ms"), (200, 2000, "at most 10 x scipy")):
        random = np.random.default_rng(n)
        truth = points(n, random)
        own = network(truth, mixed(list(truth), m, random), random, rough_mm=10.0)
        arrays = equations(own)
        rough = np.array([own.rough[k] for k in own.points]).reshape(-1)

        def slopes(at: NDArray[np.float64], arrays: Any = arrays) -> Any:
            return csr_matrix(arrays.slopes(at) / arrays.sigma[:, None])

        other = _spent(lambda arrays=arrays, slopes=slopes, rough=rough: least_squares(arrays.off, rough, jac=slopes))  # type: ignore[misc]
        ours = _spent(lambda own=own: least_detectable(adjust(own)))  # type: ignore[misc]
        snooped = _spent(lambda own=own: suspects(adjust(own)))  # type: ignore[misc]
        what = f"{n} points, {m} readings"
        print(f"{what + ': scipy, sparse':<52} {other * 1000:9.0f} ms    1.00 x   baseline", flush=True)
        print(f"{what + ', all statistics':<52} {ours * 1000:9.0f} ms {ours / other:7.2f} x   {bound}", flush=True)
        print(f"{what + ', and every suspect':<52} {snooped * 1000:9.0f} ms {snooped / other:7.2f} x   {bound}", flush=True)


def _spent(function: Callable[[], Any], best_of: int = 2) -> float:
    times = []
    for _ in range(best_of):
        begun = time.perf_counter()
        function()
        times.append(time.perf_counter() - begun)
    return min(times)
