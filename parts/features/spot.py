"""A place on a plate as a fabricator lays it off: along the rail's upper corner, square to it, on the panel that faces it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from parts.errors import BadInput, Fault
from parts.features.draft import EDGE_MM, Draft, DraftPanel, Setting
from parts.features.joints import EDGES, is_seated, seam_leg
from parts.features.rows import Rows
from parts.outline import Contour, Point
from parts.soundness import LEAST_WEB_MM
from parts.spec import Position

if TYPE_CHECKING:
    from parts.families.rail_plate_parts import Opening, Recess, Trim

STEP_MM = 0.01  #: over which the way along a rail is taken
SAGITTA_MM = 0.05
BEND_THICKNESSES = 2.0  #: a hole nearer to a bend's tangent than 2 t + r may pull: trade pages


@dataclass(frozen=True, kw_only=True)
class Spot:
    """A place on one panel: `centre` in its (u, z), `along` the unit vector rearward along the rail there."""

    index: int
    centre: Point
    along: Point
    tape_mm: float
    up_mm: float

    @property
    def angle_deg(self) -> float:
        return math.degrees(math.atan2(self.along[1], self.along[0]))


def tape_of(draft: Draft, field: str, position: Position) -> float | Draft:
    """The tape length of a place; the draft with a fault where the rail has no such place."""
    try:
        return draft.setting.rail.tape_at(position)
    except BadInput as error:
        where = draft.setting.where
        faults = [replace(f, where=where, field=f"{field}.{f.field}" if f.field else field) for f in error.faults]
        return replace(draft, faults=(*draft.faults, *(f for f in faults if f not in draft.faults)))


def spot_at(draft: Draft, tape_mm: float, up_mm: float | None) -> Spot | None:
    """`up_mm` None: half way up the plate. None where it lies past the ends of this piece: another one's, or none's."""
    rows = Rows(setting=draft.setting, tapes_mm=(tape_mm,))
    up = sum(rows.span(tape_mm)) / 2 if up_mm is None else up_mm
    s, z = rows.place(tape_mm, up).at
    place = draft.at(s, z)
    if place is None:
        return None
    index, centre = place
    facet, slope = draft.panels[index].facet, draft.setting.rail.profile.upper.heading(tape_mm)
    along = (facet.u_at(s + STEP_MM) - facet.u_at(s - STEP_MM)) / (2 * STEP_MM) * math.cos(slope), math.sin(slope)
    size = math.hypot(*along)
    return Spot(index=index, centre=centre, along=(along[0] / size, along[1] / size), tape_mm=tape_mm, up_mm=up)


def laid_off(setting: Setting, s: float, z: float) -> str:
    """`mid +120 mm`: a point of the unrolled web by the station before it and the tape."""
    tape, _ = setting.rail.profile.tape_and_up(s, z)
    station, along = setting.rail.laid_off(tape)
    return f"{station} {along:+.0f} mm"


def over_bend_mm(panel: DraftPanel, low: float, high: float) -> float:
    """How far a stretch of u reaches over the nearest bend tangent; below 0: how far it keeps off. Far below without bends."""
    over = ([panel.u0 - low] if panel.bend_before else []) + ([high - panel.u1] if panel.bend_after else [])
    return max(over, default=-1e9)


def away_mm(over_mm: float, along_u: float) -> str:
    """What the tape has to be moved by, so that a place is `over_mm` further along the panel: rounded up. `along_u` is how far along the
    panel a millimetre of tape goes, less than one where the rail slopes."""
    return f"{math.ceil(10 * over_mm / along_u - 1e-6) / 10:.1f} mm"


def bends_may_pull(draft: Draft, index: int, low: float, high: float) -> bool:
    """Whether a cut over a stretch of u is nearer to a bend than all trade pages ask: bend lines slide away from it where they can."""
    if len(draft.panels) < 2:
        return False
    least = BEND_THICKNESSES * draft.setting.plate.thickness_mm + draft.setting.inside_radius_mm
    return -over_bend_mm(draft.panels[index], low, high) < least


def outside_mm(shape: Contour, of: Contour) -> float:
    """How far a shape stands out over an outline; 0 inside it."""
    return max((of.distance(p) for p in shape.polyline(SAGITTA_MM) if not of.contains(p)), default=0.0)


def kept_off(panel: DraftPanel, shape: Contour, least_mm: float) -> Iterator[tuple[str, str]]:
    """(what it is too near to, by how much) for every edge, opening or ring that a shape does not keep `least_mm` from; bends aside."""
    if not panel.contour.contains(shape.points[0]) or panel.contour.gap(shape) < least_mm:
        out = outside_mm(shape, panel.contour)
        gap = 0.0 if out else panel.contour.gap(shape)
        yield "edge", f"stands {out:.1f} mm over the plate's edge" if out else f"comes within {gap:.1f} mm of the plate's edge"
    others = [(h.name, h.contour()) for h in panel.holes] + list(panel.covers)
    for name, other in others:
        within = other.contains(shape.points[0]) or shape.contains(other.points[0])
        gap = 0.0 if within else shape.gap(other)
        if gap < least_mm:
            yield name, f"runs into {name}" if gap <= 0 else f"comes within {gap:.1f} mm of {name}"


def seam_room(draft: Draft, panel: DraftPanel, shape: Contour) -> Iterator[tuple[str, float, float]]:
    """(edge, from a shape to that long edge, leg of the fillet that lies along it on the plate's face): a stepped plate's alone."""
    setting = draft.setting
    leg = seam_leg(draft)[0] if setting.seat.between_flanges and setting.plate.attach == "weld" else 0.0
    for edge in EDGES if leg > 0 else ():
        line = setting.lower() if edge == "lower" else setting.upper()
        own = [
            s for s in panel.contour.segments
            if all(abs(line.y_at(panel.facet.s_at(u)) - z) <= EDGE_MM for u, z in (s.a, s.point_at(0.5), s.b))
        ]  # fmt: skip
        if own and is_seated(setting, edge):
            yield edge, min(s.gap(e) for s in shape.segments for e in own), leg


def with_fit(
    draft: Draft, index: int, shape: Contour, *, field: str, value: str, least_mm: float = LEAST_WEB_MM, along_u: float = 1.0,
    pipe: str = "",
) -> Draft:  # fmt: skip
    """The draft, with a fault for everything on its panel that a shape does not keep `least_mm` from.

    Args:
        along_u: as of `away_mm`.
        pipe: the pipe that an opening is for: what is moved then is the pipe.
    """
    it, smaller = (f"pipe {pipe}", "give it less clearance") if pipe else ("it", "make it smaller")
    panel = draft.panels[index]
    x0, _, x1, _ = shape.box
    over = over_bend_mm(panel, x0, x1) + least_mm
    if over > 1e-9:
        reach = over - least_mm
        how = f"reaches {reach:.1f} mm into a bend of the plate" if reach > 0 else f"comes within {-reach:.1f} mm of a bend of the plate"
        remedy = f"move {it} {away_mm(over, along_u)} or more away from the bend, or {smaller if pipe else 'make it shorter'}"
        return draft.fault(field, how, value=value, remedy=remedy, bends=True)
    met = False
    for what, how in kept_off(panel, shape, least_mm):
        limit = f"{how}; {least_mm:g} mm must stay"
        remedy = f"move {it} inwards, or {smaller}" if what == "edge" else f"move {it} away from {what}, or {smaller}"
        draft = draft.fault(field, limit, value=value, remedy=remedy)
        met = met or what == "edge"
    for edge, gap, leg in seam_room(draft, panel, shape) if not met else ():
        if gap < leg + least_mm - 1e-9:
            limit = f"comes within {gap:.1f} mm of the plate's {edge} edge, along which its fillet of {leg:g} mm lies on its face"
            remedy = f"move {it} {math.ceil(10 * (leg + least_mm - gap) - 1e-6) / 10:.1f} mm or more inwards, or {smaller}"
            draft = draft.fault(field, f"{limit}; {leg + least_mm:g} mm must stay", value=value, remedy=remedy)
    return draft


def unmade(drafts: Sequence[Draft]) -> list[Fault]:
    """A fault for everything that was asked for at a place where none of the plate's pieces lies on this side."""
    setting = drafts[0].setting
    plate, rail = setting.plate, setting.rail
    done = frozenset[str]().union(*(d.made for d in drafts))
    asked: list[tuple[str, Opening | Trim | Recess]] = [("opening", o) for o in plate.openings]
    asked += [("recess", r) for r in plate.recesses]
    asked += [("trim", t) for t in plate.trims]
    told = {f.field for d in drafts for f in d.faults}
    out: list[Fault] = []
    for key, one in asked:
        if one.at is None or f"{key} {one.name}" in done or any(field.startswith(f"{key}.at") for field in told):
            continue
        s = rail.s_at(one.at)
        limit = (
            f"{one.name} is not on the plate: it lies at s = {s:.0f} mm on {rail.name}, "
            f"the plate runs from {setting.face.s0_mm:.0f} to {setting.face.s1_mm:.0f} mm less what crossmembers take"
        )
        out.append(Fault(where=setting.where, field=f"{key}.at", value=str(one.at), limit=limit, remedy="move it along the rail"))
    return out
