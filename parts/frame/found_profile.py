"""A rail's side view through the points that were measured on it: heights and depths move, kicks keep their radius.

The upper corner gains a vertex at every place that was measured: these shape outlines and are never bends. Close to a kick no vertex
fits beside the rounded corner: what is measured there moves the kick itself.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from parts.frame.found_plan import Met, clusters
from parts.frame.linear import Linear
from parts.frame.profile import Profile, ProfileStation

ROUNDS = 20  #: each leaves a hundredth of the miss, down to under a micron: square to the rail, a corner's two sides do not meet on it
SAME_MM = 1e-10


def base_profile(drawn: Profile, along: Linear) -> Profile:
    """The drawn side view over s as found: every station as high and as deep as drawn, where it lies now."""
    return Profile(stations=tuple(replace(p, s_mm=p.s_mm + along.at(p.s_mm)) for p in drawn.stations))


def height_of(profile: Profile, face: str, s: float, up_mm: float) -> float:
    """z of a point of a face at s: `up_mm` square from the lower outside face, on the web."""
    if face == "upper flange":
        return profile.upper_z(s)
    if face == "lower flange":
        return profile.lower_z(s)
    return profile.web_point(profile.tape_above(s, up_mm), up_mm)[1]


def found_profile(base: Profile, along: Linear, points: Sequence[Met], deeper: Linear) -> tuple[Profile, Linear]:
    """(the side view as found, how much higher the upper corner lies than drawn, over s as found).

    Args:
        base: see `base_profile`.
        deeper: depth as measured less depth as drawn, over s as found.
    """
    groups = [_own_place(base, [points[i].s_mm + along.at(points[i].s_mm) for i in group]) for group in clusters(points)]
    places = dict.fromkeys(groups)
    members: dict[float, list[Met]] = {place: [] for place in places}
    for place, group in zip(groups, clusters(points), strict=True):
        members[place] += [points[i] for i in group]
    higher = Linear.of((place, 0.0) for place in places)
    profile, before = _through(base, higher, deeper), math.inf
    for _ in range(ROUNDS):
        left = []
        for place, own in members.items():
            misses = [p.point[2] - height_of(profile, p.face, p.s_mm + along.at(p.s_mm), p.up_mm) for p in own]
            left.append((place, sum(misses) / len(misses)))
        worst = max((abs(miss) for _, miss in left), default=0.0)
        if worst <= SAME_MM or worst > before / 2:
            break
        before = worst
        higher = Linear.of((place, higher.at(place) + miss) for place, miss in left)
        profile = _through(base, higher, deeper)
    return profile, higher


def _own_place(base: Profile, group: Sequence[float]) -> float:
    """Where points of one place move the side view: at their middle, or at the kick that they lie on."""
    s = min(max(sum(group) / len(group), 0.0), base.length_mm)
    kick = _kick_at(base, s)
    return s if kick is None else kick


def _kick_at(base: Profile, s: float) -> float | None:
    """s of the station whose kick takes up that place, with its lower corner's arc; of an end of the rail too."""
    for i, p in enumerate(base.stations):
        turn = abs(base.upper.turns_rad[i])
        room = (p.kick_radius_mm + p.depth_mm) * math.tan(turn / 2) + p.depth_mm * abs(math.sin(base.upper.heading(base.upper.vertex_t[i])))
        if abs(s - p.s_mm) <= room + 1.0:
            return p.s_mm
    return None


def _through(base: Profile, higher: Linear, deeper: Linear) -> Profile:
    own = {p.s_mm: p for p in base.stations}
    extra = {s for s in (*higher.places, *deeper.places) if 0.0 < s < base.length_mm and s not in own and _kick_at(base, s) is None}
    stations = []
    for s in sorted({*own, *extra}):
        p = own.get(s) or ProfileStation(s_mm=s, z_mm=base.upper_z(s), depth_mm=base.depth_at(s), kick_radius_mm=0.0)
        stations.append(replace(p, z_mm=p.z_mm + higher.at(s), depth_mm=p.depth_mm + deeper.at(s)))
    return Profile(stations=tuple(stations))
