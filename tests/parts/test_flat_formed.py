"""The flat pattern and the formed part, held against each other and against parts worked by hand.

Sources: Pappus' theorem for the steel in a bend, w a t (r + t/2); DIN 6935 compensation values v as in tests/parts/test_bending.py
(L = a + b - v, legs to the outer tangent up to an opening of 90 deg); FAA-H-8083-31 U-channel, mould lines 1 / 2 / 1 in. The rest is
worked by hand beside each check. Tolerance of what is exact: 1e-9 of the size.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from parts.bending import Din6935, KFactor, allowance_mm, setback_mm
from parts.errors import BadInput
from parts.flat import unfold
from parts.formed import Formed, FormedZone, formed
from parts.outline import Point, Transform
from parts.sheet import Bend, Panel, Placement, SheetPart, Vec3
from tests.parts.sheets import bend, hole, l_shape, panel, part, slot

INCH = 25.4
HALF = KFactor(value=0.5)


def dot(p: Vec3, q: Vec3) -> float:
    return sum(a * b for a, b in zip(p, q, strict=True))


def minus(p: Vec3, q: Vec3) -> Vec3:
    return p[0] - q[0], p[1] - q[1], p[2] - q[2]


def cross(p: Vec3, q: Vec3) -> Vec3:
    return p[1] * q[2] - p[2] * q[1], p[2] * q[0] - p[0] * q[2], p[0] * q[1] - p[1] * q[0]


def from_axis(zone: FormedZone, p: Vec3) -> float:
    """Distance of p from the zone's axis."""
    off = cross(minus(p, zone.axis_point), zone.axis_direction)
    return math.sqrt(dot(off, off))


# --- flat lengths


@pytest.mark.parametrize(
    ("r", "s", "v"), [(1.0, 1.0, 1.918695), (4.0, 3.0, 6.038098), (6.0, 6.0, 11.512169), (30.0, 5.0, 18.949119)]
)
@pytest.mark.parametrize("sign", [1, -1])
def test_flat_length_of_a_square_bend(r: float, s: float, v: float, sign: int) -> None:
    """L = a + b - v with DIN 6935's v for 90 deg; computed beforehand, 6 decimals."""
    flat = unfold(l_shape(90.0 * sign, t=s, r=r, a=80.0, b=60.0), Din6935())
    x0, y0, x1, y1 = flat.contour.box
    assert y1 - y0 == pytest.approx(80.0 + 60.0 - v, abs=5e-7)
    assert x1 - x0 == pytest.approx(100.0)


def test_flat_length_of_the_book_example() -> None:
    """r 6, s 5, opening 60 deg, k read off as 0.7: legs a 16 and b 21 to the outer tangent, L = 16 + 21 - 5.77 (printed)."""
    flat = unfold(l_shape(120.0, t=5.0, r=6.0, a=16.0, b=21.0), KFactor(value=0.35))
    assert flat.contour.box[3] == pytest.approx(16.0 + 21.0 - 5.77, abs=0.005)


def test_legs_to_tangent_and_to_apex() -> None:
    """T 4, R 4, turned by 120 deg. In the formed part the root's outer face meets the leg's at the apex, 8 tan 60 past the bend's tangent
    line; the furthest point of the bend lies 8 past it. Leg by leg 5.856, both 11.7 mm (see test_bending)."""
    t = r = 4.0
    shape = formed(l_shape(120.0, t=t, r=r, a=58.0, b=38.0))
    place = shape.places["leg"]
    back = -place.origin[2] / place.v[2]  # down the leg's outer face (z = 0) to the root's (z = 0)
    apex = place.origin[1] + back * place.v[1]
    assert apex == pytest.approx(50.0 + setback_mm(120.0, r, t))
    assert -back == pytest.approx(setback_mm(120.0, r, t))
    assert shape.box()[1][1] == pytest.approx(50.0 + t + r, abs=0.011)
    assert 2 * (apex - 58.0) == pytest.approx(11.7, abs=0.05)


def test_u_channel_of_the_faa_handbook() -> None:
    """Flats 0.8 / 1.6 / 0.8 in at R 0.16, T 0.04 in fold up to mould lines of 1 / 2 / 1 in."""
    t, r = 0.04 * INCH, 0.16 * INCH
    sides = (panel("root", 5.0 * INCH, 1.6 * INCH), panel("a", 5.0 * INCH, 0.8 * INCH), panel("b", 5.0 * INCH, 0.8 * INCH))
    u = part(t, sides, bend("root", "a", 2, 90.0, r), bend("root", "b", 0, 90.0, r))
    low, high = formed(u).box()
    assert [(h - k) / INCH for k, h in zip(low, high, strict=True)] == pytest.approx([5.0, 2.0, 1.0])
    flat = unfold(u, KFactor(value=0.42))
    assert flat.contour.box[3] - flat.contour.box[1] == pytest.approx(3.2 * INCH + 2 * allowance_mm(90.0, r, t, 0.42))


# --- formed by hand


def test_box_and_holes_of_a_leg_bent_up() -> None:
    """t 3, r 4: the root ends at y 43, its outside at 50; the leg's outer face (its z = 0) stands at y 50 and its hole, 10 up from the
    tangent line, at z 7 + 10. u runs on as the root's x; the leg's normal looks back along -y."""
    shape = formed(l_shape(90.0))
    low, high = shape.box()
    assert (*low, *high) == pytest.approx((0.0, 0.0, 0.0, 100.0, 50.0, 30.0), abs=1e-9)
    root, leg = shape.hole_axes
    assert (root.point, root.direction) == ((10.0, 8.0, 0.0), (0.0, 0.0, 1.0))
    assert leg.point == pytest.approx((20.0, 50.0, 17.0))
    assert leg.direction == pytest.approx((0.0, -1.0, 0.0), abs=1e-12)
    assert (leg.name, leg.panel, leg.kind, leg.diameter_mm) == ("l", "leg", "round", 6.0)


def test_box_and_holes_of_a_leg_bent_down() -> None:
    """Now z = 0 is the inside: the leg's z = 0 face stands at y 43 + 4, its other at 50; the outside is z = 3, the leg reaches 30 below."""
    shape = formed(l_shape(-90.0))
    low, high = shape.box()
    assert (*low, *high) == pytest.approx((0.0, 0.0, -27.0, 100.0, 50.0, 3.0), abs=1e-9)
    leg = shape.hole_axes[1]
    assert leg.point == pytest.approx((20.0, 47.0, -14.0))
    assert leg.direction == pytest.approx((0.0, 1.0, 0.0), abs=1e-12)


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_a_leg_turned_by_120_deg(sign: float) -> None:
    """The z = 0 face leaves the tangent line on a circle of 7 (up) or 4 (down): sin 120 = 0.8660, 1 - cos 120 = 1.5."""
    radius = 7.0 if sign > 0 else 4.0
    sine = math.sqrt(3) / 2
    leg = formed(l_shape(120.0 * sign)).hole_axes[1]
    assert leg.point == pytest.approx((20.0, 43.0 + radius * sine - 10.0 * 0.5, sign * (1.5 * radius + 10.0 * sine)))
    assert leg.direction == pytest.approx((0.0, -sign * sine, -0.5))


def test_edges_that_differ_and_an_offset() -> None:
    """A leg 30 wide on an edge of 100, its u = 0 12 past the edge's end b = (0, 43): it spans x 12 to 42; on an edge 1 at x = 100
    (b = (100, 43), u down along -y) the hole at u 20 stands at y 43 - 12 - 20."""
    up = part(
        3.0, (panel("root", 100.0, 43.0), panel("leg", 30.0, 23.0, holes=(hole("l", 20.0, 10.0),))), bend("root", "leg", 2, 90.0, 4.0, 12.0)
    )
    assert formed(up).hole_axes[0].point == pytest.approx((32.0, 50.0, 17.0))
    beside = part(
        3.0, (panel("root", 100.0, 43.0), panel("leg", 30.0, 23.0, holes=(hole("l", 20.0, 10.0),))), bend("root", "leg", 1, 90.0, 4.0, 12.0)
    )
    assert formed(beside).hole_axes[0].point == pytest.approx((107.0, 11.0, 17.0))
    flat = unfold(beside, HALF)
    (where,) = flat.holes
    width = allowance_mm(90.0, 4.0, 3.0, 0.5)
    assert (where.x_mm, where.y_mm) == pytest.approx((100.0 + width + 10.0, 11.0))
    assert flat.bends[0].length_mm == pytest.approx((43.0 + 30.0) / 2)
    # half way between the edge's ends, y 0 and 43, and the leg's, y 1 and 31
    (one, two) = flat.bends[0].line
    assert (*one, *two) == pytest.approx((100.0 + width / 2, 0.5, 100.0 + width / 2, 37.0))
    # the zone's free edges run straight from the edge's ends to the leg's: a trapezoid in the flat
    assert flat.contour.area == pytest.approx(100.0 * 43.0 + 30.0 * 23.0 + width * (43.0 + 30.0) / 2)


def test_three_bends_in_a_chain() -> None:
    """t 3, r 4, all up: root to y 50, leg to z 37 (7 + 23 + 7), lid back along -y at z 37 (its z = 0 outside) from y 43, lip down from
    y 43 - 20 - 7 = 16, starting at z 30."""
    chain = part(
        3.0,
        (
            panel("root", 100.0, 43.0),
            panel("leg", 100.0, 23.0),
            panel("lid", 100.0, 20.0, holes=(hole("d", 15.0, 5.0),)),
            panel("lip", 100.0, 10.0, holes=(hole("p", 25.0, 4.0),)),
        ),
        bend("root", "leg", 2, 90.0),
        bend("leg", "lid", 2, 90.0),
        bend("lid", "lip", 2, 90.0),
    )
    lid, lip = formed(chain).hole_axes
    assert lid.point == pytest.approx((15.0, 38.0, 37.0))
    assert lid.direction == pytest.approx((0.0, 0.0, -1.0), abs=1e-12)
    assert lip.point == pytest.approx((25.0, 16.0, 26.0))
    assert lip.direction == pytest.approx((0.0, 1.0, 0.0), abs=1e-12)
    low, high = formed(chain).box()
    assert (*low, *high) == pytest.approx((0.0, 0.0, 0.0, 100.0, 50.0, 37.0), abs=1e-9)


def test_a_z_shape_by_hand() -> None:
    """Up and then down again: the lip's z = 0 (now inside of its bend, radius 4) runs on along +y at z 7 + 23 + 4."""
    z = part(
        3.0,
        (panel("root", 100.0, 43.0), panel("leg", 100.0, 23.0), panel("lip", 100.0, 20.0, holes=(hole("d", 15.0, 5.0),))),
        bend("root", "leg", 2, 90.0),
        bend("leg", "lip", 2, -90.0),
    )
    (lip,) = formed(z).hole_axes
    assert lip.point == pytest.approx((15.0, 50.0 + 4.0 + 5.0, 34.0))
    assert lip.direction == pytest.approx((0.0, 0.0, 1.0), abs=1e-12)
    assert formed(z).box()[1] == pytest.approx((100.0, 50.0 + 4.0 + 20.0, 37.0))


def test_the_box_of_a_part_placed_on_the_vehicle() -> None:
    at = Placement(origin=(1000.0, 400.0, 300.0), u=(0.0, 0.0, 1.0), v=(1.0, 0.0, 0.0))  # u up, v rearward, so z to the right
    low, high = formed(l_shape(90.0)).box(at)
    assert (*low, *high) == pytest.approx((1000.0, 400.0, 300.0, 1050.0, 430.0, 400.0), abs=1e-9)


# --- what both must agree on


def closed_volume(p: SheetPart) -> float:
    """Panels' area by thickness, and each bend's steel by Pappus: w a t (r + t/2), w the mean of the two edges. K has no say."""
    panels = {q.name: q for q in p.panels}
    t = p.thickness_mm
    total = sum(t * (q.contour.area - sum(h.contour().area for h in q.holes)) for q in p.panels)
    for b in p.bends:
        one, two = panels[b.parent].contour.segments[b.edge], panels[b.child].contour.segments[0]
        total += (one.length + two.length) / 2 * math.radians(abs(b.angle_deg)) * t * (b.inside_radius_mm + t / 2)
    return total


THREE = (panel("root", 80.0, 40.0), panel("a", 80.0, 25.0), panel("b", 80.0, 30.0))
CASES = {
    "L": l_shape(90.0),
    "L down": l_shape(-90.0),
    "L sharp": l_shape(135.0, a=70.0, b=60.0),
    "U": part(3.0, THREE, bend("root", "a", 2, 90.0), bend("root", "b", 0, 90.0)),
    "Z": part(3.0, THREE, bend("root", "a", 2, 90.0), bend("root", "b", 0, -60.0)),
    "unequal": part(
        4.0,
        (
            panel("root", 80.0, 40.0),
            panel("a", 50.0, 25.0, holes=(slot("s", 25.0, 12.0, 8.0, 20.0, 30.0),)),
            panel("b", 95.0, 30.0, u0=3.0),
        ),
        bend("root", "a", 2, 45.0, 5.0, 11.0),
        bend("root", "b", 0, -75.0, 4.0, -9.0),
    ),
}


@pytest.mark.parametrize("p", CASES.values(), ids=CASES.keys())
@pytest.mark.parametrize("k", [0.0, 0.33, 0.42, 0.5])
def test_volume_law(p: SheetPart, k: float) -> None:
    """t A_flat + sum w a t² (1/2 - K), whatever K."""
    assert unfold(p, KFactor(value=k)).volume_mm3 == pytest.approx(closed_volume(p), rel=1e-12)
    assert unfold(p, Din6935()).volume_mm3 == pytest.approx(closed_volume(p), rel=1e-12)


def agree(p: SheetPart, k: float = 0.42) -> None:
    """Flat and formed part against each other: bend by bend, with handedness."""
    flat, shape = unfold(p, KFactor(value=k)), formed(p)
    panels = {q.name: q for q in p.panels}
    in_flat = {h.name: (h.x_mm, h.y_mm) for h in flat.holes}
    in_space = {a.name: a.point for a in shape.hole_axes}
    for zone, line in zip(shape.zones, flat.bends, strict=True):
        b, t = zone.bend, p.thickness_mm
        assert line.name == f"{b.parent}/{b.child}"
        assert (line.angle_deg, line.inside_radius_mm, line.k_factor) == (b.angle_deg, b.inside_radius_mm, k)
        _along_the_bend_line(zone, panels, in_flat, in_space)
        _across_the_bend_line(zone, shape, t, k, line.width_mm)
        stations = shape.strips(zone, 0.01)
        for station, name, edge in ((stations[0], b.parent, b.edge), (stations[-1], b.child, 0)):
            s = panels[name].contour.segments[edge]
            ends = (s.b, s.a) if name == b.parent else (s.a, s.b)
            want = [shape.places[name].point(*e, z) for z in (0.0, t) for e in ends]
            for got, expected in zip(station, want, strict=True):
                assert got == pytest.approx(expected, abs=1e-8)
    assert flat.volume_mm3 == pytest.approx(closed_volume(p), rel=1e-9)
    for place in shape.places.values():
        assert (dot(place.u, place.u), dot(place.v, place.v), dot(place.u, place.v)) == pytest.approx((1.0, 1.0, 0.0), abs=1e-9)


def _along_the_bend_line(zone: FormedZone, panels: dict[str, Panel], in_flat: dict[str, Point], in_space: dict[str, Vec3]) -> None:
    """How far any two holes of parent and child lie from each other along the bend, with its sign: a mirrored leg would change it.

    The parent's edge runs from a to b, the zone's axis as the child's u, from b to a.
    """
    way = _edge_in_flat(panels[zone.bend.parent], zone.bend.edge, in_flat)
    names = [h.name for q in (zone.bend.parent, zone.bend.child) for h in panels[q].holes]
    for one in names:
        for two in names:
            dx, dy = in_flat[two][0] - in_flat[one][0], in_flat[two][1] - in_flat[one][1]
            in_space_along = -dot(minus(in_space[two], in_space[one]), zone.axis_direction)
            assert dx * way[0] + dy * way[1] == pytest.approx(in_space_along, abs=1e-7)


def _edge_in_flat(parent: Panel, edge: int, in_flat: dict[str, Point]) -> Point:
    """Unit vector of the parent's edge in the flat, from where two of the parent's holes came to lie."""
    one, two = parent.holes[:2]
    x, y = in_flat[two.name][0] - in_flat[one.name][0], in_flat[two.name][1] - in_flat[one.name][1]
    turn = math.atan2(y, x) - math.atan2(two.y_mm - one.y_mm, two.x_mm - one.x_mm)
    return Transform.rotation(turn).direction(parent.contour.segments[edge].tangent_at(0.0))


def _across_the_bend_line(zone: FormedZone, shape: Formed, t: float, k: float, width: float) -> None:
    b = zone.bend
    parent, child = shape.places[b.parent], shape.places[b.child]
    inside = t if b.angle_deg > 0 else 0.0  # the z of the face that becomes the inside: up closes the top
    outside = t - inside
    for place, edge in ((parent, zone.parent_edge), (child, zone.child_edge)):
        n = place.normal
        for end in edge:
            for z, radius in ((inside, b.inside_radius_mm), (outside, b.inside_radius_mm + t)):
                assert from_axis(zone, (end[0] + z * n[0], end[1] + z * n[1], end[2] + z * n[2])) == pytest.approx(radius, abs=1e-8)
    neutral = b.inside_radius_mm + k * t
    assert width == pytest.approx(math.radians(abs(b.angle_deg)) * neutral), "the flat zone is the neutral layer rolled out"
    turn = math.radians(b.angle_deg)
    assert dot(child.normal, parent.normal) == pytest.approx(math.cos(turn), abs=1e-9)
    assert dot(child.v, parent.normal) == pytest.approx(math.sin(turn), abs=1e-9), "+ turns to the parent's +z"
    outward = cross(parent.normal, zone.axis_direction)
    assert dot(child.v, outward) == pytest.approx(math.cos(turn), abs=1e-9)
    assert child.u == pytest.approx(zone.axis_direction, abs=1e-9)


@st.composite
def trees(draw: st.DrawFn) -> SheetPart:
    """Rectangles joined at random, two holes in each, with unequal edges, offsets, both signs; up to five panels."""
    t = draw(st.floats(1.0, 6.0))
    sizes = [(draw(st.floats(40.0, 120.0)), draw(st.floats(30.0, 90.0))) for _ in range(draw(st.integers(2, 5)))]
    panels: list[Panel] = []
    bends: list[Bend] = []
    free: list[tuple[str, int]] = []
    for i, (w, h) in enumerate(sizes):
        name = f"n{i}"
        u0 = draw(st.floats(-20.0, 20.0)) if i else 0.0
        holes = (hole(f"{name}a", u0 + 0.3 * w, 0.2 * h), hole(f"{name}b", u0 + 0.6 * w, 0.7 * h))
        if i:
            parent, edge = free.pop(draw(st.integers(0, len(free) - 1)))
            angle = draw(st.floats(5.0, 120.0)) * draw(st.sampled_from((1.0, -1.0)))
            bends.append(bend(parent, name, edge, angle, draw(st.floats(1.0, 8.0)), draw(st.floats(-15.0, 15.0))))
        panels.append(panel(name, w, h, u0=u0, holes=holes))
        free += [(name, e) for e in range(0 if i == 0 else 1, 4)]
    return part(t, tuple(panels), *bends)


@settings(max_examples=60, deadline=None)
@given(trees(), st.sampled_from((0.0, 0.3, 0.42, 0.5)))
def test_any_tree_unfolds_and_folds_as_one(p: SheetPart, k: float) -> None:
    try:
        unfold(p, KFactor(value=k))
    except BadInput as error:
        assert "overlaps itself" in str(error)
        assume(False)
    agree(p, k)


@pytest.mark.parametrize("angle", [30.0, -30.0, 90.0, -90.0, 150.0, -150.0])
def test_flat_and_formed_agree_for(angle: float) -> None:
    two = (hole("a", 12.0, 9.0), hole("b", 70.0, 20.0))
    legs = (panel("root", 100.0, 40.0, holes=two), panel("leg", 60.0, 50.0, u0=5.0, holes=(hole("c", 20.0, 10.0), hole("d", 50.0, 33.0))))
    agree(part(3.0, legs, bend("root", "leg", 2, angle, 4.0, 7.0)))
    agree(part(3.0, legs, bend("root", "leg", 3, angle, 4.0, -4.0)))
