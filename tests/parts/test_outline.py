"""Closed outlines of lines and arcs against closed forms and against polygons of a general-purpose library (shapely).

Sources: circle, circular segment (area r²/2 (a - sin a), centroid 4 r sin³(a/2) / (3 (a - sin a)) from the centre) and slot are the
closed forms of any handbook of mathematics. Tolerance of these: rounding, 1e-9 of the size. What is compared with polygons has the
bounds of tests/parts/polygons.py.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely.geometry import Point as Spot

from parts.outline import SAME_MM, Contour, Transform, distance, rectangle
from tests.parts.arcs import arc, circle
from tests.parts.polygons import SAGITTA_MM, area_bound, lattice_outlines, motions, polygon, stars

EXACT = 1e-9
few = settings(max_examples=25, deadline=None)



@pytest.mark.parametrize("sweep", [60.0, 180.0, 270.0, 330.0])
def test_a_circular_segment(sweep: float) -> None:
    r, a = 40.0, math.radians(sweep)
    s = arc(r, -sweep / 2, sweep)
    c = Contour((s.a, s.b), (s.bulge, 0.0))
    assert c.area == pytest.approx(r**2 / 2 * (a - math.sin(a)))
    lever = 4 * r * math.sin(a / 2) ** 3 / (3 * (a - math.sin(a)))
    assert c.centroid == pytest.approx((lever, 0.0), abs=1e-9)
    assert c.perimeter == pytest.approx(r * a + 2 * r * math.sin(a / 2))


@pytest.mark.parametrize("bulge", [1e-3, 1e-5, 1e-7, -1e-5])
def test_a_nearly_flat_arc_loses_no_digits(bulge: float) -> None:
    """A parabola's two thirds of chord times sagitta (sagitta = chord bulge / 2), good to bulge² here."""
    c = Contour(((0.0, 0.0), (100.0, 0.0), (100.0, 50.0), (0.0, 50.0)), (bulge, 0.0, 0.0, 0.0))
    assert c.area - 5000.0 == pytest.approx(2 / 3 * 100.0 * (100.0 * bulge / 2), rel=1e-5)


def test_slot_rectangle_and_circle() -> None:
    slot = Contour(((20.0, -6.0), (20.0, 6.0), (-20.0, 6.0), (-20.0, -6.0)), (1.0, 0.0, 1.0, 0.0))
    assert slot.area == pytest.approx(40.0 * 12.0 + math.pi * 36.0)
    assert slot.perimeter == pytest.approx(80.0 + math.pi * 12.0)
    assert slot.box == pytest.approx((-26.0, -6.0, 26.0, 6.0))
    assert circle(7.0, 3.0, -2.0).area == pytest.approx(math.pi * 49.0)
    assert circle(7.0, 3.0, -2.0).centroid == pytest.approx((3.0, -2.0))
    assert circle(7.0, 3.0, -2.0).box == pytest.approx((-4.0, -9.0, 10.0, 5.0))
    assert rectangle(1.0, 2.0, 4.0, 6.0).area == pytest.approx(12.0)


@few
@given(stars())
def test_area_centroid_perimeter_and_box_are_those_of_the_polygon(c: Contour) -> None:
    shape, bound = polygon(c), area_bound(c)
    assert c.area == pytest.approx(shape.area, abs=bound)
    reach = max(c.box[2] - c.box[0], c.box[3] - c.box[1])
    assert c.centroid == pytest.approx((shape.centroid.x, shape.centroid.y), abs=2 * bound * reach / c.area)
    # a chord that misses by e over an angle a is shorter than its arc by e a / 3, a little more where a is not small
    sweep = sum(abs(s.sweep_rad) for s in c.segments)
    assert c.perimeter == pytest.approx(shape.exterior.length, abs=1.05 * SAGITTA_MM * sweep / 3 + EXACT * c.perimeter)
    assert c.box == pytest.approx(shape.bounds, abs=SAGITTA_MM)


@few
@given(stars(), motions(), motions(mirrored=True))
def test_motions_keep_size_and_sense(c: Contour, turned: Transform, mirrored: Transform) -> None:
    for t in (turned, mirrored):
        moved = c.moved(t)
        assert moved.area == pytest.approx(c.area, rel=1e-9)
        assert moved.perimeter == pytest.approx(c.perimeter, rel=1e-9)
        assert moved.centroid == pytest.approx(t.apply(c.centroid), abs=1e-6)
        assert len(moved.points) == len(c.points)
        first = {t.apply(p) for p in c.points[:2]}
        assert set(moved.points[:2]) == first, "segment 0 stays segment 0: bends hang on it"
        inside = c.centroid
        if c.distance(inside) > 1e-3:
            assert moved.contains(t.apply(inside)) == c.contains(inside)
        assert moved.moved(t.inverse()).points[2] == pytest.approx(c.points[2], abs=1e-6)
    back = c.reversed()
    assert back.area == pytest.approx(-c.area)
    assert set(back.points[:2]) == set(c.points[:2])
    assert back.reversed() == c


@few
@given(stars(), st.lists(st.tuples(st.floats(-160, 160), st.floats(-160, 160)), min_size=20, max_size=20))
def test_containment_and_distance(c: Contour, points: list[tuple[float, float]]) -> None:
    shape = polygon(c)
    for p in points:
        away = shape.exterior.distance(Spot(p))
        assert c.distance(p) == pytest.approx(away, abs=SAGITTA_MM + EXACT)
        if away > 2 * SAGITTA_MM:
            assert c.contains(p) == shape.contains(Spot(p))
            assert c.reversed().contains(p) == c.contains(p)


@few
@given(lattice_outlines())
def test_containment_in_line_with_corners_and_on_chords(c: Contour) -> None:
    """Every point of the half grid: level with corners, on the chords of arcs, in line with edges."""
    shape = polygon(c)
    for i in range(-10, 60, 5):
        for j in range(-10, 60, 5):
            spot = Spot(i, j)
            if shape.exterior.distance(spot) > 2 * SAGITTA_MM:
                assert c.contains((float(i), float(j))) == shape.contains(spot), (i, j)


def test_points_on_the_chord_of_a_keyhole() -> None:
    """An arc of 300 deg on a stem: its chord lies inside, and points on it are inside whichever way the chord runs."""
    head = arc(20.0, -60.0, 300.0)
    stem = Contour((head.a, head.b, (head.b[0], -60.0), (head.a[0], -60.0)), (head.bulge, 0.0, 0.0, 0.0))
    for quarter in range(8):
        t = Transform.rotation(quarter * math.pi / 4)
        turned = stem.moved(t)
        for part in (0.1, 0.5, 0.9):
            chord = (head.a[0] + part * (head.b[0] - head.a[0]), head.a[1] + part * (head.b[1] - head.a[1]))
            assert turned.contains(t.apply(chord))
        assert not turned.contains(t.apply((15.0, -30.0)))


@pytest.mark.parametrize(
    "crossed",
    [
        Contour(((0.0, 0.0), (10.0, 10.0), (10.0, 0.0), (0.0, 10.0)), (0.0,) * 4),
        Contour(((0.0, 0.0), (30.0, 0.0), (30.0, 20.0), (15.0, 20.0), (15.0, -5.0), (0.0, 20.0)), (0.0,) * 6),
        Contour(((0.0, 0.0), (30.0, 0.0), (40.0, 0.0), (30.0, 0.0), (30.0, 20.0), (0.0, 20.0)), (0.0,) * 6),
        Contour(((0.0, 0.0), (30.0, 0.0), (30.0, 20.0), (0.0, 20.0)), (0.0, 0.0, -1.5, 0.0)),
        Contour(((0.0, 0.0), (60.0, 0.0), (60.0, 40.0)), (0.0, -1.5, 0.0)),
    ],
    ids=["bow-tie", "runs across", "spike", "arc through the far edge", "arc back through its neighbour"],
)
def test_a_contour_that_crosses_itself_is_told(crossed: Contour) -> None:
    found = crossed.self_crossing()
    assert found is not None
    on = [s for s in crossed.segments if s.distance(found) <= 2 * SAME_MM]
    assert len(on) >= 2


@few
@given(st.floats(5.0, 2000.0), motions())
def test_tangent_arcs_do_not_count_as_crossing(radius: float, t: Transform) -> None:
    c = rectangle(0.0, 0.0, 2 * radius + 1.0, 3 * radius).rounded(radius).moved(t)
    assert c.self_crossing() is None


@pytest.mark.parametrize(("r", "turns"), [(3.0, 4), (10.0, 4)])
def test_rounded_rectangle(r: float, turns: int) -> None:
    c = rectangle(0.0, 0.0, 50.0, 20.0).rounded(r)
    assert c.area == pytest.approx(1000.0 - (4 - math.pi) * r**2)
    assert c.perimeter == pytest.approx(140.0 - (8 - 2 * math.pi) * r)
    assert sum(1 for s in c.segments if not s.is_line) == turns


@few
@given(stars(curved=False), st.floats(0.5, 4.0))
def test_each_rounded_corner_takes_its_own_area(c: Contour, r: float) -> None:
    """r² (tan(a/2) - a/2) off a corner that turns by a, added where it turns the other way; the arc is tangent at both its ends."""
    turns = []
    for i in range(len(c.points)):
        d, e = c.segments[i - 1].tangent_at(1.0), c.segments[i].tangent_at(0.0)
        turns.append(math.atan2(d[0] * e[1] - d[1] * e[0], d[0] * e[0] + d[1] * e[1]))
    trims = [r * abs(math.tan(a / 2)) for a in turns]
    room = [s.length - trims[i] - trims[(i + 1) % len(trims)] for i, s in enumerate(c.segments)]
    assume(min(room) > 0.01 and max(abs(a) for a in turns) < 3.0)
    rounded = c.rounded(r)
    assert rounded.area == pytest.approx(c.area - sum(math.copysign(r**2 * (math.tan(abs(a) / 2) - abs(a) / 2), a) for a in turns))
    for i, s in enumerate(rounded.segments):
        assert s.tangent_at(0.0) == pytest.approx(rounded.segments[i - 1].tangent_at(1.0), abs=1e-7)


def test_rounding_refuses_what_does_not_fit() -> None:
    with pytest.raises(ValueError, match=r"need 20\.200 mm of an edge that is 20\.000 mm"):
        rectangle(0.0, 0.0, 50.0, 20.0).rounded(10.1)
    with pytest.raises(ValueError, match="one radius a corner"):
        rectangle(0.0, 0.0, 50.0, 20.0).rounded((1.0, 2.0))
    with pytest.raises(ValueError, match="between two lines"):
        circle(5.0).rounded(1.0)
    one = rectangle(0.0, 0.0, 50.0, 20.0).rounded((0.0, 0.0, 6.0, 0.0))
    assert one.area == pytest.approx(1000.0 - (1 - math.pi / 4) * 36.0)
    assert distance(one.points[2], (50.0, 14.0)) < EXACT


def test_tidy_joins_what_is_one_edge() -> None:
    c = Contour(((10.0, 0.0), (20.0, 0.0), (20.0, 10.0), (20.0, 10.0), (0.0, 10.0), (0.0, 0.0)), (0.0,) * 6).tidy()
    assert sorted(c.points) == [(0.0, 0.0), (0.0, 10.0), (20.0, 0.0), (20.0, 10.0)]
    quarters = [arc(10.0, 90.0 * k, 90.0) for k in range(4)]
    whole = Contour.of(quarters).tidy()
    assert len(whole.points) < 4
    assert whole.area == pytest.approx(math.pi * 100.0)
    bent = Contour(((0.0, 0.0), (20.0, 0.0), (40.0, 1e-5), (40.0, 10.0), (0.0, 10.0)), (0.0,) * 5)
    assert bent.tidy() == bent, "1e-5 mm off over 40 mm is a corner"


@few
@given(stars(), st.sampled_from((0.5, 0.05, 2e-3)))
def test_the_polyline_keeps_its_sagitta(c: Contour, sagitta: float) -> None:
    points = c.polyline(sagitta)
    assert all(c.distance(p) < 1e-7 for p in points)
    for a, b in zip(points, (*points[1:], points[0]), strict=True):
        assert c.distance(((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)) <= sagitta * (1 + 1e-6)
