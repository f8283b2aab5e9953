"""Bodies of the frame as solids: volumes worked by hand, holes drilled straight into the skin or cut by the kernel, odd outlines."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from parts.errors import BadInput
from parts.frame.bodies import Body, Cylinder, Ring
from parts.sheet import Vec3
from parts.skin import skin_of
from parts.solid import body_shape, is_valid, volume_mm3

RELATIVE = 1e-9
CHANNEL = ((0, 0), (60, 0), (60, 4), (4, 4), (4, 146), (60, 146), (60, 150), (0, 150))  # 150 x 60 x 4, sharp: 4 (2 x 60 + 142) mm²
CHANNEL_MM2 = 4 * (2 * 60 + 142)


def ring(x: float, outline: tuple[tuple[float, float], ...] = CHANNEL, y: float = 0.0, z: float = 0.0, size: float = 1.0) -> Ring:
    return tuple((x, y + size * a, z + size * b) for a, b in outline)


def channel(*stations: Ring, cuts: tuple[Cylinder, ...] = ()) -> Body:
    return Body(name="rail left", kind="rail", rings=stations, cuts=cuts)


def drill(point: Vec3, direction: Vec3, radius_mm: float, length_mm: float = 6.0) -> Cylinder:
    return Cylinder(point=point, direction=direction, radius_mm=radius_mm, length_mm=length_mm)


def volume(body: Body) -> float:
    made = body_shape(body)
    assert is_valid(made)
    return volume_mm3(made)


@pytest.mark.parametrize("turned", [False, True], ids=["one way round", "the other"])
def test_a_channel_with_a_hole_whichever_way_its_outline_runs(turned: bool) -> None:
    near, far = ring(0.0), ring(1000.0)
    body = channel(*((near[::-1], far[::-1]) if turned else (near, far)), cuts=(drill((200, -1, 75), (0, 1, 0), 6.5),))
    assert len(skin_of(body).drills) == 1
    assert volume(body) == pytest.approx(1000 * CHANNEL_MM2 - 4 * math.pi * 6.5**2, rel=RELATIVE)


def test_a_joggled_channel_keeps_its_section() -> None:
    # A section square to x that shifts by (y, z) along x sweeps its area times the advance along x (Cavalieri).
    body = channel(ring(0.0), ring(400.0), ring(700.0, y=30.0, z=80.0), ring(1200.0, y=30.0, z=80.0))
    assert volume(body) == pytest.approx(1200 * CHANNEL_MM2, rel=RELATIVE)


def test_a_frustum_has_the_volume_of_the_prismoid() -> None:
    square = ((-10, -10), (10, -10), (10, 10), (-10, 10))
    body = Body(name="stub", kind="bracket", rings=(ring(0.0, square), ring(30.0, square, size=0.5)))
    assert volume(body) == pytest.approx(30 / 3 * (400 + 100 + math.sqrt(400 * 100)), rel=RELATIVE)


def test_a_twisted_side_is_split_into_triangles() -> None:
    square = ((0, 0), (10, 0), (10, 10), (0, 10))
    skewed = ((0, 0), (10, 3), (10, 13), (0, 10))
    skin = skin_of(Body(name="stub", kind="bracket", rings=(ring(0.0, square), ring(20.0, skewed))))
    assert sorted(len(f.rings[0]) for f in skin.facets) == [3, 3, 3, 3, 4, 4, 4, 4]


def test_a_tube_is_hollow() -> None:
    sides = [(math.cos(k * math.tau / 24), math.sin(k * math.tau / 24)) for k in range(24)]
    outer, inner = (tuple((r * a, r * b) for a, b in sides) for r in (30.0, 26.0))
    body = Body(
        name="crossmember mid",
        kind="crossmember",
        rings=(ring(0.0, outer), ring(700.0, outer)),
        inner_rings=(ring(0.0, inner), ring(700.0, inner)),
    )
    polygon = 24 / 2 * math.sin(math.tau / 24)  # area of a regular 24-gon of radius 1
    assert volume(body) == pytest.approx(700 * polygon * (30**2 - 26**2), rel=RELATIVE)


def test_holes_square_through_one_wall_are_drilled_into_the_skin() -> None:
    cuts = (drill((200, -1, 75), (0, 1, 0), 6.5), drill((300, -1, 75), (0, 1, 0), 6.5), drill((250, 30, 151), (0, 0, -1), 9.0))
    body = channel(ring(0.0), ring(1000.0), cuts=cuts)
    skin = skin_of(body)
    assert (len(skin.drills), len(skin.cuts)) == (3, 0)
    assert volume(body) == pytest.approx(1000 * CHANNEL_MM2 - 4 * math.pi * (2 * 6.5**2 + 9.0**2), rel=RELATIVE)


def test_holes_that_bite_an_edge_or_each_other_or_stand_askew_are_cut_by_the_kernel() -> None:
    tilted = drill((600, -1.5, 75), (math.sin(0.1), math.cos(0.1), 0), 6.5, 8.0)
    edge = drill((400, 58, 151), (0, 0, -1), 9.0)
    twins = (drill((200, -1, 75), (0, 1, 0), 10.0), drill((215, -1, 75), (0, 1, 0), 10.0))
    body = channel(ring(0.0), ring(1000.0), cuts=(*twins, edge, tilted))
    skin = skin_of(body)
    assert (len(skin.drills), len(skin.cuts)) == (1, 3)
    lens = 2 * 10**2 * math.acos(7.5 / 10) - 15 / 2 * math.sqrt(4 * 10**2 - 15**2)  # two circles of 10, 15 apart
    segment = 9.0**2 * math.acos(2 / 9.0) - 2 * math.sqrt(9.0**2 - 2**2)  # what hangs over the toe, 2 from the centre
    removed = 4 * (2 * math.pi * 10**2 - lens) + 4 * (math.pi * 9.0**2 - segment) + 4 / math.cos(0.1) * math.pi * 6.5**2
    assert volume(body) == pytest.approx(1000 * CHANNEL_MM2 - removed, rel=RELATIVE)


def test_a_hole_near_a_station_where_the_web_stays_flat_is_drilled() -> None:
    body = channel(ring(0.0), ring(500.0), ring(1000.0, z=100.0), cuts=(drill((498, -1, 75), (0, 1, 0), 6.5),))
    assert len(skin_of(body).drills) == 1
    assert volume(body) == pytest.approx(1000 * CHANNEL_MM2 - 4 * math.pi * 6.5**2, rel=RELATIVE)


@pytest.mark.parametrize("bad", [float("nan"), float("inf"), 1e9])
def test_points_out_of_reach_are_refused(bad: float) -> None:
    body = channel(ring(0.0), ring(bad))
    with pytest.raises(BadInput, match="frame rail left"):
        body_shape(body)
    with pytest.raises(BadInput, match="frame rail left"):
        body_shape(replace(body, rings=(ring(0.0), ring(10.0)), cuts=(drill((5, bad, 75), (0, 1, 0), 6.5),)))
