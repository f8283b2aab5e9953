"""What must hold between the parts of a frame: every fault with its field, value, limit and remedy."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from parts.errors import Fault
from parts.frame.checks_measured import reading_faults
from parts.frame.crossmember import Crossmember, PlacedCrossmember
from parts.frame.features import FrameHole
from parts.frame.names import label
from parts.frame.placed import across_of
from parts.frame.placing import SIDES, OnFace
from parts.frame.rail import ENDS_MM, Rail
from parts.frame.station import DrawnRail

if TYPE_CHECKING:
    from parts.frame.frame import Frame

#: What things of one name may not share, and what sets them apart, where it is not the side.
SHARED = {"reading": ("of that set", "another set"), "section_reading": ("of that side and set", "another set")}


def rail_pair_faults(rails: tuple[DrawnRail, ...]) -> list[Fault]:
    """A frame has one drawing for both rails, or one for each."""
    sides = [rail.side for rail in rails]
    if sorted(sides) in (["both"], ["left", "right"]):
        return []
    value = ", ".join(sides) or "none"
    remedy = 'one [[rail]] with side = "both", or one with side = "left" and one with side = "right"'
    return [Fault(where="", field="rail", value=value, limit="a frame has two rails: both drawn as one, or each once", remedy=remedy)]


def told_once(faults: list[Fault]) -> list[Fault]:
    """A pair's fault that is the same on both rails is said once."""
    found: dict[Fault, Fault] = {}
    for fault in faults:
        twin = replace(fault, limit=fault.limit.replace("rail right", "rail left"))
        if twin in found and twin != fault:
            found[twin] = replace(twin, limit=f"{twin.limit} (the same on rail right)")
        else:
            found.setdefault(fault, fault)
    return list(found.values())


def frame_faults(frame: Frame) -> list[Fault]:
    """Every fault between features; those whose place is not known are left to the fault that says so."""
    faults = list(_name_faults(frame))
    clashing = {fault.value for fault in faults}  # whose place is another's
    faults += _toe_faults(frame)
    for hole in frame.holes:
        for side in hole.sides:
            if hole.name in frame.rail(side).places and hole.name not in clashing:
                faults += _hole_faults(hole, frame.rail(side))
    patches: tuple[OnFace, ...] = (*frame.brackets, *frame.keep_visible, *frame.conditions, *frame.control_points)
    for patch in patches:
        for side in patch.sides:
            if patch.name in frame.rail(side).places and patch.name not in clashing:
                faults += _patch_faults(patch, frame.rail(side))
    for placed in frame.placed_crossmembers:
        if placed.name in clashing:
            continue
        faults += _crossmember_faults(placed, frame)
    faults += reading_faults(frame)
    return faults


def _name_faults(frame: Frame) -> Iterator[Fault]:
    """Names are unique in the file; a left and a right thing of one kind may share one, and so may readings of two sets."""
    seen: dict[str, tuple[str, set[str]]] = {}
    for rail in frame.rails:
        for station in rail.stations:
            seen.setdefault(station.name, ("station", set()))
    things: list[tuple[str, str, tuple[str, ...]]] = [(f.WORD, f.name, f.sides) for f in frame.features]
    things += [("keep_out", k.name, ("",)) for k in frame.keep_out] + [("reading", r.name, (r.set,)) for r in frame.readings]
    things += [(s.WORD, s.name, tuple(f"{side} {s.set}" for side in s.sides)) for s in frame.section_readings]
    for word, name, sides in things:
        known, taken = seen.setdefault(name, (word, set()))
        if known != word:
            limit = f"a {known} has this name already; names are unique in the file"
            yield Fault(where=f"{word} {name}", field="name", value=name, limit=limit, remedy="give it a name of its own")
        elif taken & set(sides):
            what, other = SHARED.get(word, ("of that side", "another side"))
            limit = f"another {word} {what} has this name"
            yield Fault(where=f"{word} {name}", field="name", value=name, limit=limit, remedy=f"give it a name of its own, or {other}")
        taken.update(sides)
    keys: set[str] = set()
    for point in frame.control_points:
        for side in point.sides:
            key = point.key(side)
            if key in keys and point.side != "both":
                limit = f"a pair of control points is called {key} on that side already"
                yield Fault(where=label(point), field="name", value=point.name, limit=limit, remedy="give it a name of its own")
            keys.add(key)


def _toe_faults(frame: Frame) -> Iterator[Fault]:
    """The inner edge of one rail may not reach past that of the other."""
    inner = {}
    for side in SIDES:
        rail = frame.rail(side)
        inner[side] = rail.plan.offset_course(rail.section.toe_offset_mm if rail.opens_inboard else 0.0)
    for drawn in frame.rails:
        side = SIDES[0] if drawn.side == "left" else SIDES[1]
        for station in drawn.stations:
            gap = inner["right"].second_at(station.x_mm) - inner["left"].second_at(station.x_mm)
            if gap <= 0:
                inboard = frame.rail(side).opens_inboard
                what = "toes reach" if inboard else "webs reach"
                limit = f"the rails' {what} {-gap:.1f} mm past each other at x = {station.x_mm:g} mm"
                where, value = f"rail {drawn.side} station {station.name}", f"{station.y_mm:g} mm"
                remedy = "y is from the vehicle's centreline to the web's outside face; check y and the flange"
                yield Fault(where=where, field="y", value=value, limit=limit, remedy=remedy)


def _hole_faults(hole: FrameHole, rail: Rail) -> Iterator[Fault]:
    radius, tape = hole.diameter_mm / 2, rail.places[hole.name]
    past = max(radius - tape, tape + radius - rail.tape_length_mm)
    if past > ENDS_MM:
        limit = f"the hole reaches {past:.1f} mm past the end of {rail.name}"
        place = "at" if hole.at is not None else "x"
        yield Fault(where=label(hole), field=place, value=str(hole.position), limit=limit, remedy=f"stay {radius:g} mm off the end")
    yield from _across_faults(hole, rail, radius)


def _patch_faults(patch: OnFace, rail: Rail) -> Iterator[Fault]:
    if across_of(patch) is not None:
        yield from _across_faults(patch, rail, 0.0)


def _across_faults(thing: OnFace, rail: Rail, radius: float) -> Iterator[Fault]:
    """`thing` lies off its face, or a hole of that radius cuts the face's edge."""
    across, section = across_of(thing) or 0.0, rail.section
    if thing.face == "web":
        field, over_all = "up", rail.profile.depth_at_tape(rail.places[thing.name])
        low, high, edge = section.flange_thickness_mm, over_all - section.flange_thickness_mm, "a flange"
    else:
        field, over_all = "in", section.flange_mm
        low, high, edge = section.web_mm, section.flange_mm - (section.web_mm if section.kind == "closed" else 0.0), "the web or the toe"
    value = f"{across:g} mm"
    on = f"the {thing.face} of {rail.name}"
    if not 0.0 <= across <= over_all:
        limit = f"lies off {on}, which is {over_all:.1f} mm across here"
        yield Fault(where=label(thing), field=field, value=value, limit=limit, remedy=f"give {field} between 0 and {over_all:.1f} mm")
    elif radius and not (low - ENDS_MM <= across - radius and across + radius <= high + ENDS_MM):
        limit = f"a hole of {2 * radius:g} mm here cuts into {edge}: {on} is free from {low:.1f} to {high:.1f} mm"
        remedy = f"give {field} between {low + radius:.1f} and {high - radius:.1f} mm, or a smaller diameter"
        yield Fault(where=label(thing), field=field, value=value, limit=limit, remedy=remedy)


def _crossmember_faults(placed: PlacedCrossmember, frame: Frame) -> Iterator[Fault]:
    """Joined to the webs it lies between the flanges; to webs and flanges, within the rail's depth."""
    drawn: Crossmember = placed.drawn
    if drawn.joint not in ("webs", "webs and flanges"):
        return
    _, _, bottom, top = placed.box
    for side in SIDES:
        rail = frame.rail(side)
        between = drawn.joint == "webs" and rail.opens_inboard and rail.section.kind != "closed"
        inset = rail.section.flange_thickness_mm if between else 0.0
        reach = (placed.s_range(side)[0], sum(placed.s_range(side)) / 2, placed.s_range(side)[1])
        high = min(rail.profile.upper_z(s, inset) for s in reach)
        low = max(rail.profile.lower_z(s, inset) for s in reach)
        room = f"{'between the flanges' if between else 'within the depth'} of {rail.name} there"
        depth = drawn.section.depth_mm
        if depth > high - low + ENDS_MM:
            limit = f"joint {drawn.joint}: a crossmember deeper than the {high - low:.1f} mm {room}"
            remedy = "check section.depth, or name another joint"
            yield Fault(where=label(drawn), field="section.depth", value=f"{depth:g} mm", limit=limit, remedy=remedy)
        elif top > high + ENDS_MM or bottom < low - ENDS_MM:
            least, most = drawn.drop_mm + top - high, drawn.drop_mm + bottom - low
            limit = f"joint {drawn.joint}: it does not lie {room}"
            remedy = f"give drop between {least:.1f} and {most:.1f} mm, or name another joint"
            yield Fault(where=label(drawn), field="drop", value=f"{drawn.drop_mm:g} mm", limit=limit, remedy=remedy)
