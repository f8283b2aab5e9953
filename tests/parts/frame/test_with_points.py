"""The same frame through other points, and faces that parts put on it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import pytest

from parts.errors import BadInput
from parts.frame.features import FrameHole
from parts.frame.measured import ControlPoint
from tests.parts.frame.makers import at, frame

POINTS = (ControlPoint(name="f", at=at("front")), ControlPoint(name="m", at=at("mid")), ControlPoint(name="r", at=at("rear"), side="right"))
MADE = frame(control_points=POINTS, holes=(FrameHole(name="pin", at=at("mid"), up_mm=75, diameter_mm=16),))


def moved(key: str, by: tuple[float, float, float]) -> tuple[float, float, float]:
    x, y, z = MADE.control_coordinates[key]
    return x + by[0], y + by[1], z + by[2]


def test_same_points_same_frame() -> None:
    same = MADE.with_points(MADE.control_coordinates)
    assert [r.side for r in same.rails] == ["left", "right"]
    for key, point in MADE.control_coordinates.items():
        assert same.control_coordinates[key] == pytest.approx(point)
    assert same.hole("pin", "left").point == pytest.approx(MADE.hole("pin", "left").point)


def test_each_rail_goes_its_own_way() -> None:
    other = MADE.with_points({"m-left": moved("m-left", (0, 6, -4))})
    assert other.rail("right").plan.point(1800) == pytest.approx((1800, 430))
    # the only point known on the left moves the whole rail
    assert other.rail("left").plan.point(0) == pytest.approx((0, -424))
    assert other.hole("pin", "left").point == pytest.approx((1800, -424, 521))


def test_stations_move_linearly_between_points_and_constantly_past_them() -> None:
    other = MADE.with_points({"f-right": moved("f-right", (0, 0, 0)), "r": moved("r", (0, 0, 10))})
    assert [p.z_mm for p in other.rails[1].stations] == pytest.approx([600, 605, 610])
    front_only = MADE.with_points({"f-right": moved("f-right", (2, 0, 0)), "m-right": moved("m-right", (4, 0, 0))})
    assert [p.x_mm for p in front_only.rails[1].stations] == pytest.approx([2, 1804, 3604])
    rear_only = MADE.with_points({"m-right": moved("m-right", (4, 0, 0)), "r": moved("r", (8, 0, 0))})
    assert [p.x_mm for p in rear_only.rails[1].stations] == pytest.approx([4, 1804, 3608])


def test_unknown_point_is_named() -> None:
    with pytest.raises(BadInput, match=r"points: m: the frame has no control point of that name; nearest: m-right|m-left"):
        MADE.with_points({"m": (0, 0, 0)})


@dataclass(frozen=True)
class NamedFace:
    name: str
    side: str
    mark: int = 0


def test_faces_are_found_by_name_and_side_and_replaced() -> None:
    first: Any = [NamedFace("plate", "left"), NamedFace("plate", "right")]
    again: Any = [NamedFace("plate", "left", 1)]
    whole = MADE.with_faces(first).with_faces(again)
    assert (len(MADE.faces), len(whole.faces)) == (0, 2)
    found: Any = whole.face("plate", "left")
    assert found.mark == 1
    assert whole.rail("left") is MADE.rail("left")  # worked out once
    with pytest.raises(BadInput, match="no part before this one has a face on the right side of that name; nearest: plate"):
        whole.face("plat", "right")
