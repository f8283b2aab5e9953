"""Whether a tab has room: its base on the face, its leg past the flanges; what it lies on or runs into; what is said about its pipe."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import replace

from parts.bolt_size import bolt_size
from parts.errors import Fault, Finding
from parts.features.blocks import (
    Block,
    bracket_block,
    built_in_way,
    crossmember_block,
    mounts_in_way,
    panel_blocks,
    panel_prism,
    way_out_mm,
)
from parts.features.bolts import ruled
from parts.features.brackets import cut_off
from parts.features.covered import steel_findings
from parts.features.legs import leg_findings
from parts.features.tab.hold import Hold, leg_of, weld_mm
from parts.features.tab.rails import rails_in_way
from parts.features.tab.shape import LEG, Tab, clip_off_mm
from parts.formed import formed
from parts.frame.features import Bracket
from parts.frame.frame import Frame
from parts.frame.rail import Rail
from parts.hardware import washer
from parts.hole_rules import RailHole
from parts.landing import panel_places
from parts.outline import Contour, Point
from parts.piece import Piece, Removal
from parts.prisms import clash

TOUCH_MM = 1e-6
SAMPLE_MM = 2.0
GEOMETRY = "geometry of the frame file and the parts before"
PRACTICE = "common practice, no source"
LARGER = "base_bolt = the size that fits the hole, or a new hole beside it in place of pick_up"
HOT = re.compile(r"exhaust|\bhot\b|tail[- ]?pipe|muffler|silencer", re.IGNORECASE)
FUEL = re.compile(r"fuel|petrol|gasoline|diesel", re.IGNORECASE)
BRAKE = re.compile(r"brake", re.IGNORECASE)


def room_faults(tab: Tab, piece: Piece, frame: Frame) -> list[Fault]:
    """The base and its weld on flat steel; no panel in a flange."""
    out: list[Fault] = []
    grown = weld_mm(tab) if tab.hanger.attach == "weld" else 0.0
    over, at = _off_face(tab, grown)
    field, value = _asked(tab)
    if over > TOUCH_MM:
        x, y, z = tab.host.place.point(*at)
        weld = f", its weld of {grown:g} mm with it," if grown else ""
        limit = (
            f"the base, {tab.width_mm:.1f} x {tab.base_mm:.1f} mm from the bend's tangent{weld} would reach {over:.1f} mm past what is "
            f"flat of {tab.host.name}, near x {x:.0f}, y {y:.0f}, z {z:.0f} mm"
        )
        remedy = "another way for its base, a smaller foot or width, or another place"
        out.append(Fault(where=tab.where, field=field, value=value, limit=limit, remedy=remedy))
    for name, deep in rails_in_way(tab, piece, frame):
        remedy = "another way for its base, a smaller width or rim, or another kind"
        if tab.host.rail is None:
            remedy = f"the pipe or the place further from {name}, or {remedy}"
        out.append(Fault(where=tab.where, field=field, value=value, limit=f"it would run {deep:.1f} mm into {name}", remedy=remedy))
    return out


def _asked(tab: Tab) -> tuple[str, str]:
    """(field, value) of what says where it stands."""
    hanger = tab.hanger
    if hanger.every_mm is not None:
        return "every", f"{hanger.every_mm:g} mm"
    if tab.host.side is None and not tab.host.piece:  # on a crossmember of the frame the pipe itself says where
        if hanger.y_mm is not None:
            return "y", f"{hanger.y_mm:g} mm"
        return ("point", "") if hanger.pipe is None else ("pipe", hanger.pipe)
    return "at", str(hanger.at or "")


def _off_face(tab: Tab, grown: float) -> tuple[float, Point]:
    """How far the base, grown by its weld, reaches off the face's outline, and where."""
    ring = _base_ring(tab, grown)
    worst, where = 0.0, ring[0]
    for k, a in enumerate(ring):
        b = ring[(k + 1) % len(ring)]
        steps = max(1, math.ceil(math.dist(a, b) / SAMPLE_MM))
        for i in range(steps):
            p = (a[0] + (b[0] - a[0]) * i / steps, a[1] + (b[1] - a[1]) * i / steps)
            if not tab.host.outline.contains(p) and (off := tab.host.outline.distance(p)) > worst:
                worst, where = off, p
    return worst, where


def _base_ring(tab: Tab, grown: float) -> list[Point]:
    """In the face's own coordinates. The bend's zone lies over the face too, the corner's outside in line with the leg's."""
    w, b = tab.width_mm / 2 + grown, tab.base_mm + grown
    return [tab.host.foot(tab.place.point(u, v)) for u, v in ((-w, -b), (w, -b), (w, 0.0), (-w, 0.0))]


def base_reach(tab: Tab, rail: Rail) -> tuple[tuple[float, float], tuple[float, float]]:
    """((s0, s1), (z0, z1)) of the rail that the base takes up."""
    corners = [rail.szo(tab.place.point(u, v)) for u in (-tab.width_mm / 2, tab.width_mm / 2) for v in (-tab.base_mm, 0.0)]
    return (min(c[0] for c in corners), max(c[0] for c in corners)), (min(c[1] for c in corners), max(c[1] for c in corners))


def judged(tab: Tab, piece: Piece, hold: Hold, frame: Frame, place: str) -> tuple[list[Finding], list[Removal]]:
    hanger = tab.hanger
    out: list[Finding] = []
    if tab.host.side is not None or hanger.attach == "weld":
        out += steel_findings(frame, place, hanger.attach)
    if hanger.attach == "weld":
        out += leg_findings(place, leg_of(tab), hanger.leg_mm, hanger.thickness_mm)
    out += _loose(tab, hold, frame, place)
    if tab.leg_mm > hanger.longest_mm + TOUCH_MM:
        message = f"a leg of {tab.leg_mm:.1f} mm, over all: it will swing and crack at its bend"
        remedy = "a face nearer to the pipe, thicker steel, or a gusset in the bend"
        value, limit = f"{tab.leg_mm:.1f} mm", f"at most {hanger.longest_mm:g} mm"
        out.append(_finding("leg-long", "warn", place, message, value, limit, remedy, PRACTICE))
    brackets, removals = _brackets(tab, piece, frame, place)
    out += [*_under(tab, hold, place), *_crossmembers(tab, piece, frame, place), *brackets, *_built(tab, piece, frame, place)]
    return out, removals


def _finding(code: str, level: str, place: str, message: str, value: str, limit: str, remedy: str, source: str) -> Finding:
    return Finding(
        code=code, level="stop" if level == "stop" else "warn", where=place, message=message, value=value, limit=limit, remedy=remedy,
        source=source,
    )  # fmt: skip


def _loose(tab: Tab, hold: Hold, frame: Frame, place: str) -> list[Finding]:
    """Holes of the rail that are taken up and are there already too large: nothing is drilled, so no rule for new holes looks at them."""
    rail = tab.host.rail
    if rail is None:
        return []
    out: list[Finding] = []
    bolt, washed = bolt_size(tab.hanger.base_bolt), washer(tab.hanger.base_bolt).outside_mm
    for name in tab.hanger.pick_up:
        if all(h.name != name for h in hold.holes):
            continue
        own = frame.hole(name, rail.side)
        taken = RailHole(name=name, along_mm=own.s_mm, up_mm=own.z_mm, diameter_mm=own.diameter_mm, bolt_mm=bolt.diameter_mm)
        out += [replace(f, remedy=LARGER) for f in ruled(frame, rail, place, [taken], []) if f.code == "hole-loose"]
        if own.diameter_mm >= washed:
            message, limit = f"the washer of a bolt {bolt.name} falls into hole {name}", f"under {washed:g} mm, a washer {bolt.name}"
            out.append(_finding("washer-small", "stop", place, message, f"{own.diameter_mm:g} mm", limit, LARGER, washer(bolt.name).source))
    return out


def _under(tab: Tab, hold: Hold, place: str) -> list[Finding]:
    """Openings and heads that the base lies over."""
    ring = _base_ring(tab, 0.0)
    base = Contour(tuple(ring), (0.0,) * 4)
    base = base if base.area > 0 else base.reversed()
    used = {h.name for h in hold.holes}
    out = []
    for own in tab.host.holes:
        if own.name in used or not (base.contains(own.centre) or base.distance(own.centre) < own.reach_mm):
            continue
        head = own.purpose in ("rivet", "bolt")
        message = (
            f"the base sits on the head of {own.purpose} {own.name}" if head else f"the base lies over {own.name} ({own.diameter_mm:g} mm)"
        )
        remedy = "move the tab along the pipe, or take the hole up with a bolted base"
        value, limit = f"{own.diameter_mm:g} mm", "nothing under the base"
        out.append(_finding("base-over-hole", "stop" if head else "warn", place, message, value, limit, remedy, GEOMETRY))
    return out


def _crossmembers(tab: Tab, piece: Piece, frame: Frame, place: str) -> list[Finding]:
    out = []
    mine = panel_blocks(piece)
    for cm in frame.placed_crossmembers:
        steel = crossmember_block(cm)
        clear = min(b.clear_mm(steel) for b in mine)
        if clear < -TOUCH_MM:
            message = f"it runs {-clear:.1f} mm into the room of crossmember {cm.name}"
            remedy = _moved(tab, mine, steel) + (f", or take {cm.name} out first" if cm.removable else "")
            value, limit = f"{-clear:.1f} mm", "two pieces of steel cannot be in one place"
            out.append(_finding("tab-in-the-way", "warn" if cm.removable else "stop", place, message, value, limit, remedy, GEOMETRY))
    return out


def _moved(tab: Tab, mine: tuple[Block, ...], steel: Block) -> str:
    by, way = way_out_mm(mine, steel, tab.spot.way), tab.spot.way
    if by is None:
        return "another face, or the pipe elsewhere: along the pipe it is in the way all over"
    axis = max(range(3), key=lambda i: abs(way[i]))
    where = (("forward", "rearward"), ("to the left", "to the right"), ("down", "up"))[axis][int(by * way[axis] > 0)]
    return f"move it {abs(by):.0f} mm or more along the pipe, {where}"


def _brackets(tab: Tab, piece: Piece, frame: Frame, place: str) -> tuple[list[Finding], list[Removal]]:
    """Brackets of the frame in the same room: cut off first, or in the way."""
    found: list[Finding] = []
    removals: list[Removal] = []
    mine = panel_blocks(piece)
    own_steel = [panel_prism(panel, at, piece.part.thickness_mm) for panel, at in panel_places(piece)]
    for patch in frame.placed_brackets:
        own, rail = patch.drawn, frame.rail(patch.side)
        steel = bracket_block(patch, rail)
        clear = min(b.clear_mm(steel) for b in mine)
        if not isinstance(own, Bracket) or clear >= -TOUCH_MM or not any(clash(p, steel.prism) for p in own_steel):
            continue
        if own.fate == "cut off":
            removals.append(cut_off(patch, own, rail.name, f"{tab.hanger.id} goes there"))
            continue
        message = f"it runs {-clear:.1f} mm into bracket {own.name}, which stays"
        remedy = _moved(tab, mine, steel)
        value, limit = f"{-clear:.1f} mm", "two pieces of steel cannot be in one place"
        found.append(_finding("tab-in-the-way", "stop", place, message, value, limit, remedy, GEOMETRY))
    return found, removals


def _built(tab: Tab, piece: Piece, frame: Frame, place: str) -> list[Finding]:
    """Parts built before, and body mounts of the frame."""
    out: list[Finding] = []
    mine = panel_blocks(piece)
    limit = "two pieces of steel cannot be in one place"
    for steel, deep in (*built_in_way(piece, frame), *mounts_in_way(piece, frame)):
        remedy = _moved(tab, mine, steel)
        out.append(_finding("tab-in-the-way", "stop", place, f"it runs {deep:.1f} mm into {steel.name}", f"{deep:.1f} mm", limit, remedy,
                            GEOMETRY))  # fmt: skip
    return out


def notes(tabs: Sequence[Tab]) -> tuple[str, ...]:
    """What is alike is said once."""
    out = [_placed(tab) for tab in tabs]
    first = tabs[0]
    hanger, pipe = first.hanger, first.pipe
    if hanger.kind == "ring":
        out.append(
            "the pipe is threaded through the ring before its ends are flared or its nuts go on; the grommet sits in the ring's edge"
        )
    elif hanger.kind == "clip":
        out.append(
            f"clip for {pipe.diameter_mm:g} mm pipe, its bolt {hanger.bolt} {clip_off_mm(hanger, pipe):.1f} mm from the pipe's centre"
        )
    else:
        out.append(
            f"the pipe hangs in a rubber, its bolt {hanger.bolt} {hanger.rubber_mm:g} mm from the pipe's centre with "
            f"{hanger.travel_mm:g} mm to set: never fixed hard, it moves with the engine"
        )
    out += _cautions(first)
    if hanger.attach == "weld":
        out.append(
            f"welded round to {first.host.onto}: leg {weld_mm(first):.3g} mm; along the bend the weld fills the groove beside the radius"
        )
    elif first.host.rail is None:
        out.append(f"bolted through {first.host.onto} alone: drill it from the base, and put the bolts in while its back can be reached")
    return tuple(dict.fromkeys(out))


def _placed(tab: Tab) -> str:
    x, y, z = tab.spot.point
    lean = (
        f"; the pipe runs {abs(tab.lean_deg):.1f} deg at the face, so it is bent {tab.bend_deg:.2f} deg"
        if abs(tab.bend_deg - 90) > 0.05
        else ""
    )
    return (
        f"{tab.pipe.name}'s centre at x {x:.1f}, y {y:.1f}, z {z:.1f} mm, {tab.height_mm:.1f} mm off {tab.host.name}; leg {tab.leg_mm:.1f} "
        f"mm over all{lean}"
    )


def _cautions(tab: Tab) -> list[str]:
    hanger, what = tab.hanger, tab.pipe.what
    out = []
    if hanger.carries == "hot" or (hanger.carries == "other" and HOT.search(what)):
        out.append("hot pipe: no rubber, hose, wire or fuel line beside it; no number was found for the air it needs, so look at it hot")
    if hanger.carries == "fuel" or (hanger.carries == "other" and FUEL.search(what)):
        out.append("fuel line: empty and off the vehicle, tank too, before anything is welded, ground or drilled near it")
    if hanger.carries == "brake" or (hanger.carries == "other" and BRAKE.search(what)):
        out.append("brake line: off, or covered against sparks, before anything is welded or ground near it; no edge of steel may touch it")
    return out


def hole_point(tab: Tab) -> tuple[float, float, float]:
    """Where the leg's hole is, on its outer face, in the vehicle."""
    leg = next(p for p in tab.part.panels if p.name == LEG)
    place = formed(tab.part).places[LEG]
    return tab.place.point(*place.point(leg.holes[0].x_mm, leg.holes[0].y_mm))
