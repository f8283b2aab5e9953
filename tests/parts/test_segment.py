"""Single lines and arcs: where they run, how far off a point or another one lies, where two meet.

Sources: the closed forms of the circle in any handbook of mathematics (a chord at d from the centre is 2 sqrt(r² - d²) long; two circles
meet on the line x = (r² - s² + d²) / 2 d). Tolerance of these: rounding, 1e-9 of the size. What is compared with polygons (shapely) has
the bounds of tests/parts/polygons.py.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString
from shapely.geometry import Point as Spot

from parts.outline import SAME_MM, Contour, Segment, Transform, distance, rectangle
from tests.parts.arcs import arc, circle
from tests.parts.polygons import SAGITTA_MM, motions, polygon, stars

EXACT = 1e-9
few = settings(max_examples=25, deadline=None)



@pytest.mark.parametrize("sweep", [-350.0, -200.0, -180.0, -90.0, -1.0, 1.0, 30.0, 90.0, 179.0, 180.0, 181.0, 270.0, 350.0])
def test_an_arc_knows_its_circle(sweep: float) -> None:
    s = arc(50.0, 20.0, sweep)
    assert s.centre == pytest.approx((0.0, 0.0), abs=1e-9)
    assert s.radius == pytest.approx(50.0)
    assert s.length == pytest.approx(50.0 * math.radians(abs(sweep)))
    for k in range(11):
        angle = math.radians(20.0 + sweep * k / 10)
        assert s.point_at(k / 10) == pytest.approx((50 * math.cos(angle), 50 * math.sin(angle)), abs=1e-9)
        way = math.copysign(1.0, sweep)
        assert s.tangent_at(k / 10) == pytest.approx((-way * math.sin(angle), way * math.cos(angle)), abs=1e-9)
        assert s.part_at(s.point_at(k / 10)) == pytest.approx(k / 10, abs=1e-9)
    rest = (360.0 - abs(sweep)) / abs(sweep)  # of the circle that is not swept, in sweeps
    for over in (-0.4 * rest, -1e-9, 1.0 + 1e-9, 1.0 + 0.4 * rest):
        angle = math.radians(20.0 + sweep * over)
        assert s.part_at((70 * math.cos(angle), 70 * math.sin(angle))) == pytest.approx(over, abs=1e-12 + 1e-9 * abs(over))
    mirror = Transform.mirror_x()
    for part in (0.0, 0.3, 1.0):
        assert s.moved(mirror).point_at(part) == pytest.approx(mirror.apply(s.point_at(part)), abs=1e-9)
    back = s.reversed()
    assert back.centre == pytest.approx(s.centre, abs=1e-9)
    assert back.point_at(0.25) == pytest.approx(s.point_at(0.75), abs=1e-9)


def test_the_box_of_an_arc_reaches_its_circle_only_where_it_is_swept() -> None:
    assert arc(50.0, 45.0, 90.0).box == pytest.approx((-50 / math.sqrt(2), 50 / math.sqrt(2), 50 / math.sqrt(2), 50.0))
    assert arc(50.0, 45.0, 270.0).box == pytest.approx((-50.0, -50.0, 50 / math.sqrt(2), 50.0))
    assert arc(50.0, 45.0, -90.0).box == pytest.approx((50 / math.sqrt(2), -50 / math.sqrt(2), 50.0, 50 / math.sqrt(2)))


@few
@given(st.floats(-350, 350).filter(lambda v: abs(v) > 1), st.floats(0, 360), st.floats(-200, 200), st.floats(-200, 200))
def test_distance_from_an_arc_is_that_from_its_polygon(sweep: float, start: float, x: float, y: float) -> None:
    s = arc(60.0, start, sweep)
    line = LineString([s.point_at(k / 500) for k in range(501)])
    sagitta = 60.0 * (1 - math.cos(math.radians(abs(sweep)) / 1000))
    assert s.distance((x, y)) == pytest.approx(line.distance(Spot(x, y)), abs=sagitta + EXACT)


@few
@given(st.floats(0.0, 0.999), st.floats(0.0, math.tau))
def test_a_line_through_a_circle_meets_it_twice(off: float, turn: float) -> None:
    """At `off` radii from the centre: half a chord of sqrt(r² - d²) to either side of the foot. Near the rim that is sensitive to d."""
    r, t = 60.0, Transform.rotation(turn)
    line = Segment(t.apply((-200.0, off * r)), t.apply((200.0, off * r)))
    half = r * math.sqrt(1 - off**2)
    want = sorted([t.apply((-half, off * r)), t.apply((half, off * r))])
    found = sorted(p for s in circle(r).segments for p in s.crossings(line))
    found = [p for i, p in enumerate(found) if all(distance(p, q) > 10 * SAME_MM for q in found[:i])]  # at the joint both arcs report it
    assert len(found) == 2
    for p, q in zip(found, want, strict=True):
        assert distance(p, q) < 1e-8


@pytest.mark.parametrize("miss", [1e-5, 1e-4, 1e-3])
def test_near_tangent_lines(miss: float) -> None:
    """Off by more than the smallest length that counts: outside nothing, inside two points sqrt(2 r d - d²) from the foot."""
    r = 100.0
    rim, t = arc(r, 0.0, 180.0), Transform.rotation(0.7)
    outside = Segment((-50.0, r + miss), (50.0, r + miss))
    assert rim.crossings(outside) == []
    assert rim.moved(t).crossings(outside.moved(t)) == [], "where their boxes overlap too"
    two = sorted(rim.crossings(Segment((-50.0, r - miss), (50.0, r - miss))))
    half = math.sqrt(2 * r * miss - miss**2)
    assert [p[0] for p in two] == pytest.approx([-half, half], rel=1e-6)


@pytest.mark.parametrize("miss", [-1e-7, -1e-10, 0.0, 1e-10, 1e-7])
def test_a_line_that_touches_is_met(miss: float) -> None:
    found = arc(100.0, 0.0, 180.0).crossings(Segment((-50.0, 100.0 + miss), (50.0, 100.0 + miss)))
    assert found
    assert all(distance(p, (0.0, 100.0)) <= math.sqrt(2 * 100.0 * 1.01e-7) for p in found)


@pytest.mark.parametrize(("apart", "count"), [(0.0, 0), (29.999, 0), (30.001, 2), (100.0, 2), (129.999, 2), (130.001, 0)])
def test_two_circles(apart: float, count: int) -> None:
    """Radii 80 and 50: they meet where the centres are 30 to 130 apart, at x = (r² - s² + d²) / 2 d."""
    whole = [p for s in circle(80.0).segments for q in circle(50.0, apart).segments for p in s.crossings(q)]
    assert len(whole) == count
    for p in whole:
        assert p[0] == pytest.approx((80.0**2 - 50.0**2 + apart**2) / (2 * apart), abs=1e-6)


@few
@given(motions(), st.floats(0.2, 500.0), st.floats(0.0, 1.0), st.floats(-1e-10, 1e-10))
def test_edges_that_run_along_each_other_share_ends_not_a_crossing(t: Transform, length: float, start: float, tilt: float) -> None:
    """Rounding and a tilt far below the smallest length that counts must not make one crossing of them."""
    one = Segment((0.0, 0.0), (500.0, 0.0)).moved(t)
    x = start * (500.0 - length)
    two = Segment((x, 0.0), (x + length, length * tilt)).moved(t)
    found = one.crossings(two)
    assert any(distance(p, two.a) <= SAME_MM for p in found)
    assert any(distance(p, two.b) <= SAME_MM for p in found)


@few
@given(st.floats(100.0, 20000.0), st.floats(0.5, 20.0), motions())
def test_arcs_of_one_circle_share_ends_whatever_their_radius(radius: float, length: float, t: Transform) -> None:
    whole, part = math.degrees(200.0 / radius), math.degrees(length / radius)
    one, two = arc(radius, 10.0, whole).moved(t), arc(radius, 10.0 + whole / 3, part).moved(t)
    # as a file gives it, to 7 decimals: over a short arc that moves the centre by far more than the smallest length that counts
    two = Segment((round(two.a[0], 7), round(two.a[1], 7)), (round(two.b[0], 7), round(two.b[1], 7)), two.bulge)
    found = one.crossings(two)
    assert any(distance(p, two.a) <= SAME_MM for p in found)
    assert any(distance(p, two.b) <= SAME_MM for p in found)
    assert all(min(distance(p, q) for q in (one.a, one.b, two.a, two.b)) <= SAME_MM for p in found)


@few
@given(stars(), stars(), st.integers(3, 120), st.integers(-120, 120))
def test_crossings_and_gap_are_those_of_the_polygons(one: Contour, other: Contour, x: int, y: int) -> None:
    two = other.moved(Transform.shift(x, y))
    ring, ring2 = polygon(one).exterior, polygon(two).exterior
    gap = one.gap(two)
    assert gap == pytest.approx(ring.distance(ring2), abs=2 * SAGITTA_MM)
    assert one.crosses(two) == (gap == 0.0)
    ours = [(p, s, q) for s in one.segments for q in two.segments for p in s.crossings(q)]
    for p, s, q in ours:
        assert s.distance(p) <= 2 * SAME_MM
        assert q.distance(p) <= 2 * SAME_MM
    meets = ring.intersection(ring2)
    for spot in getattr(meets, "geoms", [meets]):
        if spot.geom_type != "Point":
            continue
        assert ours, f"a crossing near ({spot.x}, {spot.y}) was missed"
        near, s, q = min(ours, key=lambda found: distance(found[0], (spot.x, spot.y)))
        d, e = (v.tangent_at(min(1.0, max(0.0, v.part_at(near)))) for v in (s, q))
        sine = abs(d[0] * e[1] - d[1] * e[0])
        if sine > 0.1:  # flatter crossings slide along more than the polygons' error
            assert distance(near, (spot.x, spot.y)) <= 4 * SAGITTA_MM / sine


def test_gaps_by_hand() -> None:
    for turn in (0.0, 1.0, 2.0):  # where the halves of a circle meet must not matter
        one, two = circle(10.0).moved(Transform.rotation(turn)), circle(5.0).moved(Transform.rotation(0.7 * turn))
        assert one.gap(two.moved(Transform.shift(30.0, 0.0))) == pytest.approx(15.0)
        assert one.gap(two.moved(Transform.shift(2.0, 0.0))) == pytest.approx(3.0)
        assert two.moved(Transform.shift(2.0, 0.0)).gap(one) == pytest.approx(3.0)
    assert circle(10.0).gap(circle(5.0)) == pytest.approx(5.0)
    assert circle(10.0).gap(rectangle(12.5, -40.0, 20.0, 40.0)) == pytest.approx(2.5)
    assert circle(10.0).gap(rectangle(-2.0, -2.0, 2.0, 2.0)) == pytest.approx(10.0 - 2.0 * math.sqrt(2))
    assert arc(10.0, 0.0, 90.0).gap(Segment((-20.0, -1.0), (-20.0, 30.0))) == pytest.approx(20.0)
