"""Facets that a braked plate lays against a rail, against a rail worked out again here from its stations, point by point.

Sources: plane geometry. A chord of a circle of radius R over an angle a leaves R (1 - cos(a/2)); two tangents that turn by a meet
R (1/cos(a/2) - 1) outside. A line 60 mm off a corner of 8 deg is 2 x 60 tan 4 = 8.391 mm shorter (inside) or longer (outside) than the
corner's own two legs, the '8 mm' by which equal lengths would be wrong. Tolerance: rounding, or the 0.02 mm promised for refitted curves.
"""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import islice, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from parts.errors import BadInput
from parts.frame.faces import Facet, UprightFace
from parts.frame.rail import Rail
from parts.frame.section import Section
from parts.frame.station import DrawnRail, Station
from parts.outline import Path, Point, distance
from tests.parts.bent_rail import FACES, LEG_MM, Bent

CUT_MM = 1e-6  #: rounding: what a facet may seem to go into the rail


def ends(chain: tuple[Facet, ...]) -> list[Point]:
    return [f.start for f in chain] + [chain[-1].plan(chain[-1].length_mm)]


def ray(p: Point, d: Point, chain: list[Point]) -> float:
    """How far from p along +d or -d the chain lies, the nearest; + ahead."""
    found = []
    for a, b in pairwise(chain):
        ex, ey = b[0] - a[0], b[1] - a[1]
        det = d[0] * -ey + d[1] * ex
        if abs(det) < 1e-12:
            continue
        wx, wy = a[0] - p[0], a[1] - p[1]
        t = (wx * -ey + wy * ex) / det
        part = (d[0] * wy - d[1] * wx) / det
        if -1e-9 <= part <= 1 + 1e-9:
            found.append(t)
    return min(found, key=abs)


SHARP = [Bent(turn_deg=t, opens=o) for t in (8.0, -8.0, 25.0, -25.0) for o in ("inboard", "outboard")]
ROUND = [
    Bent(turn_deg=t, turn_radius_mm=r, opens=o)
    for t in (8.0, -8.0, 25.0, -25.0)
    for r in (80.0, 300.0, 1500.0)
    for o in ("inboard", "outboard")
]

MIXED = [SHARP[0], SHARP[2], ROUND[0], ROUND[3], ROUND[10]]


def named(cases: list[Bent]) -> list[str]:
    return [f"{c.turn_deg:g} deg r {c.turn_radius_mm:g} kick {c.kick_deg:g} r {c.kick_radius_mm:g} {c.opens}" for c in cases]


@pytest.mark.parametrize("bent", SHARP + ROUND, ids=named(SHARP + ROUND))
@pytest.mark.parametrize("gap", [0.5, 1.6])
def test_facets_never_cut_the_rail_and_leave_no_more_than_the_gap(bent: Bent, gap: float) -> None:
    for where in FACES:
        chain = bent.face(where).facets(gap_mm=gap)
        line = ends(chain)
        gaps = [ray(p, d, line) for p, d in bent.face_points(where)]
        assert min(gaps) >= -CUT_MM, f"{where}: goes {-min(gaps):.4f} mm into the rail"
        assert max(gaps) <= gap + CUT_MM, where
        told = max(f.gap_mm for f in chain)
        assert all(f.gap_mm == 0.0 for f in chain if all(span.is_line for span in f.spans)), "on a straight there is none"
        assert max(gaps) == pytest.approx(told, abs=0.01), f"{where}: the gap that is told is the gap that is there"
        assert sum(f.turn_rad for f in chain) == pytest.approx(bent.turn)
        for one, two in pairwise(chain):
            assert one.plan(one.length_mm) == pytest.approx(two.start, abs=1e-9)
            assert two.heading_rad - one.heading_rad == pytest.approx(one.turn_rad, abs=1e-9)


@pytest.mark.parametrize("bent", SHARP, ids=named(SHARP))
def test_a_sharp_turn_is_one_bend_and_exact(bent: Bent) -> None:
    for where in FACES:
        chain = bent.face(where).facets(gap_mm=1.6)
        assert len(chain) == 2
        assert max(f.gap_mm for f in chain) == 0.0
        shift = bent.left_offset(where) * math.tan(bent.turn / 2)
        assert [f.length_mm for f in chain] == pytest.approx([LEG_MM - shift, LEG_MM / math.cos(bent.turn) - shift])


@pytest.mark.parametrize("opens", ["inboard", "outboard"])
@pytest.mark.parametrize("where", ["toes", "plate on the toes, its outer face"])
def test_a_turn_whose_radius_is_used_up_at_the_face_is_a_mitre(opens: str, where: str) -> None:
    """Towards the toes with the web's radius 60: none is left 60 mm off, less than none 63 off. The facets are those of a sharp turn."""
    turn = -25.0 if opens == "inboard" else 25.0
    used_up, sharp = Bent(turn_deg=turn, turn_radius_mm=60.0, opens=opens), Bent(turn_deg=turn, opens=opens)
    for one, two in zip(used_up.face(where).facets(gap_mm=1.6), sharp.face(where).facets(gap_mm=1.6), strict=True):
        assert one.start == pytest.approx(two.start)
        assert (one.heading_rad, one.length_mm, one.turn_rad) == pytest.approx((two.heading_rad, two.length_mm, two.turn_rad))
    shift = FACES[where][0] * math.tan(math.radians(12.5))
    first, second = used_up.face(where).facets(gap_mm=1.6)
    assert first.s_end_mm == pytest.approx(LEG_MM - shift)
    assert used_up.length - second.s_start_mm == pytest.approx(LEG_MM / math.cos(used_up.turn) - shift)


@pytest.mark.parametrize("bent", ROUND, ids=named(ROUND))
@pytest.mark.parametrize("gap", [0.2, 1.6, 3.0])
def test_no_bend_more_than_needed(bent: Bent, gap: float) -> None:
    """Outside the turn n bends leave R (1/cos(a/2n) - 1); inside, n chords leave R (1 - cos(a/2n)) and need n + 1 bends."""
    for where in FACES:
        radius, inside = bent.face_radius(where), bent.plate_inside(where)
        bends = len(bent.face(where).facets(gap_mm=gap)) - 1

        def left(n: int, radius: float = radius, inside: bool = inside) -> float:
            half = abs(bent.turn) / (2 * n)
            return radius * (1 - math.cos(half)) if inside else radius * (1 / math.cos(half) - 1)

        steps = bends - 1 if inside else bends
        assert left(steps) <= gap + 1e-9
        assert steps == 1 or left(steps - 1) > gap, f"{where}: {bends} bends where fewer would do"


@pytest.mark.parametrize("bent", [*SHARP[:4], *ROUND[:12]], ids=named([*SHARP[:4], *ROUND[:12]]))
def test_points_go_along_the_webs_normal(bent: Bent) -> None:
    """From the web's point at s to the facet's at u_at(s): square to the web, as far as the offset and at most the gap more."""
    for where in FACES:
        chain = bent.face(where).facets(gap_mm=1.6)
        for facet in chain:
            span = facet.s_end_mm - facet.s_start_mm
            for k in range(1, 20):
                s = facet.s_start_mm + span * k / 20
                u = facet.u_at(s)
                assert facet.s_at(u) == pytest.approx(s, abs=1e-7)
                (x, y), h = bent.web(s)
                p = facet.plan(u)
                along = (p[0] - x) * math.cos(h) + (p[1] - y) * math.sin(h)
                left = -(p[0] - x) * math.sin(h) + (p[1] - y) * math.cos(h)
                assert along == pytest.approx(0.0, abs=1e-7)
                assert -CUT_MM <= (left - bent.left_offset(where)) * bent.away_left(where) <= 1.6 + CUT_MM
                assert facet.point(u, 612.0) == (*p, 612.0)
                assert facet.u_at_x(p[0]) == pytest.approx(u)


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(SHARP + ROUND), st.sampled_from(sorted(FACES)), st.floats(-300.0, 300.0))
def test_past_its_ends_a_facet_runs_straight_on(bent: Bent, where: str, over: float) -> None:
    for facet in bent.face(where).facets(gap_mm=1.6):
        if all(span.is_line for span in facet.spans):
            u = over if over < 0 else facet.length_mm + over
            assert facet.u_at(facet.s_at(u)) == pytest.approx(u, abs=1e-7)
            assert facet.s_at(u) - facet.s_at(0.0) == pytest.approx(u, abs=1e-7)


def plate_length(chain: tuple[Facet, ...], s0: float, s1: float) -> float:
    """Along the facets between the points that face s0 and s1."""
    total = 0.0
    for facet in chain:
        low = facet.u_at(s0) if facet is chain[0] else 0.0
        high = facet.u_at(s1) if facet is chain[-1] else facet.length_mm
        total += high - low
    return total


@pytest.mark.parametrize("radius", [0.0, 300.0])
def test_equal_lengths_would_be_8_mm_wrong(radius: float) -> None:
    """Web from 500 before the turn to 500 after it, the plate 60 mm off on either side, 8 deg. Sharp: 2 x 60 tan 4 = 8.391. Round: the
    face's own curve differs by 60 x 8 pi/180 = 8.378 and the facets by what tangents or chords differ from their arc (below 0.1)."""
    want, within = (8.391, 0.0005) if radius == 0 else (8.378, 0.1)
    for turn in (8.0, -8.0):
        bent = Bent(turn_deg=turn, turn_radius_mm=radius)
        chain = bent.face("toes").facets(gap_mm=1.6)
        s = bent.station_s()
        got = plate_length(chain, s - 500.0, s + 500.0)
        inside = turn < 0  # the right rail's toes point to -Y
        assert got - 1000.0 == pytest.approx(-want if inside else want, abs=within)
        back = bent.face("back").facets(gap_mm=1.6)
        assert plate_length(back, s - 500.0, s + 500.0) == pytest.approx(1000.0, abs=within)


@pytest.mark.parametrize("bent", MIXED, ids=named(MIXED))
def test_left_mirrors_right(bent: Bent) -> None:
    kicked = Bent(turn_deg=bent.turn_deg, turn_radius_mm=bent.turn_radius_mm, kick_deg=12.0, kick_radius_mm=150.0, opens=bent.opens)
    for where in FACES:
        right, left = kicked.face(where, "right"), kicked.face(where, "left")
        assert left.normal_sign == -right.normal_sign
        assert right.normal_sign == kicked.away_left(where)
        for one, two in zip(right.facets(gap_mm=1.6), left.facets(gap_mm=1.6), strict=True):
            assert two.start == pytest.approx((one.start[0], -one.start[1]))
            assert two.heading_rad == pytest.approx(-one.heading_rad, abs=1e-12)
            assert two.turn_rad == pytest.approx(-one.turn_rad, abs=1e-12)
            assert (two.length_mm, two.s_start_mm, two.s_end_mm, two.gap_mm) == pytest.approx(
                (one.length_mm, one.s_start_mm, one.s_end_mm, one.gap_mm)
            )
            middle = (one.s_start_mm + one.s_end_mm) / 2
            assert two.u_at(middle) == pytest.approx(one.u_at(middle))
            paths = [f.mapped(r.profile.upper_path(), 0.0, f.length_mm) for f, r in ((one, right.rail), (two, left.rail))]
            for k in range(11):
                u = one.length_mm * k / 10
                assert paths[1].y_at(u) == pytest.approx(paths[0].y_at(u), abs=1e-6)


KICKED = [
    Bent(turn_deg=t, turn_radius_mm=r, kick_deg=18.0, kick_radius_mm=k, opens=o)
    for t, o in ((8.0, "inboard"), (-8.0, "inboard"), (8.0, "outboard"))
    for r, k in ((0.0, 0.0), (0.0, 200.0), (300.0, 0.0), (300.0, 200.0), (1500.0, 400.0), (90.0, 700.0))
]


@pytest.mark.parametrize("bent", KICKED, ids=named(KICKED))
def test_heights_at_a_kick_that_turns(bent: Bent) -> None:
    """The upper edge on each facet, point by point: the rail's own height at the foot of the web's normal, to 0.02 mm.

    Past a mitre the facet's own leg of the rail is taken straight on, so there the height is that leg's, not the next one's.
    """
    for where in FACES:
        face = bent.face(where)
        profile = face.rail.profile.upper_path()
        chains = islice(face.chains(1.6), 3)  # with bend lines beside the kick too
        for facet in (f for chain in chains for f in chain):
            line = facet.mapped(profile, 0.0, facet.length_mm)
            assert line.points[0][0] == pytest.approx(0.0, abs=1e-9)
            assert line.points[-1][0] == pytest.approx(facet.length_mm, abs=1e-9)
            for k in range(31):
                u = facet.length_mm * (1 - math.cos(math.pi * k / 30)) / 2  # close where facets meet
                s = foot(bent, facet.plan(u))
                if bent.turn_radius_mm == 0.0:
                    if not facet.s_start_mm <= own_foot(bent, facet, u) <= facet.s_end_mm:
                        continue
                    s = own_foot(bent, facet, u)
                assert line.y_at(u) == pytest.approx(bent.height(s), abs=0.02), (where, u)


def own_foot(bent: Bent, facet: Facet, u: float) -> float:
    """Foot on the facet's own leg of a sharp turn, taken straight on."""
    x, y = facet.plan(u)
    if abs(facet.heading_rad) < 1e-9:
        return x
    return LEG_MM + (x - LEG_MM) * math.cos(bent.turn) + (y - 800.0) * math.sin(bent.turn)


def foot(bent: Bent, p: Point) -> float:
    """s of the point of the web nearest to p, by bisection of what lies ahead along the tangent (a turn of up to 90 deg)."""
    low, high = -500.0, bent.length + 500.0
    for _ in range(55):
        middle = (low + high) / 2
        (x, y), h = bent.web(middle)
        ahead = (p[0] - x) * math.cos(h) + (p[1] - y) * math.sin(h)
        low, high = (middle, high) if ahead > 0 else (low, middle)
    return (low + high) / 2


def test_a_sharp_kick_by_hand() -> None:
    """Turn 8 deg, kick 18 deg, both sharp, at x 1500: the toes' inner facets end at foot 1500 -/+ 60 tan 4 = 4.196. On the second one at
    u the web's s is 1504.196 + u and the height 600 + (s - 1500) 1500 tan 18 / (1500 / cos 8)."""
    bent = Bent(turn_deg=-8.0, kick_deg=18.0)
    face = bent.face("toes")
    one, two = face.facets(gap_mm=1.6)
    assert one.length_mm == pytest.approx(1500.0 - 60.0 * math.tan(math.radians(4.0)))
    path = two.mapped(face.rail.profile.upper_path(), 0.0, 800.0)
    slope = math.tan(math.radians(18.0)) * math.cos(math.radians(8.0))
    assert len(path.segments) == 1
    assert path.y_at(700.0) == pytest.approx(600.0 + (60.0 * math.tan(math.radians(4.0)) + 700.0) * slope)
    assert two.turn_rad == 0.0
    assert face.facet_at(1400.0).start == one.start
    assert face.facet_at(1600.0).start == two.start
    assert face.facet_at(bent.length + 50.0).start == two.start


def test_a_line_that_is_parallel_keeps_its_exact_arcs() -> None:
    bent = Bent(turn_deg=8.0, turn_radius_mm=300.0)
    first = bent.face("toes").facets(gap_mm=1.6)[0]
    profile = Path(((0.0, 500.0), (400.0, 500.0), (500.0, 520.0), (3000.0, 520.0)), (0.0, 0.1, 0.0))
    mapped = first.mapped(profile, 300.0, 900.0)
    assert mapped.bulges == (0.0, 0.1, 0.0)
    assert mapped.points[1] == pytest.approx((400.0, 500.0))
    clipped = first.mapped(profile, 450.0, 900.0)
    assert clipped.segments[0].radius == pytest.approx(profile.segments[1].radius)
    assert distance(clipped.segments[0].centre, profile.segments[1].centre) < 1e-6


@pytest.mark.parametrize("bent", ROUND[::3], ids=named(ROUND[::3]))
def test_other_chains_hold_the_gap_too(bent: Bent) -> None:
    for where in FACES:
        chains = list(bent.face(where).chains(1.6))
        assert len(chains) >= 4
        assert len(chains[0]) == min(len(c) for c in chains), "the fewest bends first"
        assert len({tuple(round(p[0], 4) for p in ends(c)) for c in chains}) == len(chains), "each one different"
        for chain in chains:
            line = ends(chain)
            gaps = [ray(p, d, line) for p, d in bent.face_points(where, 300)]
            assert min(gaps) >= -CUT_MM
            assert max(gaps) <= 1.6 + CUT_MM


def rail_through(*stations: tuple[float, float, float], opens: str = "outboard") -> Rail:
    """(x, y, turn radius) of each station."""
    section = Section(flange_mm=60, web_mm=4, flange_thickness_mm=4, open="outboard" if opens == "outboard" else "inboard")
    drawn = tuple(
        Station(name=f"s{i}", x_mm=x, y_mm=y, z_mm=600, depth_mm=150, turn_radius_mm=r) for i, (x, y, r) in enumerate(stations)
    )
    return Rail.of(DrawnRail(side="right", section=section, stations=drawn), "right")


def on(rail: Rail, offset: float, away: int) -> UprightFace:
    return UprightFace(name="f", rail=rail, offset_mm=offset, away=away, s0_mm=0.0, s1_mm=rail.length_s_mm, stack_mm=0.0, thickness_mm=4.0)


def test_arcs_that_touch_leave_no_facet_without_a_length() -> None:
    """Two turns of 10 deg to one side whose arcs meet half way, and one whose arc begins at the rail's very front."""
    leg, a = 400.0, math.radians(10.0)
    radius = leg / 2 / math.tan(a / 2)
    stations = [(0.0, 500.0, 0.0)]
    heading = 0.0
    for k in range(3):
        x, y, _ = stations[-1]
        stations.append((x + leg * math.cos(heading), y + leg * math.sin(heading), radius if k < 2 else 0.0))
        heading += a
    rail = rail_through(*stations)
    for offset, away in ((0.0, -1), (60.0, 1), (0.0, 1)):
        chain = on(rail, offset, away).facets(gap_mm=1.6)
        assert min(f.length_mm for f in chain) > 1.0
        assert sum(f.turn_rad for f in chain) == pytest.approx(2 * a)
        for one, two in pairwise(chain):
            assert two.heading_rad - one.heading_rad == pytest.approx(one.turn_rad, abs=1e-6)
    mid = radius * math.tan(a / 2)
    whole = rail_through((0.0, 500.0, 0.0), (mid, 500.0, radius), (1500.0, 500.0 + (1500.0 - mid) * math.tan(a), 0.0))
    chain = on(whole, 0.0, 1).facets(gap_mm=1.6)
    assert min(f.length_mm for f in chain) > 1.0
    assert chain[0].start == pytest.approx((0.0, 500.0), abs=1e-6)


def test_turns_that_use_up_the_straight_between_them_are_refused() -> None:
    """Two sharp turns of 25 deg to the toes' side 20 mm apart: the toes, 60 mm off, lose 60 tan 12.5 = 13.3 mm to each."""
    a = math.radians(25.0)
    far = (1020.0 * 1.0, 500.0 + 20.0 * math.tan(a))
    rail = rail_through((0.0, 500.0, 0.0), (1000.0, 500.0, 0.0), (*far, 0.0), (1800.0, far[1] + 780.0 * math.tan(2 * a), 0.0))
    with pytest.raises(BadInput) as caught:
        on(rail, 60.0, 1).facets(gap_mm=1.6)
    (fault,) = caught.value.faults
    assert fault.where == "rail right"
    assert "25.0 and 25.0 deg" in fault.limit
    assert "x = 9" in fault.limit or "x = 10" in fault.limit
    assert fault.remedy
    with pytest.raises(BadInput):
        next(on(rail, 60.0, 1).chains(1.6))
    assert len(on(rail, 0.0, -1).facets(gap_mm=1.6)) == 3


def test_a_turn_elsewhere_on_the_rail_is_no_concern_of_a_face() -> None:
    """Of the rail above, a face that ends 300 mm before the first turn: one facet, no fault."""
    a = math.radians(25.0)
    y = 500.0 + 20.0 * math.tan(a)
    rail = rail_through((0.0, 500.0, 0.0), (1000.0, 500.0, 0.0), (1020.0, y, 0.0), (1800.0, y + 780.0 * math.tan(2 * a), 0.0))
    short = replace(on(rail, 60.0, 1), s1_mm=700.0)
    (facet,) = short.facets(gap_mm=1.6)
    assert facet.start == pytest.approx((0.0, 560.0))
    assert facet.heading_rad == pytest.approx(0.0)


@pytest.mark.parametrize("before", [0.05, 0.15, 0.19])
def test_a_corner_a_hair_from_a_facets_edge_leaves_no_edge_too_short_to_cut(before: float) -> None:
    """A kick of 18 deg `before` mm from the facet's end: the line on to it misses the corner by less than `before` sin 18, under 0.1 mm."""
    facet = Bent(turn_deg=8.0).face("back").facets(gap_mm=1.6)[0]
    slope = math.tan(math.radians(18.0))
    for kick in (LEG_MM - before, before):
        profile = Path(((0.0, 600.0), (kick, 600.0), (3000.0, 600.0 + (3000.0 - kick) * slope)), (0.0, 0.0))
        line = facet.mapped(profile, 0.0, facet.length_mm)
        assert min(s.length for s in line.segments) >= 0.2
        for u in (0.0, before, 500.0, LEG_MM - before, LEG_MM):
            assert line.y_at(u) == pytest.approx(profile.y_at(u), abs=0.1)
        assert line.y_at(0.0) == pytest.approx(profile.y_at(0.0), abs=1e-9), "the edges that meet at a bend stay as they are"
        assert line.y_at(LEG_MM) == pytest.approx(profile.y_at(LEG_MM), abs=1e-9)
