"""The frame as found against closed forms worked by hand. Tolerance 1e-6 mm unless named: the arithmetic is exact."""

from __future__ import annotations

import math
from collections.abc import Mapping

import pytest

from parts.errors import BadInput
from parts.frame import Frame
from parts.frame.features import FrameHole
from parts.frame.found import as_found, misses
from parts.frame.found_rail import FoundRail
from parts.frame.measured import ControlPoint, SectionReading
from parts.frame.rail import Rail
from parts.sheet import Vec3
from parts.spec import Position
from tests.parts.frame.makers import DEMO_NAMES, at, cross, demo_frame, drawn, frame, mount, station, turned

PLACES = {"a": 100.0, "b": 1200.0, "c": 2400.0, "d": 3500.0}
POINTS = tuple(ControlPoint(name=name, at=Position(at="front", offset_mm=x)) for name, x in PLACES.items())
PIN = FrameHole(name="pin", at=at("front", 1800), up_mm=75, diameter_mm=16)
MADE = frame(control_points=POINTS, holes=(PIN,), crossmembers=(cross(),), body_mounts=(mount(at=at("rear", -200)),))


def moved(on: Frame, **by: Vec3) -> dict[str, Vec3]:
    """All points as drawn, those named (a_left: a-left) moved."""
    out = dict(on.control_coordinates)
    for key, (x, y, z) in by.items():
        name = key.replace("_", "-")
        out[name] = (out[name][0] + x, out[name][1] + y, out[name][2] + z)
    return out


def found_of(rail: Rail) -> FoundRail:
    assert rail.found is not None
    return rail.found


def near(value: object, within: float = 1e-6) -> object:
    return pytest.approx(value, abs=within)


@pytest.mark.parametrize("name", DEMO_NAMES)
def test_points_as_drawn_are_the_drawn_frame_itself(name: str) -> None:
    on = demo_frame(name)
    assert as_found(on, on.control_coordinates) is on
    noise = {key: (x + 1e-9, y, z - 1e-9) for key, (x, y, z) in on.control_coordinates.items()}
    assert as_found(on, noise) is on


def test_one_side_moves_and_the_other_stays_to_the_last_digit() -> None:
    on = as_found(MADE, moved(MADE, a_left=(3, 0, 0), b_left=(3, 0, 0), c_left=(3, 0, 0), d_left=(3, 0, 0)))
    assert on.rail("right") == MADE.rail("right")
    assert not on.mirrored and MADE.mirrored
    assert on.rail("left").plan.point(0) == near((3, -430))
    assert on.hole("pin", "left").point == near((1803, -430, 525)) and on.hole("pin", "right").point == (1800, 430, 525)


def test_a_rail_laid_askew_is_laid_askew_and_bends_nothing() -> None:
    """A turn of 0.01 rad about (0, 430): x' = x cos - (y - 430) sin, y' = 430 + x sin + (y - 430) cos. Exact, so nothing is left."""
    c, s = math.cos(0.01), math.sin(0.01)
    right = {k: (x * c, 430 + x * s, z) for k, (x, _, z) in MADE.control_coordinates.items() if k.endswith("right")}
    on = as_found(MADE, right)
    rail = on.rail("right")
    assert rail.plan.point(0) == near((0, 430)) and rail.plan.point(3600) == near((3600 * c, 430 + 3600 * s))
    assert all(abs(aside) < 1e-9 and abs(up) < 1e-9 for aside, up in misses(on, "right").values())
    assert [p.is_line for p in rail.plan.pieces()] == [True]


def test_a_bow_is_a_gap_and_no_bend() -> None:
    """4 points at x 100, 1200, 2400, 3500 with y off by 0, 3, 3, 0. By symmetry about x = 1800 the least squares line is level at
    1.5 mm: the points are left -1.5, 1.5, 1.5, -1.5 off it. The right rail opens to -y: off to +y counts as minus there."""
    on = as_found(MADE, moved(MADE, b_right=(0, 3, 0), c_right=(0, 3, 0)))
    rail = on.rail("right")
    assert rail.plan.point(0) == near((0, 431.5)) and [p.is_line for p in rail.plan.pieces()] == [True]
    assert {k: v[0] for k, v in misses(on, "right").items()} == near({"a-right": 1.5, "b-right": -1.5, "c-right": -1.5, "d-right": 1.5})
    found = found_of(rail)
    assert found.off_mm(1200, 600) == near(-1.5) and found.off_mm(650, 600) == near(0.0)  # half way from 1.5 to -1.5


def test_places_move_along_the_rail_in_proportion_between_points() -> None:
    """b lies 2 mm and c 4 mm further back than drawn, d 4 mm: from the front 0, 2, 4, 4. At 1800, half way from b to c, 3 mm."""
    on = as_found(MADE, moved(MADE, b_right=(2, 0, 0), c_right=(4, 0, 0), d_right=(4, 0, 0)))
    rail = on.rail("right")
    assert rail.length_s_mm == near(3604)
    assert {k: rail.places[k] for k in ("front", "mid", "rear", "pin")} == near({"front": 0, "mid": 1803, "rear": 3604, "pin": 1803})
    assert on.hole("pin", "right").point == near((1803, 430, 525))
    assert on.placed_mounts[1].point[0] == near(3404)
    assert rail.places["a"] == near(100) and rail.places["b"] == near(1202)
    # a crossmember's ends go with their own rails, it stands midway: 1800 and 1803
    placed = on.crossmember("cm")
    assert placed.x_mm == near(1801.5) and placed.s_range("right") == near((1778, 1828)) and placed.s_range("left") == near((1775, 1825))
    # what is printed for laying off starts from the stations as they are called, where they lie now
    assert rail.laid_off(1903) == ("mid", near(100))


def test_the_upper_corner_goes_through_the_heights() -> None:
    """Sag: b 6 mm and c 3 mm low. Straight between the points: at 1800 half way, 4.5 mm; past the ends as the last point."""
    on = as_found(MADE, moved(MADE, b_left=(0, 0, -6), c_left=(0, 0, -3), d_left=(0, 0, 1)))
    profile = on.rail("left").profile
    assert [profile.upper_z(s) for s in (0, 100, 1200, 1800, 2400, 3500, 3600)] == near([600, 600, 594, 595.5, 597, 601, 601])
    assert profile.depth_at(1800) == near(150, 1e-3)  # square to a slope of 1.5 in 600: 150 to within 150 x (slope change)^2
    assert on.rail("left").plan.pieces() == MADE.rail("left").plan.pieces()
    assert on.hole("pin", "left").point[2] == near(595.5 - 75, 1e-3)


def test_a_turn_keeps_its_angle_and_lies_where_it_was_measured() -> None:
    """A rail that turns 8 deg at x = 1500; its front straight was found 5 mm longer, its rear one as drawn."""
    points = tuple(ControlPoint(name=n, x_mm=x) for n, x in (("p", 100.0), ("q", 1400.0), ("r", 1700.0), ("t", 2400.0)))
    on = frame(turned(-8.0), control_points=points)
    measured = moved(on, p_right=(0, 0, 0), q_right=(5, 0, 0), r_right=(5, 0, 0), t_right=(5, 0, 0))
    rail, as_was = as_found(on, measured).rail("right"), on.rail("right")
    assert rail.plan.turn_rad(1) == near(math.radians(-8), 1e-9)
    assert rail.plan.course.radii_mm == as_was.plan.course.radii_mm
    assert rail.plan.course.vertices[1] == near((1505, 430), 1e-4) and rail.plan.course.vertices[0] == near((0, 430), 1e-4)
    assert all(abs(a) < 1e-4 and abs(up) < 1e-6 for a, up in misses(as_found(on, measured), "right").values())
    assert rail.station_s("turn") == near(as_was.station_s("turn") + 5, 1e-4)


def test_a_kick_keeps_its_radius_and_no_vertex_falls_beside_its_arc() -> None:
    kick = frame(
        drawn(station("front", 0), station("kick", 1500, kick=300), station("rear", 2500, z=760)),
        control_points=tuple(ControlPoint(name=n, x_mm=x) for n, x in (("p", 100.0), ("q", 1490.0), ("r", 2400.0))),
    )
    on = as_found(kick, moved(kick, q_left=(0, 0, 2), r_left=(0, 0, 4)))
    stations = on.rail("left").profile.stations
    assert [round(p.s_mm) for p in stations] == [0, 100, 1500, 2400, 2500] and stations[2].kick_radius_mm == 300
    assert all(abs(up) < 1e-6 for _, up in misses(on, "left").values())


def test_a_section_read_beside_a_kick_adds_no_vertex_there() -> None:
    kick = frame(drawn(station("front", 0), station("kick", 1500, kick=300), station("rear", 2500, z=760)))
    near_it = [SectionReading(name=f"at-{x:g}", side="left", x_mm=x, depth_mm=d) for x, d in ((400.0, 150.0), (1510.0, 152.0))]
    profile = as_found(kick, {}, near_it).rail("left").profile
    assert [round(p.s_mm) for p in profile.stations] == [0, 400, 1500, 2500]
    assert profile.stations[2].depth_mm == near(150 + 2 * 1100 / 1110)  # in proportion, at the kick itself


def test_a_hole_that_was_measured_lies_where_it_was_measured() -> None:
    """pin-c is the pin's own centre: 2 mm further back and 4 mm down of its place. A second point 20 mm beside it on the web is as
    drawn; both are one place along the rail, so the rail takes half of both, and the hole's own error shows beside it."""
    pair = (ControlPoint(name="pin-c", at=at("pin")), ControlPoint(name="near", at=at("front", 1820), up_mm=75))
    on = frame(control_points=(*POINTS, *pair), holes=(PIN,))
    found = as_found(on, moved(on, pin_c_left=(2, 0, -4)))
    assert found.hole("pin", "left").point == near((1802, -430, 521))
    assert found.rail("left").profile.upper_z(1811) == near(598, 0.05)  # the two lie 10 mm off it, on slopes of 2 mm in 600
    assert found.hole("pin", "left").up_mm == near(73, 0.02)  # 521 - (598 - 150), square to the slope of 2 mm in 600
    assert found.hole("pin", "right").up_mm == 75


def test_webs_lean_as_the_pair_of_rails_rolls() -> None:
    """The right side climbs 10 mm over a width of 860: turned about x by 10 / 860, what lies h higher moves h x 10 / 860 to the left.
    To the left is towards the open side on the right rail (+), away from it on the left one (-)."""
    on = as_found(MADE, moved(MADE, c_right=(0, 0, 10), d_right=(0, 0, 10)))
    right, left = found_of(on.rail("right")), found_of(on.rail("left"))
    assert right.off_mm(2400, 610 + 100) - right.off_mm(2400, 610) == near(100 * 10 / 860)
    assert right.off_mm(1200, 700) == near(0) and right.lean_known
    assert left.off_mm(2400, 700) - left.off_mm(2400, 600) == near(-100 * 10 / 860)


def test_two_points_over_each_other_tell_the_lean_themselves() -> None:
    """Upper corner 3 mm out to the right, a point 100 mm lower in place: 3 mm in 100, away from the open side of the right rail."""
    low = ControlPoint(name="low", at=at("front", 1200), up_mm=50)
    on = frame(control_points=(*POINTS, low))
    rail = found_of(as_found(on, moved(on, b_right=(0, 3, 0))).rail("right"))
    assert rail.lean.at(1200) == near(-0.03) and rail.lean_known


def readings(**fields: float) -> SectionReading:
    return SectionReading(name="sec", side="right", at=at("mid"), **fields)  # type: ignore[arg-type]


def test_depth_is_as_read_between_readings_in_proportion() -> None:
    deep = [SectionReading(name=f"s{x}", side="right", at=at("front", x), depth_mm=d) for x, d in ((600.0, 151.0), (1800.0, 148.0))]
    on = as_found(MADE, {}, deep)
    profile = on.rail("right").profile
    assert [profile.depth_at(s) for s in (0, 600, 1200, 1800, 3600)] == near([151, 151, 149.5, 148, 148], 1e-3)
    assert profile.upper_z(1200) == 600 and on.rail("left").found is None
    # a hole is laid off from the lower face: 75 over 600 - 148
    assert on.hole("pin", "right").point[2] == near(527, 1e-6)


def test_opening_between_the_flanges() -> None:
    """Depth 150 less two flanges of 4: 142 drawn. Read 140 at the toes and 141.5 at the web: half way between, 140.75."""
    found = found_of(as_found(MADE, {}, [readings(opening_toe_mm=140.0, opening_web_mm=141.5)]).rail("right"))
    assert [found.section.wider_mm(1000, share) for share in (0, 0.5, 1)] == near([-0.5, -1.25, -2])
    # toes 1 and 0.5 mm away from each other: 1.5 wider there than at the web, which follows from the depth: 149 - 8 = 141
    leaning = found_of(as_found(MADE, {}, [readings(depth_mm=149.0, upper_square_mm=1.0, lower_square_mm=0.5)]).rail("right"))
    assert [leaning.section.wider_mm(1000, share) for share in (0, 1)] == near([-1, 0.5])
    # a flange worn to 3 mm: 150 - 4 - 3 = 143
    worn = found_of(as_found(MADE, {}, [readings(depth_mm=150.0, lower_thickness_mm=3.0)]).rail("right"))
    assert worn.section.wider_mm(1000, 0) == near(1)


@pytest.mark.parametrize(
    ("sizes", "upper", "lower"),
    [
        ({"upper_square_mm": 1.0, "lower_square_mm": 0.5}, 1.0, 0.5),
        ({"opening_web_mm": 142.0, "opening_toe_mm": 143.0}, 0.5, 0.5),  # 1 wider at the toes, of neither known: half each
        ({"opening_web_mm": 142.0, "opening_toe_mm": 143.0, "lower_square_mm": -0.5}, 1.5, -0.5),  # what is left is the upper one's
        ({"opening_web_mm": 142.0, "opening_toe_mm": 143.0, "lower_square_mm": 0.4, "upper_square_mm": 0.4}, 0.5, 0.5),  # 0.2 over, shared
        ({"opening_toe_mm": 143.0, "lower_square_mm": 1.0}, 0.0, 1.0),  # of a web that was not read, it is the web's
    ],
)
def test_how_far_each_toe_stands_away(sizes: dict[str, float], upper: float, lower: float) -> None:
    """Together they are what the opening is wider at the toes than at the web."""
    section = found_of(as_found(MADE, {}, [readings(**sizes)]).rail("right")).section
    assert (section.upper_away.at(1000), section.lower_away.at(1000)) == near((upper, lower))
    assert section.wider_mm(1000, 1) - section.wider_mm(1000, 0) == near(upper + lower)


def test_toes_read_as_square_say_so() -> None:
    """Away by 2 mm at one place, square at another: 2 mm there, 0 here, 1 half way."""
    read = [SectionReading(name=f"s{x}", side="right", at=at("front", x), upper_square_mm=a) for x, a in ((600.0, 2.0), (1800.0, 0.0))]
    section = found_of(as_found(MADE, {}, read).rail("right")).section
    assert [section.wider_mm(x, 1) for x in (600, 1200, 1800)] == near([2, 1, 0])


def test_a_section_read_off_the_rail_is_named() -> None:
    with pytest.raises(BadInput, match="section_reading far: at: nowhere: rail right has no place of that name"):
        as_found(MADE, {}, [SectionReading(name="far", side="right", at=at("nowhere"), depth_mm=150.0)])


def test_a_section_as_drawn_changes_nothing() -> None:
    assert as_found(MADE, {}, [readings(depth_mm=150.0, opening_toe_mm=142.0)]) is MADE


def test_too_short_a_lever_does_not_turn_the_rail() -> None:
    """Two points 100 mm apart off by 1 mm across would swing the rear end 17.5 mm; under a quarter of the rail they only move it."""
    measured: Mapping[str, Vec3] = {"a-left": (100, -430, 600)}
    near_one = ControlPoint(name="e", at=at("front", 200))
    on = frame(control_points=(*POINTS, near_one))
    found = as_found(on, {**measured, "e-left": (200, -431, 600)})
    assert found.rail("left").plan.point(3600) == near((3600, -430.5))


def test_unknown_point_is_named() -> None:
    with pytest.raises(BadInput, match=r"points: a: the frame has no control point of that name; nearest: a-right|a-left"):
        as_found(MADE, {"a": (0, 0, 0)})


@pytest.mark.parametrize(
    ("by", "words"),
    [
        ({"b_left": (60.0, 0.0, 0.0)}, "a-left, b-left: were measured 60.0 mm longer apart than the 1100 mm drawn"),
        ({"c_right": (0.0, 0.0, 100.0)}, "were measured +100.0 mm higher and lower than drawn within 1200 mm"),
        ({"a_left": (0.0, -900.0, 0.0), "d_left": (0.0, 900.0, 0.0)}, "would turn the rail by more than 10 deg"),
    ],
)
def test_points_no_rail_runs_through_are_refused_by_name(by: dict[str, Vec3], words: str) -> None:
    with pytest.raises(BadInput) as caught:
        as_found(MADE, moved(MADE, **by))
    assert words in str(caught.value)


def test_found_again_from_a_frame_as_found_starts_from_the_drawing() -> None:
    points = moved(MADE, b_left=(0, 0, -6))
    once = as_found(MADE, points)
    assert as_found(once, points).rail("left") == once.rail("left")
