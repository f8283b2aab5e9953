"""The plan curve of a rail that turns by 8 deg. Worked by hand: the arithmetic stands beside each number."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from parts.frame.rail import Rail
from tests.parts.frame.makers import turned

HALF_MICRON = 5e-7  #: half the last printed digit of the numbers below, in mm
TURN = math.radians(8)
LEFT, RIGHT = Rail.of(turned(), "left"), Rail.of(turned(), "right")


def test_turn_is_a_tangent_arc() -> None:
    plan = Rail.of(turned(), "right").plan
    first, arc, last = plan.pieces()
    # tangent length 400 tan 4 = 27.970725; arc 400 x 0.139626 = 55.850536; the run after it 1000 / cos 8 = 1009.827573
    assert first.end_mm == pytest.approx(1500 - 27.970725, abs=HALF_MICRON)
    assert arc.length_mm == pytest.approx(55.850536, abs=HALF_MICRON)
    assert last.length_mm == pytest.approx(1009.827573 - 27.970725, abs=HALF_MICRON)
    assert arc.sign == -1  # the right rail turns inboard, to -Y
    assert arc.centre == pytest.approx((1472.029275, 30), abs=HALF_MICRON)
    # the station is the middle of its arc
    assert plan.station_s[1] == pytest.approx(1472.029275 + 55.850536 / 2, abs=HALF_MICRON * 2)


def test_normal_points_to_the_open_side() -> None:
    right, left = Rail.of(turned(), "right"), Rail.of(turned(), "left")
    assert right.normal(100) == pytest.approx((0, -1, 0))
    assert left.normal(100) == pytest.approx((0, 1, 0))
    # behind the turn the right rail runs at -8 deg: its normal is (-sin 8, -cos 8)
    assert right.normal(2000) == pytest.approx((-0.139173, -0.990268, 0), abs=5e-7)
    assert right.direction(2000) == pytest.approx((0.990268, -0.139173, 0), abs=5e-7)


def test_toes_are_8_mm_shorter_after_an_8_deg_turn() -> None:
    """Equal arc length would put a hole 8.4 mm wrong: 60 mm x 8 deg in radians = 8.377580."""
    plan = Rail.of(turned(), "right").plan
    toes = plan.offset(60)
    assert plan.length_mm - toes.length == pytest.approx(8.377580, abs=HALF_MICRON)
    # Along the normal the toe opposite s is 60 mm off, before and after the turn.
    for s in (700.0, 2200.0):
        (x, y), (u, v) = plan.point(s), plan.point(s, 60)
        assert math.hypot(u - x, v - y) == pytest.approx(60, abs=1e-9)
        assert plan.project(u, v) == pytest.approx((s, 60), abs=1e-9)


def test_toe_lines_meet_at_their_mitre() -> None:
    """The toes' straight lines meet 60 tan 4 = 4.195609 in front of the station, 60 further in."""
    plan = Rail.of(turned(), "right").plan
    assert plan.offset_course(60).vertices[1] == pytest.approx((1500 - 4.195609, 370), abs=HALF_MICRON)
    assert plan.offset_course(60).stretches[1].radius_mm == pytest.approx(340)


def test_turn_away_from_the_toes_widens_them() -> None:
    plan = Rail.of(turned(+8), "right").plan
    assert plan.offset_course(60).stretches[1].radius_mm == pytest.approx(460)
    assert plan.offset(60).length - plan.length_mm == pytest.approx(8.377580, abs=HALF_MICRON)


def test_mitred_turn_has_one_corner() -> None:
    plan = Rail.of(turned(radius=0), "right").plan
    assert plan.station_s == pytest.approx((0, 1500, 1500 + 1000 / math.cos(TURN)))
    assert plan.point(1500, 60) == pytest.approx((1500 - 4.195609, 370), abs=HALF_MICRON)
    # on the corner itself: square to the mean of both lines
    assert plan.normal(1500) == pytest.approx((-math.sin(TURN / 2), -math.cos(TURN / 2)))


@given(st.floats(0, 2500), st.floats(-200, 300))
def test_point_and_s_are_inverse(s: float, offset: float) -> None:
    for rail in (LEFT, RIGHT):
        assert rail.szo(rail.point(s, 512.5, offset)) == pytest.approx((s, 512.5, offset), abs=1e-7)


@given(st.floats(-100, 2600))
def test_x_and_s_are_inverse(x: float) -> None:
    plan = LEFT.plan
    assert plan.point(plan.s_at_x(x))[0] == pytest.approx(x, abs=1e-8)


@given(st.floats(0, 2500), st.floats(300, 700), st.floats(-50, 200))
def test_left_mirrors_right(s: float, z: float, offset: float) -> None:
    x, y, height = RIGHT.point(s, z, offset)
    assert LEFT.point(s, z, offset) == pytest.approx((x, -y, height), abs=1e-9)
    nx, ny, nz = RIGHT.normal(s)
    assert LEFT.normal(s) == pytest.approx((nx, -ny, nz), abs=1e-12)
