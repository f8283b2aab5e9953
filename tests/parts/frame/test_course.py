"""Lines and tangent arcs, held against trigonometry done by hand and against properties that any such curve has."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from parts.frame.course import Course, misfits

EXACT = 1e-9  #: mm; closed forms in floating point

BEND_90 = Course(vertices=((0.0, 0.0), (100.0, 0.0), (100.0 + 1e-12, 100.0)), radii_mm=(0.0, 30.0, 0.0))


@st.composite
def courses(draw: st.DrawFn) -> Course:
    """Two to five runs of 400 to 900 mm, each within 25 deg of the first axis, corners rounded by 0 or 20 to 300 mm."""
    vertices = [(0.0, 0.0)]
    for _ in range(draw(st.integers(2, 5))):
        length, heading = draw(st.floats(400, 900)), math.radians(draw(st.floats(-25, 25)))
        x, y = vertices[-1]
        vertices.append((x + length * math.cos(heading), y + length * math.sin(heading)))
    radius = st.one_of(st.just(0.0), st.floats(20, 300))
    return Course(vertices=tuple(vertices), radii_mm=tuple(draw(radius) for _ in vertices))


def test_square_corner_rounded() -> None:
    # Tangent length 30 tan 45 = 30: line 70, quarter circle 30 pi/2 = 47.1239, line 70; centre (70, 30).
    first, arc, last = BEND_90.stretches
    assert (first.length_mm, last.length_mm) == pytest.approx((70, 70), abs=EXACT)
    assert arc.length_mm == pytest.approx(30 * math.pi / 2, abs=EXACT)
    assert arc.centre == pytest.approx((70, 30), abs=EXACT)
    assert (arc.sign, arc.radius_mm, arc.vertex) == (1, 30.0, 1)
    # The middle of the arc lies 30 (1 - cos 45) = 8.7868 in from both sides.
    assert BEND_90.point(BEND_90.vertex_t[1]) == pytest.approx((100 - 8.786797, 8.786797), abs=5e-7)


def test_offset_of_an_arc_keeps_its_centre() -> None:
    inside = BEND_90.offset(10)
    assert [s.radius_mm for s in inside.stretches] == [0.0, 20.0, 0.0]
    assert inside.stretches[1].centre == pytest.approx((70, 30), abs=EXACT)


def test_offset_that_uses_a_radius_up_leaves_a_mitre() -> None:
    inside = BEND_90.offset(40)
    assert [s.is_line for s in inside.stretches] == [True, True]
    assert inside.vertices[1] == pytest.approx((60, 40), abs=EXACT)


def test_path_is_the_same_curve() -> None:
    path = BEND_90.path()
    assert path.length == pytest.approx(140 + 30 * math.pi / 2, abs=EXACT)
    assert path.bulges[1] == pytest.approx(math.tan(math.pi / 8), abs=1e-12)  # tan of a quarter of 90 deg


def test_vertices_that_run_straight_on_make_one_line() -> None:
    course = Course(vertices=((0.0, 0.0), (10.0, 1.0), (20.0, 2.0)), radii_mm=(0.0, 5.0, 0.0))
    assert len(course.stretches) == 1
    assert course.vertex_t[1] == pytest.approx(math.sqrt(101), abs=EXACT)


def test_misfits_name_the_corner_with_the_longer_tangent() -> None:
    # 45 deg corners 100 apart: tangents 200 tan 22.5 = 82.84 and 60 tan 22.5 = 24.85 do not fit side by side.
    vertices = ((0.0, 0.0), (300.0, 0.0), (300 + 100 / math.sqrt(2), 100 / math.sqrt(2)), (600.0, 100 / math.sqrt(2)))
    (found,) = misfits(vertices, (0.0, 200.0, 60.0, 0.0))
    assert found.vertex == 1
    assert found.needed_mm == pytest.approx(82.842712, abs=5e-7)
    assert found.available_mm == pytest.approx(100 - 24.852814, abs=5e-7)
    assert misfits(vertices, (0.0, 180.0, 60.0, 0.0)) == ()  # 74.56 + 24.85 = 99.41


def test_crossing_meets_lines_and_arcs() -> None:
    assert BEND_90.crossing((50.0, 60.0), (0.0, -1.0)) == pytest.approx(60, abs=EXACT)
    # From the arc's centre every way out to it is its radius.
    way = (math.cos(math.radians(-30)), math.sin(math.radians(-30)))
    assert BEND_90.crossing((70.0, 30.0), way) == pytest.approx(30, abs=EXACT)
    with pytest.raises(ValueError, match="not met"):
        BEND_90.crossing((50.0, 60.0), (-1.0, 0.0))


@given(courses(), st.floats(0, 1), st.floats(-15, 15))
def test_point_and_foot_are_inverse(course: Course, part: float, left: float) -> None:
    t = part * course.length_mm
    foot, distance = course.project(course.moved_left(t, left))
    corner = min((abs(t - at) for at, _ in course.corners), default=math.inf)
    if corner > 15:  # beside a sharp corner the foot of a point on its inside is not one only
        assert foot == pytest.approx(t, abs=1e-7)
        assert distance == pytest.approx(left, abs=1e-7)


@given(courses(), st.floats(-0.2, 1.2))
def test_length_and_first_coordinate_are_inverse(course: Course, part: float) -> None:
    t = part * course.length_mm
    assert course.t_at_first(course.point(t)[0]) == pytest.approx(t, abs=1e-7)


@given(courses(), st.floats(-15, 15), st.floats(0, 1))
def test_offset_stays_at_its_distance(course: Course, left: float, part: float) -> None:
    moved = course.offset(left)
    _, distance = course.project(moved.point(part * moved.length_mm))
    near_corner = any(abs(moved.point(part * moved.length_mm)[0] - course.point(t)[0]) < 20 for t, _ in course.corners)
    if not near_corner:  # a mitre stands further off
        assert distance == pytest.approx(left, abs=1e-7)


@given(courses())
def test_stretches_join_smoothly(course: Course) -> None:
    """Each ends where the next begins; headings differ only at sharp corners."""
    sharp = {round(t, 6) for t, _ in course.corners}
    for one, two in zip(course.stretches, course.stretches[1:], strict=False):
        assert one.point_at(one.end_mm) == pytest.approx(two.start, abs=1e-8)
        if round(one.end_mm, 6) not in sharp:
            assert one.heading_at(one.end_mm) == pytest.approx(two.heading_rad, abs=1e-9)
