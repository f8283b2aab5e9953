"""The three demo frames: read without a fault, and share the names that a job of named places needs."""

from __future__ import annotations

import math

import pytest

from tests.parts.frame.makers import DEMO_NAMES, demo_frame

MM = 25.4
STATIONS = {"front", "front-axle", "mid", "rear-axle", "rear"}
HOLES = {"pin-front", "pin-rear", *(f"hanger-front-{i}" for i in range(1, 5))}
CROSSMEMBERS = {"cm-front", "cm-gearbox", "cm-mid", "cm-rear"}
MOUNTS = {"cab-front", "cab-rear", "bed-front", "bed-rear"}


@pytest.mark.parametrize("name", DEMO_NAMES)
def test_names_that_the_demo_job_uses(name: str) -> None:
    frame = demo_frame(name)
    for side in frame.sides:
        assert set(frame.rail(side).station_names) >= STATIONS
        assert {h.name for h in frame.holes_on(side)} >= HOLES
        assert frame.hole("pin-front", side).filled == "open"
        assert all(frame.hole(f"hanger-front-{i}", side).filled == "rivet" for i in range(1, 5))
        assert set(frame.rail(side).places) >= STATIONS | HOLES | CROSSMEMBERS | MOUNTS
    assert frame.crossmember("cm-gearbox").removable
    assert not frame.crossmember("cm-mid").removable
    assert {m.name for m in frame.placed_mounts} == MOUNTS
    assert [k.name for k in frame.placed_keep_visible] == ["chassis-number"]
    assert any(b.fate == "cut off" for b in frame.brackets)
    assert frame.steel.heat_treated == "no"
    assert frame.control_points and frame.readings and frame.conditions and frame.keep_out


@pytest.mark.parametrize("name", DEMO_NAMES)
def test_pins_and_hangers_lie_between_the_axles(name: str) -> None:
    frame = demo_frame(name)
    for side in frame.sides:
        rail = frame.rail(side)
        first, last = rail.station_s("front-axle"), rail.station_s("rear-axle")
        assert all(first < frame.hole(hole, side).s_mm < last for hole in HOLES)
        for hole in frame.holes_on(side, face="web"):
            if hole.filled == "open":  # none runs into another thing's head
                for other in frame.holes_on(side, face="web"):
                    apart = math.dist(hole.point, other.point)
                    assert other is hole or apart > (hole.diameter_mm + max(other.diameter_mm, other.head_across_mm)) / 2 + 3


def test_readings_are_near_the_drawing() -> None:
    """Pin holes 700 + 350 and 2900 - 400 along x, 860 apart: 1450 along, diagonal sqrt(1450^2 + 860^2) = 1685.85.

    A reading far off its drawing is a slip of ours: the worst that the demo files say of their frames is 6 mm (the pickup's twist).
    """
    frame = demo_frame("orchard-flatbed")
    points = frame.control_coordinates
    assert math.dist(points["cp-pin-front-left"], points["cp-pin-rear-right"]) == pytest.approx(1685.85, abs=0.005)
    for name in DEMO_NAMES:
        frame = demo_frame(name)
        for reading in frame.readings:
            ends = [frame.control_coordinates[k] for k in reading.points]
            drawn = {"along": ends[0][0], "offset": ends[0][1], "height": ends[0][2], "distance": math.dist(ends[0], ends[-1])}
            assert reading.value_mm == pytest.approx(drawn[reading.kind], abs=6.5), f"{name} {reading.name}"


def test_what_the_demo_frames_are_surveyed_with() -> None:
    """The bed twice on the same stands, the pickup with its sections, the wagon with a tape alone."""
    bed, wagon, pickup = (demo_frame(name) for name in DEMO_NAMES)
    assert [(s.name, s.stage) for s in bed.sets] == [("found", "found"), ("tacked", "tacked")]
    assert bed.sets[0].supports == bed.sets[1].supports != ()
    assert {r.set for r in bed.readings} == {"found", "tacked"}
    assert {r.kind for r in wagon.readings} == {"distance"}
    assert {(s.side, s.name) for s in pickup.section_readings} == {
        (side, f"sec-{at}") for side in ("left", "right") for at in ("front", "gearbox", "mid", "pin-rear", "rear")
    }  # fmt: skip


def test_river_wagon_turns_kicks_and_tapers_at_one_station() -> None:
    rail = demo_frame("river-wagon").rail("right")
    mid = rail.station_names.index("mid")
    assert math.degrees(rail.plan.turn_rad(mid)) == pytest.approx(-8.0, abs=0.001)
    assert math.degrees(rail.profile.kick_rad(mid)) == pytest.approx(18.0, abs=0.01)
    assert rail.depth_at(0) == pytest.approx(5.875 * MM)
    assert rail.depth_at(rail.length_s_mm) == pytest.approx(4 * MM)
    assert rail.section.web_mm == pytest.approx(5 / 32 * MM, abs=1e-12)
    # half way up, by tape half way between the two stations, the depth is near half way between 5-7/8 and 4 in (the kicks' arcs
    # shift it by less than 1 mm)
    half = (rail.station_s("mid") + rail.station_s("kick-top")) / 2
    assert rail.depth_at(half) == pytest.approx((5.875 + 4) / 2 * MM, abs=1.0)


def test_mill_pickup_s_rails_differ() -> None:
    frame = demo_frame("mill-pickup")
    left, right = frame.hole("pin-rear", "left"), frame.hole("pin-rear", "right")
    assert right.point[0] - left.point[0] == pytest.approx(4 - 5)  # its rail is 4 mm further back, the hole 5 mm further forward
    # lower edge at z 558 - 140 and 561 - 141, the hole 70 and 73 up
    assert (left.point[2], right.point[2]) == pytest.approx((488, 493))
    assert not frame.mirrored
    hole = frame.hole("wire-hole", "right")
    assert hole.point[0] == pytest.approx(2050, abs=1e-7)
