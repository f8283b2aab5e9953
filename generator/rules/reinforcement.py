"""Rules for plate that reinforces a rail: how thick, how its ends are cut, how far it reaches, where it stops beside another plate.

A reinforcement is plate all of which lies along the web, within the section or on it, at least as long as the rail is deep.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from generator.rules.ends import End
from generator.rules.lie import Lying
from generator.rules.rule import SLACK, Rule, Source, Subject, place_of
from parts.errors import Finding
from parts.frame.features import Bracket, Condition
from parts.frame.frame import Frame
from parts.frame.rail import Rail
from parts.hole_rules import Use, reinforcement_hole_findings
from parts.sheet import Panel
from parts.shop import SAME_SHEET_MM

VSB_6 = Source(text="VSB 6 section H (heavy vehicles)", level="stop", binds=("commercial",))
OTHERS_THICK = Source(text="trade pages: at most 1.5 times the rail", level="note")
MOST_TIMES = 1.5
HOBBY_GUIDELINE = Source(text="national hobby-vehicle guideline 2.3", level="warn", binds=("hobby",))
LEAST_BOXING_MM = 3.0
REACH_DEPTHS = 2.0
FISHPLATE = Source(text="trade pages: a plate over a joint is at least 3 H long", level="note")
FISHPLATE_DEPTHS = 3.0
STEPPED = Source(text="trade pages; hobby-vehicle guideline 3.1: no jump from stiff to flexible, taper or stagger the ends", level="note")
FLANGE_EDGE = Source(text="TM 5-4210-230-14&P-1: welds and reinforcement edges at least 19 mm off a flange's edge", level="warn",
                     binds=("commercial", "heat-treated"))  # fmt: skip
FLANGE_EDGE_MM = 19.0
HOLE_EDGE = Source(text="TM 9-2320-289-34 p. 9-7", level="warn", binds=("commercial", "heat-treated"))
MOSTLY = 0.5
NOTHING_MM = 0.05  #: what is missing to a limit along the rail, and not worth a word
THICKEST_MM = 25.0  #: of any part
HANGER = re.compile(r"spring[\W_]*(hanger|shackle)|(hanger|shackle)\b.*\bspring", re.IGNORECASE)


def _reinforcing(subject: Subject) -> list[Lying]:
    return [one for one in subject.lyings if one.reinforces]


def _mm(value: float) -> str:
    return f"{round(value, 2):g} mm"


def _rail_mm(lying: Lying) -> tuple[float, str]:
    """Thickness of what the plate lies on or is welded to, and its name."""
    section = lying.rail.section
    return (section.web_mm, "web") if lying.on_web else (section.flange_thickness_mm, "flanges")


def thickness(subject: Subject) -> list[Finding] | None:
    """No thicker than the rail (heavy vehicles); trade pages allow half as much again. Two sheets of one trade size are equal."""
    found: list[Finding] = []
    lying = _reinforcing(subject)
    for one in lying:
        t, (rail, what) = subject.thickness_mm, _rail_mm(one)
        value, remedy = _mm(t), "a thinner plate, two thinner ones that end apart, or a longer one"
        message = f"{_mm(t)} plate on {what} of {_mm(rail)}"
        vehicle_code = VSB_6.level_for(subject.frame)
        if t > MOST_TIMES * rail + SAME_SHEET_MM and vehicle_code != OTHERS_THICK.level:
            most = f"at most {_mm(MOST_TIMES * rail)}"
            found.append(subject.finding("reinforcement-thick", OTHERS_THICK, f"{message}: {most}", value=value, limit=most, remedy=remedy))
        if t > rail + SAME_SHEET_MM:
            over = "" if t <= MOST_TIMES * rail + SAME_SHEET_MM else f"; others allow {_mm(MOST_TIMES * rail)}, and this is more"
            text = f"{message}: a reinforcement is no thicker than its rail{over}"
            found.append(
                subject.finding("reinforcement-thick", VSB_6, text, value=value, limit=f"at most {_mm(rail)}", remedy=remedy)
            )
    return found if lying else None


def boxing_thickness(subject: Subject) -> list[Finding] | None:
    """A plate that closes the section is 3 mm at least."""
    lying = [one for one in _reinforcing(subject) if not one.on_web]
    if not lying:
        return None
    t = subject.thickness_mm
    if t >= LEAST_BOXING_MM - SLACK:
        return []
    message = f"boxing plate of {t:g} mm; {LEAST_BOXING_MM:g} mm is the least"
    limit = f"at least {LEAST_BOXING_MM:g} mm"
    return [subject.finding("boxing-thin", HOBBY_GUIDELINE, message, value=f"{t:g} mm", limit=limit, remedy="thicker plate") for _ in lying]


def end_shapes(subject: Subject) -> list[Finding] | None:
    """Ends at 45 deg or fish-mouthed, no upright weld across the rail. An end that stops at a crossmember is none."""
    ends = [e for one in _reinforcing(subject) for e in _own_ends(subject, one) if not e.at_crossmember(subject.frame)]
    if not ends:
        return None
    if subject.said("square-end"):
        return []
    steep = [e for e in ends if e.steep_share > MOSTLY]
    if not steep:
        return []
    welded = ", and a weld runs up it" if any(_welded(e) for e in steep) else ""
    value = " and ".join(dict.fromkeys(e.which for e in steep))
    are = "are" if " and " in value else "is"
    message = f"its {value} {are} cut steeper than 45 deg against the rail over most of the plate's height{welded}"
    remedy = '"angled" at 45 deg or "fish-mouth", and no full upright weld'
    return [subject.finding("square-end", VSB_6, message, value=value, limit="ends at 45 deg or fish-mouthed", remedy=remedy)]


def _own_ends(subject: Subject, lying: Lying) -> list[End]:
    return [e for e in subject.scene.own_ends[subject.piece.id] if e.lying is lying]


def _welded(end: End) -> bool:
    """Whether welds climb more than half the rail's depth along the end."""
    low, high = end.s_mm
    t = end.lying.piece.part.thickness_mm
    steps = [step for step in end.lying.weld_steps if low - t <= step.spans(0)[0] and step.spans(0)[1] <= high + t]
    climbed = sum(step.spans(1)[1] - step.spans(1)[0] for step in steps)
    return climbed > MOSTLY * end.lying.depth_mm


@dataclass(frozen=True, kw_only=True)
class Spot:
    """A place that a reinforcement has to reach past."""

    what: str
    kind: Literal["joint", "hanger"]
    s_mm: tuple[float, float]


def spots(frame: Frame, rail: Rail) -> Iterator[Spot]:
    """As far as the frame file tells: an old weld over the whole height of the web is a rail cut and joined; a bracket that stays and
    whose name or purpose speaks of a spring's hanger or shackle is one."""
    for patch in frame.placed_conditions:
        own = patch.drawn
        if patch.side == rail.side and isinstance(own, Condition) and own.kind == "old weld" and own.face == "web" and own.up_mm is None:
            yield Spot(what=f"the joint {own.name}", kind="joint", s_mm=patch.s_range)
    for patch in frame.placed_brackets:
        bracket = patch.drawn
        if patch.side != rail.side or not isinstance(bracket, Bracket) or bracket.fate != "kept":
            continue
        if HANGER.search(bracket.name) or HANGER.search(bracket.purpose):
            yield Spot(what=f"the spring hanger {bracket.name}", kind="hanger", s_mm=patch.s_range)


def reach(subject: Subject) -> list[Finding] | None:
    """2 H past a rail that was cut and joined and past spring hangers, as far as there is rail; not past each crossmember."""
    found: list[Finding] = []
    looked = False
    for one in _reinforcing(subject):
        depth = one.depth_mm
        least = REACH_DEPTHS * depth
        for spot in _over(subject, one):
            looked = True
            short: dict[str, tuple[float, float]] = {}
            for end in _own_ends(subject, one):
                front = end.which == "front end"
                past = spot.s_mm[0] - end.tip_mm if front else end.tip_mm - spot.s_mm[1]
                asked = min(least, spot.s_mm[0] if front else one.rail.length_s_mm - spot.s_mm[1])
                if past < asked - NOTHING_MM and not end.at_crossmember(subject.frame):
                    short[end.which] = (past, asked)
            if short:
                told = " and ".join(f"{past:.0f} mm at its {which}" for which, (past, _) in short.items())
                message = f"it reaches {told} past {spot.what}; twice the rail's depth is {least:.0f} mm"
                moves = " and ".join(f"the {which} {asked - past:.0f} mm" for which, (past, asked) in short.items())
                value, limit = f"{min(past for past, _ in short.values()):.0f} mm", f"at least {least:.0f} mm"
                remedy = f"move {moves} further out"
                found.append(subject.finding("reach-short", VSB_6, message, value=value, limit=limit, remedy=remedy))
    return found if looked else None


def _over(subject: Subject, lying: Lying) -> list[Spot]:
    s0, s1 = lying.s_range
    return [spot for spot in spots(subject.frame, lying.rail) if spot.s_mm[0] <= s1 and spot.s_mm[1] >= s0]


def fishplate(subject: Subject) -> list[Finding] | None:
    """A plate over a joint of the rail is 3 H long at least."""
    found: list[Finding] = []
    looked = False
    for one in _reinforcing(subject):
        length, least = one.s_range[1] - one.s_range[0], FISHPLATE_DEPTHS * one.depth_mm
        for spot in _over(subject, one):
            if spot.kind == "joint":
                looked = True
                if length < least - NOTHING_MM:
                    message = f"{length:.0f} mm of plate over {spot.what}; 3 H is {least:.0f} mm"
                    value, limit = f"{length:.0f} mm", f"at least {least:.0f} mm"
                    found.append(subject.finding("fishplate-short", FISHPLATE, message, value=value, limit=limit, remedy="a longer plate"))
    return found if looked else None


def ends_together(subject: Subject) -> list[Finding] | None:
    """Two plates along one stretch of rail that end at one place. How far apart is enough, no source says: here the stretches over which
    the two ends are cut, with a plate's thickness to either side, share no length. Told once an end, of the later plate."""
    found: list[Finding] = []
    looked = False
    order = subject.scene.order
    for one in _reinforcing(subject):
        for end in _own_ends(subject, one):
            low, high = end.s_mm
            t = subject.thickness_mm
            near = subject.scene.ends_near(one.rail.side, low - t - THICKEST_MM, high + t + THICKEST_MM)
            for other in near:
                if other.which != end.which or order[other.lying.piece.id] >= order[subject.piece.id]:
                    continue
                looked = True
                room = t + other.lying.piece.part.thickness_mm
                if other.s_mm[0] - room <= high and other.s_mm[1] + room >= low:
                    apart = abs(end.tip_mm - other.tip_mm)
                    message = f"its {end.which} lies where that of {place_of(other.lying.piece)} does, {apart:.0f} mm apart: the rail turns"
                    message += " from stiff to soft at one place"
                    remedy = "let one of the two reach further, or taper it"
                    found.append(subject.finding("ends-together", STEPPED, message, value=f"{apart:.0f} mm", remedy=remedy))
                    break
    return found if looked else None


def flange_edge(subject: Subject) -> list[Finding] | None:
    """Welds on a flange's edge: a heavy-frame manual keeps off it, boxing on a private vehicle is welded just there. That is told."""
    if not any(w.onto.endswith(("flange edge", "lip")) for w in subject.piece.welds):
        return None
    message = f"it is welded to the flanges' edges; a heavy-frame manual keeps welds {FLANGE_EDGE_MM:g} mm off them"
    remedy = "the rail's steel and its use decide; a plate on the web keeps off the flanges"
    limit = f"at least {FLANGE_EDGE_MM:g} mm off"
    return [subject.finding("weld-at-flange-edge", FLANGE_EDGE, message, value="0 mm", limit=limit, remedy=remedy)]


def holes_from_edge(subject: Subject) -> list[Finding] | None:
    """The opening of a reinforcement that is nearest to the plate's own edge."""
    panels = [p.panel for one in _reinforcing(subject) for p in one.panels if p.panel.holes]
    if not panels:
        return None
    least = 2.0 * subject.thickness_mm
    gaps = [gap for panel in panels for gap in _edge_gaps(panel, subject, least)]
    if not gaps:
        return []
    gap, name = min(gaps)
    use = Use(commercial="yes" if subject.frame.use.commercial else "no", heat_treated=subject.frame.steel.heat_treated)
    where = f"{subject.place}, {name}"
    return list(reinforcement_hole_findings(where, edge_mm=gap, thickness_mm=subject.thickness_mm, use=use))


def _edge_gaps(panel: Panel, subject: Subject, least: float) -> Iterator[tuple[float, str]]:
    bends = {b.edge for b in subject.piece.part.bends if b.parent == panel.name}
    bends |= {0 for b in subject.piece.part.bends if b.child == panel.name}
    edges = [s for i, s in enumerate(panel.contour.segments) if i not in bends]
    for hole in panel.holes:
        if min(s.distance(hole.centre) for s in edges) - hole.reach_mm < least:
            yield min(s.gap(e) for s in hole.contour().segments for e in edges), hole.name


RULES = (
    Rule(asks="reinforcement no thicker than its rail; 1.5 times by trade pages", codes=("reinforcement-thick",),
         sources=(VSB_6, OTHERS_THICK), check=thickness),
    Rule(asks="boxing plate at least 3 mm thick", codes=("boxing-thin",), sources=(HOBBY_GUIDELINE,), check=boxing_thickness),
    Rule(asks="ends at 45 deg or fish-mouthed, no full upright weld", codes=("square-end",), sources=(VSB_6,), check=end_shapes),
    Rule(asks="2 H past a rail cut and joined and past spring hangers", codes=("reach-short",), sources=(VSB_6,), check=reach),
    Rule(asks="plate over a joint of the rail at least 3 H long", codes=("fishplate-short",), sources=(FISHPLATE,), check=fishplate),
    Rule(asks="inner and outer plates end at different places", codes=("ends-together",), sources=(STEPPED,), check=ends_together),
    Rule(asks="welds 19 mm off a flange's edge", codes=("weld-at-flange-edge",), sources=(FLANGE_EDGE,), check=flange_edge),
    Rule(asks="holes of a reinforcement 2 t from its edge", codes=("reinforcement-hole-edge",), sources=(HOLE_EDGE,),
         check=holes_from_edge),
)  # fmt: skip
