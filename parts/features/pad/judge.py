"""What has to be judged about a pad on its frame: what stands in its room, what its base would hide or sit on, its notes."""

from __future__ import annotations

import math

from parts.bolt_size import bolt_size
from parts.errors import Finding, Level
from parts.features.blocks import built_in_way, mounts_in_way, panel_blocks, way_out_mm
from parts.features.bracket.judge import GEOMETRY, TOUCH_MM
from parts.features.brackets import cut_off
from parts.features.covered import number_finding, steel_findings
from parts.features.held import REFILL, RIVET_OUT, Fixing
from parts.features.legs import leg_findings
from parts.features.pad.fixing import over_bolts
from parts.features.pad.ground import Ground
from parts.features.pad.planes import dot
from parts.features.pad.seams import edge_findings
from parts.features.pad.stand import Stand, top_width_mm
from parts.frame.features import Bracket
from parts.outline import Point
from parts.piece import Piece, Removal
from parts.sheet import Vec3

SOCKET_MM = 80.0  #: a bolt's head, a socket and a ratchet over it
PRACTICE = "common practice, no source"
Span = tuple[float, float]


def judged(ground: Ground, stand: Stand, fixing: Fixing) -> tuple[list[Finding], list[Removal]]:
    findings = [*steel_findings(ground.frame, ground.place, ground.pad.attach), *edge_findings(ground, stand)]
    if ground.pad.attach == "weld":
        findings += leg_findings(ground.place, ground.leg, ground.pad.leg_mm, ground.thickness_mm)
    findings += [*_numbers(ground, stand, fixing), *_under_the_stand(ground, stand, fixing)]
    removals: list[Removal] = []
    for more, out in (_crossmembers(ground, stand), _brackets(ground, stand), _heads(ground, stand, fixing), _mount(ground)):
        findings += more
        removals += out
    return findings, removals


def box(ground: Ground, stand: Stand) -> tuple[Vec3, Vec3]:
    """Of everything that the pad takes up, in vehicle axes; its bends within their panels' reach."""
    points = [
        p.place.point(u, v, z) for p in stand.panels for u, v in p.corners for z in (0.0, ground.thickness_mm)
    ]
    low, high = ([f(p[i] for p in points) for i in range(3)] for f in (min, max))
    return (low[0], low[1], low[2]), (high[0], high[1], high[2])


def _reach(ground: Ground, stand: Stand) -> tuple[Span, Span, Span]:
    """(s, z, offset from the web's outside) of all its corners."""
    found = [
        ground.rail.szo(p.place.point(u, v, z)) for p in stand.panels for u, v in p.corners for z in (0.0, ground.thickness_mm)
    ]
    s, z, off = ((min(p[i] for p in found), max(p[i] for p in found)) for i in range(3))
    return s, z, off


def base_reach(ground: Ground, stand: Stand) -> tuple[Span, Span]:
    """(s, across) of the base: across is z on an upright face, `in` on a flange."""
    corners = stand.base.corners
    ss = [ground.s(*c) for c in corners]
    bs = [b for _, b in corners]
    return (min(ss), max(ss)), (min(bs), max(bs))


def _meet(one: Span, two: Span) -> bool:
    return min(one[1], two[1]) - max(one[0], two[0]) > TOUCH_MM


def _crossmembers(ground: Ground, stand: Stand) -> tuple[list[Finding], list[Removal]]:
    """Between the rails only: what reaches past the web's inboard side."""
    low, high = box(ground, stand)
    findings: list[Finding] = []
    removals: list[Removal] = []
    for cm in ground.frame.placed_crossmembers:
        x0, x1, z0, z1 = cm.box
        inner = (low[1], cm.y_right_mm) if ground.rail.side == "right" else (cm.y_left_mm, high[1])
        over = min(high[0], x1) - max(low[0], x0)
        if over <= TOUCH_MM or min(high[2], z1) - max(low[2], z0) <= TOUCH_MM or inner[1] - inner[0] <= TOUCH_MM:
            continue
        message = f"the pad and crossmember {cm.name} want the same room over {over:.0f} mm of length"
        message += f": {cm.name} comes out first and cannot go back" if cm.removable else ""
        level: Level = "warn" if cm.removable else "stop"
        value, limit = f"pad x {low[0]:.0f} to {high[0]:.0f} mm", f"{cm.name} takes x {x0:.0f} to {x1:.0f} mm"
        remedy = _past(ground, (low[0], high[0]), (x0, x1))
        findings.append(ground.finding("crossmember-in-the-way", level, message, value=value, limit=limit, remedy=remedy, source=GEOMETRY))
        if cm.removable:
            point = (cm.x_mm, (cm.y_left_mm + cm.y_right_mm) / 2, cm.top_mm)  # one crossmember, whichever rail's pad asks
            why, how = f"{ground.pad.id} takes its room", "tie the rails at their width with a temporary brace first, then undo it"
            removals.append(Removal(name=cm.name, what="crossmember", where="between the rails", point=point, why=why, how=how))
    return findings, removals


def _past(ground: Ground, mine: Span, other: Span) -> str:
    """Both ways past what takes x from other[0] to other[1], along the rail, the shorter first.

    Two pads of one part move by one place: told the shorter way alone, one of a pair is sent forward and the other rearward.
    """
    run = ground.rail.direction(ground.s(0.0))[0]  # a rail that runs askew is longer than its x
    ways = [(other[1] - mine[0], "rearward"), (mine[1] - other[0], "forward")]
    (by, way), (further, back) = sorted(((math.ceil(far / run - 1e-6), word) for far, word in ways), key=lambda w: w[0])
    return f"move the pad {by} mm or more {way} along the rail, or {further} mm or more {back}"


def _brackets(ground: Ground, stand: Stand) -> tuple[list[Finding], list[Removal]]:
    """Brackets of the frame in the same room: cut off first, or in the way."""
    findings: list[Finding] = []
    removals: list[Removal] = []
    s, z, off = _reach(ground, stand)
    rail = ground.rail
    for patch in ground.frame.placed_brackets:
        own = patch.drawn
        if patch.side != rail.side or not isinstance(own, Bracket) or not _meet(patch.s_range, s):
            continue
        across, out = (z, off) if patch.face == "web" else (off, z)
        if not (_meet(patch.across_range, across) and _meet(_room_of(ground, own, patch.place.s_mm), out)):
            continue
        if own.fate == "cut off":
            removals.append(cut_off(patch, own, ground.rail.name, f"{ground.pad.id} goes there"))
            continue
        s0, s1 = patch.s_range
        message = f"it may run into bracket {own.name}, which stays at s {s0:.0f} to {s1:.0f} mm on {rail.name}: their boxes meet"
        remedy = 'move it along the rail, or mark the other fate = "cut off" in the frame file'
        value, limit = f"pad s {s[0]:.0f} to {s[1]:.0f} mm", "two pieces of steel cannot be in one place"
        findings.append(ground.finding("bracket-in-the-way", "stop", message, value=value, limit=limit, remedy=remedy, source=GEOMETRY))
    return findings, removals


def in_the_way(ground: Ground, piece: Piece) -> list[Finding]:
    """Body mounts of the frame, the carried one aside, and parts built before: told where they and the pad want the same room."""
    limit, run = "two pieces of steel cannot be in one place", ground.rail.direction(ground.s(0.0))
    mine, out = panel_blocks(piece), list[Finding]()
    own = ground.target.mount
    mounts = [b for b in mounts_in_way(piece, ground.frame) if own is None or b[0].name != f"body mount {own.name} {own.side}"]
    for code, found in (("body-mount-in-the-way", mounts), ("part-in-the-way", list(built_in_way(piece, ground.frame)))):
        for steel, deep in found:
            message, value = f"the pad runs {deep:.1f} mm into {steel.name}", f"{deep:.1f} mm"
            by = way_out_mm(mine, steel, run)
            remedy = f"move the pad {abs(by):.0f} mm or more {'rearward' if by > 0 else 'forward'} along the rail" if by else "another face"
            out.append(ground.finding(code, "stop", message, value=value, limit=limit, remedy=remedy, source=GEOMETRY))
    return out


def small_top_holes(ground: Ground) -> list[Finding]:
    """A body mount's own hole that the bolt does not go through."""
    bolt, mount = bolt_size(ground.pad.top_bolt), ground.target.mount
    if mount is None or ground.pad.top_hole_mm is not None or mount.drawn.hole_mm >= bolt.diameter_mm:
        return []
    message = f"the hole of body mount {mount.name} is {mount.drawn.hole_mm:g} mm: a bolt {bolt.name} does not go through"
    value, limit = f"{mount.drawn.hole_mm:g} mm", f"at least {bolt.diameter_mm:g} mm for top_bolt {bolt.name}"
    remedy = "top_bolt = the size that was in it, or top_hole = DIAMETER"
    return [ground.finding("top-hole-small", "warn", message, value=value, limit=limit, remedy=remedy, source=GEOMETRY)]


def _room_of(ground: Ground, own: Bracket, s: float) -> Span:
    """What a bracket takes up square to its face: offsets from the web's outside, or heights."""
    if own.face == "web":
        web = ground.rail.thickness_mm
        return (web, web + own.out_mm) if own.inner_face else (-own.out_mm, 0.0)
    t = ground.rail.section.flange_thickness_mm
    z, up = ground.rail.flange_z(own.face, s), own.face == "upper flange"
    if own.inner_face:
        return (z - t - own.out_mm, z - t) if up else (z + t, z + t + own.out_mm)
    return (z, z + own.out_mm) if up else (z - own.out_mm, z)


def _numbers(ground: Ground, stand: Stand, fixing: Fixing) -> list[Finding]:
    """What may not be covered, nor drilled through from the other side."""
    (s0, s1), across = base_reach(ground, stand)
    outside = ground.upright is None or ground.upright.away < 0
    out: list[Finding] = []
    for patch in ground.frame.placed_keep_visible:
        if patch.side != ground.rail.side or patch.face != ground.face:
            continue
        covers = outside and _meet(patch.s_range, (s0, s1)) and _meet(patch.across_range, across)
        drilled = any(_hits(ground, (h.x_mm, h.y_mm), h.diameter_mm / 2, patch.s_range, patch.across_range) for h in fixing.holes)
        if covers or drilled:
            what = f"the base would cover {patch.name}" if covers else f"a bolt hole would go through {patch.name}"
            out.append(number_finding(ground.place, what, patch, ground.rail.name, "move the pad along the rail"))
    return out


def _hits(ground: Ground, at: Point, radius: float, s_range: Span, across: Span) -> bool:
    s = ground.s(*at)
    return math.hypot(max(s_range[0] - s, 0.0, s - s_range[1]), max(across[0] - at[1], 0.0, at[1] - across[1])) < radius


def _heads(ground: Ground, stand: Stand, fixing: Fixing) -> tuple[list[Finding], list[Removal]]:
    """Rivets and bolts that the base would sit on, and open holes that it would close."""
    if ground.on_plate or (ground.upright is not None and ground.rail.section.kind == "closed"):
        return [], []
    findings: list[Finding] = []
    removals: list[Removal] = []
    (s0, s1), (low, high) = base_reach(ground, stand)
    used = {h.name for h in fixing.holes}
    for own in ground.frame.holes_on(ground.rail.side, s0, s1, ground.face):
        b = own.z_mm if ground.upright is not None else own.in_mm
        reach = max(own.diameter_mm, own.head_across_mm) / 2
        if own.name in used or not low - reach < b < high + reach:
            continue
        if own.filled == "open":
            if any(f.code == "hole-not-used" and own.name in f.message for f in fixing.findings):
                continue
            message = f"the base closes the open hole {own.name} ({own.diameter_mm:g} mm) in the {ground.face}"
            remedy = "move the pad if anything is to go through it; a bolted base can pick it up"
            findings.append(ground.finding("covers-open-hole", "warn", message, remedy=remedy, source=PRACTICE))
            continue
        how = f"{RIVET_OUT}; {REFILL}" if own.filled == "rivet" else "undo it"
        where, why = f"{ground.rail.name} {ground.face}", f"the base of {ground.pad.id} lies over its head"
        removals.append(Removal(name=own.name, what=own.filled, where=where, point=own.point, why=why, how=how))
        message = f"the base would sit on the head of {own.filled} {own.name}: it comes out first, and what it holds is loose until then"
        remedy = "move the pad along the rail, or pick the hole up with a bolted base"
        findings.append(ground.finding("base-on-head", "warn", message, remedy=remedy, source=GEOMETRY))
    return findings, removals


def _mount(ground: Ground) -> tuple[list[Finding], list[Removal]]:
    """The old body mount comes off: the pad takes its place."""
    mount = ground.target.mount
    if mount is None:
        return [], []
    why = f"{ground.pad.id} carries its hole at the same point"
    how = "prop the body first; measure the hole from two named places and write it down; then take the old mount off and dress the face"
    removal = Removal(name=mount.name, what="body mount", where=ground.rail.name, point=mount.point, why=why, how=how)
    if mount.drawn.thickness_mm <= ground.thickness_mm + TOUCH_MM:
        return [], [removal]
    message = f"the pad's {ground.thickness_mm:g} mm take the place of a body mount of {mount.drawn.thickness_mm:g} mm"
    finding = ground.finding(
        "mount-thinner", "warn", message, value=f"{ground.thickness_mm:g} mm", limit=f"{mount.drawn.thickness_mm:g} mm as it was",
        remedy=f"thickness = {mount.drawn.thickness_mm:g}, unless somebody who may has worked it out", source=PRACTICE,
    )  # fmt: skip
    return [finding], [removal]


def _under_the_stand(ground: Ground, stand: Stand, fixing: Fixing) -> list[Finding]:
    names = over_bolts(ground, stand, fixing, SOCKET_MM)
    if not names:
        return []
    message = f"the stand lies over the head of {', '.join(names)}: no socket goes on straight, only a spanner from the side"
    remedy = "put the nut on this side, or a base that stands clear of its top"
    limit = f"{SOCKET_MM:g} mm for head, socket and ratchet"
    return [ground.finding("spanner-room", "note", message, limit=limit, remedy=remedy, source=f"{PRACTICE}, from memory")]


def notes(ground: Ground, stand: Stand, both: str) -> list[str]:
    """`both`: what is said of the point."""
    pad, out = ground.pad, [both]
    turns = [abs(stand.turn_deg(i)) for i in range(len(stand.folds))]
    edge = "edge" if ground.upright is not None else "side"
    if stand.armed:
        foot = f"its foot bent {turns[0]:.1f} deg off the base's {ground.edge_name} {edge}, its head {turns[1]:.1f} deg"
        off = _oblique_deg(ground, stand)
        skew = f", that line {off:.1f} deg off square in the top" if off >= 0.05 else ""
        out.append(f"base, arm and top: {foot}{skew}; inside radius {ground.radius_mm:g} mm")
    else:
        out.append(
            f"the top is bent {turns[0]:.1f} deg straight off the base's {ground.edge_name} {edge}; inside radius {ground.radius_mm:g} mm"
        )
    if pad.attach == "weld":
        out.append(f"welded round to {ground.onto}: leg {ground.leg_mm:.3g} mm; along the bend the weld fills the groove beside the radius")
    out.append(
        f"the stand has no sides: what it carries bends it about its {'two bends' if stand.armed else 'bend'}. Gusset parts between "
        "its base and its top stiffen it; whether they are needed is not computed here"
    )
    if top_width_mm(ground) != pad.width_mm:
        out.append(f"its base is {pad.width_mm:g} mm wide, its top {top_width_mm(ground):g} mm at the free edge")
    return out


def _oblique_deg(ground: Ground, stand: Stand) -> float:
    """Between the top's bend line and the square to what runs straight out from the rail."""
    return math.degrees(math.asin(min(1.0, abs(dot(stand.folds[-1].along, stand.heading)))))
