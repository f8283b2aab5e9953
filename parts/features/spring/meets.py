"""What the plate meets on its face of the web: other heads, open holes, brackets, crossmembers, plates of parts built before."""

from __future__ import annotations

from dataclasses import dataclass, replace

from parts.errors import Fault, Finding
from parts.features.brackets import HOW
from parts.features.heads import ROUND_A_HEAD_MM
from parts.features.spring.outline import EDGE_THICKNESSES
from parts.features.spring.plates import plate_faults
from parts.features.spring.site import Site
from parts.frame.features import Bracket
from parts.frame.placed import PlacedHole, PlacedPatch
from parts.holes import Hole
from parts.outline import Contour, Point
from parts.piece import Removal

GEOMETRY = "geometry of the frame file"
PRACTICE = "common practice, no source"


@dataclass(frozen=True, kw_only=True)
class Met:
    """What follows from it."""

    holes: tuple[Hole, ...] = ()  #: clearance holes, in (a, b)
    removals: tuple[Removal, ...] = ()
    faults: tuple[Fault, ...] = ()
    findings: tuple[Finding, ...] = ()


def met(site: Site, outline: Contour) -> Met:
    found = Met()
    for own in site.frame.holes_on(site.rail.side, *reach_s(site, outline), "web"):
        if own.name not in {h.name for h in site.holes}:
            found = _hole(site, outline, found, own)
    for patch in site.frame.placed_brackets:
        if patch.side == site.rail.side and patch.face == "web" and isinstance(patch.drawn, Bracket):
            found = _bracket(site, outline, found, patch, patch.drawn)
    return replace(found, faults=(*found.faults, *_crossmembers(site, outline), *plate_faults(site, outline)))


def reach_s(site: Site, outline: Contour) -> tuple[float, float]:
    ss = [site.sz(a, b)[0] for a, b in outline.points]
    return min(ss), max(ss)


def _hole(site: Site, outline: Contour, found: Met, own: PlacedHole) -> Met:
    centre = site.ab(own.s_mm, own.z_mm)
    under, edge = outline.contains(centre), outline.distance(centre)
    if own.filled == "open":
        if not under:
            return found
        message = f"the plate closes the open hole {own.name} ({own.diameter_mm:g} mm) in the web"
        remedy = f"name {own.name} under holes if a bolt is to go through it"
        return replace(found, findings=(*found.findings, site.finding("covers-open-hole", "warn", message, remedy=remedy, source=PRACTICE)))
    head = own.head_across_mm / 2
    if not under and edge >= head:
        return found
    size = own.head_across_mm + 2 * ROUND_A_HEAD_MM
    least = size / 2 + EDGE_THICKNESSES * site.thickness_mm
    if under and edge >= least:
        purpose = f"clears the {own.filled} head of {own.name}"
        hole = Hole(name=f"clear-{own.name}", x_mm=centre[0], y_mm=centre[1], diameter_mm=size, purpose=purpose)
        return replace(found, holes=(*found.holes, hole))
    limit = f"the {own.filled} {own.name} stands at the plate's edge: its head is {own.head_across_mm:.1f} mm wide"
    remedy = f"smaller edge distances, or name {own.name} under holes"
    field, value = site.doubler.asked
    return replace(found, faults=(*found.faults, site.fault(field, value, limit, remedy)))


def _bracket(site: Site, outline: Contour, found: Met, patch: PlacedPatch, own: Bracket) -> Met:
    shape = _shape(site, patch.corners)
    hangs = any(shape.contains(c) for c in site.centres) and own.held_by != "weld"
    face = "inside" if own.inner_face else "outside"
    if hangs and face != site.doubler.hanger:
        limit, remedy = f"bracket {own.name}, which these holes hold, stands on the web's {face}", f'hanger = "{face}"'
        return replace(found, faults=(*found.faults, site.fault("hanger", site.doubler.hanger, limit, remedy)))
    if face != site.doubler.seat or not overlap(outline, shape):
        return found
    where = f"{site.rail.name} web{' inside' if own.inner_face else ''}"
    if hangs or own.fate == "cut off":
        why = f"{site.doubler.id} goes between it and the web" if hangs else f"{site.doubler.id} goes there"
        how = "comes loose with its rivets; goes back on over the plate" if hangs else HOW[own.held_by]
        removal = Removal(name=own.name, what="bracket", where=where, point=patch.place.point, why=why, how=how)
        return replace(found, removals=(*found.removals, removal))
    field, value = site.doubler.asked
    limit = f"the plate runs into bracket {own.name} on the {where}, which stays"
    remedy = 'smaller edge distances, the other seat, or mark it fate = "cut off" in the frame file'
    return replace(found, faults=(*found.faults, site.fault(field, value, limit, remedy)))


def _crossmembers(site: Site, outline: Contour) -> list[Fault]:
    """They stand against the face of the web that looks inboard."""
    if site.inside != site.rail.opens_inboard:
        return []
    out = []
    field, value = site.doubler.asked
    for cross in site.frame.crossmembers_at(site.rail.side, *reach_s(site, outline)):
        (s0, s1), (_, _, z0, z1) = cross.s_range(site.rail.side), cross.box
        if overlap(outline, _shape(site, ((s0, z0), (s1, z0), (s1, z1), (s0, z1)))):
            limit = f"crossmember {cross.name} stands on {site.rail.name} where the plate lies: s {s0:.0f} to {s1:.0f} mm"
            out.append(site.fault(field, value, limit, "smaller edge distances, fewer holes, or the other seat"))
    return out


def _shape(site: Site, corners: tuple[Point, ...]) -> Contour:
    shape = Contour(tuple(site.ab(s, z) for s, z in corners), (0.0,) * len(corners))
    return shape if shape.area > 0 else shape.reversed()


def overlap(one: Contour, two: Contour) -> bool:
    return one.crosses(two) or one.contains(two.points[0]) or two.contains(one.points[0])
