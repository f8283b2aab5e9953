"""The least largest miss, against closed forms and against another method (linear programming, scipy's)."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import linprog

from parts.minimax import minimax


def worst(g: np.ndarray, c: np.ndarray, x: np.ndarray) -> float:
    return float(np.abs(c + g @ x).max())


def test_the_middle_between_the_furthest_two() -> None:
    c = np.array([1.0, 4.0, -2.0])
    assert minimax(np.ones((3, 1)), c) == pytest.approx([-1.0])  # 4 and -2 about 1


def test_a_line_through_a_parabola() -> None:
    """x^2 on [-1, 1] by a straight line: Chebyshev's answer is 1/2, level."""
    t = np.linspace(-1, 1, 201)
    x = minimax(np.column_stack([np.ones_like(t), t]), t**2)
    assert x == pytest.approx([-0.5, 0.0], abs=1e-9)


def test_what_nothing_asks_for_stays() -> None:
    g = np.array([[0.0, 1.0, 0.0], [0.0, -1.0, 0.0]])
    assert minimax(g, np.array([0.2, 1.0])) == pytest.approx([0.0, 0.4, 0.0], abs=1e-5)


@pytest.mark.parametrize("seed", range(30))
def test_as_linear_programming(seed: int) -> None:
    random = np.random.default_rng(seed)
    n, k = int(random.integers(4, 200)), int(random.integers(1, 4))
    g, c = random.normal(size=(n, k)), random.normal(size=n)
    a = np.vstack([np.column_stack([g, -np.ones(n)]), np.column_stack([-g, -np.ones(n)])])
    told = linprog([0.0] * k + [1.0], A_ub=a, b_ub=np.concatenate([-c, c]), bounds=[(None, None)] * (k + 1))
    assert worst(g, c, minimax(g, c)) == pytest.approx(told.fun, abs=1e-5)
