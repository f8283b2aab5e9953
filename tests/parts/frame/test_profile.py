"""The unrolled web of a rail that kicks and tapers. Worked by hand: the arithmetic stands beside each number."""

from __future__ import annotations

import math
from functools import cache

import pytest
from hypothesis import given
from hypothesis import strategies as st

from parts.frame.profile import Profile
from parts.frame.rail import Rail
from parts.spec import Position
from tests.parts.frame.makers import drawn, kicked, station

HALF_MICRON = 5e-7  #: half the last printed digit of the numbers below, in mm
COS, SIN, TAN = math.cos(math.radians(18)), math.sin(math.radians(18)), math.tan(math.radians(18))


@cache
def profile_of(**shape: float) -> Profile:
    return Rail.of(kicked(**shape), "right").profile


def test_kick_up_of_18_deg() -> None:
    profile = profile_of()
    # upper: tangent 300 tan 9 = 47.515332, arc 300 x 0.314159 = 94.247780
    first, arc, _ = profile.upper.stretches
    assert first.end_mm == pytest.approx(1500 - 47.515332, abs=HALF_MICRON)
    assert arc.length_mm == pytest.approx(94.247780, abs=HALF_MICRON)
    # lower: its lines meet 150 tan 9 = 23.757666 behind the station, 150 under it; radius 300 + 150 about the same centre
    assert profile.lower.vertices[1] == pytest.approx((1523.757666, 450), abs=HALF_MICRON)
    below = profile.lower.stretches[1]
    assert below.radius_mm == 450
    assert below.centre == pytest.approx(arc.centre, abs=1e-9)
    assert profile.kick_rad(1) == pytest.approx(math.radians(18), abs=1e-12)


def test_depth_is_square_and_the_same_all_along() -> None:
    profile = profile_of()
    for s in (0, 800, 1460, 1500, 1540, 1600, 2400):
        assert profile.depth_at(s) == pytest.approx(150, abs=1e-9)
    # straight down a slope of 18 deg it measures 150 / cos 18 = 157.719
    assert profile.upper_z(2000) - profile.lower_z(2000) == pytest.approx(150 / COS, abs=1e-9)


def test_kick_down_rounds_the_lower_corner_by_radius_less_depth() -> None:
    profile = profile_of(angle_deg=-18.0, radius=300.0)
    assert profile.lower_radii[1] == pytest.approx(150)
    assert profile.lower_vertices[1] == pytest.approx((1500 - 23.757666, 450), abs=HALF_MICRON)


@pytest.mark.parametrize("radius", [0.0, 100.0, 150.0])
def test_kick_down_tighter_than_the_depth_is_a_mitre_below(radius: float) -> None:
    profile = profile_of(angle_deg=-18.0, radius=radius)
    assert profile.lower_radii[1] == 0.0
    assert all(s.is_line for s in profile.lower.stretches)


def test_kick_without_a_radius_is_a_mitre_above_and_below() -> None:
    profile = profile_of(radius=0.0)
    assert all(s.is_line for s in (*profile.upper.stretches, *profile.lower.stretches))
    # on the mitre the depth runs along it: 150 / cos 9 = 151.869769
    assert profile.depth_at(1500) == pytest.approx(151.869769, abs=HALF_MICRON)
    assert profile.slope_rad(1500) == pytest.approx(math.radians(9))


def test_taper_is_linear_and_square_to_the_rail() -> None:
    profile = profile_of(radius=0.0, rear_depth=100.0)
    # depths laid off square at both ends of the run, 18 deg up over 1000 mm:
    # (1500 + 150 sin 18, 600 - 150 cos 18) and (2500 + 100 sin 18, 600 + 1000 tan 18 - 100 cos 18)
    a = (1500 + 150 * SIN, 600 - 150 * COS)
    b = (2500 + 100 * SIN, 600 + 1000 * TAN - 100 * COS)
    slope = (b[1] - a[1]) / (b[0] - a[0])
    assert profile.lower_z(2000) == pytest.approx(a[1] + slope * (2000 - a[0]), abs=1e-9)
    # half way along the upper corner the depth is half way between
    assert profile.depth_at(2000) == pytest.approx(125, abs=1e-9)
    assert profile.depth_at(1750) == pytest.approx(137.5, abs=1e-9)


def test_taper_of_a_level_rail() -> None:
    rail = Rail.of(drawn(station("front", 0, depth=150), station("rear", 1000, depth=100)), "right")
    assert rail.profile.lower_z(400) == pytest.approx(600 - 130, abs=1e-9)
    assert rail.web_flat(400) == pytest.approx((rail.profile.lower_z(400, 8), 592), abs=1e-9)
    # 8 mm square to a lower face that rises 50 in 1000 is 8 sqrt(1 + 0.05^2) = 8.009994 straight up
    assert rail.web_flat(400)[0] == pytest.approx(470 + 8.009994, abs=HALF_MICRON)
    assert rail.opening_between_flanges(400) == pytest.approx((470 + 4.004997, 596), abs=HALF_MICRON)


def test_kick_lengthens_the_tape_and_not_s() -> None:
    profile = profile_of()
    # 1500 level and 1000 / cos 18 = 1051.462224 up the slope, less 2 x 47.515332 - 94.247780 = 0.782885 that the arc cuts off
    assert profile.length_mm == 2500
    assert profile.tape_length_mm == pytest.approx(2551.462224 - 0.782885, abs=HALF_MICRON * 3)
    assert profile.tape(1000) == 1000


def test_ends_are_vertical() -> None:
    profile = profile_of()
    for course in (profile.upper_course(4), profile.lower_course(), profile.lower_course(4)):
        assert (course.vertices[0][0], course.vertices[-1][0]) == (0, 2500)
    assert profile.lower_z(2500) == pytest.approx(600 + 1000 * TAN - 150 / COS, abs=1e-9)
    assert profile.lower_z(2500, 4) == pytest.approx(600 + 1000 * TAN - 146 / COS, abs=1e-9)


def test_up_is_square_to_the_rail_from_its_lower_face() -> None:
    rail = Rail.of(kicked(), "right")
    # 300 mm by tape in front of the rear end; the rear end's upper corner is at (2500, 600 + 1000 tan 18)
    s, z = rail.sz_of(Position(at="rear", offset_mm=-300), up_mm=40)
    upper = (2500 - 300 * COS, 600 + 1000 * TAN - 300 * SIN)
    assert (s, z) == pytest.approx((upper[0] + 110 * SIN, upper[1] - 110 * COS), abs=1e-9)
    assert rail.profile.tape_and_up(s, z) == pytest.approx((rail.tape_length_mm - 300, 40), abs=1e-9)


@given(st.floats(0, 2500))
def test_tape_and_s_are_inverse(s: float) -> None:
    profile = profile_of()
    assert profile.s_of_tape(profile.tape(s)) == pytest.approx(s, abs=1e-8)


@given(st.floats(0, 1), st.floats(0, 150), st.sampled_from([18.0, -18.0, 5.0]))
def test_web_point_and_tape_are_inverse(part: float, up: float, angle: float) -> None:
    profile = profile_of(angle_deg=angle, radius=320.0)
    tape = part * profile.tape_length_mm
    assert profile.tape_and_up(*profile.web_point(tape, up)) == pytest.approx((tape, up), abs=1e-7)


@given(st.floats(100, 2300), st.floats(0, 150))
def test_tape_above_finds_the_foot_of_a_point_with_this_s(s: float, up: float) -> None:
    profile = profile_of(rear_depth=100.0)
    assert profile.web_point(profile.tape_above(s, up), up)[0] == pytest.approx(s, abs=1e-7)


def test_turn_and_kick_at_one_station_share_its_s() -> None:
    """The river wagon's shape in mm: the web unrolls, so the kick stands at the middle of the turn's arc."""
    run = 500 / math.cos(math.radians(8))
    rail = Rail.of(
        drawn(
            station("front", 0),
            station("mid", 1500, turn=350, kick=400),
            station("top", 2000, y=430 - 500 * math.tan(math.radians(8)), z=600 + run * TAN, depth=100, turn=350, kick=400),
            station("rear", 3000, y=430 - 500 * math.tan(math.radians(8)), z=600 + run * TAN, depth=100),
        ),
        "right",
    )
    # each 8 deg arc is 2 x 350 tan 4 - 350 x 0.139626 = 0.079549 shorter than its tangents, half of it on either side
    assert rail.plan.station_s[1] == pytest.approx(1500 - 0.0397745, abs=1e-6)
    assert rail.plan.station_s[2] == pytest.approx(1500 - 0.0397745 + run - 0.079549, abs=1e-6)
    assert [p.s_mm for p in rail.profile.stations] == list(rail.plan.station_s)
    assert math.degrees(rail.profile.kick_rad(1)) == pytest.approx(18.0, abs=0.005)
    assert math.degrees(rail.plan.turn_rad(1)) == pytest.approx(-8.0, abs=1e-9)
