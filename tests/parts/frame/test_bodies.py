"""Bodies to look at: volumes against closed forms, rings that a lofting kernel can use."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import pytest

from parts.frame.bodies import SAGITTA_MM, Ring, frame_bodies
from parts.frame.crossmember import Crossmember, CrossmemberSection
from parts.frame.features import FrameHole
from parts.frame.section import Section
from parts.sheet import Vec3
from tests.parts.frame.makers import DEMO_NAMES, at, demo_frame, drawn, frame, station, turned


def cross(p: Vec3, q: Vec3) -> Vec3:
    return p[1] * q[2] - p[2] * q[1], p[2] * q[0] - p[0] * q[2], p[0] * q[1] - p[1] * q[0]


def dot(p: Vec3, q: Vec3) -> float:
    return p[0] * q[0] + p[1] * q[1] + p[2] * q[2]


def minus(p: Vec3, q: Vec3) -> Vec3:
    return p[0] - q[0], p[1] - q[1], p[2] - q[2]


def volume(rings: Sequence[Ring]) -> float:
    """By the divergence theorem over triangles; each ruled quadrilateral by the mean of its two triangulations."""
    home = rings[0][0]

    def cone(a: Vec3, b: Vec3, c: Vec3) -> float:
        return dot(minus(a, home), cross(minus(b, home), minus(c, home))) / 6

    total = 0.0
    for one, two in pairwise(rings):
        for i in range(len(one)):
            a, b, c, d = one[i], one[(i + 1) % len(one)], two[(i + 1) % len(one)], two[i]
            total += (cone(a, b, c) + cone(a, c, d) + cone(a, b, d) + cone(b, c, d)) / 2
    for ring, sign in ((rings[0], -1), (rings[-1], 1)):
        total += sign * sum(cone(ring[0], b, c) for b, c in pairwise(ring[1:]))
    return abs(total)


def sharp(**fields: object) -> Section:
    return Section(**{"flange_mm": 60, "web_mm": 4, "flange_thickness_mm": 4, "open": "inboard", **fields})  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("section", "area"),
    [
        (sharp(), 2 * 60 * 4 + 142 * 4),  # 1048
        # Each corner's chord takes 8 x 8 / 2 = 32 off outside and puts 4 x 4 / 2 = 8 on inside.
        (sharp(inside_radius_mm=4), 1048 - 2 * 32 + 2 * 8),
        (sharp(kind="hat", lip_mm=20), 1048 + 2 * 20 * 4),
        (sharp(kind="closed"), 60 * 150 - 52 * 142),
    ],
    ids=["channel", "channel with corners", "hat", "closed"],
)
def test_straight_rail_is_area_times_length(section: Section, area: float) -> None:
    made = frame(drawn(station("front", 0), station("rear", 3600), section=section))
    for body in frame_bodies(made):
        hollow = volume(body.inner_rings) if body.inner_rings else 0.0
        assert volume(body.rings) - hollow == pytest.approx(area * 3600, rel=1e-12)


@pytest.mark.parametrize(
    ("section", "opens", "area"),
    [
        (CrossmemberSection(kind="channel", depth_mm=100, width_mm=50, thickness_mm=4), "rearward", 92 * 4 + 2 * 50 * 4),
        (CrossmemberSection(kind="channel", depth_mm=40, width_mm=100, thickness_mm=4), "down", 92 * 4 + 2 * 40 * 4),
        (CrossmemberSection(kind="closed", depth_mm=80, width_mm=50, thickness_mm=4), "up", 80 * 50 - 72 * 42),
        (CrossmemberSection(kind="hat", depth_mm=60, width_mm=120, thickness_mm=4, lip_mm=20), "down", 72 * 4 + 2 * 60 * 4 + 2 * 20 * 4),
    ],
    ids=["channel", "channel open below", "closed", "hat"],
)
def test_crossmember_fills_its_box_between_the_webs(section: CrossmemberSection, opens: str, area: float) -> None:
    made = frame(crossmembers=(Crossmember(name="cm", at=at("mid"), section=section, opens=opens, drop_mm=25),))  # type: ignore[arg-type]
    body = next(b for b in frame_bodies(made) if b.kind == "crossmember")
    assert volume(body.rings) - (volume(body.inner_rings) if body.inner_rings else 0.0) == pytest.approx(area * 852, rel=1e-12)
    points = [p for ring in body.rings for p in ring]
    x0, x1, z0, z1 = made.crossmember("cm").box
    assert (min(p[0] for p in points), max(p[0] for p in points)) == pytest.approx((x0, x1))
    assert (min(p[2] for p in points), max(p[2] for p in points)) == pytest.approx((z0, z1))


def test_turned_rail_follows_pappus() -> None:
    """A mitred turn keeps the area of its section along the centroid's own line: web 568 at 2, flanges 480 at 30 mm."""
    sharp_turn = turned(radius=0, section=sharp())
    centroid = (142 * 4 * 2 + 2 * 60 * 4 * 30) / 1048
    body = next(b for b in frame_bodies(frame(sharp_turn)) if b.name == "rail right")
    length = 1500 + 1000 / math.cos(math.radians(8)) - 2 * centroid * math.tan(math.radians(4))
    assert volume(body.rings) == pytest.approx(1048 * length, rel=1e-12)


def test_chords_stay_within_the_sagitta() -> None:
    made = frame(turned(+30, radius=900))
    plan = made.rail("right").plan
    body = next(b for b in frame_bodies(made) if b.name == "rail right")
    worst = 0.0
    for one, two in pairwise(body.rings):
        for p, q in zip(one, two, strict=True):
            offset = plan.project(p[0], p[1])[1]
            worst = max(worst, abs(plan.project((p[0] + q[0]) / 2, (p[1] + q[1]) / 2)[1] - offset))
    assert 0.3 * SAGITTA_MM < worst <= SAGITTA_MM


def test_only_open_holes_are_cut_and_through_one_thickness() -> None:
    holes = (
        FrameHole(name="pin", at=at("mid"), up_mm=75, diameter_mm=16),
        FrameHole(name="rivet", at=at("mid", 200), up_mm=75, diameter_mm=10, filled="rivet"),
        FrameHole(name="drain", at=at("mid", 300), face="lower flange", in_mm=30, diameter_mm=12),
    )
    cuts = next(b for b in frame_bodies(frame(holes=holes)) if b.name == "rail left").cuts
    assert [(c.point, c.direction, c.radius_mm, c.length_mm) for c in cuts] == [
        ((1800, -431, 525), (0, 1, 0), 8, 6),
        ((2100, -400, 449), (0, 0, 1), 6, 6),
    ]


@pytest.mark.parametrize("name", DEMO_NAMES)
def test_bodies_of_the_demo_frames_can_be_lofted(name: str) -> None:
    bodies = frame_bodies(demo_frame(name))
    assert len({b.name for b in bodies}) == len(bodies)
    for body in bodies:
        for rings in (body.rings, body.inner_rings):
            assert len({len(ring) for ring in rings}) <= 1
            for ring in (*rings[:1], *rings[-1:]):
                normal = next(n for p, q in pairwise(ring[1:]) if math.hypot(*(n := cross(minus(p, ring[0]), minus(q, ring[0])))) > 1)
                size = math.hypot(*normal)
                assert max(abs(dot(minus(p, ring[0]), normal)) / size for p in ring) < 1e-9, "both ends are flat"
            for one, two in pairwise(rings):
                assert min(math.dist(p, q) for p, q in zip(one, two, strict=True)) > 1e-3, "no ring touches the next"
        assert volume(body.rings) > 1000
