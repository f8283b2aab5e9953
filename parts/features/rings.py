"""A flat ring on a plate's seen face that stiffens the edge of an opening: its place, its piece, and the weld round it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from parts.features.draft import Draft
from parts.features.fold import loose
from parts.features.marks import LABEL_HEIGHTS_MM, ring_of, width_of
from parts.features.spot import with_fit
from parts.frame.faces import Facet
from parts.holes import Hole
from parts.outline import Contour, Point, Segment, Transform
from parts.piece import Piece, WeldJoint
from parts.sheet import Label, Mark, Vec3
from parts.welds import fillet_leg_mm

if TYPE_CHECKING:
    from parts.families.rail_plate_parts import Ring

SAGITTA_MM = 0.05  #: how far the seam's chords miss a round edge
ETCHED = (0.1, 0.9)  #: of each edge of the ring, what is etched of it on the plate: nothing that is etched encloses anything
ETCHED_OFF_MM = 1.0  #: from what is etched to an edge


@dataclass(frozen=True, kw_only=True)
class LaidRing:
    """A ring as it lies: its opening and its outer edge in (u, z) of its panel."""

    name: str
    facet: Facet
    hole: Hole
    contour: Contour
    width_mm: float
    thickness_mm: float
    leg_mm: float


def ringed(
    draft: Draft, ring: Ring, index: int, hole: Hole, name: str, value: str, *, along_u: float = 1.0, pipe: str = ""
) -> Draft:
    """The ring laid round an opening that is cut already: it keeps its weld's leg off the plate's edges, off bends and other openings."""
    plate, panel = draft.setting.plate, draft.panels[index]
    thickness = ring.thickness_mm if ring.thickness_mm is not None else plate.thickness_mm
    rule = fillet_leg_mm(thickness, plate.thickness_mm, False)
    contour = around(hole, ring.width_mm).contour()
    others = replace(panel, holes=tuple(h for h in panel.holes if h.name != hole.name))
    alone = draft.with_panel(index, others)
    tried = with_fit(
        alone, index, contour, field="opening.ring", value=f"{value}, ring {ring.width_mm:g} mm wide", least_mm=rule.leg_mm,
        along_u=along_u, pipe=pipe,
    )  # fmt: skip
    if len(tried.faults) > len(draft.faults):
        return replace(draft, faults=tried.faults, bend_conflicts=tried.bend_conflicts)
    laid = LaidRing(
        name=name, facet=panel.facet, hole=hole, contour=contour, width_mm=ring.width_mm, thickness_mm=thickness, leg_mm=rule.leg_mm
    )  # fmt: skip
    mark = Mark(name=f"ring {name}", strokes=tuple(_etched(s) for s in contour.segments))
    covered = replace(panel, covers=(*panel.covers, (f"ring {name}", contour)), marks=(*panel.marks, mark))
    return replace(draft.with_panel(index, covered), rings=(*draft.rings, laid))


def around(hole: Hole, by_mm: float) -> Hole:
    """The opening made larger by as much all round: corner radii grow with it, so that its edge stays parallel."""
    more = 2 * by_mm
    long = hole.length_mm + more if hole.kind != "round" else 0.0
    radius = hole.corner_radius_mm + by_mm if hole.kind == "rectangle" else 0.0
    return replace(hole, diameter_mm=hole.diameter_mm + more, length_mm=long, corner_radius_mm=radius)


def _etched(edge: Segment) -> tuple[Point, ...]:
    low, high = ETCHED
    if edge.is_line:
        return edge.point_at(low), edge.point_at(high)
    steps = max(8, round(edge.length / 4))
    return tuple(edge.point_at(low + (high - low) * k / steps) for k in range(steps + 1))


def _label(ring: LaidRing, texts: Sequence[str]) -> tuple[Label, ...]:
    """The first of the texts that fits on the ring's steel over its opening, along it; none if none does."""
    hole, opening = ring.hole, ring.hole.contour()
    turn = Transform.rotation(math.radians(hole.angle_deg)).then(Transform.shift(*hole.centre))
    middle = (hole.diameter_mm + ring.width_mm) / 2  # from the opening's middle to that of the steel over it
    for text in texts:
        for height in LABEL_HEIGHTS_MM:
            x, y = turn.apply((-width_of(text, height) / 2, middle - height / 2))
            one = Label(text=text, x_mm=x, y_mm=y, height_mm=height, angle_deg=hole.angle_deg)
            box = ring_of(one)
            if ring.contour.contains(box.points[0]) and min(ring.contour.gap(box), opening.gap(box)) >= ETCHED_OFF_MM:
                return (one,)
    return ()


def ring_piece(draft: Draft, ring: LaidRing, piece_id: str, *, onto: str) -> Piece:
    """`onto`: id of the plate that it is laid on."""
    setting = draft.setting
    t, inner = setting.plate.thickness_mm, ring.hole
    short = f"{ring.name} {setting.rail.side[0].upper()}"
    part, placement = loose(
        setting, ring.facet, ring.contour, piece_id, short, holes=(inner,), labels=_label(ring, (piece_id, short)),
        thickness_mm=ring.thickness_mm, out_mm=t,
    )  # fmt: skip
    points = ring.contour.polyline(SAGITTA_MM)
    line: tuple[Vec3, ...] = tuple(setting.vehicle(ring.facet, u, z, t) for u, z in (*points, points[0]))
    joint = WeldJoint(
        name="outer edge", kind="fillet", points=line, thickness_mm=(ring.thickness_mm, t), onto=onto, leg_mm=ring.leg_mm
    )  # fmt: skip
    rule = fillet_leg_mm(ring.thickness_mm, t, False)
    notes = [
        f"stiffens opening {ring.name} of {onto}: laid on its seen face over the etched outline, holes level, welded round its outer edge",
        f"fillet leg {ring.leg_mm:g} mm ({'; '.join(rule.notes)})",
    ]
    if not part.panels[0].labels:
        notes.append("no room to etch its id: mark it by hand before it leaves the sheet")
    return Piece(
        id=piece_id, family=setting.plate.FAMILY, side=setting.rail.side, part=part, grade=setting.plate.grade, placements=(placement,),
        welds=(joint,), notes=tuple(notes),
    )  # fmt: skip
