"""Each fault of what a frame carries provoked once: the thing, the field, and what is said about it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from parts.frame.features import Bracket, Condition, KeepVisible
from parts.frame.measured import ControlPoint, Reading
from parts.frame.space import KeepOut, SpacePoint
from parts.spec import Position
from tests.parts.frame.makers import (
    CHANNEL,
    at,
    check_fault,
    cross,
    cross_section,
    drawn,
    faults_of,
    frame,
    hole,
    kicked,
    mount,
    section,
    station,
)


def points(*xyz: tuple[float, float, float]) -> tuple[SpacePoint, ...]:
    return tuple(SpacePoint(x_mm=x, y_mm=y, z_mm=z) for x, y, z in xyz)


def straight(*rest: Any, **fields: Any) -> Any:
    return drawn(station("front", 0), *rest, station("rear", 3600), **fields)


EACH: list[tuple[str, Callable[[], Any], str, str, str]] = [  # rails
    ("no rail", lambda: frame(drawn(station("a", 0, y=-9), station("b", 900, y=-9), side="left")), "", "rail", "two rails"),
    # In by 375 over 900: 60 mm of flange measure 60 sqrt(1 + (375 / 900)^2) = 65.0 across the vehicle, 10.0 past the centreline.
    ("toes cross", lambda: frame(drawn(station("a", 0), station("b", 900, y=55))), "rail both station b", "y", "toes reach 20.0 mm past"),
    # holes
    ("no place", lambda: hole(at=None), "", "at", "needs a place"),
    ("two places", lambda: hole(x_mm=900.0), "", "at", "not both"),
    ("no up", lambda: hole(up_mm=None), "", "up", "is needed on the web"),
    ("in on the web", lambda: hole(in_mm=20.0), "", "in", "given by up, not by in"),
    ("no in", lambda: hole(face="upper flange", up_mm=None), "", "in", "is needed on the upper flange"),
    ("zero diameter", lambda: hole(diameter_mm=0), "", "diameter", "2 to 150 mm"),
    ("head on an open hole", lambda: hole(head_diameter_mm=30.0), "", "head_diameter", "an open hole has no head"),
    ("head smaller than its hole", lambda: hole(filled="rivet", head_diameter_mm=16.0), "", "head_diameter", "more than 16 mm"),
    ("unknown name", lambda: frame(holes=(hole(at=at("mdi")),)), "hole pin", "at", "rail left has no place of that name"),
    ("past the end", lambda: frame(holes=(hole(at=at("rear", 40)),)), "hole pin", "at", "40.0 mm past its rear end"),
    ("past the end by x", lambda: frame(holes=(hole(at=None, x_mm=-40.0),)), "hole pin", "x", "40.0 mm in front"),
    ("half over the end", lambda: frame(holes=(hole(at=at("rear", -5)),)), "hole pin", "at", "reaches 3.0 mm past the end"),
    ("off the web", lambda: frame(holes=(hole(up_mm=160.0),)), "hole pin", "up", "150.0 mm across"),
    ("half on the flange", lambda: frame(holes=(hole(up_mm=140.0),)), "hole pin", "up", "free from 4.0 to 146.0 mm"),
    ("off the flange", lambda: frame(holes=(hole(face="upper flange", up_mm=None, in_mm=61.0),)), "hole pin", "in", "60.0 mm across"),
    (
        "half off the toe",
        lambda: frame(holes=(hole(face="lower flange", up_mm=None, in_mm=55.0),)),
        "hole pin",
        "in",
        "free from 4.0 to 60.0",
    ),
    # names
    ("ring", lambda: frame(holes=(hole(name="a", at=at("b")), hole(name="b", at=at("a")))), "hole a", "at", "a -> b -> a"),
    ("hole named as a station", lambda: frame(holes=(hole(name="front"),)), "hole front", "name", "a station has this name"),
    (
        "one name for two kinds",
        lambda: frame(holes=(hole(),), body_mounts=(mount(name="pin"),)),
        "body_mount pin",
        "name",
        "a hole has this name",
    ),
    ("pair and single", lambda: frame(holes=(hole(), hole(side="left"))), "hole pin", "name", "another hole of that side"),
    (
        "point named as half a pair",
        lambda: frame(control_points=(ControlPoint(name="p", at=at("mid")), ControlPoint(name="p-left", at=at("mid"), side="left"))),
        "control_point p-left",
        "name",
        "a pair of control points",
    ),
    # crossmembers
    ("tube with a width", lambda: cross_section(kind="tube", width_mm=60), "", "width", "as wide as it is deep"),
    ("channel without a width", lambda: cross_section(width_mm=None), "", "width", "is needed"),
    ("hat crossmember without lips", lambda: cross_section(kind="hat"), "", "lip", "a hat has lips"),
    ("crossmember of solid steel", lambda: cross_section(thickness_mm=16, width_mm=40), "", "thickness", "at most 16 mm"),
    ("crossmember nowhere", lambda: cross(at=None), "", "at", "needs a place"),
    (
        "deeper than the rail",
        lambda: frame(crossmembers=(cross(section=cross_section(depth_mm=145), drop_mm=2),)),
        "crossmember cm",
        "section.depth",
        "deeper than the 142.0 mm between the flanges",
    ),
    ("through the flange", lambda: frame(crossmembers=(cross(drop_mm=2),)), "crossmember cm", "drop", "does not lie between the flanges"),
    (
        "below the rail",
        lambda: frame(crossmembers=(cross(drop_mm=60, joint="webs and flanges"),)),
        "crossmember cm",
        "drop",
        "within the depth",
    ),
    # the rest
    (
        "bracket off the web",
        lambda: frame(brackets=(Bracket(name="b", at=at("mid"), up_mm=170, length_mm=60, height_mm=60, out_mm=40),)),
        "bracket b",
        "up",
        "lies off the web",
    ),
    (
        "number off the flange",
        lambda: frame(
            keep_visible=(KeepVisible(name="n", what="number", at=at("mid"), face="upper flange", in_mm=70, length_mm=60, height_mm=10),)
        ),
        "keep_visible n",
        "in",
        "lies off the upper flange",
    ),
    ("mount's hole wider than its pad", lambda: mount(hole_mm=80), "", "hole", "less than 80 mm"),
    ("thin without a thickness", lambda: Condition(name="c", kind="thin", at=at("mid")), "", "least_thickness", "is needed"),
    ("box of one corner", lambda: KeepOut(name="k", shape="box", points=points((0, 0, 0))), "", "point", "needs 2 points"),
    ("flat box", lambda: KeepOut(name="k", shape="box", points=points((0, 0, 0), (9, 9, 0))), "", "point", "the same z"),
    (
        "pipe without a diameter",
        lambda: KeepOut(name="k", shape="path", points=points((0, 0, 0), (9, 0, 0))),
        "",
        "diameter",
        "needs a diameter",
    ),
    (
        "pipe that stands still",
        lambda: KeepOut(name="k", shape="path", diameter_mm=6, points=points((0, 0, 0), (0, 0, 0))),
        "",
        "point",
        "the same",
    ),
    ("step without a file", lambda: KeepOut(name="k", shape="step"), "", "file", "is needed"),
    (
        "box with a file",
        lambda: KeepOut(name="k", shape="box", file="a.step", points=points((0, 0, 0), (9, 9, 9))),
        "",
        "file",
        "reads no file",
    ),
    (
        "box with a diameter",
        lambda: KeepOut(name="k", shape="box", diameter_mm=5, points=points((0, 0, 0), (9, 9, 9))),
        "",
        "diameter",
        "has no",
    ),
    ("distance from one point", lambda: Reading(name="r", start="a", value_mm=5), "", "to", "from one point to another"),
    ("distance to itself", lambda: Reading(name="r", start="a", end="a", value_mm=5), "", "to", "between two points"),
    ("distance below 0", lambda: Reading(name="r", start="a", end="b", value_mm=-5), "", "value", "more than 0"),
    (
        "reading of no point",
        lambda: frame(
            control_points=(ControlPoint(name="p", at=at("mid")),),
            readings=(Reading(name="r", kind="height", start="p-lef", value_mm=5),),
        ),
        "reading r",
        "from",
        "no control point of that name",
    ),
]


@pytest.mark.parametrize(("make", "where", "field", "limit"), [case[1:] for case in EACH], ids=[case[0] for case in EACH])
def test_each_fault_is_named(make: Callable[[], Any], where: str, field: str, limit: str) -> None:
    check_fault(make, where, field, limit)


def test_all_faults_of_a_frame_at_once() -> None:
    found = faults_of(
        lambda: frame(
            holes=(hole(name="a", up_mm=160.0), hole(name="b", at=at("mdi")), hole(name="c", at=at("rear", -5))),
            crossmembers=(cross(drop_mm=2),),
            readings=(Reading(name="r", kind="height", start="p", value_mm=5),),
        )
    )
    assert {(f.where, f.field) for f in found} == {
        ("hole a", "up"), ("hole b", "at"), ("hole c", "at"), ("crossmember cm", "drop"), ("reading r", "from"),
    }  # fmt: skip
    assert all(f.limit for f in found)


def test_a_pair_is_blamed_once() -> None:
    (fault,) = faults_of(lambda: frame(holes=(hole(up_mm=160.0),)))
    assert "rail left" in fault.limit
    assert fault.limit.endswith("(the same on rail right)")
    left = drawn(*(station(n, x, -430, depth=200) for n, x in (("front", 0), ("mid", 900), ("rear", 2000))), side="left")
    right = drawn(station("front", 0), station("mid", 900), station("rear", 2000), side="right")
    (only,) = faults_of(lambda: frame(left, right, holes=(hole(up_mm=160.0),)))
    assert "the web of rail right, which is 150.0 mm" in only.limit


def test_what_hangs_on_a_fault_is_not_blamed_again() -> None:
    found = faults_of(lambda: frame(holes=(hole(name="a", at=at("nowhere")), hole(name="b", at=at("a", 10)))))
    assert {f.where for f in found} == {"hole a"}


def test_a_long_chain_of_names_is_placed_at_once() -> None:
    """Places are resolved in one pass, not by going over the file again and again: 4000 holes, the last one first."""
    holes = tuple(hole(name=f"h{i}", at=at(f"h{i - 1}", 0.5) if i else at("front", 50), diameter_mm=5) for i in reversed(range(4000)))
    assert frame(holes=holes).rail("left").places["h3999"] == pytest.approx(50 + 3999 * 0.5)


def test_crossmember_outside_the_toes_may_be_as_deep_as_the_rail() -> None:
    outboard = drawn(station("front", 0), station("mid", 900), station("rear", 2000), section=section(open="outboard"))
    deep = cross(section=cross_section(depth_mm=150), drop_mm=0)
    placed = frame(outboard, crossmembers=(deep,)).crossmember("cm")
    assert (placed.y_left_mm, placed.y_right_mm) == pytest.approx((-430, 430))  # the outside of the webs looks inboard


def test_position_by_x_in_a_table_is_the_same_as_x() -> None:
    one = frame(holes=(hole(at=Position(x_mm=900.0)),)).hole("pin", "left")
    two = frame(holes=(hole(at=None, x_mm=900.0),)).hole("pin", "left")
    assert one.point == two.point


def test_kicked_and_tapering_rails_are_accepted() -> None:
    assert frame(kicked(rear_depth=100.0)).rail("left").depth_at(2000) == pytest.approx(125, abs=0.5)
    assert CHANNEL.outside_radius_mm == 8
