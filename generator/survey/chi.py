"""The chi-square distribution and the normal one, as far as a survey's tests need them, without scipy."""

from __future__ import annotations

import math
from statistics import NormalDist

TINY = 1e-300
EXACT = 1e-15  #: relative, at which series and fractions are cut off
TERMS = 100_000


def normal_quantile(share: float) -> float:
    """z with P(Z <= z) = share, 0 < share < 1."""
    return NormalDist().inv_cdf(share)


def chi_square_share(value: float, dof: float) -> float:
    """P(chi-square of `dof` <= value): the regularised incomplete gamma function P(dof/2, value/2).

    Series below a + 1, Lentz's continued fraction above: Abramowitz and Stegun 6.5.29 and 6.5.31.
    """
    a, x = dof / 2, value / 2
    if x <= 0:
        return 0.0
    front = math.exp(a * math.log(x) - x - math.lgamma(a))
    if x < a + 1:
        term = total = 1 / a
        for n in range(1, TERMS):
            term *= x / (a + n)
            total += term
            if term < total * EXACT:
                break
        return min(1.0, front * total)
    b = x + 1 - a
    c, d = 1 / TINY, 1 / b
    fraction = d
    for n in range(1, TERMS):
        step = -n * (n - a)
        b += 2
        d, c = 1 / _away(step * d + b), _away(b + step / c)
        fraction *= d * c
        if abs(d * c - 1) < EXACT:
            break
    return max(0.0, 1 - front * fraction)


def _away(value: float) -> float:
    return value if abs(value) > TINY else TINY


def chi_square_quantile(share: float, dof: int) -> float:
    """Value that a chi-square variable of `dof` degrees of freedom stays under with probability `share`.

    Bracketed by doubling, then halved: sixty steps, no derivative that vanishes at one degree of freedom.

    Raises:
        ValueError: share not inside 0..1, or dof under 1.
    """
    if not 0 < share < 1 or dof < 1:
        raise ValueError(f"share {share} must lie inside 0..1 and dof {dof} must be at least 1")
    low, high = 0.0, float(dof)
    while chi_square_share(high, dof) < share:
        low, high = high, 2 * high
    while high - low > 1e-13 * high:
        middle = (low + high) / 2
        if middle in (low, high):
            break
        low, high = (middle, high) if chi_square_share(middle, dof) < share else (low, middle)
    return (low + high) / 2
