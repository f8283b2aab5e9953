"""Measured points that no rail runs through: a misread tape, a wrong drawing, a reading in another unit."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

from parts.errors import Fault
from parts.frame.course import misfits
from parts.frame.found_plan import Met, clusters
from parts.frame.linear import Linear
from parts.frame.plan import PlanCurve
from parts.frame.profile import Profile
from parts.frame.rail import Rail

LONGER_SHARE = 0.03  #: a straight that was found longer or shorter than drawn by more is a misread tape or a wrong drawing
KINK_RAD = math.radians(3.0)  #: a rail found steeper than drawn by more: 52 mm in a metre
TURNED_RAD = math.radians(10.0)


def _fault(rail: Rail, one: Met, two: Met, limit: str) -> Fault:
    remedy = "read them again, or check where the drawing has them"
    return Fault(where=rail.name, field="points", value=f"{one.key}, {two.key}", limit=limit, remedy=remedy)


def plan_faults(rail: Rail, plan: PlanCurve, along: Linear, own: Sequence[Met]) -> Iterator[Fault]:
    """Args: `along`, by the places of `clusters(own)`; without any the rail is as drawn."""
    firsts = [own[group[0]] for group in clusters(own)]
    for (one, (p, shift)), (two, (q, other)) in pairwise(zip(firsts, along.knots, strict=False)):
        share = (other - shift) / (q - p)
        if abs(share) > LONGER_SHARE:
            word = "longer" if share > 0 else "shorter"
            limit = f"were measured {abs(other - shift):.1f} mm {word} apart than the {q - p:.0f} mm drawn"
            yield _fault(rail, one, two, limit)
    if own and abs(math.remainder(plan.heading_rad(0.0) - rail.plan.heading_rad(0.0), math.tau)) > TURNED_RAD:
        yield _fault(rail, own[0], own[-1], "would turn the rail by more than 10 deg against the drawing, seen from above")
    if own and (bad := misfits(plan.course.vertices, plan.course.radii_mm)):
        name = rail.station_names[bad[0].vertex]
        limit = f"leave the turn at {name} no room: {bad[0].needed_mm:.1f} mm of straight are needed, {bad[0].available_mm:.1f} mm left"
        yield _fault(rail, own[0], own[-1], limit)


def profile_faults(rail: Rail, profile: Profile, higher: Linear, own: Sequence[Met]) -> Iterator[Fault]:
    if not own:
        one = two = Met(key="section readings", s_mm=0, z_mm=0, in_mm=0, up_mm=0, face="web", point=(0, 0, 0))
    else:
        one, two = own[0], own[-1]
    for (p, a), (q, b) in pairwise(higher.knots):
        if abs(math.atan2(b - a, q - p)) > KINK_RAD:
            near = sorted(own, key=lambda m: (min(abs(m.s_mm - p), abs(m.s_mm - q)), m.key))[:2]
            limit = f"were measured {b - a:+.1f} mm higher and lower than drawn within {q - p:.0f} mm: the rail would be kinked"
            yield _fault(rail, near[0], near[-1], limit)
            return
    thin = [p for p in profile.stations if p.depth_mm <= rail.section.least_depth_mm]
    courses = (profile.upper, profile.lower)
    backward = any(b[0] - a[0] <= 0 for c in courses for a, b in pairwise(c.vertices))
    if thin or backward or any(misfits(c.vertices, c.radii_mm) for c in courses):
        yield _fault(rail, one, two, "heights and depths leave a kick of the rail no room")


