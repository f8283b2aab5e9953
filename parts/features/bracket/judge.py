"""What has to be judged about a bracket on its frame: what stands in its room, what it would hide, what it is welded to; its notes."""

from __future__ import annotations

from parts.errors import Finding, Level
from parts.features.bracket.fixing import hits
from parts.features.bracket.outline import Outline
from parts.features.bracket.site import Site
from parts.features.bracket.slots import slot_centres
from parts.features.brackets import cut_off
from parts.features.covered import number_finding, steel_findings
from parts.features.held import REFILL, RIVET_OUT, Fixing
from parts.features.legs import leg_findings
from parts.frame.features import Bracket
from parts.piece import Removal
from parts.sheet import Vec3

TOUCH_MM = 1e-6
PAST_MM = 0.5  #: less than this past an edge is not worth a word
GEOMETRY = "geometry of the frame file"


def judged(site: Site, outline: Outline, fixing: Fixing) -> tuple[list[Finding], list[Removal]]:
    findings = [*steel_findings(site.frame, site.place, site.bracket.attach)]
    if site.bracket.attach == "weld":
        findings += leg_findings(site.place, site.leg, site.bracket.leg_mm, site.thickness_mm)
    findings += [*_numbers(site, outline, fixing), *_crossmembers(site, outline)]
    more, removals = _brackets(site, outline)
    under, heads = _heads(site, outline, fixing)
    return [*findings, *more, *under], [*removals, *heads]


def _box(site: Site, outline: Outline) -> tuple[Vec3, Vec3]:
    """Of everything that the bracket takes up, in vehicle axes."""
    half, low = outline.half_seat, min(q for _, q in outline.free)
    if outline.gussets is not None:
        low = min(low, -outline.relief_mm - max(g.contour.box[2] for g in outline.gussets))
    corners = [
        site.vehicle(p, q, out) for p in (-half, half) for q in (low, site.corner_mm) for out in (0.0, site.bracket.depth_mm)
    ]
    a, b = ([f(c[i] for c in corners) for i in range(3)] for f in (min, max))
    return (a[0], a[1], a[2]), (b[0], b[1], b[2])


def _crossmembers(site: Site, outline: Outline) -> list[Finding]:
    inboard = (site.face.away > 0) == site.rail.opens_inboard
    if not inboard:
        return []
    low, high = _box(site, outline)
    out: list[Finding] = []
    for cm in site.frame.placed_crossmembers:
        x0, x1, z0, z1 = cm.box
        over_x, over_z = min(high[0], x1) - max(low[0], x0), min(high[2], z1) - max(low[2], z0)
        if over_x <= TOUCH_MM:
            continue
        value, limit = f"bracket x {low[0]:.0f} to {high[0]:.0f} mm", f"{cm.name} takes x {x0:.0f} to {x1:.0f} mm"
        remedy = f"move the bracket {over_x:.0f} mm or more along the rail"
        if over_z > TOUCH_MM:
            message = f"the bracket and crossmember {cm.name} want the same room over {over_x:.0f} mm of length"
            message += f": {cm.name} comes out first and cannot go back" if cm.removable else ""
            level: Level = "warn" if cm.removable else "stop"
            out.append(site.finding("crossmember-in-the-way", level, message, value=value, limit=limit, remedy=remedy, source=GEOMETRY))
        elif not site.on_web:
            message = f"the base may stand over what plate {site.face.name} leaves out for {cm.name}, over {over_x:.0f} mm of length"
            out.append(site.finding("base-over-cut", "warn", message, value=value, limit=limit, remedy=remedy, source=GEOMETRY))
    return out


def _reach(site: Site, outline: Outline) -> tuple[tuple[float, float], tuple[float, float], tuple[float, float]]:
    """(s, z, offset from the web's outside) that the bracket takes up."""
    low, high = _box(site, outline)
    s0, s1 = sorted((site.s(-outline.half_seat), site.s(outline.half_seat)))
    a, b = sorted((site.face.offset_mm, site.face.offset_mm + site.face.away * site.bracket.depth_mm))
    return (s0, s1), (low[2], high[2]), (a, b)


def _meet(one: tuple[float, float], two: tuple[float, float]) -> bool:
    return min(one[1], two[1]) - max(one[0], two[0]) > TOUCH_MM


def _brackets(site: Site, outline: Outline) -> tuple[list[Finding], list[Removal]]:
    """Brackets of the frame in the same room: cut off first, or in the way."""
    findings: list[Finding] = []
    removals: list[Removal] = []
    s, z, off = _reach(site, outline)
    web = site.rail.thickness_mm
    for patch in site.frame.placed_brackets:
        own = patch.drawn
        if patch.side != site.rail.side or patch.face != "web" or not isinstance(own, Bracket):
            continue
        room = (web, web + own.out_mm) if own.inner_face else (-own.out_mm, 0.0)
        if not (_meet(patch.s_range, s) and _meet(patch.across_range, z) and _meet(room, off)):
            continue
        if own.fate == "cut off":
            removals.append(cut_off(patch, own, site.rail.name, f"{site.bracket.id} goes there"))
            continue
        s0, s1 = patch.s_range
        message = f"it runs into bracket {own.name}, which stays: that takes s {s0:.0f} to {s1:.0f} mm on {site.rail.name}"
        remedy = 'move it along the rail, or mark the other fate = "cut off" in the frame file'
        value, limit = f"bracket s {s[0]:.0f} to {s[1]:.0f} mm", "two pieces of steel cannot be in one place"
        findings.append(site.finding("bracket-in-the-way", "stop", message, value=value, limit=limit, remedy=remedy, source=GEOMETRY))
    return findings, removals


def _base_z(site: Site, outline: Outline) -> tuple[float, float]:
    ends = [site.z(0.0), *(site.z(q) for _, q in outline.free)]
    return min(ends), max(ends)


def _base_s(site: Site, outline: Outline) -> tuple[float, float]:
    s0, s1 = sorted((site.s(-outline.half_base), site.s(outline.half_base)))
    return s0, s1


def _numbers(site: Site, outline: Outline, fixing: Fixing) -> list[Finding]:
    """What may not be covered, and what may not be drilled through from the other side either."""
    outside = site.face.away < 0
    out: list[Finding] = []
    for patch in site.frame.placed_keep_visible:
        if patch.side != site.rail.side or patch.face != "web":
            continue
        covers = outside and _meet(patch.s_range, _base_s(site, outline)) and _meet(patch.across_range, _base_z(site, outline))
        drilled = hits(fixing, site, patch.corners)
        if covers or drilled:
            what = f"the base would cover {patch.name}" if covers else f"a bolt hole would go through {patch.name}"
            out.append(number_finding(site.place, what, patch, site.rail.name, "move the bracket along the rail"))
    return out


def _heads(site: Site, outline: Outline, fixing: Fixing) -> tuple[list[Finding], list[Removal]]:
    """Rivets and bolts that the base would sit on, and open holes that it would close."""
    if not site.on_web or site.rail.section.kind == "closed":
        return [], []
    findings: list[Finding] = []
    removals: list[Removal] = []
    (s0, s1), (z0, z1) = _base_s(site, outline), _base_z(site, outline)
    used = {h.name for h in fixing.holes}
    for own in site.frame.holes_on(site.rail.side, s0, s1, "web"):
        reach = max(own.diameter_mm, own.head_across_mm) / 2
        if own.name in used or not z0 - reach < own.z_mm < z1 + reach:
            continue
        if own.filled == "open":
            message = f"the base closes the open hole {own.name} ({own.diameter_mm:g} mm) in the web"
            remedy = "move the bracket if anything is to go through it; a bolted base can pick it up"
            findings.append(site.finding("covers-open-hole", "warn", message, remedy=remedy, source="common practice, no source"))
            continue
        how = f"{RIVET_OUT}; {REFILL}" if own.filled == "rivet" else "undo it"
        where, why = f"{site.rail.name} web", f"the base of {site.bracket.id} lies over its head"
        removals.append(Removal(name=own.name, what=own.filled, where=where, point=own.point, why=why, how=how))
        message = f"the base would sit on the head of {own.filled} {own.name}: it comes out first, and what it holds is loose until then"
        remedy = "move the bracket along the rail, or pick the hole up with a bolted base"
        findings.append(site.finding("base-on-head", "warn", message, remedy=remedy, source=GEOMETRY))
    return findings, removals


def notes(site: Site, outline: Outline, both: str) -> list[str]:
    """`both`: what a pair of seats has in common, or the seat's own height."""
    bracket = site.bracket
    out = [both]
    slope, turn = site.slope_deg, abs(site.turn_deg)
    unlike = []
    if abs(slope) >= 0.05:
        unlike.append(f"the rail slopes {abs(slope):.1f} deg here")
    if turn >= 0.05:
        unlike.append(f"its face turns {turn:.1f} deg off the vehicle's length")
    if unlike:
        out.append(f"{' and '.join(unlike)}; the seat is level both ways and its slots run along the vehicle")
    centres = ", ".join(f"y {c[1]:.1f}" for c in slot_centres(site))
    what = f"slots of {bracket.slot_travel_mm:g} mm travel" if bracket.slot_travel_mm else "holes"
    out.append(f"{what} for {bracket.slot_bolt}, their middles at x {site.x_mm:.1f} mm, {centres} mm; a wide washer over each")
    if outline.gussets is not None:
        inner = 2 * (outline.half_base + site.inside_radius_mm)
        out.append(
            f"bend the two gussets first, then the seat with a punch {2 * outline.half_bend:.0f} to {inner:.0f} mm long between them; "
            f"{inner:.1f} mm is clear between the gussets, {outline.gap_mm:g} mm of gap under their welds to the seat"
        )
        if any(g.notched for g in outline.gussets):
            flange = "lower" if site.upright > 0 else "upper"
            out.append(f"the gussets are notched round the {flange} flange, {bracket.clearance_mm:g} mm clear of it")
    if bracket.attach == "weld":
        bent = "the seat's bend and the gussets'" if outline.gussets is not None else "the seat's bend"
        out.append(f"welded round to {site.onto}: leg {site.leg_mm:.3g} mm; along {bent} the weld fills the groove beside the radius")
    lengths = outline.height_mm
    below = [site.low(site.s(p)) - site.z(q) for p, q in (outline.free[0], outline.free[-1])]
    if site.hangs and max(below) > PAST_MM and bracket.height_mm is not None:
        out.append(f"the base hangs up to {max(below):.0f} mm below what it is welded to")
    if bracket.height_mm is not None and min(lengths) + site.corner_mm < bracket.height_mm - 0.05:
        got = min(lengths) + site.corner_mm
        what = "the flat of the web" if site.on_web else f"plate {site.face.name}"
        out.append(f"the base ends where {what} does: {got:.1f} mm of the {bracket.height_mm:g} mm asked for at its shorter side")
    return out
