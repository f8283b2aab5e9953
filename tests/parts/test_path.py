"""Open chains of lines and arcs: places on them, stretches, parallels, and one fitted through points. Plane geometry, worked by hand."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from parts.outline import Path, Transform, distance, fit_path
from tests.parts.arcs import arc

EXACT = 1e-9
few = settings(max_examples=25, deadline=None)

KICK = Path(
    ((0.0, 0.0), (100.0, 0.0), (100.0 + 50.0 * math.sin(0.5), 50.0 * (1 - math.cos(0.5))), (250.0, 60.0)),
    (0.0, math.tan(0.125), 0.0),
)


def test_a_path_by_its_length_and_by_its_x() -> None:
    assert KICK.length == pytest.approx(100.0 + 25.0 + distance(KICK.points[2], KICK.points[3]))
    half = (100.0 + 50.0 * math.sin(0.25), 50.0 * (1 - math.cos(0.25)))
    assert KICK.point_at(112.5) == pytest.approx(half)
    assert KICK.y_at(half[0]) == pytest.approx(half[1])
    assert KICK.point_at(-10.0) == pytest.approx((-10.0, 0.0))
    assert KICK.y_at(-10.0) == pytest.approx(0.0)
    slope = (60.0 - KICK.points[2][1]) / (250.0 - KICK.points[2][0])
    assert KICK.y_at(260.0) == pytest.approx(60.0 + 10.0 * slope)
    assert KICK.tangent_at(112.5) == pytest.approx((math.cos(0.25), math.sin(0.25)))
    ends = Path(KICK.points[1:3], KICK.bulges[1:2])
    assert ends.point_at(25.0 + 10.0) == pytest.approx((ends.points[1][0] + 10 * math.cos(0.5), ends.points[1][1] + 10 * math.sin(0.5)))
    down = KICK.moved(Transform(d=-1.0))
    assert down.y_at(half[0]) == pytest.approx(-half[1])
    assert KICK.reversed().reversed() == KICK
    assert KICK.reversed().point_at(KICK.length - 112.5) == pytest.approx(half)


@few
@given(st.floats(-50.0, 299.0), st.floats(0.5, 300.0))
def test_a_clipped_path_is_the_same_line(x0: float, width: float) -> None:
    x1 = x0 + width
    part = KICK.clipped_x(x0, x1)
    assert part.points[0] == pytest.approx((x0, KICK.y_at(x0)), abs=1e-6)
    assert part.points[-1] == pytest.approx((x1, KICK.y_at(x1)), abs=1e-6)
    for k in range(21):
        x = x0 + width * k / 20
        assert part.y_at(x) == pytest.approx(KICK.y_at(x), abs=1e-5)


@pytest.mark.parametrize("d", [-20.0, -1.0, 1.0, 20.0])
def test_a_parallel_path_keeps_its_distance(d: float) -> None:
    smooth = Path(
        ((0.0, 0.0), (100.0, 0.0), (100.0 + 50.0 * math.sin(0.5), 50.0 * (1 - math.cos(0.5)))), (0.0, math.tan(0.125))
    )
    beside = smooth.offset(d)
    for k in range(41):
        p = beside.point_at(beside.length * k / 40)
        assert min(s.distance(p) for s in smooth.segments) == pytest.approx(abs(d))
    assert (beside.points[0][1] > 0) == (d > 0), "+ is to the left"
    assert beside.length == pytest.approx(100.0 + 0.5 * (50.0 - d))


def test_a_parallel_path_is_mitred_and_refuses_what_vanishes() -> None:
    corner = Path(((0.0, 0.0), (100.0, 0.0), (100.0, 80.0)), (0.0, 0.0))
    for d, want in ((10.0, ((0.0, 10.0), (90.0, 10.0), (90.0, 80.0))), (-10.0, ((0.0, -10.0), (110.0, -10.0), (110.0, 80.0)))):
        for p, q in zip(corner.offset(d).points, want, strict=True):
            assert p == pytest.approx(q)
    short = Path(((0.0, 0.0), (100.0, 0.0), (101.0, 1.0), (101.0, 90.0)), (0.0, 0.0, 0.0))
    far = short.offset(-50.0)
    assert far.points[1] == pytest.approx((100.0 + 50.0 * math.tan(math.pi / 8), -50.0))
    tiny = Path(((0.0, 0.0), (1.0, 0.0), (1.0, 1.0)), (0.0, 0.0))
    assert tiny.offset(-50.0).points[1] == pytest.approx((51.0, -50.0)), "a corner far off the segments that make it"
    with pytest.raises(ValueError, match="vanishes"):
        short.offset(50.0)
    with pytest.raises(ValueError, match="no parallel"):
        KICK.offset(50.0)


@few
@given(st.floats(20.0, 5000.0), st.floats(1.0, 100.0), st.floats(0.005, 0.1))
def test_a_fitted_path_misses_no_point(wave: float, height: float, tolerance: float) -> None:
    assume(height < wave / 4)

    def curve(x: float) -> tuple[float, float]:
        return x, height * math.sin(x * math.tau / wave) + 0.3 * x

    points = [curve(0.5 * k) for k in range(401)]
    path = fit_path(points, tolerance)
    assert path.points[0] == points[0]
    assert path.points[-1] == points[-1]
    bow = 0.5**2 / 8 * height * (math.tau / wave) ** 2  # what the curve may stand off a chord between two samples
    for k in range(0, 2001, 3):
        p = curve(0.1 * k)
        assert min(s.distance(p) for s in path.segments) <= tolerance * 1.1 + 4 * bow
    assert len(path.segments) < 200


def test_a_fitted_path_finds_the_line_and_the_arc() -> None:
    s = arc(300.0, 200.0, 40.0)
    one = fit_path([s.point_at(k / 100) for k in range(101)], 0.01)
    assert len(one.segments) == 1
    assert one.segments[0].radius == pytest.approx(300.0)
    straight = fit_path([(float(k), 0.25 * k + 1e-13 * (k % 3)) for k in range(50)], 0.01)
    assert straight.bulges == (0.0,)
    mirrored = fit_path([(p[0], -p[1]) for p in (s.point_at(k / 100) for k in range(101))], 0.01)
    assert mirrored.bulges[0] == pytest.approx(-one.bulges[0])
