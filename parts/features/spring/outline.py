"""The plate's outline: the box round its holes with the edge distances, and its corners."""

from __future__ import annotations

import math

from parts.errors import Fault
from parts.features.bracket.site import stretch_at
from parts.features.spring.site import Site
from parts.frame.course import Course
from parts.outline import Contour, Point, rectangle
from parts.segment import Segment

EDGE_THICKNESSES = 2.0  #: hole edge to the plate's own edge: TM 9-2320-289-34 p. 9-7
EDGE_DIAMETERS = 1.0  #: common practice, no source: so that a thin plate does not tear out
STRAIGHT_MM = 1.0  #: of each side, left between its corners
SAMPLE_MM = 5.0
OVER_MM = 1e-6
KICK_RAD = math.radians(0.5)  #: a long edge that leans no more than this off the rail counts as parallel to it


def edges_mm(site: Site) -> tuple[float, float]:
    """From the holes' edges to the plate's: (along the rail, across it)."""
    doubler = site.doubler
    least = max(EDGE_THICKNESSES * site.thickness_mm, EDGE_DIAMETERS * site.bolting.drill_mm)
    along, across = doubler.edge_along_mm, doubler.edge_across_mm
    return least if along is None else along, least if across is None else across


def outline_of(site: Site) -> Contour | Fault:
    """In (a, b), counter-clockwise."""
    radius = site.bolting.drill_mm / 2
    off_a, off_b = (radius + e for e in edges_mm(site))
    half_a = max(abs(a) for a, _ in site.centres) + off_a
    half_b = max(abs(b) for _, b in site.centres) + off_b
    box = rectangle(-half_a, -half_b, half_a, half_b)
    corner, most = site.doubler.corner_mm, min(half_a, half_b) - STRAIGHT_MM / 2
    if corner is None:
        # Round: about the corner hole's centre. Clipped: as near to that centre as the nearer edge is, (a + b - leg) / sqrt 2 at least.
        share = 1.0 if site.doubler.corners == "rounded" else 2.0 - math.sqrt(2.0)
        corner = min(share * min(off_a, off_b), most)
    if corner > most:
        limit = f"the plate is {2 * half_a:.1f} x {2 * half_b:.1f} mm: at most {most:.1f} mm leaves a side {STRAIGHT_MM:g} mm straight"
        return site.fault("corner", f"{corner:g} mm", limit, "a smaller corner, or leave it out")
    if not corner:
        return box
    if site.doubler.corners == "rounded":
        return box.rounded(corner)
    return Contour.of([s for side in box.segments for s in _clipped(side, corner)])


def _clipped(side: Segment, leg: float) -> tuple[Segment, Segment]:
    """A side less a leg at either end, and the slanted edge to the next side, which turns off to the left."""
    a, b = side.point_at(leg / side.chord), side.point_at(1.0 - leg / side.chord)
    (x, y), (ex, ey) = side.b, ((side.b[0] - side.a[0]) / side.chord, (side.b[1] - side.a[1]) / side.chord)
    return Segment(a, b), Segment(b, (x - ey * leg, y + ex * leg))


def off_rail(site: Site, outline: Contour) -> list[Fault]:
    """Where the plate does not lie flat on the web: over a turn or a kick, past the rail's end, over the corners to the flanges."""
    points = _samples(outline)
    us = [site.uz(a, b)[0] for a, b in points]
    places = [site.sz(a, b) for a, b in points]
    s0, s1 = min(s for s, _ in places), max(s for s, _ in places)
    out = [*_turns(site, s0, s1, min(us), max(us)), *_kicks(site, s0, s1)]
    if out:
        return out
    for which, by in _past_flat(site, places).items():
        if by > OVER_MM:
            across = edges_mm(site)[1]
            x0, y0, x1, y1 = outline.box  # the corners shrink with the edge distance: its remedy reckons with none
            sharp = [site.sz(a, b) for a, b in _samples(rectangle(x0, y0, x1, y1))]
            least = across - _past_flat(site, sharp)[which]
            limit = f"its {which} edge would lie {by:.1f} mm past the web's flat on {site.rail.name}, where the corner begins"
            remedy = f"at most {_down(least)} mm" if least >= 1.0 else "a smaller bolt, or leave out the hole nearest to that flange"
            out.append(site.fault("edge_across", f"{across:.1f} mm", limit, remedy))
    return out


def _past_flat(site: Site, places: list[Point]) -> dict[str, float]:
    """How far places of the unrolled web lie past its flat, square to the rail: upright distances on a slope are longer."""
    square, out = math.cos(site.slope_rad), {"lower": 0.0, "upper": 0.0}
    for s, z in places:
        low, high = site.rail.web_flat(min(max(s, 0.0), site.rail.length_s_mm), inside=site.inside)
        out = {"lower": max(out["lower"], (low - z) * square), "upper": max(out["upper"], (z - high) * square)}
    return out


def _samples(outline: Contour) -> list[Point]:
    return [
        s.point_at(k / n) for s in outline.segments for n in [max(2, math.ceil(s.length / SAMPLE_MM))] for k in range(n)
    ]


def _turns(site: Site, s0: float, s1: float, u0: float, u1: float) -> list[Fault]:
    """The plate is one flat piece: all of it on one straight of the rail, and short of the next one's face."""
    rail, pieces = site.rail, site.rail.plan.pieces()
    stretch = stretch_at(rail, (s0 + s1) / 2)
    first, last = stretch.begin_mm <= pieces[0].begin_mm, stretch.end_mm >= pieces[-1].end_mm
    end, turn = f"past the end of {rail.name}", f"into the turn of {rail.name}"
    what = (
        (max(stretch.begin_mm - s0, -u0), "front", end if first else turn),
        (max(s1 - stretch.end_mm, u1 - site.facet.length_mm), "rear", end if last else turn),
    )
    along = edges_mm(site)[0]
    out = []
    for over, which, where in what:
        if over > OVER_MM:
            limit = f"its {which} end would lie {over:.1f} mm {where}: it is one flat plate"
            out.append(site.fault("edge_along", f"{along:.1f} mm", limit, _shorter(along, over)))
    return out


def _shorter(along: float, over: float) -> str:
    if along - over >= 1.0:
        return f"at most {_down(along - over)} mm"
    return "leave out the hole nearest to it, or use a rail_plate, which follows a turn"


def _down(most: float) -> str:
    """Rounded so that what is typed in does."""
    return f"{math.floor(10 * most + 1e-6) / 10:g}"


def _kicks(site: Site, s0: float, s1: float) -> list[Fault]:
    """Its long edges are parallel to the rail there: the rail's upper corner is straight over all of it."""
    course: Course = site.rail.profile.upper
    t0, t1 = (course.t_at_first(min(max(s, 0.0), site.rail.length_s_mm)) for s in (s0, s1))
    bent = [p for p in course.stretches if p.begin_mm < t1 - OVER_MM and p.end_mm > t0 + OVER_MM]
    off = [abs(p.heading_at(t) - site.slope_rad) for p in bent for t in (max(p.begin_mm, t0), min(p.end_mm, t1))]
    worst = max(off, default=0.0)
    if worst <= KICK_RAD:
        return []
    field, value = site.doubler.asked
    limit = f"{site.rail.name} kicks by {math.degrees(worst):.1f} deg under the plate: its long edges cannot follow"
    return [site.fault(field, value, limit, "a smaller edge_along, fewer holes, or a rail_plate, which follows a kick")]
