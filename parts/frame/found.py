"""The frame as it was found: its rails through the points that were measured, left and right apart, and everything on them.

Per rail, the drawn plan with its drawn turns is laid on the rail's points (`found_plan.py`); heights and depths shape its side view
(`found_profile.py`); every place moves along the rail with the points on both sides of it; a hole that was measured itself lies where it
was measured. How the web stands off that upright shape is kept as a gap (`found_rail.py`): nothing that was measured becomes a bend.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import TYPE_CHECKING

from parts.errors import BadInput
from parts.frame.found_faults import plan_faults, profile_faults
from parts.frame.found_plan import FoundPlan, Met, clusters, found_plan
from parts.frame.found_profile import base_profile, found_profile, height_of
from parts.frame.found_rail import FoundRail
from parts.frame.found_section import found_section
from parts.frame.linear import Linear
from parts.frame.names import unknown_place
from parts.frame.placed import across_of
from parts.frame.placing import SIDES
from parts.frame.rail import Rail
from parts.frame.section import RailSide
from parts.sheet import Vec3

if TYPE_CHECKING:
    from parts.frame.frame import Frame
    from parts.frame.measured import SectionReading

SAME_MM = 1e-6  #: a point this near to its drawn place is as drawn
OVER_EACH_OTHER_MM = 40.0  #: two points at one place, this far apart in height, tell how the web leans


@dataclass(frozen=True, kw_only=True, eq=False)
class Found:
    """What a frame as found was made from: the frame as drawn, the measured points and the section readings."""

    drawn: Frame
    points: Mapping[str, Vec3]
    sections: tuple[SectionReading, ...]
    rails: Mapping[RailSide, Rail]


def as_found(frame: Frame, points: Mapping[str, Vec3], sections: Sequence[SectionReading] = ()) -> Frame:
    """The same frame, its rails as they were measured. With every point and section as drawn it is the frame itself.

    Args:
        points: control point key -> measured (x, y, z) in mm, in the datum of the frame file; points that are left out have no say.
        sections: readings of the rails' sections; of a rail without points they still count.

    Raises:
        BadInput: a key that is no control point, or points that no such rail can run through.
    """
    drawn = frame.found.drawn if frame.found is not None else frame
    known = drawn.control_coordinates
    faults = [unknown_place(key, known, "the frame has no control point", field="points") for key in points if key not in known]
    if faults:
        raise BadInput(faults)
    rails: dict[RailSide, Rail] = {}
    for side in SIDES:
        try:
            rails[side] = _rail_found(drawn, side, points, sections)
        except BadInput as error:
            faults += error.faults
    if faults:
        raise BadInput(faults)
    if all(_as_drawn(rail) for rail in rails.values()):
        return drawn
    rails = {side: _leaning(rails, side) for side in SIDES}
    found = Found(drawn=drawn, points=MappingProxyType(dict(points)), sections=tuple(sections), rails=MappingProxyType(rails))
    return drawn.lying(found)


def met_on(frame: Frame, side: RailSide, points: Mapping[str, Vec3]) -> tuple[Met, ...]:
    """The measured points of one rail, each with its place on the frame as drawn."""
    found = []
    for point in frame.control_points:
        if side not in point.sides or point.key(side) not in points:
            continue
        place = frame.control_place(point, side)
        at = point.position.at
        is_hole = across_of(point) is None and at is not None and not point.position.offset_mm and (side, at) in frame.hole_keys
        found.append(
            Met(
                key=point.key(side), s_mm=place.s_mm, z_mm=place.z_mm, in_mm=place.in_mm, up_mm=place.up_mm,
                face=_face(frame, side, place.in_mm, at, is_hole, point.face if across_of(point) is not None else "upper flange"),
                point=points[point.key(side)], hole=at if is_hole and at is not None else "",
            )
        )  # fmt: skip
    return tuple(found)


def _face(frame: Frame, side: RailSide, in_mm: float, at: str | None, is_hole: bool, own: str) -> str:
    return frame.hole(at, side).face if is_hole and at is not None else own


def _rail_found(frame: Frame, side: RailSide, points: Mapping[str, Vec3], sections: Sequence[SectionReading]) -> Rail:
    """Raises BadInput: no such rail runs through its points."""
    rail = frame.rail(side)
    own = met_on(frame, side, points)
    readings = _sections_on(rail, sections)
    if not own and not readings:
        return rail
    laid = FoundPlan(plan=rail.plan, along=Linear(), aside=(0.0,) * len(own))
    as_drawn = all(math.dist(p.point, rail.point(p.s_mm, p.z_mm, p.in_mm)) <= SAME_MM for p in own)
    if not as_drawn:
        laid = found_plan(rail.plan, own)
    plan, along, aside = laid.plan, laid.along, laid.aside
    if faults := list(plan_faults(rail, plan, along, own)):
        raise BadInput(faults)
    base = rail.profile if as_drawn else base_profile(rail.profile, along)
    section = found_section(rail.section, base, [(s + along.at(s), r) for s, r in readings])
    profile, higher = rail.profile, Linear.of((p.s_mm, 0.0) for p in own)
    if not as_drawn or _differs(section.deeper):  # else as drawn to the last digit
        profile, higher = found_profile(base, along, own, section.deeper)
    if faults := list(profile_faults(rail, profile, higher, own)):
        raise BadInput(faults)
    groups = clusters(own)
    at = [sum(own[i].s_mm + along.at(own[i].s_mm) for i in g) / len(g) for g in groups]
    found = FoundRail(
        drawn=rail, along=along, higher=higher, base=base, section=section,
        aside=Linear.of((s, sum(aside[i] for i in g) / len(g)) for s, g in zip(at, groups, strict=True)),
        aside_z=Linear.of((s, sum(own[i].point[2] for i in g) / len(g)) for s, g in zip(at, groups, strict=True)),
        lean=Linear.of((s, lean) for s, g in zip(at, groups, strict=True) if (lean := _own_lean(own, aside, g)) is not None),
    )  # fmt: skip
    return _placed(replace(rail, plan=plan, profile=profile), found, own)


def _sections_on(rail: Rail, sections: Sequence[SectionReading]) -> list[tuple[float, SectionReading]]:
    """(s as drawn, reading) of those on this rail."""
    found = []
    for reading in sections:
        if rail.side in reading.sides:
            try:
                found.append((rail.s_at(reading.position), reading))
            except BadInput as error:
                raise BadInput(fault.inside(f"section_reading {reading.name}") for fault in error.faults) from None
    return found


def _differs(*lines: Linear) -> bool:
    return any(abs(value) > SAME_MM for line in lines for _, value in line.knots)


def _as_drawn(rail: Rail) -> bool:
    found = rail.found
    if found is None:
        return True
    section = found.section
    flanges = (section.upper_away, section.lower_away, section.upper_wider, section.lower_wider)
    known = (section.deeper, section.at_web, section.at_toe, *flanges, found.higher)
    return rail == found.drawn and not _differs(*known)


def _placed(rail: Rail, found: FoundRail, own: Sequence[Met]) -> Rail:
    """The rail with every name of the drawn one at its place as found."""
    drawn, profile = found.drawn, rail.profile
    if rail.plan == drawn.plan and profile == drawn.profile:
        return replace(rail, found=replace(found, lean_known=found.lean.known))
    places = {name: profile.tape(found.s_of(drawn.profile.s_of_tape(tape))) for name, tape in drawn.places.items()}
    across: dict[str, float] = {}
    for met in own:
        if not met.hole:
            continue
        s, offset = rail.plan.project(met.point[0], met.point[1])
        if met.face == "web":
            places[met.hole], across[met.hole] = profile.tape_and_up(s, met.point[2])
        else:
            places[met.hole] = profile.tape(s) if met.face == "upper flange" else profile.tape_above(s, 0.0)
            across[met.hole] = offset
    found = replace(found, across=MappingProxyType(across), lean_known=found.lean.known)
    return replace(rail, places=MappingProxyType(places), found=found)


# --- how the webs lean ---


def _own_lean(own: Sequence[Met], aside: Sequence[float], group: Sequence[int]) -> float | None:
    """mm aside for every mm up, between the lowest and the highest point of one place."""
    low, high = min(group, key=lambda i: own[i].point[2]), max(group, key=lambda i: own[i].point[2])
    rise = own[high].point[2] - own[low].point[2]
    return (aside[high] - aside[low]) / rise if rise >= OVER_EACH_OTHER_MM else None


def _leaning(rails: Mapping[RailSide, Rail], side: RailSide) -> Rail:
    """Where no two points over each other say how a web leans, it leans as the pair of rails rolls: both are square to what joins them."""
    rail, other = rails[side], rails["left" if side == "right" else "right"]
    found, beside = rail.found, other.found
    if found is None or beside is None or found.lean.known or not found.aside.known or not beside.aside.known:
        return rail
    lean = []
    ahead = [rail.plan.s_at_x(other.plan.point(s)[0]) for s in beside.higher.places]
    for s in sorted({*found.higher.places, *ahead}):
        x, y = rail.plan.point(s)
        across = other.plan.s_at_x(x)
        width = (y - other.plan.point(across)[1]) * (1 if side == "right" else -1)
        climbs = (found.higher.at(s) - beside.higher.at(across)) * (1 if side == "right" else -1)
        lean.append((s, -climbs / width * rail.opening_sign))
    return replace(rail, found=replace(found, lean=Linear.of(lean), lean_known=True))


def misses(frame: Frame, side: RailSide) -> Mapping[str, tuple[float, float]]:
    """Point -> (aside, up): how far it was measured off the rail as found; aside + towards the open side. Nothing as drawn."""
    found = frame.found
    rail = frame.rail(side)
    if found is None or rail.found is None:
        return {}
    out = {}
    for met in met_on(found.drawn, side, found.points):
        _, offset = rail.plan.project(met.point[0], met.point[1])
        up = height_of(rail.profile, met.face, rail.found.s_of(met.s_mm), met.up_mm)
        out[met.key] = (offset - met.in_mm, met.point[2] - up)
    return out
