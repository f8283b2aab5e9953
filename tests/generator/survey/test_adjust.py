"""Adjusted by hand or printed elsewhere: what least squares has to give."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from generator.survey import shapes
from generator.survey.adjust import adjust
from generator.survey.network import Network
from generator.survey.tied import correlations
from tests.generator.survey.networks import every_way, network, off_by, points, reading

SIDES = (("A", "B"), ("B", "C"), ("C", "D"), ("D", "A"))
DIAGONALS = (("A", "C"), ("B", "D"))
CORNERS = {"A": (0.0, 0.0, 0.0), "B": (1000.0, 0.0, 0.0), "C": (1000.0, 1000.0, 0.0), "D": (0.0, 1000.0, 0.0)}


def square(diagonal: float) -> Network:
    """Four sides of 1000 and both diagonals, equal weights, all in one plane."""
    sides = [reading(f"{a}{b}", "distance", a, b, 1000.0) for a, b in SIDES]
    both = [reading(f"{a}{b}", "distance", a, b, diagonal) for a, b in DIAGONALS]
    return Network(points=tuple(CORNERS), observations=(*sides, *both), rough=CORNERS, held={k: (None, None, 0.0) for k in CORNERS})


def test_the_gnu_gama_levelling_run() -> None:
    """Printed in GNU Gama's own example: heights to 1e-6 m here, sum of squares 146.625 mm2, m0 5.4153 mm; 8 readings less 3 heights."""
    rises = (("1a", "4", -1.225), ("4", "3", -0.848), ("3", "2", 1.342), ("2", "1a", 0.720), ("1a", "2", -0.724), ("2", "3", -1.335),
             ("3", "4", 0.842), ("4", "1a", 1.231))  # fmt: skip
    names = ("1a", "2", "3", "4")
    own = Network(
        points=names, observations=tuple(reading(f"{a}-{b}", "rise", a, b, 1000 * m) for a, b, m in rises), held={"1a": (None, None, 1e6)},
        rough={k: (0.0, 0.0, 1e6) for k in names},
    )  # fmt: skip
    found = adjust(own)
    for key, metres in (("4", 998.775125), ("3", 997.93325), ("2", 999.274875)):
        assert found.coordinates[key][2] / 1000 == pytest.approx(metres, abs=1e-9)
    assert found.sum_squares == pytest.approx(146.625, abs=1e-6)
    assert found.sigma0 == pytest.approx(5.4153, abs=5e-5)
    assert found.dof == 5


def test_four_sides_and_both_diagonals() -> None:
    """By hand: the diagonals 4 mm too long give 2, the sides take up sqrt(2) each, and 1.001414 x 1000 x sqrt(2) is the diagonal."""
    found = adjust(square(1000 * math.sqrt(2) + 4))
    assert found.residuals_mm == pytest.approx([math.sqrt(2)] * 4 + [-2.0] * 2, abs=1e-6)
    at = {k: np.array(p) for k, p in found.coordinates.items()}
    assert np.linalg.norm(at["A"] - at["B"]) == pytest.approx(1001.414214, abs=1e-6)
    assert np.linalg.norm(at["A"] - at["C"]) == pytest.approx(1416.213562, abs=1e-6)


def test_the_braced_square_by_hand() -> None:
    """One condition, as 1 : 1 : 1 : 1 : -sqrt 2 : -sqrt 2, squares sum to 8: redundancies 1/8 and 1/4, side variance 7/8."""
    found = adjust(square(1000 * math.sqrt(2)))
    assert found.redundancy == pytest.approx([1 / 8] * 4 + [1 / 4] * 2, abs=1e-9)
    side = np.zeros(12)
    side[0], side[3] = -1.0, 1.0  # A to B, along x
    assert found.sigma(side) == pytest.approx(math.sqrt(7 / 8), abs=1e-9)
    assert np.abs(correlations(found, 0)) == pytest.approx([1.0] * 6, abs=1e-9)  # one condition: nothing tells them apart
    assert found.sigma(np.eye(12)[0]) is None  # where it lies, nobody read


def test_repeats_give_their_mean() -> None:
    values = (2000.0, 2003.0, 2001.0, 2004.0)
    own = Network(
        points=("A", "B"), held={"A": (0.0, 0.0, 0.0), "B": (None, 0.0, 0.0)}, rough={"B": (1900.0, 0.0, 0.0)},
        observations=tuple(reading(f"{i}", "distance", "A", "B", v, sigma=2.0) for i, v in enumerate(values)),
    )  # fmt: skip
    found = adjust(own)
    assert found.coordinates["B"][0] == pytest.approx(2002.0, abs=1e-9)
    assert found.covariance[3, 3] == pytest.approx(2.0**2 / 4, abs=1e-12)
    assert found.redundancy == pytest.approx([0.75] * 4, abs=1e-12)
    assert found.sum_squares == pytest.approx(10.0 / 4, abs=1e-9)  # 4 + 1 + 1 + 4 over 2^2


def test_a_line_in_two_parts_and_as_a_whole() -> None:
    """1000 + 1000 against 2003: each part takes a third of the 3 mm, the whole gives a third; variance of a part 2/3."""
    own = Network(
        points=("A", "B", "C"), held={"A": (0.0, 0.0, 0.0), "B": (None, 0.0, 0.0), "C": (None, 0.0, 0.0)},
        rough={"B": (990.0, 0.0, 0.0), "C": (2010.0, 0.0, 0.0)},
        observations=(reading("1", "distance", "A", "B", 1000.0), reading("2", "distance", "B", "C", 1000.0),
                      reading("3", "distance", "A", "C", 2003.0)),
    )  # fmt: skip
    found = adjust(own)
    assert found.residuals_mm == pytest.approx([1.0, 1.0, -1.0], abs=1e-8)
    assert found.covariance[3, 3] == pytest.approx(2 / 3, abs=1e-9)
    assert found.consistent is True
    assert (found.chi2_low, found.chi2_high) == pytest.approx((0.000982, 5.0239), abs=1e-4)  # chi-square tables, 1 degree of freedom


def test_redundancies_sum_to_the_degrees_of_freedom() -> None:
    random = np.random.default_rng(1)
    truth = points(8, random)
    found = adjust(network(truth, every_way(list(truth)), random))
    assert found.dof == 36 - (24 - 3)
    assert found.redundancy.sum() == pytest.approx(found.dof, abs=1e-8)


@pytest.mark.parametrize("step", [0.0, 3.0])
def test_tapes_in_a_plane_do_not_push_heights_about(step: float) -> None:
    """Nor where they lie nearly in one: only plan shape is told, and z moves by no more than 2 mm along slopes of 0.009."""
    rough = {k: (p[0] + 5.0, p[1] - 3.0, step * i) for i, (k, p) in enumerate(CORNERS.items())}
    own = replace(square(1000 * math.sqrt(2) + 4), rough=rough, held={})
    found = adjust(own)
    assert found.converged
    assert [p[2] for p in found.coordinates.values()] == pytest.approx([p[2] for p in rough.values()], abs=0.05)
    assert found.free.shape[1] == 7  # four heights, two shifts, one turn
    assert found.sigma(np.eye(12)[2]) is None


@pytest.mark.parametrize("factor", [25.4, 1 / 25.4, 10.0, 0.1])
def test_a_reading_in_another_unit_does_not_wreck_it(factor: float) -> None:
    random = np.random.default_rng(2)
    truth = points(8, random)
    own = network(truth, every_way(list(truth)), random)
    assert adjust(off_by(own, "r5", factor=factor)).converged


def test_nothing_read_and_one_reading() -> None:
    none = adjust(Network(points=("A",), observations=(), rough={"A": (1.0, 2.0, 3.0)}))
    assert (none.coordinates["A"], none.dof, none.sigma0, none.consistent, none.free.shape) == ((1.0, 2.0, 3.0), 0, None, None, (3, 3))
    one = adjust(Network(points=("A",), observations=(reading("h", "z", "A", None, 7.0, 0.5),), rough={"A": (1.0, 2.0, 3.0)}))
    assert one.coordinates["A"] == pytest.approx((1.0, 2.0, 7.0))
    assert one.sigma(np.array([0.0, 0.0, 1.0])) == pytest.approx(0.5)
    assert one.sigma(np.array([1.0, 0.0, 0.0])) is None
    assert np.isnan(one.normalised[0])


def test_rough_coordinates_may_be_missing() -> None:
    """Laid out from tapes and heights; as it lies and turned over are one shape to them, so lengths and heights are compared."""
    random = np.random.default_rng(3)
    truth = points(8, random)
    own = replace(network(truth, every_way(list(truth)), random, sigma=0.01), rough={})
    found = adjust(own)
    assert found.converged and found.sum_squares < 4 * found.dof
    for key, at in truth.items():
        assert found.coordinates[key][2] == pytest.approx(at[2], abs=0.2)


def test_a_mirror_image_is_told_by_what_was_read_across() -> None:
    random = np.random.default_rng(4)
    truth = points(8, random)
    plan = [*every_way(list(truth)), *(("y", k, None) for k in truth), ("x", "p0", None)]
    own = replace(network(truth, plan, random, sigma=0.01), rough={})
    found = adjust(own)
    assert found.sum_squares < 4 * found.dof
    assert all(found.coordinates[k][1] == pytest.approx(p[1], abs=0.2) for k, p in truth.items())


@pytest.mark.parametrize("shift", [21.0, -21.0])
def test_the_lozenge_read_by_tape_is_a_diamond_of_21(shift: float) -> None:
    """2100 x 720, 720 measured square to the rails, sheared by 21: diagonals 2239.875220 and 2200.145677, exact by Pythagoras. Its ends are
    sqrt(720^2 + 21^2) = 720.306185; with L0 known and L1 straight behind it, R0 and R1 come out 21 back and 720 across, and
    (d1^2 - d2^2) / (4 x 2100) = 21."""
    long, short = 2239.875220, 2200.145677
    one, two = (long, short) if shift > 0 else (short, long)
    rails, ends = [("L0", "L1", 2100.0), ("R0", "R1", 2100.0)], [("L0", "R0", 720.306185), ("L1", "R1", 720.306185)]
    tapes = [*rails, *ends, ("L0", "R1", one), ("R0", "L1", two)]
    rough = {"L0": (0.0, 0.0, 0.0), "L1": (2090.0, 0.0, 0.0), "R0": (0.0, 700.0, 0.0), "R1": (2110.0, 730.0, 0.0)}
    own = Network(
        points=tuple(rough), observations=tuple(reading(f"{a}{b}", "distance", a, b, value) for a, b, value in tapes),
        held={"L0": (0.0, 0.0, 0.0), "L1": (None, 0.0, 0.0), "R0": (None, None, 0.0), "R1": (None, None, 0.0)}, rough=rough,
    )  # fmt: skip
    found = adjust(own)
    assert found.converged and found.dof == 1
    assert found.residuals_mm == pytest.approx([0.0] * 6, abs=2e-6)
    at = found.coordinates
    assert at["R0"] == pytest.approx((shift, 720.0, 0.0), abs=1e-4)  # half the last digit, over 2100 / 720
    assert at["R1"] == pytest.approx((2100.0 + shift, 720.0, 0.0), abs=1e-4)
    assert shapes.diamond((at["L0"], at["R0"]), (at["L1"], at["R1"])) == pytest.approx(shift, abs=1e-4)
    assert shapes.square((at["L0"], at["R0"]), (at["L1"], at["R1"])) == pytest.approx(one - two, abs=2e-6)


def test_readings_that_disagree_widen_what_is_told_and_luck_does_not_narrow_it() -> None:
    """A height read twice, sigma 0.5, 2 mm apart: v = 1 each, sigma0 = sqrt(2 x 1 / 0.25) = 2.828, the mean 0.5 / sqrt 2 x 2.828 = 1.0.
    Twice the same: sigma0 = 0, and still 0.5 / sqrt 2 = 0.3536."""
    for apart, sigma in ((2.0, 1.0), (0.0, 0.353553)):
        both = tuple(reading(f"r{i}", "z", "P", None, 600.0 + i * apart, 0.5) for i in range(2))
        found = adjust(Network(points=("P",), observations=both, rough={"P": (0.0, 0.0, 590.0)}))
        assert found.coordinates["P"][2] == pytest.approx(600.0 + apart / 2, abs=1e-6)
        assert found.sigma(np.array([0.0, 0.0, 1.0])) == pytest.approx(sigma, abs=1e-6)
