"""Slots for other parts' tabs, cut into the pieces that the tabs go through."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from parts.errors import BadInput, Fault
from parts.frame.offers import Pocket
from parts.holes import Hole
from parts.landing import panel_places
from parts.piece import Piece
from parts.sheet import SheetPart
from parts.soundness import faults as unsound
from parts.vectors import dot, inside

OFF_FACE_MM = 0.01  #: a pocket's centre lies on one of its panel's faces, but for rounding
OFF_LEVEL = 1e-6
BEND_THICKNESSES, EDGE_THICKNESSES = 2.0, 2.0
BEND_SOURCE = "trade pages ask 2 t + r at least"
EDGE_SOURCE = "TM 9-2320-289-34 p. 9-7: 2 t"
SLACK = 1e-9


def pocketed(pieces: Sequence[Piece]) -> tuple[Piece, ...]:
    """The same pieces in the same order, with every slot that another's tabs ask for.

    Raises:
        BadInput: a slot that its panel has no room for, or in a piece that is there more than once or not at all.
    """
    asked = [(piece, pocket) for piece in pieces for pocket in piece.pockets]
    if not asked:
        return tuple(pieces)
    known = {piece.id: piece for piece in pieces}
    faults: list[Fault] = []
    for piece, pocket in asked:
        host, where = known.get(pocket.piece), pocket.where or f"part {piece.id}"
        if host is None or host.quantity != 1:
            limit = "is not one piece of this job" if host is None else f"is made {host.quantity} times, and its slot would be in each"
            faults.append(Fault(where=where, field=pocket.field, value=pocket.piece, limit=limit, remedy="leave its tabs out"))
            continue
        part = _slotted(host, pocket)
        if near := _near(part, pocket):
            faults += [replace(f, where=where, value=f"{host.id} {f.value}") for f in near]
            continue
        if wrong := unsound(part):
            remedy = "move it, or leave its tabs out"
            faults += [replace(f, where=where, field=pocket.field, value=f"{host.id} {f.field}", remedy=remedy) for f in wrong]
            continue
        known[host.id] = replace(host, part=part)
    if faults:
        raise BadInput(faults)
    return tuple(known[piece.id] for piece in pieces)


def _near(part: SheetPart, pocket: Pocket) -> list[Fault]:
    """What the new slot, the panel's last opening, comes too near to: bends, the panel's edges, its other openings."""
    panel = next(p for p in part.panels if p.name == pocket.panel)
    *others, slot = panel.holes
    shape, t, field = slot.contour(), part.thickness_mm, pocket.field
    if not panel.contour.contains(slot.centre):
        limit = "would lie off the panel"
        return [Fault(where="", field=field, value=f"slot of {pocket.name}", limit=limit, remedy="move it, or leave its tabs out")]
    bent = {b.edge: b.inside_radius_mm for b in part.bends if b.parent == panel.name}
    bent.update((0, b.inside_radius_mm) for b in part.bends if b.child == panel.name)
    found: list[tuple[float, float, str]] = []
    for k, segment in enumerate(panel.contour.segments):
        gap = min(s.gap(segment) for s in shape.segments)
        least = BEND_THICKNESSES * t + bent[k] if k in bent else EDGE_THICKNESSES * t
        found.append((gap, least, f"a bend's tangent ({BEND_SOURCE})" if k in bent else f"its panel's edge ({EDGE_SOURCE})"))
    for hole in others:
        other = hole.contour()
        within = other.contains(slot.centre) or shape.contains(hole.centre)
        found.append((0.0 if within else other.gap(shape), EDGE_THICKNESSES * t, f"{hole.name} ({EDGE_SOURCE})"))
    short = [(least - gap, gap, least, what) for gap, least, what in found if gap < least - SLACK]
    if not short:
        return []
    by, gap, least, what = max(short)
    limit = f"would lie {gap:.1f} mm from {what}: {least:.1f} mm is the least"
    remedy = f"move it {math.ceil(by)} mm away from it, fewer or shorter tabs, or none"
    return [Fault(where="", field=field, value=f"slot of {pocket.name}", limit=limit, remedy=remedy)]


def _slotted(host: Piece, pocket: Pocket) -> SheetPart:
    panel, place = next((p, at) for p, at in panel_places(host) if p.name == pocket.panel)
    u, v, w = inside(place, pocket.centre)
    a, b, c = (dot(pocket.along, way) for way in (place.u, place.v, place.normal))
    thick = host.part.thickness_mm
    if min(abs(w), abs(w - thick)) > OFF_FACE_MM or abs(c) > OFF_LEVEL:
        raise ValueError(f"{pocket.name} does not lie on a face of {pocket.piece} {pocket.panel}")
    hole = Hole(
        name=pocket.name, kind="rectangle", x_mm=u, y_mm=v, diameter_mm=pocket.width_mm, length_mm=pocket.length_mm,
        angle_deg=math.degrees(math.atan2(b, a)), purpose="slot for a tab",
    )  # fmt: skip
    cut = replace(panel, holes=(*panel.holes, hole))
    return replace(host.part, panels=tuple(cut if p.name == panel.name else p for p in host.part.panels))
