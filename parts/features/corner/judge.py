"""What has to be judged about a gusset in its corner: steel that is in its way or under its legs, what it is welded to."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from parts.errors import Fault, Finding, Level
from parts.features.blocks import bracket_block, mount_block
from parts.features.brackets import cut_off
from parts.features.corner.corner import BOTH
from parts.features.corner.outline import Outline
from parts.features.corner.site import Site
from parts.features.covered import steel_findings
from parts.features.legs import leg_findings
from parts.features.rings import around
from parts.formed import formed
from parts.frame.crossmember import PlacedCrossmember
from parts.frame.features import HEAD_SHARE, Bracket
from parts.holes import Hole
from parts.landing import panel_places, within
from parts.outline import Point, rectangle
from parts.piece import Piece, Removal
from parts.prisms import Prism, clash
from parts.sheet import Panel, Placement, SheetPart, Vec3

GEOMETRY = "geometry of the frame file"
TOUCH_MM = 1e-3
STEP_MM = 5.0  #: between the points that are looked at, at the most
SAGITTA_MM = 0.05
ONE_PLACE = "two pieces of steel cannot be in one place"
Placed = tuple[tuple[Panel, Placement], ...]


def placed_panels(part: SheetPart, at: Placement) -> Placed:
    shape = formed(part)
    return tuple((panel, within(at, shape.places[panel.name])) for panel in part.panels)


def in_steel(site: Site, part: SheetPart, at: Placement) -> list[Fault]:
    """`part` is the gusset without its tabs: what it would run into of the rail and of the parts that it stands on."""
    panels = placed_panels(part, at)
    t, value = part.thickness_mm, f"{site.gusset.leg_on_mm:g} mm"
    out: list[Fault] = []
    remedy = "shorter legs, lower toes, or another place"
    remedy += "; a narrower flange, or its other way" if site.gusset.flange_mm is not None else ""
    own, section = own_crossmember(site), site.rail.section
    thinnest = min(section.web_mm, section.flange_thickness_mm, own.drawn.section.thickness_mm if own is not None else STEP_MM)
    met = {w: None for p in _samples(panels, t, min(STEP_MM, thinnest / 2)) if (w := _in_rail(site, p) or _in_lip(own, p))}
    for what in met:
        out.append(site.fault("leg_on", value, f"the plate would run into the {what}", remedy))
    for host in site.hosts():
        if hit := _hits(panels, t, host):
            limit = f"the plate would run into {host.id} near {_xyz(hit[1])}: its panel {hit[0]}"
            out.append(site.fault("leg_on", value, limit, remedy))
    return out


def own_crossmember(site: Site) -> PlacedCrossmember | None:
    """The crossmember that its second leg stands on."""
    if site.faces[1].piece:
        return None
    return next((c for c in site.frame.placed_crossmembers if c.name == site.gusset.to), None)


def _samples(panels: Placed, t: float, step: float) -> Iterator[Vec3]:
    """Round the plate and its flange, `step` apart: nearer to each other than the steel that they might pass through is thick."""
    inside, count = t - 2 * TOUCH_MM, max(2, math.ceil(t / step))
    levels = [TOUCH_MM + inside * k / count for k in range(count + 1)]
    for panel, place in panels:
        ring = panel.contour.polyline(SAGITTA_MM)
        for a, b in zip(ring, (*ring[1:], ring[0]), strict=True):
            steps = max(1, math.ceil(math.dist(a, b) / step))
            for k in range(steps):
                u, v = a[0] + (b[0] - a[0]) * k / steps, a[1] + (b[1] - a[1]) * k / steps
                yield from (place.point(u, v, z) for z in levels)


def _in_rail(site: Site, p: Vec3) -> str:
    """The member of the rail's section that holds the point, and whose; "" outside its steel."""
    what = _member(site, p)
    return f"{what} of {site.rail.name}" if what else ""


def _member(site: Site, p: Vec3) -> str:
    rail, section = site.rail, site.rail.section
    s, z, off = rail.szo(p)
    e = 2 * TOUCH_MM
    if not (-e < s < rail.length_s_mm + e and e < off < section.flange_mm - e):
        return ""
    low, high = rail.flange_z("lower flange", s), rail.flange_z("upper flange", s)
    if low + e < z < high - e:
        if off < section.web_mm - e or (section.kind == "closed" and off > section.flange_mm - section.web_mm + e):
            return "web"
        inner = rail.opening_between_flanges(s)
        if z < inner[0] - e:
            return "lower flange"
        return "upper flange" if z > inner[1] + e else ""
    if off > section.flange_mm - section.flange_thickness_mm + e and min(abs(z - low), abs(z - high)) < section.lip_mm - e:
        return "lip"
    return ""


def _in_lip(cm: PlacedCrossmember | None, p: Vec3) -> str:
    """Whether a lip of the hat that it stands on holds the point: the lips stand out past the sides that it is welded to."""
    if cm is None or cm.drawn.section.kind != "hat":
        return ""
    e, section, (x0, x1, z0, z1) = 2 * TOUCH_MM, cm.drawn.section, cm.box
    # (from the open side in, across it, what it spans there)
    deep, at, (low, high) = {
        "rearward": (x1 - p[0], p[2], (z0, z1)), "forward": (p[0] - x0, p[2], (z0, z1)),
        "up": (z1 - p[2], p[0], (x0, x1)), "down": (p[2] - z0, p[0], (x0, x1)),
    }[cm.drawn.opens]  # fmt: skip
    over = e < deep < section.thickness_mm - e and low + e < at < high - e and cm.y_left_mm + e < p[1] < cm.y_right_mm - e
    return f"lip of {cm.name}" if over and min(at - low, high - at) < section.lip_mm - e else ""


def _hits(panels: Placed, t: float, other: Piece) -> tuple[str, Vec3] | None:
    mine = prisms(panels, t)
    for panel, place in panel_places(other):
        theirs = _prism(panel, place, other.part.thickness_mm)
        for one in mine:
            if (where := clash(one, theirs)) is not None:
                return panel.name, where
    return None


def prisms(panels: Placed, t: float) -> list[Prism]:
    return [_prism(panel, place, t) for panel, place in panels]


def _prism(panel: Panel, place: Placement, t: float) -> Prism:
    openings = tuple(h.contour().polyline(SAGITTA_MM) for h in panel.holes)
    return Prism(origin=place.origin, u=place.u, v=place.v, ring=panel.contour.polyline(SAGITTA_MM), thickness_mm=t, openings=openings)


def _xyz(p: Vec3) -> str:
    return f"x {p[0]:.0f}, y {p[1]:.0f}, z {p[2]:.0f} mm"


def judged(site: Site, outline: Outline, part: SheetPart, at: Placement) -> tuple[list[Finding], list[Removal]]:
    """`part` as in `in_steel`."""
    findings: list[Finding] = []
    if any(not f.piece for f in site.faces):
        remedy = "stand it on parts that are bolted to the web; a licensed engineer or certified welder decides"
        findings += [replace(f, remedy=remedy) for f in steel_findings(site.frame, site.named, "weld")]
    for leg in BOTH:
        asked = site.gusset.fillet_mm
        own_rule = leg_findings(site.named, site.rules[leg], asked, site.gusset.thickness_mm)
        findings += [replace(f, remedy="leave fillet out") if f.remedy else f for f in own_rule]
        findings += _over_holes(site, outline, leg)
    findings = list(dict.fromkeys([*findings, *_crossmember(site)]))
    panels = placed_panels(part, at)
    findings += _others(site, panels, part.thickness_mm)
    points = [at.point(*p) for p in formed(part).points(0.1)]
    low = min(p[0] for p in points), min(p[1] for p in points), min(p[2] for p in points)
    high = max(p[0] for p in points), max(p[1] for p in points), max(p[2] for p in points)
    findings += _crossmembers(site, low, high)
    more, removals = _fastened(site, prisms(panels, part.thickness_mm))
    return [*findings, *more], removals


def _over_holes(site: Site, outline: Outline, leg: int) -> list[Finding]:
    """Openings and heads under a leg or its fillets."""
    face, half = site.faces[leg], site.gusset.thickness_mm / 2
    strip = rectangle(outline.snipe_mm, site.t_mm - half, site.leg_lengths_mm[leg], site.t_mm + half)
    out = []
    for hole in site.corner.holes(leg):
        own = _with_head(hole) if face.piece else hole
        shape = own.contour()
        middle: Point = hole.centre
        meets = strip.contains(middle) or shape.contains(strip.points[0]) or strip.crosses(shape)
        gap = 0.0 if meets else strip.gap(shape)
        if gap >= site.weld_mm(leg):
            continue
        filled = hole.purpose in ("rivet", "bolt", "nut")
        bolted = own is not hole
        what = f"the head of {hole.purpose} {hole.name}" if filled else f"{hole.name} ({hole.diameter_mm:g} mm)"
        what = f"the washer and head, about {own.diameter_mm:.0f} mm across, over {what}" if bolted else what
        how = "stands on" if meets else f"has its fillet run into, {gap:.1f} mm beside the plate,"
        message = f"its leg on {face.onto} {how} {what}"
        limit = f"{site.weld_mm(leg):g} mm of steel beside the plate for its fillet"
        remedy = "another place along the corner"
        remedy += ", or take it out first" if filled else "" if bolted else ", or weld the hole up first"
        level: Level = "stop" if meets and filled else "warn"
        value = f"{gap:.1f} mm"
        out.append(site.finding("gusset-over-hole", level, message, value=value, limit=limit, remedy=remedy, source=GEOMETRY))
    return out


def _with_head(hole: Hole) -> Hole:
    """A bolt's hole of a part, as wide as what lies over it: a washer of twice the bolt, from memory; over a slot all along."""
    if not hole.purpose.startswith("bolt") and hole.kind != "slot":
        return hole
    return around(hole, (HEAD_SHARE["bolt"][0] - 1.0) * hole.diameter_mm / 2)


def _crossmember(site: Site) -> list[Finding]:
    """What becomes of the crossmember that it is welded to."""
    cm = own_crossmember(site)
    if cm is None:
        return []
    out = []
    if cm.removable:
        message = f"it welds {cm.name} to {site.faces[0].onto}, and {cm.name} is said to be removable: it comes out no more"
        remedy = "stand the gusset on the seat that it is bolted to, or weld it in for good and say so in the frame file"
        out.append(site.finding("gusset-on-removable", "warn", message, remedy=remedy, source=GEOMETRY))
    if cm.joint == "gusseted":
        message = f"{cm.name} is joined with corner plates already: see that they leave this corner free"
        out.append(site.finding("gusseted-already", "warn", message, remedy="measure what is there", source=GEOMETRY))
    return out


def _others(site: Site, panels: Placed, t: float) -> list[Finding]:
    """Parts built before that it does not stand on."""
    hosts = {piece.id for piece in site.hosts()}
    out = []
    for owner, piece in site.frame.built:
        if piece.id in hosts or owner == site.gusset.id:
            continue
        hit = _hits(panels, t, piece)
        if hit is not None:
            message = f"it runs into {piece.id} near {_xyz(hit[1])}"
            remedy = "another place along the corner, or shorter legs"
            out.append(site.finding("part-in-the-way", "stop", message, limit=ONE_PLACE, remedy=remedy, source="geometry of the job"))
    return out


def _crossmembers(site: Site, low: Vec3, high: Vec3) -> list[Finding]:
    out = []
    for cm in site.frame.placed_crossmembers:
        if cm.name == site.gusset.to:
            continue
        x0, x1, z0, z1 = cm.box
        over_x, over_z = min(high[0], x1) - max(low[0], x0), min(high[2], z1) - max(low[2], z0)
        over_y = min(high[1], cm.y_right_mm) - max(low[1], cm.y_left_mm)
        if min(over_x, over_y, over_z) <= TOUCH_MM:
            continue
        message = f"it and crossmember {cm.name} want the same room over {over_x:.0f} mm of length"
        value, limit = f"gusset x {low[0]:.0f} to {high[0]:.0f} mm", f"{cm.name} takes x {x0:.0f} to {x1:.0f} mm"
        remedy = "shorter legs or another place"
        out.append(site.finding("crossmember-in-the-way", "stop", message, value=value, limit=limit, remedy=remedy, source=GEOMETRY))
    return out


def _fastened(site: Site, mine: list[Prism]) -> tuple[list[Finding], list[Removal]]:
    """What is fastened to either rail in the same room: brackets of any face, cut off first or in the way, and body mounts."""
    findings: list[Finding] = []
    removals: list[Removal] = []
    for patch in site.frame.placed_brackets:
        own, rail = patch.drawn, site.frame.rail(patch.side)
        steel = bracket_block(patch, rail).prism
        if not isinstance(own, Bracket) or not any(clash(one, steel) for one in mine):
            continue
        if own.fate == "cut off":
            removals.append(cut_off(patch, own, rail.name, f"{site.gusset.id} goes there"))
            continue
        message = f"it runs into bracket {own.name}, which stays: that takes s {patch.s_range[0]:.0f} to {patch.s_range[1]:.0f} mm"
        remedy = 'another place, shorter legs, or mark the other fate = "cut off" in the frame file'
        findings.append(site.finding("bracket-in-the-way", "stop", message, limit=ONE_PLACE, remedy=remedy, source=GEOMETRY))
    for mount in site.frame.placed_mounts:
        if any(clash(one, mount_block(mount).prism) for one in mine):
            message = f"it runs into the pad of body mount {mount.name}, which stands over s {mount.s_mm:.0f} mm of rail {mount.side}"
            remedy = "another place along the corner, or shorter legs"
            findings.append(site.finding("mount-in-the-way", "stop", message, limit=ONE_PLACE, remedy=remedy, source=GEOMETRY))
    return findings, removals
