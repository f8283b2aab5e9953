"""Rules for bends: the inside radius that the steel bears, the flange that the die needs, the brake's length, holes beside a bend."""

from __future__ import annotations

import math
from collections.abc import Iterator

from generator.rules.rule import SLACK, Rule, Source, Subject
from parts.errors import BadInput, Finding
from parts.flat import Flat, FlatBend
from parts.holes import Hole
from parts.material import least_inside_radius_mm
from parts.outline import Contour, Segment

DIN_6935 = Source(text="DIN 6935:1975 least inside radius", level="stop")
TOOL_CHARTS = Source(text="tool charts for air bending: die V = 8 t for 3 to 8 mm, flange about 0.7 V", level="note")
DIE_THICKNESSES = 8.0
DIE_FROM_MM, DIE_TO_MM = 3.0, 8.0  #: the sheets for which the charts give V = 8 t
FLANGE_PER_DIE = 0.7
SQUARE_DEG = 90.0  #: beyond it a leg ends at the outer tangent, as DIN 6935 measures legs, and no more at the apex
QUARTERS = (0.25, 0.5, 0.75)
FAR_MM = 1e5
BRAKE = Source(text="[shop] brake_length of the job file", level="stop")
#: Pages of the trade disagree whether 2 or 3 thicknesses must stay. What they all ask is a warning, what some ask is a note; no standard
#: or manual among our sources asks either, so neither is a stop.
ALL_PAGES = Source(text="trade pages: all ask 2 t + r at least from a hole's edge to the bend's tangent", level="warn")
SOME_PAGES = Source(text="trade pages, which disagree: some ask 3 t + r from a hole's edge to the bend's tangent", level="note")
LEAST_THICKNESSES, ASKED_THICKNESSES = 2.0, 3.0


def inside_radius(subject: Subject) -> list[Finding] | None:
    """Every bend by grade, thickness and angle. Where the table does not reach, that is said: nothing is known of the bend."""
    bends = subject.piece.part.bends
    if not bends:
        return None
    t, grade = subject.thickness_mm, subject.piece.grade
    tight: dict[tuple[float, float, str], int] = {}
    beyond: dict[str, int] = {}
    for bend in bends:
        try:
            least, source = least_inside_radius_mm(t, grade, abs(bend.angle_deg))
        except BadInput as error:
            beyond[error.faults[0].limit] = beyond.get(error.faults[0].limit, 0) + 1
            continue
        if bend.inside_radius_mm < least - SLACK:
            key = (bend.inside_radius_mm, least, source)
            tight[key] = tight.get(key, 0) + 1
    found = []
    for (radius, least, source), count in tight.items():
        message = f"an inside radius of {radius:g} mm on {_bends(count)} of {t:g} mm {grade}: under {least:g} mm the outside may crack"
        remedy = f"an inside radius of {least:g} mm across the rolling direction (more along it), or steel that its mill allows tighter"
        named = Source(text=source, level=DIN_6935.level)
        found.append(
            subject.finding("inside-radius", named, message, value=f"{radius:g} mm", limit=f"at least {least:g} mm", remedy=remedy)
        )
    for limit, count in beyond.items():
        message = f"cannot tell whether {_bends(count)} of {t:g} mm {grade} will crack: {limit}"
        found.append(subject.finding("inside-radius-unknown", DIN_6935, message, remedy="bend a test strip first", level="note"))
    return found


def _bends(count: int) -> str:
    return f"{count} bends" if count > 1 else "one bend"


def flange_length(subject: Subject) -> list[Finding] | None:
    """Both legs of every bend, outside, against what the die's shoulders need: measured square to the bend, at its quarter points."""
    t = subject.thickness_mm
    if not subject.flat.bends or not DIE_FROM_MM - SLACK <= t <= DIE_TO_MM + SLACK:
        return None
    die = DIE_THICKNESSES * t
    least = FLANGE_PER_DIE * die
    found = []
    for bend in subject.flat.bends:
        leg = min(legs_mm(subject.flat, bend))
        if leg < least - 1e-6:
            message = f"the shorter leg of bend {bend.name} is {leg:.1f} mm outside; a die of V = {die:g} mm asks about {least:.1f} mm"
            remedy = "a longer leg, or ask the shop for a narrower die"
            found.append(
                subject.finding("flange-short", TOOL_CHARTS, message, value=f"{leg:.1f} mm", limit=f"{least:.1f} mm", remedy=remedy)
            )
    return found


def legs_mm(flat: Flat, bend: FlatBend) -> tuple[float, float]:
    """Outside length of both legs of a bend: to the apex, for a turn beyond 90 deg to the outer tangent."""
    turn = math.radians(min(abs(bend.angle_deg), SQUARE_DEG))
    outside = (bend.inside_radius_mm + flat.thickness_mm) * math.tan(turn / 2) - bend.width_mm / 2
    one, two = (sorted(_to_edge(flat.contour, bend, part, way) for part in QUARTERS)[1] for way in (1.0, -1.0))
    return one + outside, two + outside


def _to_edge(contour: Contour, bend: FlatBend, part: float, way: float) -> float:
    """From the bend's centre line to the blank's edge, square to it. The middle one of three such lengths is a leg: a slanted end makes
    one short, a notch one long."""
    (ax, ay), (bx, by) = bend.line
    size = math.dist(*bend.line)
    nx, ny = way * (ay - by) / size, way * (bx - ax) / size
    start = (ax + part * (bx - ax), ay + part * (by - ay))
    ray = Segment(start, (start[0] + nx * FAR_MM, start[1] + ny * FAR_MM))
    return min(((p[0] - start[0]) * nx + (p[1] - start[1]) * ny for s in contour.segments for p in s.crossings(ray)), default=FAR_MM)


def brake_length(subject: Subject) -> list[Finding] | None:
    most = subject.shop.brake_length_mm
    if most is None or not subject.flat.bends:
        return None
    longest = max(subject.flat.bends, key=lambda b: b.length_mm)
    if longest.length_mm <= most + SLACK:
        return []
    message = f"bend {longest.name} is {longest.length_mm:.1f} mm long; the shop's brake makes {most:g} mm"
    value, limit = f"{longest.length_mm:.1f} mm", f"at most {most:g} mm"
    return [subject.finding("bend-too-long", BRAKE, message, value=value, limit=limit, remedy="another shop, or two parts welded")]


def hole_to_bend(subject: Subject) -> list[Finding] | None:
    """The opening nearest to a bend, of those that are too near."""
    part = subject.piece.part
    if not part.bends or not any(p.holes for p in part.panels):
        return None
    t = subject.thickness_mm
    near: list[tuple[float, float, str]] = []
    for hole, tangent, radius in _beside_bends(subject):
        asked = ASKED_THICKNESSES * t + radius
        if tangent.distance(hole.centre) - hole.reach_mm < asked:
            gap = min(s.gap(tangent) for s in hole.contour().segments)
            if gap < asked - SLACK:
                near.append((gap - radius, radius, hole.name))
    if not near:
        return []
    beyond, radius, name = min(near)
    gap, holes = beyond + radius, len({n for _, _, n in near})
    source, thicknesses = (ALL_PAGES, LEAST_THICKNESSES) if beyond < LEAST_THICKNESSES * t - SLACK else (SOME_PAGES, ASKED_THICKNESSES)
    value, limit = f"{gap:.1f} mm", f"{thicknesses:g} t + r = {thicknesses * t + radius:.1f} mm"
    if subject.said("hole-near-bend", value):
        return []
    more = f" (and {holes - 1} more within {ASKED_THICKNESSES:g} t + r)" if holes > 1 else ""
    message = f"{name} lies {gap:.1f} mm from a bend{more}: its edge may pull"
    remedy = "move it away from the bend, or drill it after bending"
    return [subject.finding("hole-near-bend", source, message, value=value, limit=limit, remedy=remedy)]


def _beside_bends(subject: Subject) -> Iterator[tuple[Hole, Segment, float]]:
    """Every opening with every tangent line of its own panel, and the bend's inside radius."""
    part = subject.piece.part
    for panel in part.panels:
        edges = [(panel.contour.segments[b.edge], b.inside_radius_mm) for b in part.bends if b.parent == panel.name]
        edges += [(panel.contour.segments[0], b.inside_radius_mm) for b in part.bends if b.child == panel.name]
        for hole in panel.holes:
            yield from ((hole, edge, radius) for edge, radius in edges)


RULES = (
    Rule(
        asks="inside radius of a bend: the table's least for grade, thickness and angle (next thickness up beyond 120 deg)",
        codes=("inside-radius", "inside-radius-unknown"), sources=(DIN_6935,), check=inside_radius,
    ),
    Rule(asks="leg of a bend, outside: about 0.7 V", codes=("flange-short",), sources=(TOOL_CHARTS,), check=flange_length),
    Rule(asks="bend no longer than the shop's brake", codes=("bend-too-long",), sources=(BRAKE,), check=brake_length),
    Rule(
        asks="hole edge to the tangent of a bend: 3 t + r, at least 2 t + r", codes=("hole-near-bend",), sources=(ALL_PAGES, SOME_PAGES),
        check=hole_to_bend,
    ),
)  # fmt: skip
