"""Named places: what each name means along the rail, and what is said when it means nothing."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from parts.errors import BadInput
from parts.frame.crossmember import Crossmember, CrossmemberSection
from parts.frame.features import BodyMount, FrameHole
from parts.frame.measured import ControlPoint
from parts.spec import Position
from tests.parts.frame.makers import at, drawn, frame, kicked, station, turned

COS, SIN, TAN = math.cos(math.radians(18)), math.sin(math.radians(18)), math.tan(math.radians(18))
KICKED = frame(kicked(angle_deg=18)).rail("right")
CHANNEL_100 = CrossmemberSection(kind="channel", depth_mm=100, width_mm=50, thickness_mm=4, inside_radius_mm=4)


def hole(name: str, place: Position | None = None, x: float | None = None, **fields: Any) -> FrameHole:
    fields = {"up_mm": 75.0, **fields} if fields.get("face", "web") == "web" else fields
    return FrameHole(name=name, at=place, x_mm=x, diameter_mm=12, **fields)


def test_offset_runs_rearward_along_the_tape() -> None:
    straight = frame(holes=(hole("a", at("mid", 120)), hole("b", at("mid", -120))))
    assert straight.hole("a", "right").point == pytest.approx((1920, 430, 525))
    assert straight.hole("b", "left").point == pytest.approx((1680, -430, 525))


def test_tape_is_longer_than_x_on_a_kick() -> None:
    """200 mm by tape in front of the rear end is 200 cos 18 = 190.211303 along x; 75 up is 75 sin 18 = 23.176275 further back."""
    placed = frame(kicked(), holes=(hole("a", at("rear", -200)),)).hole("a", "right")
    assert placed.point[0] == pytest.approx(2500 - 190.211303 + 23.176275, abs=2 * 5e-7)
    assert placed.point[2] == pytest.approx(600 + 1000 * TAN - 200 * SIN - 75 * COS, abs=1e-9)


def test_x_of_a_hole_is_that_of_the_hole_itself() -> None:
    steep = frame(kicked(), holes=(hole("web", x=2000), hole("low", x=2000, face="lower flange", in_mm=30.0)))
    assert steep.hole("web", "right").point[0] == pytest.approx(2000, abs=1e-7)
    assert steep.hole("low", "right").point[0] == pytest.approx(2000, abs=1e-7)
    # the lower flange's hole: 150 square below the corner at tape L, so L's own x is 150 sin 18 less
    assert steep.hole("low", "right").tape_mm == pytest.approx(steep.rail("right").profile.tape(2000 - 150 * SIN), abs=1e-7)
    bent = frame(turned(), holes=(hole("top", x=2000, face="upper flange", in_mm=30.0),))
    assert bent.hole("top", "left").point[0] == pytest.approx(2000, abs=1e-7)
    assert abs(bent.rail("left").szo(bent.hole("top", "left").point)[2]) == pytest.approx(30, abs=1e-9)


def test_a_hole_hangs_on_another_in_any_order() -> None:
    made = frame(holes=(hole("c", at("b", 10)), hole("b", at("a", 10)), hole("a", at("mid", 10))))
    assert [made.hole(n, "left").point[0] for n in "abc"] == pytest.approx([1810, 1820, 1830])


def test_a_hole_s_place_is_its_foot_square_to_the_rail() -> None:
    """A hole placed at another's name on a slope lies on the same line square to the rail, not straight under it."""
    made = frame(kicked(), holes=(hole("a", at("rear", -300), up_mm=110.0), hole("b", at("a"), up_mm=40.0)))
    (ax, _, az), (bx, _, bz) = made.hole("a", "right").point, made.hole("b", "right").point
    assert (bx - ax, bz - az) == pytest.approx((70 * SIN, -70 * COS), abs=1e-9)


def test_mount_hole_and_control_point_are_places() -> None:
    mount = BodyMount(name="cab", at=at("mid", 50), out_mm=55, above_mm=3, hole_mm=13, length_mm=80, width_mm=110, thickness_mm=6)
    points = (ControlPoint(name="cp", at=at("cab", 5)), ControlPoint(name="corner", at=at("a")), ControlPoint(name="off", at=at("a", 9)))
    made = frame(body_mounts=(mount,), control_points=points, holes=(hole("a", at("mid")),))
    assert made.control_coordinates["cp-left"] == pytest.approx((1855, -430, 600))
    assert made.control_coordinates["corner-right"] == pytest.approx((1800, 430, 525))  # the hole's own centre
    assert made.control_coordinates["off-right"] == pytest.approx((1809, 430, 600))
    assert made.placed_mounts[0].point == pytest.approx((1850, -485, 603))
    assert made.placed_mounts[1].point == pytest.approx((1850, 485, 603))


def test_crossmember_stands_midway_where_the_rails_disagree() -> None:
    left = drawn(station("front", 0, -430), station("mid", 1800, -430), station("rear", 3600, -430), side="left")
    right = drawn(station("front", 6, 433), station("mid", 1806, 433), station("rear", 3606, 433), side="right")
    cross = Crossmember(name="cm", at=at("mid", 100), section=CHANNEL_100, drop_mm=25)
    made = frame(left, right, crossmembers=(cross,), holes=(hole("a", at("cm")),))
    placed = made.crossmember("cm")
    assert placed.box == pytest.approx((1878, 1928, 475, 575))
    assert (placed.y_left_mm, placed.y_right_mm) == pytest.approx((-426, 429))  # at the inside of 4 mm webs
    assert placed.s_range("right") == pytest.approx((1872, 1922))
    # its place on either rail is where it meets it
    assert made.hole("a", "left").point[0] == pytest.approx(1903)
    assert made.hole("a", "right").point[0] == pytest.approx(1903)


def test_crossmembers_at_takes_those_that_touch() -> None:
    crosses = tuple(Crossmember(name=f"cm{x}", x_mm=x, section=CHANNEL_100, drop_mm=25) for x in (2000.0, 400.0, 1200.0))
    made = frame(crossmembers=crosses)
    assert [c.name for c in made.crossmembers_at("left", 425, 1175)] == ["cm400.0", "cm1200.0"]
    assert [c.name for c in made.crossmembers_at("left", 425.1, 1174.9)] == []


def test_holes_on_counts_heads_in() -> None:
    made = frame(holes=(hole("rivet", x=1000, filled="rivet", head_diameter_mm=20), hole("open", x=2000)))
    assert [h.name for h in made.holes_on("right", 1009, 1990)] == ["rivet"]
    assert [h.name for h in made.holes_on("right", 1011, 1993)] == []
    assert [h.name for h in made.holes_on("right", 1011, 1994)] == ["open"]
    assert made.holes_on("right", face="upper flange") == ()


def test_flange_hole_points_out_of_the_steel() -> None:
    made = frame(
        kicked(), holes=(hole("up", at("rear", -200), face="upper flange", in_mm=30.0), hole("low", x=500, face="lower flange", in_mm=20.0))
    )
    assert made.hole("up", "right").outward == pytest.approx((-SIN, 0, COS))
    assert made.hole("up", "right").point[1] == pytest.approx(400)
    assert made.hole("low", "left").outward == pytest.approx((0, 0, -1))
    assert made.hole("low", "left").point == pytest.approx((500, -410, 450))


def test_unknown_place_offers_the_nearest() -> None:
    made = frame(holes=(hole("pin-front", at("mid")), hole("pin-rear", at("mid", 500), side="left")))
    with pytest.raises(BadInput) as caught:
        made.rail("left").s_at(at("pin-fornt"))
    (fault,) = caught.value.faults
    assert (fault.field, fault.value) == ("at", "pin-fornt")
    assert fault.remedy.startswith("nearest: pin-front")
    assert "rail left" in fault.limit
    with pytest.raises(BadInput, match="rail right has no hole of that name; nearest: pin-front"):
        made.hole("pin-rear", "right")
    with pytest.raises(BadInput, match="known: front, mid"):
        made.rail("right").s_at(at("qqq"))
    with pytest.raises(BadInput, match="rail left has no station of that name"):
        made.rail("left").station_s("pin-front")


def test_place_past_the_end_says_how_far_and_where_the_rail_is() -> None:
    rail = frame().rail("left")
    with pytest.raises(BadInput, match=r"250\.0 mm past its rear end"):
        rail.s_at(at("rear", 250))
    with pytest.raises(BadInput, match=r"60\.0 mm in front of its front end"):
        rail.s_at(Position(x_mm=-60))
    assert rail.s_at(at("rear")) == pytest.approx(3600)


@given(st.floats(-1400, 1000), st.floats(8, 142))
def test_named_point_and_tape_round_trip(offset: float, up: float) -> None:
    rail = KICKED
    s, z = rail.sz_of(at("kick", offset), up)
    tape, back = rail.profile.tape_and_up(s, z)
    assert (tape - rail.places["kick"], back) == pytest.approx((offset, up), abs=1e-7)
