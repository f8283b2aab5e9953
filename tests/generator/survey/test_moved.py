"""How far points moved: closed forms on covariances made by hand, then surveys with known noise and a known movement.

5 % points of chi-square on 1, 2 and 3 degrees of freedom: 3.841, 5.991, 7.815 (NIST/SEMATECH e-Handbook of Statistical Methods, table
1.3.6.7.4, three decimals). Everything else is worked by hand here.
"""

from __future__ import annotations

import math
import os
from collections.abc import Mapping, Sequence

import numpy as np
import pytest

from generator.survey import moved as module
from generator.survey.adjust import Adjusted, adjust
from generator.survey.moved import WAYS, chi_square_tail, free_ways, moved
from generator.survey.network import Network, Observation
from generator.survey.readings import network_of
from parts.sheet import Vec3
from tests.generator.survey.ladder import Planned, full, heights, ladder, plan_of, shape, taken

PAIRS = 500 if os.environ.get("LADDERFRAME_SAMPLES") == "long" else 40
FREE_X = full()  #: nothing is read from x = 0
FREE_PLAN = [*plan_of("ABCDE"), *heights("ABCDE")]  #: no string either
BOX: dict[str, Vec3] = {
    f"{x}{y}{z}": (3000.0 * x, 800.0 * y, 500.0 * z) for x in (0, 1) for y in (0, 1) for z in (0, 1)
}  # fmt: skip


def made(points: Mapping[str, Vec3], sigma_mm: float, free: Sequence[int] = (), lean: float = 0.0) -> Adjusted:
    """An adjustment whose coordinates are each known to `sigma_mm`, but for some ways of the whole, which are free.

    Args:
        free: which of `WAYS`.
        lean: 0: the free ways lean on all points alike; 1: on the first points much more than on the last ones. Which, is arbitrary.
    """
    keys = tuple(points)
    at = np.array([points[key] for key in keys])
    n = 3 * len(keys)
    rigid = module._rigid(at)[:, list(free)]
    weight = np.diag(np.repeat(1.0 + lean * np.arange(len(keys))[::-1] ** 2, 3))
    onto = np.eye(n)
    if free:
        onto = onto - rigid @ np.linalg.inv(rigid.T @ weight @ rigid) @ rigid.T @ weight
    loose = np.linalg.qr(rigid)[0] if free else np.zeros((n, 0))
    seen = tuple(Observation(name=f"z-{key}", kind="z", start=key, value_mm=points[key][2], sigma_mm=1.0) for key in keys)
    return Adjusted(
        network=Network(points=keys, observations=seen, rough=dict(points)), coordinates=dict(points),
        covariance=sigma_mm**2 * onto @ onto.T, free=loose, residuals_mm=np.zeros(len(keys)), redundancy=np.ones(len(keys)),
        normalised=np.zeros(len(keys)), dof=0, sum_squares=0.0, sigma0=None, chi2_low=None, chi2_high=None, consistent=None, iterations=1,
        converged=True,
    )  # fmt: skip


def shifted(points: Mapping[str, Vec3], moves: Mapping[str, Vec3]) -> dict[str, Vec3]:
    """Some of the points moved."""
    return {
        key: (x + moves.get(key, (0, 0, 0))[0], y + moves.get(key, (0, 0, 0))[1], z + moves.get(key, (0, 0, 0))[2])
        for key, (x, y, z) in points.items()
    }


@pytest.mark.parametrize(("freedom", "value"), [(1, 3.841), (2, 5.991), (3, 7.815)])
def test_the_tail_of_chi_square(freedom: int, value: float) -> None:
    """A three-decimal quantile is off by 0.0005, which the density (under 0.03 there) makes 0.00002 of the chance."""
    assert chi_square_tail(value, freedom) == pytest.approx(0.05, abs=2e-5)
    assert chi_square_tail(0.0, freedom) == 1.0


def test_nothing_known_is_no_movement() -> None:
    assert chi_square_tail(0.0, 0) == 1.0


def test_by_a_shared_datum_movements_are_differences() -> None:
    """Both coordinates known to 0.5 mm: the difference to 0.5 x sqrt(2), 95 % of it 1.96 times that, 1.386 mm. The chance of (0, 0, 4):
    4^2 / 0.5 = 32 on three degrees; 1 - 0.95^(1/8) = 0.00639 is what eight points are each held to."""
    told = moved(made(BOX, 0.5), made(shifted(BOX, {"111": (0.0, 0.0, 4.0)}), 0.5))
    own = told.points["111"]
    assert own.by == pytest.approx((0.0, 0.0, 4.0), abs=1e-9)
    assert own.within == pytest.approx((1.386,) * 3, abs=5e-4)
    assert own.chance == pytest.approx(math.erfc(4.0) + math.sqrt(64 / math.pi) * math.exp(-16.0), rel=1e-6)
    assert told.level == pytest.approx(0.00639, abs=5e-6)
    assert told.moved == ("111",)
    assert told.fitted == ()
    assert told.on == ()


@pytest.mark.parametrize("axis", [0, 1, 2])
@pytest.mark.parametrize("by", [-4.0, 4.0])
def test_signs(axis: int, by: float) -> None:
    """New less old, in vehicle axes, whatever has to be fitted."""
    move = [0.0, 0.0, 0.0]
    move[axis] = by
    new = shifted(BOX, {"101": (move[0], move[1], move[2])})
    for free in ((), (0,), (0, 1, 3), range(6)):
        told = moved(made(BOX, 0.2, free), made(new, 0.2, free))
        assert told.points["101"].by == pytest.approx(move, abs=1e-6)
        assert told.moved == ("101",)
        assert told.clear


def test_the_fit_leaves_out_what_moved() -> None:
    """With all points in it, a shift free along the vehicle would give an eighth of the movement to each of the others."""
    told = moved(made(BOX, 0.2, (0,)), made(shifted(BOX, {"000": (4.0, 0.0, 0.0)}), 0.2, (0,)))
    assert "000" not in told.on
    assert len(told.on) == 7
    assert told.points["111"].by == pytest.approx((0.0, 0.0, 0.0), abs=1e-9)
    assert told.fitted == ("along",)


def test_two_points_that_moved_are_both_left_out() -> None:
    new = shifted(BOX, {"000": (0.0, 3.0, 0.0), "111": (0.0, 0.0, -5.0)})
    told = moved(made(BOX, 0.2, range(6)), made(new, 0.2, range(6)))
    assert set(told.moved) == {"000", "111"}
    assert told.points["000"].by == pytest.approx((0.0, 3.0, 0.0), abs=1e-6)


def test_where_half_of_them_moved_nothing_says_which() -> None:
    """Free along the vehicle, four of eight points shifted by 6 mm: the others as well by -6 mm."""
    new = shifted(BOX, {key: (6.0, 0.0, 0.0) for key in BOX if key[0] == "1"})
    told = moved(made(BOX, 0.2, (0,)), made(new, 0.2, (0,)))
    assert not told.clear
    assert len(told.on) == 8


def turned(points: Mapping[str, Vec3], degrees: float, shift: Vec3) -> dict[str, Vec3]:
    """About the vehicle's own z axis, then shifted."""
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return {key: (c * x - s * y + shift[0], s * x + c * y + shift[1], z + shift[2]) for key, (x, y, z) in points.items()}


def test_a_whole_frame_that_lies_otherwise_keeps_its_shape() -> None:
    """Turned by 1 degree and shifted: no movement after a best fit, exactly; by the shared datum nearly all of them."""
    new = turned(BOX, 1.0, (30.0, -12.0, 4.0))
    best = moved(made(BOX, 0.2), made(new, 0.2), best_fit=True)
    assert best.whole
    assert best.moved == ()
    for movement in best.points.values():
        assert movement.by == pytest.approx((0.0, 0.0, 0.0), abs=1e-6)
    assert len(moved(made(BOX, 0.2), made(new, 0.2)).moved) == len(BOX)


@pytest.mark.parametrize(("move", "alike"), [({}, 1e-9), ({"011": (0.0, 2.0, 0.5)}, 2e-4)])
def test_what_the_free_adjustments_leaned_on_falls_out(move: dict[str, Vec3], alike: float) -> None:
    """Movements and what they are known to are the same whichever points the free ways were leaned on: an S-transformation.

    Exactly where nothing is turned; a movement of 2 mm turns the fit by 1e-4 before it is left out, which shows in the fourth digit.
    """
    new = shifted(BOX, move)
    free = range(6)
    one = moved(made(BOX, 0.3, free), made(new, 0.3, free))
    two = moved(made(BOX, 0.3, free, lean=2.0), made(new, 0.3, free, lean=5.0))
    for key in BOX:
        assert one.points[key].by == pytest.approx(two.points[key].by, abs=1e-6)
        assert one.points[key].within == pytest.approx(two.points[key].within, abs=alike)


def test_a_shift_known_to_one_of_them_only_is_fitted() -> None:
    told = moved(made(BOX, 0.2, (0,)), made(BOX, 0.2, (1,)))
    assert told.fitted == ("along", "sideways")


def test_the_uncertainty_grows_with_what_is_fitted() -> None:
    """One free shift on n points: the variance of each movement grows from 2 s^2 to 2 s^2 (1 - 1/n), n = 8; worked by hand."""
    told = moved(made(BOX, 0.4, (2,)), made(BOX, 0.4, (2,)))
    assert told.points["000"].within[2] == pytest.approx(1.96 * 0.4 * math.sqrt(2 * (1 - 1 / 8)), abs=1e-9)
    assert told.points["000"].within[0] == pytest.approx(1.96 * 0.4 * math.sqrt(2), abs=1e-9)


def test_two_points_in_common_are_too_few() -> None:
    few = {key: BOX[key] for key in ("000", "111")}
    assert moved(made(BOX, 0.2), made(few, 0.2)).points == {}


def test_what_is_held_in_both_cannot_move() -> None:
    """Its coordinates have no error, so no movement is read of it."""
    old, new = made(BOX, 0.2), made(BOX, 0.2)
    for adjusted in (old, new):
        adjusted.covariance[:3, :] = 0.0
        adjusted.covariance[:, :3] = 0.0
    told = moved(old, new)
    assert told.points["000"].chance == 1.0
    assert told.points["000"].within == (0.0, 0.0, 0.0)


def test_free_ways_by_their_names() -> None:
    assert free_ways(made(BOX, 0.2, (0, 3)), tuple(BOX)) == (WAYS[0], WAYS[3])
    assert free_ways(made(BOX, 0.2), tuple(BOX)) == ()
    assert free_ways(made(BOX, 0.2), ()) == WAYS


def surveys(plan: Sequence[Planned], move: Mapping[str, Vec3], pair: int) -> tuple[Adjusted, Adjusted]:
    """Two surveys with noise of their own."""
    old = adjust(network_of(ladder(taken(shape(), plan, seed=2 * pair)), "found"))
    new = adjust(network_of(ladder(taken(shape(move), plan, seed=2 * pair + 1)), "found"))
    return old, new


@pytest.mark.parametrize("plan", [FREE_X, FREE_PLAN], ids=["x free", "plan free"])
def test_noise_alone_moves_no_point(plan: list[Planned]) -> None:
    """At the most 1 in 20 comparisons may call out any point: of n such, no more than the binomial 99.9 % bound."""
    called = [0, 0]
    for i in range(PAIRS):
        old, new = surveys(plan, {}, i)
        for best_fit in (False, True):
            called[best_fit] += bool(moved(old, new, best_fit=best_fit).moved)
    assert max(called) <= most_of(PAIRS, 0.05)


def test_a_movement_of_4_mm_is_found() -> None:
    """4 mm is 5 to 7 of its standard deviations (tape 1.4 mm, level 1.0 mm, string 2.0 mm, 95 %): missed less than 1 time in 10, and the
    rest of the points are not accused for it."""
    found = others = 0
    for i in range(PAIRS):
        told = moved(*surveys(FREE_X, {"D-right": ((0.0, 0.0, 4.0), (0.0, -4.0, 0.0), (4.0, 0.0, 0.0))[i % 3]}, i)).moved
        found += "D-right" in told
        others += bool(set(told) - {"D-right"})
    assert found >= PAIRS - most_of(PAIRS, 0.1)
    assert others <= most_of(PAIRS, 0.05)


def most_of(n: int, chance: float) -> int:
    """99.9 % quantile of how many of n happen, each with this chance."""
    total, k = 0.0, -1
    while total < 0.999:
        k += 1
        total += math.comb(n, k) * chance**k * (1 - chance) ** (n - k)
    return k
