"""The closed forms of the trade's words on hand-made coordinates, with their signs.

Lozenge and corner heights: a general-purpose library and closed forms that are not ours (values given to nine digits). All else: worked by
hand in the test, on figures that come out even.
"""

from __future__ import annotations

import math

import pytest

from generator.survey import shapes

FRONT = ((0.0, -360.0, 0.0), (0.0, 360.0, 0.0))
REAR = ((2100.0, -360.0, 0.0), (2100.0, 360.0, 0.0))


def lozenge(shift: float) -> tuple[shapes.Pair3, shapes.Pair3]:
    return ((0.0, -360.0, 0.0), (shift, 360.0, 0.0)), ((2100.0, -360.0, 0.0), (2100.0 + shift, 360.0, 0.0))


def test_the_lozenge_of_2100_by_720_sheared_by_21() -> None:
    """Diagonals 2239.875220 and 2200.145677, exact by Pythagoras: sqrt(2121^2 + 720^2), sqrt(2079^2 + 720^2); half the last digit."""
    one, two = shapes.diagonals(*lozenge(21.0))
    assert one == pytest.approx(2239.875220, abs=5e-7)
    assert two == pytest.approx(2200.145677, abs=5e-7)
    assert shapes.square(*lozenge(21.0)) == pytest.approx(2239.875220 - 2200.145677, abs=1e-6)


@pytest.mark.parametrize("shift", [21.0, -21.0, 3.0])
def test_diamond_gives_the_shift_back_with_its_sign(shift: float) -> None:
    """(2121^2 - 2079^2) / (4 x 2100) = 21: the right rail lies further back, so above 0."""
    assert shapes.diamond(*lozenge(shift)) == pytest.approx(shift, abs=1e-9)


def test_rails_of_3000_by_860_shifted_by_3() -> None:
    """Diagonals differ by 5.8 mm: sqrt(3003^2 + 860^2) - sqrt(2997^2 + 860^2) = 5.767; to half the last printed digit."""
    front, rear = ((0.0, -430.0, 0.0), (3.0, 430.0, 0.0)), ((3000.0, -430.0, 0.0), (3003.0, 430.0, 0.0))
    assert shapes.square(front, rear) == pytest.approx(5.8, abs=0.05)


def test_a_corner_up_20_changes_a_diagonal_by_less_than_a_tape_can_see() -> None:
    """sqrt(3000^2 + 860^2 + 20^2) - sqrt(3000^2 + 860^2) = 0.064; to half the last printed digit."""
    flat = shapes.length((0, -430, 0), (3000, 430, 0))
    assert shapes.length((0, -430, 0), (3000, 430, 20)) - flat == pytest.approx(0.064, abs=5e-4)


def heights(left: float, right: float, x: float = 0.0, width: float = 720.0) -> shapes.Pair3:
    """A pair whose straight distance is `width`."""
    flat = math.sqrt(width**2 - (right - left) ** 2)
    return (x, -flat / 2, left), (x, flat / 2, right)


def test_twist_of_the_corner_heights_0_3_and_minus_2_9() -> None:
    """(R1 - L1) - (R0 - L0) = 8 mm; asin(11/720) - asin(3/720) = 0.636653 deg, to half the last printed digit."""
    datum, pair = heights(0.0, 3.0), heights(-2.0, 9.0, x=2100.0)
    assert shapes.twist(datum, pair) == pytest.approx(8.0, abs=1e-9)
    assert shapes.twist_deg(datum, pair) == pytest.approx(0.636653, abs=5e-7)


def test_twist_has_the_sign_of_the_side_that_climbs() -> None:
    assert shapes.twist(heights(0, 0), heights(0, 14, x=100)) == pytest.approx(14)
    assert shapes.twist(heights(0, 0), heights(14, 0, x=100)) == pytest.approx(-14)


def test_a_frame_that_only_leans_is_not_twisted_whatever_its_width() -> None:
    """One roll at both: asin(8/800) = asin(6/600)."""
    datum, pair = heights(0.0, 8.0, width=800), heights(0.0, 6.0, x=900, width=600)
    assert shapes.twist(datum, pair) == pytest.approx(0, abs=1e-9)
    assert shapes.twist_deg(datum, pair) == pytest.approx(0, abs=1e-9)


def test_sag_is_off_the_line_through_the_ends_and_below_0_when_it_hangs() -> None:
    """Ends at z 500 and 530: a third of the way the line is at 510; the point at 506 hangs 4."""
    assert shapes.sag((0, 400, 500), (3000, 400, 530), (1000, 405, 506)) == pytest.approx(-4, abs=1e-9)


def test_side_bow_is_to_the_right_above_0_also_where_the_chord_runs_askew() -> None:
    """3-4-5: chord from (0, 0) to (400, 300); (-0.6, 0.8) is its right (y is right, x rearward)."""
    assert shapes.bow((0, 400, 0), (3000, 400, 0), (1500, 405, 0)) == pytest.approx(5)
    assert shapes.bow((0, 0, 0), (400, 300, 0), (200 - 0.6 * 7, 150 + 0.8 * 7, 0)) == pytest.approx(7)


def test_sway_is_the_middle_off_the_ends_middles_or_off_the_string() -> None:
    moved = ((1000.0, -356.0, 0.0), (1000.0, 366.0, 0.0))  # both to the right: middle at +5
    assert shapes.sway(FRONT, REAR, moved) == pytest.approx(5)
    assert shapes.sway_off_string(moved) == pytest.approx(5)


def test_what_lies_behind_is_measured_along_the_frames_own_line() -> None:
    """Right points 10 further back in front, 10 further forward behind; the whole turned by 30 deg in plan: the offsets stay."""
    turn = math.radians(30)

    def turned(x: float, y: float) -> tuple[float, float, float]:
        return x * math.cos(turn) - y * math.sin(turn), x * math.sin(turn) + y * math.cos(turn), 0.0

    front, rear = (turned(0, -360), turned(10, 360)), (turned(2100, -360), turned(2090, 360))
    assert shapes.behind(front, rear, front) == pytest.approx(10, abs=1e-9)
    assert shapes.behind(front, rear, rear) == pytest.approx(-10, abs=1e-9)
    assert shapes.behind_off_string(((0.0, -1.0, 0.0), (10.0, 1.0, 0.0))) == 10
