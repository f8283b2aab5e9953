"""Rules for the rail itself: new holes in its web and flanges, holes beside a reinforcement, brackets beside a crossmember."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from generator.rules.lie import Lying
from generator.rules.rule import SLACK, Rule, Source, Subject, part_on_side, place_of
from generator.rules.scene import SAME_MM, NewHole
from parts.bolt_size import bolt_size
from parts.errors import Finding
from parts.features.bolts import ruled
from parts.frame.frame import Frame
from parts.frame.rail import Rail
from parts.hole_rules import FLANGE_LAW, MAKERS_GUIDE, REPAIR_MANUAL, VEHICLE_CODE, RailHole, RuleSet, Use
from parts.hole_rules import beside_reinforcement_findings as beside
from parts.hole_rules import flange_hole_findings as in_flange
from parts.outline import Point

AROUND_MM = 250.0  #: further off no hole rule looks
BESIDE_MM = 13.0
BRACKETS = Source(text="one maker's guide for brackets on a rail", level="warn", binds=("commercial",))
OFF_CROSSMEMBER_MM = 200.0


def _use(frame: Frame) -> Use:
    return Use(commercial="yes" if frame.use.commercial else "no", heat_treated=frame.steel.heat_treated)


def new_holes(subject: Subject) -> list[Finding] | None:
    """Every new hole in a web against the frame's own and those of the parts before. What the part has told already is not told again."""
    found: list[Finding] = []
    looked = False
    for rail in (subject.frame.rail(side) for side in subject.frame.sides):
        mine, others = _holes(subject, rail)
        new = [h for h in mine if h.drilling.existing_mm is None]
        if new:
            looked = True
            place = part_on_side(subject.piece)
            own = [_as_rail_hole(h, subject.piece.id) for h in (*others, *(m for m in mine if m not in new))]
            own += _frames_own(subject.frame, rail, mine)
            found += ruled(subject.frame, rail, place, [_as_rail_hole(h, subject.piece.id) for h in new], own)
    return [f for f in found if f not in subject.piece.findings] if looked else None


def _holes(subject: Subject, rail: Rail) -> tuple[list[NewHole], list[NewHole]]:
    """(this piece's, those of the pieces before it that are near), each hole once."""
    mine = subject.scene.holes_of(subject.piece, rail.side)
    if not mine:
        return [], []
    ss = [h.s_mm for h in mine]
    order = subject.scene.order
    near = subject.scene.new_holes(rail.side, min(ss) - AROUND_MM, max(ss) + AROUND_MM)
    return mine, [h for h in near if order[h.piece.id] < order[subject.piece.id] and not any(h.is_at(m) for m in mine)]


def _as_rail_hole(hole: NewHole, piece_id: str) -> RailHole:
    name = hole.drilling.name if hole.piece.id == piece_id else f"{hole.drilling.name} of {place_of(hole.piece)}"
    bolt = next((bolt_size(b.size).diameter_mm for b in hole.piece.bolts if b.name == hole.drilling.name), None)
    return RailHole(name=name, along_mm=hole.s_mm, up_mm=hole.z_mm, diameter_mm=hole.diameter_mm, bolt_mm=bolt)


def _frames_own(frame: Frame, rail: Rail, mine: Sequence[NewHole]) -> list[RailHole]:
    """The web's own holes near by; one that is opened out is among `mine` already."""
    ss = [h.s_mm for h in mine]
    out = []
    for own in frame.holes_on(rail.side, min(ss) - AROUND_MM, max(ss) + AROUND_MM, "web"):
        if all(math.hypot(own.s_mm - h.s_mm, own.z_mm - h.z_mm) >= SAME_MM for h in mine):
            out.append(RailHole(name=own.name, along_mm=own.s_mm, up_mm=own.z_mm, diameter_mm=own.diameter_mm))
    return out


def flange_holes(subject: Subject) -> list[Finding] | None:
    """One word a piece, however many holes it asks for."""
    faces = {(d.rail, d.face) for d in subject.piece.drilling if d.face.endswith("flange") and d.existing_mm is None}
    if not faces:
        return None
    found = [f for rail, face in sorted(faces) for f in in_flange(f"{subject.place}, {face} of {rail}", use=_use(subject.frame))]
    return [f for f in found if not subject.said(f.code)]


def holes_beside(subject: Subject) -> list[Finding] | None:
    """A reinforcement's edge on the web against the holes of the web outside it: the frame's own, and new ones of other parts."""
    found: list[Finding] = []
    looked = False
    for lying in subject.lyings:
        if not (lying.reinforces and lying.on_web):
            continue
        near: dict[str, float] = {}
        for name, s, z, radius in _web_holes(subject, lying):
            looked = True
            gap = _outside_mm(lying, (s, z), radius)
            if gap is not None and gap < BESIDE_MM:
                near[name] = gap
        if near:
            name = min(near, key=lambda n: near[n])
            found += beside(f"{subject.place}, hole {name}", gap_mm=max(near[name], 0.0), use=_use(subject.frame))
    return found if looked else None


def _web_holes(subject: Subject, lying: Lying) -> Iterator[tuple[str, float, float, float]]:
    """(name, s, z, radius)"""
    s0, s1 = lying.s_range
    for own in subject.frame.holes_on(lying.rail.side, s0 - BESIDE_MM, s1 + BESIDE_MM, "web"):
        yield own.name, own.s_mm, own.z_mm, own.diameter_mm / 2
    for new in subject.scene.new_holes(lying.rail.side, s0 - 2 * BESIDE_MM, s1 + 2 * BESIDE_MM):
        if new.piece.id != subject.piece.id and new.drilling.existing_mm is None:
            yield f"{new.drilling.name} of {place_of(new.piece)}", new.s_mm, new.z_mm, new.diameter_mm / 2


def _outside_mm(lying: Lying, at: Point, radius: float) -> float | None:
    """From a hole's edge to the plate beside it; None where the hole lies under the plate."""
    point = lying.rail.point(*at)
    gaps = []
    for panel in lying.panels:
        u, v, _ = panel.local(point)
        x0, y0, x1, y1 = panel.panel.contour.box
        if max(x0 - u, u - x1, y0 - v, v - y1) > BESIDE_MM + radius:
            continue
        if panel.panel.contour.contains((u, v)):
            return None
        gaps.append(panel.panel.contour.distance((u, v)) - radius)
    return min(gaps, default=None)


def bracket_places(subject: Subject) -> list[Finding] | None:
    """A bracket 200 mm from a crossmember and from a reinforcement's end. Not of a part that is joined to that crossmember."""
    if not BRACKETS.bound_by(subject.frame):
        return None
    found: list[Finding] = []
    looked = False
    for lying in subject.lyings:
        if lying.along_web:
            continue
        looked = True
        s0, s1 = lying.s_range
        side, reach = lying.rail.side, OFF_CROSSMEMBER_MM
        near: dict[str, float] = {}
        joined = " ".join((*(w.onto for w in subject.piece.welds), *(n for b in subject.piece.bolts for n in b.between)))
        for cm in subject.frame.crossmembers_at(side, s0 - reach, s1 + reach):
            c0, c1 = cm.s_range(side)
            if cm.name not in joined:
                near[cm.name] = max(c0 - s1, s0 - c1, 0.0)
        for end in subject.scene.ends_near(side, s0 - reach, s1 + reach):
            if not end.at_crossmember(subject.frame):
                near[f"the {end.which} of {place_of(end.lying.piece)}"] = max(end.tip_mm - s1, s0 - end.tip_mm, 0.0)
        near = {name: gap for name, gap in near.items() if gap < reach - SLACK}
        if near:
            told = ", ".join(f"{gap:.0f} mm from {name}" for name, gap in near.items())
            value, limit = f"{min(near.values()):.0f} mm", f"at least {reach:g} mm"
            remedy = "move it along the rail, or record why it stays"
            found.append(subject.finding("bracket-near", BRACKETS, f"a bracket {told}", value=value, limit=limit, remedy=remedy))
    return found if looked else None


def _source(rules: RuleSet) -> Source:
    return Source(text=rules.source, level=rules.level, binds=rules.binds)


RULES = (
    Rule(
        asks="new holes in a web: to the flanges, to each other, on one line, size, play",
        codes=("hole-near-lower-flange", "hole-near-upper-flange", "holes-close", "holes-on-one-line", "hole-large", "hole-loose"),
        sources=tuple(_source(r) for r in (REPAIR_MANUAL, MAKERS_GUIDE, VEHICLE_CODE)), check=new_holes,
    ),
    Rule(asks="no new holes in a flange", codes=("flange-hole",), sources=(_source(FLANGE_LAW), _source(REPAIR_MANUAL)),
         check=flange_holes),
    Rule(asks="holes of the web 13 mm off a reinforcement's edge", codes=("hole-beside-reinforcement",), sources=(_source(MAKERS_GUIDE),),
         check=holes_beside),
    Rule(asks="brackets 200 mm off crossmembers and reinforcement ends", codes=("bracket-near",), sources=(BRACKETS,),
         check=bracket_places),
)  # fmt: skip
